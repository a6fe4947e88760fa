//! Fifty phones on the local network: forty students who look at their pages and ten assistants
//! who tell rounds live, each doing something once a second.
//!
//! `cargo bench -p server --bench phones [-- SECONDS]` (300 if nothing is said). Prints, for each
//! kind of request, how many there were and how long they took; ends with an error if any failed.

#[path = "../tests/app.rs"]
#[allow(dead_code, reason = "made for tests, of which this needs a part")]
mod app;

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::process::ExitCode;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use academy::Role;
use app::{Answer, Browser, Served, named};
use axum::http::Request;
use http_body_util::Full;
use server::Access;
use store::{MemberId, RoundId};

const STUDENTS: usize = 40;
const ASSISTANTS: usize = 10;
/// Rounds that each student was in.
const ROUNDS_EACH: usize = 25;

/// Milliseconds of every request, by what was asked; and what failed.
#[derive(Default)]
struct Seen {
    took: BTreeMap<&'static str, Vec<f64>>,
    failed: Vec<String>,
}

type Shared = Arc<Mutex<Seen>>;

fn main() -> ExitCode {
    // What `cargo bench` adds begins with dashes.
    let seconds = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(300);
    let runtime = tokio::runtime::Runtime::new().expect("threads can be started");
    let seen = runtime.block_on(everybody(Duration::from_secs(seconds)));
    let mut seen = std::mem::take(&mut *seen.lock().expect("nobody panicked"));
    println!("{STUDENTS} students and {ASSISTANTS} assistants for {seconds} s");
    println!("| what | times | median | 95 % | 99 % | longest |");
    println!("|---|---|---|---|---|---|");
    for (what, took) in &mut seen.took {
        took.sort_by(f64::total_cmp);
        let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
        let [median, most, nearly, longest] = [0.5, 0.95, 0.99, 1.0].map(at);
        let count = took.len();
        println!(
            "| {what} | {count} | {median:.1} ms | {most:.1} ms | {nearly:.1} ms | {longest:.1} ms |"
        );
    }
    println!("failed: {}", seen.failed.len());
    for failure in seen.failed.iter().take(10) {
        println!("  {failure}");
    }
    if seen.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

async fn everybody(time: Duration) -> Shared {
    let served = Served::new(Access::LocalNetwork).await;
    let mut students = Vec::new();
    for number in 0..STUDENTS {
        students.push(served.person(named(&format!("Student {number}"))).await);
    }
    let mut rounds = Vec::new();
    for one in 0..STUDENTS * ROUNDS_EACH / 2 {
        let pair = [one % STUDENTS, (one + 1 + one / STUDENTS) % STUDENTS];
        let pair = pair.map(|student| students[student]);
        if pair[0] != pair[1] {
            rounds.push((served.round(pair).await, pair));
        }
    }
    let mut phones = Vec::new();
    for (number, student) in students.iter().enumerate() {
        let own = |(_, pair): &&(RoundId, [MemberId; 2])| pair.contains(student);
        let own: Vec<RoundId> = rounds.iter().filter(own).map(|(round, _)| *round).collect();
        let browser = let_in(&served, Role::Student, Some(*student), number).await;
        phones.push(Phone::Student { browser, student: *student, rounds: own });
    }
    for number in 0..ASSISTANTS {
        let browser = let_in(&served, Role::Assistant, None, STUDENTS + number).await;
        phones.push(Phone::Assistant { browser, address: served.address, number });
    }
    let seen = Shared::default();
    let end = Instant::now() + time;
    let running: Vec<_> = (phones.into_iter().enumerate())
        .map(|(number, phone)| tokio::spawn(phone.use_until(end, number, seen.clone())))
        .collect();
    for phone in running {
        if let Err(error) = phone.await {
            seen.lock().expect("nobody panicked").failed.push(error.to_string());
        }
    }
    seen
}

/// Somebody follows an invitation and is logged in.
async fn let_in(served: &Served, role: Role, member: Option<MemberId>, number: usize) -> Browser {
    let token = format!("{number:064}");
    let now = jiff::Timestamp::now().as_second();
    let invited = served.book.invite(role, member, &token, now + 3600).await;
    invited.expect("an invitation can be kept");
    let mut browser = served.browser();
    let login = format!("phone {number}");
    let fields =
        [("login", login.as_str()), ("password", "correct horse"), ("again", "correct horse")];
    let answer = browser.post(&format!("/welcome/{token}"), &fields).await;
    assert_eq!(answer.status, 303, "{}", answer.text);
    browser
}

enum Phone {
    Student { browser: Browser, student: MemberId, rounds: Vec<RoundId> },
    Assistant { browser: Browser, address: SocketAddr, number: usize },
}

impl Phone {
    async fn use_until(self, end: Instant, number: usize, seen: Shared) {
        // Not all at the same moment.
        tokio::time::sleep(Duration::from_millis(20 * number as u64)).await;
        match self {
            Phone::Student { mut browser, student, rounds } => {
                let mut turn = 0;
                while Instant::now() < end {
                    let round = rounds[turn % rounds.len()].0;
                    let (what, path) = match turn % 3 {
                        0 => ("Today", "/".to_owned()),
                        1 => ("own page", format!("/students/{}", student.0)),
                        _ => ("a round", format!("/rounds/{round}")),
                    };
                    let begun = Instant::now();
                    let answer = browser.visit(&path).await;
                    note(&seen, what, begun, &answer);
                    turn += 1;
                    tokio::time::sleep(Duration::from_secs(1).saturating_sub(begun.elapsed()))
                        .await;
                }
            }
            Phone::Assistant { mut browser, address, number } => {
                tell(&mut browser, address, number, end, &seen).await
            }
        }
    }
}

/// Tells rounds live, a press a second, each round a minute long.
async fn tell(
    browser: &mut Browser,
    address: SocketAddr,
    number: usize,
    end: Instant,
    seen: &Shared,
) {
    const PRESSES: u32 = 60;
    let names = [format!("Student {}", number * 2), format!("Student {}", number * 2 + 1)];
    while Instant::now() < end {
        let begun = Instant::now();
        let fields = [
            ("first", names[0].as_str()),
            ("second", names[1].as_str()),
            ("kind", "flow"),
            ("gi", "yes"),
            ("length", "5:00"),
        ];
        let answer = browser.post("/rounds/live", &fields).await;
        note(seen, "begin a round", begun, &answer);
        let Some(page) = answer.location() else { return };
        for press in 0..PRESSES {
            if Instant::now() >= end {
                return;
            }
            let begun = Instant::now();
            let at = u64::from(press) * 1000;
            let what = match press {
                0 => r#""kind":"start","clock":1790000000000"#.to_owned(),
                59 => r#""kind":"finish""#.to_owned(),
                odd if odd % 2 == 1 => {
                    format!(r#""kind":"position","id":"mount","athlete":{}"#, odd / 2 % 2)
                }
                _ => r#""kind":"event","id":"escape","athlete":1"#.to_owned(),
            };
            let body = format!(
                r#"{{"page":"phone{number}","presses":[{{"number":{press},"at":{at},{what}}}]}}"#
            );
            let request = Request::post(&page)
                .header("origin", format!("http://{address}"))
                .header("accept", "application/json")
                .header("content-type", "application/json")
                .body(Full::from(body));
            let answer = browser.send(request.expect("a request")).await;
            note(seen, "a press", begun, &answer);
            tokio::time::sleep(Duration::from_secs(1).saturating_sub(begun.elapsed())).await;
        }
    }
}

fn note(seen: &Shared, what: &'static str, begun: Instant, answer: &Answer) {
    let took = begun.elapsed().as_secs_f64() * 1000.0;
    let mut seen = seen.lock().expect("nobody panicked");
    seen.took.entry(what).or_default().push(took);
    if answer.status >= 400 {
        seen.failed.push(format!("{what}: {} {}", answer.status, answer.text));
    }
}
