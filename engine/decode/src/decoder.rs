//! From a talk to the likeliest round: the reader's evidence, the answers, and the decoder.

use academy::{Answer, Athlete, EventKind, Round, RoundKind};
use talk::{Lexicon, Talk};

use crate::answers;
use crate::durations::duration_weights;
use crate::evidence::{self, Evidence, MOMENT_KINDS};
use crate::grammar::{Grammar, Meaning, PAUSE, STANDING, STATES};
use crate::parameters::{ReaderModel, Settings};
use crate::reader::network::{BIN_SECONDS, Outputs, WordRow};
use crate::reader::words::{self, NAME, NUMBER, PRONOUN, SeenTalk, Timing};
use crate::semi_markov::{
    ArcGain, DecodeError, Durations, Ending, Lattice, Model, ModelError, Path, Posterior, Segment,
    Weights, Workspace,
};

/// Log weights of how a round begins, as in the reader's training: nearly always standing.
const BEGINS_ELSEWHERE: f64 = -4.0;
const BEGINS_PAUSED: f64 = -8.0;

/// What a change costs in bins rightly read: near ties shall not make the path flicker.
const CHANGE_COST: f64 = 0.5;

/// Everything needed to read rounds; made once.
pub struct Decoder {
    grammar: Grammar,
    model: ReaderModel,
    /// By how exact the times of a talk are.
    tuned: [Tuned; 3],
    /// The same arcs without durations, for the path of most seconds rightly read.
    free: Lattice,
}

struct Tuned {
    settings: Settings,
    lattice: Lattice,
}

impl Tuned {
    fn new(grammar: &Grammar, model: &ReaderModel, settings: Settings) -> Result<Self, ModelError> {
        let durations = duration_weights(model, &settings);
        let views: Vec<Durations<'_>> = durations.iter().map(|weights| weights.view()).collect();
        let initial: Vec<f64> = (0..STATES)
            .map(|state| match state {
                STANDING => 0.0,
                PAUSE => BEGINS_PAUSED / settings.temperature,
                _ => BEGINS_ELSEWHERE / settings.temperature,
            })
            .collect();
        let arcs = grammar.arcs();
        let ending = Ending::CutOff;
        let lattice = Lattice::new(&Model { initial: &initial, arcs, durations: &views, ending })?;
        Ok(Tuned { settings, lattice })
    }
}

/// A talk as far as it does not depend on answers.
pub struct Heard {
    /// The words as the network saw them.
    pub seen: SeenTalk,
    /// What the network says.
    pub outputs: Outputs,
    /// What that means.
    pub evidence: Evidence,
}

/// What the evidence and the answers come to.
pub struct Decoded {
    /// Marginals of states and arcs.
    pub posterior: Posterior,
    /// The path with the most seconds expected to be right.
    pub path: Path,
    /// Number of bins.
    pub bins: usize,
}

impl Decoder {
    /// A decoder for these parameters, with settings for each [`Timing`] in its order.
    ///
    /// # Errors
    /// [`ModelError`] if a parameter is no usable weight.
    pub fn new(
        grammar: Grammar,
        model: ReaderModel,
        settings: [Settings; 3],
    ) -> Result<Self, ModelError> {
        let [lines, words, blocks] = settings.map(|s| Tuned::new(&grammar, &model, s));
        let flat = Durations { exactly: &[0.0], at_least: &[0.0], tail: 0.0 };
        let free = Lattice::new(&Model {
            initial: &[0.0; STATES],
            arcs: grammar.arcs(),
            durations: &[flat; STATES],
            ending: Ending::CutOff,
        })?;
        Ok(Decoder { tuned: [lines?, words?, blocks?], free, grammar, model })
    }

    /// The grammar in use.
    #[must_use]
    pub fn grammar(&self) -> &Grammar {
        &self.grammar
    }

    /// The settings in use for talks of this timing.
    #[must_use]
    pub fn settings(&self, timing: Timing) -> &Settings {
        &self.tuned[timing.index()].settings
    }

    /// Takes other settings, the same for every timing.
    ///
    /// # Errors
    /// [`ModelError`] if a setting gives no usable weight; the old settings stay.
    pub fn set(&mut self, settings: &Settings) -> Result<(), ModelError> {
        let tuned = || Tuned::new(&self.grammar, &self.model, settings.clone());
        self.tuned = [tuned()?, tuned()?, tuned()?];
        Ok(())
    }

    /// Hears a talk: everything that does not depend on answers.
    #[must_use]
    pub fn hear(&self, talk: &Talk, round: &Round, lexicon: &Lexicon) -> Heard {
        self.hear_words(words::see(talk, round, lexicon), round)
    }

