//! The report as one file: made from the figures, the coach's words and moments, under a policy that
//! lets nothing of it run or load.

use std::collections::HashMap;
use std::sync::Arc;

use academy::{Member, Time};
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use figures::habits::Towards;
use figures::moments::Moment;
use figures::overview::{StudentFigures, Suggestion};
use figures::train_next::Change;
use jiff::civil::Date;
use reports::{
    CoachMessage, MessageDraft, Peers, ReplayMoment, StudentReport, ToTrain, Voice, Whose,
    message_draft, student_report,
};
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use store::{MemberId, RoundFilter};

use super::super::adds_up::{first_name, is_known};
use super::super::since;
use crate::error::PageError;
use crate::figures::{OfStudent, Unread, athlete};
use crate::pages::which_rounds::{Which, WhichRounds};
use crate::state::App;
use crate::visitor::Visitor;

/// Moments of a suggestion that are looked up; the report shows fewer.
const MOST_MOMENTS: usize = 2;

/// A moment with the name that may stand beside it.
struct Seen {
    date: Date,
    time: Time,
    partner: Option<String>,
    what: String,
}

/// All that a report is made of, with nobody's name who hasn't agreed.
pub(super) struct Made {
    member: Member,
    academy: String,
    today: Date,
    figures: Arc<Option<StudentFigures>>,
    only: Option<String>,
    message: Option<(Date, String)>,
    next: Vec<(Change, Vec<Seen>)>,
    goals: Vec<String>,
    moments: Vec<Seen>,
    /// The rounds of the student and of others that count in nothing yet.
    pub(super) unread: [Unread; 2],
}

/// From when on a report looks for changes.
async fn looks_since(app: &App, id: MemberId) -> Result<Option<Date>, PageError> {
    let last_talk = app.book.conversations(id).await?.first().map(|(_, talk)| talk.day);
    Ok(Some(since(last_talk, app.today())))
}

/// Gathers a student's report; nothing where nothing is known of their rounds.
pub(super) async fn made(
    app: &App,
    id: MemberId,
    which: &WhichRounds,
) -> Result<Option<Made>, PageError> {
    let since = looks_since(app, id).await?;
    let known = app.known().await?;
    let figures = app.student_figures(&known, &which.selection, athlete(id), since).await?;
    gathered(app, id, which, (known, figures)).await
}

/// As [`made`], but nothing either where that would have to be waited for.
pub(super) async fn made_at_hand(
    app: &App,
    id: MemberId,
    which: &WhichRounds,
) -> Result<Option<Made>, PageError> {
    let since = looks_since(app, id).await?;
    match app.student_figures_at_hand(&which.selection, athlete(id), since).await? {
        Some(of_student) => gathered(app, id, which, of_student).await,
        None => Ok(None),
    }
}

async fn gathered(
    app: &App,
    id: MemberId,
    which: &WhichRounds,
    (known, figures): OfStudent,
) -> Result<Option<Made>, PageError> {
    let (book, today) = (&app.book, app.today());
    let Some(found) = figures.as_ref().as_ref().filter(|figures| is_known(figures)) else {
        return Ok(None);
    };
    let people: HashMap<_, _> = book.members().await?.into_iter().collect();
    // Whatever coach asks: the file is read by the student, and by whoever they show it to.
    let reader = Visitor::reading_for(id);
    let hidden = reader.hidden_names(&people, today.year());
    let partner = |athletes: [MemberId; 2]| {
        let other = athletes.into_iter().find(|one| *one != id)?;
        let member = people.get(&other)?;
        let shown = reader.shown_name(other, member, today.year());
        (shown == member.name).then_some(shown)
    };
    let seen = |moment: &Moment| {
        let moment = known.moment(&which.selection, moment.round, moment.time)?;
        let (date, time) = (moment.date, moment.time);
        Some(Seen { date, time, partner: partner(moment.athletes), what: String::new() })
    };
    let member = book.member(id).await?;
    // Who is no longer here is thanked, not given things to train.
    let suggested = if member.left { &[][..] } else { &found.train_next[..] };
    let next = suggested.iter().map(|one| (one.change, moments_of(one, &seen))).collect();
    let lines = book.rounds(&RoundFilter { member: Some(id), ..RoundFilter::default() }).await?;
    let by_id: HashMap<_, _> = lines.iter().map(|line| (line.id, line)).collect();
    let unread = [true, false].map(|own| app.unread(&known, |id| by_id.contains_key(&id) == own));
    let remark = |remark: store::Remark| {
        let round = by_id.get(&remark.round)?;
        let what = hidden.taken_out_of(&remark.words);
        Some(Seen { date: round.date, time: remark.time, partner: partner(round.athletes), what })
    };
    let mut moments: Vec<Seen> =
        book.remarks_for(id).await?.into_iter().filter_map(remark).collect();
    moments.sort_by_key(|moment| std::cmp::Reverse(moment.date));
    let open = book.goals(id).await?.into_iter().filter(|(_, goal)| goal.reached.is_none());
    let message = book.messages(id).await?.into_iter().next();
    Ok(Some(Made {
        member,
        academy: book.academy().await?.map(|academy| academy.name).unwrap_or_default(),
        today,
        only: which.only.clone(),
        message: message.map(|(_, one)| (one.day, hidden.taken_out_of(&one.words))),
        next,
        goals: open.map(|(_, goal)| hidden.taken_out_of(&goal.words)).collect(),
        moments,
        figures,
        unread,
    }))
}

fn moments_of(one: &Suggestion, seen: &impl Fn(&Moment) -> Option<Seen>) -> Vec<Seen> {
    one.to_watch().filter_map(|moment| seen(&moment)).take(MOST_MOMENTS).collect()
}

