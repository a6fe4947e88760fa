//! One person: what is kept of them, their classes and rounds, and the coach's words.

use std::collections::HashMap;

use academy::Member;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;
use store::{MemberId, Remark, RoundFilter, RoundId, RoundLine, Subject};

use crate::error::PageError;
use crate::frame::{Frame, Tab, page};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

pub(crate) mod edit;
mod form;

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

struct RoundView {
    id: i64,
    title: String,
    day: String,
    state: String,
}

struct RemarkView {
    link: String,
    when: String,
    words: String,
}

/// What is known of a person, as pairs of words.
fn facts(member: &Member) -> Vec<(&'static str, String)> {
    let mut facts = vec![("Belt", wording::belt(member))];
    if let Some(since) = member.belt_since {
        facts.push(("Wears it since", wording::day(since)));
    }
    if member.role != academy::Role::Student {
        facts.push(("Here as", member.role.id().to_owned()));
    }
    if let Some(joined) = member.joined {
        facts.push(("Here since", wording::day(joined)));
    }
    if let Some(year) = member.birth_year {
        facts.push(("Born in", year.to_string()));
    }
    if let Some(weight) = member.weight {
        facts.push(("Weight", format!("{weight} kg")));
    }
    if let Some(pronoun) = member.pronoun {
        facts.push(("Pronoun", pronoun.subject().to_owned()));
    }
    facts
}

/// A round as one of its athletes sees it: with whom it was.
fn round_view(
    round: &RoundLine,
    own: MemberId,
    visitor: &Visitor,
    people: &HashMap<MemberId, Member>,
    year: i16,
) -> RoundView {
    let other = round.athletes.into_iter().find(|athlete| *athlete != own).unwrap_or(own);
    let name = people.get(&other).map(|member| visitor.shown_name(other, member, year));
    let state = match (round.confirmed, round.open_questions) {
        _ if !visitor.is_staff() => String::new(),
        (Some(_), _) => "confirmed".to_owned(),
        (None, _) if !round.talk => "without talk, to confirm".to_owned(),
        (None, Some(0)) => "to confirm".to_owned(),
        (None, Some(open)) => wording::count(open as usize, "open question", "open questions"),
        (None, None) => "not read yet".to_owned(),
    };
    let kind = reports::wording::kind(round.kind);
    let clothes = if round.gi { "gi" } else { "no-gi" };
    RoundView {
        id: round.id.0,
        title: format!("With {}", name.unwrap_or_default()),
        day: format!("{}, {kind}, {clothes}", wording::day(round.date)),
        state,
    }
}

fn remark_view(remark: &Remark, rounds: &HashMap<RoundId, &RoundView>) -> RemarkView {
    let of = rounds.get(&remark.round);
    let of = of.map(|round| format!("{}, {}", round.title.replacen('W', "w", 1), round.day));
    RemarkView {
        link: format!("/rounds/{}#{}", remark.round.0, wording::fragment(remark.time)),
        when: format!("At {}, {}", remark.time, of.unwrap_or_default()),
        words: remark.words.clone(),
    }
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
