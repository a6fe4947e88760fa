//! Who may log in from other machines: accounts, logged-in browsers, invitations. None of it is
//! part of the history that is undone. Of passwords only a hash is kept, made by the caller; of
//! tokens only a hash, made here.

use academy::Role;
use sqlx::Row as _;
use sqlx::sqlite::SqliteRow;

use crate::book::Book;
use crate::change::{next_id, refused};
use crate::error::StoreError;
use crate::people::MemberId;

/// Id of an account.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct AccountId(pub i64);

/// Somebody who may log in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// Which.
    pub id: AccountId,
    /// The name to log in with.
    pub login: String,
    /// What they may see and change.
    pub role: Role,
    /// Who they are in the book.
    pub member: Option<MemberId>,
    /// The hash of their password, as a text that also says how it was made.
    pub password: String,
}

/// Leave to make an account, once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Invitation {
    /// By what it is withdrawn; tells nothing of the token.
    pub id: String,
    /// What the account may see and change.
    pub role: Role,
    /// Who it is for in the book.
    pub member: Option<MemberId>,
    /// Seconds since 1970.
    pub expires_at: i64,
}

/// Characters of a name to log in with.
const LONGEST_LOGIN: usize = 60;

fn token_hash(token: &str) -> String {
    blake3::hash(token.as_bytes()).to_hex().to_string()
}

/// Spaces at the ends and capitals make no other name.
fn login_key(login: &str) -> String {
    login.trim().to_lowercase()
}

fn role(row: &SqliteRow) -> Result<Role, StoreError> {
    let id: String = row.try_get("role")?;
    Role::from_id(&id).ok_or(StoreError::Unreadable(id))
}

fn account(row: &SqliteRow) -> Result<Account, StoreError> {
    Ok(Account {
        id: AccountId(row.try_get("id")?),
        login: row.try_get("login")?,
        role: role(row)?,
        member: row.try_get::<Option<i64>, _>("member_id")?.map(MemberId),
        password: row.try_get("password")?,
    })
}

fn invitation(row: &SqliteRow) -> Result<Invitation, StoreError> {
    Ok(Invitation {
        id: row.try_get("token_hash")?,
        role: role(row)?,
        member: row.try_get::<Option<i64>, _>("member_id")?.map(MemberId),
        expires_at: row.try_get("expires_at")?,
    })
}

impl Book {
    /// Everybody who may log in, by name.
    ///
    /// # Errors
    /// The database's.
    pub async fn accounts(&self) -> Result<Vec<Account>, StoreError> {
        let rows = sqlx::query("SELECT * FROM account ORDER BY login_key")
            .fetch_all(&self.reading)
            .await?;
        rows.iter().map(account).collect()
    }

    /// The account with a name to log in with.
    ///
    /// # Errors
    /// The database's.
    pub async fn account(&self, login: &str) -> Result<Option<Account>, StoreError> {
        let row = sqlx::query("SELECT * FROM account WHERE login_key = ?")
            .bind(login_key(login))
            .fetch_optional(&self.reading)
            .await?;
        row.as_ref().map(account).transpose()
    }

    /// Takes a login away and logs all its browsers out.
    ///
    /// # Errors
    /// The database's.
    pub async fn delete_account(&self, id: AccountId) -> Result<(), StoreError> {
        let mut transaction = self.writing.begin().await?;
        for sql in
            ["DELETE FROM login_session WHERE account_id = ?", "DELETE FROM account WHERE id = ?"]
        {
            sqlx::query(sql).bind(id.0).execute(&mut *transaction).await?;
        }
        Ok(transaction.commit().await?)
    }

    /// Invites somebody who comes with this token to make an account.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if a student is invited without a person in the book.
    pub async fn invite(
        &self,
        role: Role,
        member: Option<MemberId>,
        token: &str,
        expires_at: i64,
    ) -> Result<(), StoreError> {
        if role == Role::Student && member.is_none() {
            let told = "choose who the student is: students see their own page only";
            return Err(StoreError::Refused(told.to_owned()));
        }
        sqlx::query(
            "INSERT INTO invitation (token_hash, member_id, role, expires_at) VALUES (?, ?, ?, ?)",
        )
        .bind(token_hash(token))
        .bind(member.map(|member| member.0))
        .bind(role.id())
        .bind(expires_at)
        .execute(&self.writing)
        .await
        .map_err(refused)?;
        Ok(())
    }

    /// Invitations that can still be used, the one that ends first at the top.
    ///
    /// # Errors
    /// The database's.
    pub async fn invitations(&self, now: i64) -> Result<Vec<Invitation>, StoreError> {
        let rows = sqlx::query("SELECT * FROM invitation WHERE expires_at > ? ORDER BY expires_at")
            .bind(now)
            .fetch_all(&self.reading)
            .await?;
        rows.iter().map(invitation).collect()
    }

    /// The invitation of a token, if it can still be used.
    ///
    /// # Errors
    /// The database's.
    pub async fn invitation(
        &self,
        token: &str,
        now: i64,
    ) -> Result<Option<Invitation>, StoreError> {
        let row = sqlx::query("SELECT * FROM invitation WHERE token_hash = ? AND expires_at > ?")
            .bind(token_hash(token))
            .bind(now)
            .fetch_optional(&self.reading)
            .await?;
        row.as_ref().map(invitation).transpose()
    }

