//! From fresh captions to a confirmed round by answering questions, with keys alone. The coach of
//! these tests knows what happened. How many presses that takes, and how much of the round is right
//! before and after, is written to `build/interactions.txt`.

use std::fmt::Write as _;
use std::fs;
use std::thread;

use academy::{Answer, Athlete, Member, Position, Round, Time};
use decode::RoundReader;
use decode::decoder::Decoder;
use decode::evaluation::scores::score;
use decode::evaluation::truth::Truth;
use decode::grammar::Grammar;
use decode::parameters::{ReaderModel, Settings};
use fantoccini::key::Key;
use serde::Deserialize;
use serde_json::json;
use server::{Access, App};
use store::{Book, Captions, RoundFacts, RoundId};

use super::academy::{Given, Start, by, serving_with, some_days_ago};
use super::checks::root;
use super::page::Page;

/// Rounds of several speakers, and the reader that was trained without each.
const ROUNDS: [(&str, &str); 6] = [
    ("r01", "r01-r05"),
    ("r08", "r06-r10"),
    ("r12", "r11-r13"),
    ("r18", "r17-r19"),
    ("r24", "r23-r25"),
    ("r33", "r32-r34"),
];

/// Answers after which a round should long have been settled.
const MOST_ANSWERS: usize = 120;

/// A time that is told is good enough within so many milliseconds.
const NEAR_MILLIS: u64 = 1_000;

/// What an arrow key steps over, in milliseconds.
const STEP_MILLIS: u64 = 2_000;

/// Lets time pass: the page's clock, which plays, goes on to a moment.
const PASS: &str = r#"
window.passed ??= { now: performance.now.bind(performance), millis: 0 };
performance.now = () => window.passed.now() + window.passed.millis;
window.passed.millis += arguments[0];
"#;

/// Whether the clock plays.
const PLAYS: &str =
    "return document.getElementById('clock-play')?.getAttribute('aria-pressed') === 'true'";

/// What the page asks.
const ASKED: &str = r#"
const question = document.getElementById("question");
const value = (id) => document.getElementById(id)?.value ?? null;
return {
  revision: document.querySelector('#part-ask input[name=revision]')?.value ?? "",
  weighing: question === null || "weighing" in question.dataset,
  confirm: Boolean(question?.querySelector("[data-confirm]")),
  refused: document.querySelector("p.said.bad")?.textContent ?? "",
  sentence: document.getElementById("asked")?.textContent ?? "",
  times: question?.querySelector("form.when [name=token]")?.value ?? null,
  clock: value("clock-time"),
  began: value("began"),
  ended: value("ended"),
  choices: [...(question?.querySelectorAll("button[data-choice][name=token]") ?? [])].map(
    (button) => ({ key: button.dataset.choice, token: button.value })),
  others: [...(question?.querySelectorAll('#other option') ?? [])].map(
    (option) => ({ key: option.textContent, token: option.value })),
};
"#;

#[derive(Debug, Deserialize)]
struct Asked {
    revision: String,
    weighing: bool,
    confirm: bool,
    refused: String,
    sentence: String,
    /// The token of the spell whose times are asked for.
    times: Option<String>,
    clock: Option<String>,
    began: Option<String>,
    ended: Option<String>,
    choices: Vec<Choice>,
    others: Vec<Choice>,
}

#[derive(Debug, Deserialize)]
struct Choice {
    key: String,
    token: String,
}

/// What a round took.
struct Told {
    name: &'static str,
    minutes: f64,
    answers: usize,
    presses: usize,
    right: [f64; 2],
}

/// Somebody at the keyboard who knows what happened and counts the presses.
struct Coach<'a> {
    page: &'a Page,
    truth: &'a Truth,
    presses: usize,
}

fn state(answer: &Answer) -> Option<(Time, Option<Position>, Option<Athlete>)> {
    match answer {
        Answer::State { time, position, top } | Answer::Spell { time, position, top, .. } => {
            Some((*time, Some(*position), *top))
        }
        Answer::Top { time, top } => Some((*time, None, Some(*top))),
        Answer::Event { .. } | Answer::Nothing { .. } => None,
    }
}

