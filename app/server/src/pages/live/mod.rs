//! Telling a round live, beside the mat: who rolls, then buttons and a clock, every press kept.

mod press;
mod view;

use std::collections::HashMap;

use academy::{Member, Press, Time};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Form, Json};
use serde_json::{Value, json};
use store::{KeptPress, MemberId, RoundFacts, RoundId};

use super::add_round::form::{Known, Problems, check_kind, check_length, check_names, find};
use super::add_round::known;
use crate::error::PageError;
use crate::frame::{Frame, Tab, go, page};
use crate::state::App;
use crate::visitor::Visitor;
use press::Sent;
use view::{BeginView, BoardView};

#[derive(Template)]
#[template(path = "pages/live/begin.html")]
struct BeginPage {
    frame: Frame,
    sheet: String,
    begin: BeginView,
}

#[derive(Template)]
#[template(path = "pages/live/page.html")]
struct LivePage {
    frame: Frame,
    sheet: String,
    script: String,
    board: BoardView,
}

/// Who rolls, and the rounds that go on.
pub(crate) async fn choose(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let begin = BeginView::empty(&known(&app).await?);
    render_begin(&app, &visitor, &headers, begin).await
}

async fn render_begin(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    mut begin: BeginView,
) -> Result<Response, PageError> {
    for id in app.book.live_rounds().await? {
        let round = app.book.round(&app.book.round_facts(id).await?).await?;
        begin.going.push((id.0, round.athletes().each_ref().map(|person| person.name.clone())));
    }
    let frame = Frame::new(app, visitor, Some(Tab::Rounds), "Tell a round live", headers).await?;
    page(&BeginPage { frame, sheet: app.assets.address("add-round.css"), begin })
}

/// Puts the round into the book, as long as planned, and goes to its buttons.
pub(crate) async fn begin(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Form(fields): Form<HashMap<String, String>>,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let known = known(&app).await?;
    let typed = |name: &str| fields.get(name).map_or("", |text| text.trim());
    let mut problems = Problems::default();
    let add_people = !typed("add_people").is_empty();
    let names = [typed("first"), typed("second")];
    let names = check_names(names, add_people, &known, &mut problems);
    let kind = check_kind(typed("kind"), &mut problems);
    let length = check_length(typed("length"), &mut problems);
    let (true, Some(length)) = (problems.by_field.is_empty(), length) else {
        let begin = BeginView::again(&fields, &known, problems);
        let shown = render_begin(&app, &visitor, &headers, begin).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, shown).into_response());
    };
    let athletes = athletes(&app, &visitor, &known, &names).await?;
    let facts = RoundFacts {
        date: known.today,
        kind,
        gi: typed("gi") != "no",
        athletes,
        length,
        class: None,
        talk: None,
        media: None,
        confirmed: None,
    };
    let id = app.book.add_round(&app.by(&visitor, None), &facts).await?;
    app.book.begin_live(id).await?;
    Ok(Redirect::to(&format!("/rounds/{}/live", id.0)).into_response())
}

/// The two people; those who are new come into the book.
async fn athletes(
    app: &App,
    visitor: &Visitor,
    known: &Known,
    names: &[String; 2],
) -> Result<[MemberId; 2], PageError> {
    let mut ids = [MemberId(0); 2];
    for (id, name) in ids.iter_mut().zip(names) {
        *id = match find(&known.members, name) {
            Some(id) => id,
            None => {
                let new = Member { name: name.clone(), ..Member::default() };
                app.book.add_member(&app.by(visitor, None), &new).await?
            }
        };
    }
    Ok(ids)
}

/// The buttons.
pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let id = RoundId(id);
    let facts = app.book.round_facts(id).await?;
    if !app.book.live_rounds().await?.contains(&id) {
        return Ok(go(&format!("/rounds/{}", id.0), "This round is not told live any more."));
    }
    let board = BoardView::new(id, &app.book.round(&facts).await?, &app.book.presses(id).await?);
    let frame = Frame::new(&app, &visitor, Some(Tab::Rounds), "Live", &headers).await?;
    let (sheet, script) = (app.assets.address("live.css"), app.assets.address("live.js"));
    page(&LivePage { frame, sheet, script, board })
}

/// Takes presses. What they say is entered before they are kept, so that after a kill in between
/// they are sent again and nothing is missing.
pub(crate) async fn press(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Json(sent): Json<Sent>,
) -> Result<Json<Value>, PageError> {
    let visitor = visitor.staff()?;
    let id = RoundId(id);
    let sent = sent.presses()?;
    let _turn = app.live.lock().await;
    let facts = app.book.round_facts(id).await?;
    let kept = app.book.presses(id).await?;
    let new = new_ones(&kept, sent)?;
    if new.is_empty() {
        return Ok(Json(json!({ "kept": kept.len() })));
    }
    if !app.book.live_rounds().await?.contains(&id) {
        return Err(PageError::refused("this round is finished already: change it on its page"));
    }
    if kept.len() + new.len() > press::MOST {
        return Err(PageError::refused("more was pressed than a round can hold: finish it"));
    }
    let all: Vec<Press> = kept.iter().chain(&new).map(|kept| kept.press.clone()).collect();
    enter(&app, &visitor, id, facts, &all).await?;
    app.book.keep_presses(id, &new).await?;
    Ok(Json(json!({ "kept": all.len() })))
}

/// Those of the presses sent that are not kept yet. Another press under the name and number of one
/// that is kept is nobody's to drop.
fn new_ones(kept: &[KeptPress], sent: Vec<KeptPress>) -> Result<Vec<KeptPress>, PageError> {
    let mut new: Vec<KeptPress> = Vec::with_capacity(sent.len());
    for press in sent {
        let number = |old: &&KeptPress| (&old.page, old.number) == (&press.page, press.number);
        match kept.iter().chain(&new).find(number) {
            None => new.push(press),
            Some(old) if old.press == press.press => {}
            Some(_) => {
                let told = "another page of this round sent something else under the same number: \
                            load the page again";
                return Err(PageError::Clash(told.to_owned()));
            }
        }
    }
    Ok(new)
}

/// Enters what was pressed so far.
async fn enter(
    app: &App,
    visitor: &Visitor,
    id: RoundId,
    facts: RoundFacts,
    presses: &[Press],
) -> Result<(), PageError> {
    let round = app.book.round(&facts).await?;
    let length: Time = review::live_length(presses, facts.length);
    let what = presses.last().map_or_else(String::new, |press| press::words(press, &round));
    let by_hand = review::told_live(presses, length);
    Ok(app.book.put_live(&app.by(visitor, None), id, &what, length, &by_hand).await?)
}
