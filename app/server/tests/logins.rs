//! Logging in over the local network, and what each role gets to see.

#![allow(clippy::unwrap_used, reason = "a test that cannot begin has failed")]

use academy::{Consent, Member, Role};
use server::Access;

use crate::app::{Browser, Served, by, named};
use crate::uploads::ask;

const PASSWORD: &str = "knee shield first";

/// Invites somebody and makes their login; gives their logged-in browser.
pub(crate) async fn join(
    served: &Served,
    role: Role,
    member: Option<store::MemberId>,
    login: &str,
) -> Browser {
    let token = format!("token of {login}").replace(' ', "-");
    served.book.invite(role, member, &token, i64::MAX).await.unwrap();
    let mut browser = served.browser();
    let path = format!("/welcome/{token}");
    browser.get(&path).await.says("Choose a name and a password");
    let answer = browser.post(&path, &[("login", login), ("password", PASSWORD)]).await;
    assert_eq!(answer.location().as_deref(), Some("/"), "{}", answer.text);
    browser
}

#[tokio::test]
async fn nobody_gets_in_without_a_login() {
    let served = Served::new(Access::LocalNetwork).await;
    for path in ["/", "/students", "/students.csv", "/settings", "/students/1", "/classes"] {
        let answer = served.browser().get(path).await;
        assert_eq!(answer.location().as_deref(), Some("/login"), "{path}");
    }
    let answer = served.browser().post("/students/add", &[("name", "Petra")]).await;
    assert_eq!(answer.location().as_deref(), Some("/login"));
    // A page's script stays where it is and says so.
    let told = ask(&mut served.browser(), &served, "POST", "/rounds/1/live", "{}").await;
    assert_eq!((told.status, told.location()), (401, None));
    let words = "You are logged out. Log in in another tab, then try again.";
    assert_eq!(told.text, serde_json::json!({ "error": words }).to_string());
    let mut forged = served.browser();
    forged.cookies.insert("grapevine_session".to_owned(), "0".repeat(64));
    assert_eq!(forged.get("/").await.location().as_deref(), Some("/login"));
}

#[tokio::test]
async fn a_coach_joins_logs_out_and_in_again() {
    let served = Served::new(Access::LocalNetwork).await;
    let mut ines = join(&served, Role::Coach, None, "Ines").await;
    ines.get("/settings").await.says("Taught words");
    let before = ines.cookies["grapevine_session"].clone();
    ines.post("/logout", &[]).await;
    assert_eq!(ines.get("/").await.location().as_deref(), Some("/login"));
    // The old token is worth nothing, also to whoever has kept it.
    ines.cookies.insert("grapevine_session".to_owned(), before);
    assert_eq!(ines.get("/").await.location().as_deref(), Some("/login"));
    let wrong = ines.post("/login", &[("login", "Ines"), ("password", "knee shield")]).await;
    assert_eq!(wrong.status, 422);
    assert!(wrong.text.contains("The name or the password is not right."), "{}", wrong.text);
    assert!(!wrong.text.contains("knee shield"), "the password came back");
    let right = ines.post("/login", &[("login", " INES"), ("password", PASSWORD)]).await;
    assert_eq!(right.location().as_deref(), Some("/"));
    let cookie = right.headers["set-cookie"].to_str().unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    ines.get("/settings").await.says("Taught words");
}

#[tokio::test]
async fn a_login_ends_with_its_time() {
    let served = Served::new(Access::LocalNetwork).await;
    join(&served, Role::Coach, None, "Ines").await;
    let account = served.book.account("ines").await.unwrap().unwrap().id;
    let now = jiff::Timestamp::now().as_second();
    let mut browser = served.browser();
    for (token, expires_at, to) in [("old", now - 1, Some("/login")), ("fresh", now + 60, None)] {
        served.book.begin_session(account, token, now - 9, expires_at).await.unwrap();
        browser.cookies.insert("grapevine_session".to_owned(), token.to_owned());
        assert_eq!(browser.get("/").await.location().as_deref(), to, "{token}");
    }
    // Using it kept it going for another thirty days.
    let (_, until) = served.book.session("fresh", now + 3600).await.unwrap().unwrap();
    assert!(until > now + 29 * 86_400, "{until}");
}

