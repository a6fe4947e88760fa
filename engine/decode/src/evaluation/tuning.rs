//! Learning the decoder's settings from rounds of known truth: counts with a prior, and a search
//! over the few numbers that say how the reader's evidence is used.

use academy::{Position, Round};
use talk::Lexicon;

use super::scores::{Scores, Sureness, score, sureness};
use super::truth::Truth;
use crate::decoder::{Decoder, Heard};
use crate::evidence::MOMENT_KINDS;
use crate::grammar::{self, HELD, STATES};
use crate::ledger::ledger;
use crate::parameters::{HoldTime, Settings, hold_index};
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::{ModelError, Workspace};

/// A round of known truth whose talk has been heard by a reader that did not learn from it.
pub struct HeardRound<'a> {
    /// What truly happened.
    pub truth: &'a Truth,
    /// What the reader makes of the talk.
    pub heard: Heard,
    /// Which of the decoders given beside it has that reader.
    pub decoder: usize,
}

/// Counts from real holds weigh against this many holds of an average position.
const PRIOR_HOLDS: f64 = 5.0;
/// Counts of moments weigh against this many that come evenly from both.
const PRIOR_MOMENTS: f64 = 2.0;

/// How long positions are held: log-normal by moments, shrunk towards the mean of all positions as
/// if five average holds had been seen besides. The last hold of a round, which the end cuts off,
/// is left out.
#[must_use]
pub fn hold_times<'a>(truths: impl Iterator<Item = &'a Truth>) -> Vec<HoldTime> {
    let mut logs: Vec<Vec<f64>> = vec![Vec::new(); Settings::HOLDS];
    for truth in truths {
        let spells = truth.ledger.spells();
        for spell in &spells[..spells.len() - 1] {
            logs[hold_index(spell.position)].push(spell.span.seconds().max(0.25).ln());
        }
    }
    let all: Vec<f64> = logs.iter().flatten().copied().collect();
    let (mean, variance) = moments(&all, 2.0, 0.8, 1.0);
    (logs.iter())
        .map(|logs| {
            let (log_mean, variance) = moments(logs, mean, variance, PRIOR_HOLDS);
            HoldTime { log_mean, log_deviation: variance.sqrt().max(0.05) }
        })
        .collect()
}

/// Mean and variance of values together with `weight` values of a prior mean and variance.
fn moments(values: &[f64], prior_mean: f64, prior_variance: f64, weight: f64) -> (f64, f64) {
    let count = values.len() as f64 + weight;
    let mean = (values.iter().sum::<f64>() + weight * prior_mean) / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let prior = weight * (prior_variance + (prior_mean - mean).powi(2));
    (mean, (squares + prior) / count)
}

/// By whom moments come: the share of the one on top, by kind and position, counted with two
/// moments that come evenly.
#[must_use]
pub fn shares_of_top<'a>(truths: impl Iterator<Item = &'a Truth>) -> Vec<Vec<f64>> {
    let mut counts = vec![vec![[PRIOR_MOMENTS / 2.0; 2]; HELD.len()]; MOMENT_KINDS.len()];
    for truth in truths {
        for event in truth.ledger.events() {
            let kind = MOMENT_KINDS.iter().position(|kind| *kind == event.kind);
            // At the boundary itself the spell before counts: a tap ends its spell.
            let spell = truth.ledger.spell_at(event.time.earlier(100));
            let held = spell.and_then(|s| HELD.iter().position(|held| *held == s.position));
            if let (Some(kind), Some(held), Some(spell)) = (kind, held, spell) {
                let by_top = event.actor == spell.top;
                counts[kind][held][usize::from(!by_top)] += 1.0;
            }
        }
    }
    (counts.iter())
        .map(|held| held.iter().map(|[top, bottom]| top / (top + bottom)).collect())
        .collect()
}

/// Settings before anything but counts has been learned.
#[must_use]
pub fn counted<'a>(truths: impl Iterator<Item = &'a Truth> + Clone) -> Settings {
    Settings {
        version: 1,
        temperature: 1.0,
        durations: hold_times(truths.clone()),
        duration_weight: 0.0,
        change_reward: 1.0,
        moment_thresholds: vec![0.3, 0.3, 0.3, 0.5, 0.5],
        shares_of_top: shares_of_top(truths),
        event_threshold: 0.2,
        calibration: [0.0, 1.0],
    }
}

