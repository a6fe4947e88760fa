//! Students, classes and settings, as a coach uses them without any script.

use academy::{Belt, Class, Member};
use server::Access;
use store::{AcademyFacts, Subject};

use crate::app::{Served, by, named};

#[tokio::test]
async fn an_empty_book_says_where_to_begin() {
    let served = Served::new(Access::ThisMachine).await;
    let mut coach = served.browser();
    coach.get("/").await.says("The book is empty");
    coach.get("/students").await.says("Nobody is in the book yet");
    coach.get("/classes").await.says("No class is in the book yet");
}

#[tokio::test]
async fn a_person_is_added_changed_found_and_undone() {
    let served = Served::new(Access::ThisMachine).await;
    let mut coach = served.browser();
    let revision = coach.get("/students/add").await.field("revision");
    let added = coach
        .post(
            "/students/add",
            &[
                ("revision", &revision),
                ("name", "Petra <b>"),
                ("belt", "blue"),
                ("stripes", "2"),
                ("consent_club", "yes"),
                ("notes", "Left knee"),
            ],
        )
        .await;
    let path = added.location().unwrap();
    let page = coach.get(&path).await;
    page.says("blue belt, 2 stripes");
    page.says("Petra &#60;b&#62;");
    page.says("May be shown within the club.");
    page.says("Left knee");
    page.says("Add another");
    // What was done is said once.
    page.says("Added Petra");
    assert!(!coach.get(&path).await.text.contains("Added Petra"));

    coach.get("/students?q=PET").await.says("Petra");
    coach.get("/students?q=nobody").await.says("Nobody fits");
    let list = coach.get("/students").await;
    list.says("Undo: Added Petra");
    let revision = list.field("revision");
    coach.post("/students/undo", &[("revision", &revision)]).await;
    assert!(served.book.members().await.unwrap().is_empty());
    let list = coach.get("/students").await;
    list.says("Do again: Added Petra");
    let revision = list.field("revision");
    coach.post("/students/redo", &[("revision", &revision)]).await;
    assert_eq!(served.book.members().await.unwrap()[0].1.belt, Belt::Blue);
}

#[tokio::test]
async fn a_form_with_a_problem_comes_back_with_what_was_typed() {
    let served = Served::new(Access::ThisMachine).await;
    served.person(named("Idris")).await;
    let mut coach = served.browser();
    let revision = coach.get("/students/add").await.field("revision");
    let fields = [
        ("revision", revision.as_str()),
        ("name", "idris"),
        ("belt", "white"),
        ("weight", "heavy"),
        ("notes", "typed at length"),
    ];
    let again = coach.post("/students/add", &fields).await;
    assert_eq!(again.status, 422);
    assert!(again.text.contains("typed at length"), "{}", again.text);
    assert!(again.text.contains("id=\"weight-problem\""), "{}", again.text);
    assert!(
        again.text.contains("aria-describedby=\"weight-hint weight-problem\"")
            || again.text.contains("aria-describedby=\"weight-problem\" aria-invalid=\"true\"")
    );
    let summary = "Something is not right yet: <a href=\"#weight\">Weight in kilograms</a>";
    assert!(again.text.contains(summary), "{}", again.text);
    let fields = [("revision", revision.as_str()), ("name", "idris"), ("belt", "white")];
    let again = coach.post("/students/add", &fields).await;
    assert_eq!(again.status, 422);
    assert!(again.text.contains("There is already somebody called idris"), "{}", again.text);
}

#[tokio::test]
async fn a_form_that_is_out_of_date_loses_nothing() {
    let served = Served::new(Access::ThisMachine).await;
    let petra = served.person(named("Petra")).await;
    let [mut one, mut other] = [served.browser(), served.browser()];
    let path = format!("/students/{}", petra.0);
    let revision = one.get(&format!("{path}/edit")).await.field("revision");
    let fields = [("revision", revision.as_str()), ("name", "Petra"), ("belt", "blue")];
    assert_eq!(other.post(&path, &fields).await.status, 303);
    let typed = [("name", "Petra"), ("belt", "purple"), ("notes", "a long story")];
    let mut stale = typed.to_vec();
    stale.push(("revision", &revision));
    let refused = one.post(&path, &stale).await;
    assert_eq!(refused.status, 409);
    assert!(refused.text.contains("a long story"), "{}", refused.text);
    assert_eq!(served.book.member(petra).await.unwrap().belt, Belt::Blue);
    // The page that came back can be sent as it is.
    let fresh = refused.field("revision");
    let mut again = typed.to_vec();
    again.push(("revision", &fresh));
    assert_eq!(one.post(&path, &again).await.status, 303);
    assert_eq!(served.book.member(petra).await.unwrap().belt, Belt::Purple);
}