#[tokio::test]
async fn an_invitation_works_once_and_in_time() {
    let served = Served::new(Access::LocalNetwork).await;
    join(&served, Role::Coach, None, "Ines").await;
    let fields = [("login", "Mallory"), ("password", PASSWORD)];
    let mut other = served.browser();
    let used = other.get("/welcome/token-of-Ines").await;
    assert_eq!(used.status, 410);
    let used = other.post("/welcome/token-of-Ines", &fields).await;
    assert_eq!(used.status, 410);
    served.book.invite(Role::Coach, None, "late", 1_790_000_000).await.unwrap();
    assert_eq!(other.post("/welcome/late", &fields).await.status, 410);
    assert_eq!(served.book.accounts().await.unwrap().len(), 1);
    // A password that is too short, or a name that is taken, does not use it up.
    served.book.invite(Role::Coach, None, "good", i64::MAX).await.unwrap();
    let short = other.post("/welcome/good", &[("login", "Kofi"), ("password", "short")]).await;
    assert_eq!(short.status, 422);
    assert!(short.text.contains("at least 10 characters") || short.text.contains("At least 10"));
    let taken = other.post("/welcome/good", &[("login", "ines"), ("password", PASSWORD)]).await;
    assert_eq!(taken.status, 422);
    assert!(taken.text.contains("This name is taken"), "{}", taken.text);
    let made = other.post("/welcome/good", &[("login", "Kofi"), ("password", PASSWORD)]).await;
    assert_eq!(made.location().as_deref(), Some("/"));
}

#[tokio::test]
async fn the_first_coach_is_invited_and_invites_others() {
    let folder = tempfile::tempdir().unwrap();
    let book = store::Book::open(folder.path()).await.unwrap();
    let app = server::App::new(book.clone(), Access::LocalNetwork).unwrap();
    let path = server::first_invitation(&app).await.unwrap().unwrap();
    assert!(path.starts_with("/welcome/") && path.len() > 64, "{path}");

    let served = Served::new(Access::LocalNetwork).await;
    let petra = served.person(named("Petra")).await;
    let mut ines = join(&served, Role::Coach, None, "Ines").await;
    let nobody = ines.post("/settings/people", &[("role", "student"), ("member", "")]).await;
    assert_eq!(nobody.status, 422);
    let member = petra.0.to_string();
    let shown = ines.post("/settings/people", &[("role", "student"), ("member", &member)]).await;
    shown.says("Invitation for Petra");
    assert!(shown.text.contains("<svg role=\"img\""), "{}", shown.text);
    let link = shown.text.split("<a href=\"http://").nth(1).unwrap().split('"').next().unwrap();
    let path = &link[link.find('/').unwrap()..];
    let mut phone = served.browser();
    phone.get(path).await.says("Welcome, Petra");
    phone.post(path, &[("login", "petra"), ("password", PASSWORD)]).await;
    phone.visit("/").await.says("<h1>Petra</h1>");
    // Taken away, the login is worth nothing from then on.
    let account = served.book.account("petra").await.unwrap().unwrap().id.0;
    ines.post(&format!("/settings/people/{account}/revoke"), &[]).await;
    assert_eq!(phone.get("/").await.location().as_deref(), Some("/login"));
    let own = served.book.account("ines").await.unwrap().unwrap().id.0;
    assert_eq!(ines.post(&format!("/settings/people/{own}/revoke"), &[]).await.status, 422);
}

#[tokio::test]
async fn a_student_sees_their_own_page_only() {
    let served = Served::new(Access::LocalNetwork).await;
    let petra =
        served.person(Member { notes: "Comes late on Mondays".into(), ..named("Petra") }).await;
    let idris = served.person(named("Idris")).await;
    let mut agreed = named("Wren");
    agreed.consent.club = true;
    let wren = served.person(agreed).await;
    served.round([petra, idris]).await;
    served.round([wren, petra]).await;
    served.round([idris, wren]).await;
    let mut phone = join(&served, Role::Student, Some(petra), "petra").await;
    let own = phone.visit("/").await;
    own.says("<h1>Petra</h1>");
    assert!(!own.text.contains("Comes late"), "a student read the coach's notes");
    assert!(own.text.contains("With Wren") && own.text.contains("With a training partner"));
    assert!(!own.text.contains("Idris"), "{}", own.text);
    let other = format!("/students/{}", idris.0);
    for path in [&other, "/students", "/students.csv", "/settings", "/settings/people", "/classes"]
    {
        assert_eq!(phone.get(path).await.status, 403, "{path}");
    }
    let edit = format!("/students/{}", petra.0);
    for path in [&edit, "/students/add", "/students/undo", "/classes/add", "/settings/empty"] {
        let answer = phone.post(path, &[("name", "Petra"), ("revision", "3")]).await;
        assert_eq!(answer.status, 403, "{path}");
    }
    assert_eq!(served.book.member(petra).await.unwrap().belt, academy::Belt::White);
}

#[tokio::test]
async fn an_assistant_changes_students_but_no_settings() {
    let served = Served::new(Access::LocalNetwork).await;
    let mut kofi = join(&served, Role::Assistant, None, "Kofi").await;
    let revision = kofi.get("/students/add").await.field("revision");
    let fields =
        [("name", "Petra"), ("belt", "blue"), ("role", "coach"), ("revision", revision.as_str())];
    let added = kofi.post("/students/add", &fields).await;
    assert_eq!(added.status, 303, "{}", added.text);
    let (_, petra) = served.book.members().await.unwrap().remove(0);
    assert_eq!(petra.role, Role::Student, "an assistant made somebody a coach");
    assert_eq!(kofi.get("/settings").await.status, 403);
    let invited = kofi.post("/settings/people", &[("role", "coach"), ("member", "")]).await;
    assert_eq!(invited.status, 403);
    assert!(served.book.invitations(0).await.unwrap().is_empty());
}

