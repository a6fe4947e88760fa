//! A ledger as a rule book sees it: places held without a break, and when an athlete was caught.

use academy::{Athlete, EventKind, Ledger, Position, Source, Span, Time};

use super::RuleSet;

/// What a position is to a rule book.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Family {
    /// Both on their feet.
    Standing,
    /// The one underneath has the legs in play.
    Guard,
    /// The legs are cleared: any pin from side control to mount.
    Past,
    /// Behind with both hooks or a body triangle.
    Back,
    /// Over a turtle, a front headlock, or behind with one hook.
    Over,
    /// Legs wound round legs: neither is on top as a rule book means it.
    Entangled,
    /// Between a stop and the next start.
    Pause,
}

/// Neighbouring spells of the same position and top, put together.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub(super) span: Span,
    pub(super) position: Position,
    /// Who is on top as a rule book means it; nobody in a leg entanglement.
    pub(super) top: Option<Athlete>,
    pub(super) family: Family,
    /// Behind with one hook only.
    pub(super) one_hook: bool,
    /// Mean over the seconds of its spells.
    pub(super) confidence: f64,
    /// Whether a person entered or confirmed all of it.
    pub(super) confirmed: bool,
}

impl Place {
    /// The name shown to people.
    pub(super) const fn name(&self) -> &'static str {
        if self.one_hook { "behind with one hook" } else { self.position.name() }
    }
}

const fn family(position: Position) -> Family {
    match position {
        Position::Standing => Family::Standing,
        Position::ClosedGuard | Position::OpenGuard | Position::HalfGuard => Family::Guard,
        Position::SideControl | Position::NorthSouth | Position::KneeOnBelly | Position::Mount => {
            Family::Past
        }
        Position::BackControl => Family::Back,
        Position::Turtle | Position::FrontHeadlock => Family::Over,
        Position::LegEntanglement => Family::Entangled,
        Position::Reset => Family::Pause,
    }
}

/// The places of a round until `stop`.
pub(super) fn places(ledger: &Ledger, rules: &RuleSet, stop: Time) -> Vec<Place> {
    let mut places: Vec<Place> = Vec::new();
    for spell in ledger.spells().iter().filter(|spell| spell.span.start() < stop) {
        let span = Span::between(spell.span.start(), spell.span.end().min(stop));
        let one_hook = spell.position == Position::BackControl
            && spell.variant.as_deref().is_some_and(|variant| rules.is_one_hook(variant));
        let family = if one_hook { Family::Over } else { family(spell.position) };
        let top = spell.top.filter(|_| family != Family::Entangled);
        let confirmed = spell.source == Source::Hand;
        match places.last_mut() {
            Some(last)
                if (last.position, last.top, last.one_hook) == (spell.position, top, one_hook) =>
            {
                // Equal neighbours keep their confidence to the last digit.
                if last.confidence != spell.confidence {
                    let (before, more) = (last.span.seconds(), span.seconds());
                    let sum = last.confidence * before + spell.confidence * more;
                    last.confidence = (sum / (before + more)).clamp(0.0, 1.0);
                }
                last.span = Span::between(last.span.start(), span.end());
                last.confirmed &= confirmed;
            }
            _ => places.push(Place {
                span,
                position: spell.position,
                top,
                family,
                one_hook,
                confidence: spell.confidence,
                confirmed,
            }),
        }
    }
    places
}

/// A stretch in which an athlete was caught in a submission.
#[derive(Clone, Copy, Debug)]
pub(super) struct Caught {
    pub(super) span: Span,
    pub(super) athlete: Athlete,
}

/// When each athlete was caught: from an attempt to the escape, the release, the failure or the tap
/// that ends it. An attempt that nothing ends lasts until the place changes in which it would have
/// been held long enough to score (common practice: a ledger doesn't tell the end of every attempt).
pub(super) fn caught(ledger: &Ledger, places: &[Place], hold: u64, stop: Time) -> Vec<Caught> {
    let events = ledger.events();
    let mut found = Vec::new();
    for (index, event) in events.iter().enumerate() {
        let (EventKind::SubmissionAttempt, Some(attacker)) = (event.kind, event.actor) else {
            continue;
        };
        let ends = |later: &&academy::Event| match later.kind {
            EventKind::SubmissionEscape => later.actor != Some(attacker),
            EventKind::Release | EventKind::FailedTry => later.actor != Some(attacker.other()),
            EventKind::Tap | EventKind::Reset => true,
            _ => false,
        };
        let told = events[index + 1..].iter().find(ends).map(|later| later.time);
        let over = |place: &&Place| place.span.contains(event.time.later(hold));
        let passes = places.iter().find(over).map_or(stop, |place| place.span.end());
        let next = events[index + 1..].iter().find(|later| {
            later.kind == EventKind::SubmissionAttempt && later.actor == Some(attacker)
        });
        // An end told after the next attempt may belong to that one.
        let own = |end: &Time| next.is_none_or(|next| *end <= next.time);
        let end = told.filter(own).unwrap_or_else(|| told.unwrap_or(stop).min(passes)).min(stop);
        if event.time < end {
            let span = Span::between(event.time, end);
            found.push(Caught { span, athlete: attacker.other() });
        }
    }
    found.sort_by_key(|caught| caught.span.start());
    found
}

/// How a stretch of control ended up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Hold {
    /// Held free of any submission: since when, when the hold was complete, and how long in all.
    Kept { since: Time, done: Time, millis: u64 },
    /// Long enough, but not free for long enough.
    Caught,
    /// Too short, in milliseconds.
    Short { millis: u64 },
}

/// Whether `athlete` held `span` for `hold` milliseconds without being caught.
pub(super) fn held(span: Span, athlete: Athlete, caught: &[Caught], hold: u64) -> Hold {
    if span.millis() < hold {
        return Hold::Short { millis: span.millis() };
    }
    let mut since = span.start();
    let traps = caught.iter().filter(|trap| trap.athlete == athlete);
    let traps = traps.map(|trap| trap.span).chain([Span::between(span.end(), span.end())]);
    for trap in traps {
        let free = Span::new(since, trap.start().min(span.end())).unwrap_or_default();
        if free.millis() >= hold {
            return Hold::Kept { since, done: since.later(hold), millis: free.millis() };
        }
        since = since.max(trap.end());
    }
    Hold::Caught
}
