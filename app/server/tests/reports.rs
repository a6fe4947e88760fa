//! A student's report: the coach's words, and the file that leaves the book.

use academy::{Belt, Consent, Guardian, Member, Message, Role};
use server::Access;
use store::Subject;

use crate::app::{Answer, Browser, Served, by};
use crate::development::settled;
use crate::logins::join;
use crate::told::{a_small_academy, days_ago};

/// The text of the first text area.
fn drafted(page: &str) -> String {
    let (_, rest) = page.split_once("<textarea").expect("a text area");
    let (_, rest) = rest.split_once(">\n").expect("its text");
    let (text, _) = rest.split_once("</textarea>").expect("its end");
    text.replace("&#39;", "'").replace("&#34;", "\"").replace("&#38;", "&")
}

#[tokio::test]
async fn a_message_is_kept_only_once_it_is_the_coachs_own() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, "/students/belt/blue").await;
    let page = coach.get("/students/1/report").await;
    let draft = drafted(&page.text);
    assert!(draft.contains("Petra") && draft.len() > 100, "{draft}");
    let hidden = page.field("draft");
    // The same words set otherwise are still the draft.
    let reset = draft.to_uppercase().replace(". ", ".\n\n");
    for words in [draft.as_str(), reset.as_str()] {
        let fields = [("words", words), ("draft", hidden.as_str()), ("revision", "0")];
        let refused = coach.post("/students/1/report", &fields).await;
        assert_eq!(refused.status, 422);
        assert!(refused.text.contains("change it so that it is yours"), "{}", refused.text);
        assert_eq!(drafted(&refused.text), words, "what was typed is gone");
    }
    assert!(served.book.messages(people[0]).await.unwrap().is_empty());
    assert_eq!(write(&mut coach, " ").await.status, 303);
    assert!(served.book.messages(people[0]).await.unwrap().is_empty());
    coach.get("/students/1/report").await.says("The report goes without words of yours");

    let own = format!("{draft} See you on Thursday.");
    assert_eq!(write(&mut coach, &own).await.status, 303);
    let again = format!("{own} Bring water.");
    assert_eq!(write(&mut coach, &again).await.status, 303);
    let kept = served.book.messages(people[0]).await.unwrap();
    assert_eq!(kept.len(), 1, "words of one day are one message");
    coach.get("/students/1/report").await.says("Bring water.");
    coach.get("/students/1/report/file").await.says("Bring water.");
    let seen = served.book.revision(Subject::Report(people[0])).await.unwrap().0.to_string();
    let delete = format!("/students/1/report/{}/delete", kept[0].0.0);
    coach.post(&delete, &[("revision", &seen)]).await;
    assert!(served.book.messages(people[0]).await.unwrap().is_empty());
    let seen = served.book.revision(Subject::Report(people[0])).await.unwrap().0.to_string();
    coach.post("/students/1/report/undo", &[("revision", &seen)]).await;
    assert_eq!(served.book.messages(people[0]).await.unwrap(), kept);
}

/// Keeps words as somebody does who looks at the page first.
async fn write(browser: &mut Browser, words: &str) -> Answer {
    let page = browser.get("/students/1/report").await;
    let (revision, draft) = (page.field("revision"), page.field("draft"));
    let fields = [("words", words), ("draft", draft.as_str()), ("revision", revision.as_str())];
    browser.post("/students/1/report", &fields).await
}

#[tokio::test]
async fn emptied_words_take_the_message_of_the_day_out_and_say_what_the_report_has() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, "/students/belt/blue").await;
    let old = Message { day: days_ago(9), words: "As before.".to_owned() };
    served.book.put_message(&by(), people[0], None, &old).await.unwrap();
    write(&mut coach, "Well done this week.").await;
    assert_eq!(served.book.messages(people[0]).await.unwrap().len(), 2);
    assert_eq!(write(&mut coach, "  ").await.status, 303);
    let page = coach.get("/students/1/report").await;
    page.says("Today&#39;s message is taken out. You can undo that. The report has your words of");
    coach.get("/students/1/report/file").await.says("As before.");
    let left = served.book.messages(people[0]).await.unwrap();
    assert_eq!(left.into_iter().map(|(_, one)| one).collect::<Vec<_>>(), [old]);
    coach.post("/students/1/report/undo", &[("revision", &page.field("revision"))]).await;
    coach.get("/students/1/report/file").await.says("Well done this week.");
}

