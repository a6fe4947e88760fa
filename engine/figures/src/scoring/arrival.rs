//! Coming to the top: a takedown, a sweep or a reversal, and the guard pull that looks like one.

use std::ops::Range;

use academy::{Athlete, Event, EventKind, Position, Source, Time};

use super::places::{Family, Hold, Place};
use super::reading::{Origin, Reading};
use super::tally::{Claim, Rests};
use super::{Action, Why};

/// How far from the arrival an event may lie that tells a takedown from a guard pull, in
/// milliseconds (common practice: comments come a few seconds late).
const EVENT_REACH: u64 = 3_000;

/// How somebody came to the top from standing.
enum Down {
    Takedown(Rests),
    /// The one underneath pulled.
    Pulled(Rests, Time),
    /// The one on top was underneath for a moment.
    CameUp(Rests),
    NotTold,
}

impl Reading<'_> {
    /// Coming to the top: a takedown, a sweep or a reversal. Returns when, if it was held, and whether
    /// the one underneath pulled guard.
    pub(super) fn arrive(
        &mut self,
        athlete: Athlete,
        origin: Origin,
        range: &Range<usize>,
    ) -> (Option<Time>, bool) {
        let start = self.places[range.start].span.start();
        let mut rests = Rests::NOTHING.on(&self.places[origin.place]);
        let action = match origin.family {
            Some(Family::Standing) => match self.down(athlete, origin, start) {
                Down::Takedown(event) => {
                    rests = rests.and(event.confidence, event.confirmed);
                    Action::Takedown
                }
                Down::Pulled(event, time) => {
                    // Two moments of one scramble are still one pull.
                    if !self.pulls.contains(&time) {
                        self.pulls.push(time);
                        self.pull(athlete.other(), range.start, rests, event);
                    }
                    return (None, self.places[range.start].family == Family::Guard);
                }
                Down::CameUp(event) => {
                    rests = rests.and(event.confidence, event.confirmed);
                    Action::Sweep
                }
                Down::NotTold if self.places[range.start].family == Family::Guard => {
                    if self.millis(range) >= self.rules.hold {
                        let claim = self.plain(athlete, Action::Takedown, range.start, origin);
                        self.tally.refuse(&claim, Why::NotTold, 0);
                    }
                    return (None, false);
                }
                Down::NotTold => Action::Takedown,
            },
            Some(Family::Guard) => Action::Sweep,
            _ => Action::Reversal,
        };
        let ends = |place: &Place| {
            let position = if place.one_hook { Position::Turtle } else { place.position };
            self.rules.comes_up_into(position)
        };
        // A front headlock isn't the top yet; going straight to the back is that and nothing more.
        let back = |place: &Place| place.family == Family::Back;
        let group = &self.places[range.clone()];
        let skipped = group.iter().take_while(|place| !ends(place) && !back(place)).count();
        let run = group[skipped..].iter().take_while(|place| ends(place) || back(place)).count();
        let run = range.start + skipped..range.start + skipped + run;
        let Some(first) = self.places[run.clone()].first().filter(|place| !back(place)) else {
            return (None, false);
        };
        let reached = first.span.start();
        let hold = self.held(athlete, &run);
        let claim = Claim {
            athlete,
            action,
            clean: self.lands_past(&run),
            reached,
            hold,
            chained: false,
            several: run.len() > 1,
            deed: self.deed(action, athlete, origin.place, run.start),
            rests: self.rests(rests, &run, hold),
        };
        self.tally.claim(&claim);
        (matches!(hold, Hold::Kept { .. }).then_some(reached), false)
    }

    /// Whether the first stretch that lasts lies past the guard.
    fn lands_past(&self, run: &Range<usize>) -> bool {
        let mut at = run.start;
        while at < run.end {
            let family = self.places[at].family;
            let more = self.places[at..run.end].iter().take_while(|place| place.family == family);
            let stretch = at..at + more.count();
            at = stretch.end;
            if self.millis(&stretch) >= self.rules.hold || at == run.end {
                return family == Family::Past;
            }
        }
        false
    }

    /// What the events say about how somebody came to the top from standing.
    fn down(&self, athlete: Athlete, origin: Origin, arrival: Time) -> Down {
        let from = self.places[origin.place].span.end().min(arrival).earlier(EVENT_REACH);
        let until = arrival.later(EVENT_REACH);
        let near = |event: &&Event| from <= event.time && event.time <= until;
        let events = || self.events.iter().filter(near);
        let rests =
            |event: &Event| Rests::NOTHING.and(event.confidence, event.source == Source::Hand);
        let by = |event: &Event, who: Athlete| event.actor.is_none_or(|actor| actor == who);
        // Only who was underneath for a moment can have come up.
        let under = self.places.iter().any(|place| {
            place.top == Some(athlete.other())
                && place.span.start() >= self.places[origin.place].span.end()
                && place.span.end() <= arrival
        });
        if under {
            let own =
                |event: &&Event| event.kind == EventKind::GuardPull && event.actor == Some(athlete);
            if let Some(pull) = events().find(own) {
                return Down::CameUp(rests(pull));
            }
            let came_up = |event: &&Event| match event.kind {
                EventKind::Sweep => by(event, athlete),
                EventKind::Takedown => event.actor == Some(athlete.other()),
                _ => false,
            };
            if let Some(event) = events().find(came_up) {
                return Down::CameUp(rests(event));
            }
        }
        let tells = events().filter(|event| match event.kind {
            EventKind::Takedown => by(event, athlete),
            EventKind::GuardPull => by(event, athlete.other()),
            _ => false,
        });
        match tells.min_by_key(|event| event.time.distance(arrival)) {
            Some(event) if event.kind == EventKind::Takedown => Down::Takedown(rests(event)),
            Some(event) => Down::Pulled(rests(event), event.time),
            None => Down::NotTold,
        }
    }

    fn pull(&mut self, athlete: Athlete, place: usize, rests: Rests, event: Rests) {
        let rests = rests.and(event.confidence, event.confirmed).on(&self.places[place]);
        let origin = Origin { family: None, top: None, place };
        let claim = Claim { rests, ..self.plain(athlete, Action::GuardPull, place, origin) };
        self.tally.pulled(&claim);
    }
}
