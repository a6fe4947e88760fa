//! Rounds, spells, events and people as Parquet tables. `docs/export.md` describes them for people.

use std::collections::HashSet;
use std::sync::Arc;

use academy::{Athlete, Belt, Event, Spell};
use jiff::civil::Date;
use parquet::basic::Compression;
use parquet::data_type::{
    BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int32Type, Int64Type,
};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::parser::parse_message_type;
use talk::Lexicon;

use crate::rounds_at_hand::{RoundAtHand, RoundsAtHand};

/// A table: its name, which is also its file's, its columns and rows.
pub(crate) struct Table {
    pub(crate) name: &'static str,
    /// In the language of the format's own schemas.
    schema: &'static str,
    /// In the order of the schema.
    columns: Vec<Column>,
}

/// The cells of a column, as the schema has it; cells of columns that may be empty are options.
enum Column {
    Whole(Vec<i64>),
    WholeOrNone(Vec<Option<i64>>),
    Small(Vec<i32>),
    Number(Vec<f64>),
    YesNo(Vec<bool>),
    Text(Vec<&'static str>),
    TextOrNone(Vec<Option<String>>),
}

const ROUNDS: &str = "message rounds {
  REQUIRED INT64 round;
  REQUIRED INT32 day (DATE);
  REQUIRED BYTE_ARRAY kind (STRING);
  REQUIRED BOOLEAN gi;
  REQUIRED INT64 first;
  REQUIRED INT64 second;
  REQUIRED DOUBLE length_s;
  REQUIRED BOOLEAN confirmed;
}";

const SPELLS: &str = "message spells {
  REQUIRED INT64 round;
  REQUIRED INT32 number;
  REQUIRED DOUBLE start_s;
  REQUIRED DOUBLE end_s;
  REQUIRED BYTE_ARRAY position (STRING);
  OPTIONAL INT64 top;
  OPTIONAL BYTE_ARRAY variant (STRING);
  REQUIRED DOUBLE confidence;
  REQUIRED BYTE_ARRAY source (STRING);
}";

const EVENTS: &str = "message events {
  REQUIRED INT64 round;
  REQUIRED INT32 number;
  REQUIRED DOUBLE at_s;
  REQUIRED BYTE_ARRAY kind (STRING);
  OPTIONAL INT64 actor;
  OPTIONAL BYTE_ARRAY technique (STRING);
  REQUIRED DOUBLE confidence;
  REQUIRED BYTE_ARRAY source (STRING);
}";

const PEOPLE: &str = "message people {
  REQUIRED INT64 person;
  OPTIONAL BYTE_ARRAY belt (STRING);
  OPTIONAL BYTE_ARRAY name (STRING);
}";

/// All tables. Names of people are left out unless asked for, and with them every name of a technique
/// or variant that the lexicon lacks: somebody wrote it by hand, and it may name people.
pub(crate) fn tables(at_hand: &RoundsAtHand, names: bool) -> [Table; 4] {
    let lexicon = Lexicon::builtin();
    let known: HashSet<String> = (lexicon.terms().iter().map(|term| &term.name))
        .chain(lexicon.forms().iter().map(|form| &form.text))
        .map(|name| name.to_lowercase())
        .collect();
    let may_stand = |name: &str| names || known.contains(&name.trim().to_lowercase());
    [
        rounds(&at_hand.rounds),
        spells(&at_hand.rounds, &may_stand),
        events(&at_hand.rounds, &may_stand),
        people(at_hand, names),
    ]
}

fn rounds(rounds: &[RoundAtHand]) -> Table {
    let each = |of: fn(&RoundAtHand) -> i64| Column::Whole(rounds.iter().map(of).collect());
    let columns = vec![
        each(|round| round.id),
        Column::Small(rounds.iter().map(|round| days_since_1970(round.date)).collect()),
        Column::Text(rounds.iter().map(|round| round.kind.id()).collect()),
        Column::YesNo(rounds.iter().map(|round| round.gi).collect()),
        each(|round| round.athletes[0].0),
        each(|round| round.athletes[1].0),
        Column::Number(rounds.iter().map(|round| round.length.seconds()).collect()),
        Column::YesNo(rounds.iter().map(|round| round.confirmed).collect()),
    ];
    Table { name: "rounds", schema: ROUNDS, columns }
}

/// Who an athlete of a round is.
fn person(round: &RoundAtHand, athlete: Option<Athlete>) -> Option<i64> {
    athlete.map(|athlete| round.athletes[athlete.index()].0)
}

/// Every entry of every round, with its round and its number in it, from 1.
fn entries<'a, T>(
    rounds: &'a [RoundAtHand],
    of: fn(&'a RoundAtHand) -> &'a [T],
) -> Vec<(&'a RoundAtHand, i32, &'a T)> {
    let numbered = |round: &'a RoundAtHand| {
        (1_i32..).zip(of(round)).map(move |(number, entry)| (round, number, entry))
    };
    rounds.iter().flat_map(numbered).collect()
}

