//! What people told about a round: answers, moments passed over, entries by hand, remarks.

use academy::{Answer, Athlete, ByHand, Event, EventKind, Position, Source, Span, Spell, Time};
use jiff::civil::Date;
use serde_json::{Value, json};
use sqlx::Row as _;
use sqlx::sqlite::SqliteRow;

use crate::book::Book;
use crate::change::{By, Change, Subject};
use crate::error::StoreError;
use crate::people::{MemberId, date_text};
use crate::round::{RoundId, millis, time};
use crate::row::{self, Row};

/// Everything that a person told about a round.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// Answers, in the order in which they were given.
    pub answers: Vec<Answer>,
    /// Moments about which a question was passed over.
    pub passed: Vec<Time>,
    /// Entries by hand.
    pub by_hand: ByHand,
}

/// A moment of a round marked with the coach's words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// Its number in the book; 0 for one that is not kept yet.
    pub id: i64,
    /// Which round.
    pub round: RoundId,
    /// When in the round.
    pub time: Time,
    /// For whom; for both where `None`.
    pub member: Option<MemberId>,
    /// The words.
    pub words: String,
}

fn athlete_value(athlete: Option<Athlete>) -> Value {
    json!(athlete.map(Athlete::index))
}

pub(crate) fn athlete(row: &SqliteRow, column: &str) -> Result<Option<Athlete>, StoreError> {
    Ok(seat(row.try_get(column)?))
}

pub(crate) fn seat(index: Option<i64>) -> Option<Athlete> {
    index.map(|index| if index == 0 { Athlete::First } else { Athlete::Second })
}

pub(crate) fn position(id: &str) -> Result<Position, StoreError> {
    Position::from_id(id).ok_or_else(|| StoreError::Unreadable(format!("the position \"{id}\"")))
}

pub(crate) fn event_kind(id: &str) -> Result<EventKind, StoreError> {
    EventKind::from_id(id).ok_or_else(|| StoreError::Unreadable(format!("the event \"{id}\"")))
}

fn answer_row(id: i64, round: RoundId, answer: &Answer) -> Row {
    let mut kept = row::row([("id", json!(id)), ("round_id", json!(round.0))]);
    let mut set = |name: &str, value: Value| kept.insert(name.to_owned(), value);
    match answer {
        Answer::State { time, position, top } => {
            set("kind", json!("state"));
            set("at", millis(*time));
            set("position", json!(position.id()));
            set("athlete", athlete_value(*top));
        }
        Answer::Top { time, top } => {
            set("kind", json!("top"));
            set("at", millis(*time));
            set("athlete", athlete_value(Some(*top)));
        }
        Answer::Spell { time, position, top, start, end } => {
            set("kind", json!("spell"));
            set("at", millis(*time));
            set("position", json!(position.id()));
            set("athlete", athlete_value(*top));
            set("start_at", start.map_or(Value::Null, millis));
            set("end_at", end.map_or(Value::Null, millis));
        }
        Answer::Event { time, kind, actor } => {
            set("kind", json!("event"));
            set("at", millis(*time));
            set("event", json!(kind.id()));
            set("athlete", athlete_value(*actor));
        }
        Answer::Nothing { span } => {
            set("kind", json!("nothing"));
            set("at", millis(span.start()));
            set("end_at", millis(span.end()));
        }
    }
    kept
}

fn passed_row(id: i64, round: RoundId, time: Time) -> Row {
    row::row([
        ("id", json!(id)),
        ("round_id", json!(round.0)),
        ("kind", json!("passed")),
        ("at", millis(time)),
    ])
}

enum Reply {
    Answer(Answer),
    Passed(Time),
}

fn reply(row: &SqliteRow) -> Result<Reply, StoreError> {
    let kind: String = row.try_get("kind")?;
    let at = time(row, "at")?;
    let who = athlete(row, "athlete")?;
    let text = |column: &str| -> Result<String, StoreError> {
        Ok(row.try_get::<Option<String>, _>(column)?.unwrap_or_default())
    };
    let optional = |column: &str| -> Result<Option<Time>, StoreError> {
        Ok(match row.try_get::<Option<i64>, _>(column)? {
            Some(_) => Some(time(row, column)?),
            None => None,
        })
    };
    Ok(Reply::Answer(match kind.as_str() {
        "state" => Answer::State { time: at, position: position(&text("position")?)?, top: who },
        "top" => {
            let top = who.ok_or_else(|| StoreError::Unreadable("an answer".to_owned()))?;
            Answer::Top { time: at, top }
        }
        "spell" => Answer::Spell {
            time: at,
            position: position(&text("position")?)?,
            top: who,
            start: optional("start_at")?,
            end: optional("end_at")?,
        },
        "event" => Answer::Event { time: at, kind: event_kind(&text("event")?)?, actor: who },
        "nothing" => Answer::Nothing { span: Span::between(at, optional("end_at")?.unwrap_or(at)) },
        _ => return Ok(Reply::Passed(at)),
    }))
}

