//! Rows of the tables that people change, as JSON objects, so that one piece of code can keep,
//! undo and do again a change of any of them.

use serde_json::{Map, Value};
use sqlx::sqlite::{SqliteArguments, SqliteRow};
use sqlx::{AssertSqlSafe, Row as _, Sqlite, SqliteConnection};

use crate::error::StoreError;

/// All columns of one row.
pub(crate) type Row = Map<String, Value>;

/// What a column holds.
#[derive(Clone, Copy)]
pub(crate) enum Kind {
    Integer,
    Real,
    Text,
}

use Kind::{Integer, Real, Text};

/// A table that people change.
pub(crate) struct Table {
    pub(crate) name: &'static str,
    /// How many of the columns, from the first, are the key.
    keys: usize,
    columns: &'static [(&'static str, Kind)],
}

macro_rules! table {
    ($constant:ident, $name:literal, $keys:literal, $($column:literal $kind:ident),+ $(,)?) => {
        pub(crate) const $constant: Table =
            Table { name: $name, keys: $keys, columns: &[$(($column, $kind)),+] };
    };
}

table!(ACADEMY, "academy", 1, "id" Integer, "name" Text, "invented" Integer);
table!(MEMBER, "member", 1, "id" Integer, "name" Text, "name_key" Text, "pronoun" Text,
    "role" Text, "belt" Text, "stripes" Integer, "belt_since" Text, "joined" Text, "weight" Real,
    "birth_year" Integer, "notes" Text, "consent_club" Integer, "consent_public" Integer,
    "guardian" Text, "guardian_contact" Text, "guardian_club" Integer, "guardian_public" Integer,
    "has_left" Integer);
table!(CLASS, "class", 1, "id" Integer, "day" Text, "title" Text, "topic" Text, "notes" Text);
table!(ATTENDANCE, "attendance", 2, "class_id" Integer, "member_id" Integer);
table!(MEDIA, "media", 1, "hash" Text, "name" Text, "media_type" Text, "bytes" Integer);
table!(ROUND, "round", 1, "id" Integer, "day" Text, "kind" Text, "gi" Integer, "first_id" Integer,
    "second_id" Integer, "length" Integer, "class_id" Integer, "talk" Text, "talk_name" Text,
    "media_hash" Text, "confirmed" Text);
table!(ANSWER, "answer", 1, "id" Integer, "round_id" Integer, "kind" Text, "at" Integer,
    "position" Text, "event" Text, "athlete" Integer, "start_at" Integer, "end_at" Integer);
table!(HAND_SPELL, "hand_spell", 1, "id" Integer, "round_id" Integer, "start_at" Integer,
    "end_at" Integer, "position" Text, "top" Integer, "variant" Text);
table!(HAND_EVENT, "hand_event", 1, "id" Integer, "round_id" Integer, "at" Integer, "kind" Text,
    "actor" Integer, "technique" Text, "struck" Integer);
table!(REMARK, "remark", 1, "id" Integer, "round_id" Integer, "at" Integer, "member_id" Integer,
    "words" Text);
table!(GOAL, "goal", 1, "id" Integer, "member_id" Integer, "set_on" Text, "words" Text,
    "reached_on" Text);
table!(CONVERSATION, "conversation", 1, "id" Integer, "member_id" Integer, "day" Text,
    "words" Text);
table!(MESSAGE, "message", 1, "id" Integer, "member_id" Integer, "day" Text, "words" Text);
table!(SPOKEN_FORM, "spoken_form", 1, "id" Integer, "heard" Text, "meant" Text);

/// Every table that people change.
pub(crate) const TABLES: [&Table; 14] = [
    &ACADEMY,
    &MEMBER,
    &CLASS,
    &ATTENDANCE,
    &MEDIA,
    &ROUND,
    &ANSWER,
    &HAND_SPELL,
    &HAND_EVENT,
    &REMARK,
    &SPOKEN_FORM,
    &GOAL,
    &CONVERSATION,
    &MESSAGE,
];

type Query<'q> = sqlx::query::Query<'q, Sqlite, SqliteArguments>;

/// Makes a row from pairs; columns that are not named are NULL.
pub(crate) fn row<const N: usize>(pairs: [(&str, Value); N]) -> Row {
    pairs.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

fn bind<'q>(query: Query<'q>, value: Option<&Value>, kind: Kind) -> Query<'q> {
    let value = value.unwrap_or(&Value::Null);
    match kind {
        Integer => query.bind(value.as_i64().or_else(|| value.as_bool().map(i64::from))),
        Real => query.bind(value.as_f64()),
        Text => query.bind(value.as_str().map(str::to_owned)),
    }
}

