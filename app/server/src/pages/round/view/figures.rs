//! What a round adds up to, in words: time by place, holds, pace, give and take, attempts, and
//! whether it was what it was meant to be.

use academy::{Athlete, EventKind, Position, Round};
use figures::figure::Figure;
use figures::meant::Meant;
use figures::round::{
    changes_per_minute, done_per_minute, give_and_take, happened_per_minute, holds, pinned_share,
    time_shares,
};
use figures::stretch::Lived;
use figures::{KnownRound, Place, Role};
use reports::sentences::{self, Said};
use reports::wording;

use crate::wording::{amount, count, minutes_and_seconds, share};

/// Fewer expected changes than this are none: guesses never add up to nothing.
const HARDLY: f64 = 0.05;

/// What the page of a round says that it adds up to.
pub(crate) struct RoundFigures {
    pub(crate) lines: Vec<Said>,
    /// Most time first.
    pub(crate) places: Vec<PlaceRow>,
    /// Whether it was what it was meant to be, and what that rests on.
    /// Nothing while the other rounds are being added up.
    pub(crate) meant: Option<Said>,
    pub(crate) evidence: Vec<Said>,
}

/// Time in one place.
pub(crate) struct PlaceRow {
    pub(crate) place: String,
    pub(crate) share: String,
    pub(crate) held: String,
    pub(crate) longest: String,
}

/// What a round adds up to; nothing where nothing is known of it.
pub(crate) fn round_figures(
    round: &Round,
    known: &KnownRound<'_>,
    meant: Option<&Meant>,
) -> Option<RoundFigures> {
    let lived = [Lived::new(known, Athlete::First)];
    let rolled: f64 = lived[0].rolling();
    let lines: Vec<Said> =
        [pace(&lived), even(round, &lived), pins(&lived), Some(attempts(round, &lived))]
            .into_iter()
            .flatten()
            .collect();
    (rolled > 0.0).then(|| RoundFigures {
        lines,
        places: places(round, &lived),
        meant: meant.map(sentences::meant),
        evidence: meant.map_or_else(Vec::new, |meant| {
            meant.evidence.iter().map(sentences::evidence).collect()
        }),
    })
}

/// "95 % limits 1.0 to 3.9; 60 % of the time told or confirmed"; nothing is left to chance in what
/// happened and was told.
fn limits(figure: &Figure, shown: impl Fn(f64) -> String) -> String {
    let [low, high] = [figure.interval.low(), figure.interval.high()].map(shown);
    let told = format!("{} of the time told or confirmed", share(figure.confirmed));
    if low == high { told } else { format!("95 % limits {low} to {high}; {told}") }
}