#[tokio::test]
async fn of_two_coaches_who_write_at_once_the_second_sees_what_the_first_kept() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let (mut one, mut other) = (served.browser(), served.browser());
    settled(&mut one, "/students/belt/blue").await;
    let seen = other.get("/students/1/report").await.field("revision");
    assert_eq!(write(&mut one, "Well done this week.").await.status, 303);
    for late in ["My own words.", " "] {
        let fields = [("words", late), ("revision", seen.as_str())];
        let page = other.post("/students/1/report", &fields).await;
        assert_eq!(page.status, 409);
        assert_eq!(drafted(&page.text).trim(), late.trim());
        assert!(page.text.contains("Somebody else changed the messages"), "{}", page.text);
        assert!(page.text.contains("Well done this week."), "{}", page.text);
    }
    assert_eq!(served.book.messages(people[0]).await.unwrap()[0].1.words, "Well done this week.");
    assert_eq!(write(&mut other, "My own words.").await.status, 303);
    assert_eq!(served.book.messages(people[0]).await.unwrap()[0].1.words, "My own words.");
}

#[tokio::test]
async fn an_assistant_undoes_goals_and_no_words_of_the_coach() {
    let served = Served::new(Access::LocalNetwork).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = join(&served, Role::Coach, None, "coach").await;
    let mut assistant = join(&served, Role::Assistant, None, "assistant").await;
    settled(&mut coach, "/students/belt/blue").await;
    assistant.post("/students/1/goals", &[("words", "Frame first")]).await;
    assert_eq!(write(&mut coach, "Well done this week.").await.status, 303);
    let kept = served.book.messages(people[0]).await.unwrap();
    for _ in 0..2 {
        let page = assistant.get("/students/1").await;
        assert!(!page.text.contains("a message"), "{}", page.text);
        let seen = served.book.revision(Subject::Student(people[0])).await.unwrap().0.to_string();
        assistant.post("/students/1/undo", &[("revision", &seen)]).await;
    }
    assert!(served.book.goals(people[0]).await.unwrap().is_empty());
    assert_eq!(served.book.messages(people[0]).await.unwrap(), kept);
    let seen = served.book.revision(Subject::Report(people[0])).await.unwrap().0.to_string();
    for change in ["undo", "redo", &format!("{}/delete", kept[0].0.0)] {
        let path = format!("/students/1/report/{change}");
        assert_eq!(assistant.post(&path, &[("revision", &seen)]).await.status, 403, "{change}");
    }
    // Nor is a goal undone from the report.
    assistant.post("/students/1/goals", &[("words", "Calm in mount")]).await;
    coach.post("/students/1/report/undo", &[("revision", &seen)]).await;
    assert!(served.book.messages(people[0]).await.unwrap().is_empty());
    assert_eq!(served.book.goals(people[0]).await.unwrap().len(), 1);
}

#[tokio::test]
async fn words_are_kept_while_figures_are_not_at_hand() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, "/students/belt/blue").await;
    let page = coach.get("/students/1/report").await;
    let (draft, hidden) = (drafted(&page.text), page.field("draft"));
    // Whatever figures rest on has changed since the page was made.
    let member = served.book.member(people[1]).await.unwrap();
    let member = Member { belt: Belt::Purple, ..member };
    served.book.change_member(&by(), people[1], &member).await.unwrap();
    let fields = [("words", draft.as_str()), ("draft", hidden.as_str()), ("revision", "0")];
    let refused = coach.post("/students/1/report", &fields).await;
    assert_eq!(refused.status, 422, "the draft is still known as one");
    assert_eq!(drafted(&refused.text), draft);
    let fields = [("words", "My own."), ("draft", hidden.as_str()), ("revision", "0")];
    assert_eq!(coach.post("/students/1/report", &fields).await.status, 303);
    assert_eq!(served.book.messages(people[0]).await.unwrap()[0].1.words, "My own.");
}

