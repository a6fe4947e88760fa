//! `grapevine ask`: the questions that would settle most, one after another.

use std::io::{self, BufRead};
use std::path::Path;

use academy::{Answer, Round, Span, Time};
use decode::decoder::Heard;
use decode::{Question, RoundReader};
use talk::{Lexicon, Talk};

use super::error::CommandError;
use crate::arguments::AskArguments;
use crate::{answers_beside, shown, talk_file, terminal};

pub(crate) fn run(arguments: &AskArguments) -> Result<(), CommandError> {
    let path = &arguments.round.talk;
    if talk_file::is_standard_input(path) {
        return Err(CommandError::AskFromStandardInput);
    }
    let reading = talk_file::read(path, arguments.round.length)?;
    let round = arguments.round.round(reading.talk.end())?;
    let name = talk_file::name(path);
    let place = answers_beside::place(path, arguments.answers.as_deref())
        .ok_or(CommandError::AskFromStandardInput)?;
    let answers = answers_beside::load(&place, &round)?.unwrap_or_default();
    if !answers.is_empty() {
        let count = shown::answers(answers.len());
        terminal::write(&format!("Going on from {count} kept in {}.\n", place.display()))?;
    }
    let before = answers.len();
    let reader = RoundReader::builtin(Lexicon::builtin())?;
    let heard = reader.hear(&reading.talk, &round);
    let corrected = talk::correct(&reading.talk, &shown::corrections(&reading.talk, &heard.seen));
    let asking =
        Asking { reader: &reader, heard: &heard, talk: &corrected, round: &round, place: &place };
    let answers = asking.ask(answers, &mut io::stdin().lock())?;
    let given = answers.len() - before;
    let told = match given {
        0 => "No new answers.\n".to_owned(),
        _ => format!(
            "{} kept in {}. `grapevine read {name}` uses them.\n",
            shown::answers(given),
            place.display()
        ),
    };
    terminal::write(&told)
}

struct Asking<'a> {
    reader: &'a RoundReader,
    heard: &'a Heard,
    /// With the words put right, to remind of what was said.
    talk: &'a Talk,
    round: &'a Round,
    place: &'a Path,
}

/// What a person typed.
enum Reply {
    Choice(usize),
    Nothing,
    Skip,
    Stop,
}

impl Asking<'_> {
    /// Asks until there is nothing to ask or the person stops; every answer is kept at once.
    fn ask(
        &self,
        mut answers: Vec<Answer>,
        input: &mut impl BufRead,
    ) -> Result<Vec<Answer>, CommandError> {
        // Moments that were passed over, or at which nothing happened: asked once is enough.
        let mut passed: Vec<Time> = Vec::new();
        loop {
            let most = passed.len() + 1;
            let questions = self.reader.questions(self.heard, &answers, most)?;
            let known = |open: &Question| {
                passed.iter().any(|time| time.distance(open.time) < shown::SAME_MOMENT_MILLIS)
            };
            let Some(question) = questions.into_iter().find(|open| !known(open)) else {
                terminal::write("Nothing more to ask.\n")?;
                return Ok(answers);
            };
            terminal::write(&self.show(&question))?;
            match reply(&question, input)? {
                Reply::Choice(index) => answers.push(question.choices[index].answer.clone()),
                Reply::Nothing => {
                    passed.push(question.time);
                    answers.push(nothing(&question));
                }
                Reply::Skip => {
                    passed.push(question.time);
                    continue;
                }
                Reply::Stop => return Ok(answers),
            }
            answers_beside::save(self.place, self.round, &answers)?;
        }
    }

    fn show(&self, question: &Question) -> String {
        let mut text = format!("\n{}  {}\n", question.time, shown::question(question));
        for line in shown::said_around(self.talk, question.time) {
            text.push_str(&format!("      \u{201c}{line}\u{201d}\n"));
        }
        for (index, choice) in question.choices.iter().enumerate() {
            let chance = choice.probability * 100.0;
            let words = shown::answer(self.round, &choice.answer);
            text.push_str(&format!("  {}  {words} ({chance:.0} %)\n", index + 1));
        }
        text.push_str("  n  nothing happened here   ?  skip   q  stop\n");
        text
    }
}

/// Reads replies until one can be understood; the end of the input stops.
fn reply(question: &Question, input: &mut impl BufRead) -> Result<Reply, CommandError> {
    loop {
        terminal::write("> ")?;
        let mut line = String::new();
        let failed = |source| CommandError::Read { name: "standard input".to_owned(), source };
        if input.read_line(&mut line).map_err(failed)? == 0 {
            terminal::write("\n")?;
            return Ok(Reply::Stop);
        }
        match line.trim().to_lowercase().as_str() {
            "n" => return Ok(Reply::Nothing),
            "?" => return Ok(Reply::Skip),
            "q" => return Ok(Reply::Stop),
            number => {
                let index = number.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
                match index.filter(|index| *index < question.choices.len()) {
                    Some(index) => return Ok(Reply::Choice(index)),
                    None => {
                        let last = question.choices.len();
                        terminal::write(&format!("Type 1 to {last}, n, ? or q.\n"))?;
                    }
                }
            }
        }
    }
}

/// "Nothing happened here": the choice that says so, else a few seconds around the moment.
fn nothing(question: &Question) -> Answer {
    const AROUND_MILLIS: u64 = 3_000;
    let nothing = |answer: &Answer| matches!(answer, Answer::Nothing { .. });
    let offered = question.choices.iter().map(|choice| &choice.answer).find(|a| nothing(a));
    offered.cloned().unwrap_or_else(|| Answer::Nothing {
        span: Span::between(
            question.time.earlier(AROUND_MILLIS),
            question.time.later(AROUND_MILLIS),
        ),
    })
}
