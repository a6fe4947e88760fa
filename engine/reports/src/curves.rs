//! Getting out, as a picture: the share of stays that have ended in each way by a time.

use figures::getting_out::{Ending, GettingOut};
use figures::{Place, Role};

use crate::amounts::{counted_about, share, share_limits};
use crate::axes::{Plot, share_levels, step};
use crate::markup::{Element, number};
use crate::one_file;
use crate::svg::{Frame, picture};
use crate::tide::{TideWidth, label, text_width};
use crate::whose::{Voice, Whose};
use crate::wording;

/// What the picture shows.
#[derive(Clone, Copy, Debug)]
pub struct OutCurves<'a> {
    /// Whose stays.
    pub whose: Whose<'a>,
    /// How they ended.
    pub own: &'a GettingOut,
    /// Everybody's together, with what to call them ("all blue belts"), as a thin dashed line.
    pub others: Option<(&'a GettingOut, &'a str)>,
}

/// The picture as an SVG file of its own.
#[must_use]
pub fn out_curves(shown: &OutCurves<'_>, width: TideWidth) -> String {
    one_file::picture(&draw(shown, width, "curves", true))
}

/// The picture as markup for a page that brings [`crate::picture_style`]. `id` tells two pictures
/// of one page apart.
#[must_use]
pub fn out_curves_in_page(shown: &OutCurves<'_>, width: TideWidth, id: &str) -> String {
    let mut out = String::new();
    draw(shown, width, id, false).write(&mut out);
    out
}

/// The ways of ending that get a line, with the words at it.
const LINES: [(Ending, &str, &str); 5] = [
    (Ending::Escaped, "out", "first curve"),
    (Ending::Turtled, "to turtle", "first curve thin"),
    (Ending::Worse, "worse", "second curve"),
    (Ending::Tapped, "tapped", "second curve thin"),
    (Ending::Elsewhere, "elsewhere", "nobody curve thin"),
];

pub(crate) fn draw(shown: &OutCurves<'_>, width: TideWidth, id: &str, alone: bool) -> Element {
    let [across, high] = match width {
        TideWidth::Laptop => [460.0, 230.0],
        TideWidth::Phone => [340.0, 220.0],
    };
    let heading = if alone { 26.0 } else { 6.0 };
    let (top, bottom) = (heading + 8.0, high - 26.0);
    let plot = Plot { left: 42.0, right: across - 100.0, top, bottom };
    let place = Place { position: shown.own.position, role: Role::Bottom };
    let end = horizon(shown);
    let title = format!("Getting out {}: {}", from(place), name(&shown.whose));
    let mut svg = picture(&Frame {
        id,
        class: "curves",
        width: across,
        height: high,
        title: &title,
        description: &description(shown, end),
        alone,
        links: false,
    });
    if alone {
        let stays = counted_about(shown.own.stays, "stay", "stays");
        svg = svg.child(label(&format!("Out {}: {stays}", from(place)), 8.0, 20.0).class("name"));
    }
    svg = svg.child(plot.levels(&share_levels()));
    svg = svg.child(plot.bottom_line(&ticks(end), "seconds"));
    svg = svg.child(Element::new("path").class("bar first").with("d", band(shown.own, &plot, end)));
    if let Some((others, _)) = shown.others {
        let line = steps(others, Ending::Escaped, end);
        svg = svg.child(Element::new("path").class("others").with("d", path(&line, &plot, end)));
    }
    let drawn: Vec<_> = LINES
        .into_iter()
        .filter(|(ending, _, _)| {
            *ending == Ending::Escaped || shown.own.ended[ending.index()] > 0.0
        })
        .collect();
    for (ending, _, class) in drawn.iter().rev() {
        let line = steps(shown.own, *ending, end);
        svg = svg.child(Element::new("path").class(class).with("d", path(&line, &plot, end)));
    }
    svg.child(names(shown, &drawn, &plot, end))
}

fn name(whose: &Whose<'_>) -> String {
    if whose.voice == Voice::You { whose.name.to_owned() } else { whose.name() }
}

/// "from under mount", "from turtle".
pub(crate) fn from(place: Place) -> String {
    match wording::place(place).strip_prefix("in ") {
        Some(rest) => format!("of {rest}"),
        None => format!("from {}", wording::place(place)),
    }
}

/// To where the time axis goes: the longest of the student's stays, to a round number.
fn horizon(shown: &OutCurves<'_>) -> f64 {
    let last = shown.own.curves.steps().last().map_or(10.0, |step| step.time);
    let size = step(last.max(4.0), 6.0);
    ((last / size).ceil() * size).max(size)
}

fn ticks(end: f64) -> Vec<(f64, String)> {
    let size = step(end, 6.0);
    let count = (end / size).round().max(1.0) as usize;
    (0..=count).map(|at| (at as f64 * size / end, format!("{:.0}", at as f64 * size))).collect()
}

