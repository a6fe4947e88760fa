//! What lies in the folder before it is opened to be changed: a damaged book, one made by a newer
//! program, or one of somebody else's must stay as it is, byte for byte.

use std::fs::{self, File};
use std::path::Path;

use sqlx::migrate::Migrator;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions as _, Connection as _, SqliteConnection};

use crate::book::{DATABASE, PATIENCE};
use crate::error::{StoreError, told};
use crate::files::{away, remove};

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Existing {
    /// No book yet.
    Nothing,
    /// A sound book of this program.
    Current,
    /// A sound book that lacks the newest migrations.
    Older,
}

/// A database error while looking means damage, unless it is about reading and writing as such.
pub(crate) fn damaged(folder: &Path) -> impl Fn(sqlx::Error) -> StoreError {
    let folder = folder.to_owned();
    move |error| match StoreError::from(error) {
        StoreError::Database(error) => {
            StoreError::Damaged { folder: folder.clone(), what: told(&error) }
        }
        StoreError::CannotWrite(what) => {
            StoreError::Folder { folder: folder.clone(), source: std::io::Error::other(what) }
        }
        other => other,
    }
}

/// Looks at the book of a folder without changing it. Reads all of the database once, which takes
/// a fraction of a second even for years of rounds.
pub(crate) async fn look(folder: &Path, migrator: &Migrator) -> Result<Existing, StoreError> {
    let database = folder.join(DATABASE);
    if fs::metadata(&database).map_or(0, |found| found.len()) == 0 {
        return Ok(Existing::Nothing);
    }
    let failed = damaged(folder);
    let options =
        SqliteConnectOptions::new().filename(&database).read_only(true).busy_timeout(PATIENCE);
    let mut connection = options.connect().await.map_err(&failed)?;
    let found = examine(&mut connection, folder, migrator).await;
    connection.close().await.map_err(&failed)?;
    found
}

