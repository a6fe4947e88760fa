//! From what the book keeps of a round to what is shown of it: captions, answers and entries by
//! hand in, ledger and questions out. What was heard and understood is remembered, since hearing
//! is the costly part and depends on no answer.

use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use academy::{Athlete, Ledger, Note, Round};
use decode::decoder::Heard;
use decode::worth::WORTH_ASKING;
use decode::{Question, ReaderError, RoundReader, UnderstandError, Understood};
use lru::LruCache;
use reports::TalkLine;
use store::{KeptLedger, Revision, RoundFacts, RoundId, SpokenForm, Subject, Told};
use talk::read::ReadWarning;
use talk::{Lexicon, Talk};

use crate::error::PageError;
use crate::spoken_names::{as_spoken, taught};
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
    /// What is shown: entries by hand over what is guessed.
    pub(crate) ledger: Ledger,
    /// The talk as heard; `None` for a round without captions.
    pub(crate) spoken: Option<Arc<Spoken>>,
    pub(crate) understood: Option<Arc<Answered>>,
    /// Why the talk could not be read, where it could not.
    pub(crate) trouble: Option<String>,
    /// A hash of all that went into the reading.
    key: String,
    /// As of when the book was read for it.
    as_of: Revision,
}

/// What reading a round gave.
pub(crate) struct Read {
    key: String,
    /// `None` for a round without captions.
    parts: Option<(Arc<Spoken>, Arc<Answered>)>,
}

/// A talk, heard once.
pub(crate) struct Spoken {
    /// The talk with what was put right.
    pub(crate) corrected: Talk,
    /// The talk as people read it.
    pub(crate) lines: Vec<TalkLine>,
    pub(crate) left_out: Option<Note>,
    pub(crate) heard: Heard,
}

/// A heard talk with the answers so far.
pub(crate) struct Answered {
    pub(crate) understood: Understood,
    reader: Arc<RoundReader>,
    /// What is worth asking, first to ask first, once that was looked for.
    questions: OnceLock<Vec<Question>>,
    /// Held while it is looked for, so that nobody looks twice.
    weighing: Mutex<()>,
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
            reader: RwLock::new((name(&[]), reader)),
            spoken: Mutex::new(LruCache::new(REMEMBERED)),
            answered: Mutex::new(LruCache::new(REMEMBERED)),
        })
    }

    /// The reader that knows these taught words.
    fn reader(&self, forms: &[SpokenForm]) -> Result<(String, Arc<RoundReader>), PageError> {
        let wanted = name(forms);
        {
            let held = self.reader.read().unwrap_or_else(PoisonError::into_inner);
            if held.0 == wanted {
                return Ok(held.clone());
            }
        }
        // What is a name and no term is taught to the talk, see `read`.
        let (lexicon, _) = Lexicon::builtin().with_spoken_forms(&pairs(forms));
        let as_said: Vec<&str> =
            forms.iter().filter(|form| form.is_as_said()).map(|form| form.heard.as_str()).collect();
        let lexicon = lexicon.with_words_as_said(&as_said);
        let reader = (self.make)(lexicon).map_err(fault)?;
        let made = (wanted, Arc::new(reader));
        *self.reader.write().unwrap_or_else(PoisonError::into_inner) = made.clone();
        Ok(made)
    }
}

/// A hash of taught words, by which a reader that knows them is remembered.
fn name(forms: &[SpokenForm]) -> String {
    let mut hasher = blake3::Hasher::new();
    for form in forms {
        hasher.update(format!("{}\u{1}{}\u{2}", form.heard, form.meant).as_bytes());
    }
    hasher.finalize().to_hex().to_string()
}

