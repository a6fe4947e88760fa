//! From what the book keeps of a round to what is shown of it: captions, answers and entries by
//! hand in, ledger and questions out. What was heard and understood is remembered, since hearing
//! is the costly part and depends on no answer.

use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use academy::{Ledger, Note, Round};
use decode::decoder::Heard;
use decode::worth::WORTH_ASKING;
use decode::{Question, ReaderError, RoundReader, Understood};
use lru::LruCache;
use store::{KeptLedger, Revision, RoundFacts, RoundId, SpokenForm, Subject, Told};
use talk::{Lexicon, Talk};

use crate::error::PageError;
use crate::state::App;

/// Rounds that are remembered as heard.
const REMEMBERED: NonZeroUsize = NonZeroUsize::new(32).expect("32 is not zero");

/// A round with everything that its pages show.
pub(crate) struct ShownRound {
    pub(crate) id: RoundId,
    pub(crate) revision: Revision,
    pub(crate) facts: RoundFacts,
    pub(crate) round: Round,
    pub(crate) told: Told,
    /// What is guessed, before entries by hand.
    pub(crate) guess: Ledger,
    /// What is shown: entries by hand over what is guessed.
    pub(crate) ledger: Ledger,
    /// The talk as heard; `None` for a round without captions.
    pub(crate) spoken: Option<Arc<Spoken>>,
    pub(crate) understood: Option<Arc<Answered>>,
}

/// A talk, heard once.
pub(crate) struct Spoken {
    pub(crate) talk: Talk,
    pub(crate) left_out: Option<Note>,
    pub(crate) heard: Heard,
}

/// A heard talk with the answers so far.
pub(crate) struct Answered {
    pub(crate) understood: Understood,
    /// What is worth asking, first to ask first.
    pub(crate) questions: Vec<Question>,
}

/// Makes a reader that knows the words of a lexicon.
pub(crate) type MakeReader = Box<dyn Fn(Lexicon) -> Result<RoundReader, ReaderError> + Send + Sync>;

/// The reader and what it remembers.
pub(crate) struct Reading {
    make: MakeReader,
    /// With the words that the coach taught, and which those are.
    reader: RwLock<(String, Arc<RoundReader>)>,
    spoken: Mutex<LruCache<String, Arc<Spoken>>>,
    answered: Mutex<LruCache<String, Arc<Answered>>>,
}

impl Reading {
    pub(crate) fn new(make: MakeReader) -> Result<Self, ReaderError> {
        let reader = Arc::new(make(Lexicon::builtin())?);
        Ok(Reading {
            make,
            reader: RwLock::new((String::new(), reader)),
            spoken: Mutex::new(LruCache::new(REMEMBERED)),
            answered: Mutex::new(LruCache::new(REMEMBERED)),
        })
    }

    /// The reader that knows these taught words.
    fn reader(&self, forms: &[SpokenForm]) -> Result<(String, Arc<RoundReader>), PageError> {
        let mut hasher = blake3::Hasher::new();
        for form in forms {
            hasher.update(format!("{}\u{1}{}\u{2}", form.heard, form.meant).as_bytes());
        }
        let wanted = hasher.finalize().to_hex().to_string();
        {
            let held = self.reader.read().unwrap_or_else(PoisonError::into_inner);
            if held.0 == wanted {
                return Ok(held.clone());
            }
        }
        let lexicon = Lexicon::builtin();
        let reader = (self.make)(lexicon).map_err(fault)?;
        let made = (wanted, Arc::new(reader));
        *self.reader.write().unwrap_or_else(PoisonError::into_inner) = made.clone();
        Ok(made)
    }
}

fn fault(error: impl std::fmt::Display) -> PageError {
    PageError::Fault(error.to_string())
}

fn remembered<T>(cache: &Mutex<LruCache<String, Arc<T>>>, key: &str) -> Option<Arc<T>> {
    cache.lock().unwrap_or_else(PoisonError::into_inner).get(key).cloned()
}

fn remember<T>(cache: &Mutex<LruCache<String, Arc<T>>>, key: &str, value: &Arc<T>) {
    cache.lock().unwrap_or_else(PoisonError::into_inner).put(key.to_owned(), value.clone());
}

