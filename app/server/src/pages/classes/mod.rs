//! Classes: what was taught when, and who was there.

mod taught;

use std::collections::{HashMap, HashSet};

use academy::{Class, Member};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use jiff::ToSpan as _;
use jiff::civil::Date;
use store::{ClassId, MemberId, Subject};

use self::taught::TaughtView;
use crate::assets::PICTURES;
use crate::error::PageError;
use crate::fields::{Fields, FormView};
use crate::figures::Unread;
use crate::frame::{Frame, go, page};
use crate::pages::group::{GroupView, group_view};
use crate::pages::history::{self, HistoryView};
use crate::pages::not_counted::NotCounted;
use crate::pages::which_rounds::{Which, WhichRounds};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

#[derive(Template)]
#[template(path = "pages/classes/page.html")]
struct ClassesPage {
    frame: Frame,
    classes: Vec<(i64, String, String)>,
    history: HistoryView,
}

#[derive(Template)]
#[template(path = "pages/classes/class.html")]
struct ClassPage {
    frame: Frame,
    id: i64,
    revision: i64,
    class: Class,
    day: String,
    attended: Vec<(i64, String, String)>,
    look: String,
    pictures: String,
    which: WhichRounds,
    unread: Option<NotCounted>,
    taught: Vec<TaughtView>,
    group: Option<GroupView>,
}

#[derive(Template)]
#[template(path = "pages/classes/edit.html")]
struct EditPage {
    frame: Frame,
    form: FormView,
    action: String,
    back: String,
    revision: i64,
    changed_meanwhile: bool,
    people: Vec<(String, String, bool)>,
}

/// A class in a list: its title with what was taught.
pub(crate) fn about(class: &Class) -> String {
    match class.topic.trim() {
        "" => class.title.clone(),
        topic => format!("{}: {topic}", class.title),
    }
}

pub(crate) async fn list(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let classes = app.book.classes(Date::ZERO, Date::MAX).await?.into_iter();
    page(&ClassesPage {
        frame: Frame::new(&app, &visitor, None, "Classes", &headers).await?,
        classes: classes
            .map(|(id, class)| (id.0, about(&class), wording::day(class.date)))
            .collect(),
        history: HistoryView::new(&app, Subject::Classes, "/classes").await?,
    })
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Query(which): Query<Which>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let (class, attended) = app.book.class(ClassId(id)).await?;
    let attended: HashSet<MemberId> = attended.into_iter().collect();
    let members = app.book.members().await?;
    let there = members.iter().filter(|(id, _)| attended.contains(id));
    let there = there.map(|(id, member)| (id.0, member.name.clone(), wording::belt(member)));
    let there: Vec<_> = there.collect();
    let which = which.rounds(format!("/classes/{id}"));
    let known = app.known().await?;
    let taught = app.taught(&known, &class, &attended).await?;
    let people: HashMap<_, _> = members.into_iter().collect();
    let ids: Vec<MemberId> = attended.into_iter().collect();
    let group = group_view(&app, (&known, &which), &people, &ids, "those who were there").await?;
    page(&ClassPage {
        frame: Frame::new(&app, &visitor, None, about(&class), &headers).await?,
        id,
        revision: app.book.revision(Subject::Classes).await?.0,
        day: wording::day(class.date),
        class,
        attended: there,
        look: app.assets.address("figures.css"),
        pictures: app.assets.address(PICTURES),
        which,
        unread: NotCounted::of(&app, &visitor, &app.unread(&known, |_| true), &Unread::default())
            .await?,
        taught,
        group,
    })
}

fn fields_of(class: &Class, attended: &[MemberId]) -> Fields {
    let mut fields = Fields::of([
        ("date", class.date.to_string()),
        ("title", class.title.clone()),
        ("topic", class.topic.clone()),
        ("notes", class.notes.clone()),
    ]);
    for member in attended {
        fields.tick("attended", &member.0.to_string());
    }
    fields
}

