//! A change that somebody sends from the page of a round: who, of which round, with which words.

use std::collections::BTreeMap;

use academy::{Athlete, ByHand, Position, Time};
use axum::Form;
use axum::extract::{FromRequest, FromRequestParts, Path, Request};
use axum::response::Response;
use review::EditError;
use store::{By, RoundId};

use crate::error::PageError;
use crate::frame;
use crate::reading::ShownRound;
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording::fragment;

/// A change of a round by somebody who may make it.
pub(crate) struct Editing {
    pub(crate) app: App,
    pub(crate) visitor: Visitor,
    pub(crate) id: RoundId,
    pub(crate) sent: Sent,
}

impl FromRequest<App> for Editing {
    type Rejection = PageError;

    async fn from_request(request: Request, app: &App) -> Result<Self, PageError> {
        let (mut parts, body) = request.into_parts();
        let visitor = Visitor::from_request_parts(&mut parts, app).await?.staff()?;
        let id = Path::<i64>::from_request_parts(&mut parts, app).await;
        let Path(id) = id.map_err(|_| PageError::NoPage)?;
        let Form(fields) = Form::from_request(Request::from_parts(parts, body), app)
            .await
            .map_err(PageError::refused)?;
        Ok(Editing { app: app.clone(), visitor, id: RoundId(id), sent: Sent(fields) })
    }
}

impl Editing {
    /// Who changes what, having seen the page with its revision.
    pub(crate) fn by(&self) -> Result<By, PageError> {
        let seen = self.sent.text("revision").parse();
        let seen = seen.map_err(|_| refused("the page sent no revision: open it again"))?;
        Ok(self.app.by(&self.visitor, Some(seen)))
    }

    /// Back to the page of the round, at the moment that was looked at, with what was done.
    pub(crate) fn back(&self, said: &str) -> Response {
        let page = format!("/rounds/{}", self.id.0);
        match self.sent.time("back") {
            Ok(time) => frame::go(&format!("{page}#{}", fragment(time)), said),
            Err(_) => frame::go(&page, said),
        }
    }

    /// Refuses what the next press of a round that is told live would write over.
    pub(crate) async fn is_not_told_live(&self) -> Result<(), PageError> {
        let book = &self.app.book;
        if book.live_rounds().await?.contains(&self.id) && !book.presses(self.id).await?.is_empty()
        {
            return Err(refused("this round is being told live: finish it there first"));
        }
        Ok(())
    }

    /// Keeps what an edit makes of the entries by hand.
    pub(crate) async fn by_hand(
        self,
        what: &str,
        edit: impl FnOnce(&ShownRound) -> Result<ByHand, EditError>,
    ) -> Result<Response, PageError> {
        let by = self.by()?;
        self.is_not_told_live().await?;
        let shown = self.app.round_at_once(self.id).await?;
        let by_hand = edit(&shown)?;
        self.app.book.put_by_hand(&by, self.id, what, &by_hand).await?;
        // That a line ends the one before is expected; that a stretch covers what was told is not.
        let covered = match self.sent.text("to") {
            "" => Vec::new(),
            _ => replaced(&shown.told.by_hand, &by_hand),
        };
        match covered.as_slice() {
            [] => Ok(self.back(&format!("{what}."))),
            covered => Ok(self.back(&format!(
                "{what}. This replaces {}; Undo brings it back.",
                covered.join(", ")
            ))),
        }
    }
}

/// What was told and is told otherwise now: "closed guard 0:07 to 0:15".
fn replaced(before: &ByHand, after: &ByHand) -> Vec<String> {
    let mut replaced = Vec::new();
    for old in &before.spells {
        for new in &after.spells {
            let (start, end) =
                (old.span.start().max(new.span.start()), old.span.end().min(new.span.end()));
            if start < end && (old.position, old.top) != (new.position, new.top) {
                replaced.push(format!("{} {start} to {end}", old.position.name()));
            }
        }
    }
    replaced
}

/// A moment in whole seconds, the nearest, as lists show it.
pub(crate) fn nearest(time: Time) -> String {
    Time::from_millis((time.millis() + 500) / 1000 * 1000).to_string()
}

fn refused(text: &str) -> PageError {
    PageError::Refused(text.to_owned())
}

