//! The figures of one round read, held against its truth.
//!
//! They are those of the reference script that comes with the sample rounds; a test holds the two
//! against each other. Segmental F1 is that of Lea et al., "Temporal convolutional networks for
//! action segmentation and detection", CVPR 2017.

use std::collections::BTreeSet;

use academy::{Athlete, Event, EventKind, Ledger, Position, Spell};

use super::truth::Truth;

/// Seconds between samples.
const STEP: f64 = 0.5;
/// Events match within so many seconds.
const TOLERANCE: f64 = 6.0;

/// Figures of a round read. Shares, 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Scores {
    /// Share of seconds whose position is right; pauses left out.
    pub position: f64,
    /// Share of seconds whose position and athlete on top are both right.
    pub position_and_top: f64,
    /// The same for a listener who knows exactly what each mentioned event changed.
    pub listener: f64,
    /// `position_and_top` over `listener`.
    pub of_limit: f64,
    /// Segmental F1 at a quarter overlap.
    pub segments: f64,
    /// F1 of events.
    pub events: f64,
    /// Recall of the events that the talk mentions.
    pub heard: f64,
    /// Expected calibration error of the spells' confidence, ten bins.
    pub calibration_error: f64,
}

impl Scores {
    /// The names of the figures, as the reference script prints them.
    pub const NAMES: [&str; 8] =
        ["position", "pos+top", "listener", "of limit", "F1@25", "events", "heard", "ECE"];

    /// The figures in the order of their names.
    #[must_use]
    pub const fn figures(&self) -> [f64; 8] {
        [
            self.position,
            self.position_and_top,
            self.listener,
            self.of_limit,
            self.segments,
            self.events,
            self.heard,
            self.calibration_error,
        ]
    }

    /// The mean of several rounds, figure by figure; zeros for none.
    #[must_use]
    pub fn mean(all: &[Scores]) -> Scores {
        let count = all.len().max(1) as f64;
        let mean = |figure: usize| all.iter().map(|s| s.figures()[figure]).sum::<f64>() / count;
        Scores {
            position: mean(0),
            position_and_top: mean(1),
            listener: mean(2),
            of_limit: mean(3),
            segments: mean(4),
            events: mean(5),
            heard: mean(6),
            calibration_error: mean(7),
        }
    }
}

type Label = Option<(Position, Option<Athlete>)>;

/// A sampled second of a round read: how sure the reading was, and whether it was right.
pub type Sureness = (f64, bool);

/// The figures of a ledger held against the truth.
#[must_use]
pub fn score(truth: &Truth, read: &Ledger) -> Scores {
    let length = truth.round.length().seconds();
    let truly = sample(truth.ledger.spells(), length);
    let guessed = sample(read.spells(), length);
    let counted: Vec<usize> = (0..truly.len())
        .filter(|i| truly[*i].is_some_and(|spell| spell.position != Position::Reset))
        .collect();
    let count = counted.len().max(1) as f64;
    let share = |right: &dyn Fn(usize) -> bool| {
        counted.iter().filter(|index| right(**index)).count() as f64 / count
    };
    let position =
        share(&|i| guessed[i].map(|spell| spell.position) == truly[i].map(|spell| spell.position));
    let position_and_top = share(&|i| label(guessed[i]) == label(truly[i]));
    let listener = listener(truth);

    let true_events: Vec<(usize, &Event)> =
        truth.ledger.events().iter().enumerate().filter(|(_, e)| scored(e.kind)).collect();
    let read_events: Vec<&Event> = read.events().iter().filter(|e| scored(e.kind)).collect();
    let hits = match_events(&true_events, &read_events);
    let ids = truth.heard();
    let heard: Vec<usize> = (true_events.iter())
        .filter(|(index, _)| ids.contains(truth.ids[*index].as_str()))
        .map(|(index, _)| *index)
        .collect();
    let heard_hits = heard.iter().filter(|index| hits.contains(index)).count();
    let all_events = (true_events.len() + read_events.len()).max(1);
    Scores {
        position,
        position_and_top,
        listener,
        of_limit: position_and_top / listener,
        segments: segment_f1(&truly, &guessed, 0.25),
        events: 2.0 * hits.len() as f64 / all_events as f64,
        heard: heard_hits as f64 / heard.len().max(1) as f64,
        calibration_error: calibration_error(&sureness(truth, read)),
    }
}