/// The corners of a curve: times with the share from then on.
fn steps(of: &GettingOut, ending: Ending, end: f64) -> Vec<(f64, f64)> {
    let mut line = vec![(0.0, 0.0)];
    for step in of.curves.steps().iter().take_while(|step| step.time <= end) {
        let here = step.outcomes.get(ending.index()).map_or(0.0, |at| at.incidence);
        if line.last().is_none_or(|last| (last.1 - here).abs() > 1e-9) {
            line.push((step.time, here));
        }
    }
    line
}

fn path(line: &[(f64, f64)], plot: &Plot, end: f64) -> String {
    let mut path = String::new();
    for (at, (time, share)) in line.iter().enumerate() {
        let (x, y) = (number(plot.x(time / end)), number(plot.y(*share)));
        if at == 0 {
            path.push_str(&format!("M{x} {y}"));
        } else {
            path.push_str(&format!("H{x}V{y}"));
        }
    }
    format!("{path}H{}", number(plot.right))
}

/// The 95 % band of the share that is out.
fn band(of: &GettingOut, plot: &Plot, end: f64) -> String {
    let mut above = String::new();
    let mut below: Vec<(f64, f64)> = Vec::new();
    let mut last = 0.0;
    for step in of.curves.steps().iter().take_while(|step| step.time <= end) {
        let Some(at) = step.outcomes.get(Ending::Escaped.index()) else { continue };
        let x = plot.x(step.time / end);
        let start = if above.is_empty() { "M" } else { "H" };
        let (low, high) = (plot.y(at.interval.low()), plot.y(at.interval.high()));
        if above.is_empty() {
            above.push_str(&format!("{start}{} {}", number(x), number(high)));
        } else {
            above.push_str(&format!("{start}{}V{}", number(x), number(high)));
        }
        if let Some(previous) = below.last().map(|corner| corner.1) {
            below.push((x, previous));
        }
        below.push((x, low));
        last = low;
    }
    if above.is_empty() {
        return String::from("M0 0");
    }
    let mut path = format!("{above}H{}V{}", number(plot.right), number(last));
    for (x, y) in below.iter().rev() {
        path.push_str(&format!("L{} {}", number(*x), number(*y)));
    }
    path.push('Z');
    path
}

/// The words at the ends of the lines, moved apart where they would lie on each other.
fn names(
    shown: &OutCurves<'_>,
    drawn: &[(Ending, &'static str, &'static str)],
    plot: &Plot,
    end: f64,
) -> Element {
    let at_end = |of: &GettingOut, ending| steps(of, ending, end).last().map_or(0.0, |last| last.1);
    let mut words: Vec<(f64, String, &str)> = (drawn.iter())
        .map(|(ending, name, class)| {
            let value = at_end(shown.own, *ending);
            let colour = class.split(' ').next().unwrap_or("nobody");
            (plot.y(value), format!("{name} {}", share(value)), colour)
        })
        .collect();
    if let Some((others, called)) = shown.others {
        let value = at_end(others, Ending::Escaped);
        let room = 96.0;
        let long = format!("{called} {}", share(value));
        let text = if text_width(&long, 11.5) <= room {
            long
        } else {
            format!("all, out {}", share(value))
        };
        words.push((plot.y(value), text, "quiet"));
    }
    words.sort_by(|one, other| one.0.total_cmp(&other.0));
    // Down from the top, then up again from the bottom, so that all stay on the ground.
    for at in 1..words.len() {
        words[at].0 = words[at].0.max(words[at - 1].0 + 13.0);
    }
    let mut floor = plot.bottom;
    for word in words.iter_mut().rev() {
        word.0 = word.0.min(floor);
        floor = word.0 - 13.0;
    }
    Element::new("g").children(
        words
            .into_iter()
            .map(|(y, text, class)| label(&text, plot.right + 5.0, y + 3.5).class(class)),
    )
}

fn description(shown: &OutCurves<'_>, end: f64) -> String {
    let mut text = format!(
        "Share of {} that have ended in each way by a time, over {end:.0} seconds, with the limits \
         within which the share that is out lies with 95 % chance.",
        counted_about(shown.own.stays, "stay", "stays"),
    );
    for seconds in [10.0, 20.0, 30.0, 60.0, 120.0].into_iter().filter(|time| *time <= end) {
        let Some(step) = shown.own.curves.at(seconds) else { continue };
        let Some(out) = step.outcomes.get(Ending::Escaped.index()) else { continue };
        let mut parts =
            vec![format!("out {} ({})", share(out.incidence), share_limits(out.interval))];
        for (ending, name, _) in &LINES[1..] {
            let incidence = step.outcomes.get(ending.index()).map_or(0.0, |at| at.incidence);
            if incidence > 0.0 {
                parts.push(format!("{name} {}", share(incidence)));
            }
        }
        text.push_str(&format!(" By {seconds:.0} seconds: {}.", parts.join(", ")));
    }
    if let Some((others, called)) = shown.others {
        let value = steps(others, Ending::Escaped, end).last().map_or(0.0, |last| last.1);
        text.push_str(&format!(
            " The dashed line: {called}, out {} by {end:.0} seconds ({}).",
            share(value),
            counted_about(others.stays, "stay", "stays"),
        ));
    }
    text
}
