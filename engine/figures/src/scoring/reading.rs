//! The walk through a round: who controls, from where it was reached, and what that claims.

use std::ops::Range;

use academy::{Athlete, Event, EventKind, Ledger, Position, Span, Spell, Time};

use super::places::{Caught, Family, Hold, Place, caught, held, places};
use super::tally::{Claim, Rests, Tally};
use super::{Action, NotCounted, RuleSet, Scored, Submission, Why, reasons};

/// The last place that was held: what comes next is a movement from here.
#[derive(Clone, Copy, Debug)]
pub(super) struct Origin {
    /// `None` while somebody has just come to the top and no family has lasted yet.
    pub(super) family: Option<Family>,
    pub(super) top: Option<Athlete>,
    /// Which place.
    pub(super) place: usize,
}

/// A position that the one in control has held, and when it was last left.
#[derive(Clone, Copy, Debug)]
pub(super) struct Had {
    pub(super) athlete: Athlete,
    pub(super) position: Position,
    pub(super) left: Time,
}

pub(super) struct Reading<'a> {
    pub(super) rules: &'a RuleSet,
    pub(super) places: Vec<Place>,
    pub(super) events: &'a [Event],
    pub(super) caught: Vec<Caught>,
    pub(super) origin: Option<Origin>,
    pub(super) had: Vec<Had>,
    /// The guard pulls that were read, by their time.
    pub(super) pulls: Vec<Time>,
    pub(super) tally: Tally<'a>,
}

/// Reads a ledger under a rule set; `length` is the round's.
pub(super) fn read(ledger: &Ledger, length: Time, rules: &RuleSet) -> Scored {
    let ended = submission(ledger);
    let stop = ended.as_ref().map_or(ledger.end(), |ended| ended.time);
    let places = places(ledger, rules, stop);
    let points_from = Time::from_seconds(length.seconds() * rules.without_points);
    let mut reading = Reading {
        rules,
        caught: caught(ledger, &places, rules.hold, stop),
        events: ledger.events(),
        origin: None,
        had: Vec::new(),
        pulls: Vec::new(),
        tally: Tally::new(rules, points_from),
        places,
    };
    reading.walk();
    let mut tally = reading.tally;
    if let Some(ended) = &ended {
        let goes_on =
            |spell: &&Spell| spell.span.end() > ended.time && spell.position != Position::Reset;
        if let Some(spell) = ledger.spells().iter().find(goes_on) {
            tally.not_counted.push(NotCounted {
                time: spell.span.start().max(ended.time),
                athlete: None,
                action: None,
                why: Why::AfterSubmission,
                reason: reasons::does_not_count("", Why::AfterSubmission, 0, rules.hold),
                confidence: ended.confidence,
            });
        }
    }
    tally.awards.sort_by_key(|award| award.time);
    tally.advantages.sort_by_key(|advantage| advantage.time);
    tally.not_counted.sort_by_key(|not| not.time);
    let mut points = [0; 2];
    let (mut open, mut all) = (0, 0);
    for award in &tally.awards {
        points[award.athlete.index()] += award.points;
        all += award.points.abs();
        open += if award.confirmed { 0 } else { award.points.abs() };
    }
    Scored {
        rules: rules.id().to_owned(),
        edition: rules.edition().to_owned(),
        points,
        awards: tally.awards,
        advantages: tally.advantages,
        not_counted: tally.not_counted,
        ended,
        uncertain: if all == 0 { 0.0 } else { f64::from(open) / f64::from(all) },
    }
}

/// The first tap. Whoever doesn't tap wins; where that isn't told, whoever attacked last.
fn submission(ledger: &Ledger) -> Option<Submission> {
    let events = ledger.events();
    let at = events.iter().position(|event| event.kind == EventKind::Tap)?;
    let tap = &events[at];
    let told = tap.actor.map(Athlete::other);
    let attack = events[..at].iter().rev().find(|event| {
        event.kind == EventKind::SubmissionAttempt
            && (told.is_none() || event.actor.is_none() || event.actor == told)
    });
    Some(Submission {
        time: tap.time,
        winner: told.or_else(|| attack.and_then(|attack| attack.actor)),
        technique: tap
            .technique
            .clone()
            .or_else(|| attack.and_then(|attack| attack.technique.clone())),
        confidence: tap.confidence,
    })
}