const TEMPERATURES: [f64; 4] = [0.8, 1.0, 1.3, 1.7];
const DURATION_WEIGHTS: [f64; 4] = [0.0, 0.5, 1.0, 1.5];
const CHANGE_REWARDS: [f64; 4] = [0.0, 1.0, 2.0, 4.0];
const EVENT_THRESHOLDS: [f64; 5] = [0.1, 0.2, 0.3, 0.4, 0.5];
const MOMENT_THRESHOLDS: [f64; 5] = [0.1, 0.2, 0.3, 0.4, 0.5];

/// Learns settings from heard rounds, all of one kind of timing; `decoders` are those of their
/// readers and end up with the learned settings.
///
/// First temperature and weight of the hold times, by the log loss of the true states; then the
/// reward of changes by the seconds rightly read; then the thresholds by the F1 of events; last
/// the calibration of spells.
///
/// # Errors
/// [`ModelError`] if a reader's parameters give no usable weight under some setting.
pub fn learn(
    decoders: &mut [Decoder],
    rounds: &[&HeardRound<'_>],
    lexicon: &Lexicon,
) -> Result<Settings, ModelError> {
    let mut settings = counted(rounds.iter().map(|round| round.truth));
    let mut best = (f64::INFINITY, settings.clone());
    for temperature in TEMPERATURES {
        for duration_weight in DURATION_WEIGHTS {
            let tried = Settings { temperature, duration_weight, ..settings.clone() };
            set(decoders, &tried)?;
            let loss = log_loss(decoders, rounds);
            if loss < best.0 {
                best = (loss, tried);
            }
        }
    }
    settings = best.1;
    let seconds: Figure = |scores| scores.position_and_top;
    let events: Figure = |scores| scores.events;
    let mut search = |values: &[f64], figure: Figure, put: &dyn Fn(&mut Settings, f64)| {
        let mut best = (f64::NEG_INFINITY, settings.clone());
        for value in values {
            let mut tried = settings.clone();
            put(&mut tried, *value);
            set(decoders, &tried)?;
            let read = read_all(decoders, rounds, lexicon);
            let sum: f64 =
                read.iter().zip(rounds).map(|(read, r)| figure(&score(r.truth, read))).sum();
            if sum > best.0 {
                best = (sum, tried);
            }
        }
        settings = best.1;
        set(decoders, &settings)
    };
    search(&CHANGE_REWARDS, seconds, &|settings, value| settings.change_reward = value)?;
    search(&EVENT_THRESHOLDS, events, &|settings, value| settings.event_threshold = value)?;
    // The rarer kinds do not count in the figure: they keep their threshold.
    for kind in 0..3 {
        search(&MOMENT_THRESHOLDS, events, &|settings, value| {
            settings.moment_thresholds[kind] = value;
        })?;
    }
    settings.calibration = platt(&sure_samples(decoders, rounds, lexicon));
    set(decoders, &settings)?;
    Ok(settings)
}

type Figure = fn(&Scores) -> f64;

fn set(decoders: &mut [Decoder], settings: &Settings) -> Result<(), ModelError> {
    decoders.iter_mut().try_for_each(|decoder| decoder.set(settings))
}

/// Reads heard rounds with the decoders' present settings.
#[must_use]
pub fn read_all(
    decoders: &[Decoder],
    rounds: &[&HeardRound<'_>],
    lexicon: &Lexicon,
) -> Vec<academy::Ledger> {
    let mut workspace = Workspace::new();
    (rounds.iter())
        .map(|round| {
            read(
                &decoders[round.decoder],
                &round.heard,
                &round.truth.round,
                lexicon,
                &mut workspace,
            )
        })
        .collect()
}

fn read(
    decoder: &Decoder,
    heard: &Heard,
    round: &Round,
    lexicon: &Lexicon,
    workspace: &mut Workspace,
) -> academy::Ledger {
    #[expect(
        clippy::expect_used,
        reason = "without answers the grammar leaves a path, and its spells tile the round"
    )]
    let decoded = decoder.decode(heard, &[], workspace).expect("a path");
    #[expect(clippy::expect_used, reason = "as above")]
    ledger(decoder, heard, &decoded, round, &[], lexicon).expect("a ledger")
}

