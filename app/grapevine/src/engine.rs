//! The seam to the engine: one function from talk to what is understood of it.
//!
//! STAND-IN until the decoder exists: it finds terms and decodes nothing.

use std::ops::Range;

use academy::{Answer, Ledger, Position, Round, Source, Span, Spell, Time};
use reports::Meant;
use talk::{Correction, Lexicon, Talk};

use crate::commands::error::CommandError;

pub(crate) struct Understanding {
    pub(crate) ledger: Ledger,
    pub(crate) questions: Vec<Question>,
    pub(crate) mentions: Vec<Mention>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum QuestionKind {
    State,
    Top,
    Happened,
    Who,
}

pub(crate) struct Question {
    pub(crate) time: Time,
    pub(crate) kind: QuestionKind,
    pub(crate) choices: Vec<Choice>,
}

pub(crate) struct Choice {
    pub(crate) answer: Answer,
    pub(crate) probability: f64,
}

pub(crate) struct Mention {
    pub(crate) words: Range<usize>,
    pub(crate) meant: Meant,
}

pub(crate) fn understand(
    talk: &Talk,
    round: &Round,
    answers: &[Answer],
) -> Result<Understanding, CommandError> {
    let words: Vec<&str> = talk.words().map(|word| word.text.as_str()).collect();
    let finds = talk::find_terms(&words, &Lexicon::builtin());
    let mentions = (finds.into_iter())
        .map(|find| Mention { words: find.words, meant: Meant::Happening })
        .collect();
    let spell = Spell {
        span: Span::between(Time::ZERO, round.length()),
        position: Position::Standing,
        top: None,
        variant: None,
        confidence: 0.5,
        source: Source::Talk,
    };
    let kinds = [QuestionKind::Top, QuestionKind::Who, QuestionKind::Happened, QuestionKind::State];
    let questions = (kinds.into_iter().skip(answers.len()))
        .map(|kind| Question {
            time: Time::from_millis(30_000),
            kind,
            choices: (academy::Athlete::BOTH.into_iter())
                .map(|top| Choice {
                    answer: Answer::Top { time: Time::from_millis(30_000), top },
                    probability: 0.5,
                })
                .collect(),
        })
        .collect();
    let ledger = Ledger::new(vec![spell], Vec::new()).map_err(|_| CommandError::PipeClosed)?;
    Ok(Understanding { ledger, questions, mentions })
}

/// What would be put right in the talk. A name may be empty: then nobody's is.
pub(crate) fn corrections(talk: &Talk, names: [&str; 2]) -> Vec<Correction> {
    let words: Vec<&str> = talk.words().map(|word| word.text.as_str()).collect();
    let lexicon = Lexicon::builtin();
    let terms = talk::find_terms(&words, &lexicon);
    let names = talk::find_names(&words, names, &lexicon);
    talk::corrections(&words, &terms, &names, talk::LEAST_TO_CORRECT)
}
