//! Every change of the book: described, kept with who and when, undone and done again to any
//! depth, also after a restart. One change is one transaction.
//!
//! Whatever is changed belongs to a subject, and subjects share no rows: undoing a change of one
//! round touches nothing of another.

use std::fmt;

use serde_json::Value;
use sqlx::{Sqlite, SqliteConnection, Transaction};

use crate::book::Book;
use crate::error::StoreError;
use crate::ledgers::{outdate, rests_on};
use crate::people::MemberId;
use crate::round::RoundId;
use crate::row::{Row, Table};

/// What a change belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Subject {
    /// The academy's name.
    Academy,
    /// People.
    Roster,
    /// Classes and attendance.
    Classes,
    /// Words that the coach taught.
    Words,
    /// One round.
    Round(RoundId),
    /// What is kept about how one student comes on: goals and conversations.
    Student(MemberId),
    /// Words for one student's report, which not everybody may write who may set goals.
    Report(MemberId),
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Subject::Academy => f.write_str("academy"),
            Subject::Roster => f.write_str("roster"),
            Subject::Classes => f.write_str("classes"),
            Subject::Words => f.write_str("words"),
            Subject::Round(id) => write!(f, "round {}", id.0),
            Subject::Student(id) => write!(f, "student {}", id.0),
            Subject::Report(id) => write!(f, "report {}", id.0),
        }
    }
}

/// Under this name it is counted how often anything was changed that figures may rest on.
pub(crate) const FIGURES: &str = "figures";

/// How often a subject was changed. A page shows the one it was made from and sends it back with a
/// change, which is refused if somebody else changed the subject in between.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Revision(pub i64);

/// Who changes what, when, and having seen what.
#[derive(Clone, Debug)]
pub struct By {
    /// The name under which the change is kept.
    pub who: String,
    /// Seconds since 1970.
    pub at: i64,
    /// What the person had seen; `None` where the change is right whatever it was.
    pub seen: Option<Revision>,
}

/// A change as the history shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Its number in the book.
    pub id: i64,
    /// Who made it.
    pub who: String,
    /// Seconds since 1970.
    pub at: i64,
    /// What it did, as a phrase: "Moved a border to 1:20".
    pub what: String,
    /// Whether it is undone at present.
    pub undone: bool,
}

/// A change being made.
pub(crate) struct Change {
    transaction: Transaction<'static, Sqlite>,
    id: i64,
    rows: i64,
    /// Whether figures rest on one of the rows.
    figures: bool,
}

impl Change {
    pub(crate) fn connection(&mut self) -> &mut SqliteConnection {
        &mut self.transaction
    }

    /// The next id of a table; never given again.
    pub(crate) async fn next_id(&mut self, table: &Table) -> Result<i64, StoreError> {
        next_id(&mut self.transaction, table.name).await
    }

    /// Makes a row be as given.
    pub(crate) async fn put(&mut self, table: &Table, row: Row) -> Result<(), StoreError> {
        let row = table.whole(&row);
        let before = table.find(&mut self.transaction, &row).await?;
        if before.as_ref() != Some(&row) {
            table.write(&mut self.transaction, &row, Some(&row)).await?;
            self.note(table, before, Some(row)).await?;
        }
        Ok(())
    }

    /// Takes a row away, if it is there.
    pub(crate) async fn take(&mut self, table: &Table, key: &Row) -> Result<(), StoreError> {
        if let Some(before) = table.find(&mut self.transaction, key).await? {
            table.write(&mut self.transaction, &before, None).await?;
            self.note(table, Some(before), None).await?;
        }
        Ok(())
    }

    async fn note(
        &mut self,
        table: &Table,
        before: Option<Row>,
        after: Option<Row>,
    ) -> Result<(), StoreError> {
        outdate(&mut self.transaction, table, before.as_ref(), after.as_ref()).await?;
        self.figures |= rests_on(table);
        let text = |row: Option<Row>| row.map(|row| Value::Object(row).to_string());
        sqlx::query(
            "INSERT INTO change_row (change_id, number, of_table, before_row, after_row)
             VALUES (?, ?, ?, ?, ?)",
        )
        .bind(self.id)
        .bind(self.rows)
        .bind(table.name)
        .bind(text(before))
        .bind(text(after))
        .execute(&mut *self.transaction)
        .await?;
        self.rows += 1;
        Ok(())
    }

