//! The page of a round, and every change that can be made from it.

use academy::{Member, Role, RoundKind, Time};
use server::Access;
use store::{Captions, MemberId, Remark, RoundFacts, RoundId};

use crate::app::{Answer, Browser, Served, by, named};
use crate::logins::join;

/// A round of two people, and a browser on its page.
struct Review {
    served: Served,
    browser: Browser,
    id: RoundId,
}

impl Review {
    async fn without_talk() -> Self {
        let served = Served::new(Access::ThisMachine).await;
        let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
        let id = served.round(athletes).await;
        let browser = served.browser();
        Review { served, browser, id }
    }

    /// The demonstration's round, of which the talk leaves some things open.
    async fn with_talk() -> Self {
        let served = Served::new(Access::ThisMachine).await;
        let person = |name: &str, pronoun: &str| Member {
            pronoun: academy::Pronoun::parse(pronoun),
            ..named(name)
        };
        let maren = served.person(person("Maren", "she")).await;
        let joaquim = served.person(person("Joaquim", "he")).await;
        let text = include_str!("../../../samples/demo/round.vtt");
        let id =
            served.book.add_round(&by(), &facts([maren, joaquim], text)).await.expect("it fits");
        let browser = served.browser();
        Review { served, browser, id }
    }

    fn path(&self, rest: &str) -> String {
        format!("/rounds/{}{rest}", self.id.0)
    }

    async fn page(&mut self) -> String {
        let path = self.path("?weigh=yes");
        let answer = self.browser.get(&path).await;
        assert_eq!(answer.status, 200, "{}", answer.text);
        answer.text
    }

    /// Sends a form as the page as it is now would.
    async fn post(&mut self, rest: &str, fields: &[(&str, &str)]) -> Answer {
        let page = self.page().await;
        let revision = between(&page, "name=\"revision\" value=\"", "\"").to_owned();
        let mut all = vec![("revision", revision.as_str())];
        all.extend(fields);
        let path = self.path(rest);
        self.browser.post(&path, &all).await
    }

    /// Sends a form that must be taken, and gives the page after it.
    async fn done(&mut self, rest: &str, fields: &[(&str, &str)]) -> String {
        let answer = self.post(rest, fields).await;
        assert_eq!(answer.status, 303, "{}", answer.text);
        self.page().await
    }
}

fn facts(athletes: [MemberId; 2], text: &str) -> RoundFacts {
    RoundFacts {
        date: "2026-11-02".parse().expect("a date"),
        kind: RoundKind::Flow,
        gi: true,
        athletes,
        length: Time::from_millis(220_000),
        class: None,
        talk: Some(Captions { name: "round.vtt".to_owned(), text: text.to_owned() }),
        media: None,
        confirmed: None,
    }
}

/// The first text between two others.
fn between<'a>(page: &'a str, before: &str, after: &str) -> &'a str {
    let (_, rest) = page.split_once(before).unwrap_or_else(|| panic!("no {before:?} in {page}"));
    rest.split_once(after).map_or(rest, |(found, _)| found)
}

/// The list of what happened, as text.
fn happened(page: &str) -> Vec<String> {
    page.split("<span class=\"told\">")
        .skip(1)
        .map(|rest| rest.split("</span>").next().unwrap_or_default().to_owned())
        .collect()
}

