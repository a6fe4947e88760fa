//! The tide: the picture of a round. One band lies along the time of the round; it swells up
//! while the first athlete is on top and down while the second is, deeper for positions that are
//! worse for the one underneath. Marks above belong to the first athlete, marks below to the
//! second; which of them a thing belongs to shows in its place and shape as well as its colour.

use academy::{Athlete, Ledger, Position, Round, Spell, Time};

use crate::depth::{DEEPEST, LEVELS, depth};
use crate::markup::{Element, number};
use crate::one_file;
use crate::svg::{Frame, picture};
use crate::tide_marks;
use crate::wording;

/// Below this confidence a spell is drawn as unsure.
pub(crate) const UNSURE_BELOW: f64 = 0.6;

/// For which screen the tide is drawn. Both scale; they differ in what can be read at that size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TideWidth {
    /// 960 units: a laptop, a sheet of paper.
    Laptop,
    /// 360 units: a phone held upright.
    Phone,
}

/// The tide of a round as an SVG file of its own.
///
/// It has a title, a text alternative that tells every spell, a time axis in minutes and seconds,
/// and follows the reader's light or dark setting. The same ledger gives the same bytes.
#[must_use]
pub fn tide(round: &Round, ledger: &Ledger, width: TideWidth) -> String {
    let drawing = Drawing { width, id: "tide", alone: true, link: None };
    one_file::picture(&draw(round, ledger, &drawing).svg)
}

/// How to draw a tide.
pub(crate) struct Drawing<'a> {
    pub(crate) width: TideWidth,
    pub(crate) id: &'a str,
    pub(crate) alone: bool,
    /// Where a moment leads to, inside a page.
    pub(crate) link: Option<&'a dyn Fn(Time) -> Option<String>>,
}

/// Where things lie, in units of the picture.
pub(crate) struct Layout {
    pub(crate) width: f64,
    pub(crate) left: f64,
    pub(crate) right: f64,
    /// Room for the heading, above all else.
    heading: f64,
    /// Height of the deepest position.
    pub(crate) reach: f64,
    /// The line of the mat, from which the band swells.
    pub(crate) mat: f64,
    pub(crate) end: Time,
}

impl Layout {
    fn new(drawing: &Drawing<'_>, end: Time, rows: [usize; 2]) -> Self {
        let (width, right, reach) = match drawing.width {
            TideWidth::Laptop => (960.0, 900.0, 102.0),
            TideWidth::Phone => (360.0, 318.0, 72.0),
        };
        let above = tide_marks::lane_height(rows[0]);
        // A page has a heading of its own.
        let heading = if drawing.alone { HEADING } else { 4.0 };
        let mat = heading + NAME + above + reach;
        Layout { width, left: 10.0, right, reach, heading, mat, end }
    }

    pub(crate) fn x(&self, time: Time) -> f64 {
        let share = time.millis() as f64 / self.end.millis().max(1) as f64;
        self.left + share.min(1.0) * (self.right - self.left)
    }

    /// Height of a spell's band above the mat; below it for the second athlete.
    fn y(&self, spell: &Spell) -> f64 {
        let rise = depth(spell.position) / DEEPEST * self.reach;
        match spell.top {
            Some(Athlete::First) => self.mat - rise,
            Some(Athlete::Second) => self.mat + rise,
            None => self.mat,
        }
    }
}

/// Room for the heading, and for the line with a name.
const HEADING: f64 = 30.0;
const NAME: f64 = 20.0;

/// A drawn tide and where things lie in it, in its units.
pub(crate) struct Drawn {
    pub(crate) svg: Element,
    pub(crate) size: [f64; 2],
    /// From where to where the time of the round goes, from left to right.
    pub(crate) time: [f64; 2],
    /// The height of the time axis, under the band and the marks.
    pub(crate) axis: f64,
}

pub(crate) fn draw(round: &Round, ledger: &Ledger, drawing: &Drawing<'_>) -> Drawn {
    let end = round.length().max(ledger.end());
    // Which row a mark lies in depends on where it lies, and the layout on the number of rows.
    let flat = Layout::new(drawing, end, [1, 1]);
    let marks = tide_marks::place(round, ledger, &flat);
    let rows = Athlete::BOTH.map(|athlete| tide_marks::rows(&marks, athlete));
    let layout = Layout::new(drawing, end, rows);

    let below = layout.mat + layout.reach + tide_marks::lane_height(rows[1]);
    let name_line = below + 14.0;
    let axis = below + NAME + 16.0;
    let legend = tide_marks::legend(&marks, ledger, &layout, axis + 30.0);
    let height = axis + 30.0 + legend.height;

    let title = format!("The tide of the round: {}", wording::heading(round));
    let mut svg = picture(&Frame {
        id: drawing.id,
        class: "tide",
        width: layout.width,
        height,
        title: &title,
        description: &description(round, ledger),
        alone: drawing.alone,
        links: drawing.link.is_some(),
    });
    if drawing.alone {
        svg = svg.child(label(&wording::heading(round), layout.left, 20.0).class("heading"));
    }
    let [first, second] = Athlete::BOTH.map(|athlete| round.name(athlete));
    let svg = svg
        .child(levels(&layout))
        .child(
            label(&format!("\u{25b2} {first} on top"), layout.left, layout.heading + 10.0)
                .class("name first"),
        )
        .child(
            label(&format!("\u{25bc} {second} on top"), layout.left, name_line)
                .class("name second"),
        )
        .child(band(round, ledger, &layout, drawing))
        .child(position_names(ledger, &layout))
        .child(time_axis(&layout, axis))
        .child(tide_marks::draw(round, ledger, &marks, &layout, drawing))
        .child(legend.element);
    let time = [layout.left, layout.right];
    Drawn { svg, size: [layout.width, height], time, axis: axis - 14.0 }
}