impl Change {
    /// Makes the entries by hand of a round be these.
    pub(crate) async fn put_by_hand(
        &mut self,
        round: RoundId,
        by_hand: &ByHand,
    ) -> Result<(), StoreError> {
        let spells = by_hand.spells.iter().map(|spell| {
            row::row([
                ("round_id", json!(round.0)),
                ("start_at", millis(spell.span.start())),
                ("end_at", millis(spell.span.end())),
                ("position", json!(spell.position.id())),
                ("top", athlete_value(spell.top)),
                ("variant", json!(spell.variant)),
            ])
        });
        let event = |event: &Event, struck: bool| {
            row::row([
                ("round_id", json!(round.0)),
                ("at", millis(event.time)),
                ("kind", json!(event.kind.id())),
                ("actor", athlete_value(event.actor)),
                ("technique", json!(event.technique)),
                ("struck", json!(struck)),
            ])
        };
        let events = by_hand.events.iter().map(|told| event(told, false));
        let struck = by_hand.struck.iter().map(|told| event(told, true));
        self.replace(&row::HAND_SPELL, round, spells.collect()).await?;
        self.replace(&row::HAND_EVENT, round, events.chain(struck).collect()).await
    }

    /// Makes the remarks of a round that are for one person be for another one.
    pub(crate) async fn pass_remarks_on(
        &mut self,
        round: RoundId,
        from: MemberId,
        to: MemberId,
    ) -> Result<(), StoreError> {
        for mut kept in row::REMARK.find_all(self.connection(), "round_id", round.0).await? {
            if kept["member_id"] == json!(from.0) {
                kept.insert("member_id".to_owned(), json!(to.0));
                self.put(&row::REMARK, kept).await?;
            }
        }
        Ok(())
    }

    /// Makes the rows of a table that belong to a round be these; those that stay keep their ids.
    async fn replace(
        &mut self,
        table: &row::Table,
        round: RoundId,
        mut rows: Vec<Row>,
    ) -> Result<(), StoreError> {
        for kept in table.find_all(self.connection(), "round_id", round.0).await? {
            let same = |new: &Row| {
                let mut new = new.clone();
                new.insert("id".to_owned(), kept["id"].clone());
                table.whole(&new) == kept
            };
            match rows.iter().position(same) {
                Some(index) => {
                    rows.swap_remove(index);
                }
                None => self.take(table, &kept).await?,
            }
        }
        for mut new in rows {
            new.insert("id".to_owned(), json!(self.next_id(table).await?));
            self.put(table, new).await?;
        }
        Ok(())
    }
}

impl Book {
    /// What a person told about a round.
    ///
    /// # Errors
    /// The database's.
    pub async fn told(&self, round: RoundId) -> Result<Told, StoreError> {
        let mut told = Told::default();
        let rows = sqlx::query("SELECT * FROM answer WHERE round_id = ? ORDER BY id")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        for row in &rows {
            match reply(row)? {
                Reply::Answer(answer) => told.answers.push(answer),
                Reply::Passed(time) => told.passed.push(time),
            }
        }
        let rows = sqlx::query("SELECT * FROM hand_spell WHERE round_id = ? ORDER BY start_at")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        for row in &rows {
            told.by_hand.spells.push(Spell {
                span: Span::between(time(row, "start_at")?, time(row, "end_at")?),
                position: position(row.try_get("position")?)?,
                top: athlete(row, "top")?,
                variant: row.try_get("variant")?,
                confidence: 1.0,
                source: Source::Hand,
            });
        }
        let rows = sqlx::query("SELECT * FROM hand_event WHERE round_id = ? ORDER BY at, id")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        for row in &rows {
            let event = Event {
                time: time(row, "at")?,
                kind: event_kind(row.try_get("kind")?)?,
                actor: athlete(row, "actor")?,
                technique: row.try_get("technique")?,
                confidence: 1.0,
                source: Source::Hand,
            };
            let struck: bool = row.try_get("struck")?;
            if struck { &mut told.by_hand.struck } else { &mut told.by_hand.events }.push(event);
        }
        Ok(told)
    }

    /// Keeps an answer. It confirms nothing else, so a confirmed round stays as it is.
    ///
    /// # Errors
    /// The database's.
    pub async fn add_answer(
        &self,
        by: &By,
        round: RoundId,
        what: &str,
        answer: &Answer,
    ) -> Result<(), StoreError> {
        let mut change = self.change(Subject::Round(round), by, what).await?;
        let id = change.next_id(&row::ANSWER).await?;
        change.put(&row::ANSWER, answer_row(id, round, answer)).await?;
        change.keep().await
    }