impl Reading<'_> {
    fn walk(&mut self) {
        let mut start = 0;
        while start < self.places.len() {
            let key = |place: &Place| match place.family {
                Family::Standing | Family::Entangled | Family::Pause => (Some(place.family), None),
                _ => (None, place.top),
            };
            let group = key(&self.places[start]);
            let more = self.places[start..].iter().take_while(|place| key(place) == group);
            let range = start..start + more.count();
            start = range.end;
            match group {
                (None, Some(athlete)) => self.control(athlete, range),
                (Some(Family::Standing), _)
                    if self.origin.is_none() || self.millis(&range) >= self.rules.hold =>
                {
                    self.settle(Some(Family::Standing), None, range.end - 1);
                    self.had.clear();
                }
                (Some(Family::Pause), _) => {
                    self.origin = None;
                    self.had.clear();
                    self.tally.settled();
                }
                _ => {}
            }
        }
        self.tally.settled();
    }

    /// One athlete on top without a break.
    fn control(&mut self, athlete: Athlete, range: Range<usize>) {
        let lasts = self.millis(&range) >= self.rules.hold;
        let mut arrived = None;
        let mut began = None;
        let mut in_play = false;
        match self.origin {
            None => {
                self.had.clear();
                began = Some(range.start);
                in_play = true;
                let family = self.places[range.start].family;
                self.settle(Some(family), Some(athlete), range.start);
            }
            Some(origin) if origin.top == Some(athlete) => {}
            Some(origin) => {
                let pulled;
                (arrived, pulled) = self.arrive(athlete, origin, &range);
                in_play = pulled;
                if lasts {
                    self.had.clear();
                    let family = pulled.then_some(Family::Guard);
                    self.settle(family, Some(athlete), range.start);
                }
            }
        }
        // Too short to have changed anything: it's only looked through for what was nearly there.
        let counts = self.origin.is_some_and(|origin| origin.top == Some(athlete));
        let mut brief = 0;
        let mut at = range.start;
        while at < range.end {
            let family = self.places[at].family;
            let more = self.places[at..range.end].iter().take_while(|place| place.family == family);
            let stretch = at..at + more.count();
            at = stretch.end;
            let millis = self.millis(&stretch);
            let settles = counts && millis >= self.rules.hold;
            if counts && family == Family::Past && self.pass(athlete, &stretch, range.end, brief) {
                arrived = Some(self.places[stretch.start].span.start());
            }
            match family {
                Family::Guard if settles || (in_play && stretch.start == range.start) => {
                    self.recovered(athlete, &stretch);
                    self.had.clear();
                    if counts {
                        self.settle(Some(family), Some(athlete), stretch.end - 1);
                    }
                    brief = 0;
                    continue;
                }
                Family::Guard => brief = millis,
                _ => {}
            }
            for place in stretch.clone() {
                self.position(athlete, place, range.end, arrived, began == Some(place));
            }
            if settles {
                let lasts = |at: usize| self.millis(&(at..at + 1)) >= self.rules.hold;
                let mut over = stretch.clone().filter(|at| lasts(*at));
                if family == Family::Over && over.any(|at| !self.places[at].one_hook) {
                    self.had.clear();
                }
                self.settle(Some(family), Some(athlete), stretch.end - 1);
            }
            if family == Family::Over {
                self.one_hook(athlete, &stretch);
            }
        }
        if let Some(origin) = self.origin.as_mut().filter(|origin| origin.family.is_none()) {
            origin.family = Some(self.places[range.end - 1].family);
            origin.place = range.end - 1;
        }
    }

    /// Behind with one hook: no points, and an advantage unless the second hook follows at once.
    fn one_hook(&mut self, athlete: Athlete, stretch: &Range<usize>) {
        for at in stretch.clone().filter(|at| self.places[*at].one_hook) {
            let millis = self.millis(&(at..at + 1));
            if millis >= self.rules.hold {
                let origin = Origin { family: None, top: None, place: at.saturating_sub(1) };
                let claim = self.plain(athlete, Action::BackControl, at, origin);
                self.tally.refuse(&claim, Why::OneHook, 0);
                self.tally.advantage(&claim, millis);
            }
        }
    }

    /// The one underneath has the legs in play again: worth nothing, but said.
    fn recovered(&mut self, athlete: Athlete, stretch: &Range<usize>) {
        let Some(origin) = self.origin.filter(|origin| origin.top == Some(athlete)) else { return };
        if matches!(origin.family, Some(Family::Past | Family::Back)) {
            let claim = self.plain(athlete.other(), Action::GuardRecovery, stretch.start, origin);
            self.tally.refuse(&claim, Why::NoPoints, 0);
        }
    }

    fn settle(&mut self, family: Option<Family>, top: Option<Athlete>, place: usize) {
        self.tally.settled();
        self.origin = Some(Origin { family, top, place });
    }

    /// A claim that isn't about a hold.
    pub(super) fn plain(
        &self,
        athlete: Athlete,
        action: Action,
        place: usize,
        origin: Origin,
    ) -> Claim {
        Claim {
            athlete,
            action,
            clean: false,
            reached: self.places[place].span.start(),
            hold: Hold::Caught,
            chained: false,
            several: false,
            deed: self.deed(action, athlete, origin.place, place),
            rests: Rests::NOTHING.on(&self.places[origin.place]).on(&self.places[place]),
        }
    }

    pub(super) fn deed(&self, action: Action, athlete: Athlete, from: usize, to: usize) -> String {
        let before = &self.places[from];
        let under = before.top == Some(athlete.other()) && from != to;
        let from = match (action, under) {
            (Action::KneeOnBelly | Action::Mount | Action::BackControl, true)
                if before.family == Family::Guard =>
            {
                format!("the bottom of {}", before.name())
            }
            (Action::KneeOnBelly | Action::Mount | Action::BackControl, true) => {
                format!("under {}", before.name())
            }
            _ => before.name().to_owned(),
        };
        reasons::deed(action, &from, self.places[to].name())
    }

    /// With every place of the run until the hold was complete.
    pub(super) fn rests(&self, rests: Rests, run: &Range<usize>, hold: Hold) -> Rests {
        let places = &self.places[run.clone()];
        let done = match hold {
            Hold::Kept { done, .. } => done,
            _ => places.last().map_or(Time::ZERO, |place| place.span.end()),
        };
        let until = places.iter().take_while(|place| place.span.start() < done);
        until.fold(rests, |rests, place| rests.on(place))
    }

    pub(super) fn held(&self, athlete: Athlete, range: &Range<usize>) -> Hold {
        held(self.span(range), athlete, &self.caught, self.rules.hold)
    }

    fn span(&self, range: &Range<usize>) -> Span {
        let places = &self.places[range.clone()];
        let ends = places.first().zip(places.last());
        ends.map_or_else(Span::default, |(first, last)| {
            Span::between(first.span.start(), last.span.end())
        })
    }

    pub(super) fn millis(&self, range: &Range<usize>) -> u64 {
        self.span(range).millis()
    }
}
