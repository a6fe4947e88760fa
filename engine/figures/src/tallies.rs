//! What a student's rounds add up to before any figure is made of it: time by place, changes,
//! moments, and how attempts ended. One pass over all rounds gives everybody's.

use std::collections::BTreeMap;

use academy::{Athlete, EventKind, Position};

use crate::figure::Tally;
use crate::known_round::{AthleteId, KnownRound};
use crate::place::Place;
use crate::stretch::{Happening, Lived};

/// An attempt's ending is looked for up to so many seconds later. `common practice`: an attack
/// that lasts a minute has become another.
const ENDING_SECONDS: f64 = 60.0;

/// Something done from a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Doing {
    /// Where the student was.
    pub place: Place,
    /// What was done. Moves between places are named by [`crate::place::move_of`] from the spells,
    /// so that they count without being told as moments; the other kinds are told moments.
    pub kind: EventKind,
    /// Whether the student did it, or the other one did it to them.
    pub own: bool,
}

/// How submission attempts ended: expected counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Attempts {
    /// The other one tapped.
    pub finished: Tally,
    /// Let go by choice: it was there.
    pub released: Tally,
    /// The other one got out.
    pub escaped: Tally,
    /// Nothing is told about how it ended.
    pub open: Tally,
}

impl Attempts {
    /// All attempts: an expected count.
    #[must_use]
    pub fn all(&self) -> Tally {
        self.finished.plus(self.released).plus(self.escaped).plus(self.open)
    }
}

/// What a student's rounds add up to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tallies {
    /// How many rounds something is known of.
    pub rounds: usize,
    /// How many more nothing is known of: nobody told them, or they were not understood.
    pub blank: usize,
    /// Expected seconds by place, without pauses.
    pub seconds: BTreeMap<Place, Tally>,
    /// Expected changes from place to place, without those into and out of a pause.
    pub moves: BTreeMap<(Place, Place), Tally>,
    /// Expected moves and moments by place.
    pub done: BTreeMap<Doing, Tally>,
    /// The student's submission attempts by the place they began from.
    pub attempts: BTreeMap<Place, Attempts>,
    /// Where rounds began: expected counts.
    pub starts: BTreeMap<Place, f64>,
}

impl Tallies {
    /// Expected minutes in a place.
    #[must_use]
    pub fn minutes(&self, place: Place) -> f64 {
        self.seconds.get(&place).map_or(0.0, |seconds| seconds.all / 60.0)
    }

    /// Expected count of something done.
    #[must_use]
    pub fn count(&self, doing: Doing) -> f64 {
        self.done.get(&doing).map_or(0.0, |tally| tally.all)
    }

    /// Expected minutes rolled in a round, on average; 0 without rounds.
    #[must_use]
    pub fn minutes_per_round(&self) -> f64 {
        let seconds: f64 = self.seconds.values().map(|seconds| seconds.all).sum();
        if self.rounds > 0 { seconds / 60.0 / self.rounds as f64 } else { 0.0 }
    }

    /// Adds what other rounds add up to, such as those of everybody with a belt.
    pub fn merge(&mut self, other: &Tallies) {
        self.rounds += other.rounds;
        self.blank += other.blank;
        let seconds = other.seconds.iter();
        seconds.for_each(|(place, tally)| add(self.seconds.entry(*place).or_default(), *tally));
        let moves = other.moves.iter();
        moves.for_each(|(way, tally)| add(self.moves.entry(*way).or_default(), *tally));
        let done = other.done.iter();
        done.for_each(|(doing, tally)| add(self.done.entry(*doing).or_default(), *tally));
        for (place, theirs) in &other.attempts {
            let ours = self.attempts.entry(*place).or_default();
            add(&mut ours.finished, theirs.finished);
            add(&mut ours.released, theirs.released);
            add(&mut ours.escaped, theirs.escaped);
            add(&mut ours.open, theirs.open);
        }
        for (place, count) in &other.starts {
            *self.starts.entry(*place).or_default() += count;
        }
    }

