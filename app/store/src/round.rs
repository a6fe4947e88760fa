//! Rounds: who met, when, with which talk and video.

use std::collections::HashMap;

use academy::{Round, RoundError, RoundKind, Time};
use jiff::civil::Date;
use serde_json::{Value, json};
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Row as _};

use crate::book::Book;
use crate::change::{By, Change, Subject};
use crate::classes::ClassId;
use crate::error::StoreError;
use crate::people::{MemberId, date_from, date_text};
use crate::row::{self, Row, Table};

/// Id of a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RoundId(pub i64);

/// What people tell about a round when they put it into the book.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundFacts {
    /// The day.
    pub date: Date,
    /// What it was meant to be.
    pub kind: RoundKind,
    /// In the gi, or without.
    pub gi: bool,
    /// Who met; in this order they are first and second.
    pub athletes: [MemberId; 2],
    /// How long it lasted.
    pub length: Time,
    /// The class it was part of.
    pub class: Option<ClassId>,
    /// The captions as they came, and the name of their file.
    pub talk: Option<Captions>,
    /// The video's or sound's hash in the media folder.
    pub media: Option<String>,
    /// The day on which a person confirmed the whole ledger.
    pub confirmed: Option<Date>,
}

/// A captions file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Captions {
    /// Its name, for people.
    pub name: String,
    /// Its text, as it came.
    pub text: String,
}

/// A line of the list of rounds: everything but the talk itself.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundLine {
    /// Which.
    pub id: RoundId,
    /// The day.
    pub date: Date,
    /// What it was meant to be.
    pub kind: RoundKind,
    /// In the gi, or without.
    pub gi: bool,
    /// Who met.
    pub athletes: [MemberId; 2],
    /// Their names.
    pub names: [String; 2],
    /// How long it lasted.
    pub length: Time,
    /// Whether there are captions.
    pub talk: bool,
    /// Whether there is a recording.
    pub media: bool,
    /// The day of confirmation.
    pub confirmed: Option<Date>,
    /// Questions worth asking at the last reading, which may be before the last change; `None` if it
    /// was never read.
    pub open_questions: Option<u32>,
}

/// Which rounds a list shows.
#[derive(Clone, Debug, Default)]
pub struct RoundFilter {
    /// Only of this person.
    pub member: Option<MemberId>,
    /// Only those confirmed, or only those not.
    pub confirmed: Option<bool>,
    /// Only from this day on.
    pub from: Option<Date>,
    /// At most so many; all where `None`.
    pub most: Option<u32>,
    /// After so many.
    pub skip: u32,
}

pub(crate) fn time(row: &SqliteRow, column: &str) -> Result<Time, StoreError> {
    Ok(moment(row.try_get(column)?))
}

pub(crate) fn moment(millis: i64) -> Time {
    Time::from_millis(u64::try_from(millis).unwrap_or(0))
}

pub(crate) fn millis(time: Time) -> serde_json::Value {
    json!(i64::try_from(time.millis()).unwrap_or(i64::MAX))
}

pub(crate) fn kind(row: &SqliteRow) -> Result<RoundKind, StoreError> {
    let id: String = row.try_get("kind")?;
    RoundKind::from_id(&id).ok_or(StoreError::Unreadable(id))
}

fn confirmed(row: &SqliteRow) -> Result<Option<Date>, StoreError> {
    row.try_get::<Option<String>, _>("confirmed")?.map(|text| date_from(&text)).transpose()
}

fn facts(row: &SqliteRow) -> Result<RoundFacts, StoreError> {
    let talk: Option<String> = row.try_get("talk")?;
    let name: Option<String> = row.try_get("talk_name")?;
    Ok(RoundFacts {
        date: date_from(row.try_get("day")?)?,
        kind: kind(row)?,
        gi: row.try_get("gi")?,
        athletes: [MemberId(row.try_get("first_id")?), MemberId(row.try_get("second_id")?)],
        length: time(row, "length")?,
        class: row.try_get::<Option<i64>, _>("class_id")?.map(ClassId),
        talk: talk.map(|text| Captions { name: name.unwrap_or_default(), text }),
        media: row.try_get("media_hash")?,
        confirmed: confirmed(row)?,
    })
}

pub(crate) fn facts_row(id: RoundId, facts: &RoundFacts) -> Row {
    row::row([
        ("id", json!(id.0)),
        ("day", json!(facts.date.to_string())),
        ("kind", json!(facts.kind.id())),
        ("gi", json!(facts.gi)),
        ("first_id", json!(facts.athletes[0].0)),
        ("second_id", json!(facts.athletes[1].0)),
        ("length", millis(facts.length)),
        ("class_id", json!(facts.class.map(|class| class.0))),
        ("talk", json!(facts.talk.as_ref().map(|talk| &talk.text))),
        ("talk_name", json!(facts.talk.as_ref().map(|talk| &talk.name))),
        ("media_hash", json!(facts.media)),
        ("confirmed", date_text(facts.confirmed)),
    ])
}

