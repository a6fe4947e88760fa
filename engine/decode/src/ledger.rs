//! The decoded path as a ledger: spells, events, and the techniques named around them.

use academy::{
    Answer, Athlete, Event, EventKind, Ledger, LedgerError, Position, Round, Source, Span, Spell,
    Time,
};
use talk::Lexicon;

use crate::answers::{self, bin_of, disturbs};
use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::{Change, Meaning, STATES, meaning};
use crate::parameters::Settings;
use crate::reader::network::BIN_SECONDS;
use crate::semi_markov::Segment;
use crate::techniques::{NamedTerms, name_techniques};

/// An event a person entered stands for guessed ones of its kind this near, in seconds.
const SAME_MOMENT: f64 = 6.0;
/// A change counts as happening near a boundary within so many bins.
const REACH: usize = 6;

/// The ledger of a decoded round.
///
/// # Errors
/// [`LedgerError`] if the round is shorter than a bin.
pub fn ledger(
    decoder: &Decoder,
    heard: &Heard,
    decoded: &Decoded,
    round: &Round,
    answers: &[Answer],
    lexicon: &Lexicon,
) -> Result<Ledger, LedgerError> {
    let settings = decoder.settings(heard.seen.timing);
    let terms = NamedTerms::of(heard, lexicon);
    let known = answers::told(&heard.evidence, decoder.grammar(), answers);
    let answers: Vec<&Answer> = (answers.iter().zip(&known.holding))
        .filter(|(_, holds)| **holds)
        .map(|(answer, _)| answer)
        .collect();
    let end = round.length();
    let borders = borders(decoded, &known, &answers, end);
    let mut spells = Vec::new();
    let mut told = Vec::new();
    for (segment, border) in decoded.path.segments.iter().zip(borders.windows(2)) {
        let (position, top) = meaning(segment.state);
        let span = Span::between(border[0], border[1]);
        let inside =
            |time: Time| (segment.start..segment.end).contains(&bin_of(time, decoded.bins));
        let confirmed = confirmed(&answers, inside, position, top);
        spells.push(Spell {
            span,
            position,
            top,
            variant: terms.variant(span, position),
            confidence: confidence(settings, decoded, segment, &known.settled),
            source: if confirmed { Source::Hand } else { Source::Talk },
        });
        let Some(Meaning::Change(change, actor)) =
            segment.arc_in.map(|arc| decoder.grammar().meanings()[arc])
        else {
            continue;
        };
        let change = decoder.grammar().changes()[change];
        let chance =
            |actor| decoder.change_chance(decoded, segment.start, change.kind, actor, REACH);
        let by = chance(actor);
        let by_either = (by + chance(actor.other())).min(1.0);
        // Where who is who is open, what happened may be plain and only by whom is not.
        let (actor, chance) =
            if by >= settings.event_threshold { (Some(actor), by) } else { (None, by_either) };
        if chance >= settings.event_threshold {
            let event = guessed(border[0], change.kind, actor, chance);
            told.push(Told { event, change: Some(change) });
        }
    }
    for moment in decoder.moments(heard, decoded) {
        let time = Time::from_seconds(moment.seconds).min(end);
        let time = if moment.kind == EventKind::Tap { stop_near(&spells, time) } else { time };
        let event = guessed(time, moment.kind, Some(moment.actor), moment.chance);
        told.push(Told { event, change: None });
    }
    for answer in answers {
        enter(&mut told, answer, end);
    }
    told.sort_by_key(|told| told.event.time);
    name_techniques(&terms, &mut told, &spells);
    Ledger::new(spells, told.into_iter().map(|told| told.event).collect())
}

/// An event with the change of position that it is, where it is one.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    pub(crate) event: Event,
    pub(crate) change: Option<Change>,
}

fn guessed(time: Time, kind: EventKind, actor: Option<Athlete>, confidence: f64) -> Event {
    Event { time, kind, actor, technique: None, confidence, source: Source::Talk }
}

/// The start of the pause that a tap brings about, where there is one: people tell of a tap when
/// both have let go already.
fn stop_near(spells: &[Spell], tap: Time) -> Time {
    let near = |pause: &&Spell| {
        let start = pause.span.start();
        pause.span.contains(tap) || start.distance(tap) as f64 <= SAME_MOMENT * 1000.0
    };
    (spells.iter())
        .filter(|spell| spell.position == Position::Reset)
        .filter(near)
        .map(|pause| pause.span.start())
        .min_by_key(|start| start.distance(tap))
        .unwrap_or(tap)
}

