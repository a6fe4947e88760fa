//! The tide in characters, for a terminal.

use academy::{Athlete, EventKind, Ledger, Position, Round, Span, Spell, Time};

use crate::depth::depth;
use crate::terminal::{TextStyle, safe, width};
use crate::tide::UNSURE_BELOW;

/// Rows above and below the mat; a row holds two levels of depth.
const ROWS: usize = 3;
/// Room at the right for the levels' names.
const MARGIN: usize = 7;
const LEVEL_NAMES: [&str; ROWS] = ["guard", "side", "back"];

/// Draws the tide in `style.columns` columns; every line ends with a line end.
pub(crate) fn tide_text(round: &Round, ledger: &Ledger, style: TextStyle) -> String {
    let end = round.length().max(ledger.end());
    let columns = style.columns() - MARGIN;
    let column_spans: Vec<Span> = (0..columns)
        .map(|column| {
            let at = |share: usize| end.millis() * share as u64 / columns as u64;
            Span::between(Time::from_millis(at(column)), Time::from_millis(at(column + 1)))
        })
        .collect();
    let spells: Vec<Option<&Spell>> =
        column_spans.iter().map(|span| most_of(ledger, *span)).collect();

    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(text.trim_end());
        out.push('\n');
    };
    let [first, second] = Athlete::BOTH.map(|athlete| safe(round.name(athlete)));
    line(style.accent(Some(Athlete::First), &format!("▲ {first} on top")));
    let lanes = Athlete::BOTH.map(|side| marks(ledger, side, end, columns));
    line(style.accent(Some(Athlete::First), &lanes[0]));
    for row in (1..=ROWS).rev() {
        line(band_row(&spells, Athlete::First, row, style));
    }
    line(spells.iter().map(|spell| mat(*spell)).collect());
    for row in 1..=ROWS {
        line(band_row(&spells, Athlete::Second, row, style));
    }
    line(style.accent(Some(Athlete::Second), &lanes[1]));
    line(style.accent(Some(Athlete::Second), &format!("▼ {second} on top")));
    line(time_axis(end, columns));
    let pale = |spell: &&Spell| spell.confidence < UNSURE_BELOW && fills_a_row(spell);
    for part in legend(&lanes, spells.iter().flatten().any(pale), style) {
        line(style.faint(&part));
    }
    out
}

/// The spell that fills most of a column.
fn most_of(ledger: &Ledger, column: Span) -> Option<&Spell> {
    let from = ledger.spells().partition_point(|spell| spell.span.end() <= column.start());
    let overlap = |spell: &Spell| {
        let end = spell.span.end().min(column.end()).millis();
        end.saturating_sub(spell.span.start().max(column.start()).millis())
    };
    let touching =
        ledger.spells()[from..].iter().take_while(|spell| spell.span.start() < column.end());
    // The first of several equals.
    touching.reduce(|best, spell| if overlap(spell) > overlap(best) { spell } else { best })
}

const fn mat(spell: Option<&Spell>) -> char {
    match spell {
        None => ' ',
        Some(spell) => match spell.position {
            Position::Standing => '━',
            Position::Reset => '┄',
            _ => '─',
        },
    }
}

fn band_row(spells: &[Option<&Spell>], side: Athlete, row: usize, style: TextStyle) -> String {
    let half = if side == Athlete::First { '▄' } else { '▀' };
    let mut text = String::new();
    for spell in spells {
        let Some(spell) = spell.filter(|spell| spell.top == Some(side)) else {
            text.push(' ');
            continue;
        };
        let level = depth(spell.position).round() as usize;
        text.push(if level + 1 < 2 * row {
            ' '
        } else if level < 2 * row {
            half
        } else if spell.confidence < UNSURE_BELOW {
            '▒'
        } else {
            '█'
        });
    }
    style.accent(Some(side), &text) + "  " + &style.faint(LEVEL_NAMES[row - 1])
}

/// Whether a spell's band is deep enough to fill a whole row, which then shows if it is unsure.
fn fills_a_row(spell: &Spell) -> bool {
    spell.top.is_some() && depth(spell.position).round() as usize >= 2
}

/// What the symbols mean that occur, in lines that keep each symbol with its meaning.
fn legend(lanes: &[String; 2], unsure: bool, style: TextStyle) -> Vec<String> {
    const SIGNS: [(char, &str); 4] =
        [('◇', "submission"), ('○', "let go"), ('◆', "tap"), ('×', "tried, did not work")];
    let occurs = |sign: char| lanes.iter().any(|lane| lane.contains(sign));
    let to_the_top: String = ['▲', '▼'].into_iter().filter(|sign| occurs(*sign)).collect();
    let mut parts = Vec::new();
    if !to_the_top.is_empty() {
        parts.push(format!("{to_the_top} came to the top"));
    }
    parts.extend(
        (SIGNS.iter())
            .filter(|(sign, _)| occurs(*sign))
            .map(|(sign, meaning)| format!("{sign} {meaning}")),
    );
    if unsure {
        parts.push("▒ unsure".to_owned());
    }
    let mut lines: Vec<String> = Vec::new();
    for part in parts {
        match lines.last_mut() {
            Some(line) if width(line) + 2 + width(&part) <= style.columns() => {
                line.push_str("  ");
                line.push_str(&part);
            }
            _ => lines.push(part),
        }
    }
    lines
}

/// One lane of marks; of several in one column the weightiest shows.
fn marks(ledger: &Ledger, side: Athlete, end: Time, columns: usize) -> String {
    let mut lane = vec![(0, ' '); columns];
    for event in ledger.events() {
        let (weight, sign, owner) = match event.kind {
            EventKind::Tap => (5, '◆', event.actor.map(Athlete::other)),
            EventKind::SubmissionAttempt => (4, '◇', event.actor),
            EventKind::Takedown | EventKind::Sweep | EventKind::Reversal => {
                (3, if side == Athlete::First { '▲' } else { '▼' }, event.actor)
            }
            EventKind::Release => (2, '○', event.actor),
            EventKind::FailedTry => (1, '×', event.actor),
            _ => continue,
        };
        let column = (event.time.millis() * columns as u64 / end.millis().max(1)) as usize;
        let place = &mut lane[column.min(columns - 1)];
        if owner == Some(side) && weight > place.0 {
            *place = (weight, sign);
        }
    }
    lane.into_iter().map(|(_, sign)| sign).collect()
}

/// Times below the band, each starting at its column.
fn time_axis(end: Time, columns: usize) -> String {
    const STEPS: [u64; 11] = [5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600, 7200];
    let fits = |step: &u64| *step * 1000 * columns as u64 >= 9 * end.millis();
    let step = STEPS.into_iter().find(fits).unwrap_or(end.millis() / 4000 + 1) * 1000;
    let mut text = String::new();
    let mut time = Time::ZERO;
    while time <= end {
        let column = (time.millis() * columns as u64 / end.millis().max(1)) as usize;
        text.extend(std::iter::repeat_n(' ', column.saturating_sub(width(&text))));
        text.push_str(&time.to_string());
        time = time.later(step);
    }
    text
}