/// What is heard, with what is meant.
fn pairs(forms: &[SpokenForm]) -> Vec<(&str, &str)> {
    let meaning = forms.iter().filter(|form| !form.is_as_said());
    meaning.map(|form| (form.heard.as_str(), form.meant.as_str())).collect()
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
    /// The names of all terms that the reader knows.
    pub(crate) fn terms(&self) -> Vec<String> {
        let held = self.reading.reader.read().unwrap_or_else(PoisonError::into_inner);
        held.1.lexicon().terms().iter().map(|term| term.name.clone()).collect()
    }

    /// The reader that was used last, with the words that the coach taught.
    pub(crate) fn reader(&self) -> Arc<RoundReader> {
        self.reading.reader.read().unwrap_or_else(PoisonError::into_inner).1.clone()
    }

    /// A round as its pages show it, with what is worth asking about it.
    pub(crate) async fn shown_round(&self, id: RoundId) -> Result<ShownRound, PageError> {
        let shown = self.round_at_once(id).await?;
        self.open_questions(&shown).await?;
        self.keep(&shown).await?;
        Ok(shown)
    }

    /// A round as its pages show it. What is worth asking is there only if it was looked for
    /// before: to weigh questions takes many times as long as to read.
    pub(crate) async fn round_at_once(&self, id: RoundId) -> Result<ShownRound, PageError> {
        self.round_read(id, true).await
    }

    /// Reads a round and keeps its ledger, as nobody looks: what people look at stays remembered.
    pub(crate) async fn read_aside(&self, id: RoundId) -> Result<(), PageError> {
        let shown = self.round_read(id, false).await?;
        self.open_questions(&shown).await?;
        self.keep(&shown).await
    }

    async fn round_read(&self, id: RoundId, remembers: bool) -> Result<ShownRound, PageError> {
        let book = &self.book;
        // First: what is changed while the rest is fetched makes the ledger out of date.
        let as_of = book.reading_revision(id).await?;
        let revision = book.revision(Subject::Round(id)).await?;
        let facts = book.round_facts(id).await?;
        let round = book.round(&facts).await?;
        let told = book.told(id).await?;
        let forms = book.spoken_forms().await?;
        let (read, trouble) = match self.read_for(&facts, &round, &told, &forms, remembers).await {
            Ok(read) => (read, None),
            // The round must be shown all the same: how else could it be put right?
            Err(error @ (PageError::Refused(_) | PageError::Understand(_))) => {
                (Read { key: "in trouble".to_owned(), parts: None }, Some(error.to_string()))
            }
            Err(error) => return Err(error),
        };
        let guess = match &read.parts {
            // What was confirmed shows as it was, whatever a later reading would guess.
            Some((_, answered)) if facts.confirmed.is_none() => answered.understood.ledger.clone(),
            _ => review::unread(facts.length),
        };
        let ledger = review::with_hand(&guess, &told.by_hand);
        let (spoken, understood) = read.parts.unzip();
        let key = read.key;
        Ok(ShownRound {
            id,
            revision,
            facts,
            round,
            told,
            ledger,
            spoken,
            understood,
            trouble,
            key,
            as_of,
        })
    }

    /// Whether a round could be read with these facts, answers and taught words. What was read is
    /// remembered, so that keeping them costs no second reading.
    ///
    /// # Errors
    /// Captions that cannot be read, or answers that contradict each other.
    pub(crate) async fn read(
        &self,
        facts: &RoundFacts,
        round: &Round,
        told: &Told,
        forms: &[SpokenForm],
    ) -> Result<Read, PageError> {
        self.read_for(facts, round, told, forms, true).await
    }

    async fn read_for(
        &self,
        facts: &RoundFacts,
        round: &Round,
        told: &Told,
        forms: &[SpokenForm],
        remembers: bool,
    ) -> Result<Read, PageError> {
        let Some(captions) = &facts.talk else {
            return Ok(Read { key: "by hand".to_owned(), parts: None });
        };
        let (words, reader) = self.reading.reader(forms)?;
        let mut hasher = blake3::Hasher::new();
        hasher.update(words.as_bytes()).update(captions.text.as_bytes());
        hasher.update(format!("{round:?}").as_bytes());
        let spoken_key = hasher.finalize().to_hex().to_string();
        hasher.update(format!("{:?}{:?}", told.answers, told.passed).as_bytes());
        let key = hasher.finalize().to_hex().to_string();
        let spoken = remembered(&self.reading.spoken, &spoken_key);
        let answered = remembered(&self.reading.answered, &key);
        if let (Some(spoken), Some(answered)) = (&spoken, answered) {
            return Ok(Read { key, parts: Some((spoken.clone(), answered)) });
        }
        let (text, round, told) = (captions.text.clone(), round.clone(), told.clone());
        let forms = forms.to_vec();
        let reading = move || read(reader, &text, &round, &told, &forms, spoken);
        let parts = tokio::task::spawn_blocking(reading).await.map_err(fault)??;
        if remembers {
            remember(&self.reading.spoken, &spoken_key, &parts.0);
            remember(&self.reading.answered, &key, &parts.1);
        }
        Ok(Read { key, parts: Some(parts) })
    }

    /// What is worth asking about a round, first to ask first, with the chances as they are shown.
    /// Nothing is asked about a confirmed round, nor about what a person told already.
    pub(crate) async fn open_questions(
        &self,
        shown: &ShownRound,
    ) -> Result<Vec<Question>, PageError> {
        let (Some(spoken), Some(answered), None) =
            (&shown.spoken, &shown.understood, shown.facts.confirmed)
        else {
            return Ok(Vec::new());
        };
        if answered.questions.get().is_none() {
            let (spoken, answered) = (spoken.clone(), answered.clone());
            let passed = shown.told.passed.clone();
            let weigh = move || -> Result<(), UnderstandError> {
                let _held = answered.weighing.lock().unwrap_or_else(PoisonError::into_inner);
                if answered.questions.get().is_some() {
                    return Ok(());
                }
                let (heard, understood) = (&spoken.heard, &answered.understood);
                let questions =
                    answered.reader.questions_about(heard, understood, &passed, WORTH_ASKING)?;
                answered.questions.get_or_init(|| questions);
                Ok(())
            };
            tokio::task::spawn_blocking(weigh).await.map_err(fault)??;
        }
        Ok(shown.questions().unwrap_or_default())
    }

    /// Keeps a shown ledger in the book for lists and figures, where it is another than was kept.
    pub(crate) async fn keep(&self, shown: &ShownRound) -> Result<(), PageError> {
        let mut hasher = blake3::Hasher::new();
        hasher.update(shown.key.as_bytes());
        let facts = (shown.facts.confirmed, shown.facts.length);
        hasher.update(format!("{facts:?}").as_bytes());
        hasher.update(format!("{:?}", shown.told.by_hand).as_bytes());
        let reading = hasher.finalize().to_hex().to_string();
        let kept = self.book.kept_ledger(shown.id).await?;
        if kept.is_some_and(|kept| kept.reading == reading) {
            return Ok(());
        }
        let questions = shown.questions().map_or(0, |questions| questions.len());
        let open_questions = u32::try_from(questions).unwrap_or(u32::MAX);
        let kept = KeptLedger { reading, open_questions, ledger: shown.ledger.clone() };
        // Where something was changed meanwhile, the round is read again by whoever asks next.
        self.book.keep_ledger_as_of(shown.id, &kept, shown.as_of).await?;
        Ok(())
    }
}

