//! Students, classes, lists of people and settings.

use academy::{Class, Role};
use server::Access;
use store::{Remark, RoundId};

use super::academy::{Start, at_this_machine, by, serving, some_days_ago};
use super::page::Page;

/// Opens pages one after the other and says everything that is wrong with any.
async fn all_good(page: &Page, pages: &[(&str, &str)]) {
    let mut faults = Vec::new();
    for (path, name) in pages {
        page.open(path).await;
        faults.extend(page.faults(name).await);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn pages_of_an_empty_book_are_good() {
    at_this_machine(Start::Empty, async |page| {
        let pages = [("/", "today-empty"), ("/students", "students-empty")];
        all_good(page, &pages).await;
    });
}

#[test]
fn pages_of_people_are_good() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        let book = &given.book;
        let people = book.members().await.expect("people");
        let class = Class {
            date: some_days_ago(3),
            title: "Fundamentals".to_owned(),
            topic: "Keeping mount".to_owned(),
            notes: String::new(),
        };
        let [first, second] = [people[0].0, people[1].0];
        book.put_class(&by(), None, &class, &[first, second]).await.expect("a class");
        let remark = Remark {
            id: 0,
            round: RoundId(1),
            time: academy::Time::from_millis(83_000),
            member: None,
            words: "Lovely patience before the pass.".to_owned(),
        };
        book.put_remark(&by(), &remark).await.expect("a note");
        book.teach(&by(), "camera", "kimura").await.expect("a word");
        let pages = [
            ("/students", "students"),
            ("/students?q=nobody", "students-none-found"),
            ("/students/1", "student"),
            ("/students/add", "student-add"),
            ("/students/import", "roster"),
            ("/classes", "classes"),
            ("/classes/1", "class"),
            ("/classes/1/edit", "class-edit"),
            ("/settings", "settings"),
            ("/settings/people", "logins"),
            ("/settings/empty", "empty-refused"),
        ];
        all_good(page, &pages).await;
    });
}

#[test]
fn a_list_is_pasted_looked_at_and_taken_in() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open("/students/import").await;
        page.fill("The list", "name,belt,stripes\nNadira,purple,1\nOluwaseun,white,0\nX,white,9\n")
            .await;
        page.send("Look at what would change").await;
        page.sees("a white belt has no 9 stripes").await;
        page.is_good("roster-preview").await;
        page.tick("Leave out the rows with a problem and take the others in").await;
        page.send("Take it in").await;
        page.sees("Oluwaseun").await;
        page.send("Undo: Imported 1 person and changed 1").await;
        page.sees("Undone").await;
        page.sees_no("Oluwaseun").await;
    });
}

#[test]
fn a_form_says_what_is_wrong_where_it_is() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open("/students/add").await;
        page.fill("Name", "nadira").await;
        page.fill("Weight in kilograms", "heavy").await;
        page.send("Keep").await;
        page.sees("Write kilograms as a number").await;
        page.complaints().await;
        page.is_good("student-add-wrong").await;
    });
}

#[test]
fn a_coach_invites_somebody() {
    serving(Start::FewRounds, Access::LocalNetwork, async |page, given| {
        given.book.invite(Role::Coach, None, "first", i64::MAX).await.expect("an invitation");
        page.open("/welcome/first").await;
        page.fill("Name", "Thandeka").await;
        page.fill("Password", "grips before posture").await;
        page.send("Make my login").await;
        page.open("/settings/people").await;
        page.choose("Who it is", "Nadira").await;
        page.send("Make an invitation").await;
        page.sees("Invitation for Nadira").await;
        page.is_good("invited").await;
        page.open("/settings/people").await;
        page.is_good("logins-with-some").await;
        page.open("/welcome/first").await;
        page.complaints().await;
        page.is_good("invitation-gone").await;
    });
}

#[test]
fn somebody_is_added_changed_and_the_change_is_undone() {
    at_this_machine(Start::FewRounds, async |page| {
        page.open("/").await;
        page.follow("Students").await;
        page.sees("Gwendolyn").await;
        page.follow("Add somebody").await;
        page.fill("Name", "Ottilie").await;
        page.choose("Belt", "green").await;
        page.fill("Weight in kilograms", "61.5").await;
        page.tick("May be shown within the club").await;
        page.send("Keep").await;
        page.sees("Ottilie").await;
        page.sees("61.5").await;
        page.follow("Change").await;
        page.fill("Name", "").await;
        page.send("Keep").await;
        page.sees("needs a name").await;
        // What else was typed is still there.
        assert_eq!(page.value("Weight in kilograms").await, "61.5");
        page.fill("Name", "Ottilie").await;
        page.fill("Notes", "Left knee: no heel hooks.").await;
        page.send("Keep").await;
        page.sees("Left knee").await;
        page.follow("Students").await;
        page.send("Undo: Changed what is kept of Ottilie").await;
        page.follow("Ottilie").await;
        page.sees_no("Left knee").await;
        page.follow("Students").await;
        page.send("Undo: Added Ottilie").await;
        assert!(!page.has("link", "Ottilie").await);
        page.send("Do again: Added Ottilie").await;
        page.follow("Ottilie").await;
        page.sees("61.5").await;
        page.complaints().await;
    });
}