#[tokio::test]
async fn a_form_that_is_too_large_is_refused() {
    let served = Served::new(Access::ThisMachine).await;
    let mut coach = served.browser();
    let notes = "x".repeat(70_000);
    let fields = [("revision", "0"), ("name", "Petra"), ("belt", "white"), ("notes", &notes)];
    assert_eq!(coach.post("/students/add", &fields).await.status, 413);
    assert!(served.book.members().await.unwrap().is_empty());
}

#[tokio::test]
async fn a_class_keeps_who_was_there() {
    let served = Served::new(Access::ThisMachine).await;
    let [petra, idris] = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let mut coach = served.browser();
    let revision = coach.get("/classes/add").await.field("revision");
    let [first, second] = [petra.0.to_string(), idris.0.to_string()];
    let fields = [
        ("revision", revision.as_str()),
        ("title", "Fundamentals"),
        ("topic", "Keeping mount"),
        ("date", "2026-11-02"),
        ("attended", &first),
        ("attended", &second),
    ];
    let path = coach.post("/classes/add", &fields).await.location().unwrap();
    let page = coach.get(&path).await;
    page.says("Keeping mount");
    page.says("Petra");
    page.says("Idris");
    coach.get(&format!("/students/{first}")).await.says("Fundamentals: Keeping mount");
    coach.get("/").await.says("Fundamentals: Keeping mount");
    let edit = coach.get(&format!("{path}/edit")).await;
    assert_eq!(edit.text.matches(" checked").count(), 2);
    let fields = [("revision", edit.field("revision")), ("title", String::new())];
    let fields: Vec<_> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    assert_eq!(coach.post(&path, &fields).await.status, 422);
    let far = edit.field("revision");
    let far = [("revision", far.as_str()), ("title", "Fundamentals"), ("date", "2126-11-02")];
    let refused = coach.post(&path, &far).await;
    assert!(refused.text.contains("more than a year ahead"), "{}", refused.text);
}

#[tokio::test]
async fn a_class_is_deleted_and_brought_back_unless_rounds_belong_to_it() {
    let served = Served::new(Access::ThisMachine).await;
    let [petra, idris] = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let class = Class {
        date: "2026-11-02".parse().unwrap(),
        title: "Fundamentals".to_owned(),
        topic: String::new(),
        notes: String::new(),
    };
    let id = served.book.put_class(&by(), None, &class, &[petra]).await.unwrap();
    let mut coach = served.browser();
    let path = format!("/classes/{}", id.0);
    let revision = coach.get(&path).await.field("revision");
    let deleted = coach.post(&format!("{path}/delete"), &[("revision", &revision)]).await;
    assert_eq!(deleted.location().as_deref(), Some("/classes"), "{}", deleted.text);
    assert_eq!(coach.get(&path).await.status, 404);
    let revision = coach.get("/classes").await.field("revision");
    coach.post("/classes/undo", &[("revision", &revision)]).await;
    assert_eq!(served.book.class(id).await.unwrap(), (class, vec![petra]));

    let round = served.round([petra, idris]).await;
    let facts = served.book.round_facts(round).await.unwrap();
    let facts = store::RoundFacts { class: Some(id), ..facts };
    served.book.change_round(&by(), round, "Changed it", &facts).await.unwrap();
    let revision = coach.get(&path).await.field("revision");
    let refused = coach.post(&format!("{path}/delete"), &[("revision", &revision)]).await;
    assert!(refused.text.contains("belong to this class"), "{}", refused.text);
    assert!(served.book.class(id).await.is_ok());
}

