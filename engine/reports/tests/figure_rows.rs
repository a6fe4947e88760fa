//! Figures as rows, and what is written of them.

use figures::overview::AcademyFigures;
use reports::figure_rows::{FigureRow, Topic, Unit, csv, json, overview_rows, student_rows, text};

use crate::invented::{Academy, LAST_TALK, PETRA, belts};

fn rows_of_petra() -> Vec<FigureRow> {
    let academy = Academy::with_rounds(20);
    let rounds = academy.rounds();
    let figures = AcademyFigures::new(&rounds, belts());
    let petra = figures.student(&rounds, PETRA, Some(LAST_TALK)).expect("she is in rounds");
    let rows = Topic::ALL.into_iter().flat_map(|topic| student_rows("Petra", &petra, topic));
    rows.collect()
}

#[test]
fn every_figure_has_one_row_with_what_it_rests_on() {
    let rows = rows_of_petra();
    let of = |what: &str| rows.iter().filter(|row| row.what == what).count();
    for what in ["time", "round", "holds", "getting_out", "habits", "worth", "changes", "flows"] {
        assert!(of(what) > 0, "{what}");
    }
    let time: f64 = rows.iter().filter(|row| row.what == "time").map(|row| row.value).sum();
    assert!((time - 1.0).abs() < 1e-9, "shares of the time make the whole: {time}");
    for row in &rows {
        assert!(!row.said.is_empty() && !row.said.ends_with(": "), "{row:?}");
        if let (Unit::Share, Some(limits)) = (row.unit, row.limits) {
            assert!(limits.low() >= 0.0 && limits.high() <= 1.0, "{row:?}");
        }
    }
    // Nothing is there twice.
    let mut keys: Vec<_> = rows.iter().map(|row| (row.what, row.place, &row.doing)).collect();
    let all = keys.len();
    keys.sort();
    keys.dedup();
    assert_eq!(keys.len(), all);
}

#[test]
fn csv_and_json_hold_the_same_cells() {
    let rows = rows_of_petra();
    let (csv, json) = (csv(&rows), json(&rows));
    let lines: Vec<&str> = csv.split_terminator("\r\n").collect();
    assert_eq!(lines.len(), rows.len() + 1);
    assert!(lines.iter().all(|line| line.split(',').count() == 11), "no cell has a comma");
    let in_json: Vec<&str> =
        json.lines().filter(|line| line.starts_with("  {\"student\"")).collect();
    assert_eq!(in_json.len(), rows.len());
    for (line, object) in lines[1..].iter().zip(in_json) {
        for cell in line.split(',').filter(|cell| !cell.is_empty()) {
            assert!(object.contains(cell), "{cell} {object}");
        }
    }
    assert!(!csv.contains("NaN") && !csv.contains("inf") && !csv.contains(",-0,"));
}

#[test]
fn a_name_cannot_break_what_is_written() {
    let mut row = rows_of_petra().remove(0);
    row.student = "=\"Ann\", \\ \u{1} Lee".to_owned();
    let rows = [row];
    assert!(csv(&rows).contains("\"'=\"\"Ann\"\", \\ \u{1} Lee\","), "{}", csv(&rows));
    assert!(json(&rows).contains(r#""student": "=\"Ann\", \\ \u0001 Lee""#), "{}", json(&rows));
}

#[test]
fn a_list_of_students_has_one_line_each() {
    let academy = Academy::with_rounds(20);
    let rounds = academy.rounds();
    let figures = AcademyFigures::new(&rounds, belts());
    let people: Vec<_> = figures.people().take(3).collect();
    let row = |who: &figures::AthleteId| {
        overview_rows(&format!("Student {}", who.0), &figures, &rounds, *who)
    };
    let text = text(&people.iter().flat_map(row).collect::<Vec<_>>());
    assert_eq!(text.lines().count(), 4, "{text}");
    assert!(text.starts_with("Student"), "{text}");
}
