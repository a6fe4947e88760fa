//! Whether tables are read back as they are in the ledgers, and tell nobody's name.

use academy::{EventKind, Ledger, Position, RoundKind, Source, Span, Time};
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
        event(5.4, EventKind::Pass, first, Some("knee cut pass")),
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
    let [rounds, spells, events, _] = tables(&at_hand, true);
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
}

#[test]
fn names_are_there_only_when_asked_for() {
    let at_hand = academy();
    for table in tables(&at_hand, false) {
        let written = String::from_utf8_lossy(&bytes_of(&table)).into_owned();
        assert!(!written.contains("Petra") && !written.contains("Idris"), "{}", table.name);
    }
    let [.., people] = tables(&at_hand, false);
    let petra = [Field::Long(4), text("blue"), Field::Null];
    assert_eq!(cells(&rows(&people)[0]), petra);
    let [.., people] = tables(&at_hand, true);
    let idris = [Field::Long(9), Field::Null, text("Idris")];
    assert_eq!(cells(&rows(&people)[1]), idris);
}

#[test]
fn what_somebody_called_a_technique_is_there_only_with_names() {
    let technique = |names, row: usize| {
        let [_, _, events, _] = tables(&academy(), names);
        cells(&rows(&events)[row])[5].clone()
    };
    assert_eq!(
        [technique(true, 0), technique(true, 1)],
        ["knee cut pass", "\u{e9}t\u{e9} \"sweep\""].map(text)
    );
    assert_eq!([technique(false, 0), technique(false, 1)], [text("knee cut pass"), Field::Null]);
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
