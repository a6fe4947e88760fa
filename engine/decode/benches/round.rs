//! From captions to a ledger: a round of six minutes, its parts, and a talk of three hours.

#![expect(clippy::unwrap_used, reason = "a benchmark may stop")]

use std::hint::black_box;

use academy::{Person, Pronoun, Round, RoundKind, Time};
use criterion::{Criterion, criterion_group, criterion_main};
use decode::RoundReader;
use talk::{Cue, Lexicon, Talk, Word};

const CAPTIONS: &[u8] = include_bytes!("../../../samples/rounds/r02.auto.vtt");
const LENGTH: Time = Time::from_millis(360_000);

fn round(length: Time) -> Round {
    let person = |name: &str, pronoun| Person { name: name.to_owned(), pronoun: Some(pronoun) };
    let people = [person("Tomasz", Pronoun::He), person("Ngozi", Pronoun::She)];
    Round::new(people, RoundKind::Flow, length).unwrap()
}

/// The talk said again and again.
fn repeated(talk: &Talk, times: u64) -> Talk {
    let later = |span: academy::Span, by: u64| {
        academy::Span::between(span.start().later(by), span.end().later(by))
    };
    let cues = (0..times).flat_map(|time| {
        let by = time * LENGTH.millis();
        talk.cues().iter().map(move |cue| Cue {
            span: later(cue.span, by),
            voice: None,
            words: (cue.words.iter())
                .map(|word| Word { span: later(word.span, by), ..word.clone() })
                .collect(),
        })
    });
    Talk::new(cues.collect())
}

fn reading(criterion: &mut Criterion) {
    let reader = RoundReader::builtin(Lexicon::builtin()).unwrap();
    let talk = talk::read(CAPTIONS).unwrap().talk;
    let round = round(LENGTH);
    let heard = reader.hear(&talk, &round);
    let mut group = criterion.benchmark_group("round");
    group.bench_function("load lexicon", |b| b.iter(|| black_box(Lexicon::builtin())));
    group.bench_function("load lexicon and reader", |b| {
        b.iter(|| black_box(RoundReader::builtin(Lexicon::builtin()).unwrap()))
    });
    group.bench_function("read captions", |b| b.iter(|| talk::read(black_box(CAPTIONS)).unwrap()));
    group.bench_function("hear", |b| b.iter(|| reader.hear(black_box(&talk), &round)));
    group.bench_function("decode", |b| {
        b.iter(|| reader.ledger(black_box(&heard), &round, &[]).unwrap())
    });
    group.bench_function("captions to ledger", |b| {
        b.iter(|| {
            let talk = talk::read(black_box(CAPTIONS)).unwrap().talk;
            let heard = reader.hear(&talk, &round);
            reader.ledger(&heard, &round, &[]).unwrap()
        })
    });
    group.finish();
}

fn three_hours(criterion: &mut Criterion) {
    let reader = RoundReader::builtin(Lexicon::builtin()).unwrap();
    let talk = repeated(&talk::read(CAPTIONS).unwrap().talk, 30);
    let round = round(Time::from_millis(30 * LENGTH.millis()));
    let mut group = criterion.benchmark_group("three hours");
    group.sample_size(10);
    group.bench_function("hear and decode", |b| {
        b.iter(|| {
            let heard = reader.hear(black_box(&talk), &round);
            reader.ledger(&heard, &round, &[]).unwrap()
        })
    });
    group.finish();
}

criterion_group!(benches, reading, three_hours);
criterion_main!(benches);
