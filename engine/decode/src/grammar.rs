//! The grammar of grappling: what can follow what, by whose action, and what such a change is.
//!
//! The rules are data (`data/grammar/changes.tsv`, with their source); this file turns them into
//! numbered states and arcs for the decoder.

use academy::{Athlete, EventKind, Position};

use crate::semi_markov::Arc;

/// Positions with somebody on top, in the order of the network's outputs.
pub const HELD: [Position; 11] = [
    Position::ClosedGuard,
    Position::OpenGuard,
    Position::HalfGuard,
    Position::SideControl,
    Position::NorthSouth,
    Position::KneeOnBelly,
    Position::Mount,
    Position::BackControl,
    Position::Turtle,
    Position::FrontHeadlock,
    Position::LegEntanglement,
];

/// Number of states: every held position with either athlete on top, standing, and the pause.
pub const STATES: usize = 2 * HELD.len() + 2;
/// The state in which both stand.
pub const STANDING: usize = 2 * HELD.len();
/// The state between a tap and the next start.
pub const PAUSE: usize = STANDING + 1;

/// The state with this position and this athlete on top; `None` where the two do not fit.
#[must_use]
pub fn state(position: Position, top: Option<Athlete>) -> Option<usize> {
    match (position, top) {
        (Position::Standing, None) => Some(STANDING),
        (Position::Reset, None) => Some(PAUSE),
        (held, Some(top)) => {
            let index = HELD.iter().position(|position| *position == held)?;
            Some(index + top.index() * HELD.len())
        }
        _ => None,
    }
}

/// The position and top of a state below [`STATES`].
#[must_use]
pub fn meaning(state: usize) -> (Position, Option<Athlete>) {
    match state {
        STANDING => (Position::Standing, None),
        PAUSE => (Position::Reset, None),
        held if held < HELD.len() => (HELD[held], Some(Athlete::First)),
        held => (HELD[(held - HELD.len()) % HELD.len()], Some(Athlete::Second)),
    }
}

/// The role of the one who acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// On top.
    Top,
    /// Underneath.
    Bottom,
    /// Nobody is on top.
    Even,
}

/// A change of position that the grammar allows, seen from the athlete who makes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// The position before.
    pub from: Position,
    /// The role before.
    pub from_role: Role,
    /// The position after.
    pub to: Position,
    /// The role after.
    pub to_role: Role,
    /// What it is.
    pub kind: EventKind,
}

/// What an arc of the decoder means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// This change (an index into [`Grammar::changes`]) by this athlete.
    Change(usize, Athlete),
    /// The round stops: a tap, the edge, an agreement.
    Stop,
    /// Both start again.
    Start,
}

/// Why a grammar could not be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GrammarError {
    /// A line does not have five columns.
    #[error("line {0}: a change has five columns: from, role, to, role, kind")]
    Columns(usize),
    /// A word that nobody knows.
    #[error("line {line}: there is no {what} called {word}")]
    Unknown {
        /// Line in the file.
        line: usize,
        /// What kind of word was expected.
        what: &'static str,
        /// What was found.
        word: String,
    },
    /// A role is given where nobody is on top, or missing where it is needed.
    #[error("line {0}: the role does not fit the position")]
    Role(usize),
    /// The same change twice.
    #[error("line {0}: this change is listed already")]
    Twice(usize),
}

/// The changes, and the decoder's arcs that follow from them.
#[derive(Clone, Debug)]
pub struct Grammar {
    changes: Vec<Change>,
    arcs: Vec<Arc>,
    meanings: Vec<Meaning>,
}

impl Grammar {
    /// The grammar shipped with the program.
    #[must_use]
    pub fn builtin() -> Self {
        let text = include_str!("../../../data/grammar/changes.tsv");
        #[expect(clippy::expect_used, reason = "the embedded file is read by a test")]
        Self::parse(text).expect("the embedded grammar is sound")
    }

    /// Reads a grammar: lines of five columns separated by tabs; `#` starts a comment line.
    ///
    /// # Errors
    /// The first line that is not a change; see [`GrammarError`].
    pub fn parse(text: &str) -> Result<Self, GrammarError> {
        let mut changes: Vec<Change> = Vec::new();
        for (index, line) in text.lines().enumerate() {
            if line.trim().is_empty() || line.starts_with('#') {
                continue;
            }
            let change = parse_change(line, index + 1)?;
            let same = |old: &Change| Change { kind: change.kind, ..*old } == change;
            if changes.iter().any(same) {
                return Err(GrammarError::Twice(index + 1));
            }
            changes.push(change);
        }
        let mut arcs = Vec::new();
        let mut meanings = Vec::new();
        for (index, change) in changes.iter().enumerate() {
            for actor in Athlete::BOTH {
                let end = |position, role| {
                    let top = match role {
                        Role::Top => Some(actor),
                        Role::Bottom => Some(actor.other()),
                        Role::Even => None,
                    };
                    state(position, top)
                };
                let ends = (end(change.from, change.from_role), end(change.to, change.to_role));
                if let (Some(from), Some(to)) = ends {
                    arcs.push(Arc { from, to });
                    meanings.push(Meaning::Change(index, actor));
                }
            }
        }
        for from in (0..STATES).filter(|from| *from != PAUSE) {
            arcs.push(Arc { from, to: PAUSE });
            meanings.push(Meaning::Stop);
        }
        arcs.push(Arc { from: PAUSE, to: STANDING });
        meanings.push(Meaning::Start);
        Ok(Grammar { changes, arcs, meanings })
    }

