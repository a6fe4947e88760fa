//! Logging in from the local network.

use academy::Role;
use server::Access;
use store::MemberId;

use super::academy::{Start, serving};

#[test]
fn the_first_coach_makes_a_login_with_the_invitation() {
    serving(Start::FewRounds, Access::LocalNetwork, async |page, given| {
        let invitation = server::first_invitation(&given.app).await.expect("an invitation");
        page.open("/").await;
        page.sees("Log in").await;
        page.is_good("login").await;
        page.open(&invitation.expect("nobody is the coach yet")).await;
        page.is_good("welcome").await;
        page.fill("Name", "Thandeka").await;
        page.fill("Password", "too short").await;
        page.send("Make my login").await;
        page.sees("10 characters").await;
        page.fill("Password", "grips before posture").await;
        page.send("Make my login").await;
        page.sees("Today").await;
        page.send("Log out").await;
        page.sees("Log in").await;
        page.fill("Name", "thandeka").await;
        page.fill("Password", "posture before grips").await;
        page.send("Log in").await;
        page.sees("Password").await;
        page.fill("Password", "grips before posture").await;
        page.send("Log in").await;
        page.sees("Nadira and Haruki").await;
        // Pages that refuse a form say so to the console too.
        page.complaints().await;
    });
}

#[test]
fn a_student_sees_the_own_page_and_nobody_elses() {
    serving(Start::FewRounds, Access::LocalNetwork, async |page, given| {
        let members = given.book.members().await.expect("people");
        let id = |name: &str| -> MemberId {
            members.iter().find(|(_, member)| member.name == name).expect("a person").0
        };
        let (own, other) = (id("Haruki"), id("Aurelie"));
        let token = "a-token-that-nobody-guesses";
        let invited = given.book.invite(Role::Student, Some(own), token, i64::MAX).await;
        invited.expect("an invitation");
        page.open(&format!("/welcome/{token}")).await;
        page.sees("Haruki").await;
        page.fill("Name", "haruki").await;
        page.fill("Password", "elbow escape, then knee").await;
        page.send("Make my login").await;
        page.open(&format!("/students/{}", own.0)).await;
        page.sees("Haruki").await;
        page.has_no_complaints().await;
        for path in ["/students".to_owned(), format!("/students/{}", other.0), "/settings".into()] {
            page.open(&path).await;
            page.sees("Not yours").await;
        }
        page.complaints().await;
    });
}