    /// Keeps the change. A change of nothing is not kept.
    pub(crate) async fn keep(mut self) -> Result<(), StoreError> {
        if self.rows == 0 {
            return Ok(self.transaction.rollback().await?);
        }
        if self.figures {
            count(&mut self.transaction, FIGURES).await?;
        }
        self.transaction.commit().await.map_err(refused)
    }
}

/// A row that others need or that is there twice is a refusal, not a fault.
pub(crate) fn refused(error: sqlx::Error) -> StoreError {
    let Some(database) = error.as_database_error() else { return error.into() };
    if database.is_foreign_key_violation() {
        return StoreError::Refused(
            "something else in the book still needs it, such as a round or a goal of that person"
                .to_owned(),
        );
    }
    if database.is_unique_violation() {
        return StoreError::Refused("there is one of that name already".to_owned());
    }
    error.into()
}

pub(crate) async fn next_id(
    connection: &mut SqliteConnection,
    table: &str,
) -> Result<i64, StoreError> {
    Ok(sqlx::query_scalar(
        "INSERT INTO next_id (of_table, next) VALUES (?, 2)
         ON CONFLICT (of_table) DO UPDATE SET next = next + 1 RETURNING next - 1",
    )
    .bind(table)
    .fetch_one(connection)
    .await?)
}

