//! The figures of one round, for its page.

use std::sync::Arc;
use std::time::Duration;

use academy::Ledger;
use figures::KnownRound;
use figures::meant::{KindNorms, meant};
use store::{RoundFacts, RoundId};

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

/// How long a round's page waits for what the others are like.
const A_MOMENT: Duration = Duration::from_secs(1);

/// What the other rounds are like, and where among them this one stands if it is one of them.
struct Beside {
    norms: Arc<KindNorms>,
    at: Option<usize>,
}

/// The others as they were when rounds were last loaded: the page does not wait for what was changed
/// in them a moment ago.
async fn beside(app: &App, id: RoundId, own: &KnownRound<'_>) -> Result<Beside, PageError> {
    let known = app.known_lately().await?;
    let at = known.place_of(id, own);
    // Changed since, it must not be held beside itself as it was.
    let but = if at.is_some() { None } else { Some((own.kind, id)) };
    Ok(Beside { norms: app.norms(&known, but).await?, at })
}

fn known_round<'a>(facts: &RoundFacts, ledger: &'a Ledger) -> KnownRound<'a> {
    KnownRound {
        date: facts.date,
        kind: facts.kind,
        gi: facts.gi,
        athletes: facts.athletes.map(athlete),
        length: facts.length.seconds(),
        ledger,
        confirmed: facts.confirmed.is_some(),
    }
}

/// Adds up a round, and holds it beside the others of its kind. A page whose others take long to add
/// up comes without them: a coach who answers questions waits for no figures.
pub(super) async fn adds_up(
    app: &App,
    shown: &ShownRound,
    sight: &Sight,
) -> Result<AddsUp, PageError> {
    let (facts, ledger) = (shown.facts.clone(), shown.ledger.clone());
    let own = known_round(&facts, &ledger);
    let beside = match tokio::time::timeout(A_MOMENT, beside(app, shown.id, &own)).await {
        Ok(Err(PageError::StillAdding)) | Err(_) => None,
        Ok(beside) => Some(beside?),
    };
    let round = sight.round.clone();
    let guess = shown.understood.clone().filter(|_| sight.may_edit);
    let by_hand = shown.told.by_hand.clone();
    let work = move || {
        let own = known_round(&facts, &ledger);
        let meant = beside.map(|beside| match beside.at {
            Some(at) => beside.norms.meant(at, &own),
            None => meant(&own, &beside.norms),
        });
        let figures = round_figures(&round, &own, meant.as_ref());
        let scored = if figures.is_some() { scored(&round, &ledger) } else { Vec::new() };
        let guess = guess.as_ref().map(|guess| &guess.understood.ledger);
        let readings = guess.and_then(|guess| readings(&round, guess, &by_hand));
        AddsUp { figures, scored, readings }
    };
    tokio::task::spawn_blocking(work).await.map_err(|error| PageError::Fault(error.to_string()))
}
