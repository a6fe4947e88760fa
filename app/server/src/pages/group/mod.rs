//! What a group adds up to: the people of a belt on a page of their own, and those who were in a
//! class on the page of that class. For coaches and assistants.

mod view;

use std::collections::HashMap;
use std::sync::Arc;

use academy::{Belt, Member};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use store::MemberId;

pub(crate) use self::view::GroupView;
use crate::error::PageError;
use crate::figures::Unread;
use crate::figures::{Known, athlete};
use crate::frame::{Frame, Tab, page};
use crate::pages::not_counted::NotCounted;
use crate::pages::which_rounds::{Which, WhichRounds};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

#[derive(Template)]
#[template(path = "pages/group/page.html")]
struct BeltPage {
    frame: Frame,
    look: String,
    pictures: String,
    which: WhichRounds,
    unread: Option<NotCounted>,
    /// Everybody who wears the belt and is still here.
    people: Vec<(i64, String)>,
    group: Option<GroupView>,
    others: Vec<(&'static str, String)>,
}

/// What some people add up to together, as the sentences call them: "the blue belts". Nothing where
/// nothing is known of any of them.
pub(crate) async fn group_view(
    app: &App,
    (known, which): (&Arc<Known>, &WhichRounds),
    people: &HashMap<MemberId, Member>,
    members: &[MemberId],
    called: &str,
) -> Result<Option<GroupView>, PageError> {
    let who = members.iter().map(|id| athlete(*id)).collect();
    let figures = app.group_figures(known, &which.selection, who).await?;
    let figures = figures.as_ref().as_ref().filter(|figures| figures.rolled.all > 0.0);
    Ok(figures.map(|figures| GroupView::new(figures, people, members.len(), called)))
}

/// The belts that people wear who are here, with how many they are.
pub(crate) fn belts_worn<'a>(
    members: impl Iterator<Item = &'a Member> + Clone,
) -> Vec<(&'static str, String)> {
    let worn = |belt: Belt| members.clone().filter(|one| !one.left && one.belt == belt).count();
    (Belt::ALL.into_iter())
        .map(|belt| (belt, worn(belt)))
        .filter(|(_, count)| *count > 0)
        .map(|(belt, count)| (belt.id(), wording::count(count, "person", "people")))
        .collect()
}

pub(crate) async fn show_belt(
    State(app): State<App>,
    visitor: Visitor,
    Path(belt): Path<String>,
    Query(which): Query<Which>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let belt = Belt::from_id(&belt).ok_or(PageError::NoPage)?;
    let which = which.rounds(format!("/students/belt/{}", belt.id()));
    let people: HashMap<_, _> = app.book.members().await?.into_iter().collect();
    let mut members: Vec<(MemberId, &Member)> = (people.iter())
        .filter(|(_, member)| member.belt == belt && !member.left)
        .map(|(id, member)| (*id, member))
        .collect();
    members.sort_by(|one, other| one.1.name.cmp(&other.1.name));
    let ids: Vec<MemberId> = members.iter().map(|(id, _)| *id).collect();
    let called = format!("the {} belts", belt.id());
    let known = app.known().await?;
    let group = group_view(&app, (&known, &which), &people, &ids, &called).await?;
    let title = format!("{} belts", reports::wording::capital(belt.id()));
    page(&BeltPage {
        frame: Frame::new(&app, &visitor, Some(Tab::Students), title, &headers).await?,
        look: app.assets.address("figures.css"),
        pictures: app.assets.address(crate::assets::PICTURES),
        which,
        unread: NotCounted::of(&app, &visitor, &app.unread(&known, |_| true), &Unread::default())
            .await?,
        people: members.iter().map(|(id, member)| (id.0, member.name.clone())).collect(),
        group,
        others: belts_worn(people.values()),
    })
}