pub(crate) fn label(text: &str, x: f64, y: f64) -> Element {
    Element::new("text").at([("x", x), ("y", y)]).text(text)
}

/// The class that carries an athlete's colour.
pub(crate) const fn accent(athlete: Option<Athlete>) -> &'static str {
    match athlete {
        Some(Athlete::First) => "first",
        Some(Athlete::Second) => "second",
        None => "nobody",
    }
}

/// Wraps what is drawn of a moment into a link, where the page has a place for it.
pub(crate) fn linked(drawing: &Drawing<'_>, time: Time, element: Element) -> Element {
    match drawing.link.and_then(|link| link(time)) {
        // The list of events holds the same links for the keyboard.
        Some(place) => Element::new("a").with("href", place).with("tabindex", "-1").child(element),
        None => element,
    }
}

/// The text alternative: who was on top when, in words.
fn description(round: &Round, ledger: &Ledger) -> String {
    let mut text = format!(
        "A band along the time of the round. It swells up while {} is on top and down while {} \
         is, deeper for positions that are worse for the one underneath.",
        round.name(Athlete::First),
        round.name(Athlete::Second),
    );
    for spell in ledger.spells() {
        text.push_str(&format!(" {}: {}.", spell.span.start(), wording::spell(round, spell)));
    }
    text
}

/// Faint lines at the levels of the best known positions, named at the side.
fn levels(layout: &Layout) -> Element {
    let mut group = Element::new("g");
    for (name, depth) in LEVELS {
        for direction in [-1.0, 1.0] {
            let y = layout.mat + direction * depth / DEEPEST * layout.reach;
            let (from, to) = (number(layout.left), number(layout.right));
            let line = format!("M{from} {0}H{to}", number(y));
            group = group.child(Element::new("path").class("level").with("d", line));
            group = group.child(label(name, layout.right + 7.0, y + 3.5).class("level-name quiet"));
        }
    }
    group
}

/// The band, one shape for every spell, so that each can say what it is.
fn band(round: &Round, ledger: &Ledger, layout: &Layout, drawing: &Drawing<'_>) -> Element {
    let mat = format!("M{} {}H{}", number(layout.left), number(layout.mat), number(layout.right));
    let mut group =
        Element::new("g").class("band").child(Element::new("path").class("mat").with("d", mat));
    let spells = ledger.spells();
    for (index, spell) in spells.iter().enumerate() {
        let neighbour = |other: Option<usize>| other.and_then(|other| spells.get(other));
        let before = neighbour(index.checked_sub(1));
        let after = neighbour(Some(index + 1));
        let unsure = spell.confidence < UNSURE_BELOW;
        let class = match (spell.position, unsure) {
            (Position::Standing, _) => "stand".to_owned(),
            (Position::Reset, _) => "pause".to_owned(),
            (_, false) => accent(spell.top).to_owned(),
            (_, true) => format!("{} unsure", accent(spell.top)),
        };
        let title = format!(
            "{} to {}: {} ({})",
            spell.span.start(),
            spell.span.end(),
            wording::spell(round, spell),
            wording::percent(spell.confidence),
        );
        let shape = Element::new("path")
            .class(&class)
            .with("d", outline(before, spell, after, layout))
            .child(Element::new("title").text(title));
        group = group.child(linked(drawing, spell.span.start(), shape));
    }
    // A thin line of ground between two spells of one swell, so that each can be seen.
    for pair in spells.windows(2) {
        if pair[0].top == pair[1].top && pair[0].top.is_some() {
            let x = number(layout.x(pair[1].span.start()));
            let (from, to) = (layout.mat, (layout.y(&pair[0]) + layout.y(&pair[1])) / 2.0);
            let line = format!("M{x} {}V{}", number(from), number(to));
            group = group.child(Element::new("path").class("seam").with("d", line));
        }
    }
    group
}

