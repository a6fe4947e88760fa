//! Which technique an event was: the names said around it, weighed by what fits.

use academy::{Athlete, EventKind, Position, Span, Spell, Time};
use talk::Lexicon;
use talk::lexicon::{Place, Role as Part, Term, TermKind};

use crate::decoder::Heard;
use crate::grammar::{Change, Role};
use crate::ledger::Told;
use crate::mention::mentions;

/// A technique is named from so many seconds before its event to so many after it.
const NAMED_BEFORE: f64 = 2.0;
const NAMED_AFTER: f64 = 8.0;
/// Of several names, the one said about this long after the event fits best: the usual lag.
const USUAL_LAG: f64 = 2.0;
/// Seconds by which a name may miss the usual lag at the price of one unit of fit.
const LAG_SCALE: f64 = 3.0;
/// Fit of a name that starts, or leads, where the change does, and of one that does neither.
const FITS: f64 = 1.0;
const MISFITS: f64 = -1.5;
/// Names that fit worse than this are not taken.
const LEAST_FIT: f64 = -2.5;
/// An attempt is let go, escaped or tapped to within so many seconds.
const SAME_ATTEMPT: u64 = 25_000;

/// A term of the lexicon that was said.
struct Said<'a> {
    start: f64,
    term: &'a Term,
    /// Chance that the words mean the term, and speak of what takes place.
    takes_place: f64,
    athletes: [f64; 2],
}

/// The lexicon's terms that were said, by time.
pub(crate) struct NamedTerms<'a> {
    said: Vec<Said<'a>>,
}

impl<'a> NamedTerms<'a> {
    pub(crate) fn of(heard: &Heard, lexicon: &'a Lexicon) -> Self {
        let mut starts = vec![None; heard.seen.words.last().map_or(0, |word| word.word + 1)];
        for word in &heard.seen.words {
            starts[word.word].get_or_insert(word.start);
        }
        let said = (mentions(heard).into_iter())
            .filter_map(|mention| {
                Some(Said {
                    start: starts.get(mention.words.start).copied().flatten()?,
                    term: lexicon.term(mention.term),
                    takes_place: mention.probability * mention.takes_place(),
                    athletes: mention.athletes,
                })
            })
            .collect();
        NamedTerms { said }
    }

    /// The variant of the position that was named during a spell.
    pub(crate) fn variant(&self, span: Span, position: Position) -> Option<String> {
        let window = span.start().seconds()..span.end().seconds() + USUAL_LAG;
        (self.said.iter())
            .find(|said| {
                said.term.kind == TermKind::GuardVariant
                    && said.term.position == Some(position)
                    && window.contains(&said.start)
            })
            .map(|said| said.term.name.clone())
    }
}