    /// Adds a round as the student lived it.
    pub fn add(&mut self, lived: &Lived<'_>) {
        if lived.rolling() <= 0.0 {
            self.blank += 1;
            return;
        }
        self.rounds += 1;
        for stretch in lived.rolled() {
            let Some(place) = stretch.place else { continue };
            self.seconds.entry(place).or_default().add(stretch.expected(), stretch.confirmed);
        }
        if let Some(first) = lived.rolled().next()
            && first.start == 0.0
            && let Some(place) = first.place
        {
            *self.starts.entry(place).or_default() += first.weight;
        }
        for change in lived.changes() {
            let pause = |place: Place| place.position == Position::Reset;
            if pause(change.from) || pause(change.to) {
                continue;
            }
            let moves = self.moves.entry((change.from, change.to)).or_default();
            moves.add(change.weight, change.confirmed);
            if let Some(what) = change.what {
                let doing = Doing { place: change.from, kind: what.kind, own: what.own };
                self.done.entry(doing).or_default().add(change.weight, change.confirmed);
            }
        }
        for (at, happening) in lived.happenings.iter().enumerate() {
            self.add_happening(happening, &lived.happenings[at + 1..]);
        }
    }

    fn add_happening(&mut self, happening: &Happening<'_>, later: &[Happening<'_>]) {
        let (Some(place), Some(own)) = (happening.place, happening.own) else { return };
        if !is_told(happening.kind) || place.position == Position::Reset {
            return;
        }
        let confirmed = f64::from(u8::from(happening.confirmed));
        let doing = Doing { place, kind: happening.kind, own };
        self.done.entry(doing).or_default().add(happening.weight, confirmed);
        if happening.kind == EventKind::SubmissionAttempt && own {
            let attempts = self.attempts.entry(place).or_default();
            let tally = match ending(happening, later) {
                Some(EventKind::Tap) => &mut attempts.finished,
                Some(EventKind::Release) => &mut attempts.released,
                Some(EventKind::SubmissionEscape) => &mut attempts.escaped,
                _ => &mut attempts.open,
            };
            tally.add(happening.weight, confirmed);
        }
    }
}

/// Whether moments of a kind count as they were told; the others are moves between places, which
/// the spells show.
pub(crate) const fn is_told(kind: EventKind) -> bool {
    matches!(
        kind,
        EventKind::SubmissionAttempt
            | EventKind::SubmissionEscape
            | EventKind::Release
            | EventKind::Tap
            | EventKind::FailedTry
    )
}

fn add(tally: &mut Tally, other: Tally) {
    *tally = tally.plus(other);
}

/// How an attempt by the student ended: the first tap or escape by the other one or release by the
/// student within [`ENDING_SECONDS`], before the student's next attempt or a restart; one that is
/// told of another technique does not count.
fn ending(attempt: &Happening<'_>, later: &[Happening<'_>]) -> Option<EventKind> {
    let until = attempt.time + ENDING_SECONDS;
    for happening in later.iter().take_while(|happening| happening.time <= until) {
        let by = happening.own;
        let ends = match happening.kind {
            EventKind::SubmissionAttempt if by == Some(true) => return None,
            EventKind::Reset => return None,
            EventKind::Tap | EventKind::SubmissionEscape => by == Some(false),
            EventKind::Release => by == Some(true),
            _ => false,
        };
        let same = match (attempt.technique, happening.technique) {
            (Some(one), Some(other)) => one == other,
            _ => true,
        };
        if ends && same {
            return Some(happening.kind);
        }
    }
    None
}

/// Everybody's tallies from all rounds, in one pass: linear in spells and events.
#[must_use]
pub fn tallies(rounds: &[KnownRound<'_>]) -> BTreeMap<AthleteId, Tallies> {
    let mut all: BTreeMap<AthleteId, Tallies> = BTreeMap::new();
    for round in rounds {
        for seat in Athlete::BOTH {
            all.entry(round.who(seat)).or_default().add(&Lived::new(round, seat));
        }
    }
    all
}
