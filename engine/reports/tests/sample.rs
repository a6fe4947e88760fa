//! A short invented round, by hand.

use academy::{
    Athlete, Event, EventKind, Ledger, Note, Person, Position, Pronoun, Round, RoundKind,
};
use academy::{Source, Span, Spell, Time};
use reports::{Meant, OpenQuestion, TalkLine, TalkPiece};

use Athlete::{First, Second};

pub(crate) fn round() -> Round {
    let person = |name: &str, pronoun| Person { name: name.to_owned(), pronoun: Some(pronoun) };
    let athletes = [person("Petra", Pronoun::She), person("Idris", Pronoun::He)];
    Round::new(athletes, RoundKind::Flow, Time::from_millis(90_000)).expect("a round")
}

pub(crate) fn ledger() -> Ledger {
    let rows = [
        (0, Position::Standing, None, None, 0.97),
        (5_400, Position::OpenGuard, Some(First), Some("butterfly guard"), 0.91),
        (21_700, Position::HalfGuard, Some(First), None, 0.58),
        (30_000, Position::SideControl, Some(First), None, 0.82),
        (47_600, Position::ClosedGuard, Some(Second), None, 0.75),
        (60_000, Position::BackControl, Some(Second), None, 0.66),
        (78_000, Position::Reset, None, None, 0.9),
    ];
    let ends = rows.iter().skip(1).map(|row| row.0).chain([90_000]);
    let spells = (rows.iter().zip(ends))
        .map(|(&(start, position, top, variant, confidence), end)| Spell {
            span: Span::between(Time::from_millis(start), Time::from_millis(end)),
            position,
            top,
            variant: variant.map(str::to_owned),
            confidence,
            source: Source::Talk,
        })
        .collect();
    let events = [
        (5_400, EventKind::GuardPull, Some(Second), Some("guard pull"), 0.93),
        (12_000, EventKind::FailedTry, Some(Second), Some("scissor sweep"), 0.4),
        (21_700, EventKind::Advance, Some(First), Some("forcing half"), 0.7),
        (30_200, EventKind::Pass, Some(First), Some("back step pass"), 0.85),
        (38_000, EventKind::SubmissionAttempt, Some(First), Some("kimura"), 0.8),
        (41_000, EventKind::Release, Some(First), Some("kimura"), 0.55),
        (47_000, EventKind::Reversal, Some(Second), Some("bridge and roll"), 0.78),
        (60_000, EventKind::BackTake, Some(Second), None, 0.7),
        (70_000, EventKind::SubmissionAttempt, None, None, 0.6),
        (72_500, EventKind::SubmissionAttempt, Some(Second), Some("rear naked choke"), 0.9),
        (77_500, EventKind::Tap, Some(First), Some("rear naked choke"), 0.95),
        (78_000, EventKind::Reset, None, None, 0.9),
    ]
    .map(|(millis, kind, actor, technique, confidence)| Event {
        time: Time::from_millis(millis),
        kind,
        actor,
        technique: technique.map(str::to_owned),
        confidence,
        source: Source::Talk,
    });
    Ledger::new(spells, events.into()).expect("a ledger")
}

pub(crate) fn notes() -> Vec<Note> {
    let at = Time::from_millis;
    vec![
        Note::MayBeSwapped {
            stretches: vec![
                Span::between(at(5_400), at(21_700)),
                Span::between(at(47_600), at(78_000)),
            ],
        },
        Note::NameNotHeard { athlete: Second },
        Note::TalkLeftOut { lines: 2, after: at(90_000) },
    ]
}

pub(crate) fn talk() -> Vec<TalkLine> {
    let piece = |text: &str, heard: Option<&str>, meant| TalkPiece {
        text: text.to_owned(),
        heard: heard.map(str::to_owned),
        meant,
    };
    let line = |millis, pieces: Vec<TalkPiece>| TalkLine {
        time: Time::from_millis(millis),
        voice: None,
        pieces,
    };
    vec![
        line(
            6_000,
            vec![
                piece("Idris", Some("iters"), Meant::Happening),
                piece("just sits", None, Meant::Plain),
                piece("pulls guard", None, Meant::Happening),
            ],
        ),
        line(
            33_000,
            vec![
                piece("there is the", None, Meant::Plain),
                piece("back step", None, Meant::Happening),
                piece("we did the", None, Meant::Plain),
                piece("kimura", Some("camera"), Meant::Otherwise("taught")),
                piece("on Monday <all of you> & it shows", None, Meant::Plain),
            ],
        ),
    ]
}

pub(crate) fn questions() -> Vec<OpenQuestion> {
    let choice = |text: &str, chance| (text.to_owned(), chance);
    vec![OpenQuestion {
        time: Time::from_millis(70_000),
        text: "Who went for the submission?".to_owned(),
        choices: vec![choice("Idris", 0.72), choice("Petra", 0.2)],
    }]
}