#[tokio::test]
async fn a_round_without_talk_is_told_line_by_line() {
    let mut review = Review::without_talk().await;
    let page = review.page().await;
    assert!(page.contains("Tell what happened") && page.contains("Nothing told yet"));
    assert!(!page.contains("Confirm the round"), "there is nothing to confirm yet");
    review.done("/spell", &[("from", "0:00"), ("state", "standing.")]).await;
    review.done("/spell", &[("from", "0:20"), ("state", "closed_guard.1")]).await;
    let page = review.done("/spell", &[("from", "1:05.5"), ("state", "mount.0")]).await;
    let lines = happened(&page);
    assert_eq!(lines.len(), 3, "{lines:?}");
    assert!(lines[1] == "Closed guard, Idris on top", "{lines:?}");
    assert!(page.contains("id=\"t=65.5\""));
    // The border moves, and can be moved back by undo.
    let page = review.done("/border", &[("at", "65.500"), ("to", "1:10")]).await;
    assert!(page.contains("id=\"t=70.0\"") && !page.contains("id=\"t=65.5\""));
    let page = review.done("/undo", &[]).await;
    assert!(page.contains("id=\"t=65.5\"") && page.contains("Do again"));
    let page = review.done("/redo", &[]).await;
    assert!(page.contains("id=\"t=70.0\""));
    let page = review.done("/retell", &[("at", "70.000"), ("state", "side_control.0")]).await;
    assert!(happened(&page)[2] == "Side control, Petra on top");
    let page = review.done("/confirm", &[]).await;
    assert!(page.contains("confirmed on"));
}

#[tokio::test]
async fn an_event_moves_with_the_change_that_it_led_to() {
    let mut review = Review::without_talk().await;
    review.done("/spell", &[("from", "0:00"), ("state", "standing.")]).await;
    review.done("/spell", &[("from", "0:20"), ("state", "closed_guard.1")]).await;
    let pull = [("at", "0:20"), ("who", "0"), ("kind", "guard_pull")];
    let page = review.done("/event", &pull).await;
    assert_eq!(happened(&page)[1], "Petra pulls closed guard");
    let page = review.done("/border", &[("at", "20.000"), ("to", "0:30")]).await;
    assert_eq!(happened(&page)[1..], ["Petra pulls closed guard".to_owned()]);
    assert!(page.contains("id=\"t=30.0\""));
}

#[tokio::test]
async fn events_are_added_changed_and_taken_away() {
    let mut review = Review::without_talk().await;
    let sweep = [("at", "0:30"), ("who", "0"), ("kind", "sweep"), ("technique", "scissor sweep")];
    let page = review.done("/event", &sweep).await;
    assert!(happened(&page).contains(&"Petra sweeps: scissor sweep".to_owned()));
    let old = between(&page, "name=\"old\" value=\"", "\"").to_owned();
    let pass = [("old", old.as_str()), ("at", "0:31"), ("who", "1"), ("kind", "pass")];
    let page = review.done("/event", &pass).await;
    assert_eq!(happened(&page)[1..], ["Idris passes".to_owned()]);
    // The old name leads nowhere now.
    let answer = review.post("/event/delete", &[("old", &old)]).await;
    assert_eq!(answer.status, 422);
    let old = between(&page, "name=\"old\" value=\"", "\"").to_owned();
    let page = review.done("/event/delete", &[("old", &old)]).await;
    assert_eq!(happened(&page).len(), 1);
}

#[tokio::test]
async fn what_cannot_be_is_refused_and_nothing_is_kept() {
    let mut review = Review::without_talk().await;
    let before = review.page().await;
    for (rest, fields) in [
        ("/spell", vec![("from", "soon"), ("state", "mount.0")]),
        ("/spell", vec![("from", "0:10"), ("state", "mount.")]),
        ("/spell", vec![("from", "9:00"), ("state", "mount.0")]),
        ("/event", vec![("at", "9:00"), ("who", "0"), ("kind", "pass")]),
        ("/event", vec![("at", "0:10"), ("who", "2"), ("kind", "pass")]),
        ("/remark", vec![("at", "0:10"), ("who", ""), ("words", "  ")]),
        ("/remark", vec![("at", "9:10"), ("who", ""), ("words", "after the end")]),
        ("/border", vec![("at", "0:10"), ("to", "0:20")]),
    ] {
        let answer = review.post(rest, &fields).await;
        assert_eq!(answer.status, 422, "{rest} {fields:?}");
    }
    assert_eq!(review.page().await, before);
}

