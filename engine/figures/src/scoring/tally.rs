//! What has been given so far, and what has not: every claim ends here, with its reason.

use academy::{Athlete, Time};

use super::places::{Hold, Place};
use super::{Action, Advantage, Award, NotCounted, RuleSet, Why, reasons};

/// What a claim rests on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rests {
    pub(super) confidence: f64,
    pub(super) confirmed: bool,
}

impl Rests {
    /// What rests on nothing yet.
    pub(super) const NOTHING: Rests = Rests { confidence: 1.0, confirmed: true };

    /// The least confidence of the two; confirmed only where both are.
    pub(super) fn and(self, confidence: f64, confirmed: bool) -> Self {
        Rests {
            confidence: self.confidence.min(confidence),
            confirmed: self.confirmed && confirmed,
        }
    }

    /// With a place.
    pub(super) fn on(self, place: &Place) -> Self {
        self.and(place.confidence, place.confirmed)
    }
}

/// Something that could score.
#[derive(Clone, Debug)]
pub(super) struct Claim {
    pub(super) athlete: Athlete,
    pub(super) action: Action,
    pub(super) clean: bool,
    pub(super) reached: Time,
    pub(super) hold: Hold,
    /// A step on the way to the position that was held.
    pub(super) chained: bool,
    /// The control went on through several places.
    pub(super) several: bool,
    pub(super) deed: String,
    pub(super) rests: Rests,
}

/// The claims, decided.
#[derive(Debug)]
pub(super) struct Tally<'a> {
    rules: &'a RuleSet,
    points_from: Time,
    pub(super) awards: Vec<Award>,
    pub(super) advantages: Vec<Advantage>,
    pub(super) not_counted: Vec<NotCounted>,
    /// Advantages that a score may still replace.
    pending: Vec<Advantage>,
}

impl<'a> Tally<'a> {
    /// Nothing yet; points count for what is reached at `points_from` or later.
    pub(super) fn new(rules: &'a RuleSet, points_from: Time) -> Self {
        let (awards, advantages) = (Vec::new(), Vec::new());
        let (not_counted, pending) = (Vec::new(), Vec::new());
        Tally { rules, points_from, awards, advantages, not_counted, pending }
    }

    /// Decides a claim by how it was held and by what the rule set gives.
    pub(super) fn claim(&mut self, claim: &Claim) {
        let points = self.rules.points(claim.action, claim.clean);
        match claim.hold {
            Hold::Short { millis } if points > 0 => {
                self.refuse(claim, Why::TooShort, millis);
                self.advantage(claim, millis);
            }
            // Nothing would have come of it.
            Hold::Short { .. } => {}
            Hold::Caught => self.refuse(claim, Why::Caught, 0),
            Hold::Kept { .. } if points == 0 => self.refuse(claim, Why::NoPoints, 0),
            Hold::Kept { since, .. } if since < self.points_from => {
                self.refuse(claim, Why::BeforePoints, 0);
            }
            Hold::Kept { since, done, millis } => {
                let same = |advantage: &Advantage| {
                    (advantage.athlete, advantage.action) == (claim.athlete, claim.action)
                };
                self.pending.retain(|advantage| !same(advantage));
                let freed = since > claim.reached;
                self.awards.push(Award {
                    time: done,
                    since,
                    athlete: claim.athlete,
                    action: claim.action,
                    clean: claim.clean,
                    points,
                    held_seconds: millis as f64 / 1000.0,
                    confidence: claim.rests.confidence,
                    confirmed: claim.rests.confirmed,
                    reason: reasons::counts(claim, millis, freed),
                });
            }
        }
    }

    /// A guard pull: costs points, or nothing, whatever comes of it.
    pub(super) fn pulled(&mut self, claim: &Claim) {
        let points = self.rules.points(claim.action, false);
        if points == 0 {
            self.refuse(claim, Why::NoPoints, 0);
        } else if claim.reached < self.points_from && !self.rules.early_penalties {
            self.refuse(claim, Why::BeforePoints, 0);
        } else {
            self.awards.push(Award {
                time: claim.reached,
                since: claim.reached,
                athlete: claim.athlete,
                action: claim.action,
                clean: false,
                points,
                held_seconds: 0.0,
                confidence: claim.rests.confidence,
                confirmed: claim.rests.confirmed,
                reason: claim.deed.clone(),
            });
        }
    }

    /// A claim that doesn't count.
    pub(super) fn refuse(&mut self, claim: &Claim, why: Why, millis: u64) {
        self.not_counted.push(NotCounted {
            time: claim.reached,
            athlete: Some(claim.athlete),
            action: Some(claim.action),
            why,
            reason: reasons::does_not_count(&claim.deed, why, millis, self.rules.hold),
            confidence: claim.rests.confidence,
        });
    }

    /// An advantage, unless the athlete has one for this movement already.
    pub(super) fn advantage(&mut self, claim: &Claim, millis: u64) {
        let has = self.pending.iter().any(|advantage| advantage.athlete == claim.athlete);
        if self.rules.advantages && !has {
            self.pending.push(Advantage {
                time: claim.reached,
                athlete: claim.athlete,
                action: claim.action,
                reason: format!("{} for {}", claim.deed, reasons::seconds(millis)),
                confidence: claim.rests.confidence,
            });
        }
    }

    /// A position has settled: no score can replace the advantages of the movement before it.
    pub(super) fn settled(&mut self) {
        self.advantages.append(&mut self.pending);
    }
}
