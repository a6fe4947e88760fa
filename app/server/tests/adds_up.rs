//! What a round adds up to, on its page.

use academy::{Athlete, EventKind, Member, Position, Role, RoundKind};
use server::Access;

use crate::app::{Served, named};
use crate::logins::join;
use crate::told::{a_small_academy, days_ago, told_round};

#[tokio::test]
async fn a_round_adds_up_to_time_pace_and_points_with_their_reasons() {
    use Athlete::First;
    let served = Served::new(Access::ThisMachine).await;
    let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let parts = [
        (0, Position::Standing, None),
        (60, Position::ClosedGuard, Some(First)),
        (120, Position::SideControl, Some(First)),
        (240, Position::Mount, Some(First)),
    ];
    let deeds = [(60, EventKind::Takedown, First), (250, EventKind::SubmissionAttempt, First)];
    let day = days_ago(3);
    let id = told_round(&served.book, athletes, (day, RoundKind::Flow), &parts, &deeds).await;
    let mut coach = served.browser();
    let page = coach.get(&format!("/rounds/{}", id.0)).await;
    page.says("What it adds up to");
    // Sixty seconds of side control and mount each, of 300.
    page.says(
        "<th scope=\"row\">side control, Petra on top</th><td>40 %</td><td>1</td><td>2:00</td>",
    );
    page.says("Somebody was pinned for 60 % of it.");
    page.says("Of the time that somebody was on top it was Petra for 100 %.");
    page.says("Petra went for 1 submission, Idris for none.");
    // More than half of a flow roll in pins is worth a word whatever the others are like.
    page.says("meant as a flow roll, and more than half of it was pins");
    // A takedown 2, a pass 3 and mount 4 by the one book; the edition is named, the referee's book
    // decides.
    page.says("IBJJF rule book: Petra 9, Idris 0");
    page.says("as published pages gave them in 2024");
    page.says("<b>+3</b> Petra passed from closed guard to side control and kept the control");
    page.says("The referee's rule book decides");
}

#[tokio::test]
async fn a_round_nobody_told_adds_up_to_nothing() {
    let served = Served::new(Access::ThisMachine).await;
    let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let id = served.round(athletes).await;
    let page = served.browser().get(&format!("/rounds/{}", id.0)).await;
    page.says("Nothing is known of this round yet");
    assert!(!page.text.contains("As a match would be scored"));
}

#[tokio::test]
async fn a_student_reads_no_name_in_the_points_that_they_may_not_read() {
    let served = Served::new(Access::LocalNetwork).await;
    let people = a_small_academy(&served.book).await;
    let shy = served.book.member(people[1]).await.unwrap();
    let shy = Member { consent: academy::Consent::default(), ..shy };
    served.book.change_member(&crate::app::by(), people[1], &shy).await.unwrap();
    let remark = store::Remark {
        id: 0,
        round: store::RoundId(1),
        time: academy::Time::from_millis(1000),
        member: None,
        words: "Like Idris, but sooner".to_owned(),
    };
    served.book.put_remark(&crate::app::by(), &remark).await.unwrap();
    let mut own = join(&served, Role::Student, Some(people[0]), "petra").await;
    let page = own.get("/rounds/1").await;
    page.says("What it adds up to");
    page.says("Like a training partner, but sooner");
    assert!(!page.text.contains("Idris"), "{}", page.text);
}