fn spells(rounds: &[RoundAtHand], may_stand: &impl Fn(&str) -> bool) -> Table {
    let variant = |spell: &Spell| spell.variant.clone().filter(|name| may_stand(name));
    let all = entries(rounds, |round| round.ledger.spells());
    let columns = vec![
        Column::Whole(all.iter().map(|(round, ..)| round.id).collect()),
        Column::Small(all.iter().map(|(_, number, _)| *number).collect()),
        Column::Number(all.iter().map(|(.., spell)| spell.span.start().seconds()).collect()),
        Column::Number(all.iter().map(|(.., spell)| spell.span.end().seconds()).collect()),
        Column::Text(all.iter().map(|(.., spell)| spell.position.id()).collect()),
        Column::WholeOrNone(all.iter().map(|(round, _, spell)| person(round, spell.top)).collect()),
        Column::TextOrNone(all.iter().map(|(.., spell)| variant(spell)).collect()),
        Column::Number(all.iter().map(|(.., spell)| spell.confidence).collect()),
        Column::Text(all.iter().map(|(.., spell)| spell.source.id()).collect()),
    ];
    Table { name: "spells", schema: SPELLS, columns }
}

fn events(rounds: &[RoundAtHand], may_stand: &impl Fn(&str) -> bool) -> Table {
    let technique = |event: &Event| event.technique.clone().filter(|name| may_stand(name));
    let all = entries(rounds, |round| round.ledger.events());
    let actors = all.iter().map(|(round, _, event)| person(round, event.actor));
    let columns = vec![
        Column::Whole(all.iter().map(|(round, ..)| round.id).collect()),
        Column::Small(all.iter().map(|(_, number, _)| *number).collect()),
        Column::Number(all.iter().map(|(.., event)| event.time.seconds()).collect()),
        Column::Text(all.iter().map(|(.., event)| event.kind.id()).collect()),
        Column::WholeOrNone(actors.collect()),
        Column::TextOrNone(all.iter().map(|(.., event)| technique(event)).collect()),
        Column::Number(all.iter().map(|(.., event)| event.confidence).collect()),
        Column::Text(all.iter().map(|(.., event)| event.source.id()).collect()),
    ];
    Table { name: "events", schema: EVENTS, columns }
}

fn people(at_hand: &RoundsAtHand, names: bool) -> Table {
    let people = &at_hand.people;
    let belt = |belt: Option<Belt>| belt.map(|belt| belt.id().to_owned());
    let columns = vec![
        Column::Whole(people.iter().map(|person| person.id.0).collect()),
        Column::TextOrNone(people.iter().map(|person| belt(person.belt)).collect()),
        Column::TextOrNone(people.iter().map(|one| names.then(|| one.name.clone())).collect()),
    ];
    Table { name: "people", schema: PEOPLE, columns }
}

fn days_since_1970(day: Date) -> i32 {
    // Dates of this type lie within ten thousand years.
    day.since(Date::constant(1970, 1, 1)).map_or(0, |span| span.get_days())
}

impl Table {
    /// The table as a file. The same rows always give the same bytes.
    pub(crate) fn write(&self) -> Result<Vec<u8>> {
        let schema = Arc::new(parse_message_type(self.schema)?);
        let version = KeyValue::new("grapevine.schema".to_owned(), "1".to_owned());
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_created_by(concat!("grapevine ", env!("CARGO_PKG_VERSION")).to_owned())
            .set_key_value_metadata(Some(vec![version]))
            .build();
        let mut bytes = Vec::new();
        let mut file = SerializedFileWriter::new(&mut bytes, schema, Arc::new(properties))?;
        let mut group = file.next_row_group()?;
        for column in &self.columns {
            let mut writer = group.next_column()?.ok_or_else(too_many_columns)?;
            match column {
                Column::Whole(cells) => put::<Int64Type>(&mut writer, cells)?,
                Column::Small(cells) => put::<Int32Type>(&mut writer, cells)?,
                Column::Number(cells) => put::<DoubleType>(&mut writer, cells)?,
                Column::YesNo(cells) => put::<BoolType>(&mut writer, cells)?,
                Column::Text(cells) => {
                    let cells: Vec<ByteArray> = cells.iter().map(|text| (*text).into()).collect();
                    put::<ByteArrayType>(&mut writer, &cells)?;
                }
                Column::WholeOrNone(cells) => put_options::<Int64Type>(&mut writer, cells)?,
                Column::TextOrNone(cells) => {
                    let cell = |text: &Option<String>| text.as_deref().map(ByteArray::from);
                    let cells: Vec<Option<ByteArray>> = cells.iter().map(cell).collect();
                    put_options::<ByteArrayType>(&mut writer, &cells)?;
                }
            }
            writer.close()?;
        }
        group.close()?;
        file.close()?;
        Ok(bytes)
    }
}

type ColumnWriter<'a> = parquet::file::writer::SerializedColumnWriter<'a>;

fn put<T: DataType>(writer: &mut ColumnWriter<'_>, cells: &[T::T]) -> Result<()> {
    writer.typed::<T>().write_batch(cells, None, None).map(drop)
}

fn put_options<T: DataType>(writer: &mut ColumnWriter<'_>, cells: &[Option<T::T>]) -> Result<()> {
    let there: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    let values: Vec<T::T> = cells.iter().flatten().cloned().collect();
    writer.typed::<T>().write_batch(&values, Some(&there), None).map(drop)
}

fn too_many_columns() -> ParquetError {
    ParquetError::General("a table has more columns than its schema".to_owned())
}

#[cfg(test)]
mod tests;
