//! What every request shares.

use std::sync::Arc;

use decode::{ReaderError, RoundReader, UnderstandError};
use jiff::civil::Date;
use jiff::{Timestamp, ZonedDateTime};
use store::{Book, By, Revision};
use talk::Lexicon;
use tokio::sync::{Mutex, Semaphore};

use crate::assets::Assets;
use crate::figures::Figures;
use crate::login::Login;
use crate::reading::Reading;
use crate::uploads::PIECES_AT_ONCE;
use crate::visitor::Visitor;

/// From where the pages can be reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// From this machine only; whoever sits at it is the coach.
    ThisMachine,
    /// From the local network, with a login.
    LocalNetwork,
}

/// The web app's state; all clones are one.
#[derive(Clone)]
pub struct App(Arc<Shared>);

/// See [`App`].
pub struct Shared {
    pub(crate) book: Book,
    pub(crate) access: Access,
    pub(crate) reading: Reading,
    pub(crate) figures: Figures,
    pub(crate) assets: Assets,
    pub(crate) login: Login,
    /// Pieces of recordings that may be held in memory.
    pub(crate) pieces: Semaphore,
    /// Rounds told live take presses one request after the other.
    pub(crate) live: Mutex<()>,
}

impl App {
    /// The app over an open book.
    ///
    /// # Errors
    /// The reader shipped with the program does not fit; a test holds that it does.
    pub fn new(book: Book, access: Access) -> Result<Self, ReaderError> {
        App::with_reader(book, access, RoundReader::builtin)
    }

    /// The app with another reader than the one shipped with the program. The reader is made anew
    /// whenever the coach has taught words: they come with the lexicon.
    ///
    /// # Errors
    /// Those of making the reader.
    pub fn with_reader(
        book: Book,
        access: Access,
        make: impl Fn(Lexicon) -> Result<RoundReader, ReaderError> + Send + Sync + 'static,
    ) -> Result<Self, ReaderError> {
        let reading = Reading::new(Box::new(make))?;
        Ok(App(Arc::new(Shared {
            book,
            access,
            reading,
            figures: Figures::new(),
            assets: Assets::new(),
            login: Login::new(),
            pieces: Semaphore::new(PIECES_AT_ONCE),
            live: Mutex::new(()),
        })))
    }

    /// Today's date where this machine is.
    pub(crate) fn today(&self) -> Date {
        ZonedDateTime::now().date()
    }

    /// Seconds since 1970.
    pub(crate) fn now(&self) -> i64 {
        Timestamp::now().as_second()
    }

    /// A change by a visitor who saw a revision of what is changed.
    pub(crate) fn by(&self, visitor: &Visitor, seen: Option<i64>) -> By {
        By { who: visitor.name.clone(), at: self.now(), seen: seen.map(Revision) }
    }
}

impl std::ops::Deref for App {
    type Target = Shared;

    fn deref(&self) -> &Shared {
        &self.0
    }
}

/// Kept here so that the error type of reading is named in one place.
pub(crate) type NotUnderstood = UnderstandError;
