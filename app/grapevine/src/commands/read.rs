//! `grapevine read`: the talk to a ledger, in the form asked for.

use academy::{Answer, Note, Round};
use decode::RoundReader;
use decode::worth::WORTH_ASKING;
use reports::{OpenQuestion, RoundPage, TideWidth, wording};
use talk::Lexicon;

use super::error::CommandError;
use crate::arguments::{ReadArguments, ReadOutput};
use crate::talk_file::{self, RoundTalk};
use crate::{answers_beside, terminal};

pub(crate) fn run(arguments: &ReadArguments) -> Result<(), CommandError> {
    let RoundTalk { round, talk, left_out } = talk_file::read_round(&arguments.round)?;
    let answers = answers(arguments, &round)?;
    let reader = RoundReader::builtin(Lexicon::builtin())?;
    let heard = reader.hear(&talk, &round);
    if heard.seen.terms.is_empty() && answers.is_empty() {
        let name = talk_file::name(&arguments.round.talk);
        return Err(CommandError::NothingFound { name });
    }
    let understood = reader.understand(&heard, &round, &answers)?;
    let ledger = &understood.ledger;
    let notes = review::notes(&heard.seen, &understood, left_out);
    let open = || -> Result<Vec<OpenQuestion>, CommandError> {
        let questions = reader.questions_about(&heard, &understood, &[], WORTH_ASKING)?;
        let shown: Vec<_> = questions.iter().map(|open| understood.as_shown(open)).collect();
        Ok(review::open_questions(&round, &shown))
    };
    let text = match arguments.out {
        ReadOutput::Text => {
            let above: Vec<Note> = notes.iter().filter(|note| in_text(note)).cloned().collect();
            reports::round_text(&round, ledger, &above, &open()?, terminal::style())
        }
        ReadOutput::Json => academy::ledger_file::write_with_notes(&round, ledger, &notes),
        ReadOutput::Csv => reports::ledger_csv(&round, ledger),
        ReadOutput::Svg => reports::tide(&round, ledger, TideWidth::Laptop),
        ReadOutput::Html => reports::round_page(&RoundPage {
            round: &round,
            ledger,
            notes: &notes,
            talk: &review::talk_lines(&talk, &heard.seen, &reader.mentions(&heard)),
            questions: &open()?,
        }),
    };
    let told_there = |note: &&Note| arguments.out == ReadOutput::Text && in_text(note);
    for note in notes.iter().filter(|note| !told_there(note)) {
        terminal::remark(&wording::note(&round, note));
    }
    terminal::write(&text)
}

/// Whether the text itself says this near its top; the other notes are about how the program was
/// called, and are for standard error.
const fn in_text(note: &Note) -> bool {
    matches!(note, Note::MayBeSwapped { .. })
}

/// The answers: those asked for, which must be there, or those found beside the talk, which is
/// said.
fn answers(arguments: &ReadArguments, round: &Round) -> Result<Vec<Answer>, CommandError> {
    let asked_for = arguments.answers.as_deref();
    let Some(place) = answers_beside::place(&arguments.round.talk, asked_for) else {
        return Ok(Vec::new());
    };
    let name = place.display();
    match answers_beside::load(&place, round)? {
        Some(found) => {
            if asked_for.is_none() {
                eprintln!(
                    "grapevine: using {} kept in {name}",
                    review::how_many_answers(found.len())
                );
            }
            Ok(found)
        }
        None if asked_for.is_some() => Err(CommandError::NoAnswers { name: name.to_string() }),
        None => Ok(Vec::new()),
    }
}