/// The fields of a form.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sent(pub(crate) BTreeMap<String, String>);

impl Sent {
    /// A field without white space around it; empty where it was not sent.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.0.get(name).map_or("", |text| text.trim())
    }

    /// A moment, as people and pages write it.
    pub(crate) fn time(&self, name: &str) -> Result<Time, PageError> {
        let text = self.text(name);
        if let Some((whole, part)) = text.split_once(['.', ',']).filter(|_| may_mean_seconds(text))
        {
            let told = format!(
                "\"{text}\" can be read in two ways: write {whole}:{part} for minutes and seconds, or \
                 {whole}.{part}0 for a part of a second"
            );
            return Err(PageError::Refused(told));
        }
        Time::parse(text).ok_or_else(|| {
            let told = format!("\"{text}\" is no time: write it as 1:05, or 1:05.5");
            PageError::Refused(told)
        })
    }

    /// A moment that may be left out.
    pub(crate) fn maybe_time(&self, name: &str) -> Result<Option<Time>, PageError> {
        match self.text(name) {
            "" => Ok(None),
            _ => self.time(name).map(Some),
        }
    }

    /// A position with who is on top: `mount.0`, `standing.`.
    pub(crate) fn state(&self, name: &str) -> Result<(Position, Option<Athlete>), PageError> {
        let state = || {
            let (position, top) = self.text(name).split_once('.')?;
            Some((Position::from_id(position)?, athlete(top)?))
        };
        state().ok_or_else(|| refused("choose a position"))
    }

    /// One of the two, or nobody known: `0`, `1`, or nothing.
    pub(crate) fn athlete(&self, name: &str) -> Result<Option<Athlete>, PageError> {
        athlete(self.text(name)).ok_or_else(|| refused("choose one of the two"))
    }
}

/// Whether a time has a point where others write a colon: "0.50", which may be fifty seconds.
fn may_mean_seconds(text: &str) -> bool {
    let digits = |text: &str, most| {
        (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
    };
    let parts = text.split_once(['.', ',']);
    parts.is_some_and(|(whole, part)| digits(whole, 2) && part.len() == 2 && digits(part, 2))
}

fn athlete(text: &str) -> Option<Option<Athlete>> {
    match text {
        "" => Some(None),
        "0" => Some(Some(Athlete::First)),
        "1" => Some(Some(Athlete::Second)),
        _ => None,
    }
}

/// How a form writes one of the two.
pub(crate) fn athlete_id(athlete: Option<Athlete>) -> &'static str {
    match athlete {
        Some(Athlete::First) => "0",
        Some(Athlete::Second) => "1",
        None => "",
    }
}

/// How a form writes a position with who is on top.
pub(crate) fn state_id(position: Position, top: Option<Athlete>) -> String {
    format!("{}.{}", position.id(), athlete_id(top))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sent(name: &str, text: &str) -> Sent {
        Sent(BTreeMap::from([(name.to_owned(), text.to_owned())]))
    }

    #[test]
    fn states_read_back() {
        for position in Position::ALL {
            let tops = if position.has_top() { &Athlete::BOTH.map(Some)[..] } else { &[None] };
            for top in tops {
                let read = sent("state", &state_id(position, *top)).state("state");
                assert_eq!(read.unwrap(), (position, *top));
            }
        }
        for wrong in ["", "mount", "mount.2", "nowhere.0"] {
            assert!(sent("state", wrong).state("state").is_err(), "{wrong}");
        }
    }

    #[test]
    fn times_are_as_people_write_them() {
        assert_eq!(sent("at", " 1:05.5 ").time("at").unwrap(), Time::from_millis(65_500));
        assert_eq!(sent("at", "65.5").time("at").unwrap(), Time::from_millis(65_500));
        assert_eq!(sent("at", "").maybe_time("at").unwrap(), None);
        for either in ["0.50", "12,50"] {
            let told = sent("at", either).time("at").unwrap_err().to_string();
            assert!(told.contains("can be read in two ways"), "{told}");
        }
        assert_eq!(sent("at", "12.500").time("at").unwrap(), Time::from_millis(12_500));
        let wrong = sent("at", "soon").maybe_time("at").unwrap_err().to_string();
        assert_eq!(wrong, "\"soon\" is no time: write it as 1:05, or 1:05.5");
    }
}
