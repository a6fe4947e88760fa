//! The ledgers as last read: a cache for lists and figures. It may be deleted at any time.
//!
//! Whatever changes what a round is read from says so in the same transaction (`outdate`): the
//! round's `reading` is then empty, which no reading is, until the round is read again.

use academy::{Event, Ledger, Source, Span, Spell};
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Row as _, SqliteConnection};

use crate::book::Book;
use crate::change::{self, FIGURES, Revision, Subject};
use crate::error::StoreError;
use crate::round::{RoundId, millis, moment};
use crate::row::{self, Row, Table};
use crate::told::{event_kind, position, seat};

/// A ledger as it was last read.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptLedger {
    /// A hash of all that went into the reading: another one means that it must be read again.
    /// Empty where that was changed since.
    pub reading: String,
    /// Questions worth asking then.
    pub open_questions: u32,
    /// What happened.
    pub ledger: Ledger,
}

impl Book {
    /// The ledger of a round as last read.
    ///
    /// # Errors
    /// The database's.
    pub async fn kept_ledger(&self, round: RoundId) -> Result<Option<KeptLedger>, StoreError> {
        let state: Option<(String, u32)> =
            sqlx::query_as("SELECT reading, open_questions FROM ledger_state WHERE round_id = ?")
                .bind(round.0)
                .fetch_optional(&self.reading)
                .await?;
        let Some((reading, open_questions)) = state else { return Ok(None) };
        let rows = sqlx::query(AssertSqlSafe(format!(
            "SELECT {OF_A_SPELL} FROM ledger_spell WHERE round_id = ? ORDER BY start_at"
        )))
        .bind(round.0)
        .fetch_all(&self.reading)
        .await?;
        let spells = rows.iter().map(spell).collect::<Result<_, _>>()?;
        let rows = sqlx::query(AssertSqlSafe(format!(
            "SELECT {OF_AN_EVENT} FROM ledger_event WHERE round_id = ? ORDER BY number"
        )))
        .bind(round.0)
        .fetch_all(&self.reading)
        .await?;
        let events = rows.iter().map(event).collect::<Result<_, _>>()?;
        // A cache that makes no ledger is no cache: the round is read again.
        Ok(Ledger::new(spells, events).ok().map(|ledger| KeptLedger {
            reading,
            open_questions,
            ledger,
        }))
    }

    /// How often anything was changed that this round may be read from; for
    /// [`Book::keep_ledger_as_of`].
    ///
    /// # Errors
    /// The database's.
    pub async fn reading_revision(&self, round: RoundId) -> Result<Revision, StoreError> {
        reading_revision(&mut *self.reading.acquire().await?, round).await
    }

    /// Keeps a ledger as read. Not a change that people make, so not in the history.
    ///
    /// # Errors
    /// The database's.
    pub async fn keep_ledger(&self, round: RoundId, kept: &KeptLedger) -> Result<(), StoreError> {
        self.keep_read(round, kept, None).await.map(drop)
    }

    /// Keeps a ledger as read, unless what it was read from was changed since
    /// [`Book::reading_revision`] gave this; tells whether it was kept.
    ///
    /// # Errors
    /// The database's.
    pub async fn keep_ledger_as_of(
        &self,
        round: RoundId,
        kept: &KeptLedger,
        seen: Revision,
    ) -> Result<bool, StoreError> {
        self.keep_read(round, kept, Some(seen)).await
    }

