//! `grapevine report`: a page for a student.

use academy::{Consent, Goal, Member, Message};
use store::By;

use crate::figures::{with_book, with_ledgers};
use crate::program::Folder;

fn page(folder: &Folder) -> String {
    std::fs::read_to_string(folder.path("page.html")).expect("it was written")
}

#[test]
fn a_report_from_files_names_nobody_else() {
    let folder = with_ledgers();
    let report =
        ["report", "petra", "--out", "page.html", "--rounds", "ledgers", "--date", "2026-11-20"];
    let said = folder.run(&report).good();
    assert_eq!(said, "Wrote page.html: read it before you hand it on.\n");
    let first = page(&folder);
    assert!(first.contains("Petra") && first.contains("20 November 2026"), "{first}");
    assert!(!first.contains("Idris") && !first.contains("Wren"), "{first}");
    let again = folder.run(&report);
    assert_eq!(again.status, Some(1), "{}", again.err);
    folder.run(&[&report[..], &["--force"]].concat()).good();
    assert_eq!(page(&folder), first, "the same rounds and day give the same bytes");
    assert_eq!(folder.names(), ["ledgers", "page.html"]);
    let nobody = folder.run(&["report", "Nobody", "--out", "other.html", "--rounds", "ledgers"]);
    assert_eq!((nobody.status, folder.path("other.html").exists()), (Some(1), false));
}

#[tokio::test]
async fn a_report_from_the_book_holds_what_the_coach_keeps_and_whom_consent_allows() {
    let folder = Folder::new();
    let book = with_book(&folder).await;
    let by = By { who: "Ines".to_owned(), at: 0, seen: None };
    let people = book.members().await.expect("people");
    let of = |name: &str| people.iter().find(|(_, one)| one.name == name).expect("there").clone();
    let ((petra, _), (idris, mut about_idris)) = (of("Petra"), of("Idris"));
    let day = "2026-11-10".parse().expect("a day");
    let message = Message { day, words: "You stay calm now.".to_owned() };
    book.put_message(&by, petra, None, &message).await.expect("it is kept");
    let goal = |words: &str, reached| Goal { set: day, words: words.to_owned(), reached };
    book.put_goal(&by, petra, None, &goal("Frame first", None)).await.expect("it is kept");
    book.put_goal(&by, petra, None, &goal("Tie the belt", Some(day))).await.expect("it is kept");
    let round = book.rounds(&store::RoundFilter::default()).await.expect("rounds").remove(1).id;
    let time = academy::Time::from_millis(100_000);
    let words = "The armbar was close".to_owned();
    let note = store::Remark { id: 0, round, time, member: Some(petra), words };
    book.put_remark(&by, &note).await.expect("it is kept");

    let report = ["report", "Petra", "--out", "page.html", "--book", "book", "--force"];
    assert_eq!(folder.run(&report).status, Some(0));
    let silent = page(&folder);
    for words in ["You stay calm now.", "Frame first", "The armbar was close"] {
        assert!(silent.contains(words), "{words}: {silent}");
    }
    assert!(!silent.contains("Tie the belt") && !silent.contains("Idris"), "{silent}");

    about_idris.consent = Consent { club: true, public: false };
    book.change_member(&by, idris, &about_idris).await.expect("it is kept");
    assert_eq!(folder.run(&report).status, Some(0));
    assert!(page(&folder).contains("Idris"), "{}", page(&folder));
    book.close().await;
}

#[tokio::test]
async fn nobody_who_has_not_agreed_is_named_in_what_the_coach_wrote() {
    let folder = Folder::new();
    let book = with_book(&folder).await;
    let by = By { who: "Ines".to_owned(), at: 0, seen: None };
    let people = book.members().await.expect("people");
    let petra = people.iter().find(|(_, one)| one.name == "Petra").expect("there").0;
    // She has no round, and is named all the same.
    let wren = Member { name: "Wren Adder".to_owned(), ..Member::default() };
    book.add_member(&by, &wren).await.expect("a new name");
    let day = "2026-11-10".parse().expect("a day");
    let message = Message { day, words: "Breathe like WREN, Petra.".to_owned() };
    book.put_message(&by, petra, None, &message).await.expect("it is kept");
    let goal = Goal { set: day, words: "Pass idris and Adder".to_owned(), reached: None };
    book.put_goal(&by, petra, None, &goal).await.expect("it is kept");
    let round = book.rounds(&store::RoundFilter::default()).await.expect("rounds").remove(1).id;
    let time = academy::Time::from_millis(100_000);
    let words = "As Idris does it".to_owned();
    let note = store::Remark { id: 0, round, time, member: Some(petra), words };
    book.put_remark(&by, &note).await.expect("it is kept");
    folder.run(&["report", "Petra", "--out", "page.html", "--book", "book"]);
    let page = page(&folder);
    for words in [
        "From your coach, 10 November",
        "Breathe like a training partner, Petra.",
        "Pass a training partner and a training partner",
        "As a training partner does it",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let page = page.to_lowercase();
    assert!(!page.contains("idris") && !page.contains("wren") && !page.contains("adder"), "{page}");
    book.close().await;
}

#[tokio::test]
async fn a_minor_s_report_is_for_the_guardian_too_and_nobody_s_file_is_in_its_way() {
    let folder = Folder::new();
    let book = with_book(&folder).await;
    let by = By { who: "Ines".to_owned(), at: 0, seen: None };
    let people = book.members().await.expect("people");
    let (id, petra) = people.iter().find(|(_, one)| one.name == "Petra").expect("there").clone();
    let report = ["report", "Petra", "--out", "page.html", "--book", "book", "--force"];
    std::fs::write(folder.path("page.part"), "mine").expect("it is written");
    let ran = folder.run(&report);
    assert!(!ran.err.contains("guardian"), "{}", ran.err);
    let mine = std::fs::read_to_string(folder.path("page.part")).expect("it is there");
    assert_eq!(mine, "mine");
    let name = "Petra Sand".to_owned();
    let child = Member { name, birth_year: Some(jiff::ZonedDateTime::now().year() - 12), ..petra };
    book.change_member(&by, id, &child).await.expect("it is kept");
    let ran =
        folder.run(&["report", "Petra Sand", "--out", "page.html", "--book", "book", "--force"]);
    assert!(ran.err.contains("Petra Sand is a minor"), "{}", ran.err);
    assert!(page(&folder).contains("<h1>Petra</h1>"), "{}", page(&folder));
    assert_eq!(folder.names(), ["book", "page.html", "page.part"]);
    book.close().await;
}
