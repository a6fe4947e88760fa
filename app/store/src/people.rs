//! People of the academy.

use academy::{Belt, Consent, Guardian, Member, Pronoun, Role};
use jiff::civil::Date;
use serde_json::{Value, json};
use sqlx::Row as _;
use sqlx::sqlite::SqliteRow;

use crate::book::Book;
use crate::change::{By, Change, Subject};
use crate::error::StoreError;
use crate::row::{self, Row};

/// Id of a person.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct MemberId(pub i64);

/// The form of a name by which it is found: two people cannot share it.
pub(crate) fn name_key(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

pub(crate) fn date_text(date: Option<Date>) -> Value {
    date.map_or(Value::Null, |date| json!(date.to_string()))
}

pub(crate) fn date_from(text: &str) -> Result<Date, StoreError> {
    text.parse().map_err(|_| StoreError::Unreadable(format!("the date \"{text}\"")))
}

fn member_row(id: MemberId, member: &Member) -> Row {
    let guardian = member.guardian.as_ref();
    row::row([
        ("id", json!(id.0)),
        ("name", json!(member.name.split_whitespace().collect::<Vec<_>>().join(" "))),
        ("name_key", json!(name_key(&member.name))),
        ("pronoun", json!(member.pronoun.map(Pronoun::subject))),
        ("role", json!(member.role.id())),
        ("belt", json!(member.belt.id())),
        ("stripes", json!(member.stripes)),
        ("belt_since", date_text(member.belt_since)),
        ("joined", date_text(member.joined)),
        ("weight", json!(member.weight)),
        ("birth_year", json!(member.birth_year)),
        ("notes", json!(member.notes)),
        ("consent_club", json!(member.consent.club)),
        ("consent_public", json!(member.consent.public)),
        ("guardian", json!(guardian.map(|guardian| &guardian.name))),
        ("guardian_contact", json!(guardian.map(|guardian| &guardian.contact))),
        ("guardian_club", json!(guardian.is_some_and(|guardian| guardian.consent.club))),
        ("guardian_public", json!(guardian.is_some_and(|guardian| guardian.consent.public))),
        ("has_left", json!(member.left)),
    ])
}

fn member(row: &SqliteRow) -> Result<(MemberId, Member), StoreError> {
    let date = |name: &str| -> Result<Option<Date>, StoreError> {
        row.try_get::<Option<String>, _>(name)?.map(|text| date_from(&text)).transpose()
    };
    let pronoun: Option<String> = row.try_get("pronoun")?;
    let (role, belt): (String, String) = (row.try_get("role")?, row.try_get("belt")?);
    let guardian: Option<String> = row.try_get("guardian")?;
    let guardian = match guardian {
        None => None,
        Some(name) => Some(Guardian {
            name,
            contact: row.try_get::<Option<String>, _>("guardian_contact")?.unwrap_or_default(),
            consent: Consent {
                club: row.try_get("guardian_club")?,
                public: row.try_get("guardian_public")?,
            },
        }),
    };
    let small = |name: &str| -> Result<i64, StoreError> { Ok(row.try_get(name)?) };
    let member = Member {
        name: row.try_get("name")?,
        pronoun: pronoun.and_then(|text| Pronoun::parse(&text)),
        role: Role::from_id(&role).ok_or_else(|| StoreError::Unreadable(role.clone()))?,
        belt: Belt::from_id(&belt).ok_or_else(|| StoreError::Unreadable(belt.clone()))?,
        stripes: u8::try_from(small("stripes")?).unwrap_or(0),
        belt_since: date("belt_since")?,
        joined: date("joined")?,
        weight: row.try_get("weight")?,
        birth_year: row
            .try_get::<Option<i64>, _>("birth_year")?
            .and_then(|year| i16::try_from(year).ok()),
        notes: row.try_get("notes")?,
        consent: Consent {
            club: row.try_get("consent_club")?,
            public: row.try_get("consent_public")?,
        },
        guardian,
        left: row.try_get("has_left")?,
    };
    Ok((MemberId(row.try_get("id")?), member))
}

impl Change {
    /// A person as the change finds them.
    pub(crate) async fn member(&mut self, id: MemberId) -> Result<Option<Member>, StoreError> {
        let row = sqlx::query("SELECT * FROM member WHERE id = ?")
            .bind(id.0)
            .fetch_optional(&mut *self.connection())
            .await?;
        Ok(row.map(|row| member(&row)).transpose()?.map(|(_, member)| member))
    }

    /// Puts a person into the book within a change.
    pub(crate) async fn put_member(
        &mut self,
        id: Option<MemberId>,
        member: &Member,
    ) -> Result<MemberId, StoreError> {
        member.check().map_err(|error| StoreError::Refused(error.to_string()))?;
        let taken: Option<i64> = sqlx::query_scalar("SELECT id FROM member WHERE name_key = ?")
            .bind(name_key(&member.name))
            .fetch_optional(&mut *self.connection())
            .await?;
        if taken.is_some_and(|taken| id != Some(MemberId(taken))) {
            let name = &member.name;
            return Err(StoreError::Refused(format!(
                "there is already somebody called {name}: add a letter or a second name"
            )));
        }
        let id = match id {
            Some(id) => id,
            None => MemberId(self.next_id(&row::MEMBER).await?),
        };
        self.put(&row::MEMBER, member_row(id, member)).await?;
        Ok(id)
    }
}

impl Book {
    /// Everybody, by name; those who left last.
    ///
    /// # Errors
    /// The database's.
    pub async fn members(&self) -> Result<Vec<(MemberId, Member)>, StoreError> {
        let rows = sqlx::query("SELECT * FROM member ORDER BY has_left, name_key")
            .fetch_all(&self.reading)
            .await?;
        rows.iter().map(member).collect()
    }

    /// One person.
    ///
    /// # Errors
    /// [`StoreError::Missing`] if there is none.
    pub async fn member(&self, id: MemberId) -> Result<Member, StoreError> {
        let row = sqlx::query("SELECT * FROM member WHERE id = ?")
            .bind(id.0)
            .fetch_optional(&self.reading)
            .await?;
        Ok(member(&row.ok_or(StoreError::Missing("person"))?)?.1)
    }

    /// Puts somebody new into the book.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if the name is taken or something cannot be.
    pub async fn add_member(&self, by: &By, member: &Member) -> Result<MemberId, StoreError> {
        let mut change =
            self.change(Subject::Roster, by, &format!("Added {}", member.name)).await?;
        let id = change.put_member(None, member).await?;
        change.keep().await?;
        Ok(id)
    }

    /// Puts several people into the book in one change, which is undone as one. Those with an id
    /// replace the ones who are there.
    ///
    /// # Errors
    /// As [`Book::add_member`]; then nobody was added.
    pub async fn put_members(
        &self,
        by: &By,
        what: &str,
        members: &[(Option<MemberId>, Member)],
    ) -> Result<Vec<MemberId>, StoreError> {
        let mut change = self.change(Subject::Roster, by, what).await?;
        let mut ids = Vec::with_capacity(members.len());
        for (id, member) in members {
            ids.push(change.put_member(*id, member).await?);
        }
        change.keep().await?;
        Ok(ids)
    }

    /// Changes what is kept of a person.
    ///
    /// # Errors
    /// As [`Book::add_member`], or [`StoreError::Missing`].
    pub async fn change_member(
        &self,
        by: &By,
        id: MemberId,
        member: &Member,
    ) -> Result<(), StoreError> {
        self.member(id).await?;
        let what = format!("Changed what is kept of {}", member.name);
        let mut change = self.change(Subject::Roster, by, &what).await?;
        change.put_member(Some(id), member).await?;
        change.keep().await
    }

    /// Takes somebody out of the book who is in no round and no class, and about whom no goal,
    /// conversation or message is kept.
    ///
    /// # Errors
    /// [`StoreError::Refused`] where one of these still needs the person.
    pub async fn delete_member(&self, by: &By, id: MemberId) -> Result<(), StoreError> {
        let name = self.member(id).await?.name;
        let mut change = self.change(Subject::Roster, by, &format!("Took out {name}")).await?;
        change.take(&row::MEMBER, &row::row([("id", json!(id.0))])).await?;
        change.keep().await
    }
}
