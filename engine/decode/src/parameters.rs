//! Everything that was learned: the reader's network, and how the decoder uses what it says.

use academy::{EventKind, Position};
use serde::{Deserialize, Serialize};

use crate::evidence::{MOMENT_KINDS, OUTPUTS, WORD_OUTPUTS};
use crate::grammar::{Grammar, HELD};
use crate::reader::network::Network;
use crate::reader::parameters_file::{ParametersError, ParametersFile};

/// The version of the settings' file form.
const VERSION: u32 = 1;

/// How the decoder uses the reader's numbers. Made by `grapevine learn` from rounds of known
/// truth, never typed in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// Version of the file form.
    pub version: u32,
    /// What all weights are divided by before probabilities are taken: above 1, the reader is too
    /// sure of itself.
    pub temperature: f64,
    /// How long positions are held.
    pub durations: Vec<HoldTime>,
    /// How much the holds' lengths count: 0 for nothing but the reader's own stay, 1 for once.
    pub duration_weight: f64,
    /// How much the chance of a change at a moment counts against a second rightly read.
    pub change_reward: f64,
    /// Expected number of moments above which a moment is told, in the order of
    /// [`crate::evidence::MOMENT_KINDS`].
    pub moment_thresholds: Vec<f64>,
    /// By whom moments come, in the order of [`crate::evidence::MOMENT_KINDS`]: for each of
    /// [`HELD`], the share that comes from the one on top.
    pub shares_of_top: Vec<Vec<f64>>,
    /// Chance below which a change is not told as an event.
    pub event_threshold: f64,
    /// Log-odds of a spell being right: intercept and slope over the log-odds of its mean
    /// marginal (Platt 1999).
    pub calibration: [f64; 2],
}

/// How long a position is held: log-normal, in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoldTime {
    /// Mean of the logarithm of the seconds.
    pub log_mean: f64,
    /// Standard deviation of the logarithm of the seconds.
    pub log_deviation: f64,
}

/// Why settings could not be read.
#[derive(Debug, thiserror::Error)]
pub enum SettingsError {
    /// Not the expected JSON.
    #[error("the decoder's settings: {0}")]
    Json(#[from] serde_json::Error),
    /// Another version.
    #[error("the decoder's settings have version {0}, this program reads version {VERSION}")]
    Version(u32),
    /// A number outside its range, or a table of another length.
    #[error("the decoder's settings have no usable {0}")]
    Range(&'static str),
}

impl Settings {
    /// Number of entries in `durations`: the held positions, then standing, then the pause.
    pub const HOLDS: usize = HELD.len() + 2;

    /// The settings shipped with the program.
    ///
    /// # Errors
    /// See [`SettingsError`]; a test holds that there is none.
    pub fn shipped() -> Result<[Self; 3], SettingsError> {
        Self::parse_all(include_str!("../../../data/parameters/settings.json"))
    }

    /// Reads the settings for each timing, in the order of [`crate::reader::words::Timing`], from
    /// a JSON list of three.
    ///
    /// # Errors
    /// See [`SettingsError`].
    pub fn parse_all(text: &str) -> Result<[Self; 3], SettingsError> {
        let all: [Settings; 3] = serde_json::from_str(text)?;
        for settings in &all {
            if settings.version != VERSION {
                return Err(SettingsError::Version(settings.version));
            }
            settings.check()?;
        }
        Ok(all)
    }

    /// Settings for each timing as JSON, ready to be read again.
    #[must_use]
    pub fn write_all(all: &[Self; 3]) -> String {
        // Plain numbers always have a JSON form.
        serde_json::to_string_pretty(all).unwrap_or_default() + "\n"
    }

    fn check(&self) -> Result<(), SettingsError> {
        let within = |value: f64, low: f64, high: f64| (low..=high).contains(&value);
        let hold = |hold: &HoldTime| {
            within(hold.log_mean, -10.0, 10.0) && within(hold.log_deviation, 1e-3, 10.0)
        };
        let checks = [
            (within(self.temperature, 0.1, 100.0), "temperature"),
            (self.durations.len() == Self::HOLDS, "durations"),
            (self.durations.iter().all(hold), "durations"),
            (within(self.duration_weight, 0.0, 4.0), "duration_weight"),
            (within(self.change_reward, 0.0, 100.0), "change_reward"),
            (self.moment_thresholds.len() == MOMENT_KINDS.len(), "moment_thresholds"),
            (self.moment_thresholds.iter().all(|t| within(*t, 1e-6, 1e6)), "moment_thresholds"),
            (self.shares_of_top.len() == MOMENT_KINDS.len(), "shares_of_top"),
            (
                self.shares_of_top.iter().all(|shares| {
                    shares.len() == HELD.len() && shares.iter().all(|s| within(*s, 0.0, 1.0))
                }),
                "shares_of_top",
            ),
            (within(self.event_threshold, 0.0, 1.0), "event_threshold"),
            (self.calibration.iter().all(|c| within(*c, -100.0, 100.0)), "calibration"),
        ];
        match checks.into_iter().find(|(fine, _)| !fine) {
            Some((_, what)) => Err(SettingsError::Range(what)),
            None => Ok(()),
        }
    }

    /// The share of moments of a kind in a position that come from the one on top; a half for what
    /// is not tabled.
    #[must_use]
    pub fn share_of_top(&self, kind: EventKind, position: Position) -> f64 {
        let kind = MOMENT_KINDS.iter().position(|moment| *moment == kind);
        let held = HELD.iter().position(|held| *held == position);
        kind.zip(held).map_or(0.5, |(kind, held)| self.shares_of_top[kind][held])
    }

    /// The hold time of a position.
    #[must_use]
    pub fn hold(&self, position: Position) -> HoldTime {
        self.durations[hold_index(position)]
    }
}

/// Index of a position in tables of [`Settings::HOLDS`] entries.
#[must_use]
pub fn hold_index(position: Position) -> usize {
    HELD.iter()
        .position(|held| *held == position)
        .unwrap_or_else(|| HELD.len() + usize::from(position == Position::Reset))
}

/// The reader's network with the learned weights of changes and stays.
pub struct ReaderModel {
    /// The network.
    pub network: Network,
    /// Log weight of each of the grammar's changes, then of a stop, then of a start.
    pub change: Vec<f64>,
    /// Log weight of staying for one more bin, by [`hold_index`].
    pub stay: Vec<f64>,
}

impl ReaderModel {
    /// Opens a file of reader parameters.
    ///
    /// # Errors
    /// [`ParametersError`]: not parameters, another version, or shapes that do not fit the program.
    pub fn parse(bytes: &[u8], grammar: &Grammar) -> Result<Self, ParametersError> {
        let file = ParametersFile::open(bytes)?;
        let changes = grammar.changes().len() + 2;
        let wide = |numbers: Vec<f32>| numbers.into_iter().map(f64::from).collect::<Vec<f64>>();
        let stay = wide(file.numbers("stay", &[Settings::HOLDS])?);
        Ok(ReaderModel {
            network: Network::open(&file, OUTPUTS, WORD_OUTPUTS)?,
            change: wide(file.numbers("change", &[changes])?),
            stay,
        })
    }
}
