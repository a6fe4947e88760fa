//! Whether the book is whole: the database, every row, every recording.

use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use sqlx::Row as _;

use crate::backup::{SNAPSHOT, UNPACKED};
use crate::book::{Book, DATABASE, LOCK, MEDIA};
use crate::error::StoreError;
use crate::files::{away, hash_of, is_hexadecimal};
use crate::media::{Media, is_hash};
use crate::round::{RoundFilter, RoundLine};
use crate::row::{self, Row, Table};

/// Something that a check found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Finding {
    /// The database is not sound.
    Database(String),
    /// A row points to one that is not there.
    Dangling {
        /// In which table the row is.
        table: String,
        /// In which table the other should be.
        needs: String,
    },
    /// Something kept cannot be read.
    Unreadable {
        /// What it is.
        what: String,
        /// Why.
        why: String,
    },
    /// The file of a recording is gone.
    MediaMissing(Media),
    /// The file of a recording is not as it came.
    MediaAltered(Media),
    /// No round shows this recording, now or in its history. It is kept.
    MediaUnused(Media),
    /// A file in the data folder that does not belong to the book. It is left alone.
    StrayFile(PathBuf),
}

impl Finding {
    /// Whether something of the book is lost or damaged; else it is only worth knowing.
    #[must_use]
    pub fn is_fault(&self) -> bool {
        !matches!(self, Finding::MediaUnused(_) | Finding::StrayFile(_))
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Finding::Database(what) => write!(f, "the database is damaged: {what}"),
            Finding::Dangling { table, needs } => {
                write!(f, "a row of {table} needs a row of {needs} that is not there")
            }
            Finding::Unreadable { what, why } => write!(f, "{what} cannot be read: {why}"),
            Finding::MediaMissing(media) => write!(
                f,
                "the recording {} is gone: put its file back as media/{}",
                media.name, media.hash
            ),
            Finding::MediaAltered(media) => write!(
                f,
                "the recording {} is not as it came: put its file back as media/{}",
                media.name, media.hash
            ),
            Finding::MediaUnused(media) => {
                write!(f, "no round shows the recording {} (media/{})", media.name, media.hash)
            }
            Finding::StrayFile(path) => write!(f, "{} is no part of the book", path.display()),
        }
    }
}

impl Book {
    /// Checks everything that can be checked; what it finds comes worst first. Reads every
    /// recording once, so it takes as long as reading the folder. Changes nothing.
    ///
    /// # Errors
    /// The database's, where not even a check is possible.
    pub async fn check(&self) -> Result<Vec<Finding>, StoreError> {
        let mut findings = self.check_database().await?;
        self.check_people_and_classes(&mut findings).await?;
        self.check_rounds(&mut findings).await?;
        let in_history = self.check_history(&mut findings).await?;
        self.check_media(in_history, &mut findings).await?;
        findings.sort_by_key(|finding| !finding.is_fault());
        Ok(findings)
    }

    async fn check_database(&self) -> Result<Vec<Finding>, StoreError> {
        let said: Vec<String> =
            sqlx::query_scalar("PRAGMA integrity_check").fetch_all(&self.reading).await?;
        let mut findings: Vec<Finding> =
            said.into_iter().filter(|line| line != "ok").map(Finding::Database).collect();
        for row in sqlx::query("PRAGMA foreign_key_check").fetch_all(&self.reading).await? {
            let (table, needs) = (row.try_get("table")?, row.try_get("parent")?);
            findings.push(Finding::Dangling { table, needs });
        }
        Ok(findings)
    }

    async fn check_people_and_classes(
        &self,
        findings: &mut Vec<Finding>,
    ) -> Result<(), StoreError> {
        let (first, last) = (jiff::civil::Date::MIN, jiff::civil::Date::MAX);
        note(findings, "the academy", self.academy().await.map(drop));
        note(findings, "the words taught", self.spoken_forms().await.map(drop));
        note(findings, "the roster", self.members().await.map(drop));
        note(findings, "the classes", self.classes(first, last).await.map(drop));
        note(findings, "what is kept about students", self.check_development().await);
        Ok(())
    }

    async fn check_rounds(&self, findings: &mut Vec<Finding>) -> Result<(), StoreError> {
        let rounds = match self.rounds(&RoundFilter::default()).await {
            Ok(rounds) => rounds,
            Err(error) => {
                note(findings, "the list of rounds", Err(error));
                return Ok(());
            }
        };
        for round in &rounds {
            let what = format!("the round of {} on {}", round.names.join(" and "), round.date);
            let found = self.check_round(round).await;
            note(findings, &what, found);
        }
        Ok(())
    }

