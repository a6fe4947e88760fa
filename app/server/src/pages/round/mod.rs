//! A round and its review: the recording, the tide, the talk, one question at a time, and what
//! happened, with everything that can be changed in it.
//!
//! [`show`] gives the page; each change is a form of its own in [`answers`], [`entries`] and
//! [`details`], taken in by [`editing`]. All of it works without the page's script.

mod access;
mod adds_up;
pub(crate) mod answers;
pub(crate) mod details;
mod editing;
pub(crate) mod entries;
mod view;

use std::collections::HashMap;
use std::time::Duration;

use academy::Member;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use store::{MemberId, Remark, RoundFacts, RoundFilter, RoundId, StoreError, Subject};

use self::access::Sight;
use self::adds_up::AddsUp;
use self::view::question::Asking;
use self::view::{Around, RoundView};
use crate::assets::PICTURES;
use crate::error::PageError;
use crate::frame::{Frame, Tab, page};
use crate::media;
use crate::reading::ShownRound;
use crate::state::App;
use crate::visitor::Visitor;

/// How long a page waits for its next question before it is given without one.
const PATIENCE: Duration = Duration::from_millis(40);

/// Changes that the history shows.
const MOST_HISTORY: u32 = 40;

#[derive(Template)]
#[template(path = "pages/round/page.html")]
struct RoundPage {
    frame: Frame,
    round: RoundView,
    adds_up: AddsUp,
    terms: Vec<String>,
    pictures: String,
    sums_look: String,
    look: String,
    script: String,
}

#[derive(Template)]
#[template(path = "pages/round/deleted.html")]
struct DeletedPage {
    frame: Frame,
    id: i64,
    revision: i64,
}

/// What an address of the page can ask for.
#[derive(Deserialize)]
pub(crate) struct Asked {
    /// Words to teach.
    #[serde(default)]
    heard: String,
    /// To wait for the next question however long it takes.
    #[serde(default)]
    weigh: String,
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let id = RoundId(id);
    // Nothing is read for somebody who may not see it.
    if !visitor.is_staff() && !visitor.may_see_round(app.book.round_facts(id).await?.athletes) {
        return Err(PageError::NotYours);
    }
    let shown = match app.round_at_once(id).await {
        Err(PageError::Store(StoreError::Missing("round"))) if visitor.is_staff() => {
            return deleted(&app, &visitor, id, &headers).await;
        }
        shown => shown?,
    };
    let people = app.book.members().await?;
    let members = [0, 1].map(|index| {
        let id = shown.facts.athletes[index];
        people.iter().find(|(other, _)| *other == id).map(|(_, member)| member.clone())
    });
    let [Some(first), Some(second)] = members else {
        return Err(StoreError::Missing("person").into());
    };
    let members = [first, second];
    let sight = Sight::new(&visitor, &shown.facts, &shown.round, &members, app.today())?;
    if sight.may_edit {
        weigh(&app, &shown, !asked.weigh.is_empty()).await?;
    }
    let around = Around {
        media: match &shown.facts.media {
            Some(hash) if media::may_see(&app, &visitor, hash).await? => {
                Some(app.book.media(hash).await?)
            }
            _ => None,
        },
        remarks: remarks(&app, &visitor, id, &people).await?,
        history: app.book.history(Subject::Round(id), MOST_HISTORY).await?,
        classes: classes(&app, &shown.facts).await?,
        taught: app.book.spoken_forms().await?,
        heard: asked.heard,
        next: match shown.facts.confirmed {
            Some(_) if visitor.is_staff() => next_to_confirm(&app, id).await?,
            _ => None,
        },
        people,
    };
    let mut terms = app.terms();
    terms.extend(members.iter().map(|member| member.name.clone()));
    let adds_up = adds_up::adds_up(&app, &shown, &sight).await?;
    let round = RoundView::new(&shown, &sight, around);
    let title = format!("{} and {}", round.names[0], round.names[1]);
    let frame = Frame::new(&app, &visitor, Some(Tab::Rounds), title, &headers).await?;
    page(&RoundPage {
        frame,
        round,
        adds_up,
        terms,
        pictures: app.assets.address(PICTURES),
        sums_look: app.assets.address("figures.css"),
        look: app.assets.address("round.css"),
        script: app.assets.address("round.js"),
    })
}

/// The notes of a round, for a student without names that they may not read.
async fn remarks(
    app: &App,
    visitor: &Visitor,
    id: RoundId,
    people: &[(MemberId, Member)],
) -> Result<Vec<Remark>, PageError> {
    let mut remarks = app.book.remarks(id).await?;
    if !visitor.is_staff() {
        let people: HashMap<_, _> = people.iter().cloned().collect();
        let hidden = visitor.hidden_names(&people, app.today().year());
        for remark in &mut remarks {
            remark.words = hidden.taken_out_of(&remark.words);
        }
    }
    Ok(remarks)
}

/// Another round that waits to be confirmed.
async fn next_to_confirm(app: &App, id: RoundId) -> Result<Option<RoundId>, PageError> {
    let open = RoundFilter { confirmed: Some(false), most: Some(2), ..RoundFilter::default() };
    let waiting = app.book.rounds(&open).await?;
    Ok(waiting.into_iter().map(|line| line.id).find(|other| *other != id))
}

/// Looks for what is worth asking, and keeps the ledger once that is known. Goes on in the
/// background where it takes longer than the page waits.
async fn weigh(app: &App, shown: &ShownRound, patient: bool) -> Result<(), PageError> {
    let weighed = app.open_questions(shown);
    if patient {
        weighed.await?;
    } else if let Ok(weighed) = tokio::time::timeout(PATIENCE, weighed).await {
        weighed?;
    } else {
        return Ok(());
    }
    app.keep(shown).await
}

/// The classes of the day, and the one that the round is of.
async fn classes(
    app: &App,
    facts: &RoundFacts,
) -> Result<Vec<(store::ClassId, String)>, PageError> {
    let mut classes = app.book.classes(facts.date, facts.date).await?;
    if let Some(id) = facts.class.filter(|id| classes.iter().all(|(other, _)| other != id)) {
        classes.push((id, app.book.class(id).await?.0));
    }
    Ok(classes.into_iter().map(|(id, class)| (id, class.title)).collect())
}

/// The place of a round that was deleted, from where that can be undone.
async fn deleted(
    app: &App,
    visitor: &Visitor,
    id: RoundId,
    headers: &HeaderMap,
) -> Result<Response, PageError> {
    if app.book.history(Subject::Round(id), 1).await?.is_empty() {
        return Err(PageError::NoPage);
    }
    let revision = app.book.revision(Subject::Round(id)).await?.0;
    let frame = Frame::new(app, visitor, Some(Tab::Rounds), "A deleted round", headers).await?;
    let page = page(&DeletedPage { frame, id: id.0, revision })?;
    Ok((StatusCode::GONE, page).into_response())
}
