//! Rounds, spells, events and people as Parquet tables. `docs/export.md` describes them for people.

use std::sync::Arc;

use academy::{Athlete, Belt};
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

/// All tables. Names of people are left out unless asked for.
pub(crate) fn tables(at_hand: &RoundsAtHand, names: bool) -> [Table; 4] {
    [
        rounds(&at_hand.rounds),
        spells(&at_hand.rounds),
        events(&at_hand.rounds),
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

fn spells(rounds: &[RoundAtHand]) -> Table {
    let all = entries(rounds, |round| round.ledger.spells());
    let columns = vec![
        Column::Whole(all.iter().map(|(round, ..)| round.id).collect()),
        Column::Small(all.iter().map(|(_, number, _)| *number).collect()),
        Column::Number(all.iter().map(|(.., spell)| spell.span.start().seconds()).collect()),
        Column::Number(all.iter().map(|(.., spell)| spell.span.end().seconds()).collect()),
        Column::Text(all.iter().map(|(.., spell)| spell.position.id()).collect()),
        Column::WholeOrNone(all.iter().map(|(round, _, spell)| person(round, spell.top)).collect()),
        Column::TextOrNone(all.iter().map(|(.., spell)| spell.variant.clone()).collect()),
        Column::Number(all.iter().map(|(.., spell)| spell.confidence).collect()),
        Column::Text(all.iter().map(|(.., spell)| spell.source.id()).collect()),
    ];
    Table { name: "spells", schema: SPELLS, columns }
}

fn events(rounds: &[RoundAtHand]) -> Table {
    let all = entries(rounds, |round| round.ledger.events());
    let actors = all.iter().map(|(round, _, event)| person(round, event.actor));
    let columns = vec![
        Column::Whole(all.iter().map(|(round, ..)| round.id).collect()),
        Column::Small(all.iter().map(|(_, number, _)| *number).collect()),
        Column::Number(all.iter().map(|(.., event)| event.time.seconds()).collect()),
        Column::Text(all.iter().map(|(.., event)| event.kind.id()).collect()),
        Column::WholeOrNone(actors.collect()),
        Column::TextOrNone(all.iter().map(|(.., event)| event.technique.clone()).collect()),
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
mod tests {
    use academy::{Event, EventKind, Ledger, Position, RoundKind, Source, Span, Spell, Time};
    use figures::AthleteId;
    use parquet::file::reader::{FileReader, SerializedFileReader};
    use parquet::record::{Field, Row};

    use super::*;
    use crate::rounds_at_hand::PersonAtHand;

    fn academy() -> RoundsAtHand {
        let time = |seconds: f64| Time::from_seconds(seconds);
        let spell = |start, end, position, top, variant: Option<&str>| Spell {
            span: Span::between(time(start), time(end)),
            position,
            top,
            variant: variant.map(str::to_owned),
            confidence: 0.1 + 0.2,
            source: Source::Talk,
        };
        let event = |at, kind, actor, technique: Option<&str>| Event {
            time: time(at),
            kind,
            actor,
            technique: technique.map(str::to_owned),
            confidence: 1.0 / 3.0,
            source: Source::Hand,
        };
        let (first, second) = (Some(Athlete::First), Some(Athlete::Second));
        let spells = vec![
            spell(0.0, 5.4, Position::Standing, None, None),
            spell(5.4, 60.0, Position::OpenGuard, second, Some("butterfly guard")),
            spell(60.0, 300.0, Position::Mount, first, None),
        ];
        let events = vec![
            event(5.4, EventKind::GuardPull, first, None),
            event(60.0, EventKind::Sweep, None, Some("été \"sweep\"")),
        ];
        let round = |id, date: &str, ledger| RoundAtHand {
            id,
            called: id.to_string(),
            date: date.parse().unwrap(),
            kind: RoundKind::Hard,
            gi: id == 7,
            athletes: [AthleteId(4), AthleteId(9)],
            length: time(300.0),
            confirmed: id == 9,
            ledger,
        };
        let person = |id, name: &str, belt| PersonAtHand {
            id: AthleteId(id),
            name: name.to_owned(),
            pronoun: None,
            belt,
            may_be_named: true,
            talked: None,
        };
        let short = vec![spell(0.0, 300.0, Position::Standing, None, None)];
        RoundsAtHand {
            people: vec![person(4, "Petra", Some(Belt::Blue)), person(9, "Idris", None)],
            rounds: vec![
                round(7, "2026-11-02", Ledger::new(spells, events).unwrap()),
                round(9, "1969-12-31", Ledger::new(short, vec![]).unwrap()),
            ],
        }
    }

    fn rows(table: &Table) -> Vec<Row> {
        let bytes = bytes_of(table);
        let reader = SerializedFileReader::new(bytes::Bytes::from(bytes)).unwrap();
        reader.get_row_iter(None).unwrap().map(Result::unwrap).collect()
    }

    fn bytes_of(table: &Table) -> Vec<u8> {
        table.write().unwrap()
    }

    fn cells(row: &Row) -> Vec<Field> {
        row.get_column_iter().map(|(_, field)| field.clone()).collect()
    }

    fn text(text: &str) -> Field {
        Field::Str(text.to_owned())
    }

    #[test]
    fn what_is_written_is_read_back_as_it_is_in_the_ledgers() {
        let at_hand = academy();
        let [rounds, spells, events, people] = tables(&at_hand, false);
        let read = rows(&rounds);
        assert_eq!(read.len(), 2);
        let first = [
            Field::Long(7),
            Field::Date(20_759),
            text("hard"),
            Field::Bool(true),
            Field::Long(4),
            Field::Long(9),
            Field::Double(300.0),
            Field::Bool(false),
        ];
        assert_eq!(cells(&read[0]), first);
        assert_eq!(cells(&read[1])[1], Field::Date(-1));

        let mut read = rows(&spells).into_iter();
        for round in &at_hand.rounds {
            for (number, spell) in (1..).zip(round.ledger.spells()) {
                let expected = [
                    Field::Long(round.id),
                    Field::Int(number),
                    Field::Double(spell.span.start().seconds()),
                    Field::Double(spell.span.end().seconds()),
                    text(spell.position.id()),
                    spell.top.map_or(Field::Null, |top| Field::Long(round.athletes[top.index()].0)),
                    spell.variant.as_deref().map_or(Field::Null, text),
                    Field::Double(spell.confidence),
                    text("talk"),
                ];
                assert_eq!(cells(&read.next().unwrap()), expected);
            }
        }
        assert!(read.next().is_none());
        let sweep = [
            Field::Long(7),
            Field::Int(2),
            Field::Double(60.0),
            text("sweep"),
            Field::Null,
            text("été \"sweep\""),
            Field::Double(1.0 / 3.0),
            text("hand"),
        ];
        assert_eq!(cells(&rows(&events)[1]), sweep);
        let petra = [Field::Long(4), text("blue"), Field::Null];
        assert_eq!(cells(&rows(&people)[0]), petra);
    }

    #[test]
    fn names_are_there_only_when_asked_for() {
        let at_hand = academy();
        for table in tables(&at_hand, false) {
            let written = String::from_utf8_lossy(&bytes_of(&table)).into_owned();
            assert!(!written.contains("Petra") && !written.contains("Idris"), "{}", table.name);
        }
        let [.., people] = tables(&at_hand, true);
        let idris = [Field::Long(9), Field::Null, text("Idris")];
        assert_eq!(cells(&rows(&people)[1]), idris);
    }

    #[test]
    fn the_same_rounds_give_the_same_bytes() {
        let (one, other) = (tables(&academy(), true), tables(&academy(), true));
        for (one, other) in one.iter().zip(&other) {
            assert_eq!(bytes_of(one), bytes_of(other), "{}", one.name);
        }
    }

    #[test]
    fn an_academy_without_rounds_gives_empty_tables() {
        for table in tables(&RoundsAtHand::default(), false) {
            assert!(rows(&table).is_empty(), "{}", table.name);
        }
    }

    #[test]
    fn the_schemas_are_those_of_the_documentation() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
        let documented = std::fs::read_to_string(root.join("docs/export.md")).unwrap();
        for table in tables(&RoundsAtHand::default(), false) {
            let bytes = bytes::Bytes::from(bytes_of(&table));
            let reader = SerializedFileReader::new(bytes).unwrap();
            let mut schema = Vec::new();
            let about = reader.metadata().file_metadata();
            parquet::schema::printer::print_schema(&mut schema, about.schema());
            let schema = String::from_utf8(schema).unwrap();
            assert!(documented.contains(schema.trim()), "{schema}");
            assert_eq!(about.created_by(), Some(concat!("grapevine ", env!("CARGO_PKG_VERSION"))));
        }
    }
}
