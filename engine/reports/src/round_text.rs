//! A round as text: the tide in characters, then what happened as a coach would read it out, then
//! what is left open.

use academy::{Athlete, Ledger, Note, Round, Time};

use crate::moments::moments;
use crate::telling::sentence;
use crate::terminal::{TextStyle, safe, width, wrap};
use crate::tide_text::tide_text;
use crate::wording;

/// A question that is still open, ready to show.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenQuestion {
    /// The moment it is about.
    pub time: Time,
    /// The question as a sentence.
    pub text: String,
    /// The possible answers with their probabilities, the likeliest first.
    pub choices: Vec<(String, f64)>,
}

/// The whole report for a terminal, what is to note about it near the top.
#[must_use]
pub fn round_text(
    round: &Round,
    ledger: &Ledger,
    notes: &[Note],
    questions: &[OpenQuestion],
    style: TextStyle,
) -> String {
    let mut out = style.bold(&safe(&wording::heading(round)));
    out.push_str("\n\n");
    for note in notes {
        for line in wrap(&safe(&wording::note(round, note)), style.columns()) {
            out.push_str(&style.bold(&line));
            out.push('\n');
        }
        out.push('\n');
    }
    out.push_str(&tide_text(round, ledger, style));
    out.push('\n');
    out.push_str(&ledger_text(round, ledger, style));
    if !questions.is_empty() {
        out.push('\n');
        out.push_str(&style.bold("Left open, the most telling first"));
        out.push('\n');
        for question in questions {
            let text = format!("{} {}", question.text, wording::choices(&question.choices));
            hanging(&mut out, &question.time.to_string(), " ", &safe(&text), "", style);
        }
    }
    out
}

/// The moments of a round, one under the other: when, who is on top from then on, what happened,
/// how sure that is.
#[must_use]
pub fn ledger_text(round: &Round, ledger: &Ledger, style: TextStyle) -> String {
    let mut out = String::new();
    for moment in moments(ledger) {
        let (time, text) = (moment.time.to_string(), safe(&sentence(round, &moment)));
        let sure = wording::percent(moment.confidence());
        let athlete = moment.athlete();
        let sign = match (moment.spell, athlete.map(Athlete::index)) {
            (Some(_), Some(0)) => "▲",
            (Some(_), Some(_)) => "▼",
            (Some(_), None) => "─",
            (None, _) => "·",
        };
        hanging(&mut out, &time, &style.accent(athlete, sign), &text, &sure, style);
    }
    out
}

/// One entry: a time, a sign, text that hangs beside both, a number at the right edge.
fn hanging(out: &mut String, time: &str, sign: &str, text: &str, right: &str, style: TextStyle) {
    const LEFT: usize = 11;
    const RIGHT: usize = 7;
    let room = style.columns() - LEFT - RIGHT;
    for (index, line) in wrap(text, room).iter().enumerate() {
        let start = if index == 0 { format!("{time:>7} {sign} ") } else { " ".repeat(LEFT - 1) };
        let gap = " ".repeat(room.saturating_sub(width(line)));
        let right = if index == 0 { right } else { "" };
        let line = format!("{start} {line}{gap} {:>6}", right);
        out.push_str(line.trim_end());
        out.push('\n');
    }
}