impl Coach<'_> {
    async fn key(&mut self, key: impl Into<char>) {
        self.page.key(key).await;
        self.presses += 1;
    }

    /// What is asked once the page has settled after a revision.
    async fn asked(&self, after: &str) -> Asked {
        let read = async || -> Asked {
            let asked = self.page.script(ASKED, Vec::new()).await;
            serde_json::from_value(asked).expect("what is asked")
        };
        self.page
            .until(format!("a question after revision {after}"), async || {
                let asked = read().await;
                assert!(asked.refused.is_empty(), "{}: {}", asked.sentence, asked.refused);
                !asked.weighing && asked.revision != after
            })
            .await;
        read().await
    }

    /// Whether an answer is what happened; its times aside.
    fn is_true(&self, token: &str) -> bool {
        let Some(answer) = review::answer_from(token, &self.truth.round) else { return false };
        let Some((time, position, top)) = state(&answer) else { return false };
        let Some(spell) = self.truth.ledger.spell_at(time) else { return false };
        position.is_none_or(|position| position == spell.position) && top == spell.top
    }

    /// The moment that the page's clock shows.
    async fn clock(&self) -> Time {
        let asked = self.page.script(ASKED, Vec::new()).await;
        let asked: Asked = serde_json::from_value(asked).expect("what is asked");
        asked.clock.as_deref().and_then(Time::parse).expect("the clock shows a time")
    }

    /// Watches until a moment: back with the arrow key where it has passed already, then playing.
    /// Time that passes is not waited for.
    async fn watch_until(&mut self, time: Time) {
        while self.clock().await > time {
            let before = self.clock().await;
            self.key(Key::Left).await;
            let back = before.earlier(STEP_MILLIS / 2);
            self.page.until("the clock has gone back", async || self.clock().await <= back).await;
        }
        if self.page.script(PLAYS, vec![]).await == json!(false) {
            self.key(' ').await;
            self.page
                .until("the clock plays", async || {
                    self.page.script(PLAYS, vec![]).await == json!(true)
                })
                .await;
        }
        let now = self.clock().await;
        if now < time {
            self.page.script(PASS, vec![json!(time.distance(now))]).await;
        }
    }

    /// Tells when a spell began or ended, where the guess is not near enough, by a key at the
    /// moment at which it is seen.
    async fn tell(&mut self, key: char, guessed: Option<&str>, truly: Time) {
        let Some(guessed) = guessed else { return };
        let near = Time::parse(guessed)
            .is_some_and(|guess| guess.millis().abs_diff(truly.millis()) <= NEAR_MILLIS);
        if !near {
            self.watch_until(truly).await;
            self.key(key).await;
        }
    }

    async fn answer(&mut self, asked: &Asked) {
        if let Some(token) = asked.times.as_deref().filter(|token| self.is_true(token)) {
            let answer = review::answer_from(token, &self.truth.round).expect("it was one");
            let (time, ..) = state(&answer).expect("it was one");
            let spell = self.truth.ledger.spell_at(time).expect("it was there");
            let (start, end) = (spell.span.start(), spell.span.end());
            self.tell('b', asked.began.as_deref(), start).await;
            self.tell('f', asked.ended.as_deref(), end).await;
            return self.key('1').await;
        }
        if let Some(choice) = asked.choices.iter().find(|choice| self.is_true(&choice.token)) {
            let key = choice.key.chars().next().expect("a key");
            return self.key(key).await;
        }
        self.answer_otherwise(asked).await;
    }

    /// Answers what none of the choices says: in the list of positions by its first letters and
    /// the arrow key, whichever way is shorter.
    async fn answer_otherwise(&mut self, asked: &Asked) {
        let wanted = asked.others.iter().position(|choice| self.is_true(&choice.token));
        let wanted = wanted.unwrap_or_else(|| panic!("nothing true to answer: {asked:?}"));
        let other = &asked.others[wanted];
        let text: Vec<char> = other.key.chars().collect();
        let way = (1..=text.len()).filter_map(|letters| {
            let typed: String = text[..letters].iter().collect();
            let first = asked.others.iter().position(|choice| choice.key.starts_with(&typed))?;
            Some((letters, wanted - first))
        });
        let (letters, down) = way.min_by_key(|(letters, down)| letters + down).expect("a way");
        self.key('o').await;
        let there = "return document.activeElement?.id === 'other'";
        self.page
            .until("the list of positions has the focus", async || {
                self.page.script(there, vec![]).await == json!(true)
            })
            .await;
        for letter in &text[..letters] {
            self.key(*letter).await;
        }
        for _ in 0..down {
            self.key(Key::Down).await;
        }
        let chosen = self.page.script("return document.getElementById('other').value", vec![]);
        assert_eq!(chosen.await, json!(other.token), "the keys chose something else");
        self.key(Key::Tab).await;
        self.key(Key::Enter).await;
    }
}

