//! The roster as a table for spreadsheets: out in one file, in with a look at what would change.

use std::collections::HashMap;

use academy::Role;
use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use store::roster_csv::{COLUMNS, Newcomer, Preview, export, preview, row};
use store::{StoreError, Subject};

use crate::error::PageError;
use crate::fields::Fields;
use crate::frame::{Frame, Tab, go, page};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

/// Bytes of a form with a list of people: some thousands of them with all their columns.
pub(crate) const LARGEST_LIST: usize = 2 * 1024 * 1024;

#[derive(Template)]
#[template(path = "pages/roster/page.html")]
struct ImportPage {
    frame: Frame,
    text: String,
    columns: String,
    script: String,
}

#[derive(Template)]
#[template(path = "pages/roster/preview.html")]
struct PreviewPage {
    frame: Frame,
    text: String,
    /// The columns that were understood, by which newcomers are shown, without the name.
    columns: Vec<&'static str>,
    /// Newcomers: line, name, cells of these columns.
    newcomers: Vec<(u64, String, Vec<String>)>,
    preview: Preview,
    revision: i64,
    changed_meanwhile: bool,
}

/// Everybody, as a file.
pub(crate) async fn save(State(app): State<App>, visitor: Visitor) -> Result<Response, PageError> {
    visitor.staff()?;
    let members = app.book.members().await?;
    let text = export(members.iter().map(|(_, member)| member));
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"students.csv\""),
    ];
    Ok((headers, text).into_response())
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    choose(&app, &visitor.staff()?, &headers, String::new()).await
}

async fn choose(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    text: String,
) -> Result<Response, PageError> {
    page(&ImportPage {
        frame: Frame::new(app, visitor, Some(Tab::Students), "Bring a list", headers).await?,
        text,
        columns: COLUMNS.join(", "),
        script: app.assets.address("roster.js"),
    })
}

/// Looks at a list, goes back to it, or takes it in, whichever button was pressed.
pub(crate) async fn import(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let text = fields.raw("list").to_owned();
    match fields.text("step") {
        "again" => choose(&app, &visitor, &headers, text).await,
        "take" => take(&app, &visitor, &headers, text, &fields).await,
        _ => look(&app, &visitor, &headers, text, false).await,
    }
}

async fn look(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    text: String,
    changed_meanwhile: bool,
) -> Result<Response, PageError> {
    let revision = app.book.revision(Subject::Roster).await?.0;
    let preview = preview(&text, &app.book.members().await?);
    page(&PreviewPage {
        frame: Frame::new(app, visitor, Some(Tab::Students), "Look at the list", headers).await?,
        text,
        columns: preview.columns.iter().copied().filter(|column| *column != "name").collect(),
        newcomers: preview.new.iter().map(|new| newcomer(&preview, new)).collect(),
        preview,
        revision,
        changed_meanwhile,
    })
}

/// A newcomer as the preview shows them.
fn newcomer(preview: &Preview, new: &Newcomer) -> (u64, String, Vec<String>) {
    let cells = COLUMNS.into_iter().zip(row(&new.member));
    let cells: HashMap<&str, String> = cells.collect();
    let shown = preview.columns.iter().filter(|column| **column != "name");
    let shown = shown.map(|column| cells.get(column).cloned().unwrap_or_default());
    (new.line, new.member.name.clone(), shown.collect())
}

/// Whether a list makes anybody an assistant or a coach, or a student again.
fn changes_roles(preview: &Preview) -> bool {
    preview.new.iter().any(|new| new.member.role != Role::Student)
        || preview.changed.iter().any(|changed| changed.before.role != changed.after.role)
}

async fn take(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    text: String,
    fields: &Fields,
) -> Result<Response, PageError> {
    let by = app.by(visitor, Some(fields.revision()?));
    let preview = preview(&text, &app.book.members().await?);
    if !visitor.is_coach() && changes_roles(&preview) {
        let told = "only a coach can change what somebody does here: take out the column role";
        return Err(PageError::Refused(told.to_owned()));
    }
    match app.book.import(&by, &preview, fields.has("leave_out")).await {
        Ok(done) => {
            let said = format!(
                "Took the list in: {} new, {} changed, {} left out. You can undo it below",
                done.new,
                done.changed,
                wording::count(done.left_out, "row", "rows")
            );
            Ok(go("/students", &said))
        }
        Err(StoreError::OutOfDate) => {
            let again = look(app, visitor, headers, text, true).await?;
            Ok((StatusCode::CONFLICT, again).into_response())
        }
        Err(error) => Err(error.into()),
    }
}
