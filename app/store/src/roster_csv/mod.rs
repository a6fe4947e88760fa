//! The roster as a table for spreadsheets, out and in again. What comes in is first only looked
//! at: [`preview()`] says who is new, what would change, and names every row that cannot be taken.

mod cells;
mod import;
mod preview;

pub use import::Imported;
pub use preview::{Changed, Difference, Newcomer, Preview, Problem, preview};

use academy::{Member, Pronoun};

/// The columns, in the order in which they are written.
pub const COLUMNS: [&str; 17] = [
    "name",
    "pronoun",
    "role",
    "belt",
    "stripes",
    "belt_since",
    "joined",
    "weight",
    "birth_year",
    "consent_club",
    "consent_public",
    "guardian",
    "guardian_contact",
    "guardian_club",
    "guardian_public",
    "left",
    "notes",
];

/// Writes people as comma-separated values (RFC 4180, UTF-8, lines end in CR LF). Dates are
/// YYYY-MM-DD, weights kilograms, the rest words; no cell is a formula to a spreadsheet.
#[must_use]
pub fn export<'m>(people: impl IntoIterator<Item = &'m Member>) -> String {
    let mut table =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory does not fail, and all rows have the length of the header.
    let mut written = table.write_record(COLUMNS);
    for member in people {
        written = written
            .and_then(|()| table.write_record(row(member).map(|cell| cells::not_a_formula(&cell))));
    }
    debug_assert!(written.is_ok());
    let bytes = table.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// The cells of a person, in the order of [`COLUMNS`].
#[must_use]
pub fn row(member: &Member) -> [String; 17] {
    let yes_or_no = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    let or_empty = |text: Option<String>| text.unwrap_or_default();
    let guardian = member.guardian.as_ref();
    [
        member.name.clone(),
        or_empty(member.pronoun.map(|pronoun: Pronoun| pronoun.subject().to_owned())),
        member.role.id().to_owned(),
        member.belt.id().to_owned(),
        member.stripes.to_string(),
        or_empty(member.belt_since.map(|date| date.to_string())),
        or_empty(member.joined.map(|date| date.to_string())),
        or_empty(member.weight.map(|weight| weight.to_string())),
        or_empty(member.birth_year.map(|year| year.to_string())),
        yes_or_no(member.consent.club),
        yes_or_no(member.consent.public),
        or_empty(guardian.map(|guardian| guardian.name.clone())),
        or_empty(guardian.map(|guardian| guardian.contact.clone())),
        or_empty(guardian.map(|guardian| yes_or_no(guardian.consent.club))),
        or_empty(guardian.map(|guardian| yes_or_no(guardian.consent.public))),
        yes_or_no(member.left),
        member.notes.clone(),
    ]
}
