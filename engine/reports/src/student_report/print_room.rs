//! How a report is printed so that it stays within two pages: heights are reckoned from letters,
//! and what matters least is set smaller or left out of print until all fits.

use crate::markup::Element;

/// What a page holds, in CSS pixels: A4 without the margins of the style sheet, less some room for
/// what reckoning gets wrong.
const PAGE: f64 = 1_024.0 - 40.0;
/// Letters in a line of the body, of one of two columns, and of the foot. A paragraph takes nearly
/// half a line more than that on average, for its last one.
const WIDE: f64 = 105.0;
const COLUMN: f64 = 49.0;
const FOOT: f64 = 125.0;
/// The heights of a line, of a line of the message, of one of the foot, and what stands between
/// sections.
const LINE: f64 = 18.4;
const MESSAGE_LINE: f64 = 19.4;
const FOOT_LINE: f64 = 15.7;
const GAP: f64 = 17.0;

/// A way to print: its class, the size of letters, the height of the map and of a curve, whether
/// moments are printed.
struct Way {
    class: &'static str,
    letters: f64,
    map: f64,
    curve: f64,
    moments: bool,
}

/// From all there is to the least.
const WAYS: [Way; 5] = [
    Way { class: "", letters: 1.0, map: 416.0, curve: 200.0, moments: true },
    Way { class: "full", letters: 1.0, map: 308.0, curve: 142.0, moments: true },
    Way { class: "full long", letters: 1.0, map: 308.0, curve: 0.0, moments: true },
    Way { class: "full long tight", letters: 0.9, map: 250.0, curve: 0.0, moments: true },
    Way { class: "full long tight brief", letters: 0.9, map: 250.0, curve: 0.0, moments: false },
];

/// The parts of a report, from top to bottom.
pub(super) struct Parts<'a> {
    pub(super) header: &'a Element,
    pub(super) message: Option<&'a Element>,
    /// Two columns.
    pub(super) first: [Vec<&'a Element>; 2],
    pub(super) map: &'a Element,
    pub(super) out: Option<&'a Element>,
    pub(super) habits: Option<&'a Element>,
    pub(super) moments: Option<&'a Element>,
    pub(super) footer: &'a Element,
}

/// The class under which the report is printed; nothing where all of it fits.
pub(super) fn class(parts: &Parts<'_>) -> Option<&'static str> {
    let fits = |way: &&Way| fits(parts, way);
    let [.., least] = &WAYS;
    let class = WAYS.iter().find(fits).unwrap_or(least).class;
    (!class.is_empty()).then_some(class)
}

fn fits(parts: &Parts<'_>, way: &Way) -> bool {
    let column = |sections: &[&Element]| -> f64 {
        sections.iter().map(|section| height(section, COLUMN, LINE, way) + GAP).sum()
    };
    let message = |message| height(message, WIDE, MESSAGE_LINE, way) + 8.0 + GAP;
    let before = height(parts.header, WIDE, LINE, way)
        + 18.0
        + parts.message.map_or(0.0, message)
        + column(&parts.first[0]).max(column(&parts.first[1]));
    let map = height(parts.map, WIDE, LINE, way) + way.map + GAP;
    let out = parts.out.map_or(0.0, |out| height(out, WIDE, LINE, way) + GAP);
    let one = |section: Option<&Element>| section.map_or(0.0, |section| column(&[section]));
    let moments = if way.moments { one(parts.moments) } else { 0.0 };
    let foot = height(parts.footer, FOOT, FOOT_LINE, way) + 8.0;
    let after = out + one(parts.habits).max(moments) + foot;
    // The map is on one page: where it is not on the first any more, that one has room to spare.
    if before <= PAGE && before + map > PAGE {
        map + after <= PAGE
    } else {
        before + map + after <= 2.0 * PAGE
    }
}

/// The height of an element's words, with the curves among them; a row of curves is as high as the
/// longest of its captions.
fn height(element: &Element, letters_a_line: f64, line: f64, way: &Way) -> f64 {
    let lines =
        |letters: usize, in_line: f64| (letters as f64 * way.letters / in_line + 0.4).max(1.0);
    let (mut height, mut captions) = (0.0, 0.0_f64);
    element.paragraphs(&mut |name, letters| match name {
        "h1" => height += 36.0,
        "h2" => height += 26.0,
        "h3" => {}
        "figcaption" => {
            captions = captions.max(lines(letters, COLUMN) * LINE * way.letters + 30.0 + way.curve);
        }
        "li" => height += lines(letters, letters_a_line) * line * way.letters + 10.0,
        _ => height += lines(letters, letters_a_line) * line * way.letters + 5.7,
    });
    height + captions
}
