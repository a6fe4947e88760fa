//! Today: what waits for the coach. Students come to their own page instead.

use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use store::{RoundFilter, RoundLine};

use crate::error::PageError;
use crate::frame::{Frame, Tab, page};
use crate::pages::classes::about;
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

/// Rounds and classes that are shown.
const SHOWN: u32 = 8;

#[derive(Template)]
#[template(path = "pages/today/page.html")]
struct TodayPage {
    frame: Frame,
    people: usize,
    rounds: usize,
    in_book: String,
    /// How many rounds are to confirm; the first of them are shown.
    to_confirm: usize,
    waiting: Vec<WaitingRound>,
    classes: Vec<(i64, String, String)>,
    /// A round to begin with: the first that has questions, else the first that waits.
    look_at: Option<i64>,
    /// Where the book lies; for coaches.
    folder: Option<String>,
    /// Whether that is a folder for trying things out.
    trial: bool,
}

struct WaitingRound {
    id: i64,
    names: [String; 2],
    day: String,
    state: String,
}

fn waiting(round: RoundLine) -> WaitingRound {
    let state = match (round.open_questions, round.talk) {
        (Some(0), true) => "no question is left: look it over and confirm it".to_owned(),
        (Some(open), true) => wording::count(open as usize, "open question", "open questions"),
        (None, true) => "not read yet".to_owned(),
        (_, false) => "without talk".to_owned(),
    };
    WaitingRound { id: round.id.0, names: round.names, day: wording::day(round.date), state }
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    if !visitor.is_staff() {
        let own = visitor.member.ok_or(PageError::NotYours)?;
        return Ok(Redirect::to(&format!("/students/{}", own.0)).into_response());
    }
    let frame = Frame::new(&app, &visitor, Some(Tab::Today), "Today", &headers).await?;
    let all = RoundFilter::default();
    let open = RoundFilter { confirmed: Some(false), ..RoundFilter::default() };
    let first = RoundFilter { most: Some(SHOWN), ..open.clone() };
    let classes = app.book.classes(Date::ZERO, app.today()).await?.into_iter();
    let members = app.book.members().await?;
    let people = members.iter().filter(|(_, member)| !member.left).count();
    let rounds = app.book.count_rounds(&all).await? as usize;
    let lines = app.book.rounds(&first).await?;
    let asks = lines.iter().find(|round| round.talk && round.open_questions.unwrap_or(0) > 0);
    let look_at = asks.or(lines.first()).map(|round| round.id.0);
    let folder = app.book.folder();
    page(&TodayPage {
        look_at,
        folder: frame.visitor.is_coach().then(|| folder.display().to_string()),
        trial: wording::is_trial(folder),
        frame,
        people,
        rounds,
        in_book: format!(
            "{} and {}",
            wording::count(people, "person", "people"),
            wording::count(rounds, "round", "rounds")
        ),
        to_confirm: app.book.count_rounds(&open).await? as usize,
        waiting: lines.into_iter().map(waiting).collect(),
        classes: (classes.take(SHOWN as usize))
            .map(|(id, class)| (id.0, about(&class), wording::day(class.date)))
            .collect(),
    })
}