impl ShownRound {
    /// By which reading this is shown: another one may show something else.
    pub(crate) fn reading(&self) -> &str {
        &self.key
    }

    /// What is worth asking, where that was looked for: see [`App::open_questions`].
    pub(crate) fn questions(&self) -> Option<Vec<Question>> {
        let Some(answered) = self.understood.as_ref().filter(|_| self.facts.confirmed.is_none())
        else {
            return Some(Vec::new());
        };
        let told = |question: &&Question| {
            !self.told.by_hand.spells.iter().any(|spell| spell.span.contains(question.time))
        };
        let shown = |question: &Question| answered.understood.as_shown(question);
        Some(answered.questions.get()?.iter().filter(told).map(shown).collect())
    }
}

fn read(
    reader: Arc<RoundReader>,
    text: &str,
    round: &Round,
    told: &Told,
    forms: &[SpokenForm],
    spoken: Option<Arc<Spoken>>,
) -> Result<(Arc<Spoken>, Arc<Answered>), PageError> {
    let called = as_spoken(round);
    let spoken = match spoken {
        Some(spoken) => spoken,
        None => {
            let (talk, left_out) = captions(text, round)?;
            let names = Athlete::BOTH.map(|athlete| called.name(athlete));
            let talk = talk::with_names_taught(&talk, names, &taught(forms, round, &called));
            let heard = reader.hear(&talk, &called);
            let lines = review::talk_lines(&talk, &heard.seen, &reader.mentions(&heard));
            let corrected = talk::correct(&talk, &review::corrections(&talk, &heard.seen));
            Arc::new(Spoken { corrected, lines, left_out, heard })
        }
    };
    let understood = reader.understand(&spoken.heard, &called, &told.answers)?;
    let (questions, weighing) = (OnceLock::new(), Mutex::new(()));
    Ok((spoken, Arc::new(Answered { reader, understood, questions, weighing })))
}

/// The talk of a captions file, as far as the round lasted.
fn captions(text: &str, round: &Round) -> Result<(Talk, Option<Note>), PageError> {
    let (talk, left_out, _) = open_captions(text, round)?;
    Ok((talk, left_out))
}

/// What to say to somebody who gives a round these captions: what is odd about them, by line, and
/// what was left out. Empty where nothing is.
///
/// # Errors
/// Captions that cannot be read.
pub(crate) fn remarks_on(text: &str, round: &Round) -> Result<String, PageError> {
    const MOST: usize = 3;
    let (_, left_out, odd) = open_captions(text, round)?;
    let mut remarks: Vec<String> = odd.iter().take(MOST).map(|one| format!("{one}.")).collect();
    if odd.len() > MOST {
        remarks.push(format!("And {} more of this kind.", odd.len() - MOST));
    }
    remarks.extend(left_out.map(|note| reports::wording::note(round, &note)));
    Ok(remarks.join(" "))
}

fn open_captions(
    text: &str,
    round: &Round,
) -> Result<(Talk, Option<Note>, Vec<ReadWarning>), PageError> {
    let options =
        talk::ReadOptions { length: Some(round.length()), ..talk::ReadOptions::default() };
    let reading = talk::read_with(text.as_bytes(), options).map_err(PageError::refused)?;
    let (talk, left_out) = review::talk_over(round, reading.talk);
    Ok((talk, left_out, reading.warnings))
}
