//! A published rule set as data: what scores how much, how long it must be held, and what doesn't.
//!
//! The files lie in `data/rules/`, each with its edition, its source and what is unsure about it.

use academy::Position;
use serde::Deserialize;

use super::Action;

/// When the same position may score again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Repeats {
    /// Only after the control was lost: giving a position up to take it again scores nothing.
    AfterALoss,
    /// After it was left for at least as long as a hold.
    AfterLeaving,
}

/// Points for each action. A clean takedown, sweep or reversal ends past the guard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Points {
    takedown: i32,
    clean_takedown: i32,
    sweep: i32,
    clean_sweep: i32,
    reversal: i32,
    clean_reversal: i32,
    pass: i32,
    knee_on_belly: i32,
    mount: i32,
    back_control: i32,
    guard_pull: i32,
}

/// The file's form, before its values are checked.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    id: String,
    name: String,
    edition: String,
    year: u16,
    source: String,
    unsure: Vec<String>,
    hold_seconds: f64,
    points: Points,
    chain_counts_every_step: bool,
    straight_to_position_counts: bool,
    repeats: Repeats,
    moving_down_counts: bool,
    share_without_points: f64,
    penalties_in_the_share_without_points: bool,
    advantages: bool,
    comes_up_into: Vec<String>,
    one_hook_variants: Vec<String>,
}

/// Why a rule set could not be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RuleError {
    /// The text is not JSON of the expected form.
    #[error("line {line}, column {column}: {what}")]
    Form {
        /// Line in the file, from 1.
        line: usize,
        /// Column in the line.
        column: usize,
        /// What is wrong with it.
        what: String,
    },
    /// A text that people need is empty.
    #[error("{0} is empty: a rule set says its name, its edition and its source")]
    Missing(&'static str),
    /// The hold is no sensible length.
    #[error("hold_seconds is {0}: give seconds between 0.001 and 60")]
    Hold(f64),
    /// The share of the round without points is no share.
    #[error("share_without_points is {0}: give a share between 0 and 1")]
    Share(f64),
    /// Points beyond anything a rule book gives.
    #[error("{action} has {points} points: give a number between {least} and 100")]
    Points {
        /// Which action.
        action: &'static str,
        /// What the file says.
        points: i32,
        /// The least that is allowed for this action.
        least: i32,
    },
    /// A position that nobody knows, or one that has no top.
    #[error("comes_up_into names {0}, which is not a position with somebody on top")]
    Position(String),
}

/// A rule set that can be scored by.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleSet {
    id: String,
    name: String,
    edition: String,
    year: u16,
    source: String,
    unsure: Vec<String>,
    points: Points,
    comes_up_into: Vec<Position>,
    one_hook_variants: Vec<String>,
    /// How long a position must be held, in milliseconds.
    pub(super) hold: u64,
    /// Every step of a chain counts once the last one is held.
    pub(super) chain: bool,
    /// A position reached in the same movement as a takedown, sweep or pass scores too.
    pub(super) straight: bool,
    /// When the same position may score again.
    pub(super) repeats: Repeats,
    /// Moving to a position worth less scores.
    pub(super) moving_down: bool,
    /// Share of the round, from its start, in which nothing scores.
    pub(super) without_points: f64,
    /// Whether points are taken away in that share.
    pub(super) early_penalties: bool,
    /// Whether there are advantages.
    pub(super) advantages: bool,
}

impl RuleSet {
    /// The rule set of the IBJJF rule book; see the file for its edition.
    #[must_use]
    pub fn ibjjf() -> Self {
        Self::embedded(include_str!("../../../../data/rules/ibjjf.json"))
    }

    /// The rule set of the ADCC rules; see the file for its edition.
    #[must_use]
    pub fn adcc() -> Self {
        Self::embedded(include_str!("../../../../data/rules/adcc.json"))
    }

