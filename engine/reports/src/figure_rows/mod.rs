//! Figures as rows: one form for every figure, from which text, CSV and JSON are written.
//! `docs/figure-rows.md` describes them for people.

mod of_many;
mod one_round;
mod student;
mod written;

pub use of_many::{layer_rows, overview_rows, taught_rows};
pub use one_round::{agreement_rows, round_rows, scoring_rows};
pub use student::{Topic, student_rows};
pub use written::{csv, json, text};

use academy::Position;
use figures::interval::Interval;
use figures::tallies::Doing;
use figures::{Figure, Place, Role};

use crate::doings::gerund;
use crate::wording;

/// One figure.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureRow {
    /// Whose: a name, or a belt.
    pub student: String,
    /// What kind of figure, as an id: `time`, `habits` and so on.
    pub what: &'static str,
    /// Where, where that matters.
    pub place: Option<Place>,
    /// What is done or looked at, as an id; empty where there is nothing more to say.
    pub doing: String,
    /// The number.
    pub value: f64,
    /// In which unit it and its limits are.
    pub unit: Unit,
    /// What it rests on; see the documentation for each kind.
    pub count: Option<f64>,
    /// 95 % limits.
    pub limits: Option<Interval>,
    /// Share of what it rests on that a person told or confirmed, 0 to 1.
    pub confirmed: Option<f64>,
    /// The row's name for people.
    pub said: String,
}

/// The unit of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// 0 to 1.
    Share,
    /// A probability, 0 to 1.
    Chance,
    /// Per minute.
    PerMinute,
    /// Seconds.
    Seconds,
    /// Minutes.
    Minutes,
    /// Submissions in a round, the other one's taken off.
    NetSubmissions,
    /// One number divided by another.
    Ratio,
    /// How many.
    Count,
    /// Points of a rule book.
    Points,
    /// An index without a unit.
    Index,
}

impl Unit {
    /// The id used in files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Unit::Share => "share",
            Unit::Chance => "chance",
            Unit::PerMinute => "per_minute",
            Unit::Seconds => "seconds",
            Unit::Minutes => "minutes",
            Unit::NetSubmissions => "net_submissions_per_round",
            Unit::Ratio => "ratio",
            Unit::Count => "count",
            Unit::Points => "points",
            Unit::Index => "index",
        }
    }
}

const fn role_id(role: Role) -> &'static str {
    match role {
        Role::Neither => "neither",
        Role::Top => "top",
        Role::Bottom => "bottom",
    }
}

/// "mount_bottom"
fn place_id(place: Place) -> String {
    match place.position {
        Position::Standing | Position::Reset => place.position.id().to_owned(),
        position => format!("{}_{}", position.id(), role_id(place.role)),
    }
}

/// "pass"; what the other one does is "their_pass".
fn doing_id(doing: Doing) -> String {
    format!("{}{}", if doing.own { "" } else { "their_" }, doing.kind.id())
}

/// Rows of one person and one kind of figure.
struct Rows<'a> {
    student: &'a str,
    what: &'static str,
    rows: Vec<FigureRow>,
}

impl<'a> Rows<'a> {
    const fn new(student: &'a str, what: &'static str) -> Self {
        Rows { student, what, rows: Vec::new() }
    }

    /// Adds a row with only its number.
    fn bare(&mut self, doing: &str, said: &str, value: f64, unit: Unit) -> &mut FigureRow {
        let row = FigureRow {
            student: self.student.to_owned(),
            what: self.what,
            place: None,
            doing: doing.to_owned(),
            // Nothing added up is minus nothing to a computer, and plain nothing to people.
            value: value + 0.0,
            unit,
            count: None,
            limits: None,
            confirmed: None,
            said: said.to_owned(),
        };
        self.rows.push(row);
        let last = self.rows.len() - 1;
        &mut self.rows[last]
    }

    fn figure(&mut self, doing: &str, said: &str, figure: &Figure, unit: Unit) -> &mut FigureRow {
        let row = self.bare(doing, said, figure.value, unit);
        row.count = Some(figure.count + 0.0);
        row.limits = Some(figure.interval);
        row.confirmed = Some(figure.confirmed);
        row
    }

    fn placed(&mut self, place: Place, figure: &Figure, unit: Unit) {
        self.figure("", &wording::place(place), figure, unit).place = Some(place);
    }
}

/// "under mount: getting out".
fn said_of(doing: Doing) -> String {
    format!("{}: {}", wording::place(doing.place), gerund(doing))
}
