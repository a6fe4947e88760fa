//! What a round adds up to, in words: time by place, holds, pace, give and take, attempts, and
//! whether it was what it was meant to be.

use academy::{Athlete, EventKind, Position, Round};
use figures::figure::Figure;
use figures::meant::Meant;
use figures::round::{
    changes_per_minute, done_per_minute, give_and_take, holds, pinned_share, time_shares,
};
use figures::stretch::Lived;
use figures::{KnownRound, Place, Role};
use reports::sentences::{self, Said};
use reports::wording;

use crate::wording::{amount, count, minutes_and_seconds, share};

/// What the page of a round says that it adds up to.
pub(crate) struct RoundFigures {
    pub(crate) lines: Vec<Said>,
    /// Most time first.
    pub(crate) places: Vec<PlaceRow>,
    /// Whether it was what it was meant to be, and what that rests on.
    pub(crate) meant: Said,
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
    meant: &Meant,
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
        meant: sentences::meant(meant),
        evidence: meant.evidence.iter().map(sentences::evidence).collect(),
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
        0 => "Nobody changed anything.".to_owned(),
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

fn attempts(round: &Round, lived: &[Lived<'_>]) -> Said {
    let counted =
        |kind, own: bool| done_per_minute(lived, kind, own).map_or(0.0, |figure| figure.count);
    let of = |kind| [true, false].map(|own| counted(kind, own));
    let names = [round.name(Athlete::First), round.name(Athlete::Second)];
    let [tried, freed] = [of(EventKind::SubmissionAttempt), of(EventKind::SubmissionEscape)];
    let [let_go, tapped] = [of(EventKind::Release), of(EventKind::Tap)];
    let whole = |counts: [f64; 2]| counts.map(|count| count.round() as usize);
    let each = |counts: [f64; 2]| {
        format!("{} {}, {} {}", names[0], amount(counts[0]), names[1], amount(counts[1]))
    };
    let line = match whole(tried) {
        [0, 0] => "Nobody is told to have gone for a submission.".to_owned(),
        [first, second] => {
            let mut line = format!(
                "{} went for {}, {} for {}.",
                names[0],
                count(first, "submission", "submissions"),
                names[1],
                if second == 0 { "none".to_owned() } else { second.to_string() }
            );
            let released = let_go.iter().sum::<f64>().round() as usize;
            match released {
                0 => {}
                1 => line += " One of them was let go.",
                more => line += &format!(" {more} of them were let go."),
            }
            for (name, taps) in names.iter().zip(whole(tapped)) {
                if taps > 0 {
                    line += &format!(
                        " {name} tapped{}.",
                        if taps > 1 { format!(" {taps} times") } else { String::new() }
                    );
                }
            }
            line
        }
    };
    let numbers = format!(
        "Attempts: {}. Got out of: {}. Let go: {}. Taps: {}. Guessed moments count by their \
         probability.",
        each(tried),
        each(freed),
        each(let_go),
        each(tapped)
    );
    Said { line, numbers }
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