async fn edit_page(
    app: &App,
    visitor: &Visitor,
    headers: &HeaderMap,
    id: Option<i64>,
    form: FormView,
    changed_meanwhile: bool,
) -> Result<Response, PageError> {
    let (title, action) = match id {
        None => ("Add a class", "/classes/add".to_owned()),
        Some(id) => ("Change the class", format!("/classes/{id}")),
    };
    let members = app.book.members().await?.into_iter();
    let box_of = |(id, member): (MemberId, Member)| {
        let ticked = form.fields.chose("attended", &id.0.to_string());
        // Those who left show only where they were there.
        (ticked || !member.left).then(|| (id.0.to_string(), member.name, ticked))
    };
    let people = members.filter_map(box_of).collect();
    page(&EditPage {
        frame: Frame::new(app, visitor, None, title, headers).await?,
        back: if id.is_some() { action.clone() } else { "/classes".to_owned() },
        action,
        revision: app.book.revision(Subject::Classes).await?.0,
        changed_meanwhile,
        people,
        form,
    })
}

pub(crate) async fn show_add(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let form = FormView::new(Fields::of([("date", app.today().to_string())]));
    edit_page(&app, &visitor, &headers, None, form, false).await
}

pub(crate) async fn show_edit(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let (class, attended) = app.book.class(ClassId(id)).await?;
    let form = FormView::new(fields_of(&class, &attended));
    edit_page(&app, &visitor, &headers, Some(id), form, false).await
}

pub(crate) async fn add(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    keep(&app, visitor.staff()?, &headers, None, fields).await
}

pub(crate) async fn change(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    headers: HeaderMap,
    fields: Fields,
) -> Result<Response, PageError> {
    app.book.class(ClassId(id)).await?;
    keep(&app, visitor.staff()?, &headers, Some(id), fields).await
}

fn read(form: &mut FormView, today: Date) -> (Class, Vec<MemberId>) {
    let fields = form.fields.clone();
    if fields.text("title").is_empty() {
        form.wrong("title", "a class needs a title, such as Fundamentals");
    }
    let date = fields.text("date").parse().unwrap_or_else(|_| {
        form.wrong("date", "write the date as year-month-day, such as 2026-05-01");
        Date::ZERO
    });
    // Classes are planned ahead, but not for years: that is a slip of the keys.
    if today.checked_add(1.year()).is_ok_and(|latest| date > latest) {
        form.wrong("date", "that day is more than a year ahead: look at the year");
    }
    let class = Class {
        date,
        title: fields.text("title").to_owned(),
        topic: fields.text("topic").to_owned(),
        notes: fields.text("notes").replace("\r\n", "\n"),
    };
    (class, fields.numbers("attended").into_iter().map(MemberId).collect())
}

async fn keep(
    app: &App,
    visitor: Visitor,
    headers: &HeaderMap,
    id: Option<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let by = app.by(&visitor, Some(fields.revision()?));
    let mut form = FormView::new(fields);
    let (class, attended) = read(&mut form, app.today());
    let mut status = StatusCode::UNPROCESSABLE_ENTITY;
    if form.is_right() {
        match app.book.put_class(&by, id.map(ClassId), &class, &attended).await {
            Ok(kept) => {
                let verb = if id.is_some() { "Changed" } else { "Added" };
                let said = format!("{verb} {}", about(&class));
                return Ok(go(&format!("/classes/{}", kept.0), &said));
            }
            Err(error) => status = form.not_kept("title", error)?,
        }
    }
    let meanwhile = status == StatusCode::CONFLICT;
    let again = edit_page(app, &visitor, headers, id, form, meanwhile).await?;
    Ok((status, again).into_response())
}

/// Takes a class out of the book; undone on the page of all classes.
pub(crate) async fn delete(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let by = app.by(&visitor, Some(fields.revision()?));
    let (class, _) = app.book.class(ClassId(id)).await?;
    app.book.delete_class(&by, ClassId(id)).await?;
    Ok(go("/classes", &format!("Deleted {}. You can undo it below", about(&class))))
}

pub(crate) async fn undo(
    State(app): State<App>,
    visitor: Visitor,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    history::step(&app, &visitor, &fields, Subject::Classes, true, "/classes").await
}

pub(crate) async fn redo(
    State(app): State<App>,
    visitor: Visitor,
    fields: Fields,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    history::step(&app, &visitor, &fields, Subject::Classes, false, "/classes").await
}
