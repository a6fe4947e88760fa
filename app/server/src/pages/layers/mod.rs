//! Layers: one place, belt by belt, from the academy's own rounds. For coaches and assistants.

use academy::Position;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use figures::habits::ENOUGH_MEMBERS;
use figures::{Place, Role};
use reports::sentences::{self, Said};
use reports::wording;
use serde::Deserialize;

use crate::error::PageError;
use crate::figures::Unread;
use crate::frame::{Frame, Tab, page};
use crate::pages::not_counted::NotCounted;
use crate::pages::which_rounds::{Which, WhichRounds};
use crate::state::App;
use crate::visitor::Visitor;

#[derive(Template)]
#[template(path = "pages/layers/page.html")]
struct LayersPage {
    frame: Frame,
    look: String,
    which: WhichRounds,
    unread: Option<NotCounted>,
    places: Vec<(String, String, bool)>,
    /// "under side control"
    here: String,
    layers: Vec<(&'static str, Said)>,
    enough: usize,
}

#[derive(Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    place: String,
    #[serde(flatten)]
    which: Which,
}

/// What an address calls a place: "side_control.bottom".
fn place_id(place: Place) -> String {
    let role = match place.role {
        Role::Neither => "",
        Role::Top => ".top",
        Role::Bottom => ".bottom",
    };
    format!("{}{role}", place.position.id())
}

/// Where to begin: everybody has been there.
const FIRST: Place = Place { position: Position::SideControl, role: Role::Bottom };

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let visitor = visitor.staff()?;
    let which = asked.which.rounds("/layers");
    let place = Place::all().find(|place| place_id(*place) == asked.place).unwrap_or(FIRST);
    let known = app.known().await?;
    let academy = app.academy_figures(&known, &which.selection).await?;
    let layers = academy.layers(place);
    let choice = |one: Place| (place_id(one), wording::capital(&wording::place(one)), one == place);
    page(&LayersPage {
        frame: Frame::new(&app, &visitor, Some(Tab::Students), "Belt by belt", &headers).await?,
        look: app.assets.address("figures.css"),
        which,
        unread: NotCounted::of(&app, &visitor, &app.unread(&known, |_| true), &Unread::default())
            .await?,
        places: Place::all().map(choice).collect(),
        here: wording::place(place),
        layers: (layers.iter())
            .map(|layer| (layer.belt.id(), sentences::layer(layer, place)))
            .collect(),
        enough: ENOUGH_MEMBERS,
    })
}
