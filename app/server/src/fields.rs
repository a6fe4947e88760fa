//! What was typed into a form, and what is wrong with it.

use axum::Form;
use axum::extract::rejection::FormRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use store::StoreError;

use crate::error::PageError;

/// The fields of a form as they were typed. As an extractor it takes any form.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fields(Vec<(String, String)>);

impl Fields {
    /// Fields with these values, for a form to start with.
    pub(crate) fn of<const N: usize>(pairs: [(&str, String); N]) -> Self {
        Fields(pairs.into_iter().map(|(name, value)| (name.to_owned(), value)).collect())
    }

    /// Ticks a box.
    pub(crate) fn tick(&mut self, name: &str, value: &str) {
        self.0.push((name.to_owned(), value.to_owned()));
    }

    /// What was typed, without spaces around it; nothing where the form has no such field.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.raw(name).trim()
    }

    /// What was typed, as it is.
    pub(crate) fn raw(&self, name: &str) -> &str {
        let field = self.0.iter().find(|(other, _)| other == name);
        field.map_or("", |(_, value)| value)
    }

    /// Whether a box was ticked.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.0.iter().any(|(other, _)| other == name)
    }

    /// Whether the box with this value was ticked, among boxes of one name.
    pub(crate) fn chose(&self, name: &str, value: &str) -> bool {
        self.0.iter().any(|(other, chosen)| other == name && chosen == value)
    }

    /// The numbers of the boxes ticked among those of one name.
    pub(crate) fn numbers(&self, name: &str) -> Vec<i64> {
        let ticked = self.0.iter().filter(|(other, _)| other == name);
        ticked.filter_map(|(_, value)| value.parse().ok()).collect()
    }

    /// The revision that the form was made from.
    pub(crate) fn revision(&self) -> Result<i64, PageError> {
        self.text("revision").parse().map_err(|_| {
            PageError::Refused("the form came without its revision: load the page again".into())
        })
    }
}

impl<S: Send + Sync> FromRequest<S> for Fields {
    type Rejection = FormRejection;

    async fn from_request(request: Request, state: &S) -> Result<Self, FormRejection> {
        let Form(pairs) = Form::<Vec<(String, String)>>::from_request(request, state).await?;
        Ok(Fields(pairs))
    }
}

/// A form to show: what is typed in, and what is wrong with it. See `form.html`.
#[derive(Clone, Debug, Default)]
pub(crate) struct FormView {
    pub(crate) fields: Fields,
    /// What is wrong, by field, in the order in which it was found.
    problems: Vec<(&'static str, String)>,
}

impl FormView {
    pub(crate) fn new(fields: Fields) -> Self {
        FormView { fields, problems: Vec::new() }
    }

    /// Says what is wrong with a field; the first thing said stays.
    pub(crate) fn wrong(&mut self, field: &'static str, told: impl std::fmt::Display) {
        if self.problem(field).is_none() {
            self.problems.push((field, sentence(&told.to_string())));
        }
    }

    /// Takes in why the book did not keep what was typed: a refusal belongs to `field`. Gives the
    /// status of the form that is shown again.
    ///
    /// # Errors
    /// Whatever no other typing would mend.
    pub(crate) fn not_kept(
        &mut self,
        field: &'static str,
        error: StoreError,
    ) -> Result<StatusCode, PageError> {
        match error {
            StoreError::Refused(told) => {
                self.wrong(field, told);
                Ok(StatusCode::UNPROCESSABLE_ENTITY)
            }
            StoreError::OutOfDate => Ok(StatusCode::CONFLICT),
            error => Err(error.into()),
        }
    }

    pub(crate) fn is_right(&self) -> bool {
        self.problems.is_empty()
    }

    pub(crate) fn problem(&self, field: &str) -> Option<&String> {
        self.problems.iter().find(|(other, _)| *other == field).map(|(_, told)| told)
    }

    /// The fields that are not right, with their labels.
    pub(crate) fn wrong_fields(&self) -> Vec<(&'static str, &'static str)> {
        self.problems.iter().map(|(field, _)| (*field, label(field))).collect()
    }

    /// Attributes that tie a field to its hint and to what is wrong with it.
    pub(crate) fn told(&self, field: &str, hint: &str) -> String {
        let wrong = self.problem(field).is_some();
        let ids = [(!hint.is_empty(), "hint"), (wrong, "problem")];
        let ids: Vec<String> = (ids.iter().filter(|(shown, _)| *shown))
            .map(|(_, kind)| format!("{field}-{kind}"))
            .collect();
        let mut told = String::new();
        if !ids.is_empty() {
            told = format!(" aria-describedby=\"{}\"", ids.join(" "));
        }
        if wrong {
            told.push_str(" aria-invalid=\"true\"");
        }
        told
    }
}

/// The label of a field, as the forms have it.
fn label(field: &'static str) -> &'static str {
    match field {
        "name" => "Name",
        "belt" => "Belt",
        "stripes" => "Stripes",
        "belt_since" => "Wears it since",
        "joined" => "Here since",
        "birth_year" => "Year of birth",
        "weight" => "Weight in kilograms",
        "guardian" => "Guardian's name",
        "title" => "Title",
        "words" => "Your words to them",
        "date" => "Day",
        "sure" => "Empty the book",
        "member" => "Who it is",
        "role" => "Invite somebody as",
        other => other,
    }
}

/// A message as a sentence: with a capital and a full stop.
pub(crate) fn sentence(told: &str) -> String {
    let mut text = reports::wording::capital(told);
    if !text.ends_with(['.', '?']) {
        text.push('.');
    }
    text
}