    /// The shipped rule set with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        [Self::ibjjf(), Self::adcc()].into_iter().find(|rules| rules.id == id)
    }

    #[expect(clippy::expect_used, reason = "the embedded files are read by a test")]
    fn embedded(text: &str) -> Self {
        Self::parse(text).expect("the embedded rule set is sound")
    }

    /// Reads a rule set.
    ///
    /// # Errors
    /// The first thing that is wrong; see [`RuleError`].
    pub fn parse(text: &str) -> Result<Self, RuleError> {
        let file: File = serde_json::from_str(text).map_err(|error| RuleError::Form {
            line: error.line(),
            column: error.column(),
            what: error.to_string(),
        })?;
        for (what, value) in [
            ("id", &file.id),
            ("name", &file.name),
            ("edition", &file.edition),
            ("source", &file.source),
        ] {
            if value.trim().is_empty() {
                return Err(RuleError::Missing(what));
            }
        }
        if !(0.001..=60.0).contains(&file.hold_seconds) {
            return Err(RuleError::Hold(file.hold_seconds));
        }
        if !(0.0..=1.0).contains(&file.share_without_points) {
            return Err(RuleError::Share(file.share_without_points));
        }
        file.points.check()?;
        let position = |id: &String| {
            let known = Position::from_id(id).filter(|position| position.has_top());
            known.ok_or_else(|| RuleError::Position(id.clone()))
        };
        Ok(RuleSet {
            comes_up_into: file.comes_up_into.iter().map(position).collect::<Result<_, _>>()?,
            id: file.id,
            name: file.name,
            edition: file.edition,
            year: file.year,
            source: file.source,
            unsure: file.unsure,
            points: file.points,
            one_hook_variants: file.one_hook_variants,
            hold: (file.hold_seconds * 1000.0).round() as u64,
            chain: file.chain_counts_every_step,
            straight: file.straight_to_position_counts,
            repeats: file.repeats,
            moving_down: file.moving_down_counts,
            without_points: file.share_without_points,
            early_penalties: file.penalties_in_the_share_without_points,
            advantages: file.advantages,
        })
    }

    /// The id used in files and on the command line.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The name shown to people.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Which edition of the rules this is. A scored round is kept together with it.
    #[must_use]
    pub fn edition(&self) -> &str {
        &self.edition
    }

    /// The year of what was read.
    #[must_use]
    pub const fn year(&self) -> u16 {
        self.year
    }

    /// Where the rules were read.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }

    /// What is not certain about this reading of the rules, in sentences.
    #[must_use]
    pub fn unsure(&self) -> &[String] {
        &self.unsure
    }

    /// Points for an action; `clean` matters for takedowns, sweeps and reversals only.
    #[must_use]
    pub fn points(&self, action: Action, clean: bool) -> i32 {
        let points = &self.points;
        match (action, clean) {
            (Action::Takedown, false) => points.takedown,
            (Action::Takedown, true) => points.clean_takedown,
            (Action::Sweep, false) => points.sweep,
            (Action::Sweep, true) => points.clean_sweep,
            (Action::Reversal, false) => points.reversal,
            (Action::Reversal, true) => points.clean_reversal,
            (Action::Pass, _) => points.pass,
            (Action::KneeOnBelly, _) => points.knee_on_belly,
            (Action::Mount, _) => points.mount,
            (Action::BackControl, _) => points.back_control,
            (Action::GuardPull, _) => points.guard_pull,
            (Action::GuardRecovery, _) => 0,
        }
    }

    /// Whether ending on top in this position completes a takedown or a sweep.
    pub(super) fn comes_up_into(&self, position: Position) -> bool {
        self.comes_up_into.contains(&position)
    }

    /// Whether this variant is control from behind with one hook only.
    pub(super) fn is_one_hook(&self, variant: &str) -> bool {
        self.one_hook_variants.iter().any(|known| known.eq_ignore_ascii_case(variant.trim()))
    }
}

impl Points {
    /// Points lie within what a rule book could give; only pulling guard may cost some.
    fn check(&self) -> Result<(), RuleError> {
        for (action, points, least) in [
            ("takedown", self.takedown, 0),
            ("clean_takedown", self.clean_takedown, 0),
            ("sweep", self.sweep, 0),
            ("clean_sweep", self.clean_sweep, 0),
            ("reversal", self.reversal, 0),
            ("clean_reversal", self.clean_reversal, 0),
            ("pass", self.pass, 0),
            ("knee_on_belly", self.knee_on_belly, 0),
            ("mount", self.mount, 0),
            ("back_control", self.back_control, 0),
            ("guard_pull", self.guard_pull, -100),
        ] {
            if points < least || points > 100 {
                return Err(RuleError::Points { action, points, least });
            }
        }
        Ok(())
    }
}