/// Mean over rounds of the mean log loss of the true state, pauses left out.
fn log_loss(decoders: &[Decoder], rounds: &[&HeardRound<'_>]) -> f64 {
    let mut workspace = Workspace::new();
    let losses = rounds.iter().map(|round| {
        let decoder = &decoders[round.decoder];
        let Ok(decoded) = decoder.decode(&round.heard, &[], &mut workspace) else {
            return f64::INFINITY;
        };
        let states = (0..decoded.bins).filter_map(|bin| {
            let time = academy::Time::from_seconds((bin as f64 + 0.5) * BIN_SECONDS);
            let spell = round.truth.ledger.spell_at(time)?;
            let state = grammar::state(spell.position, spell.top)?;
            (spell.position != Position::Reset).then_some(bin * STATES + state)
        });
        let losses: Vec<f64> =
            states.map(|index| -decoded.posterior.state_marginal[index].max(1e-6).ln()).collect();
        losses.iter().sum::<f64>() / losses.len().max(1) as f64
    });
    losses.sum::<f64>() / rounds.len().max(1) as f64
}

/// How sure uncalibrated readings are, and whether they are right.
fn sure_samples(
    decoders: &[Decoder],
    rounds: &[&HeardRound<'_>],
    lexicon: &Lexicon,
) -> Vec<Sureness> {
    (read_all(decoders, rounds, lexicon).iter())
        .zip(rounds)
        .flat_map(|(read, round)| sureness(round.truth, read))
        .collect()
}

/// Intercept and slope of the log-odds of being right over the log-odds of the stated chance, by
/// Newton's method on the log likelihood (Platt 1999), with a weak pull towards no change.
#[must_use]
pub fn platt(samples: &[Sureness]) -> [f64; 2] {
    const PULL: f64 = 1.0;
    let (mut intercept, mut slope) = (0.0f64, 1.0f64);
    for _ in 0..50 {
        let mut gradient = [-PULL * intercept, -PULL * (slope - 1.0)];
        let mut curvature = [PULL, 0.0, PULL];
        for (sure, right) in samples {
            let bounded = sure.clamp(1e-6, 1.0 - 1e-6);
            let x = (bounded / (1.0 - bounded)).ln();
            let p = 1.0 / (1.0 + (-(intercept + slope * x)).exp());
            let residual = f64::from(u8::from(*right)) - p;
            let weight = p * (1.0 - p);
            gradient[0] += residual;
            gradient[1] += residual * x;
            curvature[0] += weight;
            curvature[1] += weight * x;
            curvature[2] += weight * x * x;
        }
        let determinant = curvature[0] * curvature[2] - curvature[1] * curvature[1];
        let step = [
            (curvature[2] * gradient[0] - curvature[1] * gradient[1]) / determinant,
            (curvature[0] * gradient[1] - curvature[1] * gradient[0]) / determinant,
        ];
        intercept += step[0];
        slope += step[1];
        if step[0].abs().max(step[1].abs()) < 1e-9 {
            break;
        }
    }
    [intercept.clamp(-20.0, 20.0), slope.clamp(0.0, 20.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn platt_finds_a_planted_overconfidence() {
        // Stated 0.88 (log-odds 2) is right 73 % of the time (log-odds 1), and symmetrically.
        let mut samples = Vec::new();
        for index in 0..1000 {
            samples.push((0.880_797, index % 1000 < 731));
            samples.push((0.119_203, index % 1000 >= 731));
        }
        let [intercept, slope] = platt(&samples);
        assert!(intercept.abs() < 0.02 && (slope - 0.5).abs() < 0.02, "{intercept} {slope}");
    }

    #[test]
    fn few_holds_are_shrunk_towards_the_prior() {
        let (mean, variance) = moments(&[4.0], 2.0, 0.5, 5.0);
        assert!((mean - (4.0 + 10.0) / 6.0).abs() < 1e-12);
        assert!(variance > 0.5);
    }
}