async fn examine(
    connection: &mut SqliteConnection,
    folder: &Path,
    migrator: &Migrator,
) -> Result<Existing, StoreError> {
    let failed = damaged(folder);
    let sound: String = sqlx::query_scalar("PRAGMA quick_check(1)")
        .fetch_one(&mut *connection)
        .await
        .map_err(&failed)?;
    if sound != "ok" {
        return Err(StoreError::Damaged { folder: folder.to_owned(), what: one_line(&sound) });
    }
    let tables: Vec<String> = sqlx::query_scalar("SELECT name FROM sqlite_master")
        .fetch_all(&mut *connection)
        .await
        .map_err(&failed)?;
    if tables.is_empty() {
        return Ok(Existing::Nothing);
    }
    if !tables.iter().any(|table| table == "_sqlx_migrations") {
        let what = "it holds something other than a book".to_owned();
        return Err(StoreError::Damaged { folder: folder.to_owned(), what });
    }
    let applied: Vec<i64> = sqlx::query_scalar("SELECT version FROM _sqlx_migrations")
        .fetch_all(connection)
        .await
        .map_err(&failed)?;
    if applied.iter().any(|version| !migrator.version_exists(*version)) {
        return Err(StoreError::Newer(folder.to_owned()));
    }
    let lacks = migrator.iter().any(|migration| !applied.contains(&migration.version));
    Ok(match (applied.is_empty(), lacks) {
        // The first start was cut short: there is nothing in it yet.
        (true, _) => Existing::Nothing,
        (false, true) => Existing::Older,
        (false, false) => Existing::Current,
    })
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Copies a sound book as it is before newer migrations change it: `before-VERSION.sqlite` beside
/// it, with the version that they lead to. A copy that is there stays: it is the older one.
pub(crate) async fn copy_before(folder: &Path, migrator: &Migrator) -> Result<(), StoreError> {
    let version = migrator.iter().map(|migration| migration.version).max().unwrap_or(0);
    let place = folder.join(format!("before-{version}.sqlite"));
    if place.exists() {
        return Ok(());
    }
    let options = SqliteConnectOptions::new().filename(folder.join(DATABASE)).read_only(true);
    let mut connection = options.connect().await.map_err(damaged(folder))?;
    let part = folder.join(format!("before-{version}.part"));
    let copied = copy_into(&mut connection, &part).await;
    connection.close().await?;
    copied?;
    let folder = folder.to_owned();
    away(move || {
        fs::rename(&part, &place).map_err(StoreError::file(&place))?;
        crate::files::settle_folder(&folder)
    })
    .await
}

/// Copies a database as it is at this moment into a new file, whoever writes to it meanwhile.
pub(crate) async fn copy_into(
    connection: &mut SqliteConnection,
    place: &Path,
) -> Result<(), StoreError> {
    remove(place)?;
    let Some(name) = place.to_str() else {
        let what = format!("{} is not written in Unicode", place.display());
        return Err(StoreError::CannotWrite(what));
    };
    sqlx::query("VACUUM INTO ?").bind(name).execute(connection).await?;
    let place = place.to_owned();
    away(move || {
        File::open(&place).and_then(|file| file.sync_all()).map_err(StoreError::file(&place))
    })
    .await
}

#[cfg(test)]
mod tests {
    use std::borrow::Cow;

    use academy::{Goal, Member, Message};
    use sqlx::SqlSafeStr;
    use sqlx::migrate::{Migration, MigrationType};

    use super::*;
    use crate::book::{Book, MIGRATIONS};
    use crate::change::{By, Subject};

    /// This program's migrations and one of a later one.
    fn later(version: i64, sql: &'static str) -> Migrator {
        let name = Cow::Borrowed("later");
        let next = Migration::new(version, name, MigrationType::Simple, sql.into_sql_str(), false);
        Migrator::with_migrations(MIGRATIONS.iter().cloned().chain([next]).collect())
    }

    async fn names(database: &Path) -> Vec<String> {
        let options = SqliteConnectOptions::new().filename(database).read_only(true);
        let mut connection = options.connect().await.expect("the copy opens");
        sqlx::query_scalar("SELECT name FROM member")
            .fetch_all(&mut connection)
            .await
            .expect("the people are there")
    }

    #[tokio::test]
    async fn an_older_book_is_copied_before_it_is_changed() {
        let folder = tempfile::tempdir().unwrap();
        let by = By { who: "Ines".to_owned(), at: 0, seen: None };
        let book = Book::open(folder.path()).await.unwrap();
        let petra = Member { name: "Petra".to_owned(), ..Member::default() };
        book.add_member(&by, &petra).await.unwrap();
        book.close().await;
        assert_eq!(look(folder.path(), &MIGRATIONS).await.unwrap(), Existing::Current);
        let copy = folder.path().join("before-9000.sqlite");
        assert!(!copy.exists());

        // A migration that fails loses nothing, and the book opens as before.
        let broken = later(9_000, "DELETE FROM member; ALTER TABLE nowhere ADD COLUMN x TEXT;");
        assert!(Book::open_with(folder.path(), &broken).await.is_err());
        assert_eq!(names(&copy).await, ["Petra"]);
        Book::open(folder.path()).await.unwrap().close().await;
        assert_eq!(names(&folder.path().join(DATABASE)).await, ["Petra"]);

        let good = later(9_000, "DELETE FROM member;");
        assert_eq!(look(folder.path(), &good).await.unwrap(), Existing::Older);
        Book::open_with(folder.path(), &good).await.unwrap().close().await;
        assert_eq!(names(&copy).await, ["Petra"]);
        assert!(names(&folder.path().join(DATABASE)).await.is_empty());

        // For the older program it is now a newer book.
        let refused = Book::open(folder.path()).await.err().unwrap();
        assert!(matches!(refused, StoreError::Newer(_)), "{refused}");
    }

    #[tokio::test]
    async fn words_for_reports_leave_the_history_of_goals_behind() {
        let folder = tempfile::tempdir().unwrap();
        let by = By { who: "Ines".to_owned(), at: 0, seen: None };
        let book = Book::open(folder.path()).await.unwrap();
        let petra = Member { name: "Petra".to_owned(), ..Member::default() };
        let petra = book.add_member(&by, &petra).await.unwrap();
        let day = jiff::civil::Date::constant(2026, 11, 2);
        let goal = Goal { set: day, words: "Frame first".to_owned(), reached: None };
        book.put_goal(&by, petra, None, &goal).await.unwrap();
        let message = Message { day, words: "Calm now".to_owned() };
        book.put_message(&by, petra, None, &message).await.unwrap();
        // As it was before messages had a history of their own.
        for sql in [
            "UPDATE change_log SET subject = 'student 1' WHERE subject = 'report 1'",
            "UPDATE subject_revision SET revision = 2 WHERE subject = 'student 1'",
            "DELETE FROM subject_revision WHERE subject = 'report 1'",
            "DELETE FROM _sqlx_migrations WHERE version = 4",
        ] {
            sqlx::query(sql).execute(&book.writing).await.unwrap();
        }
        book.close().await;

        let book = Book::open(folder.path()).await.unwrap();
        let report = Subject::Report(petra);
        assert_eq!(book.revision(report).await.unwrap().0, 2);
        let undone = book.undo(Subject::Student(petra), &by).await.unwrap();
        assert_eq!(undone.as_deref(), Some("Added a goal"));
        let undone = book.undo(report, &by).await.unwrap();
        assert_eq!(undone.as_deref(), Some("Added a message"));
    }

    #[tokio::test]
    async fn a_first_start_that_was_cut_short_is_no_book_yet() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(DATABASE), "").unwrap();
        assert_eq!(look(folder.path(), &MIGRATIONS).await.unwrap(), Existing::Nothing);
        Book::open(folder.path()).await.unwrap();
    }
}
