//! A student's page: what their rounds add up to, goals, and talks with the coach.

use academy::{Athlete, Consent, EventKind, Member, Position, Role, RoundKind, Time};
use server::Access;
use store::{Captions, MemberId, Remark, RoundFacts, RoundId, Subject};

use crate::app::{Answer, Browser, Served, by, named};
use crate::logins::join;
use crate::told::{a_small_academy, days_ago, told_round};

/// The page once every round of the student is read.
pub(crate) async fn settled(browser: &mut Browser, path: &str) -> Answer {
    for _ in 0..200 {
        let page = browser.get(path).await;
        if page.status == 200 && !page.text.contains("not read yet and not counted") {
            return page;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!("{path} still waits for rounds");
}

fn path(id: MemberId) -> String {
    format!("/students/{}", id.0)
}

#[tokio::test]
async fn nobody_without_rounds_has_figures_and_the_page_says_what_to_do() {
    let served = Served::new(Access::ThisMachine).await;
    let petra = served.person(named("Petra")).await;
    let page = served.browser().get(&path(petra)).await;
    page.says("No round of Petra is in the book yet");
    page.says("href=\"/rounds/add\"");
    assert!(!page.text.contains("Train next"), "{}", page.text);
}

#[tokio::test]
async fn rounds_nobody_told_anything_of_are_not_made_up() {
    let served = Served::new(Access::ThisMachine).await;
    let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    served.round(athletes).await;
    let page = settled(&mut served.browser(), &path(athletes[0])).await;
    page.says("What happened in these rounds isn't known yet");
    assert!(!page.text.contains("<svg"), "{}", page.text);
}

#[tokio::test]
async fn rounds_that_are_not_read_are_said_not_to_count_until_they_are() {
    let served = Served::new(Access::ThisMachine).await;
    let maren = served.person(named("Maren")).await;
    let joaquim = served.person(named("Joaquim")).await;
    let mut coach = served.browser();
    coach.get(&path(maren)).await.says("No round of Maren");
    let facts = RoundFacts {
        date: days_ago(2),
        kind: RoundKind::Flow,
        gi: true,
        athletes: [maren, joaquim],
        length: Time::from_millis(220_000),
        class: None,
        talk: Some(Captions {
            name: "round.vtt".to_owned(),
            text: include_str!("../../../samples/demo/round.vtt").to_owned(),
        }),
        media: None,
        confirmed: None,
    };
    served.book.add_round(&by(), &facts).await.unwrap();
    let page = coach.get(&path(maren)).await;
    page.says("1 round is not read yet and not counted");
    // Nobody opens the round; it's read in the background.
    let page = settled(&mut coach, &path(maren)).await;
    page.says("None of this was confirmed by a person yet");
    page.says("From 1 round it is too early to tell habits from chance");
    page.says("id=\"train-next\"");
    assert!(served.book.known_rounds().await.unwrap().unread.is_empty());
}

#[tokio::test]
async fn a_page_of_figures_says_what_to_train_and_where_to_see_it() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let page = settled(&mut served.browser(), &path(people[0])).await;
    page.says("All of this was confirmed by a person, from 10 rounds.");
    // Petra is the one who is stuck under mount, and nobody else is.
    let (_, next) = page.text.split_once("id=\"train-next\"").unwrap();
    let (first, _) = next.split_once("</ul>").unwrap();
    assert!(first.contains("Getting out sooner, under mount"), "{first}");
    page.says("Chokes, joint locks and falls can hurt people");
    // She got out at 2:50 once; that is watched from a little before.
    assert!(first.contains("#t=166.0"), "no moment leads to where it begins: {first}");
    page.says("id=\"map-wide-title\"");
    page.says("id=\"map-narrow-title\"");
    page.says("the other blue belts");
    page.says("No talk is noted yet, so since four weeks ago");
    page.says("Week by week");
    // Numbers are there on request.
    assert!(page.text.matches("<summary>Numbers</summary>").count() > 5, "{}", page.text);
}

#[tokio::test]
async fn rounds_are_chosen_by_kind_and_links_keep_the_choice() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, &path(people[0])).await;
    let page = coach.get(&format!("{}?kind=flow&gi=yes", path(people[0]))).await;
    page.says("from 5 rounds");
    page.says("<option value=\"flow\" selected>");
    page.says(&format!("{}/report?kind=flow&#38;gi=yes", path(people[0])));
    let none = coach.get(&format!("{}?gi=no", path(people[0]))).await;
    none.says("Petra is in no rounds without the gi");
    // A goal that is set on that page leads back to it.
    let fields = [("words", "Frame first"), ("kind", "flow"), ("gi", "yes")];
    let done = coach.post(&format!("{}/goals", path(people[0])), &fields).await;
    let to = format!("{}?kind=flow&gi=yes#goals", path(people[0]));
    assert_eq!(done.location(), Some(to));
}