    async fn keep_read(
        &self,
        round: RoundId,
        kept: &KeptLedger,
        seen: Option<Revision>,
    ) -> Result<bool, StoreError> {
        let mut transaction = self.writing.begin().await?;
        if let Some(seen) = seen
            && reading_revision(&mut transaction, round).await? != seen
        {
            return Ok(false);
        }
        for sql in [
            "DELETE FROM ledger_spell WHERE round_id = ?",
            "DELETE FROM ledger_event WHERE round_id = ?",
            "DELETE FROM ledger_state WHERE round_id = ?",
        ] {
            sqlx::query(sql).bind(round.0).execute(&mut *transaction).await?;
        }
        for spell in kept.ledger.spells() {
            sqlx::query("INSERT INTO ledger_spell VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
                .bind(round.0)
                .bind(millis(spell.span.start()).as_i64())
                .bind(millis(spell.span.end()).as_i64())
                .bind(spell.position.id())
                .bind(spell.top.map(|top| top.index() as i64))
                .bind(&spell.variant)
                .bind(spell.confidence)
                .bind(spell.source.id())
                .execute(&mut *transaction)
                .await?;
        }
        for (number, event) in kept.ledger.events().iter().enumerate() {
            sqlx::query("INSERT INTO ledger_event VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
                .bind(round.0)
                .bind(number as i64)
                .bind(millis(event.time).as_i64())
                .bind(event.kind.id())
                .bind(event.actor.map(|actor| actor.index() as i64))
                .bind(&event.technique)
                .bind(event.confidence)
                .bind(event.source.id())
                .execute(&mut *transaction)
                .await?;
        }
        sqlx::query("INSERT INTO ledger_state VALUES (?, ?, ?)")
            .bind(round.0)
            .bind(&kept.reading)
            .bind(kept.open_questions)
            .execute(&mut *transaction)
            .await?;
        change::count(&mut transaction, FIGURES).await?;
        transaction.commit().await?;
        Ok(true)
    }
}

/// The columns that [`spell`] reads, in its order. Rows come by the hundred thousand, and to look a
/// column up by its name takes longer than to read it.
pub(crate) const OF_A_SPELL: &str =
    "round_id, start_at, end_at, position, top, variant, confidence, source";

/// The columns that [`event`] reads, in its order.
pub(crate) const OF_AN_EVENT: &str = "round_id, at, kind, actor, technique, confidence, source";

pub(crate) fn spell(row: &SqliteRow) -> Result<Spell, StoreError> {
    Ok(Spell {
        span: Span::between(moment(row.try_get(1)?), moment(row.try_get(2)?)),
        position: position(row.try_get(3)?)?,
        top: seat(row.try_get(4)?),
        variant: row.try_get(5)?,
        confidence: row.try_get(6)?,
        source: source(row.try_get(7)?)?,
    })
}

pub(crate) fn event(row: &SqliteRow) -> Result<Event, StoreError> {
    Ok(Event {
        time: moment(row.try_get(1)?),
        kind: event_kind(row.try_get(2)?)?,
        actor: seat(row.try_get(3)?),
        technique: row.try_get(4)?,
        confidence: row.try_get(5)?,
        source: source(row.try_get(6)?)?,
    })
}

fn source(id: &str) -> Result<Source, StoreError> {
    Source::from_id(id).ok_or_else(|| StoreError::Unreadable(id.to_owned()))
}

/// Revisions only grow, so that their sum is what it was only where each of them is.
async fn reading_revision(
    connection: &mut SqliteConnection,
    round: RoundId,
) -> Result<Revision, StoreError> {
    let sum: Option<i64> =
        sqlx::query_scalar("SELECT sum(revision) FROM subject_revision WHERE subject IN (?, ?, ?)")
            .bind(Subject::Round(round).to_string())
            .bind(Subject::Roster.to_string())
            .bind(Subject::Words.to_string())
            .fetch_one(connection)
            .await?;
    Ok(Revision(sum.unwrap_or(0)))
}

/// Whether figures rest on rows of a table: on who people are, rounds, what was told of them, and
/// words that talks are read with. Goals, messages, notes and classes are read as they are.
pub(crate) fn rests_on(table: &Table) -> bool {
    [&row::MEMBER, &row::ROUND, &row::ANSWER, &row::HAND_SPELL, &row::HAND_EVENT, &row::SPOKEN_FORM]
        .iter()
        .any(|of| of.name == table.name)
}

/// Says of the ledgers that were read from a row that they are out of date, as the row changes.
/// They stay, as does how much was open then.
pub(crate) async fn outdate(
    connection: &mut SqliteConnection,
    table: &Table,
    before: Option<&Row>,
    after: Option<&Row>,
) -> Result<(), StoreError> {
    let Some(either) = after.or(before) else { return Ok(()) };
    let differs = |column: &str| {
        let [before, after] = [before, after].map(|row| row.and_then(|row| row.get(column)));
        before != after
    };
    let of_round = "UPDATE ledger_state SET reading = '' WHERE round_id = ? AND reading <> ''";
    let (sql, id) = if table.name == row::ROUND.name {
        (of_round, either.get("id"))
    } else if [&row::ANSWER, &row::HAND_SPELL, &row::HAND_EVENT]
        .map(|of| of.name)
        .contains(&table.name)
    {
        (of_round, either.get("round_id"))
    } else if table.name == row::MEMBER.name && (differs("name") || differs("pronoun")) {
        // The talk calls people by their names, and by what they are called otherwise.
        let of_person = "UPDATE ledger_state SET reading = '' WHERE reading <> '' AND round_id IN
             (SELECT id FROM round WHERE ? IN (first_id, second_id) AND talk IS NOT NULL
              AND confirmed IS NULL)";
        (of_person, either.get("id"))
    } else if table.name == row::SPOKEN_FORM.name {
        let of_all = "UPDATE ledger_state SET reading = '' WHERE reading <> '' AND round_id IN
             (SELECT id FROM round WHERE talk IS NOT NULL AND confirmed IS NULL)";
        (of_all, None)
    } else {
        return Ok(());
    };
    let mut query = sqlx::query(sql);
    if let Some(id) = id {
        query = query.bind(id.as_i64());
    }
    query.execute(connection).await?;
    Ok(())
}