    /// Hears words that have been seen already.
    #[must_use]
    pub fn hear_words(&self, seen: SeenTalk, round: &Round) -> Heard {
        let rows: Vec<WordRow<'_>> = seen
            .words
            .iter()
            .map(|word| WordRow {
                token: &word.token,
                lettered: ![NAME, PRONOUN, NUMBER].contains(&word.token.as_str()),
                term: word.term.as_deref(),
                refers: word.refers.index(),
                case: word.case.index(),
                start: word.start as f32,
                gap: word.gap as f32,
            })
            .collect();
        let bins = (round.length().seconds() / BIN_SECONDS).ceil().max(1.0) as usize;
        let kind = learned_kind(round.kind());
        let outputs = self.model.network.run(&rows, seen.timing.index(), kind, bins);
        let evidence = evidence::weigh(&outputs, &self.grammar, &self.model.change);
        Heard { seen, outputs, evidence }
    }

    /// Decodes what was heard together with the coach's answers.
    ///
    /// # Errors
    /// [`DecodeError::Impossible`] if the answers contradict each other.
    pub fn decode(
        &self,
        heard: &Heard,
        answers: &[Answer],
        workspace: &mut Workspace,
    ) -> Result<Decoded, DecodeError> {
        let bins = heard.evidence.bins;
        let Tuned { settings, lattice } = &self.tuned[heard.seen.timing.index()];
        let scale = settings.temperature.recip();
        let mut answered = None;
        if !answers.is_empty() {
            let evidence = answered.insert(heard.evidence.tempered(scale));
            answers::apply(evidence, &self.grammar, answers);
        }
        let weights = match &answered {
            Some(evidence) => Weights::new(&evidence.states, &evidence.arcs),
            None => Weights { scale, ..Weights::new(&heard.evidence.states, &heard.evidence.arcs) },
        };
        let mut posterior = workspace.spare_posterior();
        lattice.posterior(&weights, workspace, &mut posterior)?;
        let mut path = Path::default();
        // What the answers rule out is out of the question, not merely worth nothing.
        let change = ArcGain { gain: settings.change_reward, cost: CHANGE_COST };
        self.free.best_expected_path(&weights, &posterior, change, workspace, &mut path)?;
        Ok(Decoded { posterior, path, bins })
    }

    /// Chance that a change of this kind by this athlete happens within `reach` bins of a boundary.
    #[must_use]
    pub fn change_chance(
        &self,
        decoded: &Decoded,
        boundary: usize,
        kind: EventKind,
        actor: Athlete,
        reach: usize,
    ) -> f64 {
        let meanings = self.grammar.meanings();
        let same = |meaning: &Meaning| match meaning {
            Meaning::Change(change, by) => {
                self.grammar.changes()[*change].kind == kind && *by == actor
            }
            _ => false,
        };
        let fitting: Vec<usize> = (0..meanings.len()).filter(|arc| same(&meanings[*arc])).collect();
        let from = boundary.saturating_sub(reach);
        let to = (boundary + reach + 1).min(decoded.bins);
        let chance: f64 = (from..to)
            .map(|boundary| {
                let row = &decoded.posterior.arc_marginal[boundary * meanings.len()..];
                fitting.iter().map(|arc| row[*arc]).sum::<f64>()
            })
            .sum();
        chance.min(1.0)
    }
}

/// A moment inside a spell: an attempt, a release, a tap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Seconds from the start.
    pub seconds: f64,
    /// What kind.
    pub kind: EventKind,
    /// By whom.
    pub actor: Athlete,
    /// Chance that it happened, by this athlete.
    pub chance: f64,
}

/// Below this share of one athlete it is about even who a moment was by.
const EVEN: f64 = 0.55;

/// One in a role hardly ever makes moments of a kind if the learned share is below this.
const HARDLY: f64 = 0.15;

/// Half-width of the window in which one moment is looked for, in bins.
const WINDOW: usize = 6;

