//! What a student's rounds add up to, as their page says it: every figure a line in plain words with
//! its numbers apart, and a picture where one tells more.

mod habits;
mod replay;
mod weeks;

use academy::Member;
use figures::game::GROUP_MINUTES;
use figures::getting_out::ENOUGH_STAYS;
use figures::habits::Towards;
use figures::overview::{Out, StudentFigures, Suggestion};
use jiff::civil::Date;
use reports::sentences::{self, Said};
use reports::{
    OutCurves, PositionMap, TideWidth, Voice, Whose, out_curves_in_page, position_map_in_page,
};

pub(crate) use self::habits::HabitsView;
pub(crate) use self::replay::{Naming, Replay};
pub(crate) use self::weeks::WeeksView;
use crate::figures::Known;
use crate::pages::which_rounds::WhichRounds;
use crate::wording;

/// With fewer rounds it is said to be too early. `common practice`.
const EARLY: usize = 5;

/// Changes that are told.
const MOST_CHANGES: usize = 4;

/// Moments that are shown with a suggestion.
const MOST_MOMENTS: usize = 3;

/// A picture as it is on a laptop and on a phone.
pub(crate) struct Picture {
    pub(crate) wide: String,
    pub(crate) narrow: String,
}

impl Picture {
    /// Draws both; each needs an id of its own.
    pub(crate) fn of(id: &str, draw: impl Fn(TideWidth, &str) -> String) -> Self {
        Picture {
            wide: draw(TideWidth::Laptop, &format!("{id}-wide")),
            narrow: draw(TideWidth::Phone, &format!("{id}-narrow")),
        }
    }
}

/// One thing to train next.
pub(crate) struct Suggested {
    pub(crate) said: Said,
    pub(crate) moments: Vec<Replay>,
    /// The words of a goal that would be made of it.
    pub(crate) goal: String,
}

/// Getting out of one position.
pub(crate) struct OutView {
    pub(crate) position: &'static str,
    pub(crate) said: Said,
    pub(crate) picture: Picture,
}

/// What a student's rounds add up to.
pub(crate) struct AddsUp {
    pub(crate) confirmed: Said,
    /// That it is too early to say much, where it is.
    pub(crate) early: Option<String>,
    pub(crate) changed: Vec<Said>,
    pub(crate) train_next: Vec<Suggested>,
    pub(crate) time: Option<Said>,
    pub(crate) flows: Option<Said>,
    pub(crate) map: Picture,
    pub(crate) out: Vec<OutView>,
    /// Getting out of positions with too few stays to draw.
    pub(crate) out_seldom: Vec<Said>,
    pub(crate) habits: HabitsView,
    pub(crate) worth: Vec<Said>,
    pub(crate) weeks: WeeksView,
}

/// Of whom a page tells, and to whom.
#[derive(Clone, Copy)]
pub(crate) struct Told<'a> {
    pub(crate) member: &'a Member,
    /// Whether the student reads it.
    pub(crate) own: bool,
}

impl<'a> Told<'a> {
    /// How the sentences call the student.
    pub(crate) fn whose(&self) -> Whose<'a> {
        Whose {
            name: first_name(&self.member.name),
            pronoun: self.member.pronoun,
            voice: if self.own { Voice::You } else { Voice::Third },
        }
    }
}

/// The name that people are called by.
pub(crate) fn first_name(name: &str) -> &str {
    name.split_whitespace().next().unwrap_or(name)
}

/// Whether anything at all is known of what happened.
pub(crate) fn is_known(figures: &StudentFigures) -> bool {
    figures.rolled.all > 0.0
}

impl AddsUp {
    pub(crate) fn new(
        figures: &StudentFigures,
        told: Told<'_>,
        (known, which): (&Known, &WhichRounds),
        naming: &Naming<'_>,
    ) -> Self {
        let whose = told.whose();
        let group = match figures.towards {
            Towards::Belt => format!("{} belts", told.member.belt.id()),
            Towards::Academy => "people of the academy".to_owned(),
        };
        let (surest, leaks) = (&figures.surest, &figures.leaks);
        let map = PositionMap::new(whose, &figures.time, &figures.flows, surest, leaks);
        let changed = figures.changed.as_ref();
        let suggested = |(index, one): (usize, &Suggestion)| Suggested {
            said: sentences::train_next(&whose, &one.change, index == 0, figures.rounds),
            moments: naming.moments(known, which, one, MOST_MOMENTS),
            goal: reports::wording::capital(&sentences::goal(one.change.doing)),
        };
        let (out, out_seldom) = getting_out(figures, whose, &group);
        // From few rounds one guess is enough.
        let most = if figures.rounds < EARLY { 1 } else { usize::MAX };
        AddsUp {
            confirmed: sentences::confirmed(figures.rolled, figures.rounds),
            early: (figures.rounds < EARLY).then(|| early(figures.rounds)),
            changed: changed.map_or_else(Vec::new, |changes| {
                sentences::what_changed(&whose, changes, MOST_CHANGES)
            }),
            train_next: figures.train_next.iter().take(most).enumerate().map(suggested).collect(),
            time: sentences::time_by_place(
                &whose,
                &figures.time,
                figures.rounds,
                figures.rolled.all,
            ),
            flows: sentences::flows(&whose, &figures.flows),
            map: Picture::of("map", |width, id| position_map_in_page(&map, width, id)),
            out,
            out_seldom,
            habits: HabitsView::new(figures, &whose),
            worth: (figures.worth.iter())
                // Where the student was but for a moment the number is the others'.
                .filter(|worth| worth.minutes >= GROUP_MINUTES)
                .map(|worth| sentences::worth(&whose, worth))
                .collect(),
            weeks: WeeksView::new(figures, &whose),
        }
    }
}

fn early(rounds: usize) -> String {
    format!(
        "From {} it is too early to tell habits from chance. What stands here is a beginning; it \
         says more with every round.",
        wording::count(rounds, "round", "rounds")
    )
}

/// Pictures of getting out, and sentences where there are too few stays for one. `group` is what to
/// call those they are read against: "blue belts".
fn getting_out(
    figures: &StudentFigures,
    whose: Whose<'_>,
    group: &str,
) -> (Vec<OutView>, Vec<Said>) {
    let [all, the_others] = [format!("all {group}"), format!("the other {group}")];
    let said =
        |out: &Out| sentences::getting_out(&whose, &out.own, out.beside.as_ref(), &the_others);
    let drawn = |out: &Out| {
        let position = out.own.position;
        let curves = OutCurves {
            whose,
            own: &out.own,
            others: out.everybody.as_ref().map(|everybody| (everybody, all.as_str())),
        };
        OutView {
            position: position.name(),
            said: said(out),
            picture: Picture::of(&format!("out-{}", position.id()), |width, id| {
                out_curves_in_page(&curves, width, id)
            }),
        }
    };
    let (often, seldom): (Vec<&Out>, Vec<&Out>) =
        figures.getting_out.iter().partition(|out| out.own.stays >= ENOUGH_STAYS);
    (often.into_iter().map(drawn).collect(), seldom.into_iter().map(said).collect())
}

/// From when on the page looks for changes, in words.
pub(crate) fn since_in_words(talk: Option<Date>, since: Date, own: bool) -> String {
    let day = wording::day(since);
    match (talk, own) {
        (Some(_), true) => format!("Since your talk with the coach on {day}."),
        (Some(_), false) => format!("Since you talked on {day}."),
        (None, _) => format!("No talk is noted yet, so since four weeks ago, {day}."),
    }
}