/// How sure the reading was of each counted sample, and whether it was right.
#[must_use]
pub fn sureness(truth: &Truth, read: &Ledger) -> Vec<Sureness> {
    let length = truth.round.length().seconds();
    let truly = sample(truth.ledger.spells(), length);
    let guessed = sample(read.spells(), length);
    (truly.iter().zip(&guessed))
        .filter(|(truly, _)| truly.is_some_and(|spell| spell.position != Position::Reset))
        .filter_map(|(truly, guessed)| {
            guessed.map(|guess| (guess.confidence, label(Some(guess)) == label(*truly)))
        })
        .collect()
}

/// Expected calibration error: the mean distance, over ten bins of sureness weighted by their
/// counts, between how sure a reading was and how often it was right (Naeini, Cooper and
/// Hauskrecht, AAAI 2015). Zero for no samples.
#[must_use]
pub fn calibration_error(sureness: &[Sureness]) -> f64 {
    let mut bins = [(0.0f64, 0.0f64); 10];
    for (sure, right) in sureness {
        let bin = &mut bins[((sure * 10.0) as usize).min(9)];
        bin.0 += sure;
        bin.1 += f64::from(u8::from(*right));
    }
    let gaps: f64 = bins.iter().map(|(sure, right)| (sure - right).abs()).sum();
    gaps / sureness.len().max(1) as f64
}

/// Kinds of events that count in the figures.
const fn scored(kind: EventKind) -> bool {
    !matches!(
        kind,
        EventKind::Advance | EventKind::SubmissionEscape | EventKind::FailedTry | EventKind::Reset
    )
}

/// Sweeps and reversals count as one kind: a turn.
fn group(kind: EventKind) -> EventKind {
    if kind == EventKind::Reversal { EventKind::Sweep } else { kind }
}

fn label(spell: Option<&Spell>) -> Label {
    spell.map(|spell| (spell.position, spell.top))
}

fn sample(spells: &[Spell], length: f64) -> Vec<Option<&Spell>> {
    let mut samples = Vec::new();
    let mut seconds = STEP / 2.0;
    while seconds < length {
        let time = academy::Time::from_seconds(seconds);
        samples.push(spells.iter().rfind(|spell| spell.span.contains(time)));
        seconds += STEP;
    }
    samples
}

/// The share of seconds right of a listener who knows what each mentioned event changed, and
/// nothing of the others: between two things known, each holds to the middle.
fn listener(truth: &Truth) -> f64 {
    // Boundaries in the files are tenths of a second; "at" means within this.
    const NEAR: f64 = 0.06;
    let spells = truth.ledger.spells();
    let bounds = |spell: &Spell| (spell.span.start().seconds(), spell.span.end().seconds());
    let before = |t: f64| {
        label(spells.iter().find(|spell| bounds(spell).0 < t && t <= bounds(spell).1 + NEAR))
    };
    let after = |t: f64| {
        label(spells.iter().find(|spell| bounds(spell).0 - NEAR <= t && t < bounds(spell).1))
    };
    let during =
        |t: f64| label(spells.iter().find(|spell| bounds(spell).0 <= t && t < bounds(spell).1));
    let ids = truth.heard();
    let mut known: Vec<(f64, Label)> = vec![(0.0, label(spells.first()))];
    for (event, id) in truth.ledger.events().iter().zip(&truth.ids) {
        if !ids.contains(id.as_str()) || event.kind == EventKind::Reset {
            continue;
        }
        let t = event.time.seconds();
        if is_change(event.kind) {
            known.push((t - 0.01, before(t - 0.05)));
            known.push((t + 0.01, after(t + 0.05)));
        } else {
            known.push((t, during(t)));
        }
    }
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut count, mut right) = (0usize, 0usize);
    let mut t = STEP / 2.0;
    while t < truth.round.length().seconds() {
        let truly = during(t);
        if truly.is_some_and(|(position, _)| position != Position::Reset) {
            let next = known.iter().find(|(time, _)| *time > t);
            // The first thing known is at zero.
            let last = known.iter().rfind(|(time, _)| *time <= t).unwrap_or(&known[0]);
            let guess = match next {
                Some(next) if next.1 != last.1 && t - last.0 > next.0 - t => next.1,
                _ => last.1,
            };
            count += 1;
            right += usize::from(guess == truly);
        }
        t += STEP;
    }
    right as f64 / count.max(1) as f64
}

/// Whether an event of this kind leads from one position to another.
const fn is_change(kind: EventKind) -> bool {
    matches!(
        kind,
        EventKind::Takedown
            | EventKind::GuardPull
            | EventKind::Pass
            | EventKind::Sweep
            | EventKind::Reversal
            | EventKind::Escape
            | EventKind::BackTake
            | EventKind::Advance
    )
}

