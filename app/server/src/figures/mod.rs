//! From the book to figures: rounds are loaded once and kept until the book changes, figures are
//! worked out once for whoever asks, one computation at a time, away from the threads that answer.
//!
//! [`known`] has the rounds, [`ahead`] reads those that nobody has looked at yet, [`unread`] tells
//! which of them count in nothing.

mod ahead;
mod known;
mod unread;

use std::collections::HashMap;
use std::hash::Hash;
use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use std::time::Duration;

use academy::RoundKind;
use figures::AthleteId;
use figures::meant::KindNorms;
use figures::overview::{AcademyFigures, GroupFigures, Selection, StudentFigures};
use figures::taught::{Use, uses};
use jiff::civil::Date;
use lru::LruCache;
use store::{Revision, RoundId};
use tokio::runtime::Handle;
use tokio::sync::Notify;
use tokio::task::JoinHandle;

pub(crate) use self::known::{Known, MomentOf, athlete};
pub(crate) use self::unread::Unread;
use crate::error::PageError;
use crate::state::App;

/// How long a page waits for its figures before it says that they are still being added up.
const PATIENCE: Duration = Duration::from_secs(4);

const FEW: NonZeroUsize = NonZeroUsize::new(6).expect("6 is not zero");
const MANY: NonZeroUsize = NonZeroUsize::new(64).expect("64 is not zero");

/// What was taught, on which day, and who was there.
type OfTaught = (Vec<String>, Date, Vec<AthleteId>);

/// Figures of a student, where they are in any, with the rounds that they are of.
pub(crate) type OfStudent = (Arc<Known>, Arc<Option<StudentFigures>>);

/// Rounds and figures that are kept.
pub(crate) struct Figures {
    known: RwLock<Option<Arc<Known>>>,
    /// Whoever loads rounds holds this.
    loading: tokio::sync::Mutex<()>,
    /// Whoever works something out holds this.
    turn: tokio::sync::Mutex<()>,
    academies: Kept<Selection, AcademyFigures>,
    students: Kept<(Selection, AthleteId, Option<Date>), Option<StudentFigures>>,
    groups: Kept<(Selection, Vec<AthleteId>), Option<GroupFigures>>,
    /// Of all rounds, or of those of a kind but one.
    norms: Kept<Option<(RoundKind, RoundId)>, KindNorms>,
    uses: Kept<OfTaught, Vec<[Use; 2]>>,
    /// Rounds that could not be read as they were; they are tried again once they change.
    failed: Mutex<HashMap<RoundId, Revision>>,
    /// Told when rounds are waiting to be read.
    waiting: Notify,
}

/// Things that were worked out, each with the stamp of the book that it belongs to.
struct Kept<K, V>(Mutex<LruCache<(i64, K), Arc<V>>>);

impl<K: Hash + Eq, V> Kept<K, V> {
    fn new(most: NonZeroUsize) -> Self {
        Kept(Mutex::new(LruCache::new(most)))
    }

    fn get(&self, key: &(i64, K)) -> Option<Arc<V>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).get(key).cloned()
    }

    fn put(&self, key: (i64, K), value: V) -> Arc<V> {
        let value = Arc::new(value);
        self.0.lock().unwrap_or_else(PoisonError::into_inner).put(key, value.clone());
        value
    }
}

impl Figures {
    pub(crate) fn new() -> Self {
        Figures {
            known: RwLock::new(None),
            loading: tokio::sync::Mutex::new(()),
            turn: tokio::sync::Mutex::new(()),
            academies: Kept::new(FEW),
            students: Kept::new(MANY),
            groups: Kept::new(MANY),
            norms: Kept::new(FEW),
            uses: Kept::new(MANY),
            failed: Mutex::default(),
            waiting: Notify::new(),
        }
    }
}

#[cfg(test)]
impl Figures {
    /// Keeps everybody else from loading rounds and from working anything out.
    pub(crate) async fn hold(&self) -> [tokio::sync::MutexGuard<'_, ()>; 2] {
        [self.loading.lock().await, self.turn.lock().await]
    }
}

