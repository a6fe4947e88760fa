//! Rows of figures as CSV, JSON and text.

use std::fmt::Write as _;

use unicode_width::UnicodeWidthStr as _;

use super::{FigureRow, Unit, role_id};
use crate::ledger_csv::cell;

const COLUMNS: [&str; 11] = [
    "student",
    "what",
    "position",
    "role",
    "doing",
    "value",
    "unit",
    "count",
    "low",
    "high",
    "confirmed",
];

/// A number with at most six decimals; empty where it is not finite.
fn number(value: Option<f64>) -> String {
    let Some(value) = value.filter(|value| value.is_finite()) else { return String::new() };
    let text = format!("{value:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn cells(row: &FigureRow) -> [String; 11] {
    [
        row.student.clone(),
        row.what.to_owned(),
        row.place.map_or_else(String::new, |place| place.position.id().to_owned()),
        row.place.map_or_else(String::new, |place| role_id(place.role).to_owned()),
        row.doing.clone(),
        number(Some(row.value)),
        row.unit.id().to_owned(),
        number(row.count),
        number(row.limits.map(figures::interval::Interval::low)),
        number(row.limits.map(figures::interval::Interval::high)),
        number(row.confirmed),
    ]
}

/// Which of the cells are numbers.
const fn is_number(column: usize) -> bool {
    matches!(column, 5 | 7..=10)
}

/// Rows as CSV (RFC 4180, comma, UTF-8, CRLF), with a header. Numbers have at most six decimals;
/// an empty cell says that there is none, as for a limit that is infinite. A text that a
/// spreadsheet would take for a formula gets an apostrophe before it.
#[must_use]
pub fn csv(rows: &[FigureRow]) -> String {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory, every row with as many fields as the header: neither can fail.
    let _ = writer.write_record(COLUMNS);
    for row in rows {
        let [student, rest @ ..] = cells(row);
        let _ = writer.write_record(std::iter::once(cell(&student)).chain(rest));
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Rows as JSON: an object with `format`, `version` and `figures`, one line for each figure, its
/// keys those of the CSV in their order; null where CSV has an empty cell.
#[must_use]
pub fn json(rows: &[FigureRow]) -> String {
    let mut text =
        String::from("{\"format\": \"grapevine figures\", \"version\": 1, \"figures\": [");
    for (index, row) in rows.iter().enumerate() {
        text.push_str(if index == 0 { "\n  {" } else { ",\n  {" });
        for (column, (key, value)) in COLUMNS.iter().zip(cells(row)).enumerate() {
            let between = if column == 0 { "" } else { ", " };
            let value = match (value.is_empty(), is_number(column)) {
                (true, _) => "null".to_owned(),
                (false, true) => value,
                (false, false) => quoted(&value),
            };
            // Writing to a string does not fail.
            let _ = write!(text, "{between}\"{key}\": {value}");
        }
        text.push('}');
    }
    text.push_str("\n]}\n");
    text
}

fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for character in text.chars() {
        match character {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            control if control < ' ' => {
                let _ = write!(quoted, "\\u{:04x}", u32::from(control));
            }
            other => quoted.push(other),
        }
    }
    quoted + "\""
}

fn in_unit(value: f64, unit: Unit) -> String {
    if value.is_infinite() {
        return "no limit".to_owned();
    }
    match unit {
        Unit::Share | Unit::Chance if value > 0.0 && value < 0.005 => "under 1 %".to_owned(),
        Unit::Share | Unit::Chance => format!("{:.0} %", value * 100.0),
        Unit::PerMinute | Unit::Ratio | Unit::Index => format!("{value:.2}"),
        Unit::Seconds => format!("{value:.0} s"),
        Unit::Minutes => format!("{value:.1} min"),
        Unit::NetSubmissions => format!("{value:+.2}"),
        Unit::Count | Unit::Points => format!("{value:.0}"),
    }
}

/// What a kind of figure is, as a heading.
fn heading(what: &str) -> &'static str {
    match what {
        "time" => "Share of the time",
        "round" => "Per minute of rolling",
        "holds" => "How long positions are held",
        "getting_out" => "Getting out: share of the stays",
        "habits" => "Habits: per minute in the place",
        "sets_apart" => "Surest ways and leaks: the chance that it sets them apart",
        "attempts" => "How submission attempts end",
        "worth" => "Worth of a place: net submissions to come in a round",
        "train_next" => "What to train next: net submissions a round would gain",
        "changes" => "What changed",
        "flows" => "From where to where: share of the changes",
        "taught" => "What was taught: uses per minute",
        "layers" => "By belt",
        "meant" => "Beside rounds of its kind",
        "scoring" => "Under the rules",
        "agreement" => "How much the two readings agree",
        _ => "All together",
    }
}

/// What stands in the columns of a text.
const LEGEND: &str = "
From left to right: the figure, the limits between which it may lie (95 %), what
it rests on, and how much of that a person told or confirmed.
";

/// Rows as text: for everybody a heading, for every kind of figure a table with the 95 % limits,
/// what it rests on, and how much of that a person told or confirmed. Rows of a list of all
/// students are one line each.
#[must_use]
pub fn text(rows: &[FigureRow]) -> String {
    if rows.iter().all(|row| row.what == "overview") {
        return overview(rows);
    }
    let mut text = String::new();
    let mut before: Option<(&str, &str)> = None;
    for table in
        rows.chunk_by(|one, other| (&one.student, one.what) == (&other.student, other.what))
    {
        let (student, what) = (table[0].student.as_str(), table[0].what);
        if before.is_none_or(|(last, _)| last != student) {
            if before.is_some() {
                text.push('\n');
            }
            let _ = writeln!(text, "{student}");
        }
        before = Some((student, what));
        let _ = writeln!(text, "\n  {}", heading(what));
        let lines: Vec<[String; 5]> = table.iter().filter(|row| is_told(row)).map(line).collect();
        text.push_str(&narrow(&lines));
    }
    text.push_str(LEGEND);
    text
}

/// The widest words beside numbers: with those and the indent a line has 80 columns.
const WIDEST_WORDS: usize = 30;

/// Lines within a terminal of 80 columns: what begins with the same words before a colon stands
/// under them, and words that are too wide stand over their numbers.
fn narrow(lines: &[[String; 5]]) -> String {
    let words: Vec<(Option<&str>, String)> = (lines.iter())
        .map(|[said, ..]| match said.split_once(": ") {
            Some((shared, own)) => (Some(shared), format!("  {own}")),
            None => (None, said.clone()),
        })
        .collect();
    let mut beside = lines.to_vec();
    for (line, (_, own)) in beside.iter_mut().zip(&words) {
        line[0] = if own.width() > WIDEST_WORDS { String::new() } else { own.clone() };
    }
    let (mut text, mut over) = (String::new(), None);
    for (line, (shared, own)) in aligned("    ", &beside).lines().zip(&words) {
        if let Some(shared) = shared.filter(|shared| over != Some(*shared)) {
            let _ = writeln!(text, "    {shared}");
        }
        over = *shared;
        if own.width() > WIDEST_WORDS {
            let _ = writeln!(text, "    {own}");
        }
        let _ = writeln!(text, "{line}");
    }
    text
}

/// A text leaves out what a student was never seen doing: there is too much of it.
fn is_told(row: &FigureRow) -> bool {
    row.what != "habits" || row.count.is_none_or(|count| count > 0.0)
}

fn line(row: &FigureRow) -> [String; 5] {
    // Limits that are one number say only that there was too little for any.
    let limits = row.limits.filter(|limits| limits.low() < limits.high());
    let limits = limits.map_or_else(String::new, |limits| {
        format!("{} to {}", in_unit(limits.low(), row.unit), in_unit(limits.high(), row.unit))
    });
    let rests = row.count.map_or_else(String::new, |count| format!("of {}", number_short(count)));
    let told = row.confirmed.map_or_else(String::new, |told| format!("{:.0} % told", told * 100.0));
    [crate::wording::capital(&row.said), in_unit(row.value, row.unit), limits, rests, told]
}

fn number_short(count: f64) -> String {
    let whole = (count - count.round()).abs() < 0.05;
    if whole { format!("{count:.0}") } else { format!("{count:.1}") }
}

/// Lines with columns as wide as their widest cell; the first to the left, numbers to the right.
fn aligned<const N: usize>(indent: &str, lines: &[[String; N]]) -> String {
    let mut widths = [0; N];
    for line in lines {
        for (width, cell) in widths.iter_mut().zip(line) {
            *width = (*width).max(cell.width());
        }
    }
    let mut text = String::new();
    for line in lines {
        let mut out = indent.to_owned();
        for (column, (cell, width)) in line.iter().zip(widths).enumerate() {
            let space = " ".repeat(width - cell.width());
            match column {
                0 => out += &format!("{cell}{space}"),
                _ => out += &format!("  {space}{cell}"),
            }
        }
        text.push_str(out.trim_end());
        text.push('\n');
    }
    text
}

fn overview(rows: &[FigureRow]) -> String {
    const HEADER: [&str; 7] =
        ["Student", "Rounds", "Time", "Told", "On top", "In trouble", "Changes a minute"];
    let mut lines = vec![HEADER.map(str::to_owned)];
    for student in rows.chunk_by(|one, other| one.student == other.student) {
        let of = |doing: &str| student.iter().find(|row| row.doing == doing);
        let value = |doing| of(doing).map_or_else(String::new, |row| in_unit(row.value, row.unit));
        let told = of("rolled").and_then(|row| row.confirmed);
        lines.push([
            student[0].student.clone(),
            value("rounds"),
            value("rolled"),
            told.map_or_else(String::new, |told| in_unit(told, Unit::Share)),
            value("on_top"),
            value("in_bad_positions"),
            value("changes"),
        ]);
    }
    aligned("", &lines)
}