#[tokio::test]
async fn ten_thousand_guesses_cost_little_and_lead_nowhere() {
    let served = Served::new(Access::LocalNetwork).await;
    join(&served, Role::Coach, None, "Ines").await;
    let mut thief = served.browser();
    let mut looked_at = 0;
    for number in 0..10_000 {
        let password = format!("guess number {number}");
        let name = if number % 2 == 0 { "ines".to_owned() } else { format!("name {number}") };
        let answer = thief.post("/login", &[("login", &name), ("password", &password)]).await;
        match answer.status {
            422 => looked_at += 1,
            429 => assert!(answer.headers.contains_key("retry-after")),
            other => panic!("{other}: {}", answer.text),
        }
    }
    // The address has to wait after ten, then ever longer.
    assert!((10..30).contains(&looked_at), "{looked_at} passwords were looked at");
    let wait = thief.post("/login", &[("login", "ines"), ("password", PASSWORD)]).await;
    assert_eq!(wait.status, 429);
    assert!(wait.text.contains("You can try again in"), "{}", wait.text);
    assert_eq!(served.browser().get("/login").await.status, 200);
}

#[tokio::test]
async fn an_assistant_locks_no_coach_out_and_makes_none_by_a_list() {
    let served = Served::new(Access::LocalNetwork).await;
    let ines = served.person(named("Ines")).await;
    let mut coach = join(&served, Role::Coach, Some(ines), "ines").await;
    let mut kofi = join(&served, Role::Assistant, None, "Kofi").await;
    let left = format!("/students/{}/left", ines.0);
    let fields = [("left", "yes"), ("revision", "1")];
    assert_eq!(kofi.post(&left, &fields).await.status, 422);
    assert_eq!(coach.post(&left, &fields).await.status, 422, "a coach's own login");
    coach.get("/settings").await.says("Taught words");
    assert!(!served.book.member(ines).await.unwrap().left);
    let list = [("step", "take"), ("list", "name,role\nPetra,coach\n"), ("revision", "1")];
    assert_eq!(kofi.post("/students/import", &list).await.status, 422);
    assert_eq!(served.book.members().await.unwrap().len(), 1);
}

#[tokio::test]
async fn whoever_left_is_not_let_in_however_that_was_said() {
    let served = Served::new(Access::LocalNetwork).await;
    let petra = served.person(named("Petra")).await;
    let mut phone = join(&served, Role::Student, Some(petra), "petra").await;
    phone.visit("/").await.says("<h1>Petra</h1>");
    let gone = Member { left: true, ..named("Petra") };
    served.book.change_member(&by(), petra, &gone).await.unwrap();
    assert_eq!(phone.get("/").await.location().as_deref(), Some("/login"));
    // Why is said to whoever knows the password.
    for (password, why) in [(PASSWORD, true), ("another sentence", false)] {
        let fields = [("login", "petra"), ("password", password)];
        let refused = phone.post("/login", &fields).await;
        assert!(!refused.headers.contains_key("set-cookie"), "{refused:?}");
        assert_eq!(refused.text.contains("you have left"), why, "{}", refused.text);
    }
}

#[tokio::test]
async fn a_student_gets_a_recording_only_while_all_in_it_agree() {
    let served = Served::new(Access::LocalNetwork).await;
    let agrees = |name: &str, club: bool| Member {
        birth_year: Some(1990),
        consent: Consent { club, public: false },
        ..named(name)
    };
    let petra = served.person(named("Petra")).await;
    let wren = served.person(agrees("Wren", true)).await;
    let idris = served.person(agrees("Idris", false)).await;
    let bytes = [&b"\0\0\0\x20ftypisom\0\0\x02\0"[..], &[0; 100]].concat();
    let upload = served.book.begin_upload("mat.mp4", bytes.len() as u64, 0).await.unwrap();
    served.book.append(&upload, 0, bytes).await.unwrap();
    let hash = served.book.finish_upload(&upload).await.unwrap();
    let show = async |athletes| {
        let round = served.round(athletes).await;
        let mut facts = served.book.round_facts(round).await.unwrap();
        facts.media = Some(hash.clone());
        served.book.change_round(&by(), round, "Added the recording", &facts).await.unwrap();
        format!("/rounds/{}", round.0)
    };
    let path = format!("/media/{hash}");
    let mut phone = join(&served, Role::Student, Some(petra), "petra").await;
    assert_eq!(phone.get(&path).await.status, 403);
    let round = show([petra, wren]).await;
    assert_eq!(phone.get(&path).await.status, 200);
    phone.get(&round).await.says("id=\"player\"");
    // The same recording shows another round, of somebody who does not agree.
    show([wren, idris]).await;
    assert_eq!(phone.get(&path).await.status, 403);
    assert!(!phone.get(&round).await.text.contains("id=\"player\""));
}
