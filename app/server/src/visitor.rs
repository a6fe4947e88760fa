//! Who asks: from a request to a role.

use academy::Role;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use store::MemberId;

use crate::error::PageError;
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
}

impl Visitor {
    /// Whoever sits at this machine.
    pub(crate) fn at_this_machine() -> Self {
        Visitor { name: "coach".to_owned(), role: Role::Coach, member: None }
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
}

impl FromRequestParts<App> for Visitor {
    type Rejection = PageError;

    async fn from_request_parts(_parts: &mut Parts, app: &App) -> Result<Self, PageError> {
        match app.access {
            Access::ThisMachine => Ok(Visitor::at_this_machine()),
            Access::LocalNetwork => Err(PageError::LogIn),
        }
    }
}
