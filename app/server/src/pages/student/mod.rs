//! One person: what their rounds add up to, what to train next, their goals and talks with the
//! coach, their rounds and classes, and what is kept of them.
//!
//! Staff reads about everybody, in the third person; a student reads their own page, in the second,
//! without what is for coaches only and without names of those who have not agreed to be shown.

use std::collections::HashMap;

use academy::{Conversation, Goal, Member};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::HeaderMap;
use axum::response::Response;
use jiff::ToSpan as _;
use jiff::civil::Date;
use reports::HiddenNames;
use store::{MemberId, RoundFilter, RoundId, RoundLine, Subject};

pub(crate) mod adds_up;
pub(crate) mod development;
pub(crate) mod edit;
mod facts;
mod form;
pub(crate) mod report;
mod rounds;

use self::adds_up::{AddsUp, Naming, Told, is_known, since_in_words};
use self::facts::facts;
use self::rounds::{RemarkView, RoundView, remark_view, round_view};
use crate::error::PageError;
use crate::figures::{Unread, athlete};
use crate::frame::{Frame, Tab, page};
use crate::pages::history::HistoryView;
use crate::pages::not_counted::NotCounted;
use crate::pages::which_rounds::{Which, WhichRounds};
use crate::state::App;
use crate::visitor::Visitor;
use crate::wording;

/// Changes are looked for in so many weeks where no talk with the student is noted.
const WEEKS: i64 = 4;

