//! The marks of the tide: what each athlete tried and did, in lanes above and below the band.

use academy::{Athlete, Event, EventKind, Ledger, Round, Time};

use crate::markup::{Element, number};
use crate::moments::{moments, telling};
use crate::telling::sentence;
use crate::tide::{Drawing, Layout, UNSURE_BELOW, accent, label, linked, text_width};
use crate::wording;

/// The shape of a mark; each has one meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    /// Came to the top.
    Triangle,
    /// Moved on: a pass, the back, a better pin; or chose the guard.
    Bar,
    /// Got out.
    Hook,
    /// Went for a submission.
    Diamond,
    /// The other gave up.
    FullDiamond,
    /// Let a submission go.
    Ring,
    /// Tried something that did not work.
    Cross,
}

impl Shape {
    const ALL: [(Shape, &'static str); 7] = [
        (Shape::Triangle, "came to the top"),
        (Shape::Bar, "moved on"),
        (Shape::Hook, "got out"),
        (Shape::Diamond, "went for a submission"),
        (Shape::FullDiamond, "got the tap"),
        (Shape::Ring, "let it go"),
        (Shape::Cross, "tried, did not work"),
    ];

    const fn of(kind: EventKind) -> Option<Shape> {
        Some(match kind {
            EventKind::Takedown | EventKind::Sweep | EventKind::Reversal => Shape::Triangle,
            EventKind::Pass | EventKind::BackTake | EventKind::Advance | EventKind::GuardPull => {
                Shape::Bar
            }
            EventKind::Escape | EventKind::SubmissionEscape => Shape::Hook,
            EventKind::SubmissionAttempt => Shape::Diamond,
            EventKind::Tap => Shape::FullDiamond,
            EventKind::Release => Shape::Ring,
            EventKind::FailedTry => Shape::Cross,
            // Shown by the band itself.
            EventKind::Reset => return None,
        })
    }
}

/// A mark and where it lies.
pub(crate) struct Mark<'a> {
    event: &'a Event,
    shape: Shape,
    /// Whose lane; the first athlete's where nobody knows.
    lane: Athlete,
    /// Whose colour.
    owner: Option<Athlete>,
    x: f64,
    row: usize,
}

/// Units between the middles of two marks in one row.
const SPACING: f64 = 11.0;
const ROW_HEIGHT: f64 = 14.0;
/// More rows than this would tell nobody anything; marks then overlap.
const MOST_ROWS: usize = 4;

pub(crate) fn lane_height(rows: usize) -> f64 {
    8.0 + ROW_HEIGHT * rows as f64
}

/// Chooses a row for every mark: the one nearest to the band that has room.
pub(crate) fn place<'a>(_round: &Round, ledger: &'a Ledger, layout: &Layout) -> Vec<Mark<'a>> {
    let mut filled = [[f64::NEG_INFINITY; MOST_ROWS]; 2];
    let mut marks = Vec::new();
    for event in ledger.events() {
        let Some(shape) = Shape::of(event.kind) else { continue };
        // A tap is the work of the one who did not tap.
        let owner = match event.kind {
            EventKind::Tap => event.actor.map(Athlete::other),
            _ => event.actor,
        };
        let lane = owner.unwrap_or(Athlete::First);
        let x = layout.x(event.time).clamp(layout.left + 5.0, layout.right - 5.0);
        let rows = &mut filled[lane.index()];
        let row = rows.iter().position(|last| x - last >= SPACING).unwrap_or(MOST_ROWS - 1);
        rows[row] = x;
        marks.push(Mark { event, shape, lane, owner, x, row });
    }
    marks
}

