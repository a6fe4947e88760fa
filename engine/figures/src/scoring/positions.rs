//! What is claimed on top: a guard passed, and knee on belly, mount or the back reached.

use std::ops::Range;

use academy::{Athlete, Position, Time};

use super::places::{Family, Hold, Place};
use super::reading::{Had, Reading};
use super::tally::{Claim, Rests};
use super::{Action, Repeats, Why};

impl Reading<'_> {
    /// The legs cleared, in a stretch past the guard. Returns whether it counts as held.
    pub(super) fn pass(
        &mut self,
        athlete: Athlete,
        stretch: &Range<usize>,
        end: usize,
        brief: u64,
    ) -> bool {
        let Some(origin) = self.origin else { return false };
        let hold = self.held(athlete, stretch);
        if origin.family != Some(Family::Guard) {
            let no_guard = match origin.family {
                None | Some(Family::Over) => true,
                _ => brief > 0,
            };
            if no_guard && matches!(hold, Hold::Kept { .. }) {
                let deed = format!("got to {}", self.places[stretch.start].name());
                let plain = self.plain(athlete, Action::Pass, stretch.start, origin);
                let claim = Claim { deed, ..plain };
                self.tally.refuse(&claim, Why::NoGuard, brief);
            }
            return false;
        }
        let (hold, chained) = match hold {
            Hold::Short { millis } => {
                let next =
                    (stretch.end < end).then(|| self.position_hold(athlete, stretch.end, end));
                match next {
                    Some((Hold::Kept { done, .. }, _))
                        if self.rules.chain && self.places[stretch.end].family == Family::Back =>
                    {
                        let since = self.places[stretch.start].span.start();
                        (Hold::Kept { since, done, millis }, true)
                    }
                    _ => (hold, false),
                }
            }
            _ => (hold, false),
        };
        let run = if chained { stretch.start..end } else { stretch.clone() };
        let claim = Claim {
            athlete,
            action: Action::Pass,
            clean: false,
            reached: self.places[stretch.start].span.start(),
            hold,
            chained,
            several: stretch.len() > 1,
            deed: self.deed(Action::Pass, athlete, origin.place, stretch.start),
            rests: self.rests(Rests::NOTHING.on(&self.places[origin.place]), &run, hold),
        };
        self.tally.claim(&claim);
        matches!(hold, Hold::Kept { .. })
    }

    /// Mount, knee on belly or the back, reached in a place.
    pub(super) fn position(
        &mut self,
        athlete: Athlete,
        place: usize,
        end: usize,
        arrived: Option<Time>,
        began: bool,
    ) {
        let Some(action) = action(&self.places[place]) else { return };
        let (span, position) = (self.places[place].span, self.places[place].position);
        let (hold, chained) = self.position_hold(athlete, place, end);
        let kept = matches!(hold, Hold::Kept { .. });
        let run = if chained { place..end } else { place..place + 1 };
        let claim = Claim {
            athlete,
            action,
            clean: false,
            reached: span.start(),
            hold,
            chained,
            several: false,
            deed: if began {
                format!("on top in {}", self.places[place].name())
            } else {
                self.deed(action, athlete, place.saturating_sub(1), place)
            },
            rests: self.rests(Rests::NOTHING, &run, hold),
        };
        let why = self.stale(athlete, place, action);
        let moved = Some(Why::Straight).filter(|_| {
            let at_once = |arrived: Time| span.start().distance(arrived) < self.rules.hold;
            !self.rules.straight && action != Action::BackControl && arrived.is_some_and(at_once)
        });
        match Some(Why::StartedThere).filter(|_| began).or(why).or(moved) {
            Some(why) if kept => self.tally.refuse(&claim, why, 0),
            Some(_) => {}
            None => self.tally.claim(&claim),
        }
        let known = |had: &&mut Had| had.athlete == athlete && had.position == position;
        if let Some(had) = self.had.iter_mut().find(known) {
            if kept || why == Some(Why::Again) {
                had.left = span.end();
            }
        } else if kept || began {
            self.had.push(Had { athlete, position, left: span.end() });
        }
    }

    /// Whether a position scores no more since it, or a better one, was held before.
    fn stale(&self, athlete: Athlete, place: usize, action: Action) -> Option<Why> {
        let place = &self.places[place];
        let mut had = self.had.iter().filter(|had| had.athlete == athlete);
        let again = had.clone().find(|had| had.position == place.position);
        let again = again.is_some_and(|had| match self.rules.repeats {
            Repeats::AfterALoss => true,
            Repeats::AfterLeaving => place.span.start().distance(had.left) < self.rules.hold,
        });
        let points = self.rules.points(action, false);
        let better = |had: &Had| {
            let held = position_action(had.position);
            held.is_some_and(|held| self.rules.points(held, false) > points)
        };
        if again {
            Some(Why::Again)
        } else if !self.rules.moving_down && had.any(better) {
            Some(Why::MovingDown)
        } else {
            None
        }
    }

    /// How a scoring place was held, and whether only as a step of a chain.
    fn position_hold(&self, athlete: Athlete, place: usize, end: usize) -> (Hold, bool) {
        let mut last = place;
        // Steps of a chain lead to positions worth as much or more.
        let worth = |place: usize| {
            action(&self.places[place]).map(|action| self.rules.points(action, false))
        };
        loop {
            let hold = self.held(athlete, &(last..last + 1));
            match hold {
                Hold::Short { .. }
                    if self.rules.chain
                        && last + 1 < end
                        && worth(last).is_some()
                        && worth(last + 1) >= worth(last)
                        && action(&self.places[last + 1])
                            .is_some_and(|next| self.stale(athlete, last + 1, next).is_none()) =>
                {
                    last += 1;
                }
                Hold::Kept { done, .. } if last > place => {
                    let span = self.places[place].span;
                    let millis = span.millis();
                    return (Hold::Kept { since: span.start(), done, millis }, true);
                }
                _ if last > place => return (self.held(athlete, &(place..place + 1)), false),
                _ => return (hold, false),
            }
        }
    }
}

/// What reaching a place is worth points as.
fn action(place: &Place) -> Option<Action> {
    position_action(place.position).filter(|_| !place.one_hook)
}

const fn position_action(position: Position) -> Option<Action> {
    match position {
        Position::KneeOnBelly => Some(Action::KneeOnBelly),
        Position::Mount => Some(Action::Mount),
        Position::BackControl => Some(Action::BackControl),
        _ => None,
    }
}
