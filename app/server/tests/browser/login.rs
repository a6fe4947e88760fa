//! Logging in from the local network.

use server::Access;

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
