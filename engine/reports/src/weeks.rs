//! A figure by week, as a small picture with its limits.

use figures::Figure;
use figures::over_time::Week;
use jiff::civil::Date;

use crate::axes::{Plot, step};
use crate::markup::{Element, number};
use crate::one_file;
use crate::svg::{Frame, picture};
use crate::tide::{TideWidth, label};
use crate::wording::day_and_month;

/// What a number by week is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WeekUnit {
    /// A share, 0 to 1, shown in percent.
    Share,
    /// A number per minute.
    PerMinute,
}

/// What the picture shows.
#[derive(Clone, Copy, Debug)]
pub struct ByWeek<'a> {
    /// What it is and whose: "Changes a minute, Petra".
    pub title: &'a str,
    /// In which unit.
    pub unit: WeekUnit,
    /// By week, in order.
    pub weeks: &'a [Week<Option<Figure>>],
}

/// The picture as an SVG file of its own.
#[must_use]
pub fn by_week(shown: &ByWeek<'_>, width: TideWidth) -> String {
    one_file::picture(&draw(shown, width, "weeks", true))
}

/// The picture as markup for a page that brings [`crate::picture_style`]. `id` tells two pictures
/// of one page apart.
#[must_use]
pub fn by_week_in_page(shown: &ByWeek<'_>, width: TideWidth, id: &str) -> String {
    let mut out = String::new();
    draw(shown, width, id, false).write(&mut out);
    out
}

fn draw(shown: &ByWeek<'_>, width: TideWidth, id: &str, alone: bool) -> Element {
    let [across, high] = match width {
        TideWidth::Laptop => [460.0, 150.0],
        TideWidth::Phone => [340.0, 150.0],
    };
    let heading = if alone { 26.0 } else { 4.0 };
    let (top, bottom) = (heading + 10.0, high - 26.0);
    let plot = Plot { left: 42.0, right: across - 14.0, top, bottom };
    let known: Vec<(Date, usize, Figure)> = (shown.weeks.iter())
        .filter_map(|week| Some((week.monday, week.rounds, week.figure?)))
        .collect();
    let most = ceiling(shown.unit, &known);
    let mut svg = picture(&Frame {
        id,
        class: "weeks",
        width: across,
        height: high,
        title: shown.title,
        description: &description(shown.unit, &known),
        alone,
        links: false,
    });
    if alone {
        svg = svg.child(label(shown.title, 8.0, 20.0).class("name"));
    }
    svg = svg.child(plot.levels(&levels(shown.unit, most)));
    let (Some(first), Some(last)) = (known.first(), known.last()) else {
        return svg.child(plot.bottom_line(&[], ""));
    };
    let span = days(first.0, last.0);
    // Half a week of air at both ends.
    let share = |day: Date| (days(first.0, day) + 3.5) / (span + 7.0);
    let ticks: Vec<(f64, String)> =
        known.iter().map(|week| (share(week.0), day_and_month(week.0))).collect();
    svg = svg.child(plot.bottom_line(&ticks, ""));
    let mut line = String::new();
    let mut group = Element::new("g");
    for (monday, rounds, figure) in &known {
        let x = plot.x(share(*monday));
        let y = plot.y(figure.value / most);
        let (low, high) = (plot.y(figure.interval.low() / most), plot.y(limit(figure) / most));
        line.push_str(&format!(
            "{}{} {}",
            if line.is_empty() { "M" } else { "L" },
            number(x),
            number(y)
        ));
        let bar = format!("M{} {}V{}", number(x), number(low), number(high));
        group = group.child(
            Element::new("g")
                .child(
                    Element::new("title").text(week_in_words(shown.unit, *monday, *rounds, figure)),
                )
                .child(Element::new("path").class("first likely").with("d", bar))
                .child(Element::new("circle").class("spot first").at([
                    ("cx", x),
                    ("cy", y),
                    ("r", 4.5),
                ])),
        );
    }
    svg.child(Element::new("path").class("others").with("d", line)).child(group)
}

/// The upper limit where there is one, else the value.
fn limit(figure: &Figure) -> f64 {
    if figure.interval.high().is_finite() { figure.interval.high() } else { figure.value }
}

/// What the top of the picture stands for: all, or a round number above most of the limits. A week
/// with hardly any time has limits that would press all others flat; its line leaves the picture.
fn ceiling(unit: WeekUnit, known: &[(Date, usize, Figure)]) -> f64 {
    if unit == WeekUnit::Share {
        return 1.0;
    }
    let value = known.iter().map(|week| week.2.value).fold(0.0, f64::max);
    let most = known.iter().map(|week| limit(&week.2)).fold(0.0, f64::max);
    let most = most.min(value * 2.0).max(1.0);
    let size = step(most, 5.0);
    (most / size).ceil() * size
}

fn levels(unit: WeekUnit, most: f64) -> Vec<(f64, String)> {
    let name = |value: f64| match unit {
        WeekUnit::Share => format!("{:.0} %", value * 100.0),
        WeekUnit::PerMinute => format!("{value:.0}"),
    };
    match unit {
        WeekUnit::Share => [0.0, 0.5, 1.0].map(|value| (value, name(value))).into(),
        WeekUnit::PerMinute if most % 2.0 == 0.0 => {
            [0.0, 0.5, 1.0].map(|at| (at, name(at * most))).into()
        }
        WeekUnit::PerMinute => [0.0, 1.0].map(|at| (at, name(at * most))).into(),
    }
}

fn days(from: Date, to: Date) -> f64 {
    from.until(to).map_or(0.0, |span| f64::from(span.get_days()))
}

/// "Week of 4 May, 3 rounds: 41 %, 30 to 53"
fn week_in_words(unit: WeekUnit, monday: Date, rounds: usize, figure: &Figure) -> String {
    let rounds = crate::amounts::counted(rounds, "round", "rounds");
    let number = match unit {
        WeekUnit::Share => format!(
            "{} ({})",
            crate::amounts::share(figure.value),
            crate::amounts::share_limits(figure.interval)
        ),
        WeekUnit::PerMinute => format!(
            "{} ({})",
            crate::amounts::rate(figure.value),
            crate::amounts::rate_limits(figure.interval)
        ),
    };
    format!("Week of {}, {rounds}: {number}", day_and_month(monday))
}

fn description(unit: WeekUnit, known: &[(Date, usize, Figure)]) -> String {
    if known.is_empty() {
        return "No week has a number yet.".to_owned();
    }
    let weeks = known
        .iter()
        .map(|(monday, rounds, figure)| week_in_words(unit, *monday, *rounds, figure))
        .collect::<Vec<_>>();
    format!(
        "A dot for every week with rounds, with the limits within which it lies with 95 % chance. \
         {}.",
        weeks.join(". ")
    )
}
