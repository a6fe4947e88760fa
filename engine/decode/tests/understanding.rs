//! Talk and answers in, ledger and questions out: what a coach would notice.

use std::sync::OnceLock;

use academy::{
    Answer, Athlete, Event, EventKind, Ledger, Person, Position, Pronoun, Round, RoundKind, Source,
    Span, Time, ledger_file,
};
use decode::decoder::Heard;
use decode::evaluation::{scores::score, truth::Truth};
use decode::worth::WORTH_ASKING;
use decode::{About, Choice, Manner, Mention, Question, RoundReader, UnderstandError};
use proptest::prelude::*;
use talk::{Cue, Lexicon, Talk, Word};

mod answers;
mod identity;
mod mentions;
mod questions;
mod robustness;
mod sample_rounds;

fn reader() -> &'static RoundReader {
    static READER: OnceLock<RoundReader> = OnceLock::new();
    READER.get_or_init(|| RoundReader::builtin(Lexicon::builtin()).unwrap())
}

fn person(name: &str, pronoun: Option<Pronoun>) -> Person {
    Person { name: name.to_owned(), pronoun }
}

fn round(names: [&str; 2], pronouns: [Option<Pronoun>; 2], millis: u64) -> Round {
    let [first, second] = names;
    let people = [person(first, pronouns[0]), person(second, pronouns[1])];
    Round::new(people, RoundKind::Flow, Time::from_millis(millis)).unwrap()
}

fn seconds(seconds: f64) -> Time {
    Time::from_seconds(seconds)
}

/// One line of talk at each time, as timed text.
fn talk_of(lines: &[(u64, &str)]) -> Talk {
    let text: String =
        lines.iter().map(|(s, line)| format!("[{}:{:02}] {line}\n", s / 60, s % 60)).collect();
    talk::read(text.as_bytes()).unwrap().talk
}

const SAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples/rounds");

fn sample(name: &str) -> String {
    std::fs::read_to_string(format!("{SAMPLES}/{name}")).unwrap()
}

/// A sample round with its truth, and its talk as heard.
struct Known {
    truth: Truth,
    heard: Heard,
}

impl Known {
    fn new(name: &str, captions: &str) -> Self {
        let truth = Truth::parse(
            &sample(&format!("{name}.truth.json")),
            &sample(&format!("{name}.say.tsv")),
        )
        .unwrap();
        let talk = talk::read(sample(&format!("{name}.{captions}")).as_bytes()).unwrap().talk;
        let heard = reader().hear(&talk, &truth.round);
        Known { truth, heard }
    }

    fn ledger(&self, answers: &[Answer]) -> Ledger {
        let ledger = reader().ledger(&self.heard, &self.truth.round, answers).unwrap();
        assert_valid(&ledger, &self.truth.round);
        ledger
    }
}

/// The spells tile the round; who acts could do so in the position; the file form reads back.
fn assert_valid(ledger: &Ledger, round: &Round) {
    assert_eq!(ledger.spells()[0].span.start(), Time::ZERO);
    assert_eq!(ledger.end(), round.length());
    for pair in ledger.spells().windows(2) {
        assert_eq!(pair[0].span.end(), pair[1].span.start());
        let same = pair[0].position == pair[1].position && pair[0].top == pair[1].top;
        assert!(!same, "{pair:?}");
    }
    let text = ledger_file::write(round, ledger);
    let (round_again, again) = ledger_file::read(&text).unwrap();
    assert_eq!(&round_again, round);
    assert_eq!(ledger_file::write(round, &again), text);
}

fn state_at(ledger: &Ledger, time: Time) -> (Position, Option<Athlete>, Source) {
    let spell = ledger.spell_at(time.min(ledger.end())).unwrap();
    (spell.position, spell.top, spell.source)
}
