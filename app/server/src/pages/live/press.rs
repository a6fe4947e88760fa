//! Presses as the page's script sends them.

use academy::{Athlete, EventKind, Position, Press, Pressed, Round, Time};
use serde::{Deserialize, Serialize};
use store::KeptPress;

use crate::error::PageError;

/// Presses that one round can hold.
pub(crate) const MOST: usize = 2_000;

/// The latest press, in milliseconds: a clock that was left running says nothing after four hours.
const LATEST_MILLIS: u64 = 4 * 60 * 60 * 1000;

/// Characters of the random name of a page.
const LONGEST_PAGE: usize = 40;

/// What a page sends: its own random name, and presses in the order in which they were made.
#[derive(Deserialize)]
pub(crate) struct Sent {
    page: String,
    presses: Vec<SentPress>,
}

/// One press on its way.
#[derive(Deserialize, Serialize)]
pub(crate) struct SentPress {
    number: u32,
    /// Milliseconds by the round's clock.
    at: u64,
    kind: String,
    /// A position's or an event's id.
    id: Option<String>,
    /// 0 or 1: who is on top, or did it.
    athlete: Option<usize>,
    /// Of a start: milliseconds since 1970.
    clock: Option<u64>,
}

impl Sent {
    /// The presses, if all of them can be.
    pub(crate) fn presses(self) -> Result<Vec<KeptPress>, PageError> {
        let plain = self.page.bytes().all(|byte| byte.is_ascii_alphanumeric());
        if self.page.is_empty() || self.page.len() > LONGEST_PAGE || !plain {
            return Err(PageError::refused("the page has no name: load it again"));
        }
        if self.presses.len() > MOST {
            return Err(PageError::refused("too many presses at once: load the page again"));
        }
        let page = self.page;
        let kept = |sent: SentPress| {
            let number = sent.number;
            sent.press().map(|press| KeptPress { page: page.clone(), number, press })
        };
        self.presses.into_iter().map(kept).collect()
    }
}

impl SentPress {
    fn press(self) -> Result<Press, PageError> {
        let unknown = || PageError::refused("a press cannot be understood: load the page again");
        let who = match self.athlete {
            None => None,
            Some(0) => Some(Athlete::First),
            Some(1) => Some(Athlete::Second),
            Some(_) => return Err(unknown()),
        };
        let id = self.id.as_deref().unwrap_or_default();
        let what = match self.kind.as_str() {
            "start" => Pressed::Start { clock: self.clock.ok_or_else(unknown)? },
            "position" => {
                let position = Position::from_id(id).ok_or_else(unknown)?;
                if position.has_top() != who.is_some() {
                    return Err(unknown());
                }
                Pressed::Position { position, top: who }
            }
            "event" => Pressed::Event {
                kind: EventKind::from_id(id).ok_or_else(unknown)?,
                actor: who.ok_or_else(unknown)?,
            },
            "undo" => Pressed::Undo,
            "finish" => Pressed::Finish,
            _ => return Err(unknown()),
        };
        Ok(Press { at: Time::from_millis(self.at.min(LATEST_MILLIS)), what })
    }

    /// A kept press as the page's script takes it.
    pub(crate) fn of(kept: &KeptPress) -> Self {
        let (mut id, mut who, mut since) = (None, None, None);
        let kind = match kept.press.what {
            Pressed::Start { clock } => {
                since = Some(clock);
                "start"
            }
            Pressed::Position { position, top } => {
                (id, who) = (Some(position.id()), top);
                "position"
            }
            Pressed::Event { kind, actor } => {
                (id, who) = (Some(kind.id()), Some(actor));
                "event"
            }
            Pressed::Undo => "undo",
            Pressed::Finish => "finish",
        };
        SentPress {
            number: kept.number,
            at: kept.press.at.millis(),
            kind: kind.to_owned(),
            id: id.map(str::to_owned),
            athlete: who.map(Athlete::index),
            clock: since,
        }
    }
}

/// A press as the history of the round tells it.
pub(crate) fn words(press: &Press, round: &Round) -> String {
    let at = press.at;
    match press.what {
        Pressed::Start { .. } => "Started the clock".to_owned(),
        Pressed::Position { position, top: None } => format!("Pressed {} at {at}", position.name()),
        Pressed::Position { position, top: Some(top) } => {
            format!("Pressed {} at {at}, {} on top", position.name(), round.name(top))
        }
        Pressed::Event { kind, actor } => {
            format!("Pressed {} at {at}, {}", kind.name(), round.name(actor))
        }
        Pressed::Undo => format!("Took back a press at {at}"),
        Pressed::Finish => format!("Finished at {at}"),
    }
}