/// When the segments of the path begin, and when the last one ends: at the times that a person
/// gave, where these fit between the others.
fn borders(decoded: &Decoded, known: &answers::Told, answers: &[&Answer], end: Time) -> Vec<Time> {
    let at = |bin: usize| Time::from_seconds(bin as f64 * BIN_SECONDS).min(end);
    let seen = |answer: &&Answer| match answer {
        Answer::State { time, .. } | Answer::Spell { time, .. } | Answer::Top { time, .. } => {
            Some(*time)
        }
        _ => None,
    };
    let undisturbed = |answer: &&Answer, told: Time| match answer {
        Answer::Nothing { span } => disturbs(*span, told),
        _ => false,
    };
    let mut borders: Vec<Time> = Vec::with_capacity(decoded.path.segments.len() + 1);
    for segment in &decoded.path.segments {
        let nearest = at(segment.start);
        let fits = |told: &Time| {
            let passed = Span::between(nearest, *told);
            borders.last().is_some_and(|before| before < told)
                && *told < if segment.end == decoded.bins { end } else { at(segment.end) }
                // What was seen at a moment between the two belongs to its own side.
                && !answers.iter().filter_map(seen).any(|time| passed.contains(time))
                && !answers.iter().any(|answer| undisturbed(answer, *told))
        };
        borders.push(known.borders[segment.start].filter(fits).unwrap_or(nearest));
    }
    borders.push(end);
    borders
}

/// How likely a spell is right: the mean over its seconds, of which those that a person told are
/// certain and the others as sure as spells like it have turned out.
fn confidence(settings: &Settings, decoded: &Decoded, segment: &Segment, settled: &[bool]) -> f64 {
    let bins = segment.start..segment.end;
    let length = bins.len() as f64;
    let open: Vec<usize> = bins.filter(|bin| !settled[*bin]).collect();
    if open.is_empty() {
        return 1.0;
    }
    let chance = |bin: &usize| decoded.posterior.state_marginal[bin * STATES + segment.state];
    let marginal = open.iter().map(chance).sum::<f64>() / open.len() as f64;
    let share = open.len() as f64 / length;
    share * calibrate(settings, marginal) + (1.0 - share)
}

/// Whether a person confirmed what a spell says, at moments inside it: the position, and where
/// somebody is on top, who.
fn confirmed(
    answers: &[&Answer],
    inside: impl Fn(Time) -> bool,
    position: Position,
    top: Option<Athlete>,
) -> bool {
    let placed = answers.iter().any(|answer| match answer {
        Answer::State { time, position: said, .. } | Answer::Spell { time, position: said, .. } => {
            inside(*time) && *said == position
        }
        _ => false,
    });
    let topped = answers.iter().any(|answer| match answer {
        Answer::State { time, top: said, .. } | Answer::Spell { time, top: said, .. } => {
            inside(*time) && *said == top
        }
        Answer::Top { time, top: said } => inside(*time) && Some(*said) == top,
        _ => false,
    });
    placed && (topped || top.is_none())
}

/// Enters what a person told of an event, in place of a guess at the same, or takes away the
/// guesses where nothing happened.
fn enter(told: &mut Vec<Told>, answer: &Answer, end: Time) {
    match answer {
        Answer::Event { time, kind, actor } => {
            let same = |guess: &Told| {
                // A change by the other athlete is another change: the path holds both.
                let fits = guess.change.is_none() || actor.is_none() || guess.event.actor == *actor;
                guess.event.source == Source::Talk
                    && guess.event.kind == *kind
                    && guess.event.time.distance(*time) as f64 <= SAME_MOMENT * 1000.0
                    && fits
            };
            let nearest = (told.iter().enumerate())
                .filter(|(_, guess)| same(guess))
                .min_by_key(|(_, guess)| guess.event.time.distance(*time))
                .map(|(index, _)| index);
            let guess = nearest.map(|index| told.remove(index));
            let event = Event {
                time: (*time).min(end),
                kind: *kind,
                actor: actor.or(guess.as_ref().and_then(|guess| guess.event.actor)),
                technique: None,
                confidence: 1.0,
                source: Source::Hand,
            };
            told.push(Told { event, change: guess.and_then(|guess| guess.change) });
        }
        Answer::Nothing { span } => {
            told.retain(|told| {
                told.event.source == Source::Hand || !disturbs(*span, told.event.time)
            });
        }
        Answer::State { .. } | Answer::Spell { .. } | Answer::Top { .. } => {}
    }
}

/// How often a spell of this mean marginal is right, as learned.
fn calibrate(settings: &Settings, marginal: f64) -> f64 {
    let bounded = marginal.clamp(1e-6, 1.0 - 1e-6);
    let log_odds = (bounded / (1.0 - bounded)).ln();
    let [intercept, slope] = settings.calibration;
    1.0 / (1.0 + (-(intercept + slope * log_odds)).exp())
}
