//! The whole way of one round, as the edges call it.

use academy::{Answer, Ledger, LedgerError, Round, Span, Time};
use talk::{Lexicon, Talk};

use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::Grammar;
use crate::identity::{identity_questions, swapped};
use crate::ledger::ledger;
use crate::mention::{Mention, mentions};
use crate::parameters::{ReaderModel, Settings, SettingsError};
use crate::questions::{Question, questions};
use crate::reader::parameters_file::ParametersError;
use crate::semi_markov::{DecodeError, ModelError, Workspace};
use crate::spare::Spare;
use crate::worth::seconds_mended;

/// Why a reader could not be made.
#[derive(Debug, thiserror::Error)]
pub enum ReaderError {
    /// The parameters.
    #[error("{0}")]
    Parameters(#[from] ParametersError),
    /// The settings.
    #[error("{0}")]
    Settings(#[from] SettingsError),
    /// A weight.
    #[error("{0}")]
    Model(#[from] ModelError),
}

/// Why a round could not be understood.
#[derive(Debug, thiserror::Error)]
pub enum UnderstandError {
    /// The answers contradict each other or the grammar.
    #[error("the answers contradict each other: nothing that can happen fits all of them")]
    Contradiction,
    /// The decoder.
    #[error("{0}")]
    Decode(DecodeError),
    /// The ledger.
    #[error("{0}")]
    Ledger(#[from] LedgerError),
}

impl From<DecodeError> for UnderstandError {
    fn from(error: DecodeError) -> Self {
        match error {
            DecodeError::Impossible => UnderstandError::Contradiction,
            other => UnderstandError::Decode(other),
        }
    }
}

/// A heard round, decoded once with the answers so far; what else is asked about it follows from
/// this without decoding it again.
pub struct Understood {
    /// What happened.
    pub ledger: Ledger,
    /// The stretches in which the two athletes may be swapped: the positions are clear there, and
    /// who is who is not. Empty where the talk tells them apart well enough; see
    /// [`crate::identity::swapped`].
    pub swapped: Vec<Span>,
    decoded: Decoded,
    answers: Vec<Answer>,
}

/// Two moments nearer than this are one to ask about.
const SAME_MOMENT_MILLIS: u64 = 2_000;

/// Reads rounds: parameters, lexicon, and memory that is used again. Made once.
pub struct RoundReader {
    decoder: Decoder,
    lexicon: Lexicon,
    spare: Spare<Workspace>,
}

impl RoundReader {
    /// The reader shipped with the program, with this lexicon.
    ///
    /// # Errors
    /// [`ReaderError`] if the embedded files do not fit the program; a test holds that they do.
    pub fn builtin(lexicon: Lexicon) -> Result<Self, ReaderError> {
        let bytes = include_bytes!("../../../data/parameters/talk.reader");
        let settings = Settings::shipped()?;
        let grammar = Grammar::builtin();
        let model = ReaderModel::parse(bytes, &grammar)?;
        Ok(RoundReader::new(Decoder::new(grammar, model, settings)?, lexicon))
    }

    /// A reader from its parts.
    #[must_use]
    pub fn new(decoder: Decoder, lexicon: Lexicon) -> Self {
        RoundReader { decoder, lexicon, spare: Spare::default() }
    }

    /// The lexicon in use.
    #[must_use]
    pub fn lexicon(&self) -> &Lexicon {
        &self.lexicon
    }

    /// Hears a talk: all that does not depend on answers. The costly part.
    #[must_use]
    pub fn hear(&self, talk: &Talk, round: &Round) -> Heard {
        self.decoder.hear(talk, round, &self.lexicon)
    }

    /// Decodes a heard round with the answers so far.
    ///
    /// # Errors
    /// [`UnderstandError::Contradiction`] if no round fits all answers.
    pub fn understand(
        &self,
        heard: &Heard,
        round: &Round,
        answers: &[Answer],
    ) -> Result<Understood, UnderstandError> {
        let decoded =
            self.spare.lend(|workspace| self.decoder.decode(heard, answers, workspace))?;
        let ledger = ledger(&self.decoder, heard, &decoded, round, answers, &self.lexicon)?;
        let swapped = swapped(&decoded, round);
        Ok(Understood { ledger, swapped, decoded, answers: answers.to_vec() })
    }

    /// At most `most` questions about an understood round, in the order in which to ask them: who
    /// is who comes first, where the athletes may be swapped; then what settles most. None is
    /// about a moment near one of those `passed` over.
    ///
    /// # Errors
    /// Those of decoding; none is known for what was understood before.
    pub fn questions_about(
        &self,
        heard: &Heard,
        understood: &Understood,
        passed: &[Time],
        most: usize,
    ) -> Result<Vec<Question>, UnderstandError> {
        let Understood { decoded, answers, .. } = understood;
        let mut workspace = Workspace::new();
        let far =
            |question: &Question, other: &Time| other.distance(question.time) >= SAME_MOMENT_MILLIS;
        let new = |question: &Question| passed.iter().all(|other| far(question, other));
        let mut asked: Vec<Question> = Vec::new();
        if !understood.swapped.is_empty() {
            let who = identity_questions(&self.decoder, heard, decoded, answers, &mut workspace);
            // One answer settles most of it; whether another is needed shows afterwards.
            asked.extend(who.into_iter().find(new));
        }
        let more = most + passed.len();
        for question in questions(&self.decoder, heard, decoded, answers, more, &mut workspace)? {
            if new(&question) && asked.iter().all(|other| far(&question, &other.time)) {
                asked.push(question);
            }
        }
        asked.truncate(most);
        Ok(asked)
    }

    /// Seconds of the ledger that the answer to a question is expected to mend; see
    /// [`crate::worth::seconds_mended`].
    #[must_use]
    pub fn seconds_mended(
        &self,
        heard: &Heard,
        understood: &Understood,
        question: &Question,
    ) -> f64 {
        let Understood { decoded, answers, .. } = understood;
        self.spare.lend(|workspace| {
            seconds_mended(&self.decoder, heard, decoded, answers, question, workspace)
        })
    }

    /// The ledger of a heard round, given the answers so far.
    ///
    /// # Errors
    /// [`UnderstandError::Contradiction`] if no round fits all answers.
    pub fn ledger(
        &self,
        heard: &Heard,
        round: &Round,
        answers: &[Answer],
    ) -> Result<Ledger, UnderstandError> {
        let Understood { ledger, decoded, .. } = self.understand(heard, round, answers)?;
        self.spare.lend(|workspace| workspace.keep(decoded.posterior));
        Ok(ledger)
    }

    /// At most `most` questions, most useful first.
    ///
    /// # Errors
    /// [`UnderstandError::Contradiction`] if no round fits all answers.
    pub fn questions(
        &self,
        heard: &Heard,
        answers: &[Answer],
        most: usize,
    ) -> Result<Vec<Question>, UnderstandError> {
        self.spare.lend(|workspace| {
            let decoded = self.decoder.decode(heard, answers, workspace)?;
            let questions = questions(&self.decoder, heard, &decoded, answers, most, workspace)?;
            workspace.keep(decoded.posterior);
            Ok(questions)
        })
    }

    /// The terms of the talk with how they were meant and about whom.
    #[must_use]
    pub fn mentions(&self, heard: &Heard) -> Vec<Mention> {
        mentions(heard)
    }
}
