//! A ledger as one athlete lived it: stretches in one place, and the changes between them.

use academy::{Athlete, EventKind, Position, Source, Spell};

use crate::known_round::{AthleteId, KnownRound};
use crate::place::{Move, Place, Role, move_of};

/// A moment told within so many seconds of a change of its kind is that change.
/// `common practice`: where told events and borders are set by different people or by guesses,
/// they differ by a second or two.
const SAME_SECONDS: f64 = 3.0;

/// A submission that is told to have been let go or escaped from within so many seconds of another
/// ending of the same athlete's, without a new attempt in between, has ended once.
/// `common practice`: people say it twice ("she's out ... and he lets it go"), and so does a reader.
const ENDED_ONCE_SECONDS: f64 = 15.0;

/// Neighbouring spells of one place, taken together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where the athlete was; nothing where nothing is known (see [`is_blank`]).
    pub place: Option<Place>,
    /// From when, in seconds.
    pub start: f64,
    /// Until when, in seconds.
    pub end: f64,
    /// Mean probability that the place is right, 0 to 1.
    pub weight: f64,
    /// Share of its expected time that a person told or confirmed, 0 to 1.
    pub confirmed: f64,
}

impl Stretch {
    /// Length in seconds, whether or not it is so.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.end - self.start
    }

    /// Expected seconds: length times probability.
    #[must_use]
    pub fn expected(&self) -> f64 {
        self.seconds() * self.weight
    }
}

/// Whether nothing is known about a spell: a guess without any confidence, as a round has it that
/// nobody talked over. Such time counts nowhere, and nothing is followed across it.
#[must_use]
pub fn is_blank(spell: &Spell) -> bool {
    spell.source != Source::Hand && spell.confidence == 0.0
}

/// A change of place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// When, in seconds.
    pub time: f64,
    /// From where.
    pub from: Place,
    /// Where to.
    pub to: Place,
    /// What it is called and who did it; nothing into or out of the pause.
    pub what: Option<Move>,
    /// For how much it counts, 0 to 1: the probability of the stretch that it leaves. Where that is
    /// right, it was left, and the next stretch is the best guess of where to; so a rate per minute
    /// in a place weighs its changes and its minutes alike.
    pub weight: f64,
    /// Share of it that a person told or confirmed, 0 to 1: the smaller of the two stretches'.
    pub confirmed: f64,
}

/// Something that happened, seen from one athlete.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Happening<'a> {
    /// When, in seconds.
    pub time: f64,
    /// What kind.
    pub kind: EventKind,
    /// Whether the athlete did it; nothing where it is not known who did.
    pub own: Option<bool>,
    /// The technique, where known.
    pub technique: Option<&'a str>,
    /// Where the athlete was when it happened; nothing in a blank.
    pub place: Option<Place>,
    /// How probable, 0 to 1.
    pub weight: f64,
    /// Whether a person told or confirmed it.
    pub confirmed: bool,
}

/// A round as one athlete lived it.
#[derive(Clone, Debug)]
pub struct Lived<'a> {
    /// The stretches, in order, tiling the round.
    pub stretches: Vec<Stretch>,
    /// What happened, in order.
    pub happenings: Vec<Happening<'a>>,
}

impl<'a> Lived<'a> {
    /// A round as the athlete in a seat lived it. Linear in spells plus events.
    #[must_use]
    pub fn new(round: &KnownRound<'a>, seat: Athlete) -> Self {
        let stretches = stretches(round, seat);
        let mut at = 0;
        let happenings = round.ledger.events().iter().map(|event| {
            let time = event.time.seconds();
            // A moment on a border belongs to what it ends: a tap ends the mount before the pause.
            while at + 1 < stretches.len() && stretches[at].end < time {
                at += 1;
            }
            // ... but an attempt belongs to what it begins in.
            let begins = event.kind == EventKind::SubmissionAttempt
                && stretches.get(at).is_some_and(|stretch| stretch.end == time)
                && stretches.get(at + 1).and_then(|next| next.place).is_some_and(Place::is_rolled);
            let in_stretch = stretches.get(at + usize::from(begins));
            let place = in_stretch.and_then(|stretch| stretch.place);
            let own = match event.actor {
                Some(actor) => Some(actor == seat),
                None => implied_own(event.kind, time, &stretches, at),
            };
            Happening {
                time,
                kind: event.kind,
                own,
                technique: event.technique.as_deref(),
                place,
                weight: event.confidence,
                confirmed: round.confirmed || event.source == Source::Hand,
            }
        });
        let mut happenings: Vec<Happening<'a>> = happenings.collect();
        end_once(&mut happenings);
        Lived { stretches, happenings }
    }

    /// The rounds of a student as they lived them, in the order given.
    pub fn of_student(
        rounds: &[KnownRound<'a>],
        who: AthleteId,
    ) -> impl Iterator<Item = Lived<'a>> {
        rounds.iter().filter_map(move |round| Some(Lived::new(round, round.seat(who)?)))
    }

    /// The changes between neighbouring known stretches, in order.
    pub fn changes(&self) -> impl Iterator<Item = Change> {
        self.stretches.windows(2).filter_map(|pair| self.change(&pair[0], &pair[1]))
    }

