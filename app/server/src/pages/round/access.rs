//! What a visitor may see of a round: staff everything, a student the rounds they are in.

use academy::{Member, Person, Round};
use jiff::civil::Date;
use store::{MemberId, Remark, RoundFacts};

use crate::error::PageError;
use crate::visitor::Visitor;

/// What a visitor may see of a round.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sight {
    /// Whether they may change it.
    pub(crate) may_edit: bool,
    /// Whether they may see the recording and read the talk, which show and name both athletes.
    pub(crate) talk: bool,
    /// The round under the names that they may read.
    pub(crate) round: Round,
    /// The one of the two that they are, for a student.
    own: Option<MemberId>,
}

impl Sight {
    /// What a visitor may see of a round between these two members.
    ///
    /// # Errors
    /// [`PageError::NotYours`] for a student who is not in it.
    pub(crate) fn new(
        visitor: &Visitor,
        facts: &RoundFacts,
        round: &Round,
        members: &[Member; 2],
        today: Date,
    ) -> Result<Self, PageError> {
        if visitor.is_staff() {
            return Ok(Sight { may_edit: true, talk: true, round: round.clone(), own: None });
        }
        if !visitor.may_see_round(facts.athletes) {
            return Err(PageError::NotYours);
        }
        let mut people = round.athletes().clone();
        for (index, member) in members.iter().enumerate() {
            let name = visitor.shown_name(facts.athletes[index], member, today.year());
            if name != people[index].name {
                people[index] = Person { name, pronoun: None };
            }
        }
        let agrees = people == *round.athletes();
        let seen = Round::new(people, round.kind(), round.length());
        Ok(Sight {
            may_edit: false,
            talk: agrees,
            round: seen.map_err(|error| PageError::Fault(error.to_string()))?,
            own: visitor.member,
        })
    }

    /// Whether they may read a note: a student those for them or for both.
    pub(crate) fn may_read(&self, remark: &Remark) -> bool {
        self.own.is_none() || remark.member.is_none() || remark.member == self.own
    }
}

#[cfg(test)]
mod tests {
    use academy::{Athlete, Consent, Role, RoundKind, Time};

    use super::*;

    fn member(name: &str, club: bool) -> Member {
        let consent = Consent { club, public: false };
        Member { name: name.to_owned(), birth_year: Some(1990), consent, ..Member::default() }
    }

    fn sight(role: Role, member_id: i64, partner_agrees: bool) -> Result<Sight, PageError> {
        let member_id = Some(MemberId(member_id));
        let visitor = Visitor { role, member: member_id, ..Visitor::at_this_machine() };
        let members = [member("Wren", false), member("Ida", partner_agrees)];
        let people = members.clone().map(|member| member.person());
        let round = Round::new(people, RoundKind::Flow, Time::from_millis(60_000)).unwrap();
        let date = Date::constant(2026, 3, 12);
        let facts = RoundFacts {
            date,
            kind: RoundKind::Flow,
            gi: true,
            athletes: [MemberId(1), MemberId(2)],
            length: round.length(),
            class: None,
            talk: None,
            media: None,
            confirmed: None,
        };
        Sight::new(&visitor, &facts, &round, &members, date)
    }

    #[test]
    fn a_student_sees_their_own_rounds_and_nobody_who_does_not_agree() {
        assert!(matches!(sight(Role::Student, 3, true), Err(PageError::NotYours)));
        let open = sight(Role::Student, 1, true).unwrap();
        assert!(!open.may_edit && open.talk);
        assert_eq!(open.round.name(Athlete::Second), "Ida");
        let closed = sight(Role::Student, 1, false).unwrap();
        assert!(!closed.talk);
        assert_eq!(closed.round.name(Athlete::First), "Wren");
        assert_eq!(closed.round.name(Athlete::Second), "a training partner");
        let staff = sight(Role::Assistant, 9, false).unwrap();
        assert!(staff.may_edit && staff.talk);
        assert_eq!(staff.round.name(Athlete::Second), "Ida");
    }

    #[test]
    fn a_student_reads_no_note_for_the_other() {
        let seen = sight(Role::Student, 1, true).unwrap();
        let note = |member: Option<i64>| Remark {
            id: 1,
            round: store::RoundId(1),
            time: Time::ZERO,
            member: member.map(MemberId),
            words: "words".to_owned(),
        };
        assert!(seen.may_read(&note(Some(1))) && seen.may_read(&note(None)));
        assert!(!seen.may_read(&note(Some(2))));
    }
}
