//! The ledgers as last read: a cache for lists and figures. It may be deleted at any time.

use academy::{Event, Ledger, Source, Span, Spell};
use sqlx::Row as _;

use crate::book::Book;
use crate::error::StoreError;
use crate::round::{RoundId, millis, time};
use crate::told::{athlete, event_kind, position};

/// A ledger as it was last read.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptLedger {
    /// A hash of all that went into the reading: another one means that it must be read again.
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
        let source = |id: String| Source::from_id(&id).ok_or(StoreError::Unreadable(id));
        let rows = sqlx::query("SELECT * FROM ledger_spell WHERE round_id = ? ORDER BY start_at")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        let mut spells = Vec::with_capacity(rows.len());
        for row in &rows {
            spells.push(Spell {
                span: Span::between(time(row, "start_at")?, time(row, "end_at")?),
                position: position(row.try_get("position")?)?,
                top: athlete(row, "top")?,
                variant: row.try_get("variant")?,
                confidence: row.try_get("confidence")?,
                source: source(row.try_get("source")?)?,
            });
        }
        let rows = sqlx::query("SELECT * FROM ledger_event WHERE round_id = ? ORDER BY number")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        let mut events = Vec::with_capacity(rows.len());
        for row in &rows {
            events.push(Event {
                time: time(row, "at")?,
                kind: event_kind(row.try_get("kind")?)?,
                actor: athlete(row, "actor")?,
                technique: row.try_get("technique")?,
                confidence: row.try_get("confidence")?,
                source: source(row.try_get("source")?)?,
            });
        }
        // A cache that makes no ledger is no cache: the round is read again.
        Ok(Ledger::new(spells, events).ok().map(|ledger| KeptLedger {
            reading,
            open_questions,
            ledger,
        }))
    }

    /// Keeps a ledger as read. Not a change that people make, so not in the history.
    ///
    /// # Errors
    /// The database's.
    pub async fn keep_ledger(&self, round: RoundId, kept: &KeptLedger) -> Result<(), StoreError> {
        let mut transaction = self.writing.begin().await?;
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
        Ok(transaction.commit().await?)
    }
}