    /// Takes an invitation back, by its id.
    ///
    /// # Errors
    /// The database's.
    pub async fn withdraw_invitation(&self, id: &str) -> Result<(), StoreError> {
        sqlx::query("DELETE FROM invitation WHERE token_hash = ?")
            .bind(id)
            .execute(&self.writing)
            .await?;
        Ok(())
    }

    /// Makes the account that a token invites to; the invitation is used up by it. An account with
    /// the same role that the person had goes, and its browsers are logged out: whoever forgot a
    /// password comes back so, under the old name too.
    ///
    /// # Errors
    /// [`StoreError::Missing`] if the token invites nobody (any more), [`StoreError::Refused`] if
    /// the name cannot be; then the invitation can still be used.
    pub async fn accept_invitation(
        &self,
        token: &str,
        now: i64,
        login: &str,
        password: &str,
    ) -> Result<AccountId, StoreError> {
        let login = login.trim();
        if login.is_empty() || login.chars().count() > LONGEST_LOGIN {
            return Err(StoreError::Refused(format!(
                "a name to log in with has 1 to {LONGEST_LOGIN} characters"
            )));
        }
        let mut transaction = self.writing.begin().await?;
        let row = sqlx::query(
            "DELETE FROM invitation WHERE token_hash = ? AND expires_at > ? RETURNING *",
        )
        .bind(token_hash(token))
        .bind(now)
        .fetch_optional(&mut *transaction)
        .await?;
        let invited = invitation(&row.ok_or(StoreError::Missing("invitation"))?)?;
        for sql in [
            "DELETE FROM login_session WHERE account_id IN
                (SELECT id FROM account WHERE member_id = ? AND role = ?)",
            "DELETE FROM account WHERE member_id = ? AND role = ?",
        ] {
            sqlx::query(sql)
                .bind(invited.member.map(|member| member.0))
                .bind(invited.role.id())
                .execute(&mut *transaction)
                .await?;
        }
        let taken = sqlx::query("SELECT id FROM account WHERE login_key = ?")
            .bind(login_key(login))
            .fetch_optional(&mut *transaction)
            .await?;
        if taken.is_some() {
            return Err(StoreError::Refused("this name is taken: choose another".to_owned()));
        }
        let id = next_id(&mut transaction, "account").await?;
        sqlx::query(
            "INSERT INTO account (id, member_id, login, login_key, role, password)
             VALUES (?, ?, ?, ?, ?, ?)",
        )
        .bind(id)
        .bind(invited.member.map(|member| member.0))
        .bind(login)
        .bind(login_key(login))
        .bind(invited.role.id())
        .bind(password)
        .execute(&mut *transaction)
        .await?;
        transaction.commit().await.map_err(refused)?;
        Ok(AccountId(id))
    }

    /// Remembers that a browser with this token is logged in. Forgets those who no longer are.
    ///
    /// # Errors
    /// The database's.
    pub async fn begin_session(
        &self,
        account: AccountId,
        token: &str,
        now: i64,
        expires_at: i64,
    ) -> Result<(), StoreError> {
        let mut transaction = self.writing.begin().await?;
        sqlx::query("DELETE FROM login_session WHERE expires_at <= ?")
            .bind(now)
            .execute(&mut *transaction)
            .await?;
        sqlx::query(
            "INSERT INTO login_session (token_hash, account_id, expires_at) VALUES (?, ?, ?)",
        )
        .bind(token_hash(token))
        .bind(account.0)
        .bind(expires_at)
        .execute(&mut *transaction)
        .await?;
        transaction.commit().await.map_err(refused)
    }

    /// Who is logged in with a token, and until when.
    ///
    /// # Errors
    /// The database's.
    pub async fn session(
        &self,
        token: &str,
        now: i64,
    ) -> Result<Option<(Account, i64)>, StoreError> {
        let row = sqlx::query(
            "SELECT account.*, expires_at FROM login_session JOIN account ON account.id = account_id
             WHERE token_hash = ? AND expires_at > ?",
        )
        .bind(token_hash(token))
        .bind(now)
        .fetch_optional(&self.reading)
        .await?;
        row.map(|row| Ok((account(&row)?, row.try_get("expires_at")?))).transpose()
    }

    /// Lets a logged-in browser stay so until a later time.
    ///
    /// # Errors
    /// The database's.
    pub async fn extend_session(&self, token: &str, expires_at: i64) -> Result<(), StoreError> {
        sqlx::query("UPDATE login_session SET expires_at = ? WHERE token_hash = ?")
            .bind(expires_at)
            .bind(token_hash(token))
            .execute(&self.writing)
            .await?;
        Ok(())
    }

    /// Logs a browser out.
    ///
    /// # Errors
    /// The database's.
    pub async fn end_session(&self, token: &str) -> Result<(), StoreError> {
        sqlx::query("DELETE FROM login_session WHERE token_hash = ?")
            .bind(token_hash(token))
            .execute(&self.writing)
            .await?;
        Ok(())
    }
}
