//! The ledger of a round: spells that tile it, and events inside it.

use crate::person::Athlete;
use crate::position::{EventKind, Position};
use crate::time::{Span, Time};

/// Where an entry of the ledger came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Source {
    /// Understood from what was said.
    Talk,
    /// Seen in the video.
    Video,
    /// Entered or confirmed by a person.
    Hand,
}

impl Source {
    /// The id used in files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Source::Talk => "talk",
            Source::Video => "video",
            Source::Hand => "hand",
        }
    }

    /// The source with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        [Source::Talk, Source::Video, Source::Hand].into_iter().find(|source| source.id() == id)
    }
}

/// A stretch of time in one position with one athlete on top, or neither.
#[derive(Clone, Debug, PartialEq)]
pub struct Spell {
    /// When.
    pub span: Span,
    /// Which position.
    pub position: Position,
    /// Who is on top; `None` exactly where the position has no top.
    pub top: Option<Athlete>,
    /// The finer variant of the position, as a lexicon term's name, where known.
    pub variant: Option<String>,
    /// Probability, 0 to 1, that position and top are right, as a mean over the spell's seconds.
    pub confidence: f64,
    /// Where it came from.
    pub source: Source,
}

/// A moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When.
    pub time: Time,
    /// What kind.
    pub kind: EventKind,
    /// Who did it, where known.
    pub actor: Option<Athlete>,
    /// The technique's name as the lexicon has it, where known.
    pub technique: Option<String>,
    /// Probability, 0 to 1, that it happened so.
    pub confidence: f64,
    /// Where it came from.
    pub source: Source,
}

/// Why spells and events do not make a ledger.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LedgerError {
    /// There is no spell.
    #[error("a ledger needs at least one spell")]
    Empty,
    /// The first spell starts late, or two neighbours do not meet.
    #[error("a spell ends at {end:.3} but the next one starts at {next:.3}")]
    Gap {
        /// Where the time before ends.
        end: Time,
        /// Where the spell starts instead.
        next: Time,
    },
    /// A spell has no length.
    #[error("the spell at {0} has no length")]
    NoLength(Time),
    /// Top is given where the position has none, or missing where it needs one.
    #[error("{} at {time} and who is on top do not fit", position.name())]
    Top {
        /// Start of the spell.
        time: Time,
        /// Its position.
        position: Position,
    },
    /// A confidence is not a probability.
    #[error("a confidence at {0} is not between 0 and 1")]
    Confidence(Time),
    /// An event lies outside the spells.
    #[error("an event at {time} lies after the end of the round at {end}")]
    Outside {
        /// When the event is.
        time: Time,
        /// When the round ends.
        end: Time,
    },
}

/// What happened in a round. The spells tile it from zero to its end without gaps; events are
/// sorted by time and lie inside it; confidences are probabilities.
#[derive(Clone, Debug, PartialEq)]
pub struct Ledger {
    spells: Vec<Spell>,
    events: Vec<Event>,
}

impl Ledger {
    /// A ledger from spells in order of time, and events in any order.
    ///
    /// # Errors
    /// The first rule that is broken; see [`LedgerError`].
    pub fn new(spells: Vec<Spell>, mut events: Vec<Event>) -> Result<Self, LedgerError> {
        let mut end = Time::ZERO;
        for spell in &spells {
            let start = spell.span.start();
            if start != end {
                return Err(LedgerError::Gap { end, next: start });
            }
            if spell.span.millis() == 0 {
                return Err(LedgerError::NoLength(start));
            }
            if spell.top.is_some() != spell.position.has_top() {
                return Err(LedgerError::Top { time: start, position: spell.position });
            }
            if !(0.0..=1.0).contains(&spell.confidence) {
                return Err(LedgerError::Confidence(start));
            }
            end = spell.span.end();
        }
        if spells.is_empty() {
            return Err(LedgerError::Empty);
        }
        for event in &events {
            if event.time > end {
                return Err(LedgerError::Outside { time: event.time, end });
            }
            if !(0.0..=1.0).contains(&event.confidence) {
                return Err(LedgerError::Confidence(event.time));
            }
        }
        events.sort_by_key(|event| event.time);
        Ok(Ledger { spells, events })
    }

    /// The spells, in order of time.
    #[must_use]
    pub fn spells(&self) -> &[Spell] {
        &self.spells
    }

    /// The events, in order of time.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// The end of the last spell.
    #[must_use]
    pub fn end(&self) -> Time {
        // `new` refuses an empty list of spells.
        self.spells.last().map_or(Time::ZERO, |spell| spell.span.end())
    }

    /// The spell that holds a moment; the last one for the end of the round.
    #[must_use]
    pub fn spell_at(&self, time: Time) -> Option<&Spell> {
        self.spells
            .iter()
            .find(|spell| spell.span.contains(time))
            .or_else(|| self.spells.last().filter(|spell| spell.span.end() == time))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spell(start: u64, end: u64, position: Position, top: Option<Athlete>) -> Spell {
        Spell {
            span: Span::between(Time::from_millis(start), Time::from_millis(end)),
            position,
            top,
            variant: None,
            confidence: 0.5,
            source: Source::Talk,
        }
    }

    #[test]
    fn spells_must_tile_and_tops_must_fit() {
        let standing = spell(0, 1000, Position::Standing, None);
        let mount = spell(1000, 2000, Position::Mount, Some(Athlete::First));
        assert!(Ledger::new(vec![standing.clone(), mount.clone()], vec![]).is_ok());
        assert_eq!(Ledger::new(vec![], vec![]), Err(LedgerError::Empty));
        assert!(matches!(Ledger::new(vec![mount], vec![]), Err(LedgerError::Gap { .. })));
        let nobody = spell(0, 1000, Position::Mount, None);
        assert!(matches!(Ledger::new(vec![nobody], vec![]), Err(LedgerError::Top { .. })));
        let mut sure = standing;
        sure.confidence = f64::NAN;
        assert!(matches!(Ledger::new(vec![sure], vec![]), Err(LedgerError::Confidence(_))));
    }

    #[test]
    fn events_are_sorted_and_lie_inside() {
        let event = |millis| Event {
            time: Time::from_millis(millis),
            kind: EventKind::Pass,
            actor: None,
            technique: None,
            confidence: 1.0,
            source: Source::Hand,
        };
        let standing = spell(0, 1000, Position::Standing, None);
        let ledger = Ledger::new(vec![standing.clone()], vec![event(900), event(100)]).unwrap();
        assert_eq!(ledger.events()[0].time, Time::from_millis(100));
        assert!(matches!(
            Ledger::new(vec![standing], vec![event(1001)]),
            Err(LedgerError::Outside { .. })
        ));
    }
}