/// Tables whose rows belong to a round and go with it.
const OF_A_ROUND: [&Table; 4] = [&row::ANSWER, &row::HAND_SPELL, &row::HAND_EVENT, &row::REMARK];

impl Change {
    /// Makes one column of a round be as given; the others stay as they are by now.
    pub(crate) async fn put_fact(
        &mut self,
        round: RoundId,
        column: &str,
        value: Value,
    ) -> Result<(), StoreError> {
        let key = row::row([("id", json!(round.0))]);
        let found = row::ROUND.find(self.connection(), &key).await?;
        let mut kept = found.ok_or(StoreError::Missing("round"))?;
        kept.insert(column.to_owned(), value);
        self.put(&row::ROUND, kept).await
    }
}

impl Book {
    /// What is kept about a round.
    ///
    /// # Errors
    /// [`StoreError::Missing`] if there is none.
    pub async fn round_facts(&self, id: RoundId) -> Result<RoundFacts, StoreError> {
        let row = sqlx::query("SELECT * FROM round WHERE id = ?")
            .bind(id.0)
            .fetch_optional(&self.reading)
            .await?;
        facts(&row.ok_or(StoreError::Missing("round"))?)
    }

    /// The round as the engine takes it.
    ///
    /// # Errors
    /// [`StoreError::Missing`], or two people that cannot meet.
    pub async fn round(&self, facts: &RoundFacts) -> Result<Round, StoreError> {
        let [first, second] = facts.athletes;
        let athletes = [self.member(first).await?.person(), self.member(second).await?.person()];
        Round::new(athletes, facts.kind, facts.length)
            .map_err(|error: RoundError| StoreError::Refused(error.to_string()))
    }

    /// Rounds, latest first.
    ///
    /// # Errors
    /// The database's.
    pub async fn rounds(&self, filter: &RoundFilter) -> Result<Vec<RoundLine>, StoreError> {
        let sql = format!(
            "SELECT round.id, day, kind, gi, first_id, second_id, length, confirmed,
                talk IS NOT NULL AS has_talk, media_hash IS NOT NULL AS has_media,
                one.name AS first_name, two.name AS second_name, open_questions
             FROM round JOIN member AS one ON one.id = first_id
                JOIN member AS two ON two.id = second_id
                LEFT JOIN ledger_state ON round_id = round.id
             WHERE {} ORDER BY day DESC, round.id DESC LIMIT ? OFFSET ?",
            filter.condition()
        );
        let mut query = sqlx::query(AssertSqlSafe(sql));
        if let Some(MemberId(id)) = filter.member {
            query = query.bind(id).bind(id);
        }
        if let Some(from) = filter.from {
            query = query.bind(from.to_string());
        }
        let rows = query
            .bind(filter.most.map_or(i64::MAX, i64::from))
            .bind(filter.skip)
            .fetch_all(&self.reading)
            .await?;
        let line = |row: &SqliteRow| -> Result<RoundLine, StoreError> {
            Ok(RoundLine {
                id: RoundId(row.try_get("id")?),
                date: date_from(row.try_get("day")?)?,
                kind: kind(row)?,
                gi: row.try_get("gi")?,
                athletes: [MemberId(row.try_get("first_id")?), MemberId(row.try_get("second_id")?)],
                names: [row.try_get("first_name")?, row.try_get("second_name")?],
                length: time(row, "length")?,
                talk: row.try_get("has_talk")?,
                media: row.try_get("has_media")?,
                confirmed: confirmed(row)?,
                open_questions: row.try_get("open_questions")?,
            })
        };
        rows.iter().map(line).collect()
    }

    /// How many rounds a filter lets through, its limits aside.
    ///
    /// # Errors
    /// The database's.
    pub async fn count_rounds(&self, filter: &RoundFilter) -> Result<u32, StoreError> {
        let sql = format!("SELECT count(*) FROM round WHERE {}", filter.condition());
        let mut query = sqlx::query_scalar(AssertSqlSafe(sql));
        if let Some(MemberId(id)) = filter.member {
            query = query.bind(id).bind(id);
        }
        if let Some(from) = filter.from {
            query = query.bind(from.to_string());
        }
        Ok(query.fetch_one(&self.reading).await?)
    }

