//! Habits: the surest ways, the leaks, how attempts end, and all of them by place.

use figures::Place;
use figures::habits::places;
use figures::overview::StudentFigures;
use reports::Whose;
use reports::sentences::{self, Said};
use reports::wording::{capital, place};

/// Surest ways and leaks that are shown; more of them would be no help.
const MOST: usize = 4;

/// Fewer seen moments than this in all are left out of the list by place: the group's number alone
/// tells nothing about the student.
const SEEN: f64 = 0.5;

/// Actions that were seen less often are not weighed up: the others' number would tell. `common
/// practice`.
const OFTEN: f64 = 5.0;

/// What a student does from where.
pub(crate) struct HabitsView {
    pub(crate) surest: Vec<Said>,
    pub(crate) leaks: Vec<Said>,
    pub(crate) attempts: Option<Said>,
    pub(crate) pace: Option<Said>,
    pub(crate) give_and_take: Option<Said>,
    pub(crate) done: Vec<Said>,
    /// What tends to come of what they do, best first.
    pub(crate) balances: Vec<Said>,
    /// Everything seen, by place, with how long it is held.
    pub(crate) by_place: Vec<(String, Vec<Said>)>,
}

impl HabitsView {
    pub(super) fn new(figures: &StudentFigures, whose: &Whose<'_>) -> Self {
        let of_place = |here: Place| -> (String, Vec<Said>) {
            let holds = figures.holds.iter().filter(|hold| hold.place == here);
            let holds = holds.map(|hold| sentences::hold(whose, hold));
            let habits = figures.habits.iter().filter(|habit| habit.doing.place == here);
            let seen = habits.filter(|habit| habit.seen.count >= SEEN).map(sentences::habit);
            (capital(&place(here)), holds.chain(seen).collect())
        };
        let by_place = places(&figures.habits).into_iter().map(of_place);
        HabitsView {
            surest: figures
                .surest
                .iter()
                .take(MOST)
                .map(|one| sentences::surest_way(whose, one))
                .collect(),
            leaks: figures.leaks.iter().take(MOST).map(|one| sentences::leak(whose, one)).collect(),
            attempts: figures.attempts.as_ref().map(|ends| sentences::attempts(whose, ends)),
            pace: figures.pace.as_ref().map(|pace| sentences::pace(whose, pace)),
            give_and_take: (figures.give_and_take.as_ref())
                .map(|figure| sentences::give_and_take(whose, figure)),
            done: figures.done.iter().map(|done| sentences::done(whose, done)).collect(),
            balances: (figures.balances.iter())
                .filter(|one| one.action.own && one.count >= OFTEN)
                .map(sentences::balance)
                .collect(),
            by_place: by_place.filter(|(_, said)| !said.is_empty()).collect(),
        }
    }
}
