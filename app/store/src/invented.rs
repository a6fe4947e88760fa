//! Leaving the invented academy behind: a copy of its book is put aside, then the book is emptied.

use std::path::PathBuf;

use sqlx::AssertSqlSafe;

use crate::book::Book;
use crate::change::By;
use crate::error::StoreError;

/// Everything that belongs to an academy, whatever needs another before it.
const OF_THE_ACADEMY: [&str; 24] = [
    "change_row",
    "change_log",
    "ledger_spell",
    "ledger_event",
    "ledger_state",
    "live_press",
    "live_round",
    "answer",
    "hand_spell",
    "hand_event",
    "remark",
    "goal",
    "conversation",
    "message",
    "spoken_form",
    "upload",
    "invitation",
    "login_session",
    "attendance",
    "round",
    "class",
    "media",
    "account",
    "academy",
];

impl Book {
    /// Empties the book of an invented academy for a real one of this name. People who are invented
    /// lose their logins; coaches keep theirs. Before, the whole database is copied to a file in
    /// the data folder, whose path is given back: it opens as a book where it is named
    /// `book.sqlite` in a folder of its own. Media files stay where they are.
    ///
    /// Ids are never given again and pages made before are out of date, so nothing old can be
    /// mistaken for something new.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if the academy is not an invented one, or without a name; then
    /// nothing was changed.
    pub async fn leave_invented(&self, by: &By, name: &str) -> Result<PathBuf, StoreError> {
        let name = name.trim();
        if name.is_empty() {
            return Err(StoreError::Refused("the academy needs a name".to_owned()));
        }
        let aside = self.folder().join(format!("invented-academy-{}.sqlite", by.at));
        // The only connection that writes is held from the copy to the end, so that nothing can be
        // written between them.
        let mut writing = self.writing.acquire().await?;
        let invented: Option<bool> =
            sqlx::query_scalar("SELECT invented FROM academy WHERE id = 1")
                .fetch_optional(&mut *writing)
                .await?;
        if invented != Some(true) {
            let told = "only the invented academy can be emptied; nothing was changed";
            return Err(StoreError::Refused(told.to_owned()));
        }
        sqlx::query("VACUUM INTO ?")
            .bind(aside.to_string_lossy().into_owned())
            .execute(&mut *writing)
            .await?;
        let mut transaction = sqlx::Connection::begin(&mut *writing).await?;
        for table in OF_THE_ACADEMY {
            let sql = match table {
                "account" => "DELETE FROM account WHERE role <> 'coach'".to_owned(),
                "login_session" => "DELETE FROM login_session WHERE account_id IN
                     (SELECT id FROM account WHERE role <> 'coach')"
                    .to_owned(),
                _ => format!("DELETE FROM {table}"),
            };
            sqlx::query(AssertSqlSafe(sql)).execute(&mut *transaction).await?;
        }
        for sql in [
            "UPDATE account SET member_id = NULL",
            "DELETE FROM member",
            "UPDATE subject_revision SET revision = revision + 1",
        ] {
            sqlx::query(sql).execute(&mut *transaction).await?;
        }
        sqlx::query("INSERT INTO academy (id, name, invented) VALUES (1, ?, 0)")
            .bind(name)
            .execute(&mut *transaction)
            .await?;
        transaction.commit().await?;
        Ok(aside)
    }
}
