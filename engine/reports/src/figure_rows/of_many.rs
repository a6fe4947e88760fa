//! The figures of many as rows: an academy, a belt, whoever was taught something.

use figures::figure::Tally;
use figures::overview::AcademyFigures;
use figures::round::changes_per_minute;
use figures::stretch::Lived;
use figures::taught::Use;
use figures::{AthleteId, KnownRound, Place, Role};

use super::{FigureRow, Rows, Unit, doing_id, said_of};
use crate::wording;

/// A few figures of one student, for a list of all; nothing for somebody without rounds.
#[must_use]
pub fn overview_rows(
    name: &str,
    academy: &AcademyFigures,
    rounds: &[KnownRound<'_>],
    who: AthleteId,
) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "overview");
    let Some(tallies) = academy.tallies(who) else { return rows.rows };
    let (mut rolled, mut top, mut bad) = (Tally::default(), Tally::default(), Tally::default());
    for (place, seconds) in &tallies.seconds {
        rolled = rolled.plus(*seconds);
        if place.role == Role::Top {
            top = top.plus(*seconds);
        }
        if place.is_bad() {
            bad = bad.plus(*seconds);
        }
    }
    rows.bare("rounds", "rounds", tallies.rounds as f64, Unit::Count);
    let minutes = rows.bare("rolled", "minutes", rolled.all / 60.0, Unit::Minutes);
    minutes.confirmed = Some(rolled.confirmed());
    for (id, said, of) in [("on_top", "on top", top), ("in_bad_positions", "in trouble", bad)] {
        if rolled.all > 0.0 {
            let row = rows.bare(id, said, of.all / rolled.all, Unit::Share);
            row.count = Some(rolled.all / 60.0);
            row.confirmed = Some(rolled.confirmed());
        }
    }
    let lived: Vec<Lived<'_>> = Lived::of_student(rounds, who).collect();
    if let Some(pace) = changes_per_minute(&lived) {
        rows.figure("changes", "changes", &pace, Unit::PerMinute);
    }
    rows.rows
}

/// Every place at every belt that has enough members who were there.
#[must_use]
pub fn layer_rows(academy: &AcademyFigures) -> Vec<FigureRow> {
    let mut all = Vec::new();
    for place in Place::all() {
        for layer in academy.layers(place) {
            let belt = format!("{} belts", layer.belt.id());
            let mut rows = Rows::new(&belt, "layers");
            let said = format!("{}, share of the time", wording::place(place));
            rows.figure("time", &said, &layer.share, Unit::Share).place = Some(place);
            for habit in &layer.habits {
                let (id, said) = (doing_id(habit.doing), said_of(habit.doing));
                rows.figure(&id, &said, &habit.rate, Unit::PerMinute).place = Some(place);
            }
            all.extend(rows.rows);
        }
    }
    // By belt, and within a belt by place: the order of reading.
    let order = |row: &FigureRow| {
        academy::Belt::ALL.iter().position(|belt| row.student.starts_with(belt.id()))
    };
    all.sort_by_key(order);
    all
}

/// How often a technique was used before a day and since.
#[must_use]
pub fn taught_rows(whose: &str, technique: &str, used: &Use) -> Vec<FigureRow> {
    let mut rows = Rows::new(whose, "taught");
    let id = technique.to_lowercase().replace(' ', "_");
    for (side, figure) in [("before", &used.before), ("since", &used.since)] {
        if let Some(figure) = figure {
            let (id, said) = (format!("{id}_{side}"), format!("{technique}, {side}"));
            rows.figure(&id, &said, figure, Unit::PerMinute);
        }
    }
    if let Some(ratio) = &used.ratio {
        let (id, said) = (format!("{id}_ratio"), format!("{technique}, since beside before"));
        rows.bare(&id, &said, ratio.ratio, Unit::Ratio).limits = Some(ratio.interval);
        let said = format!("{technique}, chance of so much by itself");
        rows.bare(&id.replace("_ratio", "_chance"), &said, ratio.p_value, Unit::Chance);
    }
    rows.bare("people", "people looked at", used.people as f64, Unit::Count);
    rows.rows
}