#[tokio::test]
async fn a_page_that_is_out_of_date_changes_nothing() {
    let mut review = Review::without_talk().await;
    review.done("/spell", &[("from", "0:00"), ("state", "standing.")]).await;
    let path = review.path("/undo");
    let answer = review.browser.post(&path, &[("revision", "0")]).await;
    assert_eq!(answer.status, 409);
    let answer = review.browser.post(&path, &[]).await;
    assert_eq!(answer.status, 422);
    assert!(review.page().await.contains("Both standing"));
}

#[tokio::test]
async fn questions_lead_to_a_confirmed_round() {
    let mut review = Review::with_talk().await;
    let mut asked = 0;
    let mut page = review.page().await;
    while page.contains("class=\"choices\"") {
        asked += 1;
        assert!(asked < 30, "questions never end");
        assert!(page.contains(&format!("Question {asked}")), "progress counts up");
        let choices = between(&page, "class=\"choices\"", "</form>");
        let fields = match choices.contains("name=\"token\" value=\"")
            && !page.contains("class=\"when\"")
        {
            true => vec![("token", between(choices, "name=\"token\" value=\"", "\"").to_owned())],
            false => {
                let form = between(&page, "class=\"when\"", "</form>");
                let mut fields =
                    vec![("token", between(form, "name=\"token\" value=\"", "\"").to_owned())];
                for name in ["start", "end"] {
                    let field = format!("name=\"{name}\" value=\"");
                    if form.contains(&field) {
                        fields.push((name, between(form, &field, "\"").to_owned()));
                    }
                }
                fields
            }
        };
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
        page = review.done("/answer", &fields).await;
    }
    assert!(asked > 0, "the talk leaves something open");
    let before = happened(&page);
    let page = review.done("/confirm", &[]).await;
    let sure = |lines: Vec<String>| -> Vec<String> {
        lines.iter().map(|line| line.to_lowercase().replace("perhaps ", "")).collect()
    };
    let after = happened(&page);
    assert_eq!(sure(after), sure(before), "confirming changes nothing but how sure it is");
    assert!(page.contains("confirmed on") && !page.contains("class=\"choices\""));
    let answer = review.post("/answer", &[("token", "top.1000.0")]).await;
    assert_eq!(answer.status, 422, "a confirmed round asks nothing");
    let kept = review.served.book.kept_ledger(review.id).await.unwrap().unwrap();
    assert_eq!(kept.open_questions, 0);
}

#[tokio::test]
async fn a_question_that_is_passed_over_is_not_asked_again() {
    let mut review = Review::with_talk().await;
    let page = review.page().await;
    let form = between(&page, "id=\"pass\"", "</form>");
    let at = between(form, "name=\"at\" value=\"", "\"").to_owned();
    let page = review.done("/pass", &[("at", &at)]).await;
    assert!(
        !page.contains(&format!("name=\"at\" value=\"{at}\">\n</form>\n<details class=\"other\""))
    );
    assert!(page.contains("Passed over the question at"));
}

#[tokio::test]
async fn an_answer_that_cannot_be_is_not_kept() {
    let mut review = Review::with_talk().await;
    for token in ["nothing.90000.110000", "state.95000.mount.0"] {
        review.done("/answer", &[("token", token)]).await;
    }
    // Nothing changed from mount to the other one's turtle.
    let answer = review.post("/answer", &[("token", "state.105000.turtle.1")]).await;
    assert_eq!(answer.status, 422, "{}", answer.text);
    assert!(answer.text.contains("earlier answers"), "{}", answer.text);
    let kept = review.served.book.told(review.id).await.unwrap();
    assert_eq!(kept.answers.len(), 2);
    let answer = review.post("/answer", &[("token", "state.99999999.mount.0")]).await;
    assert_eq!(answer.status, 422, "no such moment");
}

#[tokio::test]
async fn a_change_goes_back_to_the_moment_looked_at() {
    let mut review = Review::without_talk().await;
    let fields = [("from", "0:10"), ("state", "mount.0"), ("back", "12.340")];
    let answer = review.post("/spell", &fields).await;
    assert_eq!(answer.location(), Some(review.path("#t=12.3")));
}

