//! The position map as its readers get it.

use academy::{EventKind, Position};
use figures::Role;
use figures::tallies::Doing;
use reports::{PositionMap, TideWidth, Voice, position_map, position_map_in_page};

use crate::invented::{at, petra, petras};

const WIDTHS: [TideWidth; 2] = [TideWidth::Laptop, TideWidth::Phone];

fn doing(position: Position, role: Role, kind: EventKind, own: bool) -> Option<Doing> {
    Some(Doing { place: at(position, role), kind, own })
}

fn full<R>(see: impl FnOnce(&PositionMap<'_>) -> R) -> R {
    petras(40, |figures, _| {
        see(&PositionMap {
            whose: petra(Voice::Third),
            time: &figures.time,
            flows: &figures.flows,
            edge: doing(Position::HalfGuard, Role::Top, EventKind::Pass, true),
            leak: doing(Position::Mount, Role::Bottom, EventKind::Escape, true),
        })
    })
}

#[test]
fn wide() {
    insta::assert_snapshot!(full(|map| position_map(map, TideWidth::Laptop)));
}

#[test]
fn narrow() {
    insta::assert_snapshot!(full(|map| position_map(map, TideWidth::Phone)));
}

#[test]
fn the_map_tells_itself_in_words() {
    let svg = full(|map| position_map(map, TideWidth::Laptop));
    let document = roxmltree::Document::parse(&svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let described = root.attribute("aria-describedby").unwrap();
    let text = document.descendants().find(|node| node.attribute("id") == Some(described));
    let text = text.and_then(|node| node.text()).unwrap();
    assert!(text.contains("Drawn are the 16 that happened most often"), "{text}");
    assert!(text.contains("From on top in half guard to on top in side control: about "), "{text}");
    assert!(text.contains("Edge: on top in half guard, Petra often passes."), "{text}");
    assert!(text.contains("Leak: under mount, Petra seldom gets out."), "{text}");
    assert!(svg.contains("\u{2605} edge") && svg.contains("\u{25bd} leak"));
}

#[test]
fn a_map_in_a_page_brings_no_style_and_its_own_ids() {
    for width in WIDTHS {
        let svg = full(|map| position_map_in_page(map, width, "here"));
        assert!(!svg.contains("<style") && !svg.contains("style=") && !svg.contains("script"));
        assert!(svg.contains("id=\"here-title\"") && svg.contains("id=\"here-text\""));
        assert!(roxmltree::Document::parse(&svg).is_ok());
    }
}

#[test]
fn every_arrow_says_its_numbers_when_asked() {
    for (width, most) in WIDTHS.into_iter().zip([16, 12]) {
        let svg = full(|map| position_map(map, width));
        let document = roxmltree::Document::parse(&svg).unwrap();
        let flows = document.descendants().find(|node| node.attribute("class") == Some("flows"));
        let arrows: Vec<_> =
            flows.unwrap().children().filter(roxmltree::Node::is_element).collect();
        assert_eq!(arrows.len(), most);
        for arrow in arrows {
            let title = arrow.first_element_child().and_then(|title| title.text()).unwrap();
            assert!(
                title.starts_with("From ") && title.contains(" of what follows there"),
                "{title}"
            );
        }
    }
}

#[test]
fn somebody_with_no_rounds_has_an_empty_map() {
    let map = PositionMap::new(petra(Voice::You), &[], &[], &[], &[]);
    for width in WIDTHS {
        let svg = position_map(&map, width);
        assert!(roxmltree::Document::parse(&svg).is_ok());
        assert!(svg.contains("No change of place has been seen yet."));
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
    }
}