fn pace(lived: &[Lived<'_>]) -> Option<Said> {
    let figure = changes_per_minute(lived)?;
    let line = match figure.count.round() as usize {
        0 if figure.count < HARDLY => "Nobody changed anything.".to_owned(),
        0 => "Perhaps one change of position.".to_owned(),
        changes => format!(
            "About {}, {} a minute.",
            count(changes, "change of position", "changes of position"),
            amount(figure.value)
        ),
    };
    let numbers = format!(
        "{} expected changes, {} a minute; {}.",
        amount(figure.count),
        amount(figure.value),
        limits(&figure, amount)
    );
    Some(Said { line, numbers })
}

fn even(round: &Round, lived: &[Lived<'_>]) -> Option<Said> {
    let figure = give_and_take(lived)?;
    let on_top = |role: Role| -> f64 {
        let there = |place: Option<Place>| {
            place.is_some_and(|place| place.role == role && place.is_rolled())
        };
        lived[0].rolled().filter(|one| there(one.place)).map(|one| one.expected()).sum()
    };
    let [first, second] = [on_top(Role::Top), on_top(Role::Bottom)];
    let more = if first >= second { Athlete::First } else { Athlete::Second };
    let most = first.max(second) / (first + second);
    let line = if figure.value >= 0.8 {
        "Both were on top for about as long.".to_owned()
    } else {
        format!(
            "Of the time that somebody was on top it was {} for {}.",
            round.name(more),
            share(most)
        )
    };
    let numbers = format!(
        "Give and take {:.2}, where 1 is half and half and 0 is one of them all along; {}. Being on \
         top is no merit by itself.",
        figure.value,
        limits(&figure, |value| format!("{value:.2}"))
    );
    Some(Said { line, numbers })
}

fn pins(lived: &[Lived<'_>]) -> Option<Said> {
    let figure = pinned_share(lived)?;
    let line = match figure.value {
        none if none < 0.005 => "Nobody was pinned.".to_owned(),
        much => format!("Somebody was pinned for {} of it.", share(much)),
    };
    let numbers = format!(
        "Side control, north-south, knee on belly, mount and back control, whoever was on top; {}.",
        limits(&figure, share)
    );
    Some(Said { line, numbers })
}

/// How often something happened: by the first, by the second, and by nobody named.
#[derive(Clone, Copy)]
struct Happened([f64; 3]);

impl Happened {
    fn new(lived: &[Lived<'_>], kind: EventKind) -> Self {
        let of = |figure: Option<Figure>| figure.map_or(0.0, |figure| figure.count);
        let [first, second] = [true, false].map(|own| of(done_per_minute(lived, kind, own)));
        let all = of(happened_per_minute(lived, kind));
        Happened([first, second, (all - first - second).max(0.0)])
    }

    fn all(self) -> usize {
        self.0.iter().sum::<f64>().round() as usize
    }

    fn whole(self) -> [usize; 3] {
        self.0.map(|count| count.round() as usize)
    }

    /// "Petra 2, Idris 0.4, nobody named 1"
    fn each(self, names: [&str; 2]) -> String {
        let [first, second, nobody] = self.0;
        let unnamed = match nobody {
            none if none < 0.005 => String::new(),
            some => format!(", nobody named {}", amount(some)),
        };
        format!("{} {}, {} {}{unnamed}", names[0], amount(first), names[1], amount(second))
    }
}

fn attempts(round: &Round, lived: &[Lived<'_>]) -> Said {
    let names = [round.name(Athlete::First), round.name(Athlete::Second)];
    let of = |kind| Happened::new(lived, kind);
    let (tried, freed) = (of(EventKind::SubmissionAttempt), of(EventKind::SubmissionEscape));
    let (let_go, tapped) = (of(EventKind::Release), of(EventKind::Tap));
    let said: Vec<String> =
        [went_for(names, tried), released(tried.all(), let_go.all()), taps(names, tapped)]
            .into_iter()
            .flatten()
            .collect();
    let line = match said.is_empty() {
        true => "Nobody is told to have gone for a submission.".to_owned(),
        false => said.join(" "),
    };
    let numbers = format!(
        "Attempts: {}. Got out of: {}. Let go: {}. Taps: {}. Guessed moments count by their \
         probability.",
        tried.each(names),
        freed.each(names),
        let_go.each(names),
        tapped.each(names)
    );
    Said { line, numbers }
}

/// "Petra went for 2 submissions, Idris for none, and one more by nobody named."
fn went_for(names: [&str; 2], tried: Happened) -> Option<String> {
    let [first, second, nobody] = tried.whole();
    Some(match (first, second, nobody) {
        (0, 0, 0) if tried.all() == 0 => return None,
        (0, 0, 0) => "Somebody perhaps went for a submission.".to_owned(),
        (0, 0, 1) => "One of them went for a submission; nobody is named.".to_owned(),
        (0, 0, many) => format!("They went for {many} submissions; nobody is named."),
        _ => {
            let other = if second == 0 { "none".to_owned() } else { second.to_string() };
            let more = match nobody {
                0 => String::new(),
                1 => "; there was one more by nobody named".to_owned(),
                many => format!("; there were {many} more by nobody named"),
            };
            let own = match first {
                0 => "no submission".to_owned(),
                some => count(some, "submission", "submissions"),
            };
            format!("{} went for {own}, {} for {other}{more}.", names[0], names[1])
        }
    })
}

fn released(tried: usize, let_go: usize) -> Option<String> {
    Some(match (tried, let_go) {
        (_, 0) => return None,
        (0, 1) => "A submission was let go.".to_owned(),
        (0, many) => format!("{many} submissions were let go."),
        (1, 1) => "It was let go.".to_owned(),
        (_, 1) => "One of them was let go.".to_owned(),
        (_, many) => format!("{many} of them were let go."),
    })
}

fn taps(names: [&str; 2], tapped: Happened) -> Option<String> {
    let times = |taps: usize| match taps {
        1 => String::new(),
        many => format!(" {}", wording::times(many as f64)),
    };
    let [first, second, nobody] = tapped.whole();
    let named = names.iter().zip([first, second]).filter(|(_, taps)| *taps > 0);
    let mut said: Vec<String> =
        named.map(|(name, taps)| format!("{name} tapped{}.", times(taps))).collect();
    match nobody {
        0 => {}
        1 => said.push("There was a tap by nobody named.".to_owned()),
        many => said.push(format!("There were {many} taps by nobody named.")),
    }
    if said.is_empty() && tapped.all() > 0 {
        said.push("Somebody perhaps tapped.".to_owned());
    }
    (!said.is_empty()).then(|| said.join(" "))
}

fn places(round: &Round, lived: &[Lived<'_>]) -> Vec<PlaceRow> {
    let holds = holds(lived);
    let mut shares = time_shares(lived);
    shares.sort_by(|one, other| other.figure.value.total_cmp(&one.figure.value));
    (shares.into_iter())
        .filter(|time| time.place.position != Position::Reset)
        .map(|time| {
            let hold = holds.iter().find(|hold| hold.place == time.place);
            PlaceRow {
                place: state(round, time.place),
                share: share(time.figure.value),
                held: hold.map(|hold| amount(hold.median.count)).unwrap_or_default(),
                longest: hold.map(|hold| minutes_and_seconds(hold.longest)).unwrap_or_default(),
            }
        })
        .collect()
}

/// A place of the first athlete as both are called in it.
fn state(round: &Round, place: Place) -> String {
    let top = match place.role {
        Role::Neither => None,
        Role::Top => Some(Athlete::First),
        Role::Bottom => Some(Athlete::Second),
    };
    wording::state(round, place.position, top)
}

#[cfg(test)]
mod tests {
    use academy::{Event, Ledger, Person, RoundKind, Source, Span, Spell, Time};
    use figures::AthleteId;
    use jiff::civil::Date;

    use super::*;

    /// What is said of a minute in mount and then in half guard, as sure as `sure`, with these
    /// moments.
    fn said(sure: f64, deeds: &[(EventKind, Option<Athlete>, f64)]) -> Vec<String> {
        let time = |second: u64| Time::from_millis(second * 1000);
        let spell = |from, to, position, confidence| Spell {
            span: Span::between(time(from), time(to)),
            position,
            top: Some(Athlete::First),
            variant: None,
            confidence,
            source: Source::Talk,
        };
        let spells =
            vec![spell(0, 30, Position::Mount, sure), spell(30, 60, Position::HalfGuard, sure)];
        let events = (deeds.iter().enumerate()).map(|(at, (kind, actor, confidence))| Event {
            time: time(1 + at as u64),
            kind: *kind,
            actor: *actor,
            technique: None,
            confidence: *confidence,
            source: Source::Talk,
        });
        let ledger = Ledger::new(spells, events.collect()).unwrap();
        let person = |name: &str| Person { name: name.to_owned(), pronoun: None };
        let people = [person("Petra"), person("Idris")];
        let round = Round::new(people, RoundKind::Hard, time(60)).unwrap();
        let known = KnownRound {
            date: Date::constant(2026, 11, 2),
            kind: RoundKind::Hard,
            gi: true,
            athletes: [AthleteId(1), AthleteId(2)],
            length: 60.0,
            ledger: &ledger,
            confirmed: false,
        };
        let figures = round_figures(&round, &known, None).unwrap();
        figures.lines.into_iter().map(|said| said.line).collect()
    }

    fn of_submissions(deeds: &[(EventKind, Option<Athlete>, f64)]) -> String {
        said(1.0, deeds).pop().unwrap()
    }

    #[test]
    fn moments_by_nobody_named_are_told_all_the_same() {
        use Athlete::{First, Second};
        use EventKind::{Release, SubmissionAttempt, Tap};
        let (try_it, let_go, tap) = (SubmissionAttempt, Release, Tap);
        assert_eq!(of_submissions(&[]), "Nobody is told to have gone for a submission.");
        assert_eq!(of_submissions(&[(tap, Some(Second), 1.0)]), "Idris tapped.");
        assert_eq!(
            of_submissions(&[(try_it, None, 1.0), (tap, None, 1.0)]),
            "One of them went for a submission; nobody is named. There was a tap by nobody named."
        );
        assert_eq!(
            of_submissions(&[
                (try_it, Some(First), 1.0),
                (try_it, Some(First), 1.0),
                (try_it, None, 1.0),
                (let_go, None, 1.0),
                (tap, Some(Second), 1.0),
                (tap, Some(Second), 1.0),
            ]),
            "Petra went for 2 submissions, Idris for none; there was one more by nobody named. One \
             of them was let go. Idris tapped twice."
        );
        assert_eq!(of_submissions(&[(let_go, Some(First), 1.0)]), "A submission was let go.");
        assert_eq!(
            of_submissions(&[(try_it, Some(First), 0.4), (try_it, Some(Second), 0.4)]),
            "Somebody perhaps went for a submission."
        );
    }

    #[test]
    fn a_change_that_is_only_guessed_is_not_denied() {
        assert_eq!(said(0.4, &[])[0], "Perhaps one change of position.");
    }
}
