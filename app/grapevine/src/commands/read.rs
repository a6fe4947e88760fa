//! `grapevine read`: the talk to a ledger, in the form asked for.

use academy::Athlete;
use reports::{RoundPage, TideWidth};

use super::error::CommandError;
use crate::arguments::{ReadArguments, ReadOutput, RoundArguments};
use crate::{answers_beside, engine, shown, talk_file, terminal};

pub(crate) fn run(arguments: &ReadArguments) -> Result<(), CommandError> {
    let RoundInput { reading, round, answers } = input(arguments)?;
    let talk = &reading.talk;
    let understood = engine::understand(talk, &round, &answers)?;
    if understood.mentions.is_empty() && answers.is_empty() {
        let name = talk_file::name(&arguments.round.talk);
        return Err(CommandError::NothingFound { name });
    }
    let questions = || shown::open_questions(&round, &understood);
    let corrections = || engine::corrections(talk, Athlete::BOTH.map(|who| round.name(who)));
    let text = match arguments.out {
        ReadOutput::Text => {
            reports::round_text(&round, &understood.ledger, &questions(), terminal::style())
        }
        ReadOutput::Json => academy::ledger_file::write(&round, &understood.ledger),
        ReadOutput::Csv => reports::ledger_csv(&round, &understood.ledger),
        ReadOutput::Svg => reports::tide(&round, &understood.ledger, TideWidth::Laptop),
        ReadOutput::Html => reports::round_page(&RoundPage {
            round: &round,
            ledger: &understood.ledger,
            talk: &shown::talk_lines(talk, &corrections(), &understood.mentions),
            questions: &questions(),
        }),
    };
    terminal::write(&text)
}

struct RoundInput {
    reading: talk::Reading,
    round: academy::Round,
    answers: Vec<academy::Answer>,
}

/// The talk, the round, and the answers: those asked for, which must be there, or those found
/// beside the talk, which is said.
fn input(arguments: &ReadArguments) -> Result<RoundInput, CommandError> {
    let RoundArguments { talk, length, .. } = &arguments.round;
    let reading = talk_file::read(talk, *length)?;
    let round = arguments.round.round(reading.talk.end())?;
    let asked_for = arguments.answers.as_deref();
    let mut answers = Vec::new();
    if let Some(place) = answers_beside::place(talk, asked_for) {
        let name = place.display();
        match answers_beside::load(&place, &round)? {
            Some(found) => {
                if asked_for.is_none() {
                    eprintln!("grapevine: using {} kept in {name}", shown::answers(found.len()));
                }
                answers = found;
            }
            None if asked_for.is_some() => {
                return Err(CommandError::NoAnswers { name: name.to_string() });
            }
            None => {}
        }
    }
    Ok(RoundInput { reading, round, answers })
}
