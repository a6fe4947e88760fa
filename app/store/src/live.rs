//! Rounds that are told live: what was pressed, kept as it comes in. Not part of what is undone;
//! the entries by hand that the presses make are.

use academy::{Athlete, ByHand, EventKind, Position, Press, Pressed, Time};
use sqlx::Row as _;
use sqlx::sqlite::SqliteRow;

use crate::book::Book;
use crate::change::{By, Subject};
use crate::error::StoreError;
use crate::round::{RoundId, millis, time};
use crate::told::{athlete, event_kind, position};

/// A press with the page it was made on and its number there, which make it one press however
/// often it is sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptPress {
    /// A random name of the page.
    pub page: String,
    /// Counts the presses of that page.
    pub number: u32,
    /// What was pressed, and when.
    pub press: Press,
}

fn press(row: &SqliteRow) -> Result<KeptPress, StoreError> {
    let kind: String = row.try_get("kind")?;
    let what: Option<String> = row.try_get("what")?;
    let what = what.unwrap_or_default();
    let who = athlete(row, "athlete")?;
    let unreadable = || StoreError::Unreadable(format!("the press \"{kind}\""));
    let pressed = match kind.as_str() {
        "start" => {
            let clock: Option<i64> = row.try_get("clock")?;
            Pressed::Start { clock: u64::try_from(clock.unwrap_or(0)).unwrap_or(0) }
        }
        "position" => Pressed::Position { position: position(&what)?, top: who },
        "event" => Pressed::Event { kind: event_kind(&what)?, actor: who.ok_or_else(unreadable)? },
        "undo" => Pressed::Undo,
        "finish" => Pressed::Finish,
        _ => return Err(unreadable()),
    };
    let number: i64 = row.try_get("number")?;
    Ok(KeptPress {
        page: row.try_get("page")?,
        number: u32::try_from(number).map_err(|_| unreadable())?,
        press: Press { at: time(row, "at")?, what: pressed },
    })
}

/// Kind, id of position or event, athlete and clock, as the columns hold them.
type Columns = (&'static str, Option<&'static str>, Option<i64>, Option<i64>);

fn columns(what: Pressed) -> Columns {
    let index = |athlete: Athlete| athlete.index() as i64;
    match what {
        Pressed::Start { clock } => {
            ("start", None, None, Some(i64::try_from(clock).unwrap_or(i64::MAX)))
        }
        Pressed::Position { position, top } => {
            ("position", Some(Position::id(position)), top.map(index), None)
        }
        Pressed::Event { kind, actor } => {
            ("event", Some(EventKind::id(kind)), Some(index(actor)), None)
        }
        Pressed::Undo => ("undo", None, None, None),
        Pressed::Finish => ("finish", None, None, None),
    }
}

impl Book {
    /// Rounds that are told live and not finished.
    ///
    /// # Errors
    /// The database's.
    pub async fn live_rounds(&self) -> Result<Vec<RoundId>, StoreError> {
        let ids: Vec<i64> = sqlx::query_scalar(
            "SELECT round_id FROM live_round JOIN round ON round.id = round_id
             ORDER BY round_id DESC",
        )
        .fetch_all(&self.reading)
        .await?;
        Ok(ids.into_iter().map(RoundId).collect())
    }

    /// Begins to tell a round live.
    ///
    /// # Errors
    /// The database's.
    pub async fn begin_live(&self, round: RoundId) -> Result<(), StoreError> {
        sqlx::query("INSERT INTO live_round VALUES (?) ON CONFLICT (round_id) DO NOTHING")
            .bind(round.0)
            .execute(&self.writing)
            .await?;
        Ok(())
    }

    /// Makes the entries by hand of a round be what was pressed so far, and its length how long that
    /// took. Whatever else is kept about it stays.
    ///
    /// # Errors
    /// [`StoreError::OutOfDate`], [`StoreError::Missing`] or the database's.
    pub async fn put_live(
        &self,
        by: &By,
        round: RoundId,
        what: &str,
        length: Time,
        by_hand: &ByHand,
    ) -> Result<(), StoreError> {
        let mut change = self.change(Subject::Round(round), by, what).await?;
        change.put_fact(round, "length", millis(length)).await?;
        change.put_by_hand(round, by_hand).await?;
        change.keep().await
    }

    /// Everything pressed for a round, in the order in which it came in.
    ///
    /// # Errors
    /// The database's.
    pub async fn presses(&self, round: RoundId) -> Result<Vec<KeptPress>, StoreError> {
        let rows = sqlx::query("SELECT * FROM live_press WHERE round_id = ? ORDER BY id")
            .bind(round.0)
            .fetch_all(&self.reading)
            .await?;
        rows.iter().map(press).collect()
    }

    /// Keeps presses; those kept before stay as they are. A finish ends the telling.
    ///
    /// # Errors
    /// The database's; then none of them was kept.
    pub async fn keep_presses(
        &self,
        round: RoundId,
        presses: &[KeptPress],
    ) -> Result<(), StoreError> {
        let mut transaction = self.writing.begin().await?;
        for kept in presses {
            let (kind, what, who, clock) = columns(kept.press.what);
            sqlx::query(
                "INSERT INTO live_press (round_id, page, number, at, kind, what, athlete, clock)
                 VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (round_id, page, number) DO NOTHING",
            )
            .bind(round.0)
            .bind(&kept.page)
            .bind(kept.number)
            .bind(millis(kept.press.at).as_i64())
            .bind(kind)
            .bind(what)
            .bind(who)
            .bind(clock)
            .execute(&mut *transaction)
            .await?;
            if kept.press.what == Pressed::Finish {
                sqlx::query("DELETE FROM live_round WHERE round_id = ?")
                    .bind(round.0)
                    .execute(&mut *transaction)
                    .await?;
            }
        }
        Ok(transaction.commit().await?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whatever_can_be_pressed_has_columns() {
        let top = Pressed::Position { position: Position::Mount, top: Some(Athlete::Second) };
        assert_eq!(columns(top), ("position", Some("mount"), Some(1), None));
        let kind = EventKind::Tap;
        let tap = Pressed::Event { kind, actor: Athlete::First };
        assert_eq!(columns(tap), ("event", Some("tap"), Some(0), None));
        assert_eq!(columns(Pressed::Start { clock: 7 }), ("start", None, None, Some(7)));
    }
}
