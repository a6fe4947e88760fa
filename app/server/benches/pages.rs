//! How long pages take with a thousand rounds in the book, each read from its talk.
//!
//! `cargo bench -p server --bench pages [-- ROUNDS]` (1,000 if nothing is said). Each page is asked
//! for many times over a connection on this machine; the times are from the request to the last
//! byte.

#[path = "../tests/app.rs"]
#[allow(dead_code, reason = "made for tests, of which this needs a part")]
mod app;

use std::path::PathBuf;
use std::time::Instant;

use academy::{Class, RoundKind, Time};
use app::{Served, by, named};
use server::Access;
use store::{Captions, RoundFacts, RoundId};

const PEOPLE: usize = 100;
/// Times that each page is asked for.
const TIMES: usize = 100;

fn main() {
    let rounds = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(1_000);
    let runtime = tokio::runtime::Runtime::new().expect("threads can be started");
    runtime.block_on(measure(rounds));
}

/// The talks over the invented rounds, and how long those lasted.
fn talks() -> Vec<(String, String, [String; 2], Time)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../samples/academy");
    let table = csv::Reader::from_path(folder.join("rounds.csv"));
    let mut table = table.expect("the samples are there");
    let mut talks = Vec::new();
    for line in table.records() {
        let line = line.expect("the samples are tables");
        if !line[0].is_empty() {
            let text = std::fs::read_to_string(folder.join("rounds").join(&line[0]));
            let length = Time::parse(&line[6]).expect("a length");
            let names = [line[4].to_owned(), line[5].to_owned()];
            talks.push((line[0].to_owned(), text.expect("the talk is there"), names, length));
        }
    }
    talks
}

async fn measure(count: usize) {
    let served = Served::new(Access::ThisMachine).await;
    let talks = talks();
    let mut people = std::collections::BTreeMap::new();
    for (_, _, names, _) in &talks {
        for name in names {
            if !people.contains_key(name) {
                people.insert(name.clone(), served.person(named(name)).await);
            }
        }
    }
    for number in people.len()..PEOPLE {
        served.person(named(&format!("Student {number}"))).await;
    }
    let day = |number: usize| -> jiff::civil::Date {
        format!("2026-{:02}-{:02}", 1 + number / 28 % 11, 1 + number % 28).parse().expect("a day")
    };
    let everybody: Vec<_> = people.values().copied().collect();
    for number in 0..200 {
        let class = Class {
            date: day(number),
            title: "Fundamentals".into(),
            topic: "half guard".into(),
            notes: String::new(),
        };
        served.book.put_class(&by(), None, &class, &everybody).await.expect("a class");
    }
    let mut rounds = Vec::new();
    for number in 0..count {
        let (name, text, names, length) = &talks[number % talks.len()];
        let facts = RoundFacts {
            date: day(number),
            kind: RoundKind::Flow,
            gi: true,
            athletes: [people[&names[0]], people[&names[1]]],
            length: *length,
            class: None,
            talk: Some(Captions { name: name.clone(), text: text.clone() }),
            media: None,
            confirmed: None,
        };
        rounds.push(served.book.add_round(&by(), &facts).await.expect("a round"));
    }
    println!("{count} rounds of {} people", people.len().max(PEOPLE));
    println!("| page | median | 95 % | longest |");
    println!("|---|---|---|---|");
    let student = everybody[0].0;
    // The talks repeat; every other page is of a round that was not shown before.
    let fresh = |turn: usize| format!("/rounds/{}", rounds[turn * 7 % rounds.len()].0);
    time(&served, "a round, not read yet", &fresh).await;
    let same = |RoundId(id): RoundId| move |_: usize| format!("/rounds/{id}");
    time(&served, "a round, again", &same(rounds[0])).await;
    for (what, path) in [
        ("Today", "/".to_owned()),
        ("Rounds", "/rounds".to_owned()),
        ("Rounds, the last fifty", format!("/rounds?page={}", count.div_ceil(50))),
        ("Rounds of one person", format!("/rounds?person={student}")),
        ("Students", "/students".to_owned()),
        ("a student", format!("/students/{student}")),
        ("the same in flow rolls", format!("/students/{student}?kind=flow")),
        ("a report", format!("/students/{student}/report")),
        ("a belt", "/students/belt/white".to_owned()),
        ("belt by belt", "/layers".to_owned()),
        ("a class", "/classes/1".to_owned()),
        ("Settings", "/settings".to_owned()),
        ("add a round", "/rounds/add".to_owned()),
        ("live", "/rounds/live".to_owned()),
        ("classes", "/classes".to_owned()),
    ] {
        time(&served, what, &|_| path.clone()).await;
    }
}

async fn time(served: &Served, what: &str, path: &dyn Fn(usize) -> String) {
    let mut browser = served.browser();
    let mut took = Vec::with_capacity(TIMES);
    for turn in 0..TIMES {
        let path = path(turn);
        let begun = Instant::now();
        let answer = browser.get(&path).await;
        took.push(begun.elapsed().as_secs_f64() * 1000.0);
        assert_eq!(answer.status, 200, "{path}: {}", answer.text);
        // As the page's script does: the question that was not known in time is fetched before
        // anybody looks at another page.
        if answer.text.contains("data-weighing") {
            browser.get(&format!("{path}?weigh=yes")).await;
        }
    }
    took.sort_by(f64::total_cmp);
    let [median, most, longest] = [TIMES / 2, TIMES * 95 / 100, TIMES - 1].map(|at| took[at]);
    println!("| {what} | {median:.1} ms | {most:.1} ms | {longest:.1} ms |");
}