impl Decoder {
    /// The moments that the evidence speaks of, each found where the expected number within three
    /// seconds either way is highest and above its threshold. Who did it follows from what was
    /// said and from who could: the one on top or underneath, as usual in that position.
    #[must_use]
    pub fn moments(&self, heard: &Heard, decoded: &Decoded) -> Vec<Moment> {
        let kinds = MOMENT_KINDS.len();
        let settings = self.settings(heard.seen.timing);
        let mut found = Vec::new();
        for (index, kind) in MOMENT_KINDS.into_iter().enumerate() {
            let threshold = settings.moment_thresholds[index];
            let at = |bin: usize, by: usize| heard.evidence.moments[(bin * 2 + by) * kinds + index];
            let mut curve: Vec<f64> =
                (0..decoded.bins).map(|bin| at(bin, 0) + at(bin, 1)).collect();
            let mut windows: Vec<f64> =
                (0..curve.len()).map(|bin| window_sum(&curve, bin)).collect();
            loop {
                let best = (0..curve.len()).max_by(|a, b| windows[*a].total_cmp(&windows[*b]));
                let Some(centre) = best.filter(|bin| windows[*bin] >= threshold) else { break };
                let window = centre.saturating_sub(WINDOW)..(centre + WINDOW + 1).min(curve.len());
                let total = windows[centre].max(f64::MIN_POSITIVE);
                let mean: f64 =
                    window.clone().map(|bin| (bin as f64 + 0.5) * curve[bin]).sum::<f64>() / total;
                let said = Athlete::BOTH.map(|athlete| -> f64 {
                    window.clone().map(|bin| at(bin, athlete.index())).sum()
                });
                let bin = while_held(&decoded.path, (mean as usize).min(decoded.bins - 1));
                let row = &decoded.posterior.state_marginal[bin * STATES..(bin + 1) * STATES];
                let shares = Athlete::BOTH.map(|athlete| {
                    let could = |state| could(settings, state, kind, athlete);
                    let could: f64 =
                        row.iter().enumerate().map(|(s, chance)| chance * could(s)).sum();
                    said[athlete.index()] * could
                });
                let whole = (shares[0] + shares[1]).max(f64::MIN_POSITIVE);
                let state = path_state(&decoded.path, bin);
                let actor = by_whom(said, shares, |by| could(settings, state, kind, by));
                let share = shares[actor.index()] / whole;
                found.push(Moment {
                    seconds: mean * BIN_SECONDS,
                    kind,
                    actor,
                    chance: (total.min(1.0) * share).clamp(0.0, 1.0),
                });
                let cleared =
                    centre.saturating_sub(WINDOW + 2)..(centre + WINDOW + 3).min(curve.len());
                curve[cleared.clone()].fill(0.0);
                let touched = cleared.start.saturating_sub(WINDOW)..cleared.end + WINDOW;
                for (bin, sum) in
                    windows.iter_mut().enumerate().take(touched.end).skip(touched.start)
                {
                    *sum = window_sum(&curve, bin);
                }
            }
        }
        found.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
        found
    }
}

/// By whom a moment was: the one with the larger share. Where it is about even, as where the
/// athletes may be swapped, and where one in that role on the path hardly ever makes such a
/// moment, what was `said` is weighed by who could on the path, so that the ledger tells one story.
fn by_whom(said: [f64; 2], shares: [f64; 2], could: impl Fn(Athlete) -> f64) -> Athlete {
    let larger = |[one, other]: [f64; 2]| match one >= other {
        true => Athlete::First,
        false => Athlete::Second,
    };
    let actor = larger(shares);
    if shares[actor.index()] < EVEN * (shares[0] + shares[1]) || could(actor) < HARDLY {
        larger(Athlete::BOTH.map(|athlete| said[athlete.index()] * could(athlete)))
    } else {
        actor
    }
}

/// The bin that tells who could do what at a bin: in a pause the last one before it, since a tap is
/// told when both have let go already.
fn while_held(path: &Path, bin: usize) -> usize {
    match segment_at(path, bin) {
        Some(pause) if pause.state == PAUSE => pause.start.saturating_sub(1),
        _ => bin,
    }
}

/// The path's state in a bin.
fn path_state(path: &Path, bin: usize) -> usize {
    segment_at(path, bin).map_or(STANDING, |segment| segment.state)
}

fn segment_at(path: &Path, bin: usize) -> Option<&Segment> {
    path.segments.get(path.segments.partition_point(|segment| segment.end <= bin))
}

/// The number under which the network learned a kind of round. No matches were among its rounds;
/// hard rounds are nearest to them.
const fn learned_kind(kind: RoundKind) -> usize {
    match kind {
        RoundKind::Flow => 0,
        RoundKind::Positional => 1,
        RoundKind::Hard | RoundKind::Competition => 2,
    }
}

/// How well a moment of this kind fits an athlete in a state, by who is on top in it.
fn could(settings: &Settings, state: usize, kind: EventKind, athlete: Athlete) -> f64 {
    let (position, top) = crate::grammar::meaning(state);
    match top {
        None => 0.5,
        Some(top) => {
            let by_top = settings.share_of_top(kind, position);
            if top == athlete { by_top } else { 1.0 - by_top }
        }
    }
}

/// The sum over the window around a bin.
fn window_sum(curve: &[f64], bin: usize) -> f64 {
    curve[bin.saturating_sub(WINDOW)..(bin + WINDOW + 1).min(curve.len())].iter().sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_by_whom_it_was_said_to_be_unless_that_hardly_can_be() {
        let (one, other) = (Athlete::First, Athlete::Second);
        // On the path the first athlete could, the second hardly.
        let could = |athlete| if athlete == one { 0.9 } else { 0.1 };
        assert_eq!(by_whom([0.6, 0.4], [0.6, 0.4], could), one);
        assert_eq!(by_whom([0.5, 0.5], [0.48, 0.52], could), one);
        assert_eq!(by_whom([0.3, 0.7], [0.3, 0.7], could), one);
        // But for what was said beyond doubt.
        assert_eq!(by_whom([0.01, 0.99], [0.01, 0.99], could), other);
        assert_eq!(by_whom([0.3, 0.7], [0.3, 0.7], |_| 0.5), other);
    }
}
