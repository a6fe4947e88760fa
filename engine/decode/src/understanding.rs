//! The whole way of one round, as the edges call it.

use academy::{Answer, Ledger, LedgerError, Round};
use talk::{Lexicon, Talk};

use crate::decoder::{Decoder, Heard};
use crate::grammar::Grammar;
use crate::ledger::ledger;
use crate::mention::{Mention, mentions};
use crate::parameters::{ReaderModel, Settings, SettingsError};
use crate::questions::{Question, questions};
use crate::reader::parameters_file::ParametersError;
use crate::semi_markov::{DecodeError, ModelError, Workspace};

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

/// Reads rounds: parameters, lexicon, and memory that is used again. Made once.
pub struct RoundReader {
    decoder: Decoder,
    lexicon: Lexicon,
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
        Ok(RoundReader { decoder: Decoder::new(grammar, model, settings)?, lexicon })
    }

    /// A reader from its parts.
    #[must_use]
    pub fn new(decoder: Decoder, lexicon: Lexicon) -> Self {
        RoundReader { decoder, lexicon }
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
        let decoded = self.decoder.decode(heard, answers, &mut Workspace::new())?;
        Ok(ledger(&self.decoder, heard, &decoded, round, answers, &self.lexicon)?)
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
        let mut workspace = Workspace::new();
        let decoded = self.decoder.decode(heard, answers, &mut workspace)?;
        Ok(questions(&self.decoder, heard, &decoded, answers, most, &mut workspace)?)
    }

    /// The terms of the talk with how they were meant and about whom.
    #[must_use]
    pub fn mentions(&self, heard: &Heard) -> Vec<Mention> {
        mentions(heard)
    }
}