#[tokio::test]
async fn the_report_of_a_minor_says_so_and_names_the_guardian() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, "/students/belt/blue").await;
    let page = coach.get("/students/1/report").await;
    assert!(!page.text.contains("Under 18"), "{}", page.text);
    let guardian =
        Guardian { name: "Renske".to_owned(), contact: String::new(), consent: Consent::default() };
    let member = served.book.member(people[0]).await.unwrap();
    let born = crate::told::today().year() - 12;
    let member = Member { birth_year: Some(born), guardian: Some(guardian), ..member };
    served.book.change_member(&by(), people[0], &member).await.unwrap();
    let page = coach.get("/students/1/report").await;
    page.says("Under 18.");
    page.says("Guardian: Renske");
}

#[tokio::test]
async fn the_file_runs_nothing_loads_nothing_and_is_saved_under_a_plain_name() {
    let served = Served::new(Access::ThisMachine).await;
    a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, "/students/belt/blue").await;
    let shown = coach.get("/students/1/report/file").await;
    shown.says("<style>");
    let policy = shown.headers["content-security-policy"].to_str().unwrap();
    assert!(policy.starts_with("default-src 'none'; style-src 'sha256-"), "{policy}");
    assert!(!policy.contains("unsafe") && policy.ends_with("sandbox"), "{policy}");
    for loads in ["<script", "<link rel=\"stylesheet\"", "http://", "src=\"/", "href=\"/"] {
        let own = shown.text.replace("http://www.w3.org/", "");
        assert!(!own.contains(loads), "{loads} in {}", shown.text);
    }
    assert!(shown.headers.get("content-disposition").is_none());
    let saved = coach.get("/students/1/report/file?save=yes").await;
    let name = format!("attachment; filename=\"report-of-petra-{}.html\"", crate::told::today());
    assert_eq!(saved.headers["content-disposition"].to_str().unwrap(), name);
    assert_eq!(saved.text, shown.text);
}

#[tokio::test]
async fn a_report_names_nobody_who_has_not_agreed() {
    let served = Served::new(Access::ThisMachine).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = served.browser();
    settled(&mut coach, "/students/belt/blue").await;
    let named = coach.get("/students/1/report/file").await;
    named.says("your round with");
    let message = Message { day: days_ago(1), words: "As Idris and Wren do it.".to_owned() };
    served.book.put_message(&by(), people[0], None, &message).await.unwrap();
    for shy in &people[1..] {
        let member = served.book.member(*shy).await.unwrap();
        let member = Member { consent: Consent::default(), ..member };
        served.book.change_member(&by(), *shy, &member).await.unwrap();
    }
    settled(&mut coach, "/students/belt/blue").await;
    let file = coach.get("/students/1/report/file").await;
    file.says("As a training partner and a training partner do it.");
    file.says("your round with a training partner");
    for name in ["Idris", "Wren", "Anouk", "Bruna", "Joss", "Maren", "Tove"] {
        assert!(!file.text.contains(name), "{name} in {}", file.text);
    }
    let refused = coach
        .post("/students/1/report", &[("words", "Ask Bruna to show you."), ("revision", "1")])
        .await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("Bruna hasn&#39;t agreed"), "{}", refused.text);
}

#[tokio::test]
async fn only_a_coach_writes_and_a_student_opens_the_own_report_once_it_is_written() {
    let served = Served::new(Access::LocalNetwork).await;
    let people = a_small_academy(&served.book).await;
    let mut coach = join(&served, Role::Coach, None, "coach").await;
    let mut assistant = join(&served, Role::Assistant, None, "assistant").await;
    let mut own = join(&served, Role::Student, Some(people[0]), "petra").await;
    let mut other = join(&served, Role::Student, Some(people[1]), "idris").await;
    settled(&mut coach, "/students/belt/blue").await;
    for path in ["/students/1/report", "/students/1/report/file"] {
        assert_eq!(coach.get(path).await.status, 200);
        for browser in [&mut assistant, &mut own, &mut other] {
            assert_eq!(browser.get(path).await.status, 403, "{path}");
        }
    }
    let fields = [("words", "My own"), ("revision", "0")];
    assert_eq!(own.post("/students/1/report", &fields).await.status, 403);
    assert_eq!(coach.post("/students/1/report", &fields).await.status, 303);
    own.get("/students/1").await.says("href=\"/students/1/report/file\"");
    own.get("/students/1/report/file").await.says("My own");
    assert_eq!(other.get("/students/1/report/file").await.status, 403);
    assert_eq!(own.get("/students/1/report").await.status, 403);
}
