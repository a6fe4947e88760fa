//! A ledger as a table for a spreadsheet: one row for every spell and every event.

use academy::{Athlete, Ledger, Round};

/// The header of the table.
const COLUMNS: [&str; 9] =
    ["entry", "start_s", "end_s", "clock", "what", "athlete", "detail", "confidence", "source"];

/// Writes spells and events in order of time, as CSV (RFC 4180, comma, UTF-8, CRLF).
///
/// `entry` is `spell` or `event`; an event's `end_s` is empty. `what` is the id of the position or
/// the kind of event, `athlete` the one on top or the one who acted, `detail` the variant or the
/// technique. A text that a spreadsheet would take for a formula gets an apostrophe before it.
#[must_use]
pub fn ledger_csv(round: &Round, ledger: &Ledger) -> String {
    let name = |athlete: Option<Athlete>| athlete.map_or("", |athlete| round.name(athlete));
    let mut rows: Vec<(u64, [String; 9])> = Vec::new();
    for spell in ledger.spells() {
        let (start, end) = (spell.span.start(), spell.span.end());
        rows.push((
            start.millis(),
            [
                "spell".to_owned(),
                start.seconds().to_string(),
                end.seconds().to_string(),
                start.to_string(),
                spell.position.id().to_owned(),
                cell(name(spell.top)),
                cell(spell.variant.as_deref().unwrap_or("")),
                format!("{:.4}", spell.confidence),
                spell.source.id().to_owned(),
            ],
        ));
    }
    for event in ledger.events() {
        rows.push((
            event.time.millis(),
            [
                "event".to_owned(),
                event.time.seconds().to_string(),
                String::new(),
                event.time.to_string(),
                event.kind.id().to_owned(),
                cell(name(event.actor)),
                cell(event.technique.as_deref().unwrap_or("")),
                format!("{:.4}", event.confidence),
                event.source.id().to_owned(),
            ],
        ));
    }
    rows.sort_by_key(|(millis, _)| *millis);

    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory, every row with as many fields as the header: neither can fail.
    let _ = writer.write_record(COLUMNS);
    for (_, row) in &rows {
        let _ = writer.write_record(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// A text that no spreadsheet runs as a formula.
pub(crate) fn cell(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}