impl App {
    /// A round as its pages show it. Reads the talk where that is not remembered, and keeps the
    /// ledger in the book where it is a new one.
    pub(crate) async fn shown_round(&self, id: RoundId) -> Result<ShownRound, PageError> {
        let book = &self.book;
        let revision = book.revision(Subject::Round(id)).await?;
        let facts = book.round_facts(id).await?;
        let round = book.round(&facts).await?;
        let told = book.told(id).await?;
        let Some(captions) = &facts.talk else {
            let guess = review::unread(facts.length);
            let ledger = review::with_hand(&guess, &told.by_hand);
            let shown = ShownRound {
                id,
                revision,
                facts,
                round,
                told,
                guess,
                ledger,
                spoken: None,
                understood: None,
            };
            self.keep(&shown, "by hand").await?;
            return Ok(shown);
        };
        let (words, reader) = self.reading.reader(&book.spoken_forms().await?)?;
        let mut hasher = blake3::Hasher::new();
        hasher.update(words.as_bytes()).update(captions.text.as_bytes());
        hasher.update(format!("{round:?}").as_bytes());
        let spoken_key = hasher.finalize().to_hex().to_string();
        hasher.update(format!("{:?}{:?}", told.answers, told.passed).as_bytes());
        let answered_key = hasher.finalize().to_hex().to_string();
        let spoken = remembered(&self.reading.spoken, &spoken_key);
        let answered = remembered(&self.reading.answered, &answered_key);
        let (spoken, answered) = match (spoken, answered) {
            (Some(spoken), Some(answered)) => (spoken, answered),
            (spoken, _) => {
                let (text, round, told) = (captions.text.clone(), round.clone(), told.clone());
                let read = move || read(&reader, &text, &round, &told, spoken);
                tokio::task::spawn_blocking(read).await.map_err(fault)??
            }
        };
        remember(&self.reading.spoken, &spoken_key, &spoken);
        remember(&self.reading.answered, &answered_key, &answered);
        let guess = answered.understood.ledger.clone();
        let ledger = review::with_hand(&guess, &told.by_hand);
        let shown = ShownRound {
            id,
            revision,
            facts,
            round,
            told,
            guess,
            ledger,
            spoken: Some(spoken),
            understood: Some(answered),
        };
        self.keep(&shown, &answered_key).await?;
        Ok(shown)
    }

    /// Keeps a shown ledger in the book for lists and figures, where it is another than was kept.
    async fn keep(&self, shown: &ShownRound, key: &str) -> Result<(), PageError> {
        let mut hasher = blake3::Hasher::new();
        hasher.update(key.as_bytes()).update(format!("{:?}", shown.told.by_hand).as_bytes());
        let reading = hasher.finalize().to_hex().to_string();
        let kept = self.book.kept_ledger(shown.id).await?;
        if kept.is_some_and(|kept| kept.reading == reading) {
            return Ok(());
        }
        let questions = shown.understood.as_ref().map_or(0, |answered| answered.questions.len());
        let open_questions =
            if shown.facts.confirmed.is_some() { 0 } else { u32::try_from(questions).unwrap_or(0) };
        let kept = KeptLedger { reading, open_questions, ledger: shown.ledger.clone() };
        Ok(self.book.keep_ledger(shown.id, &kept).await?)
    }
}

fn read(
    reader: &RoundReader,
    text: &str,
    round: &Round,
    told: &Told,
    spoken: Option<Arc<Spoken>>,
) -> Result<(Arc<Spoken>, Arc<Answered>), PageError> {
    let spoken = match spoken {
        Some(spoken) => spoken,
        None => {
            let (talk, left_out) = captions(text, round)?;
            let heard = reader.hear(&talk, round);
            Arc::new(Spoken { talk, left_out, heard })
        }
    };
    let understood = reader.understand(&spoken.heard, round, &told.answers)?;
    let questions =
        reader.questions_about(&spoken.heard, &understood, &told.passed, WORTH_ASKING)?;
    Ok((spoken, Arc::new(Answered { understood, questions })))
}

/// The talk of a captions file, as far as the round lasted.
pub(crate) fn captions(text: &str, round: &Round) -> Result<(Talk, Option<Note>), PageError> {
    let options =
        talk::ReadOptions { length: Some(round.length()), ..talk::ReadOptions::default() };
    let reading = talk::read_with(text.as_bytes(), options).map_err(PageError::refused)?;
    Ok(review::talk_over(round, reading.talk))
}
