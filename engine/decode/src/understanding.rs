//! The whole way of one round, as the edges call it.

use academy::{Answer, Ledger, LedgerError, Round, Span, Time};
use talk::{Lexicon, Talk};

use crate::answers::bin_of;
use crate::decoder::{Decoded, Decoder, Heard};
use crate::grammar::{Grammar, STATES, state};
use crate::identity::{identity_questions, swapped};
use crate::ledger::ledger;
use crate::mention::{Mention, mentions};
use crate::parameters::{ReaderModel, Settings, SettingsError};
use crate::questions::{Choice, Question, questions};
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

impl Understood {
    /// A question with the chances that are shown for it, likeliest choice first: what the ledger
    /// says has the ledger's confidence, and the others share what is left as they do at that
    /// moment. So that one moment has one number, whether it is listed, drawn or asked about.
    #[must_use]
    pub fn as_shown(&self, question: &Question) -> Question {
        let mut shown = question.clone();
        let is_state =
            |choice: &Choice| matches!(choice.answer, Answer::State { .. } | Answer::Spell { .. });
        let Some(spell) =
            self.ledger.spell_at(question.time).filter(|_| question.choices.iter().all(is_state))
        else {
            return shown;
        };
        let Some(state) = state(spell.position, spell.top) else { return shown };
        let bin = bin_of(question.time, self.decoded.bins);
        let own = self.decoded.posterior.state_marginal[bin * STATES + state];
        let scale = (1.0 - spell.confidence) / (1.0 - own).max(f64::MIN_POSITIVE);
        for choice in &mut shown.choices {
            let own = matches!(choice.answer, Answer::State { position, top, .. }
                | Answer::Spell { position, top, .. } if (position, top) == (spell.position, spell.top));
            choice.probability =
                if own { spell.confidence } else { (choice.probability * scale).clamp(0.0, 1.0) };
        }
        shown.choices.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        shown
    }
}

/// Questions of which those worth it are told.
const WEIGHED: usize = 8;

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

    /// Questions about an understood round whose answers are each expected to mend `least` seconds
    /// of the ledger, in the order in which to ask them: who is who comes first, where the
    /// athletes may be swapped; then what settles most. None is about a moment near one of those
    /// `passed` over. Few at a time: the next answer changes what is open.
    ///
    /// # Errors
    /// Those of decoding; none is known for what was understood before.
    pub fn questions_about(
        &self,
        heard: &Heard,
        understood: &Understood,
        passed: &[Time],
        least: f64,
    ) -> Result<Vec<Question>, UnderstandError> {
        let Understood { decoded, answers, .. } = understood;
        let far =
            |question: &Question, other: &Time| other.distance(question.time) >= SAME_MOMENT_MILLIS;
        let new = |question: &Question| passed.iter().all(|other| far(question, other));
        self.spare.lend(|workspace| {
            let mut asked: Vec<Question> = Vec::new();
            if !understood.swapped.is_empty() {
                let who = identity_questions(&self.decoder, heard, decoded, answers, workspace);
                // One answer settles much of it; whether another is needed shows afterwards.
                asked.extend(who.into_iter().find(new));
            }
            let most = WEIGHED + passed.len();
            for question in questions(&self.decoder, heard, decoded, answers, most, workspace)? {
                if new(&question) && asked.iter().all(|other| far(&question, &other.time)) {
                    asked.push(question);
                }
            }
            asked.retain(|question| {
                seconds_mended(&self.decoder, heard, decoded, answers, question, workspace) >= least
            });
            Ok(asked)
        })
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