    /// The changes, in the order of the file.
    #[must_use]
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The decoder's arcs: every change by either athlete, then the stops, then the start.
    #[must_use]
    pub fn arcs(&self) -> &[Arc] {
        &self.arcs
    }

    /// What each arc means.
    #[must_use]
    pub fn meanings(&self) -> &[Meaning] {
        &self.meanings
    }
}

fn parse_change(line: &str, number: usize) -> Result<Change, GrammarError> {
    let columns: Vec<&str> = line.split('\t').map(str::trim).collect();
    let [from, from_role, to, to_role, kind] = columns[..] else {
        return Err(GrammarError::Columns(number));
    };
    let unknown =
        |what, word: &str| GrammarError::Unknown { line: number, what, word: word.into() };
    let position = |id| Position::from_id(id).ok_or_else(|| unknown("position", id));
    let role = |word| match word {
        "top" => Ok(Role::Top),
        "bottom" => Ok(Role::Bottom),
        "-" => Ok(Role::Even),
        _ => Err(unknown("role", word)),
    };
    let change = Change {
        from: position(from)?,
        from_role: role(from_role)?,
        to: position(to)?,
        to_role: role(to_role)?,
        kind: EventKind::from_id(kind).ok_or_else(|| unknown("kind of event", kind))?,
    };
    let fits = |position: Position, role| position.has_top() == (role != Role::Even);
    if fits(change.from, change.from_role) && fits(change.to, change.to_role) {
        Ok(change)
    } else {
        Err(GrammarError::Role(number))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_and_their_meanings_agree() {
        for index in 0..STATES {
            let (position, top) = meaning(index);
            assert_eq!(state(position, top), Some(index));
        }
        assert_eq!(state(Position::Mount, None), None);
        assert_eq!(state(Position::Standing, Some(Athlete::First)), None);
    }

    // FACTS A1 and B, after IBJJF rule book 4.1, 4.2, 4.5, 4.6: where a change starts decides what
    // it is.
    #[test]
    fn what_a_change_is_follows_the_rule_book() {
        let grammar = Grammar::builtin();
        for change in grammar.changes() {
            let on_top = change.to_role == Role::Top;
            let pin = matches!(
                change.to,
                Position::SideControl
                    | Position::NorthSouth
                    | Position::KneeOnBelly
                    | Position::Mount
            );
            match change.kind {
                EventKind::Takedown => assert!(change.from == Position::Standing && on_top),
                EventKind::GuardPull => {
                    assert!(change.from == Position::Standing && change.to_role == Role::Bottom);
                }
                EventKind::Pass => {
                    let guard = change.from.is_guard() || change.from == Position::LegEntanglement;
                    assert!(guard && change.from_role == Role::Top && on_top && pin, "{change:?}");
                }
                EventKind::Sweep => {
                    assert!(change.from.is_guard() && change.from_role == Role::Bottom && on_top);
                }
                EventKind::Reversal => {
                    assert!(!change.from.is_guard() && change.from_role == Role::Bottom && on_top);
                }
                EventKind::BackTake => assert!(change.to == Position::BackControl && on_top),
                EventKind::Escape => assert!(change.from_role == Role::Bottom && !on_top),
                EventKind::Advance => assert!(change.from_role == Role::Top && on_top),
                other => panic!("{other:?} is not a change of position"),
            }
        }
    }

    #[test]
    fn bad_lines_are_named() {
        let parse = |text: &str| Grammar::parse(text).unwrap_err();
        assert_eq!(parse("# fine\nmount\ttop\n"), GrammarError::Columns(2));
        assert!(matches!(
            parse("moon\ttop\tmount\ttop\tpass"),
            GrammarError::Unknown { line: 1, what: "position", .. }
        ));
        assert_eq!(parse("standing\ttop\tmount\ttop\ttakedown"), GrammarError::Role(1));
        let twice = "mount\ttop\tturtle\ttop\tadvance\nmount\ttop\tturtle\ttop\tescape";
        assert_eq!(parse(twice), GrammarError::Twice(2));
    }
}
