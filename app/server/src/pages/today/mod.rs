//! Today: what waits for the coach.

use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::Response;
use store::{RoundFilter, RoundLine};

use crate::error::PageError;
use crate::frame::{Frame, Tab, page};
use crate::state::App;
use crate::visitor::Visitor;

#[derive(Template)]
#[template(path = "pages/today/page.html")]
struct TodayPage {
    frame: Frame,
    waiting: Vec<RoundLine>,
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let frame = Frame::new(&app, &visitor, Some(Tab::Today), "Today", &headers).await?;
    let filter = RoundFilter { confirmed: Some(false), most: Some(10), ..RoundFilter::default() };
    let waiting = app.book.rounds(&filter).await?;
    page(&TodayPage { frame, waiting })
}
