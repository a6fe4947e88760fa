//! `grapevine ask`: the questions that would settle most, one after another.

use std::io::{self, BufRead};
use std::path::Path;

use academy::{Answer, Round, Time};
use decode::decoder::Heard;
use decode::worth::WORTH_ASKING;
use decode::{Question, RoundReader, UnderstandError, Understood};
use reports::wording;
use talk::{Lexicon, Talk};

use super::error::CommandError;
use crate::arguments::AskArguments;
use crate::prompt::{self, Reply};
use crate::talk_file::{self, RoundTalk};
use crate::{answers_beside, terminal};

pub(crate) fn run(arguments: &AskArguments) -> Result<(), CommandError> {
    let path = &arguments.round.talk;
    if talk_file::is_standard_input(path) {
        return Err(CommandError::AskFromStandardInput);
    }
    let RoundTalk { round, talk, left_out } = talk_file::read_round(&arguments.round)?;
    let name = talk_file::name(path);
    let place = answers_beside::place(path, arguments.answers.as_deref())
        .ok_or(CommandError::AskFromStandardInput)?;
    let answers = answers_beside::load(&place, &round)?.unwrap_or_default();
    if !answers.is_empty() {
        let count = review::how_many_answers(answers.len());
        terminal::write(&format!("Going on from {count} kept in {}.\n", place.display()))?;
    }
    let before = answers.clone();
    let reader = RoundReader::builtin(Lexicon::builtin())?;
    let heard = reader.hear(&talk, &round);
    let understood = reader.understand(&heard, &round, &answers)?;
    for note in review::notes(&heard.seen, &understood, left_out) {
        terminal::remark(&wording::note(&round, &note));
    }
    let corrected = talk::correct(&talk, &review::corrections(&talk, &heard.seen));
    let mut asking = Asking {
        reader: &reader,
        heard: &heard,
        talk: &corrected,
        round: &round,
        place: &place,
        all: arguments.all,
        answers,
        passed: Vec::new(),
        understood,
        earlier: Vec::new(),
    };
    asking.ask(&mut io::stdin().lock())?;
    let answers = asking.answers;
    let told = if answers == before {
        "No new answers.\n".to_owned()
    } else if answers.is_empty() {
        "No answers are kept.\n".to_owned()
    } else {
        let (count, place) = (review::how_many_answers(answers.len()), place.display());
        let keeps = if answers.len() == 1 { "is" } else { "are" };
        format!("{count} {keeps} kept in {place}. `grapevine read {name}` uses them.\n")
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
    /// Whether to ask on however little it would settle.
    all: bool,
    answers: Vec<Answer>,
    /// Moments that were passed over, or at which nothing changed: asked once is enough.
    passed: Vec<Time>,
    /// The round with the answers so far.
    understood: Understood,
    /// Answers and moments passed over, before each reply of this sitting.
    earlier: Vec<(Vec<Answer>, Vec<Time>)>,
}

impl Asking<'_> {
    /// Asks until nothing worth it is left or the person stops; every answer is kept at once.
    fn ask(&mut self, input: &mut impl BufRead) -> Result<(), CommandError> {
        while let Some(question) = self.next()? {
            let question = self.understood.as_shown(&question);
            let said = review::said_around(self.talk, question.time);
            match prompt::ask(self.round, &question, &said, input)? {
                Reply::Answer(answer) => {
                    self.remember();
                    self.answers.push(answer);
                    self.take_in()?;
                }
                Reply::Nothing => {
                    self.remember();
                    self.passed.push(question.time);
                    self.answers.push(review::nothing(&question));
                    self.take_in()?;
                }
                Reply::Unknown => {
                    self.remember();
                    self.passed.push(question.time);
                }
                Reply::Back => self.back()?,
                Reply::Stop => return Ok(()),
            }
        }
        Ok(())
    }

    /// The next question that is worth asking. Says so where there is none.
    fn next(&self) -> Result<Option<Question>, CommandError> {
        let least = if self.all { 0.0 } else { WORTH_ASKING };
        let (heard, understood) = (self.heard, &self.understood);
        let questions = self.reader.questions_about(heard, understood, &self.passed, least)?;
        let next = questions.into_iter().next();
        if next.is_none() {
            terminal::write(if self.all {
                "\nNothing more to ask.\n"
            } else {
                "\nThat's enough, the rest is small: no answer is expected to put right two \
                 seconds\nor more. Go on with --all.\n"
            })?;
        }
        Ok(next)
    }

    fn remember(&mut self) {
        self.earlier.push((self.answers.clone(), self.passed.clone()));
    }

    /// Understands the round anew with a new answer and keeps it, or takes it back where it cannot
    /// be true together with the others.
    fn take_in(&mut self) -> Result<(), CommandError> {
        match self.reader.understand(self.heard, self.round, &self.answers) {
            Ok(understood) => {
                self.understood = understood;
                answers_beside::save(self.place, self.round, &self.answers)
            }
            Err(UnderstandError::Contradiction) => {
                if let Some((answers, passed)) = self.earlier.pop() {
                    (self.answers, self.passed) = (answers, passed);
                }
                terminal::write(
                    "\nTogether with your earlier answers that cannot be, so it is not kept. Answer \
                     again, or go back with b.\n",
                )
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Takes away the last reply of this sitting, or else the last answer of an earlier one.
    fn back(&mut self) -> Result<(), CommandError> {
        match self.earlier.pop() {
            Some((answers, passed)) => (self.answers, self.passed) = (answers, passed),
            None => {
                if self.answers.pop().is_none() {
                    return terminal::write("There is no answer to take away.\n");
                }
            }
        }
        self.understood = self.reader.understand(self.heard, self.round, &self.answers)?;
        answers_beside::save(self.place, self.round, &self.answers)
    }
}