#[tokio::test]
async fn goals_are_set_reached_taken_out_and_undone() {
    let served = Served::new(Access::ThisMachine).await;
    let petra = served.person(named("Petra")).await;
    let mut coach = served.browser();
    let goals = format!("{}/goals", path(petra));
    assert_eq!(coach.post(&goals, &[("words", "Frame <b> first")]).await.status, 303);
    coach.get(&path(petra)).await.says("Frame &#60;b&#62; first");
    let revision = async |served: &Served| {
        served.book.revision(Subject::Student(petra)).await.unwrap().0.to_string()
    };
    let goal = served.book.goals(petra).await.unwrap()[0].0.0;
    let reached = format!("{goals}/{goal}/reached");
    let seen = revision(&served).await;
    coach.post(&reached, &[("revision", &seen), ("reached", "yes")]).await;
    coach.get(&path(petra)).await.says("reached on");
    // From a page that is out of date nothing is taken.
    let stale = coach.post(&format!("{goals}/{goal}/delete"), &[("revision", &seen)]).await;
    assert_eq!(stale.status, 409);
    let seen = revision(&served).await;
    coach.post(&format!("{goals}/{goal}/delete"), &[("revision", &seen)]).await;
    assert!(served.book.goals(petra).await.unwrap().is_empty());
    for left in [true, false] {
        let seen = revision(&served).await;
        coach.post(&format!("{}/undo", path(petra)), &[("revision", &seen)]).await;
        let goals = served.book.goals(petra).await.unwrap();
        assert_eq!(goals[0].1.reached.is_some(), left);
    }
    assert_eq!(coach.post(&goals, &[("words", " ")]).await.status, 422);
}

#[tokio::test]
async fn few_stays_are_told_and_not_drawn() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let parts = [
        (0, Position::Standing, None),
        (60, Position::BackControl, Some(Athlete::Second)),
        (90, Position::HalfGuard, Some(Athlete::First)),
    ];
    let day = (days_ago(1), RoundKind::Hard);
    told_round(&served.book, [people[0], people[1]], day, &parts, &[]).await;
    let page = settled(&mut served.browser(), &path(people[0])).await;
    let (_, out) = page.text.split_once("id=\"getting-out\"").unwrap();
    let (out, _) = out.split_once("</section>").unwrap();
    let (drawn, told) = out.split_once("<h3>Too few stays to draw</h3>").unwrap();
    assert!(drawn.contains("id=\"out-mount-wide") && !drawn.contains("out-back"), "{drawn}");
    assert!(told.contains("too few to tell") && !told.contains("<svg"), "{told}");
}

#[tokio::test]
async fn somebody_is_taken_out_only_once_nothing_of_theirs_is_left() {
    let served = Served::new(Access::ThisMachine).await;
    let petra = served.person(named("Petra")).await;
    let mut coach = served.browser();
    coach.get(&path(petra)).await.says("Take out of the book</button>");
    coach.post(&format!("{}/goals", path(petra)), &[("words", "Frame first")]).await;
    coach.post(&format!("{}/talked", path(petra)), &[("words", "")]).await;
    let page = coach.get(&path(petra)).await;
    assert!(!page.text.contains("Take out of the book</button>"), "{}", page.text);
    page.says("To take Petra out of the book, take out first: the goals, the talks.");
    for _ in 0..2 {
        let seen = served.book.revision(Subject::Student(petra)).await.unwrap().0.to_string();
        coach.post(&format!("{}/undo", path(petra)), &[("revision", &seen)]).await;
    }
    let roster = served.book.revision(Subject::Roster).await.unwrap().0.to_string();
    let gone = coach.post(&format!("{}/delete", path(petra)), &[("revision", &roster)]).await;
    assert_eq!(gone.location().as_deref(), Some("/students"), "{}", gone.text);
}