/// How many rows an athlete's lane needs.
pub(crate) fn rows(marks: &[Mark<'_>], athlete: Athlete) -> usize {
    marks.iter().filter(|mark| mark.lane == athlete).map(|mark| mark.row + 1).max().unwrap_or(0)
}

pub(crate) fn draw(
    round: &Round,
    ledger: &Ledger,
    marks: &[Mark<'_>],
    layout: &Layout,
    drawing: &Drawing<'_>,
) -> Element {
    let moments = moments(ledger);
    let mut group = Element::new("g");
    for mark in marks {
        let distance = layout.reach + 6.0 + ROW_HEIGHT * (mark.row as f64 + 0.5);
        let up = mark.lane == Athlete::First;
        let y = if up { layout.mat - distance } else { layout.mat + distance };
        if mark.shape == Shape::FullDiamond {
            let line = format!("M{} {}V{}", number(mark.x), number(y), number(layout.mat));
            group = group.child(Element::new("path").class("tap").with("d", line));
        }
        let time: Time = mark.event.time;
        // The words and the number of the list, which tells an event with what it led to.
        let moment = telling(&moments, mark.event);
        let (at, words, confidence) = match moment {
            Some(moment) => (moment.time, sentence(round, moment), moment.confidence()),
            None => (time, wording::event(round, mark.event), mark.event.confidence),
        };
        let unsure = if confidence < UNSURE_BELOW { ", unsure" } else { "" };
        let title = format!("{at}: {words} ({}{unsure})", wording::percent(confidence));
        let drawn = Element::new("g")
            .child(Element::new("title").text(title))
            .child(
                // Larger than the mark, for fingers.
                Element::new("rect").class("hit").at([
                    ("x", mark.x - 7.0),
                    ("y", y - 7.0),
                    ("width", 14.0),
                    ("height", 14.0),
                ]),
            )
            .child(shape(mark.shape, mark.x, y, up, accent(mark.owner)));
        group = group.child(linked(drawing, time, drawn));
    }
    group
}

/// Draws a shape around a point. Shapes with a direction point away from the mat: up for the
/// first athlete, down for the second.
fn shape(shape: Shape, x: f64, y: f64, up: bool, accent: &str) -> Element {
    let s = if up { -1.0 } else { 1.0 };
    let point = |dx: f64, dy: f64| format!("{} {}", number(x + dx), number(y + s * dy));
    let path = |points: &[(f64, f64)], close: bool| {
        let mut d = String::new();
        for (index, (dx, dy)) in points.iter().enumerate() {
            d.push(if index == 0 { 'M' } else { 'L' });
            d.push_str(&point(*dx, *dy));
        }
        if close {
            d.push('Z');
        }
        d
    };
    let diamond = [(-5.0, 0.0), (0.0, 5.0), (5.0, 0.0), (0.0, -5.0)];
    let (class, d) = match shape {
        Shape::Triangle => ("", path(&[(-5.5, -4.0), (0.0, 5.5), (5.5, -4.0)], true)),
        Shape::Bar => ("stroke", path(&[(0.0, -4.5), (0.0, 4.5)], false)),
        Shape::Hook => ("stroke", path(&[(-4.0, -2.0), (0.0, 3.0), (4.0, -2.0)], false)),
        Shape::Diamond => ("hollow", path(&diamond, true)),
        Shape::FullDiamond => ("", path(&diamond.map(|(dx, dy)| (dx * 1.25, dy * 1.25)), true)),
        Shape::Ring => {
            return Element::new("circle").class(&format!("hollow {accent}")).at([
                ("cx", x),
                ("cy", y),
                ("r", 4.2),
            ]);
        }
        Shape::Cross => {
            let (one, other) = (
                path(&[(-3.2, -3.2), (3.2, 3.2)], false),
                path(&[(-3.2, 3.2), (3.2, -3.2)], false),
            );
            ("stroke", one + &other)
        }
    };
    Element::new("path").class(format!("{class} {accent}").trim()).with("d", d)
}

pub(crate) struct Legend {
    pub(crate) element: Element,
    pub(crate) height: f64,
}

/// Explains the shapes that the picture uses, in as many lines as they need.
pub(crate) fn legend(marks: &[Mark<'_>], ledger: &Ledger, layout: &Layout, top: f64) -> Legend {
    const LINE: f64 = 18.0;
    let mut element = Element::new("g");
    let (mut x, mut y) = (layout.left, top);
    let mut put = |symbol: &dyn Fn(f64, f64) -> Element, text: &str| {
        let width = 16.0 + text_width(text, 11.5) + 14.0;
        if x > layout.left && x + width - 14.0 > layout.width {
            (x, y) = (layout.left, y + LINE);
        }
        let item = Element::new("g")
            .child(symbol(x + 5.0, y - 4.0))
            .child(label(text, x + 15.0, y).class("quiet"));
        x += width;
        item
    };
    for (kind, text) in Shape::ALL {
        if marks.iter().any(|mark| mark.shape == kind) {
            element = element.child(put(&|x, y| shape(kind, x, y, true, "nobody"), text));
        }
    }
    let unsure = |spell: &academy::Spell| spell.top.is_some() && spell.confidence < UNSURE_BELOW;
    if ledger.spells().iter().any(unsure) {
        let symbol = |x: f64, y: f64| {
            Element::new("rect").class("nobody unsure").at([
                ("x", x - 5.0),
                ("y", y - 4.0),
                ("width", 10.0),
                ("height", 8.0),
            ])
        };
        element = element.child(put(&symbol, "pale: unsure, below 60 %"));
    }
    Legend { element, height: y - top + 10.0 }
}