#[derive(Template)]
#[template(path = "pages/student/page.html")]
struct StudentPage {
    frame: Frame,
    look: String,
    pictures: String,
    id: i64,
    roster: i64,
    member: Member,
    name: String,
    facts: Vec<(&'static str, String)>,
    consent: [String; 2],
    /// What is said of a minor's age.
    minor: Option<&'static str>,
    /// Whether the person was added just now.
    added: bool,
    which: WhichRounds,
    adds_up: AddedUp,
    /// Rounds that count in nothing yet.
    unread: Option<NotCounted>,
    since: String,
    goals: Vec<GoalView>,
    talks: Vec<TalkView>,
    /// What must be taken out before the person can be, rounds and classes aside.
    needed_by: Vec<&'static str>,
    /// Whether a report can be opened, for the student.
    report: bool,
    history: HistoryView,
    classes: Vec<(i64, String, String)>,
    rounds: Vec<RoundView>,
    remarks: Vec<RemarkView>,
}

/// What there is to say of the rounds.
enum AddedUp {
    /// There are none.
    NoRounds,
    /// None of them is of the kind that was asked for.
    NoneOfThese,
    /// What happened in them isn't known.
    NothingKnown,
    /// Something.
    Known(Box<AddsUp>),
}

impl AddedUp {
    fn is_known(&self) -> bool {
        matches!(self, AddedUp::Known(_))
    }
}

struct GoalView {
    id: i64,
    words: String,
    when: String,
    reached: bool,
}

struct TalkView {
    id: i64,
    day: String,
    /// For coaches and assistants.
    words: String,
}

fn goal_view(id: i64, goal: Goal, hidden: &HiddenNames) -> GoalView {
    let set = wording::day(goal.set);
    let when = match goal.reached {
        None => format!("since {set}"),
        Some(reached) => format!("reached on {}", wording::day(reached)),
    };
    let words = hidden.taken_out_of(&goal.words);
    GoalView { id, words, when, reached: goal.reached.is_some() }
}

fn talk_view(id: i64, talk: Conversation, staff: bool) -> TalkView {
    let words = if staff { talk.words } else { String::new() };
    TalkView { id, day: wording::day(talk.day), words }
}

/// From when on changes are looked for: the last talk, else some weeks ago.
pub(crate) fn since(talk: Option<Date>, today: Date) -> Date {
    talk.or_else(|| today.checked_sub(WEEKS.weeks()).ok()).unwrap_or(today)
}

pub(crate) async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(id): Path<i64>,
    Query(which): Query<Which>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let path = format!("/students/{id}");
    let id = MemberId(id);
    if !visitor.may_see(id) {
        return Err(PageError::NotYours);
    }
    let (book, staff, today) = (&app.book, visitor.is_staff(), app.today());
    let year = today.year();
    let which = which.rounds(path.as_str());
    let people: HashMap<_, _> = book.members().await?.into_iter().collect();
    let member = book.member(id).await?;
    let talks = book.conversations(id).await?;
    let last_talk = talks.first().map(|(_, talk)| talk.day);
    let lines = book.rounds(&RoundFilter { member: Some(id), ..RoundFilter::default() }).await?;
    let naming = Naming { visitor: &visitor, people: &people, year, own: id };
    let told = Told { member: &member, own: !staff };
    let since = since(last_talk, today);
    let (adds_up, unread) = add_up(&app, told, &which, &naming, (&lines, since)).await?;
    let views = lines.iter().map(|round| round_view(round, id, &visitor, &people, year));
    let rounds: Vec<RoundView> = views.collect();
    let by_id: HashMap<_, _> = lines.iter().map(|line| line.id).zip(&rounds).collect();
    let remarks = book.remarks_for(id).await?;
    // Empty for coaches and assistants, who may read every name.
    let hidden = visitor.hidden_names(&people, year);
    let any_remark = !remarks.is_empty();
    let remarks = remarks.iter().map(|remark| RemarkView {
        words: hidden.taken_out_of(&remark.words),
        ..remark_view(remark, &by_id)
    });
    let remarks = remarks.collect();
    let classes = book.classes_of(id).await?.into_iter();
    let classes = classes.map(|(class, facts)| {
        let about = crate::pages::classes::about(&facts);
        (class.0, about, wording::day(facts.date))
    });
    let (goals, report) = (book.goals(id).await?, !book.messages(id).await?.is_empty());
    let account = staff && book.accounts().await?.iter().any(|one| one.member == Some(id));
    let invited =
        staff && book.invitations(app.now()).await?.iter().any(|one| one.member == Some(id));
    let needed_by = [
        (!goals.is_empty(), "the goals"),
        (!talks.is_empty(), "the talks"),
        (report, "the kept messages of the report"),
        (account, "the login"),
        (invited, "the invitation"),
        (any_remark, "the notes for them in other rounds"),
    ];
    let needed_by = needed_by.into_iter().filter_map(|(needs, what)| needs.then_some(what));
    let tab = staff.then_some(Tab::Students);
    let frame = Frame::new(&app, &visitor, tab, member.name.clone(), &headers).await?;
    page(&StudentPage {
        look: app.assets.address("figures.css"),
        pictures: app.assets.address(crate::assets::PICTURES),
        id: id.0,
        roster: book.revision(Subject::Roster).await?.0,
        name: adds_up::first_name(&member.name).to_owned(),
        facts: facts(&member),
        consent: wording::consent(&member, year),
        minor: wording::minor(&member, year),
        added: frame.said.as_ref().is_some_and(|said| said.text.starts_with("Added ")),
        frame,
        since: since_in_words(last_talk, since, !staff),
        which,
        adds_up,
        unread: NotCounted::of(&app, &visitor, &unread[0], &unread[1]).await?,
        goals: goals.into_iter().map(|(goal, of)| goal_view(goal.0, of, &hidden)).collect(),
        talks: talks.into_iter().map(|(talk, of)| talk_view(talk.0, of, staff)).collect(),
        needed_by: needed_by.collect(),
        report,
        history: HistoryView::new(&app, Subject::Student(id), path).await?,
        classes: classes.collect(),
        rounds,
        remarks,
        member,
    })
}

/// What somebody's rounds add up to, and how many of theirs and of others count in nothing yet.
async fn add_up(
    app: &App,
    told: Told<'_>,
    which: &WhichRounds,
    naming: &Naming<'_>,
    (lines, since): (&[RoundLine], Date),
) -> Result<(AddedUp, [Unread; 2]), PageError> {
    if lines.is_empty() {
        return Ok((AddedUp::NoRounds, Default::default()));
    }
    let known = app.known().await?;
    let own = |id: RoundId| lines.iter().any(|line| line.id == id);
    let unread = [app.unread(&known, own), app.unread(&known, |id| !own(id))];
    let who = athlete(naming.own);
    let figures = app.student_figures(&known, &which.selection, who, Some(since)).await?;
    let added = match figures.as_ref() {
        None if which.only.is_some() => AddedUp::NoneOfThese,
        Some(figures) if is_known(figures) => {
            AddedUp::Known(Box::new(AddsUp::new(figures, told, (&known, which), naming)))
        }
        _ => AddedUp::NothingKnown,
    };
    Ok((added, unread))
}
