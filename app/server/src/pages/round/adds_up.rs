//! The figures of one round, for its page.

use figures::KnownRound;
use figures::meant::{KindNorms, meant};

use super::access::Sight;
use super::view::figures::{RoundFigures, round_figures};
use super::view::readings::{ReadingsView, readings};
use super::view::scored::{ScoredView, scored};
use crate::error::PageError;
use crate::figures::athlete;
use crate::reading::ShownRound;
use crate::state::App;

/// What a round adds up to.
pub(crate) struct AddsUp {
    /// Nothing where nothing is known of the round.
    pub(crate) figures: Option<RoundFigures>,
    pub(crate) scored: Vec<ScoredView>,
    /// For coaches and assistants, where there is a guess and something was told.
    pub(crate) readings: Option<ReadingsView>,
}

/// Adds up a round, and holds it beside the others of its kind as they were when rounds were last
/// loaded: the page does not wait for what was changed in them a moment ago.
pub(super) async fn adds_up(
    app: &App,
    shown: &ShownRound,
    sight: &Sight,
) -> Result<AddsUp, PageError> {
    let known = app.known_lately().await?;
    let (id, facts, ledger) = (shown.id, shown.facts.clone(), shown.ledger.clone());
    let round = sight.round.clone();
    let guess = shown.understood.clone().filter(|_| sight.may_edit);
    let by_hand = shown.told.by_hand.clone();
    let work = move || {
        let own = KnownRound {
            date: facts.date,
            kind: facts.kind,
            gi: facts.gi,
            athletes: facts.athletes.map(athlete),
            length: facts.length.seconds(),
            ledger: &ledger,
            confirmed: facts.confirmed.is_some(),
        };
        let others = known.others_of_kind(facts.kind, id);
        let meant = meant(&own, &KindNorms::of(&others));
        let figures = round_figures(&round, &own, &meant);
        let scored = if figures.is_some() { scored(&round, &ledger) } else { Vec::new() };
        let guess = guess.as_ref().map(|guess| &guess.understood.ledger);
        let readings = guess.and_then(|guess| readings(&round, guess, &by_hand));
        AddsUp { figures, scored, readings }
    };
    tokio::task::spawn_blocking(work).await.map_err(|error| PageError::Fault(error.to_string()))
}