    /// Keeps that a question about a moment was passed over.
    ///
    /// # Errors
    /// The database's.
    pub async fn pass_over(&self, by: &By, round: RoundId, time: Time) -> Result<(), StoreError> {
        let what = format!("Passed over the question at {time}");
        let mut change = self.change(Subject::Round(round), by, &what).await?;
        let id = change.next_id(&row::ANSWER).await?;
        change.put(&row::ANSWER, passed_row(id, round, time)).await?;
        change.keep().await
    }

    /// Makes the entries by hand of a round be these.
    ///
    /// # Errors
    /// [`StoreError::OutOfDate`] or the database's.
    pub async fn put_by_hand(
        &self,
        by: &By,
        round: RoundId,
        what: &str,
        by_hand: &ByHand,
    ) -> Result<(), StoreError> {
        let mut change = self.change(Subject::Round(round), by, what).await?;
        change.put_by_hand(round, by_hand).await?;
        change.keep().await
    }

    /// Confirms a whole round: its ledger becomes entries by hand.
    ///
    /// # Errors
    /// As [`Book::put_by_hand`].
    pub async fn confirm_round(
        &self,
        by: &By,
        round: RoundId,
        day: Date,
        by_hand: &ByHand,
    ) -> Result<(), StoreError> {
        let mut change = self.change(Subject::Round(round), by, "Confirmed the round").await?;
        change.put_by_hand(round, by_hand).await?;
        change.put_fact(round, "confirmed", date_text(Some(day))).await?;
        change.keep().await
    }

    /// Remarks of a round, in order of time.
    ///
    /// # Errors
    /// The database's.
    pub async fn remarks(&self, round: RoundId) -> Result<Vec<Remark>, StoreError> {
        let rows = sqlx::query("SELECT * FROM remark WHERE round_id = ? ORDER BY at, id")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        rows.iter().map(remark).collect()
    }

    /// Remarks made for a person (those for both athletes of the person's rounds too), latest
    /// round first.
    ///
    /// # Errors
    /// The database's.
    pub async fn remarks_for(&self, member: MemberId) -> Result<Vec<Remark>, StoreError> {
        let rows = sqlx::query(
            "SELECT remark.* FROM remark JOIN round ON round.id = round_id
             WHERE (member_id = ? OR member_id IS NULL) AND (first_id = ? OR second_id = ?)
             ORDER BY day DESC, round_id DESC, at",
        )
        .bind(member.0)
        .bind(member.0)
        .bind(member.0)
        .fetch_all(&self.reading)
        .await?;
        rows.iter().map(remark).collect()
    }

    /// Keeps a remark: a new one (id 0) or a changed one.
    ///
    /// # Errors
    /// [`StoreError::Refused`] without words.
    pub async fn put_remark(&self, by: &By, remark: &Remark) -> Result<(), StoreError> {
        if remark.words.trim().is_empty() {
            return Err(StoreError::Refused("a note needs words".to_owned()));
        }
        let what = format!("Noted something at {}", remark.time);
        let mut change = self.change(Subject::Round(remark.round), by, &what).await?;
        let id = if remark.id == 0 { change.next_id(&row::REMARK).await? } else { remark.id };
        let kept = row::row([
            ("id", json!(id)),
            ("round_id", json!(remark.round.0)),
            ("at", millis(remark.time)),
            ("member_id", json!(remark.member.map(|member| member.0))),
            ("words", json!(remark.words.trim())),
        ]);
        change.put(&row::REMARK, kept).await?;
        change.keep().await
    }

    /// Takes a remark of a round away.
    ///
    /// # Errors
    /// The database's.
    pub async fn delete_remark(&self, by: &By, round: RoundId, id: i64) -> Result<(), StoreError> {
        let mut change = self.change(Subject::Round(round), by, "Took a note away").await?;
        let key = row::row([("id", json!(id))]);
        let own = row::REMARK.find(change.connection(), &key).await?;
        if own.is_some_and(|kept| kept["round_id"] == json!(round.0)) {
            change.take(&row::REMARK, &key).await?;
        }
        change.keep().await
    }
}

fn remark(row: &SqliteRow) -> Result<Remark, StoreError> {
    Ok(Remark {
        id: row.try_get("id")?,
        round: RoundId(row.try_get("round_id")?),
        time: time(row, "at")?,
        member: row.try_get::<Option<i64>, _>("member_id")?.map(MemberId),
        words: row.try_get("words")?,
    })
}