impl Table {
    /// The table with this name.
    pub(crate) fn named(name: &str) -> Option<&'static Table> {
        TABLES.into_iter().find(|table| table.name == name)
    }

    fn names(&self) -> String {
        self.columns.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
    }

    fn where_key(&self) -> String {
        let key = &self.columns[..self.keys];
        key.iter().map(|(name, _)| format!("{name} = ?")).collect::<Vec<_>>().join(" AND ")
    }

    fn bind_key<'q>(&self, query: Query<'q>, row: &Row) -> Query<'q> {
        self.columns[..self.keys]
            .iter()
            .fold(query, |query, (name, kind)| bind(query, row.get(*name), *kind))
    }

    /// All columns, those not named as NULL, so that rows can be compared.
    pub(crate) fn whole(&self, row: &Row) -> Row {
        let value = |name: &str, kind: Kind| match (row.get(name), kind) {
            (Some(Value::Bool(yes)), Integer) => Value::from(i64::from(*yes)),
            // 70 and 70.0 are one weight.
            (Some(value), Real) => value.as_f64().map_or(Value::Null, Value::from),
            (value, _) => value.cloned().unwrap_or(Value::Null),
        };
        self.columns.iter().map(|(name, kind)| ((*name).to_owned(), value(name, *kind))).collect()
    }

    pub(crate) fn read(&self, row: &SqliteRow) -> Result<Row, sqlx::Error> {
        let mut read = Row::new();
        for (name, kind) in self.columns {
            let value = match kind {
                Integer => row.try_get::<Option<i64>, _>(*name)?.map(Value::from),
                Real => row.try_get::<Option<f64>, _>(*name)?.map(Value::from),
                Text => row.try_get::<Option<String>, _>(*name)?.map(Value::from),
            };
            read.insert((*name).to_owned(), value.unwrap_or(Value::Null));
        }
        Ok(read)
    }

    /// The row with the key that `row` has.
    pub(crate) async fn find(
        &self,
        connection: &mut SqliteConnection,
        row: &Row,
    ) -> Result<Option<Row>, StoreError> {
        let sql = format!("SELECT {} FROM {} WHERE {}", self.names(), self.name, self.where_key());
        let query = self.bind_key(sqlx::query(AssertSqlSafe(sql)), row);
        let found = query.fetch_optional(connection).await?;
        Ok(found.map(|row| self.read(&row)).transpose()?)
    }

    /// All rows with a value in a column, by key.
    pub(crate) async fn find_all(
        &self,
        connection: &mut SqliteConnection,
        column: &str,
        value: i64,
    ) -> Result<Vec<Row>, StoreError> {
        let order = self.columns[..self.keys].iter().map(|(name, _)| *name).collect::<Vec<_>>();
        let sql = format!(
            "SELECT {} FROM {} WHERE {column} = ? ORDER BY {}",
            self.names(),
            self.name,
            order.join(", ")
        );
        let rows = sqlx::query(AssertSqlSafe(sql)).bind(value).fetch_all(connection).await?;
        rows.iter().map(|row| Ok(self.read(row)?)).collect()
    }

    /// Makes the row with this key be `after`, or be gone.
    pub(crate) async fn write(
        &self,
        connection: &mut SqliteConnection,
        key: &Row,
        after: Option<&Row>,
    ) -> Result<(), StoreError> {
        match after {
            None => {
                let sql = format!("DELETE FROM {} WHERE {}", self.name, self.where_key());
                self.bind_key(sqlx::query(AssertSqlSafe(sql)), key).execute(connection).await?;
            }
            Some(row) => {
                let marks = vec!["?"; self.columns.len()].join(", ");
                let keys = self.columns[..self.keys].iter().map(|(name, _)| *name);
                let keys = keys.collect::<Vec<_>>().join(", ");
                let others = self.columns[self.keys..].iter();
                let others: Vec<String> =
                    others.map(|(name, _)| format!("{name} = excluded.{name}")).collect();
                let then = if others.is_empty() {
                    "NOTHING".to_owned()
                } else {
                    format!("UPDATE SET {}", others.join(", "))
                };
                let sql = format!(
                    "INSERT INTO {} ({}) VALUES ({marks}) ON CONFLICT ({keys}) DO {then}",
                    self.name,
                    self.names()
                );
                let query = sqlx::query(AssertSqlSafe(sql));
                let query = (self.columns.iter())
                    .fold(query, |query, (name, kind)| bind(query, row.get(*name), *kind));
                query.execute(connection).await?;
            }
        }
        Ok(())
    }
}
