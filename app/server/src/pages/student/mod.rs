//! One person: what is kept of them, their classes and rounds, and the coach's words.

use std::collections::HashMap;

use academy::Member;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;
use store::{MemberId, RoundFilter, Subject};

use crate::error::PageError;
use crate::frame::{Frame, Tab, page};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

pub(crate) mod edit;
mod facts;
mod form;
mod rounds;

use self::facts::facts;
use self::rounds::{RemarkView, RoundView, remark_view, round_view};

#[derive(Template)]
#[template(path = "pages/student/page.html")]
struct StudentPage {
    frame: Frame,
    id: i64,
    revision: i64,
    member: Member,
    facts: Vec<(&'static str, String)>,
    consent: [String; 2],
    /// What is said of a minor's age.
    minor: Option<&'static str>,
    /// Whether the person was added just now.
    added: bool,
    classes: Vec<(i64, String, String)>,
    rounds: Vec<RoundView>,
    remarks: Vec<RemarkView>,
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let id = MemberId(id);
    if !visitor.may_see(id) {
        return Err(PageError::NotYours);
    }
    let year = app.today().year();
    let people: HashMap<_, _> = app.book.members().await?.into_iter().collect();
    let member = app.book.member(id).await?;
    let filter = RoundFilter { member: Some(id), ..RoundFilter::default() };
    let lines = app.book.rounds(&filter).await?;
    let views = lines.iter().map(|round| round_view(round, id, &visitor, &people, year));
    let rounds: Vec<RoundView> = views.collect();
    let by_id: HashMap<_, _> = lines.iter().map(|line| line.id).zip(&rounds).collect();
    let remarks = app.book.remarks_for(id).await?;
    let remarks = remarks.iter().map(|remark| remark_view(remark, &by_id)).collect();
    let classes = app.book.classes_of(id).await?.into_iter();
    let classes = classes.map(|(class, facts)| {
        let about = match facts.topic.is_empty() {
            true => facts.title,
            false => format!("{}: {}", facts.title, facts.topic),
        };
        (class.0, about, wording::day(facts.date))
    });
    let tab = visitor.is_staff().then_some(Tab::Students);
    let frame = Frame::new(&app, &visitor, tab, member.name.clone(), &headers).await?;
    page(&StudentPage {
        id: id.0,
        revision: app.book.revision(Subject::Roster).await?.0,
        facts: facts(&member),
        consent: wording::consent(&member, year),
        minor: wording::minor(&member, year),
        added: frame.said.as_ref().is_some_and(|said| said.text.starts_with("Added ")),
        frame,
        classes: classes.collect(),
        rounds,
        remarks,
        member,
    })
}