    /// How many rounds everybody has had, and the day of the last; people without any are not in
    /// it.
    ///
    /// # Errors
    /// The database's.
    pub async fn rounds_by_person(&self) -> Result<HashMap<MemberId, (u32, Date)>, StoreError> {
        let rows: Vec<(i64, u32, String)> = sqlx::query_as(
            "SELECT who, count(*), max(day) FROM
                (SELECT first_id AS who, day FROM round UNION ALL
                 SELECT second_id AS who, day FROM round) AS met GROUP BY who",
        )
        .fetch_all(&self.reading)
        .await?;
        let person =
            |(id, count, last): (i64, u32, String)| Ok((MemberId(id), (count, date_from(&last)?)));
        rows.into_iter().map(person).collect()
    }

    /// Everybody who is in a round with this recording, each once.
    ///
    /// # Errors
    /// The database's.
    pub async fn people_in_recording(&self, hash: &str) -> Result<Vec<MemberId>, StoreError> {
        let ids: Vec<i64> = sqlx::query_scalar(
            "SELECT first_id FROM round WHERE media_hash = ? UNION
             SELECT second_id FROM round WHERE media_hash = ?",
        )
        .bind(hash)
        .bind(hash)
        .fetch_all(&self.reading)
        .await?;
        Ok(ids.into_iter().map(MemberId).collect())
    }

    /// The day of the latest round of these two people, in either order, with the same captions;
    /// `None` where there is none.
    ///
    /// # Errors
    /// The database's.
    pub async fn day_of_same_talk(
        &self,
        athletes: [MemberId; 2],
        talk: &str,
    ) -> Result<Option<Date>, StoreError> {
        let [first, second] = athletes.map(|id| id.0);
        let day: Option<String> = sqlx::query_scalar(
            "SELECT max(day) FROM round
             WHERE ? IN (first_id, second_id) AND ? IN (first_id, second_id) AND talk = ?",
        )
        .bind(first)
        .bind(second)
        .bind(talk)
        .fetch_one(&self.reading)
        .await?;
        day.map(|day| date_from(&day)).transpose()
    }

    /// Puts a round into the book.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if it cannot be.
    pub async fn add_round(&self, by: &By, facts: &RoundFacts) -> Result<RoundId, StoreError> {
        self.round(facts).await?;
        let id = RoundId(self.new_round_id().await?);
        let by = By { seen: None, ..by.clone() };
        let mut change = self.change(Subject::Round(id), &by, "Added the round").await?;
        change.put(&row::ROUND, facts_row(id, facts)).await?;
        change.keep().await?;
        Ok(id)
    }

    async fn new_round_id(&self) -> Result<i64, StoreError> {
        crate::change::next_id(&mut *self.writing.acquire().await?, row::ROUND.name).await
    }

    /// Changes what is kept about a round. Remarks for somebody who was not in it after all are
    /// for whoever comes in their place.
    ///
    /// # Errors
    /// As [`Book::add_round`], or [`StoreError::Missing`].
    pub async fn change_round(
        &self,
        by: &By,
        id: RoundId,
        what: &str,
        facts: &RoundFacts,
    ) -> Result<(), StoreError> {
        let before = self.round_facts(id).await?.athletes;
        self.round(facts).await?;
        let mut change = self.change(Subject::Round(id), by, what).await?;
        change.put(&row::ROUND, facts_row(id, facts)).await?;
        let gone = before.into_iter().filter(|member| !facts.athletes.contains(member));
        let come = facts.athletes.into_iter().filter(|member| !before.contains(member));
        for (gone, come) in gone.zip(come) {
            change.pass_remarks_on(id, gone, come).await?;
        }
        change.keep().await
    }

    /// Takes a round out of the book with all that belongs to it. Undoing brings it all back.
    ///
    /// # Errors
    /// [`StoreError::Missing`].
    pub async fn delete_round(&self, by: &By, id: RoundId) -> Result<(), StoreError> {
        self.round_facts(id).await?;
        let mut change = self.change(Subject::Round(id), by, "Deleted the round").await?;
        for table in OF_A_ROUND {
            for row in table.find_all(change.connection(), "round_id", id.0).await? {
                change.take(table, &row).await?;
            }
        }
        change.take(&row::ROUND, &row::row([("id", json!(id.0))])).await?;
        change.keep().await
    }
}

impl RoundFilter {
    fn condition(&self) -> String {
        let mut parts = vec!["1 = 1"];
        if self.member.is_some() {
            parts.push("(first_id = ? OR second_id = ?)");
        }
        if self.from.is_some() {
            parts.push("day >= ?");
        }
        match self.confirmed {
            Some(true) => parts.push("confirmed IS NOT NULL"),
            Some(false) => parts.push("confirmed IS NULL"),
            None => {}
        }
        parts.join(" AND ")
    }
}