/// The outline of one spell's part of the band. Where the spell before or after has the same
/// athlete on top the edge glides from one depth to the other; else it comes from the mat and
/// returns to it.
fn outline(
    before: Option<&Spell>,
    spell: &Spell,
    after: Option<&Spell>,
    layout: &Layout,
) -> String {
    let (start, end) = (layout.x(spell.span.start()), layout.x(spell.span.end()));
    if spell.top.is_none() {
        // Room for the round ends of the line.
        let (start, end) = (start + 2.0, (end - 2.0).max(start + 2.1));
        return format!("M{} {}H{}", number(start), number(layout.mat), number(end));
    }
    let y = layout.y(spell);
    let glide = |neighbour: Option<&Spell>| match neighbour {
        Some(other) if other.top == spell.top => {
            // Half of a symmetric curve between the two depths, met at its middle.
            let room = (layout.x(other.span.end()) - layout.x(other.span.start())).min(end - start);
            ((layout.y(other) + y) / 2.0, (room * 0.45).min(6.0), true)
        }
        _ => (layout.mat, ((end - start) * 0.45).min(9.0), false),
    };
    // Control points: a half curve starts steep in its middle and lies flat at its end (the
    // right half of a cubic split in two); a whole one lies flat at both ends.
    let controls = |(from, width, half): (f64, f64, bool)| {
        if half {
            (width / 4.0, (from + y) / 2.0, width / 2.0)
        } else {
            (width / 2.0, from, width / 2.0)
        }
    };
    let (left, right) = (glide(before), glide(after));
    let (near, near_y, far) = controls(left);
    let n = number;
    let mut path = format!("M{} {}V{}", n(start), n(layout.mat), n(left.0));
    path += &format!(
        "C{} {} {} {} {} {}",
        n(start + near),
        n(near_y),
        n(start + far),
        n(y),
        n(start + left.1),
        n(y)
    );
    let (near, near_y, far) = controls(right);
    path += &format!(
        "H{}C{} {} {} {} {} {}",
        n(end - right.1),
        n(end - far),
        n(y),
        n(end - near),
        n(near_y),
        n(end),
        n(right.0)
    );
    path + &format!("V{}Z", n(layout.mat))
}

/// The positions' names, on the side of the mat that the band leaves free.
fn position_names(ledger: &Ledger, layout: &Layout) -> Element {
    let mut group = Element::new("g");
    for spell in ledger.spells() {
        let (start, end) = (layout.x(spell.span.start()), layout.x(spell.span.end()));
        let fits = |name: &&str| text_width(name, 11.5) + 6.0 <= end - start;
        let (long, short) = (spell.position.name(), short_name(spell.position));
        let Some(name) = [long, short].into_iter().find(fits) else { continue };
        let y =
            if spell.top == Some(Athlete::First) { layout.mat + 15.0 } else { layout.mat - 7.0 };
        group = group.child(label(name, (start + end) / 2.0, y).class("middle quiet"));
    }
    group
}

const fn short_name(position: Position) -> &'static str {
    match position {
        Position::Standing => "feet",
        Position::ClosedGuard => "closed",
        Position::OpenGuard => "open",
        Position::HalfGuard => "half",
        Position::SideControl => "side",
        Position::NorthSouth => "n-s",
        Position::KneeOnBelly => "knee",
        Position::Mount => "mount",
        Position::BackControl => "back",
        Position::Turtle => "turtle",
        Position::FrontHeadlock => "head",
        Position::LegEntanglement => "legs",
        Position::Reset => "pause",
    }
}

/// About how wide a text is, in units: the mean width of a letter in common fonts is a little
/// more than half its size.
pub(crate) fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * 0.53
}

/// The axis: a tick at every full step, the first and last labelled inwards.
fn time_axis(layout: &Layout, y: f64) -> Element {
    let mut group = Element::new("g");
    let top = y - 14.0;
    let line = format!("M{} {}H{}", number(layout.left), number(top), number(layout.right));
    group = group.child(Element::new("path").class("axis line").with("d", line));
    let step = tick_step(layout);
    let mut time = Time::ZERO;
    while time <= layout.end {
        let x = layout.x(time);
        let line = format!("M{} {}v4", number(x), number(top));
        group = group.child(Element::new("path").class("axis line").with("d", line));
        let text = time.to_string();
        let half = text_width(&text, 11.5) / 2.0;
        // Labels stay inside the picture, whatever their tick's place.
        let x = x.clamp(half + 2.0, layout.width - half - 2.0);
        group = group.child(label(&text, x, y + 3.0).class("middle quiet"));
        time = time.later(step);
    }
    // The unit, below the names of the levels and clear of the last tick's label.
    let unit = label("min:s", layout.width - 4.0, top + 3.0).class("level-name quiet end");
    group = group.child(unit);
    group
}

/// Milliseconds between two ticks: the smallest usual step that leaves room for its labels.
fn tick_step(layout: &Layout) -> u64 {
    const STEPS: [u64; 12] = [1, 5, 10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200];
    let per_second = (layout.right - layout.left) * 1000.0 / layout.end.millis().max(1) as f64;
    let fits = |step: &&u64| **step as f64 * per_second >= 46.0;
    STEPS.iter().find(fits).copied().unwrap_or_else(|| {
        // Longer than any round: eight ticks.
        (layout.end.millis() / 8000).max(1)
    }) * 1000
}
