//! `grapevine read`: the talk to a ledger, in the form asked for.

use decode::RoundReader;
use reports::{OpenQuestion, RoundPage, TideWidth};
use talk::Lexicon;

use super::error::CommandError;
use crate::arguments::{ReadArguments, ReadOutput, RoundArguments};
use crate::{answers_beside, shown, talk_file, terminal};

pub(crate) fn run(arguments: &ReadArguments) -> Result<(), CommandError> {
    let RoundInput { reading, round, answers } = input(arguments)?;
    let reader = RoundReader::builtin(Lexicon::builtin())?;
    let heard = reader.hear(&reading.talk, &round);
    if heard.seen.terms.is_empty() && answers.is_empty() {
        let name = talk_file::name(&arguments.round.talk);
        return Err(CommandError::NothingFound { name });
    }
    let ledger = reader.ledger(&heard, &round, &answers)?;
    let open = || -> Result<Vec<OpenQuestion>, CommandError> {
        let questions = reader.questions(&heard, &answers, shown::QUESTIONS_WEIGHED)?;
        Ok(shown::open_questions(&round, &questions))
    };
    let text = match arguments.out {
        ReadOutput::Text => reports::round_text(&round, &ledger, &open()?, terminal::style()),
        ReadOutput::Json => academy::ledger_file::write(&round, &ledger),
        ReadOutput::Csv => reports::ledger_csv(&round, &ledger),
        ReadOutput::Svg => reports::tide(&round, &ledger, TideWidth::Laptop),
        ReadOutput::Html => reports::round_page(&RoundPage {
            round: &round,
            ledger: &ledger,
            talk: &shown::talk_lines(&reading.talk, &heard.seen, &reader.mentions(&heard)),
            questions: &open()?,
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