/// Share of the seconds whose position and athlete on top are right.
async fn right(truth: &Truth, book: &Book, round: RoundId) -> f64 {
    let kept = book.kept_ledger(round).await.expect("the book is read");
    score(truth, &kept.expect("a ledger is kept").ledger).position_and_top
}

async fn put(book: &Book, name: &str, round: &Round) -> RoundId {
    let mut athletes = Vec::new();
    for person in round.athletes() {
        let member =
            Member { name: person.name.clone(), pronoun: person.pronoun, ..Member::default() };
        athletes.push(book.add_member(&by(), &member).await.expect("a person"));
    }
    let path = root().join(format!("samples/rounds/{name}.auto.vtt"));
    let text = fs::read_to_string(path).expect("captions");
    let facts = RoundFacts {
        date: some_days_ago(1),
        kind: round.kind(),
        gi: true,
        athletes: [athletes[0], athletes[1]],
        length: round.length(),
        class: None,
        talk: Some(Captions { name: format!("{name}.auto.vtt"), text }),
        media: None,
        confirmed: None,
    };
    book.add_round(&by(), &facts).await.expect("a round")
}

fn app(fold: &str, book: Book) -> App {
    let path = root().join(format!("data/parameters/folds/{fold}.reader"));
    let bytes = fs::read(path).expect("the reader of a fold");
    App::with_reader(book, Access::ThisMachine, move |lexicon| {
        let grammar = Grammar::builtin();
        let model = ReaderModel::parse(&bytes, &grammar)?;
        Ok(RoundReader::new(Decoder::new(grammar, model, Settings::shipped()?)?, lexicon))
    })
    .expect("the reader fits")
}

fn confirm_by_keys(name: &'static str, fold: &str) -> Told {
    let read = |kind: &str| {
        let path = root().join(format!("samples/rounds/{name}.{kind}"));
        fs::read_to_string(path).expect("a sample round")
    };
    let truth = Truth::parse(&read("truth.json"), &read("say.tsv")).expect("a truth");
    let mut told = Told {
        name,
        minutes: truth.round.length().seconds() / 60.0,
        answers: 0,
        presses: 0,
        right: [0.0; 2],
    };
    let make = |book| app(fold, book);
    serving_with(Start::Empty, make, async |page: &Page, given: &Given| {
        let round = put(&given.book, name, &truth.round).await;
        page.open(&format!("/rounds/{}", round.0)).await;
        let mut coach = Coach { page, truth: &truth, presses: 0 };
        let mut asked = coach.asked("none").await;
        told.right[0] = right(&truth, &given.book, round).await;
        while !asked.confirm {
            assert!(told.answers < MOST_ANSWERS, "{name}: it never ends");
            coach.answer(&asked).await;
            told.answers += 1;
            asked = coach.asked(&asked.revision).await;
        }
        coach.key('c').await;
        page.sees("confirmed on").await;
        told.right[1] = right(&truth, &given.book, round).await;
        told.presses = coach.presses;
        let facts = given.book.round_facts(round).await.expect("the round");
        assert!(facts.confirmed.is_some());
    });
    told
}

#[test]
fn fresh_captions_become_a_confirmed_round_through_questions_and_keys_alone() {
    let rounds: Vec<Told> = thread::scope(|scope| {
        let begin = |(name, fold)| scope.spawn(move || confirm_by_keys(name, fold));
        let begun: Vec<_> = ROUNDS.map(begin).into();
        begun.into_iter().map(|round| round.join().expect("the round is confirmed")).collect()
    });
    let mut text = "round  minutes  answers  presses  right before  right after\n".to_owned();
    for told in &rounds {
        let Told { name, minutes, answers, presses, right: [before, after] } = told;
        let (before, after) = (100.0 * before, 100.0 * after);
        writeln!(
            text,
            "{name:5}  {minutes:7.1}  {answers:7}  {presses:7}  {before:10.1} %  {after:9.1} %"
        )
        .expect("a text takes anything");
    }
    fs::create_dir_all(root().join("build")).expect("a folder");
    fs::write(root().join("build/interactions.txt"), &text).expect("a file");
    for told in &rounds {
        assert!(told.right[1] > told.right[0], "answers made a round worse:\n{text}");
    }
}
