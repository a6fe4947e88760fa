//! Who asks: from a request to a role, and what each role may see. The rule is here alone:
//! coaches see and change everything; assistants everything but the settings; students see their
//! own page and the rounds they are in, and there the names of others only with their consent.

use std::collections::HashMap;

use academy::{Audience, Member, Role};
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use reports::{HiddenNames, SOMEBODY};
use store::{AccountId, MemberId};

use crate::error::PageError;
use crate::login;
use crate::state::{Access, App};

/// Who asks for a page. As an extractor it refuses whoever must log in first.
#[derive(Clone, Debug)]
pub(crate) struct Visitor {
    /// The name under which changes are kept.
    pub(crate) name: String,
    /// What they may do.
    pub(crate) role: Role,
    /// Who they are in the book, for students and those staff who are in it.
    pub(crate) member: Option<MemberId>,
    /// With which login they came; none at this machine.
    pub(crate) account: Option<AccountId>,
}

impl Visitor {
    /// Whoever sits at this machine.
    pub(crate) fn at_this_machine() -> Self {
        Visitor { name: "coach".to_owned(), role: Role::Coach, member: None, account: None }
    }

    /// Somebody who reads what is made for a student, such as a file that leaves the book.
    pub(crate) fn reading_for(student: MemberId) -> Self {
        let name = "student".to_owned();
        Visitor { name, role: Role::Student, member: Some(student), account: None }
    }

    pub(crate) fn is_coach(&self) -> bool {
        self.role == Role::Coach
    }

    /// Coaches and assistants.
    pub(crate) fn is_staff(&self) -> bool {
        self.role != Role::Student
    }

    /// For pages of the coach alone.
    pub(crate) fn coach(self) -> Result<Self, PageError> {
        if self.is_coach() { Ok(self) } else { Err(PageError::NotYours) }
    }

    /// For pages of coaches and assistants.
    pub(crate) fn staff(self) -> Result<Self, PageError> {
        if self.is_staff() { Ok(self) } else { Err(PageError::NotYours) }
    }

    /// Whether this is the person's own page, or staff asks.
    pub(crate) fn may_see(&self, member: MemberId) -> bool {
        self.is_staff() || self.member == Some(member)
    }

    /// Whether the visitor was in the round, or staff asks. Changing it is for [`Visitor::staff`].
    pub(crate) fn may_see_round(&self, athletes: [MemberId; 2]) -> bool {
        athletes.into_iter().any(|athlete| self.may_see(athlete))
    }

    /// The name of a person as this visitor may read it: students read another one's name only if
    /// that person (and a minor's guardian) agreed to be shown in the club.
    pub(crate) fn shown_name(&self, id: MemberId, member: &Member, year: i16) -> String {
        if self.may_see(id) || member.may_be_shown_to(Audience::Club, year).is_ok() {
            member.name.clone()
        } else {
            SOMEBODY.to_owned()
        }
    }

    /// The names that this visitor may not read, to be kept out of what a coach wrote.
    pub(crate) fn hidden_names(
        &self,
        people: &HashMap<MemberId, Member>,
        year: i16,
    ) -> HiddenNames {
        HiddenNames::new(people.iter().map(|(id, member)| {
            (member.name.as_str(), self.shown_name(*id, member, year) == member.name)
        }))
    }
}

impl FromRequestParts<App> for Visitor {
    type Rejection = PageError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, PageError> {
        match app.access {
            Access::ThisMachine => Ok(Visitor::at_this_machine()),
            Access::LocalNetwork => {
                let visitor = login::still_logged_in(app, &parts.headers).await?;
                visitor.ok_or(PageError::LogIn)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_student_reads_names_of_those_who_agreed() {
        let [own, other] = [MemberId(1), MemberId(2)];
        let student =
            Visitor { role: Role::Student, member: Some(own), ..Visitor::at_this_machine() };
        let mut partner = Member { name: "Idris".to_owned(), ..Member::default() };
        assert_eq!(student.shown_name(other, &partner, 2026), SOMEBODY);
        assert_eq!(student.shown_name(own, &partner, 2026), "Idris");
        assert_eq!(Visitor::at_this_machine().shown_name(other, &partner, 2026), "Idris");
        partner.consent.club = true;
        assert_eq!(student.shown_name(other, &partner, 2026), "Idris");
        // A minor needs the guardian too.
        partner.birth_year = Some(2012);
        assert_eq!(student.shown_name(other, &partner, 2026), SOMEBODY);
        assert!(student.may_see_round([other, own]) && !student.may_see_round([other, other]));
    }
}
