//! Laws that hold for every ledger and every name.

use academy::{Athlete, Event, EventKind, Ledger, Person, Position, Round, RoundKind};
use academy::{Source, Span, Spell, Time};
use proptest::prelude::*;
use reports::{RoundPage, TextStyle, TideWidth};

prop_compose! {
    fn rounds()(
        first in "\\PC{1,20}", second in "\\PC{1,20}", length in 1u64..20_000_000,
    ) -> Option<Round> {
        let person = |name: String| Person { name, pronoun: None };
        let athletes = [person(first), person(second)];
        Round::new(athletes, RoundKind::Hard, Time::from_millis(length)).ok()
    }
}

prop_compose! {
    fn ledgers()(
        spells in prop::collection::vec(
            (1u64..2_000_000, prop::sample::select(Position::ALL.to_vec()), any::<bool>(), 0.0..=1.0),
            1..30,
        ),
        events in prop::collection::vec(
            (0.0..=1.0, prop::sample::select(EventKind::ALL.to_vec()), any::<Option<bool>>(),
             prop::option::of(any::<String>()), 0.0..=1.0),
            0..30,
        ),
    ) -> Ledger {
        let athlete = |first| if first { Athlete::First } else { Athlete::Second };
        let mut end = Time::ZERO;
        let spells = spells.into_iter().map(|(millis, position, first, confidence)| {
            let span = Span::between(end, end.later(millis));
            end = span.end();
            let top = position.has_top().then_some(athlete(first));
            Spell { span, position, top, variant: None, confidence, source: Source::Hand }
        }).collect();
        let events = events.into_iter().map(|(share, kind, actor, technique, confidence): (f64, _, _, _, _)| {
            let time = Time::from_millis((share * end.millis() as f64) as u64);
            Event { time, kind, actor: actor.map(athlete), technique, confidence, source: Source::Hand }
        }).collect();
        Ledger::new(spells, events).expect("spells tile, events lie inside")
    }
}

/// Every number of a picture's coordinates, from paths and attributes alike.
fn numbers(node: roxmltree::Node<'_, '_>) -> Vec<f64> {
    const PLACES: [&str; 9] = ["d", "x", "y", "cx", "cy", "r", "width", "height", "viewBox"];
    (node.attributes().filter(|attribute| PLACES.contains(&attribute.name())))
        .flat_map(|attribute| {
            attribute
                .value()
                .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
                .filter(|text| !text.is_empty())
                .map(|text| text.parse().expect("a coordinate is a number"))
        })
        .collect()
}

proptest! {
    #[test]
    fn tides_are_well_formed_and_stay_in_their_frame(
        round in rounds(), ledger in ledgers(), phone in any::<bool>(),
    ) {
        let Some(round) = round else { return Ok(()) };
        let width = if phone { TideWidth::Phone } else { TideWidth::Laptop };
        let svg = reports::tide(&round, &ledger, width);
        let document = roxmltree::Document::parse(&svg).unwrap();
        let frame = numbers(document.root_element()).into_iter().fold(0.0, f64::max);
        for node in document.descendants() {
            for number in numbers(node) {
                prop_assert!((-1.0..=frame).contains(&number), "{number}");
            }
        }
    }

    #[test]
    fn text_tells_every_event_and_steers_no_terminal(round in rounds(), ledger in ledgers()) {
        let Some(round) = round else { return Ok(()) };
        let style = TextStyle { columns: 80, colour: false };
        let text = reports::ledger_text(&round, &ledger, style);
        prop_assert!(!text.chars().any(|c| c.is_control() && c != '\n'));
        let told = text.lines().filter(|line| line.ends_with('%')).count();
        // What only goes on with what was before is no change.
        let goes_on = |pair: &&[Spell]| {
            (pair[0].position, pair[0].top) == (pair[1].position, pair[1].top)
        };
        let going_on = ledger.spells().windows(2).filter(goes_on).count();
        prop_assert!(told + going_on >= ledger.spells().len().max(ledger.events().len()));
        prop_assert!(reports::round_text(&round, &ledger, &[], &[], style).contains(&text));
    }

    #[test]
    fn pages_and_tables_read_back(round in rounds(), ledger in ledgers()) {
        let Some(round) = round else { return Ok(()) };
        let page = RoundPage { round: &round, ledger: &ledger, notes: &[], talk: &[], questions: &[] };
        let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
        prop_assert!(roxmltree::Document::parse_with_options(&reports::round_page(&page), options).is_ok());

        let table = reports::ledger_csv(&round, &ledger);
        let rows: Vec<_> = csv::Reader::from_reader(table.as_bytes()).into_records().map(Result::unwrap).collect();
        prop_assert_eq!(rows.len(), ledger.spells().len() + ledger.events().len());
        for row in &rows {
            prop_assert!(!row.iter().any(|cell| cell.starts_with(['=', '+', '-', '@'])));
        }
    }
}