/// Names the techniques of events, sorted by time: each name said is given to the one event that
/// it fits best. What ends an attempt has the attempt's name.
pub(crate) fn name_techniques(terms: &NamedTerms<'_>, events: &mut [Told], spells: &[Spell]) {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (index, told) in events.iter().enumerate() {
        if ends_attempt(told.event.kind) && attempt_before(events, index).is_some() {
            continue;
        }
        for (name, said) in terms.said.iter().enumerate() {
            let fit = fit(said, told, spells);
            if fit >= LEAST_FIT {
                pairs.push((fit, index, name));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut taken = vec![false; terms.said.len()];
    for (_, index, name) in pairs {
        if !taken[name] && events[index].event.technique.is_none() {
            taken[name] = true;
            events[index].event.technique = Some(terms.said[name].term.name.clone());
        }
    }
    for index in 0..events.len() {
        if ends_attempt(events[index].event.kind)
            && let Some(attempt) = attempt_before(events, index)
        {
            events[index].event.technique = events[attempt].event.technique.clone();
        }
    }
}

const fn ends_attempt(kind: EventKind) -> bool {
    matches!(kind, EventKind::Release | EventKind::SubmissionEscape | EventKind::Tap)
}

/// The attempt that the event at `index` ends: the last one before it by the athlete whose attempt
/// it can be, unless that one has ended already.
fn attempt_before(events: &[Told], index: usize) -> Option<usize> {
    let end = &events[index].event;
    let attacker = match end.kind {
        EventKind::Release => end.actor,
        _ => end.actor.map(Athlete::other),
    };
    let near = |told: &Told| told.event.time.distance(end.time) <= SAME_ATTEMPT;
    let attempt = events[..index].iter().rposition(|told| {
        told.event.kind == EventKind::SubmissionAttempt && told.event.actor == attacker
    })?;
    near(&events[attempt]).then_some(attempt)
}

/// How well a name fits an event; the higher the better.
fn fit(said: &Said<'_>, told: &Told, spells: &[Spell]) -> f64 {
    let event = &told.event;
    let lag = said.start - event.time.seconds();
    let wanted = match event.kind {
        EventKind::SubmissionAttempt
        | EventKind::Release
        | EventKind::SubmissionEscape
        | EventKind::Tap => TermKind::Submission,
        _ => TermKind::Technique,
    };
    if said.term.kind != wanted || !(-NAMED_BEFORE..=NAMED_AFTER).contains(&lag) {
        return f64::NEG_INFINITY;
    }
    let about = match event.actor {
        Some(actor) => {
            let [own, other] = [actor, actor.other()].map(|a| said.athletes[a.index()]);
            (own - other).min(0.0)
        }
        None => 0.0,
    };
    let places = match (told.change, event.actor) {
        (Some(change), _) => places_of_change(said.term, change),
        (None, Some(actor)) => {
            place_fit(&said.term.from, standing_at(spells, event.time, actor).as_slice())
        }
        (None, None) => 0.0,
    };
    places + about + said.takes_place.max(1e-3).ln() - (lag - USUAL_LAG).abs() / LAG_SCALE
}

fn places_of_change(term: &Term, change: Change) -> f64 {
    let part = |role| match role {
        Role::Top => Part::Top,
        Role::Bottom => Part::Bottom,
        Role::Even => Part::Nobody,
    };
    place_fit(&term.from, &[(change.from, part(change.from_role))])
        + place_fit(&term.to, &[(change.to, part(change.to_role))])
}

/// Where an athlete is around a moment.
fn standing_at(spells: &[Spell], time: Time, athlete: Athlete) -> Vec<(Position, Part)> {
    let (from, to) = (time.earlier(2_000), time.later(1_000));
    (spells.iter())
        .filter(|spell| spell.span.start() <= to && from < spell.span.end())
        .map(|spell| match spell.top {
            None => (spell.position, Part::Nobody),
            Some(top) if top == athlete => (spell.position, Part::Top),
            Some(_) => (spell.position, Part::Bottom),
        })
        .collect()
}

/// Whether one of the places is where something typically starts or leads.
fn place_fit(typical: &[Place], places: &[(Position, Part)]) -> f64 {
    let known = typical.iter().any(|place| matches!(place, Place::At(..)));
    let any = typical.iter().any(|place| matches!(place, Place::Any));
    let fits = typical.iter().any(|place| match place {
        Place::At(position, part) => {
            places.iter().any(|(at, role)| at == position && part.is_none_or(|part| part == *role))
        }
        Place::Any | Place::Tap => false,
    });
    match (fits, known && !any) {
        (true, _) => FITS,
        (false, true) => MISFITS,
        (false, false) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use academy::{Event, Source};

    use super::*;

    fn said<'a>(lexicon: &'a Lexicon, start: f64, id: &str) -> Said<'a> {
        let term = lexicon.terms().iter().find(|term| term.id == id).unwrap();
        Said { start, term, takes_place: 0.9, athletes: [0.5, 0.0] }
    }

    fn told(seconds: f64, kind: EventKind, actor: Athlete, change: Option<Change>) -> Told {
        let event = Event {
            time: Time::from_seconds(seconds),
            kind,
            actor: Some(actor),
            technique: None,
            confidence: 0.9,
            source: Source::Talk,
        };
        Told { event, change }
    }

    fn change(from: (Position, Role), to: (Position, Role), kind: EventKind) -> Option<Change> {
        Some(Change { from: from.0, from_role: from.1, to: to.0, to_role: to.1, kind })
    }

    fn names(events: &[Told]) -> Vec<Option<&str>> {
        events.iter().map(|told| told.event.technique.as_deref()).collect()
    }

    #[test]
    fn a_name_goes_to_the_event_that_it_fits_and_to_no_other() {
        let lexicon = Lexicon::builtin();
        let (guard, top, bottom) = (Position::ClosedGuard, Role::Top, Role::Bottom);
        // He closes the guard and is swept from it with a hip bump, said once.
        let escape = change((Position::HalfGuard, bottom), (guard, bottom), EventKind::Escape);
        let sweep = change((guard, bottom), (Position::Mount, top), EventKind::Sweep);
        let mut events = [
            told(60.0, EventKind::Escape, Athlete::First, escape),
            told(64.0, EventKind::Sweep, Athlete::First, sweep),
        ];
        let terms = NamedTerms { said: vec![said(&lexicon, 63.0, "hip_bump")] };
        name_techniques(&terms, &mut events, &[]);
        assert_eq!(names(&events), [None, Some("hip bump sweep")]);
    }

    #[test]
    fn what_ends_an_attempt_has_its_name() {
        let lexicon = Lexicon::builtin();
        let mut events = [
            told(60.0, EventKind::SubmissionAttempt, Athlete::First, None),
            told(66.0, EventKind::Tap, Athlete::Second, None),
            told(90.0, EventKind::Tap, Athlete::First, None),
        ];
        let terms = NamedTerms {
            said: vec![said(&lexicon, 62.0, "triangle"), said(&lexicon, 68.0, "kimura")],
        };
        name_techniques(&terms, &mut events, &[]);
        assert_eq!(names(&events), [Some("triangle choke"), Some("triangle choke"), None]);
    }
}