fn replays(moments: &[Seen]) -> Vec<ReplayMoment<'_>> {
    let replay = |one| {
        let Seen { date, time, partner, what }: &Seen = one;
        ReplayMoment { date: *date, time: *time, partner: partner.as_deref(), what }
    };
    moments.iter().map(replay).collect()
}

impl Made {
    fn whose(&self) -> Whose<'_> {
        let name = first_name(&self.member.name);
        Whose { name, pronoun: self.member.pronoun, voice: Voice::You }
    }

    /// Hands out what to train next, with its moments.
    fn with_next<T>(&self, use_it: impl FnOnce(&StudentFigures, &[ToTrain<'_>]) -> T) -> Option<T> {
        let figures = self.figures.as_ref().as_ref()?;
        let moments: Vec<Vec<ReplayMoment<'_>>> =
            self.next.iter().map(|(_, moments)| replays(moments)).collect();
        let next = self.next.iter().zip(&moments);
        let next: Vec<ToTrain<'_>> =
            next.map(|((change, _), moments)| ToTrain { change: *change, moments }).collect();
        Some(use_it(figures, &next))
    }

    /// A draft of the coach's message.
    pub(super) fn draft(&self) -> String {
        let notes: Vec<&str> = self.moments.iter().map(|moment| moment.what.as_str()).collect();
        let whose = self.whose();
        let draft = |figures: &StudentFigures, next: &[ToTrain<'_>]| {
            message_draft(&MessageDraft { whose, figures, notes: &notes, next })
        };
        self.with_next(draft).unwrap_or_default()
    }

    /// The report as one file of HTML.
    fn file(&self) -> String {
        let goals: Vec<&str> = self.goals.iter().map(String::as_str).collect();
        let moments = replays(&self.moments);
        let belt = self.member.belt.id();
        let message = self.message.as_ref();
        let message = message.map(|(day, words)| CoachMessage { day: *day, words });
        let file = |figures: &StudentFigures, next: &[ToTrain<'_>]| {
            let group = match figures.towards {
                Towards::Belt => format!("{belt} belts"),
                Towards::Academy => "people of the academy".to_owned(),
            };
            let [others, everybody] = [format!("the other {group}"), format!("all {group}")];
            student_report(&StudentReport {
                whose: self.whose(),
                academy: &self.academy,
                date: self.today,
                figures,
                peers: Peers { others: &others, everybody: &everybody },
                only: self.only.as_deref(),
                message,
                next,
                goals: &goals,
                moments: &moments,
            })
        };
        self.with_next(file).unwrap_or_default()
    }
}

/// How the file is asked for.
#[derive(Deserialize)]
pub(crate) struct Asked {
    /// To keep it as a file, instead of looking at it.
    #[serde(default)]
    save: String,
    #[serde(flatten)]
    which: Which,
}

/// Nothing runs and nothing loads; the one style sheet inside is known by its hash.
fn policy(html: &str) -> String {
    let style = html.split_once("<style>").and_then(|(_, rest)| rest.split_once("</style>"));
    let hash = STANDARD.encode(Sha256::digest(style.map_or("", |(style, _)| style)));
    format!(
        "default-src 'none'; style-src 'sha256-{hash}'; img-src data:; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'; sandbox"
    )
}

/// "report-of-wren-2026-11-02.html": no sign that a system or a header would stumble over.
fn file_name(name: &str, day: Date) -> String {
    let plain: String = (first_name(name).chars())
        .filter(char::is_ascii_alphanumeric)
        .map(|letter| letter.to_ascii_lowercase())
        .collect();
    let of = if plain.is_empty() { String::new() } else { format!("-of-{plain}") };
    format!("report{of}-{day}.html")
}

/// Gives the report as one file, to look at or to keep. A student gets their own once a message for
/// it is kept.
pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Result<Response, PageError> {
    let id = MemberId(id);
    let own = visitor.member == Some(id);
    let allowed = match visitor.is_coach() {
        true => true,
        false => own && !app.book.messages(id).await?.is_empty(),
    };
    if !allowed {
        return Err(PageError::NotYours);
    }
    let which = asked.which.rounds("");
    let Some(made) = made(&app, id, &which).await? else {
        let told = "nothing is known of these rounds yet, so there is nothing to report";
        return Err(PageError::Refused(told.to_owned()));
    };
    let html = made.file();
    let mut response =
        ([(header::CONTENT_SECURITY_POLICY, policy(&html))], Html(html)).into_response();
    if !asked.save.is_empty() {
        let name = file_name(&made.member.name, made.today);
        let kept = format!("attachment; filename=\"{name}\"");
        let kept = kept.parse().map_err(|_| PageError::Fault("a name of a file".to_owned()))?;
        response.headers_mut().insert(header::CONTENT_DISPOSITION, kept);
    }
    Ok(response)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_called_by_letters_and_a_day() {
        let day = Date::constant(2026, 11, 2);
        assert_eq!(file_name("Wren Adder", day), "report-of-wren-2026-11-02.html");
        assert_eq!(file_name("\"\u{2019}\r\n", day), "report-2026-11-02.html");
    }

    #[test]
    fn the_policy_knows_the_style_by_its_hash() {
        // The hash of "p{}" by `printf 'p{}' | openssl dgst -sha256 -binary | base64`.
        let told = policy("<style>p{}</style>");
        assert!(told.contains("'sha256-gG2yISYereRMiG2lMXrbiUgi0Ubw9p7QCeWcroOvy9Y='"), "{told}");
    }
}
