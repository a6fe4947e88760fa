//! Classes and who attended them.

use academy::Class;
use jiff::civil::Date;
use serde_json::json;
use sqlx::Row as _;
use sqlx::sqlite::SqliteRow;

use crate::book::Book;
use crate::change::{By, Subject};
use crate::error::StoreError;
use crate::people::{MemberId, date_from};
use crate::row;

/// Id of a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ClassId(pub i64);

fn class(row: &SqliteRow) -> Result<(ClassId, Class), StoreError> {
    let class = Class {
        date: date_from(row.try_get("day")?)?,
        title: row.try_get("title")?,
        topic: row.try_get("topic")?,
        notes: row.try_get("notes")?,
    };
    Ok((ClassId(row.try_get("id")?), class))
}

impl Book {
    /// Classes from a day on up to another, latest first.
    ///
    /// # Errors
    /// The database's.
    pub async fn classes(&self, from: Date, to: Date) -> Result<Vec<(ClassId, Class)>, StoreError> {
        let rows =
            sqlx::query("SELECT * FROM class WHERE day BETWEEN ? AND ? ORDER BY day DESC, id")
                .bind(from.to_string())
                .bind(to.to_string())
                .fetch_all(&self.reading)
                .await?;
        rows.iter().map(class).collect()
    }

    /// One class with who attended.
    ///
    /// # Errors
    /// [`StoreError::Missing`] if there is none.
    pub async fn class(&self, id: ClassId) -> Result<(Class, Vec<MemberId>), StoreError> {
        let row = sqlx::query("SELECT * FROM class WHERE id = ?")
            .bind(id.0)
            .fetch_optional(&self.reading)
            .await?;
        let (_, class) = class(&row.ok_or(StoreError::Missing("class"))?)?;
        let attended: Vec<i64> = sqlx::query_scalar(
            "SELECT member_id FROM attendance WHERE class_id = ? ORDER BY member_id",
        )
        .bind(id.0)
        .fetch_all(&self.reading)
        .await?;
        Ok((class, attended.into_iter().map(MemberId).collect()))
    }

    /// The classes that somebody attended, latest first.
    ///
    /// # Errors
    /// The database's.
    pub async fn classes_of(&self, id: MemberId) -> Result<Vec<(ClassId, Class)>, StoreError> {
        let rows = sqlx::query(
            "SELECT class.* FROM class JOIN attendance ON class_id = id WHERE member_id = ?
             ORDER BY day DESC, id",
        )
        .bind(id.0)
        .fetch_all(&self.reading)
        .await?;
        rows.iter().map(class).collect()
    }

    /// Keeps a class, new (no id) or changed, with exactly these people attending.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if a person is unknown or there is no title.
    pub async fn put_class(
        &self,
        by: &By,
        id: Option<ClassId>,
        class: &Class,
        attended: &[MemberId],
    ) -> Result<ClassId, StoreError> {
        if class.title.trim().is_empty() {
            return Err(StoreError::Refused("a class needs a title".to_owned()));
        }
        let verb = if id.is_some() { "Changed" } else { "Added" };
        let what = format!("{verb} the class {} of {}", class.title, class.date);
        let mut change = self.change(Subject::Classes, by, &what).await?;
        let id = match id {
            Some(id) => id.0,
            None => change.next_id(&row::CLASS).await?,
        };
        let kept = row::row([
            ("id", json!(id)),
            ("day", json!(class.date.to_string())),
            ("title", json!(class.title)),
            ("topic", json!(class.topic)),
            ("notes", json!(class.notes)),
        ]);
        change.put(&row::CLASS, kept).await?;
        for gone in row::ATTENDANCE.find_all(change.connection(), "class_id", id).await? {
            let member = gone["member_id"].as_i64();
            if !attended.iter().any(|attending| Some(attending.0) == member) {
                change.take(&row::ATTENDANCE, &gone).await?;
            }
        }
        for member in attended {
            let pair = row::row([("class_id", json!(id)), ("member_id", json!(member.0))]);
            change.put(&row::ATTENDANCE, pair).await?;
        }
        change.keep().await?;
        Ok(ClassId(id))
    }

    /// Takes a class out of the book, with who attended. Undoing brings both back.
    ///
    /// # Errors
    /// [`StoreError::Missing`], or [`StoreError::Refused`] while rounds belong to it.
    pub async fn delete_class(&self, by: &By, id: ClassId) -> Result<(), StoreError> {
        let (class, _) = self.class(id).await?;
        let rounds: u32 = sqlx::query_scalar("SELECT count(*) FROM round WHERE class_id = ?")
            .bind(id.0)
            .fetch_one(&self.reading)
            .await?;
        if rounds > 0 {
            return Err(StoreError::Refused(format!(
                "{rounds} of the rounds in the book belong to this class: choose another class, or \
                 none, on their pages first"
            )));
        }
        let what = format!("Deleted the class {} of {}", class.title, class.date);
        let mut change = self.change(Subject::Classes, by, &what).await?;
        for attended in row::ATTENDANCE.find_all(change.connection(), "class_id", id.0).await? {
            change.take(&row::ATTENDANCE, &attended).await?;
        }
        change.take(&row::CLASS, &row::row([("id", json!(id.0))])).await?;
        change.keep().await
    }
}