#[tokio::test]
async fn a_taught_word_is_read_in_the_talk() {
    let text = "WEBVTT\n\n00:01.000 --> 00:05.000\nthey stand\n\n00:10.000 --> 00:15.000\n\
                Petra is in the mouse trap on top\n";
    let served = Served::new(Access::ThisMachine).await;
    let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let id = served.book.add_round(&by(), &facts(athletes, text)).await.unwrap();
    let browser = served.browser();
    let mut review = Review { served, browser, id };
    assert!(!review.page().await.contains("heard: mouse trap"));
    let wrong = [("heard", "mouse trap"), ("meant", "no such thing")];
    assert_eq!(review.post("/word", &wrong).await.status, 422);
    let page = review.done("/word", &[("heard", "Mouse trap"), ("meant", "mount")]).await;
    assert!(page.contains("heard: mouse trap"), "{page}");
    let word = between(&page, "name=\"word\" value=\"", "\"").to_owned();
    let page = review.done("/word/forget", &[("word", &word)]).await;
    assert!(!page.contains("heard: mouse trap"));
}

#[tokio::test]
async fn words_that_were_heard_rightly_stay_as_they_are() {
    let text = "WEBVTT\n\n00:01.000 --> 00:05.000\nthey stand\n\n00:10.000 --> 00:15.000\n\
                Petra settles in sight control on top\n";
    let served = Served::new(Access::ThisMachine).await;
    let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let id = served.book.add_round(&by(), &facts(athletes, text)).await.unwrap();
    let browser = served.browser();
    let mut review = Review { served, browser, id };
    assert!(review.page().await.contains("heard: sight control"));
    let page = review.done("/word", &[("heard", "sight control"), ("rightly", "yes")]).await;
    assert!(!page.contains("heard: sight control"), "{page}");
    let word = between(&page, "name=\"word\" value=\"", "\"").to_owned();
    let page = review.done("/word/forget", &[("word", &word)]).await;
    assert!(page.contains("heard: sight control"));
}