    /// The change between two neighbours; nothing where one of them is blank.
    #[must_use]
    pub fn change(&self, before: &Stretch, after: &Stretch) -> Option<Change> {
        let (from, to) = (before.place?, after.place?);
        let mut what = move_of(from, to);
        if from.position == Position::Standing {
            let pull = self.happenings.iter().find(|happening| {
                happening.kind == EventKind::GuardPull
                    && (happening.time - after.start).abs() <= SAME_SECONDS
            });
            let below = to.role == Role::Bottom;
            if let (Some(pull), Some(_)) = (pull, what)
                && pull.own.unwrap_or(below) == below
            {
                what = Some(Move { kind: EventKind::GuardPull, own: below });
            }
        }
        Some(Change {
            time: after.start,
            from,
            to,
            what,
            weight: before.weight,
            confirmed: before.confirmed.min(after.confirmed),
        })
    }

    /// Expected seconds of known rolling: everything but blanks and pauses.
    #[must_use]
    pub fn rolling(&self) -> f64 {
        self.rolled().map(Stretch::expected).sum()
    }

    /// The known stretches that are not pauses.
    pub fn rolled(&self) -> impl Iterator<Item = &Stretch> {
        self.stretches.iter().filter(|stretch| stretch.place.is_some_and(Place::is_rolled))
    }
}

/// Leaves out endings of submissions that have ended already ([`ENDED_ONCE_SECONDS`]). A tap always
/// counts, as does an ending that names another technique.
fn end_once(happenings: &mut Vec<Happening<'_>>) {
    // By whose submission it was: when it last ended, and under which name.
    let mut ended: [Option<(f64, Option<&str>)>; 2] = [None, None];
    happenings.retain(|happening| {
        let Some(own) = happening.own else { return true };
        let attackers = match happening.kind {
            EventKind::SubmissionAttempt | EventKind::Release => own,
            EventKind::SubmissionEscape | EventKind::Tap => !own,
            _ => return true,
        };
        let last = &mut ended[usize::from(attackers)];
        if happening.kind == EventKind::SubmissionAttempt {
            *last = None;
            return true;
        }
        let again = happening.kind != EventKind::Tap
            && last.is_some_and(|(time, technique)| {
                let same = technique
                    .is_none_or(|name| happening.technique.is_none_or(|other| other == name));
                same && happening.time - time <= ENDED_ONCE_SECONDS
            });
        if !again {
            *last = Some((happening.time, happening.technique));
        }
        !again
    });
}

fn stretches(round: &KnownRound<'_>, seat: Athlete) -> Vec<Stretch> {
    /// Sums over the spells of a stretch.
    struct Sums {
        place: Option<Place>,
        start: f64,
        end: f64,
        expected: f64,
        by_hand: f64,
    }
    let mut sums: Vec<Sums> = Vec::with_capacity(round.ledger.spells().len());
    for spell in round.ledger.spells() {
        let place = (!is_blank(spell)).then(|| Place::of(spell.position, spell.top, seat));
        let expected = spell.span.seconds() * spell.confidence;
        let told = round.confirmed || spell.source == Source::Hand;
        let by_hand = if told { expected } else { 0.0 };
        let end = spell.span.end().seconds();
        match sums.last_mut() {
            Some(last) if last.place == place => {
                last.end = end;
                last.expected += expected;
                last.by_hand += by_hand;
            }
            _ => {
                let start = spell.span.start().seconds();
                sums.push(Sums { place, start, end, expected, by_hand });
            }
        }
    }
    (sums.into_iter())
        .map(|sum| Stretch {
            place: sum.place,
            start: sum.start,
            end: sum.end,
            weight: sum.expected / (sum.end - sum.start),
            confirmed: if sum.expected > 0.0 { sum.by_hand / sum.expected } else { 0.0 },
        })
        .collect()
}

/// Who must have done something that nobody is named for, from the places around it: the nearest
/// change of that kind tells; else only the one on top can pass a guard or advance, and only the
/// one underneath can sweep, reverse or escape. Nothing for moments that both could have made.
fn implied_own(kind: EventKind, time: f64, stretches: &[Stretch], at: usize) -> Option<bool> {
    let by_below = match kind {
        EventKind::Pass | EventKind::Advance => false,
        EventKind::Sweep | EventKind::Reversal | EventKind::Escape => true,
        _ => return None,
    };
    // The moment may be told just before or just after the border that it is.
    let borders = [at.checked_sub(1), Some(at)].into_iter().flatten();
    let near = borders.filter_map(|index| {
        let (before, after) = (stretches.get(index)?, stretches.get(index + 1)?);
        let named = move_of(before.place?, after.place?)?;
        let apart = (after.start - time).abs();
        (named.kind == kind && apart <= SAME_SECONDS).then_some((apart, named.own))
    });
    if let Some((_, own)) = near.min_by(|one, other| one.0.total_cmp(&other.0)) {
        return Some(own);
    }
    match stretches.get(at)?.place?.role {
        Role::Neither => None,
        Role::Top => Some(!by_below),
        Role::Bottom => Some(by_below),
    }
}
