//! Everybody in the book.

use std::collections::HashMap;

use academy::Member;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use jiff::civil::Date;
use serde::Deserialize;
use store::{MemberId, Subject};

use crate::error::PageError;
use crate::fields::Fields;
use crate::frame::{Frame, Tab, page};
use crate::pages::group::belts_worn;
use crate::pages::history::{self, HistoryView};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

#[derive(Template)]
#[template(path = "pages/students/page.html")]
struct StudentsPage {
    frame: Frame,
    query: String,
    nobody: bool,
    here: Vec<PersonLine>,
    left: Vec<PersonLine>,
    /// Belts that are worn, with how many people wear them.
    belts: Vec<(&'static str, String)>,
    history: HistoryView,
}

struct PersonLine {
    id: i64,
    name: String,
    role: Option<&'static str>,
    belt: String,
    rounds: u32,
    last: Option<String>,
}

fn line((id, member): &(MemberId, Member), rounds: &HashMap<MemberId, (u32, Date)>) -> PersonLine {
    let met = rounds.get(id);
    PersonLine {
        id: id.0,
        name: member.name.clone(),
        role: (member.role != academy::Role::Student).then_some(member.role.id()),
        belt: wording::belt(member),
        rounds: met.map_or(0, |(count, _)| *count),
        last: met.map(|(_, last)| wording::day(*last)),
    }
}

/// Whether every word of the query begins a word of the name or is the belt.
fn fits(member: &Member, query: &str) -> bool {
    let name = member.name.to_lowercase();
    query
        .split_whitespace()
        .all(|part| name.contains(part) || member.belt.id() == part || member.role.id() == part)
}

#[derive(Deserialize)]
pub(crate) struct Search {
    #[serde(default)]
    q: String,
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Query(search): Query<Search>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let frame = Frame::new(&app, &visitor, Some(Tab::Students), "Students", &headers).await?;
    let history = HistoryView::new(&app, Subject::Roster, "/students").await?;
    let members = app.book.members().await?;
    let rounds = app.book.rounds_by_person().await?;
    let query = search.q.trim().to_lowercase();
    let found = members.iter().filter(|(_, member)| fits(member, &query));
    let (left, here): (Vec<_>, Vec<_>) = found.partition(|(_, member)| member.left);
    page(&StudentsPage {
        frame,
        query: search.q.trim().to_owned(),
        belts: belts_worn(members.iter().map(|(_, member)| member)),
        nobody: members.is_empty(),
        here: here.into_iter().map(|person| line(person, &rounds)).collect(),
        left: left.into_iter().map(|person| line(person, &rounds)).collect(),
        history,
    })
}

pub(crate) async fn undo(
    State(app): State<App>,
    visitor: Visitor,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    history::step(&app, &visitor, &fields, Subject::Roster, true, "/students").await
}

pub(crate) async fn redo(
    State(app): State<App>,
    visitor: Visitor,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    history::step(&app, &visitor, &fields, Subject::Roster, false, "/students").await
}
