//! Every round with its ledger, at once, as the figures take them; and whether anything that
//! figures rest on was changed since.

use academy::{Ledger, RoundKind, Time};
use futures_util::TryStreamExt as _;
use jiff::civil::Date;
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Row as _, SqliteConnection};

use crate::book::Book;
use crate::change::{FIGURES, Revision};
use crate::classes::ClassId;
use crate::error::StoreError;
use crate::ledgers::{OF_A_SPELL, OF_AN_EVENT, event, spell};
use crate::people::{MemberId, date_from};
use crate::round::{RoundId, kind, time};

/// A round whose ledger is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptRound {
    /// Which.
    pub id: RoundId,
    /// The day.
    pub date: Date,
    /// What it was meant to be.
    pub kind: RoundKind,
    /// In the gi, or without.
    pub gi: bool,
    /// Who met; in this order they are the first and the second of the ledger.
    pub athletes: [MemberId; 2],
    /// How long it lasted.
    pub length: Time,
    /// Whether a person confirmed the whole ledger.
    pub confirmed: bool,
    /// The class it was part of.
    pub class: Option<ClassId>,
    /// What happened.
    pub ledger: Ledger,
}

/// All rounds of a book.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KnownRounds {
    /// Those whose ledger is kept, by day and then by id.
    pub rounds: Vec<KeptRound>,
    /// The others, in the same order: never read, or changed since.
    pub unread: Vec<RoundId>,
}

/// Rows that come in order of their round, handed out round by round.
struct ByRound<T> {
    rows: std::iter::Peekable<std::vec::IntoIter<(i64, T)>>,
}

impl<T> ByRound<T> {
    /// Reads each row as it comes: all of them at once would take many times the room.
    async fn load(
        connection: &mut SqliteConnection,
        sql: String,
        read: impl Fn(&SqliteRow) -> Result<T, StoreError>,
    ) -> Result<Self, StoreError> {
        let mut rows = Vec::new();
        let mut coming = sqlx::query(AssertSqlSafe(sql)).fetch(connection);
        while let Some(row) = coming.try_next().await? {
            rows.push((row.try_get(0)?, read(&row)?));
        }
        Ok(ByRound { rows: rows.into_iter().peekable() })
    }

    /// The rows of a round; rounds must be asked for in order. Rows of rounds that are not asked
    /// for, such as deleted ones, are passed over.
    fn of(&mut self, round: i64) -> Vec<T> {
        while self.rows.next_if(|(of, _)| *of < round).is_some() {}
        let mut found = Vec::new();
        while let Some((_, row)) = self.rows.next_if(|(of, _)| *of == round) {
            found.push(row);
        }
        found
    }
}

impl Book {
    /// Every round with its ledger as last read, all as of one moment. Takes three queries however
    /// many rounds there are.
    ///
    /// # Errors
    /// The database's.
    pub async fn known_rounds(&self) -> Result<KnownRounds, StoreError> {
        let mut transaction = self.reading.begin().await?;
        let rounds = sqlx::query(
            "SELECT id, day, kind, gi, first_id, second_id, length, class_id, confirmed, reading
             FROM round LEFT JOIN ledger_state ON round_id = id ORDER BY id",
        )
        .fetch_all(&mut *transaction)
        .await?;
        let sql = format!("SELECT {OF_A_SPELL} FROM ledger_spell ORDER BY round_id, start_at");
        let mut spells = ByRound::load(&mut transaction, sql, spell).await?;
        let sql = format!("SELECT {OF_AN_EVENT} FROM ledger_event ORDER BY round_id, number");
        let mut events = ByRound::load(&mut transaction, sql, event).await?;
        transaction.commit().await?;

        let mut known = KnownRounds::default();
        let mut unread = Vec::new();
        for row in &rounds {
            let id: i64 = row.try_get("id")?;
            let date = date_from(row.try_get("day")?)?;
            let reading: Option<String> = row.try_get("reading")?;
            let (spells, events) = (spells.of(id), events.of(id));
            // A cache that makes no ledger is no cache: the round is read again.
            let ledger = match reading.as_deref() {
                None | Some("") => None,
                Some(_) => Ledger::new(spells, events).ok(),
            };
            let Some(ledger) = ledger else {
                unread.push((date, RoundId(id)));
                continue;
            };
            known.rounds.push(KeptRound {
                id: RoundId(id),
                date,
                kind: kind(row)?,
                gi: row.try_get("gi")?,
                athletes: [MemberId(row.try_get("first_id")?), MemberId(row.try_get("second_id")?)],
                length: time(row, "length")?,
                confirmed: row.try_get::<Option<String>, _>("confirmed")?.is_some(),
                class: row.try_get::<Option<i64>, _>("class_id")?.map(ClassId),
                ledger,
            });
        }
        known.rounds.sort_by_key(|round| (round.date, round.id));
        unread.sort_unstable();
        known.unread = unread.into_iter().map(|(_, id)| id).collect();
        Ok(known)
    }

    /// How often anything was changed that figures rest on: people, rounds and what was told of
    /// them, words that were taught, or a ledger as read. Figures are up to date while it is what it was before their rounds were loaded. One
    /// look at one row.
    ///
    /// # Errors
    /// The database's.
    pub async fn figures_stamp(&self) -> Result<Revision, StoreError> {
        self.revision_of(FIGURES).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_rounds_that_nobody_asks_for_are_passed_over() {
        let rows = vec![(1, 'a'), (2, 'b'), (2, 'c'), (4, 'd'), (7, 'e')];
        let mut rows = ByRound { rows: rows.into_iter().peekable() };
        assert_eq!(rows.of(2), ['b', 'c']);
        assert!(rows.of(3).is_empty());
        assert_eq!(rows.of(7), ['e']);
        assert!(rows.of(8).is_empty());
    }
}
