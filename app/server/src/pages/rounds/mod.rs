//! The list of rounds, latest first.

mod view;

use askama::Template;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use serde::Deserialize;
use store::{MemberId, RoundFilter};

use crate::error::PageError;
use crate::frame::{Frame, Tab, page};
use crate::state::App;
use crate::visitor::Visitor;
use view::{ListView, PER_PAGE};

/// What the address asks for; what cannot be read counts as not asked.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(crate) struct Asked {
    page: String,
    person: String,
    state: String,
}

#[derive(Template)]
#[template(path = "pages/rounds/page.html")]
struct RoundsPage {
    frame: Frame,
    sheet: String,
    list: ListView,
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let filter = RoundFilter {
        member: asked.person.parse().ok().map(MemberId),
        confirmed: match asked.state.as_str() {
            "confirmed" => Some(true),
            "open" => Some(false),
            _ => None,
        },
        ..RoundFilter::default()
    };
    let count = app.book.count_rounds(&filter).await?;
    let number = view::page_number(&asked.page, count);
    let shown = RoundFilter { most: Some(PER_PAGE), skip: (number - 1) * PER_PAGE, ..filter };
    let rounds = app.book.rounds(&shown).await?;
    let (members, live) = (app.book.members().await?, app.book.live_rounds().await?);
    let list = ListView::new(&shown, number, count, rounds, &members, &live);
    let frame = Frame::new(&app, &visitor, Some(Tab::Rounds), "Rounds", &headers).await?;
    page(&RoundsPage { frame, sheet: app.assets.address("rounds.css"), list })
}
