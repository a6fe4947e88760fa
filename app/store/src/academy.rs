//! The academy itself, and the words that its coach taught the program.

use serde_json::json;

use crate::book::Book;
use crate::change::{By, Subject};
use crate::error::StoreError;
use crate::row;

/// The academy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AcademyFacts {
    /// Its name.
    pub name: String,
    /// Whether it and everybody in it is made up, for trying the program.
    pub invented: bool,
}

/// Something that is heard wrongly, and what is meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpokenForm {
    /// Its number in the book.
    pub id: i64,
    /// As the captions have it.
    pub heard: String,
    /// The term or name that is meant.
    pub meant: String,
}

impl SpokenForm {
    /// Whether the words were heard rightly and mean no more than they say.
    #[must_use]
    pub fn is_as_said(&self) -> bool {
        self.meant.to_lowercase() == self.heard
    }
}

impl Book {
    /// The academy; `None` in an empty book.
    ///
    /// # Errors
    /// The database's.
    pub async fn academy(&self) -> Result<Option<AcademyFacts>, StoreError> {
        let found: Option<(String, bool)> =
            sqlx::query_as("SELECT name, invented FROM academy WHERE id = 1")
                .fetch_optional(&self.reading)
                .await?;
        Ok(found.map(|(name, invented)| AcademyFacts { name, invented }))
    }

    /// Names the academy.
    ///
    /// # Errors
    /// [`StoreError::Refused`] without a name.
    pub async fn put_academy(&self, by: &By, facts: &AcademyFacts) -> Result<(), StoreError> {
        if facts.name.trim().is_empty() {
            return Err(StoreError::Refused("the academy needs a name".to_owned()));
        }
        let what = format!("Named the academy {}", facts.name);
        let mut change = self.change(Subject::Academy, by, &what).await?;
        let kept = row::row([
            ("id", json!(1)),
            ("name", json!(facts.name.trim())),
            ("invented", json!(facts.invented)),
        ]);
        change.put(&row::ACADEMY, kept).await?;
        change.keep().await
    }

    /// Words that the coach taught, oldest first.
    ///
    /// # Errors
    /// The database's.
    pub async fn spoken_forms(&self) -> Result<Vec<SpokenForm>, StoreError> {
        let rows: Vec<(i64, String, String)> =
            sqlx::query_as("SELECT id, heard, meant FROM spoken_form ORDER BY id")
                .fetch_all(&self.reading)
                .await?;
        let form = |(id, heard, meant)| SpokenForm { id, heard, meant };
        Ok(rows.into_iter().map(form).collect())
    }

    /// Teaches what is meant by what is heard; another meaning of the same words is replaced.
    ///
    /// # Errors
    /// [`StoreError::Refused`] without words.
    pub async fn teach(&self, by: &By, heard: &str, meant: &str) -> Result<(), StoreError> {
        let (heard, meant) = (heard.trim().to_lowercase(), meant.trim());
        if heard.is_empty() || meant.is_empty() {
            return Err(StoreError::Refused(
                "both what is heard and what is meant are needed".into(),
            ));
        }
        let what = if meant.to_lowercase() == heard {
            format!("Said that \"{heard}\" was heard rightly")
        } else {
            format!("Taught that \"{heard}\" means {meant}")
        };
        let mut change = self.change(Subject::Words, by, &what).await?;
        let known: Option<i64> = sqlx::query_scalar("SELECT id FROM spoken_form WHERE heard = ?")
            .bind(&heard)
            .fetch_optional(&mut *change.connection())
            .await?;
        let id = match known {
            Some(id) => id,
            None => change.next_id(&row::SPOKEN_FORM).await?,
        };
        let kept = row::row([("id", json!(id)), ("heard", json!(heard)), ("meant", json!(meant))]);
        change.put(&row::SPOKEN_FORM, kept).await?;
        change.keep().await
    }

    /// Forgets a taught word.
    ///
    /// # Errors
    /// The database's.
    pub async fn unteach(&self, by: &By, id: i64) -> Result<(), StoreError> {
        let mut change = self.change(Subject::Words, by, "Forgot a taught word").await?;
        change.take(&row::SPOKEN_FORM, &row::row([("id", json!(id))])).await?;
        change.keep().await
    }
}
