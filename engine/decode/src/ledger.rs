//! The decoded path as a ledger: spells, events, and the techniques named around them.

use academy::{
    Answer, Event, EventKind, Ledger, LedgerError, Position, Round, Source, Span, Spell, Time,
};
use talk::Lexicon;
use talk::lexicon::TermKind;

use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::{Meaning, STATES, meaning};
use crate::parameters::Settings;
use crate::reader::network::BIN_SECONDS;

/// A technique is named from so many seconds before its event to so many after it.
const NAMED_BEFORE: f64 = 1.5;
const NAMED_AFTER: f64 = 8.0;
/// Of several names, the one said about this long after the event is taken: the usual lag.
const USUAL_LAG: f64 = 2.0;
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
    let end = round.length();
    let at = |bin: usize| Time::from_seconds(bin as f64 * BIN_SECONDS).min(end);
    let mut spells = Vec::new();
    let mut events = Vec::new();
    for segment in &decoded.path.segments {
        let (position, top) = meaning(segment.state);
        let span = Span::between(
            at(segment.start),
            if segment.end == decoded.bins { end } else { at(segment.end) },
        );
        let marginal: f64 = (segment.start..segment.end)
            .map(|bin| decoded.posterior.state_marginal[bin * STATES + segment.state])
            .sum::<f64>()
            / (segment.end - segment.start) as f64;
        let confirmed = confirmed(answers, span, position, top);
        spells.push(Spell {
            span,
            position,
            top,
            variant: terms.variant(span, position),
            confidence: if confirmed { 1.0 } else { calibrate(settings, marginal) },
            source: if confirmed { Source::Hand } else { Source::Talk },
        });
        let Some(Meaning::Change(change, actor)) =
            segment.arc_in.map(|arc| decoder.grammar().meanings()[arc])
        else {
            continue;
        };
        let kind = decoder.grammar().changes()[change].kind;
        let chance = decoder.change_chance(decoded, segment.start, kind, actor, REACH);
        if chance >= settings.event_threshold {
            events.push(Event {
                time: at(segment.start),
                kind,
                actor: Some(actor),
                technique: terms.technique(at(segment.start), TermKind::Technique),
                confidence: chance,
                source: Source::Talk,
            });
        }
    }
    for moment in decoder.moments(heard, decoded) {
        let time = Time::from_seconds(moment.seconds).min(end);
        let kind = match moment.kind {
            EventKind::FailedTry => TermKind::Technique,
            _ => TermKind::Submission,
        };
        events.push(Event {
            time,
            kind: moment.kind,
            actor: Some(moment.actor),
            technique: terms.technique(time, kind),
            confidence: moment.chance,
            source: Source::Talk,
        });
    }
    for answer in answers {
        enter(&mut events, answer, end);
    }
    Ledger::new(spells, events)
}

/// Whether a person confirmed what the spell says at a moment inside it.
fn confirmed(
    answers: &[Answer],
    span: Span,
    position: Position,
    top: Option<academy::Athlete>,
) -> bool {
    answers.iter().any(|answer| match answer {
        Answer::State { time, position: said, top: said_top } => {
            span.contains(*time) && *said == position && (said_top.is_none() || *said_top == top)
        }
        _ => false,
    })
}

/// Enters an event that a person told, in place of guessed ones of its kind nearby.
fn enter(events: &mut Vec<Event>, answer: &Answer, end: Time) {
    match answer {
        Answer::Event { time, kind, actor } => {
            let near = |event: &Event| {
                event.kind == *kind
                    && event.time.distance(*time) as f64 <= SAME_MOMENT * 1000.0
                    && event.source == Source::Talk
            };
            let guessed = events.iter().find(|event| near(event)).cloned();
            events.retain(|event| !near(event));
            events.push(Event {
                time: (*time).min(end),
                kind: *kind,
                actor: actor.or(guessed.as_ref().and_then(|event| event.actor)),
                technique: guessed.and_then(|event| event.technique),
                confidence: 1.0,
                source: Source::Hand,
            });
        }
        Answer::Nothing { span } => {
            events.retain(|event| event.source == Source::Hand || !span.contains(event.time));
        }
        Answer::State { .. } | Answer::Top { .. } => {}
    }
}

/// How often a spell of this mean marginal is right, as learned.
fn calibrate(settings: &Settings, marginal: f64) -> f64 {
    let bounded = marginal.clamp(1e-6, 1.0 - 1e-6);
    let log_odds = (bounded / (1.0 - bounded)).ln();
    let [intercept, slope] = settings.calibration;
    1.0 / (1.0 + (-(intercept + slope * log_odds)).exp())
}

/// The lexicon's terms that were said, by time.
struct NamedTerms<'a> {
    said: Vec<(f64, &'a talk::lexicon::Term)>,
}

impl<'a> NamedTerms<'a> {
    fn of(heard: &Heard, lexicon: &'a Lexicon) -> Self {
        let mut starts = vec![None; heard.seen.words.last().map_or(0, |word| word.word + 1)];
        for word in &heard.seen.words {
            starts[word.word].get_or_insert(word.start);
        }
        let said = (heard.seen.terms.iter())
            .filter_map(|find| {
                let start = starts.get(find.words.start).copied().flatten()?;
                Some((start, lexicon.term(find.term)))
            })
            .collect();
        NamedTerms { said }
    }

    /// The technique or submission named nearest to an event, allowing for the usual lag.
    fn technique(&self, time: Time, kind: TermKind) -> Option<String> {
        let wanted = time.seconds() + USUAL_LAG;
        let window = time.seconds() - NAMED_BEFORE..=time.seconds() + NAMED_AFTER;
        (self.said.iter())
            .filter(|(start, term)| term.kind == kind && window.contains(start))
            .min_by(|a, b| (a.0 - wanted).abs().total_cmp(&(b.0 - wanted).abs()))
            .map(|(_, term)| term.name.clone())
    }

    /// The variant of the position that was named during a spell.
    fn variant(&self, span: Span, position: Position) -> Option<String> {
        let window = span.start().seconds()..span.end().seconds() + USUAL_LAG;
        (self.said.iter())
            .find(|(start, term)| {
                term.kind == TermKind::GuardVariant
                    && term.position == Some(position)
                    && window.contains(start)
            })
            .map(|(_, term)| term.name.clone())
    }
}