#[tokio::test]
async fn a_list_is_looked_at_then_taken_in_and_undone_as_one() {
    let served = Served::new(Access::ThisMachine).await;
    served.person(named("Petra")).await;
    let mut coach = served.browser();
    let list = "name,belt,stripes\nPetra,blue,1\nIdris,white,0\nWren,white,9\nAnouk,plaid,9\n";
    let look = coach.post("/students/import", &[("list", list)]).await;
    look.says("belt: white");
    look.says("Idris");
    look.says("a white belt has no 9 stripes");
    assert_eq!(look.text.matches("belt has no 9 stripes").count(), 1, "{}", look.text);
    look.says("<th scope=\"col\">stripes</th>");
    assert_eq!(served.book.members().await.unwrap().len(), 1, "looking changed something");
    let revision = look.field("revision");
    let take = [("step", "take"), ("list", list), ("revision", revision.as_str())];
    assert_eq!(coach.post("/students/import", &take).await.status, 422);
    let mut take = take.to_vec();
    take.push(("leave_out", "yes"));
    let done = coach.post("/students/import", &take).await;
    assert_eq!(done.location().as_deref(), Some("/students"), "{}", done.text);
    coach.get("/students").await.says("1 new, 1 changed, 2 rows left out.");
    assert_eq!(served.book.members().await.unwrap().len(), 2);
    let saved = coach.get("/students.csv").await;
    assert!(saved.text.contains("Petra,,student,blue,1"), "{}", saved.text);
    let revision = coach.get("/students").await.field("revision");
    coach.post("/students/undo", &[("revision", &revision)]).await;
    let kept = served.book.members().await.unwrap();
    assert_eq!((kept.len(), kept[0].1.belt), (1, Belt::White));
}

#[tokio::test]
async fn the_invented_academy_is_left_only_when_sure() {
    let served = Served::new(Access::ThisMachine).await;
    let mut coach = served.browser();
    let named_academy = |invented| AcademyFacts { name: "Invented".to_owned(), invented };
    served.book.put_academy(&by(), &named_academy(true)).await.unwrap();
    let petra = served.person(named("Petra")).await;
    let idris = served.person(Member { left: true, ..named("Idris") }).await;
    served.round([petra, idris]).await;
    let first = coach.get("/").await;
    first.says("Start your own academy");
    first.says("href=\"/rounds/1\">Look at a round");
    first.says("Your book is in");
    let unsure = coach.post("/settings/empty", &[("name", "Riverside")]).await;
    assert_eq!(unsure.status, 422);
    assert_eq!(served.book.members().await.unwrap().len(), 2);
    let revision = served.book.revision(Subject::Roster).await.unwrap();
    let sure = [("name", "Riverside"), ("sure", "yes")];
    assert_eq!(coach.post("/settings/empty", &sure).await.location().as_deref(), Some("/"));
    coach.get("/").await.says("The book is empty");
    assert!(served.book.members().await.unwrap().is_empty());
    assert_ne!(served.book.revision(Subject::Roster).await.unwrap(), revision);
    let aside = std::fs::read_dir(served.book.folder()).unwrap().filter_map(Result::ok);
    let aside: Vec<_> = aside
        .filter(|entry| entry.file_name().to_string_lossy().starts_with("invented-academy-"))
        .collect();
    assert_eq!(aside.len(), 1);
    // It opens as a book of its own, with everybody in it.
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(aside[0].path(), folder.path().join("book.sqlite")).unwrap();
    let copy = store::Book::open(folder.path()).await.unwrap();
    assert_eq!(copy.members().await.unwrap().len(), 2);
    // One's own academy is never emptied.
    served.person(named("Wren")).await;
    assert_eq!(coach.post("/settings/empty", &sure).await.status, 422);
    assert_eq!(served.book.members().await.unwrap().len(), 1);
}

#[tokio::test]
async fn a_taught_word_is_forgotten_and_brought_back() {
    let served = Served::new(Access::ThisMachine).await;
    served.book.teach(&by(), "camera", "kimura").await.unwrap();
    let mut coach = served.browser();
    let id = served.book.spoken_forms().await.unwrap()[0].id;
    let revision = served.book.revision(Subject::Words).await.unwrap().0.to_string();
    coach.get("/settings").await.says("“camera” means kimura");
    let forget = format!("/settings/words/{id}/forget");
    coach.post(&forget, &[("revision", &revision)]).await;
    assert!(served.book.spoken_forms().await.unwrap().is_empty());
    let revision = served.book.revision(Subject::Words).await.unwrap().0.to_string();
    coach.post("/settings/words/undo", &[("revision", &revision)]).await;
    assert_eq!(served.book.spoken_forms().await.unwrap().len(), 1);
}
