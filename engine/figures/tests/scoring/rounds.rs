//! Ledgers written down in a line: who is on top where, for how long, and what happened.

use academy::{
    Athlete, Event, EventKind, Ledger, Person, Position, Round, RoundKind, Source, Span, Spell,
    Time,
};
use figures::scoring::{RuleSet, Scored, score};

/// The round that scores: the first half is a pause, so that rules without points in the first half
/// see everything.
#[derive(Debug)]
pub(crate) struct Told {
    spells: Vec<Spell>,
    events: Vec<Event>,
}

/// `a` and `b` are the two athletes.
fn athlete(word: &str) -> Option<Athlete> {
    match word {
        "a" => Some(Athlete::First),
        "b" => Some(Athlete::Second),
        _ => None,
    }
}

/// Reads `standing 5, +takedown a, closed_guard a 10, +tap b`: places with the one on top and seconds;
/// a `+` is an event at the moment where it stands. `one_hook` is a variant of back control.
pub(crate) fn told(line: &str) -> Told {
    let (mut spells, mut events): (Vec<Spell>, Vec<Event>) = (Vec::new(), Vec::new());
    let mut now = Time::ZERO;
    for part in line.split(',') {
        let words: Vec<&str> = part.split_whitespace().collect();
        if let Some(kind) = words[0].strip_prefix('+') {
            events.push(Event {
                time: now,
                kind: EventKind::from_id(kind).unwrap(),
                actor: words.get(1).and_then(|word| athlete(word)),
                technique: None,
                confidence: 1.0,
                source: Source::Hand,
            });
            continue;
        }
        let (id, variant) = match words[0] {
            "one_hook" => ("back_control", Some("one hook back".to_owned())),
            id => (id, None),
        };
        let end = now.later(Time::from_seconds(words.last().unwrap().parse().unwrap()).millis());
        spells.push(Spell {
            span: Span::between(now, end),
            position: Position::from_id(id).unwrap(),
            top: athlete(words[1]),
            variant,
            confidence: 1.0,
            source: Source::Hand,
        });
        now = end;
    }
    Told { spells, events }
}

impl Told {
    /// The ledger as told.
    pub(crate) fn ledger(&self) -> Ledger {
        Ledger::new(self.spells.clone(), self.events.clone()).unwrap()
    }

    /// The same behind a pause of equal length and a bit.
    pub(crate) fn in_the_second_half(&self) -> Ledger {
        let length = self.spells.last().unwrap().span.end().millis() + 1000;
        let pause = Span::between(Time::ZERO, Time::from_millis(length));
        let first =
            Spell { span: pause, position: Position::Reset, top: None, ..self.spells[0].clone() };
        let spells = self.spells.iter().map(|spell| Spell {
            span: Span::between(spell.span.start().later(length), spell.span.end().later(length)),
            ..spell.clone()
        });
        let events = self.events.iter();
        let events = events.map(|event| Event { time: event.time.later(length), ..event.clone() });
        Ledger::new(std::iter::once(first).chain(spells).collect(), events.collect()).unwrap()
    }
}

/// A round as long as the ledger.
pub(crate) fn round(ledger: &Ledger) -> Round {
    let athletes = ["Petra", "Idris"].map(|n| Person { name: n.to_owned(), pronoun: None });
    Round::new(athletes, RoundKind::Competition, ledger.end()).unwrap()
}

/// Scored where points count.
pub(crate) fn scored(line: &str, rules: &RuleSet) -> Scored {
    let ledger = told(line).in_the_second_half();
    score(&ledger, &round(&ledger), rules)
}
