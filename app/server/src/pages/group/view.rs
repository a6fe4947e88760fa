//! What a group's figures say: what would help most, who differs from the others and where, the
//! map, getting out, and what they do place by place.

use std::collections::HashMap;

use academy::Member;
use figures::AthleteId;
use figures::habits::SetsApart;
use figures::layers::LayerHabit;
use figures::overview::{Differs, GroupFigures, Need};
use figures::round::OfPlace;
use reports::sentences::{self, Said};
use reports::wording::{capital, place, times};
use reports::{
    OutCurves, PositionMap, Voice, Whose, habit_name, out_curves_in_page, position_map_in_page,
};
use store::MemberId;

use crate::pages::student::adds_up::{OutView, Picture, Told};
use crate::wording::{amount, count, share};

/// Needs that are shown: a class can be about one of a few.
const MOST_NEEDS: usize = 5;

/// A need that gains less than this in a round on average is left out: one submission in fifty
/// rounds. `common practice`.
const WORTH_A_CLASS: f64 = 0.02;

/// What a group adds up to.
pub(crate) struct GroupView {
    pub(crate) of: String,
    pub(crate) confirmed: Said,
    pub(crate) needs: Vec<NeedView>,
    pub(crate) differs: Vec<DiffersView>,
    pub(crate) time: Option<Said>,
    pub(crate) flows: Option<Said>,
    pub(crate) map: Picture,
    pub(crate) out: Vec<OutView>,
    pub(crate) by_place: Vec<(String, Vec<Said>)>,
}

/// A change of habit that would help, with those whom it would help most.
pub(crate) struct NeedView {
    pub(crate) said: Said,
    pub(crate) best_for: Vec<(i64, String)>,
}

/// Somebody who differs from the others.
pub(crate) struct DiffersView {
    pub(crate) id: i64,
    pub(crate) name: String,
    pub(crate) said: Said,
}

impl GroupView {
    pub(super) fn new(
        figures: &GroupFigures,
        people: &HashMap<MemberId, Member>,
        members: usize,
        called: &str,
    ) -> Self {
        let whose = Whose { name: called, pronoun: None, voice: Voice::Together };
        let rolled = figures.members.len();
        let of = format!(
            "{rolled} of {} {} in rounds that are read; the minutes of a round of two of them count twice.",
            count(members, "person", "people"),
            if rolled == 1 { "is" } else { "are" }
        );
        let time: Vec<OfPlace> = (figures.time.iter())
            .map(|(place, figure)| OfPlace { place: *place, figure: *figure })
            .collect();
        let map = PositionMap::new(whose, &time, &figures.flows, &[], &[]);
        let out = figures.getting_out.iter().map(|own| {
            let curves = OutCurves { whose, own, others: None };
            let draw = |width, id: &str| out_curves_in_page(&curves, width, id);
            OutView {
                position: own.position.name(),
                said: sentences::getting_out(&whose, own, None, ""),
                picture: Picture::of(&format!("out-{}", own.position.id()), draw),
            }
        });
        let needs = figures.needs.iter().filter(|need| need.gain >= WORTH_A_CLASS);
        GroupView {
            of,
            confirmed: sentences::confirmed(figures.rolled, figures.rounds),
            needs: needs.take(MOST_NEEDS).map(|need| need_view(need, people, rolled)).collect(),
            differs: figures.differs.iter().filter_map(|one| differs(one, people)).collect(),
            time: sentences::time_by_place(&whose, &time, figures.rounds, figures.rolled.all),
            flows: sentences::flows(&whose, &figures.flows),
            map: Picture::of("map", |width, id| position_map_in_page(&map, width, id)),
            out: out.collect(),
            by_place: by_place(&figures.habits),
        }
    }
}

fn member(people: &HashMap<MemberId, Member>, who: AthleteId) -> Option<(i64, &Member)> {
    people.get(&MemberId(who.0)).map(|member| (who.0, member))
}

fn need_view(need: &Need, people: &HashMap<MemberId, Member>, rolled: usize) -> NeedView {
    let best_for: Vec<(i64, String)> = (need.best_for.iter())
        .filter_map(|who| member(people, *who))
        .map(|(id, member)| (id, member.name.clone()))
        .collect();
    let goal = capital(&sentences::goal(need.doing));
    let line = match best_for.len() {
        0 => format!("{goal}: it would help several of them a little."),
        1 => format!("{goal}: for one of them it would likely change more than anything else."),
        some => {
            format!("{goal}: for {some} of them it would likely change more than anything else.")
        }
    };
    let numbers = format!(
        "Worth {} net submissions a round on average over the group, if each got to the better \
         quarter of their belt; known for {} of {rolled}.",
        amount(need.gain),
        need.members
    );
    NeedView { said: Said { line, numbers }, best_for }
}

fn differs(one: &Differs, people: &HashMap<MemberId, Member>) -> Option<DiffersView> {
    let (id, member) = member(people, one.who)?;
    let whose = Told { member, own: false }.whose();
    let apart = SetsApart { habit: one.habit, chance: 1.0 - one.adjusted };
    let said = match one.better {
        true => sentences::surest_way(&whose, &apart),
        false => sentences::leak(&whose, &apart),
    };
    let limits = one.ratio.interval;
    let numbers = format!(
        "{} times as often as the others together (95 % limits {} to {}); by luck alone {}, all that \
         was looked at counted.",
        amount(one.ratio.ratio),
        amount(limits.low()),
        amount(limits.high()),
        share(one.adjusted)
    );
    let said = Said { line: said.line, numbers };
    Some(DiffersView { id, name: member.name.clone(), said })
}

fn by_place(habits: &[LayerHabit]) -> Vec<(String, Vec<Said>)> {
    (habits.chunk_by(|one, other| one.doing.place == other.doing.place))
        .map(|here| (capital(&place(here[0].doing.place)), here.iter().map(habit).collect()))
        .collect()
}

fn habit(habit: &LayerHabit) -> Said {
    let rate = &habit.rate;
    let line =
        format!("{}: {} a minute there.", capital(&habit_name(habit.doing)), amount(rate.value));
    let numbers = format!(
        "95 % limits {} to {}; seen {}.",
        amount(rate.interval.low()),
        amount(rate.interval.high()),
        times(rate.count)
    );
    Said { line, numbers }
}

#[cfg(test)]
mod tests {
    use academy::{EventKind, Position};
    use figures::tallies::Doing;
    use figures::{Place, Role};

    use super::*;

    #[test]
    fn whom_it_would_help_is_counted_in_words() {
        let line = |best: i64| {
            let place = Place { position: Position::Mount, role: Role::Bottom };
            let need = Need {
                doing: Doing { place, kind: EventKind::Escape, own: true },
                gain: 0.1,
                best_for: (0..best).map(AthleteId).collect(),
                members: 20,
            };
            let person = |id| (MemberId(id), Member::default());
            need_view(&need, &(0..best).map(person).collect(), 20).said.line
        };
        assert!(line(1).contains(": for one of them it would"), "{}", line(1));
        assert!(line(11).contains(": for 11 of them it would"), "{}", line(11));
    }
}