#[tokio::test]
async fn what_changed_is_told_since_the_last_talk() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, &path(people[0])).await;
    let talked = format!("{}/talked", path(people[0]));
    coach.post(&talked, &[("words", "About the mount")]).await;
    let page = coach.get(&path(people[0])).await;
    page.says("Since you talked on");
    page.says("About the mount");
    let seen = served.book.revision(Subject::Student(people[0])).await.unwrap().0.to_string();
    coach.post(&format!("{}/undo", path(people[0])), &[("revision", &seen)]).await;
    coach.get(&path(people[0])).await.says("No talk is noted yet");
}

#[tokio::test]
async fn a_student_reads_the_own_page_in_the_second_person_and_no_hidden_name() {
    let served = Served::new(Access::LocalNetwork).await;
    let people = a_small_academy(&served.book).await;
    for shy in &people[1..] {
        let member = served.book.member(*shy).await.unwrap();
        let member = Member { consent: Consent::default(), ..member };
        served.book.change_member(&by(), *shy, &member).await.unwrap();
    }
    let member = served.book.member(people[0]).await.unwrap();
    let member = Member { notes: "Only for us".to_owned(), ..member };
    served.book.change_member(&by(), people[0], &member).await.unwrap();
    let remark = Remark {
        id: 0,
        round: RoundId(1),
        time: Time::from_millis(80_000),
        member: Some(people[0]),
        words: "Frame, as Idris does".to_owned(),
    };
    served.book.put_remark(&by(), &remark).await.unwrap();
    let talk = academy::Conversation { day: days_ago(3), words: "Between us".to_owned() };
    served.book.put_conversation(&by(), people[0], None, &talk).await.unwrap();
    let goal =
        academy::Goal { set: days_ago(3), words: "Pass Idris and Wren".to_owned(), reached: None };
    served.book.put_goal(&by(), people[0], None, &goal).await.unwrap();

    let mut own = join(&served, Role::Student, Some(people[0]), "petra").await;
    let page = settled(&mut own, &path(people[0])).await;
    page.says("you got out");
    page.says("Since your talk with the coach on");
    page.says("Frame, as a training partner does");
    page.says("Pass a training partner and a training partner");
    for hidden in ["Only for us", "Between us", "Make it a goal", "We talked today", "<textarea"] {
        assert!(!page.text.contains(hidden), "{hidden} in {}", page.text);
    }
    for name in ["Idris", "Wren", "Anouk", "Bruna", "Joss", "Maren", "Tove"] {
        assert!(!page.text.contains(name), "{name} in {}", page.text);
    }
    // Nobody else's page, and no change of their own.
    assert_eq!(own.get(&path(people[1])).await.status, 403);
    for change in ["goals", "talked", "undo", "goals/1/reached", "goals/1/delete"] {
        let fields = [("words", "mine"), ("revision", "0"), ("reached", "yes")];
        let refused = own.post(&format!("{}/{change}", path(people[0])), &fields).await;
        assert_eq!(refused.status, 403, "{change}");
    }
}

#[tokio::test]
async fn a_change_in_a_round_changes_the_figures() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, &path(people[0])).await.says("from 10 rounds");
    let parts = [(0, Position::Standing, None), (90, Position::Mount, Some(Athlete::First))];
    let deeds = [(120, EventKind::Tap, Athlete::Second)];
    let day = (days_ago(1), RoundKind::Hard);
    let id = told_round(&served.book, [people[0], people[1]], day, &parts, &deeds).await;
    settled(&mut coach, &path(people[0])).await.says("from 11 rounds");
    served.book.delete_round(&by(), id).await.unwrap();
    settled(&mut coach, &path(people[0])).await.says("from 10 rounds");
}

#[tokio::test]
async fn what_a_coach_must_know_comes_first_and_who_has_left_gets_nothing_to_train() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut member = served.book.member(people[0]).await.unwrap();
    member.notes = "Left knee: flow rolls only.".to_owned();
    served.book.change_member(&by(), people[0], &member).await.unwrap();
    let mut coach = served.browser();
    let page = settled(&mut coach, &path(people[0])).await;
    let (before, _) = page.text.split_once("id=\"changed\"").unwrap();
    assert!(before.contains("Left knee: flow rolls only."), "{before}");
    page.says("id=\"train-next\"");
    member.left = true;
    served.book.change_member(&by(), people[0], &member).await.unwrap();
    let page = settled(&mut coach, &path(people[0])).await;
    page.says("No longer here");
    assert!(!page.text.contains("id=\"train-next\""));
    let words = coach.get(&format!("{}/report", path(people[0]))).await;
    assert!(!words.text.contains("one thing"), "{}", words.text);
}