/// Counts a change of what goes by this name; tells how many there were with it.
pub(crate) async fn count(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<i64, StoreError> {
    Ok(sqlx::query_scalar(
        "INSERT INTO subject_revision (subject, revision) VALUES (?, 1)
         ON CONFLICT (subject) DO UPDATE SET revision = revision + 1 RETURNING revision",
    )
    .bind(name)
    .fetch_one(connection)
    .await?)
}

/// Counts a change of a subject, after checking that the person saw the last one.
async fn count_of(
    connection: &mut SqliteConnection,
    subject: Subject,
    seen: Option<Revision>,
) -> Result<(), StoreError> {
    let now = count(connection, &subject.to_string()).await?;
    match seen {
        Some(seen) if seen.0 != now - 1 => Err(StoreError::OutOfDate),
        _ => Ok(()),
    }
}

impl Book {
    /// Begins a change. Nothing is kept until [`Change::keep`].
    pub(crate) async fn change(
        &self,
        subject: Subject,
        by: &By,
        what: &str,
    ) -> Result<Change, StoreError> {
        let mut transaction = self.writing.begin().await?;
        count_of(&mut transaction, subject, by.seen).await?;
        sqlx::query(
            "UPDATE change_log SET state = 'forgotten' WHERE subject = ? AND state = 'undone'",
        )
        .bind(subject.to_string())
        .execute(&mut *transaction)
        .await?;
        let id = next_id(&mut transaction, "change_log").await?;
        sqlx::query(
            "INSERT INTO change_log (id, subject, who, made_at, what, state)
             VALUES (?, ?, ?, ?, ?, 'done')",
        )
        .bind(id)
        .bind(subject.to_string())
        .bind(&by.who)
        .bind(by.at)
        .bind(what)
        .execute(&mut *transaction)
        .await?;
        Ok(Change { transaction, id, rows: 0, figures: false })
    }

    /// How often a subject was changed.
    ///
    /// # Errors
    /// The database's.
    pub async fn revision(&self, subject: Subject) -> Result<Revision, StoreError> {
        self.revision_of(&subject.to_string()).await
    }

    pub(crate) async fn revision_of(&self, name: &str) -> Result<Revision, StoreError> {
        let revision: Option<i64> =
            sqlx::query_scalar("SELECT revision FROM subject_revision WHERE subject = ?")
                .bind(name)
                .fetch_optional(&self.reading)
                .await?;
        Ok(Revision(revision.unwrap_or(0)))
    }

    /// Undoes the last change of a subject; tells what it was, `None` if there was none.
    ///
    /// # Errors
    /// [`StoreError::OutOfDate`], or [`StoreError::Refused`] where something else needs what the
    /// change made.
    pub async fn undo(&self, subject: Subject, by: &By) -> Result<Option<String>, StoreError> {
        self.step(subject, by, true).await
    }

    /// Does the last undone change of a subject again; tells what it was, `None` if there is none.
    ///
    /// # Errors
    /// As [`Book::undo`].
    pub async fn redo(&self, subject: Subject, by: &By) -> Result<Option<String>, StoreError> {
        self.step(subject, by, false).await
    }

    async fn step(
        &self,
        subject: Subject,
        by: &By,
        back: bool,
    ) -> Result<Option<String>, StoreError> {
        let mut transaction = self.writing.begin().await?;
        count_of(&mut transaction, subject, by.seen).await?;
        let find = if back {
            "SELECT id, what FROM change_log WHERE subject = ? AND state = 'done'
             ORDER BY id DESC LIMIT 1"
        } else {
            "SELECT id, what FROM change_log WHERE subject = ? AND state = 'undone'
             ORDER BY id LIMIT 1"
        };
        let found: Option<(i64, String)> = sqlx::query_as(find)
            .bind(subject.to_string())
            .fetch_optional(&mut *transaction)
            .await?;
        let Some((id, what)) = found else { return Ok(None) };
        let mut rows: Vec<(String, Option<String>, Option<String>)> = sqlx::query_as(
            "SELECT of_table, before_row, after_row FROM change_row WHERE change_id = ?
             ORDER BY number",
        )
        .bind(id)
        .fetch_all(&mut *transaction)
        .await?;
        if back {
            rows.reverse();
        }
        let mut figures = false;
        for (table, before, after) in rows {
            let (from, to) = if back { (after, before) } else { (before, after) };
            let table = Table::named(&table).ok_or(StoreError::Missing("table"))?;
            let [from, to] = [parse(from)?, parse(to)?];
            let Some(key) = from.as_ref().or(to.as_ref()) else { continue };
            table.write(&mut transaction, key, to.as_ref()).await?;
            outdate(&mut transaction, table, from.as_ref(), to.as_ref()).await?;
            figures |= rests_on(table);
        }
        if figures {
            count(&mut transaction, FIGURES).await?;
        }
        sqlx::query("UPDATE change_log SET state = ? WHERE id = ?")
            .bind(if back { "undone" } else { "done" })
            .bind(id)
            .execute(&mut *transaction)
            .await?;
        transaction.commit().await.map_err(|error| match refused(error) {
            StoreError::Refused(_) => StoreError::Refused(format!(
                "\"{what}\" needs, or is needed by, something else that was changed since: undo \
                 that first"
            )),
            other => other,
        })?;
        Ok(Some(what))
    }

    /// The last changes of a subject, newest first, without those that were undone and given up.
    ///
    /// # Errors
    /// The database's.
    pub async fn history(&self, subject: Subject, most: u32) -> Result<Vec<Kept>, StoreError> {
        let rows: Vec<(i64, String, i64, String, String)> = sqlx::query_as(
            "SELECT id, who, made_at, what, state FROM change_log
             WHERE subject = ? AND state <> 'forgotten' ORDER BY id DESC LIMIT ?",
        )
        .bind(subject.to_string())
        .bind(most)
        .fetch_all(&self.reading)
        .await?;
        let kept = |(id, who, at, what, state): (i64, String, i64, String, String)| Kept {
            id,
            who,
            at,
            what,
            undone: state == "undone",
        };
        Ok(rows.into_iter().map(kept).collect())
    }
}

fn parse(text: Option<String>) -> Result<Option<Row>, StoreError> {
    text.map(|text| serde_json::from_str(&text).map_err(|_| StoreError::Missing("kept row")))
        .transpose()
}