#[tokio::test]
async fn details_change_and_two_people_stay_two() {
    let mut review = Review::with_talk().await;
    let page = review.page().await;
    let people: Vec<&str> = between(&page, "name=\"first\">", "</select>")
        .split("<option value=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect();
    let [joaquim, maren] = people[..] else { panic!("{people:?}") };
    let fields = [
        ("date", "2026-11-03"),
        ("kind", "hard"),
        ("gi", "no"),
        ("length", "3:50"),
        ("first", joaquim),
        ("second", maren),
    ];
    let page = review.done("/details", &fields).await;
    assert!(page.contains("3 November 2026, hard round, no-gi, 3:50"));
    assert!(page.contains("<h1>Joaquim and Maren</h1>"));
    let same = [&fields[..4], &[("first", maren), ("second", maren)]].concat();
    assert_eq!(review.post("/details", &same).await.status, 422);
}

#[tokio::test]
async fn notes_are_for_one_or_both() {
    let mut review = Review::without_talk().await;
    let note = [("at", "1:00"), ("who", "1"), ("words", "Breathe out there.")];
    let page = review.done("/remark", &note).await;
    assert!(page.contains("Breathe out there.") && page.contains("for Idris"));
    let number = between(&page, "name=\"remark\" value=\"", "\"").to_owned();
    let page = review.done("/remark/delete", &[("remark", &number)]).await;
    assert!(!page.contains("Breathe out there."));
}

#[tokio::test]
async fn a_deleted_round_can_be_brought_back() {
    let mut review = Review::without_talk().await;
    review.done("/spell", &[("from", "0:00"), ("state", "standing.")]).await;
    let answer = review.post("/delete", &[]).await;
    assert_eq!(answer.status, 303);
    let path = review.path("");
    let page = review.browser.get(&path).await;
    assert_eq!(page.status, 410);
    let revision = between(&page.text, "name=\"revision\" value=\"", "\"").to_owned();
    let path = review.path("/undo");
    assert_eq!(review.browser.post(&path, &[("revision", &revision)]).await.status, 303);
    assert!(review.page().await.contains("Both standing"));
    assert_eq!(review.browser.get("/rounds/999").await.status, 404);
}

#[tokio::test]
async fn a_student_reads_their_own_rounds_and_changes_nothing() {
    let served = Served::new(Access::LocalNetwork).await;
    let petra = served.person(named("Petra")).await;
    let idris = served.person(named("Idris")).await;
    let wren = served.person(named("Wren")).await;
    let text = "WEBVTT\n\n00:01.000 --> 00:05.000\nIdris pulls closed guard\n";
    let own = served.book.add_round(&by(), &facts([petra, idris], text)).await.unwrap();
    let others = served.round([idris, wren]).await;
    for (member, words) in [(Some(petra), "Breathe out."), (Some(idris), "Grip earlier.")] {
        let time = Time::from_millis(3_000);
        let remark = Remark { id: 0, round: own, time, member, words: words.to_owned() };
        served.book.put_remark(&by(), &remark).await.unwrap();
    }
    let mut phone = join(&served, Role::Student, Some(petra), "petra").await;
    let path = format!("/rounds/{}", own.0);
    let page = phone.get(&path).await;
    page.says("Petra and a training partner");
    page.says("Breathe out.");
    page.says("The talk and the recording are not shown");
    for hidden in [
        "Idris",
        "pulls closed guard</p>",
        "Grip earlier.",
        "<form method=\"post\" action=\"/rounds",
    ] {
        assert!(!page.text.contains(hidden), "{hidden} in {}", page.text);
    }
    assert_eq!(phone.get(&format!("/rounds/{}", others.0)).await.status, 403);
    for change in ["answer", "undo", "spell", "event", "remark", "confirm", "delete", "word"] {
        let answer = phone.post(&format!("{path}/{change}"), &[("revision", "3")]).await;
        assert_eq!(answer.status, 403, "{change}");
    }
}

#[tokio::test]
async fn a_change_that_was_none_goes_and_what_is_covered_is_said() {
    let mut review = Review::without_talk().await;
    review.done("/spell", &[("from", "0:00.3"), ("state", "standing.")]).await;
    review.done("/spell", &[("from", "0:20"), ("state", "closed_guard.1")]).await;
    let either = review.post("/spell", &[("from", "0.50"), ("state", "mount.0")]).await;
    assert_eq!(either.status, 422);
    assert!(either.text.contains("can be read in two ways"), "{}", either.text);
    let fields = [("from", "0:30"), ("to", "0:40"), ("state", "mount.0")];
    assert_eq!(review.post("/spell", &fields).await.status, 303);
    let path = review.path("");
    let page = review.browser.get(&path).await.text;
    assert!(page.contains("This replaces closed guard 0:30 to 0:40; Undo brings it back."));
    let told = [
        "Both standing",
        "Closed guard, Idris on top",
        "Mount, Petra on top",
        "Closed guard, Idris on top",
    ];
    assert_eq!(happened(&page), told);
    let page = review.done("/border/drop", &[("at", "30.000"), ("to", "30.000")]).await;
    assert_eq!(happened(&page), told[..2]);
}

#[tokio::test]
async fn a_tap_says_who_gives_up_and_a_confirmed_round_leads_on() {
    let mut review = Review::without_talk().await;
    review.done("/spell", &[("from", "0:00"), ("state", "standing.")]).await;
    let tap = [("at", "0:20"), ("who", "0"), ("kind", "tap")];
    let page = review.done("/event", &tap).await;
    assert!(page.contains("taps: gives up to the other") && page.contains("tap-line"));
    assert_eq!(happened(&page)[1], "Petra taps");
    let athletes = review.served.book.round_facts(review.id).await.unwrap().athletes;
    let other = review.served.round(athletes).await;
    let page = review.done("/confirm", &[]).await;
    let next = format!("<a href=\"/rounds/{}\">Next round to confirm</a>", other.0);
    assert!(page.contains(&next) && page.contains(&format!("/students/{}", athletes[0].0)));
}