/// Runs of equal labels as (label, first sample, sample after the last); pauses left out.
fn runs(samples: &[Option<&Spell>]) -> Vec<(Label, usize, usize)> {
    let mut runs: Vec<(Label, usize, usize)> = Vec::new();
    for (index, spell) in samples.iter().enumerate() {
        let label = label(*spell).filter(|(position, _)| *position != Position::Reset);
        match runs.last_mut() {
            Some(run) if run.0 == label => run.2 = index + 1,
            _ => runs.push((label, index, index + 1)),
        }
    }
    runs.retain(|run| run.0.is_some());
    runs
}

fn segment_f1(truly: &[Option<&Spell>], guessed: &[Option<&Spell>], overlap: f64) -> f64 {
    let (truly, guessed) = (runs(truly), runs(guessed));
    let mut used = BTreeSet::new();
    let mut right = 0;
    for (label, start, end) in &guessed {
        let mut best = (0.0, None);
        for (index, (true_label, true_start, true_end)) in truly.iter().enumerate() {
            if true_label == label && !used.contains(&index) {
                let shared = end.min(true_end).saturating_sub(*start.max(true_start));
                let union = end.max(true_end) - start.min(true_start);
                let share = shared as f64 / union as f64;
                if share > best.0 {
                    best = (share, Some(index));
                }
            }
        }
        if let (share, Some(index)) = best
            && share >= overlap
        {
            right += 1;
            used.insert(index);
        }
    }
    2.0 * f64::from(right) / (truly.len() + guessed.len()).max(1) as f64
}

/// The indices of the true events that were found: the surest guess chooses first.
fn match_events(truly: &[(usize, &Event)], guessed: &[&Event]) -> BTreeSet<usize> {
    let mut order: Vec<&Event> = guessed.to_vec();
    order.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    let mut hits = BTreeSet::new();
    for guess in order {
        let mut best = (TOLERANCE + 1e-9, None);
        for (index, event) in truly {
            if !hits.contains(index)
                && group(event.kind) == group(guess.kind)
                && event.actor == guess.actor
            {
                let distance = (event.time.seconds() - guess.time.seconds()).abs();
                if distance < best.0 {
                    best = (distance, Some(*index));
                }
            }
        }
        hits.extend(best.1);
    }
    hits
}

#[cfg(test)]
mod tests {
    use super::*;

    // FACTS G4, after Lea et al. 2017: truth S5 G10 P5 M10, guess S4 G6 P1 G6 P4 M9. At 25 %
    // overlap the F1 is 80, at 50 % 60, at 75 % 40.
    #[test]
    fn segments_match_as_in_the_worked_example() {
        let spells = |runs: &[(Position, u64)]| {
            let mut start = 0;
            let mut list = Vec::new();
            for (position, length) in runs {
                list.push(Spell {
                    span: academy::Span::between(
                        academy::Time::from_millis(start * 500),
                        academy::Time::from_millis((start + length) * 500),
                    ),
                    position: *position,
                    top: None,
                    variant: None,
                    confidence: 1.0,
                    source: academy::Source::Hand,
                });
                start += length;
            }
            list
        };
        use Position::{HalfGuard as G, Mount as M, SideControl as P, Standing as S};
        let truth = spells(&[(S, 5), (G, 10), (P, 5), (M, 10)]);
        let guess = spells(&[(S, 4), (G, 6), (P, 1), (G, 6), (P, 4), (M, 9)]);
        let (truth, guess) = (sample(&truth, 15.0), sample(&guess, 15.0));
        for (overlap, f1) in [(0.10, 0.8), (0.25, 0.8), (0.5, 0.6), (0.75, 0.4), (0.9, 0.2)] {
            assert!((segment_f1(&truth, &guess, overlap) - f1).abs() < 1e-12, "{overlap}");
        }
    }

    // By hand: three quarters sure and always right is off by a quarter; half of the samples
    // perfectly judged halves it.
    #[test]
    fn calibration_error_is_the_mean_gap() {
        assert!((calibration_error(&[(0.75, true), (0.75, true)]) - 0.25).abs() < 1e-12);
        let mixed = [(0.75, true), (0.75, true), (0.5, true), (0.5, false)];
        assert!((calibration_error(&mixed) - 0.125).abs() < 1e-12);
        assert_eq!(calibration_error(&[]), 0.0);
    }
}
