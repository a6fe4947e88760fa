//! All rows of a book as text, to hold two books against each other.

use std::collections::BTreeMap;
use std::path::Path;

use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{AssertSqlSafe, ConnectOptions, Connection};

/// Tables of what people gave; the others say how it came about.
pub(crate) const GIVEN: [&str; 14] = [
    "academy",
    "member",
    "class",
    "attendance",
    "media",
    "round",
    "answer",
    "hand_spell",
    "hand_event",
    "remark",
    "spoken_form",
    "goal",
    "conversation",
    "message",
];

/// The tables that say how it came about, and logins.
pub(crate) const AROUND: [&str; 9] = [
    "ledger_spell",
    "ledger_event",
    "ledger_state",
    "change_log",
    "change_row",
    "subject_revision",
    "next_id",
    "account",
    "_sqlx_migrations",
];

/// The rows of each table, in order.
pub(crate) async fn dump(folder: &Path, tables: &[&str]) -> BTreeMap<String, Vec<String>> {
    let file = folder.join(store::book::DATABASE);
    let options = SqliteConnectOptions::new().filename(file).read_only(true);
    let mut connection = options.connect().await.expect("the database opens");
    let mut dump = BTreeMap::new();
    for table in tables {
        let columns: Vec<String> = sqlx::query_scalar("SELECT name FROM pragma_table_info(?)")
            .bind(table)
            .fetch_all(&mut connection)
            .await
            .expect("the columns are known");
        assert!(!columns.is_empty(), "{table}");
        let quoted: Vec<String> = columns.iter().map(|name| format!("quote({name})")).collect();
        let sql = format!("SELECT {} AS line FROM {table} ORDER BY line", quoted.join("||','||"));
        let rows: Vec<String> = sqlx::query_scalar(AssertSqlSafe(sql))
            .fetch_all(&mut connection)
            .await
            .expect("the rows can be read");
        dump.insert((*table).to_owned(), rows);
    }
    connection.close().await.expect("the database closes");
    dump
}

/// Every file under a folder with its bytes.
pub(crate) fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(&next).expect("the folder can be listed") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).expect("under the folder");
                let name = name.to_string_lossy().into_owned();
                files.insert(name, std::fs::read(&path).expect("the file can be read"));
            }
        }
    }
    files
}