    async fn check_round(&self, line: &RoundLine) -> Result<(), StoreError> {
        let facts = self.round_facts(line.id).await?;
        self.round(&facts).await?;
        self.remarks(line.id).await?;
        let told = self.told(line.id).await?;
        if told.by_hand.spells.iter().any(|spell| spell.span.millis() == 0) {
            return Err(StoreError::Unreadable("a spell entered by hand has no length".into()));
        }
        // The ledger is a cache: one that makes no sense is only read again.
        self.kept_ledger(line.id).await?;
        Ok(())
    }

    /// Checks that every change can be undone and done again; tells which recordings it names.
    async fn check_history(
        &self,
        findings: &mut Vec<Finding>,
    ) -> Result<BTreeSet<String>, StoreError> {
        let mut hashes = BTreeSet::new();
        let rows: Vec<(i64, String, Option<String>, Option<String>)> =
            sqlx::query_as("SELECT change_id, of_table, before_row, after_row FROM change_row")
                .fetch_all(&self.reading)
                .await?;
        for (change, table, before, after) in rows {
            let known = Table::named(&table).is_some();
            let states = [before, after].map(|text| text.map(|text| serde_json::from_str(&text)));
            for state in states {
                let read: Option<Row> = match state {
                    Some(Ok(Value::Object(row))) if known => Some(row),
                    None => None,
                    _ => {
                        let why = format!("a row of {table} is not understood");
                        let what = format!("change {change} of the history");
                        findings.push(Finding::Unreadable { what, why });
                        None
                    }
                };
                let hash = read.filter(|_| table == row::ROUND.name);
                hashes
                    .extend(hash.and_then(|row| Some(row.get("media_hash")?.as_str()?.to_owned())));
            }
        }
        Ok(hashes)
    }

    async fn check_media(
        &self,
        in_history: BTreeSet<String>,
        findings: &mut Vec<Finding>,
    ) -> Result<(), StoreError> {
        let shown: Vec<String> =
            sqlx::query_scalar("SELECT media_hash FROM round WHERE media_hash IS NOT NULL")
                .fetch_all(&self.reading)
                .await?;
        let uploads: Vec<String> =
            sqlx::query_scalar("SELECT id FROM upload").fetch_all(&self.reading).await?;
        let all = self.all_media().await?;
        let folder = self.folder().to_owned();
        let found = away(move || {
            let mut found = stray_files(&folder, &all, &uploads)?;
            for media in all {
                let path = folder.join(MEDIA).join(&media.hash);
                match hash_of(&path) {
                    Err(_) if !path.exists() => found.push(Finding::MediaMissing(media)),
                    Ok(hash) if hash == media.hash => {
                        if !in_history.contains(&hash) && !shown.contains(&hash) {
                            found.push(Finding::MediaUnused(media));
                        }
                    }
                    _ => found.push(Finding::MediaAltered(media)),
                }
            }
            Ok::<_, StoreError>(found)
        });
        findings.extend(found.await?);
        Ok(())
    }
}

fn note(findings: &mut Vec<Finding>, what: &str, read: Result<(), StoreError>) {
    if let Err(error) = read {
        findings.push(Finding::Unreadable { what: what.to_owned(), why: error.to_string() });
    }
}

/// Files of the data folder that the book knows nothing of.
fn stray_files(
    folder: &Path,
    media: &[Media],
    uploads: &[String],
) -> Result<Vec<Finding>, StoreError> {
    let mut strays = Vec::new();
    for path in paths(folder)? {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let of_database = name.strip_prefix(DATABASE);
        let known = [MEDIA, LOCK, UNPACKED].contains(&name.as_str())
            || name.starts_with(SNAPSHOT)
            || of_database.is_some_and(|rest| ["", "-wal", "-shm", "-journal"].contains(&rest))
            || (["before-", "invented-academy-"].iter().any(|begin| name.starts_with(begin))
                && name.ends_with(".sqlite"));
        if !known {
            strays.push(Finding::StrayFile(path));
        }
    }
    for path in paths(&folder.join(MEDIA))? {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let known = match name.len() {
            64 => is_hash(&name) && media.iter().any(|media| media.hash == name),
            _ => is_hexadecimal(&name, 32) && uploads.contains(&name),
        };
        if !known {
            strays.push(Finding::StrayFile(path));
        }
    }
    Ok(strays)
}

fn paths(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let failed = StoreError::file(folder);
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(&failed)? {
        paths.push(entry.map_err(&failed)?.path());
    }
    paths.sort();
    Ok(paths)
}
