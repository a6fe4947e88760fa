//! From the book to figures: rounds are loaded once and kept until the book changes, figures are
//! worked out once for whoever asks, one computation at a time, away from the threads that answer.
//!
//! [`known`] has the rounds, [`ahead`] reads those that nobody has looked at yet.

mod ahead;
mod known;

use std::hash::Hash;
use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use std::time::Duration;

use figures::AthleteId;
use figures::overview::{AcademyFigures, GroupFigures, Selection, StudentFigures};
use jiff::civil::Date;
use lru::LruCache;
use tokio::sync::Notify;

pub(crate) use self::known::{Known, MomentOf, athlete};
use crate::error::PageError;
use crate::state::App;

/// How long a page waits for its figures before it says that they are still being added up.
const PATIENCE: Duration = Duration::from_secs(4);

const FEW: NonZeroUsize = NonZeroUsize::new(6).expect("6 is not zero");
const MANY: NonZeroUsize = NonZeroUsize::new(64).expect("64 is not zero");

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
            waiting: Notify::new(),
        }
    }
}

impl App {
    /// The rounds as they were last loaded.
    fn loaded(&self) -> Option<Arc<Known>> {
        self.figures.known.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Every round whose ledger is known, as the book is now.
    pub(crate) async fn known(&self) -> Result<Arc<Known>, PageError> {
        let up_to_date = async || -> Result<(i64, Option<Arc<Known>>), PageError> {
            let stamp = self.book.figures_stamp().await?.0;
            Ok((stamp, self.loaded().filter(|known| known.stamp == stamp)))
        };
        if let (_, Some(known)) = up_to_date().await? {
            return Ok(known);
        }
        let _turn = self.figures.loading.lock().await;
        // Before the rounds: what is changed while they are loaded makes them out of date.
        let (stamp, known) = up_to_date().await?;
        if let Some(known) = known {
            return Ok(known);
        }
        let known = Arc::new(Known::load(self, stamp).await?);
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
        match tokio::time::timeout(PATIENCE, working).await {
            Ok(done) => done.map_err(fault)?,
            Err(_) => Err(PageError::StillAdding),
        }
    }
}

fn fault(error: impl std::fmt::Display) -> PageError {
    PageError::Fault(error.to_string())
}