impl App {
    /// The rounds as they were last loaded.
    fn loaded(&self) -> Option<Arc<Known>> {
        self.figures.known.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The rounds as they were last loaded, where that is how the book is now.
    async fn known_at_hand(&self) -> Result<Option<Arc<Known>>, PageError> {
        let stamp = self.book.figures_stamp().await?.0;
        Ok(self.loaded().filter(|known| known.stamp == stamp))
    }

    /// Every round whose ledger is known, as the book is now. Goes on where whoever asked is gone.
    ///
    /// # Errors
    /// [`PageError::StillAdding`] where it takes longer than a page waits.
    pub(crate) async fn known(&self) -> Result<Arc<Known>, PageError> {
        if let Some(known) = self.known_at_hand().await? {
            return Ok(known);
        }
        let app = self.clone();
        awaited(tokio::spawn(async move { app.known_at_last().await })).await
    }

    /// Every round whose ledger is known, however long it takes to load them.
    async fn known_at_last(&self) -> Result<Arc<Known>, PageError> {
        let _turn = self.figures.loading.lock().await;
        // Before the rounds: what is changed while they are loaded makes them out of date.
        let stamp = self.book.figures_stamp().await?.0;
        if let Some(known) = self.loaded().filter(|known| known.stamp == stamp) {
            return Ok(known);
        }
        // To make ledgers of years of rounds would hold up the threads that answer.
        let (app, here) = (self.clone(), Handle::current());
        let loading = move || here.block_on(Known::load(&app, stamp));
        let known = Arc::new(tokio::task::spawn_blocking(loading).await.map_err(fault)??);
        if !known.unread.is_empty() {
            self.figures.waiting.notify_one();
        }
        let loaded = Some(known.clone());
        *self.figures.known.write().unwrap_or_else(PoisonError::into_inner) = loaded;
        Ok(known)
    }

    /// Every round whose ledger is known as they were last loaded: for what need not be up to the
    /// minute. Where the book was changed since, they are loaded anew in the background.
    pub(crate) async fn known_lately(&self) -> Result<Arc<Known>, PageError> {
        let Some(known) = self.loaded() else { return self.known().await };
        if self.book.figures_stamp().await?.0 != known.stamp {
            self.figures.waiting.notify_one();
        }
        Ok(known)
    }

    /// What the selected rounds of everybody add up to.
    pub(crate) async fn academy_figures(
        &self,
        known: &Arc<Known>,
        selection: &Selection,
    ) -> Result<Arc<AcademyFigures>, PageError> {
        let (rounds, picked) = (known.clone(), selection.clone());
        let work = move || AcademyFigures::new(&rounds.selected(&picked), rounds.belts.clone());
        self.once(|held| &held.academies, (known.stamp, selection.clone()), work).await
    }

    /// All figures of a student in the selected rounds, beside everybody's; nothing where they are
    /// in none.
    pub(crate) async fn student_figures(
        &self,
        known: &Arc<Known>,
        selection: &Selection,
        who: AthleteId,
        since: Option<Date>,
    ) -> Result<Arc<Option<StudentFigures>>, PageError> {
        let academy = self.academy_figures(known, selection).await?;
        let (rounds, picked) = (known.clone(), selection.clone());
        let work = move || academy.student(&rounds.selected(&picked), who, since);
        let key = (known.stamp, (selection.clone(), who, since));
        self.once(|held| &held.students, key, work).await
    }

    /// All figures of a student as [`App::student_figures`] gives them, with the rounds they are of,
    /// where both were worked out before; waits for nothing.
    pub(crate) async fn student_figures_at_hand(
        &self,
        selection: &Selection,
        who: AthleteId,
        since: Option<Date>,
    ) -> Result<Option<OfStudent>, PageError> {
        let Some(known) = self.known_at_hand().await? else { return Ok(None) };
        let figures = self.figures.students.get(&(known.stamp, (selection.clone(), who, since)));
        Ok(figures.map(|figures| (known, figures)))
    }

    /// What rounds are like by their kind: all of them, or those of one kind but one.
    pub(crate) async fn norms(
        &self,
        known: &Arc<Known>,
        but: Option<(RoundKind, RoundId)>,
    ) -> Result<Arc<KindNorms>, PageError> {
        let rounds = known.clone();
        let work = move || match but {
            None => KindNorms::of(&rounds.all()),
            Some((kind, id)) => KindNorms::of(&rounds.others_of_kind(kind, id)),
        };
        self.once(|held| &held.norms, (known.stamp, but), work).await
    }

    /// How techniques were used before a day and since, by some people and by all others.
    pub(crate) async fn uses(
        &self,
        known: &Arc<Known>,
        (techniques, day): (Vec<String>, Date),
        mut people: Vec<AthleteId>,
    ) -> Result<Arc<Vec<[Use; 2]>>, PageError> {
        people.sort_unstable();
        let key = (known.stamp, (techniques.clone(), day, people.clone()));
        let rounds = known.clone();
        let work = move || {
            let there = |who: AthleteId| people.binary_search(&who).is_ok();
            uses(&rounds.all(), &techniques, day, there)
        };
        self.once(|held| &held.uses, key, work).await
    }

    /// All figures of some people together; nothing where none of them is in a round.
    pub(crate) async fn group_figures(
        &self,
        known: &Arc<Known>,
        selection: &Selection,
        mut people: Vec<AthleteId>,
    ) -> Result<Arc<Option<GroupFigures>>, PageError> {
        people.sort_unstable();
        people.dedup();
        let academy = self.academy_figures(known, selection).await?;
        let key = (known.stamp, (selection.clone(), people.clone()));
        self.once(|held| &held.groups, key, move || academy.group(&people)).await
    }

    /// Gives what was worked out before, or works it out. Goes on where whoever asked is gone, so
    /// that asking again finds it.
    ///
    /// # Errors
    /// [`PageError::StillAdding`] where it takes longer than a page waits.
    async fn once<K, V>(
        &self,
        kept: fn(&Figures) -> &Kept<K, V>,
        key: (i64, K),
        work: impl FnOnce() -> V + Send + 'static,
    ) -> Result<Arc<V>, PageError>
    where
        K: Hash + Eq + Send + 'static,
        V: Send + Sync + 'static,
    {
        if let Some(value) = kept(&self.figures).get(&key) {
            return Ok(value);
        }
        let app = self.clone();
        let working = tokio::spawn(async move {
            let _turn = app.figures.turn.lock().await;
            if let Some(value) = kept(&app.figures).get(&key) {
                return Ok(value);
            }
            let value = tokio::task::spawn_blocking(work).await.map_err(fault)?;
            Ok(kept(&app.figures).put(key, value))
        });
        awaited(working).await
    }
}

/// Waits for what was begun as long as a page waits; it goes on all the same.
async fn awaited<T>(working: JoinHandle<Result<T, PageError>>) -> Result<T, PageError> {
    match tokio::time::timeout(PATIENCE, working).await {
        Ok(done) => done.map_err(fault)?,
        Err(_) => Err(PageError::StillAdding),
    }
}

fn fault(error: impl std::fmt::Display) -> PageError {
    PageError::Fault(error.to_string())
}
