//! What single cells mean, and how they are written so that no spreadsheet runs them.

use academy::{Belt, Member, Pronoun, Role};
use jiff::civil::Date;

/// Characters with which a cell becomes a formula
/// (<https://owasp.org/www-community/attacks/CSV_Injection>).
fn begins_a_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r'])
}

/// The cell with an apostrophe before what a spreadsheet would take for a formula.
pub(super) fn not_a_formula(cell: &str) -> String {
    if begins_a_formula(cell.trim_start_matches('\'')) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

/// The cell without the apostrophe that [`not_a_formula`] put before it.
pub(super) fn as_meant(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if begins_a_formula(rest.trim_start_matches('\'')) => rest,
        _ => cell,
    }
}

/// Sets what a column says about a person.
///
/// # Errors
/// What is wrong and what to write instead, as a sentence without its end.
pub(super) fn set(member: &mut Member, column: &str, cell: &str) -> Result<(), String> {
    let word = cell.trim().to_lowercase();
    match column {
        "pronoun" => {
            let known = Pronoun::parse(&word);
            member.pronoun = Some(known.ok_or_else(|| one_of(cell, "he, she or they"))?);
        }
        "role" => {
            let known = Role::from_id(&word);
            member.role = known.ok_or_else(|| one_of(cell, "student, assistant or coach"))?;
        }
        "belt" => {
            let known = Belt::from_id(if word == "gray" { "grey" } else { &word });
            member.belt = known.ok_or_else(|| {
                let belts: Vec<&str> = Belt::ALL.into_iter().map(Belt::id).collect();
                one_of(cell, &format!("one of {}", belts.join(", ")))
            })?;
        }
        "stripes" => {
            member.stripes = word.parse().map_err(|_| one_of(cell, "a number of stripes"))?;
        }
        "belt_since" => member.belt_since = Some(date(cell)?),
        "joined" => member.joined = Some(date(cell)?),
        "weight" => {
            let number = word.trim_end_matches("kg").trim_end().replace(',', ".");
            let weight = number.parse().map_err(|_| one_of(cell, "kilograms, such as 70.5"))?;
            member.weight = Some(weight);
        }
        "birth_year" => {
            let year = word.parse().map_err(|_| one_of(cell, "a year of birth, such as 1998"))?;
            member.birth_year = Some(year);
        }
        "consent_club" => member.consent.club = yes_or_no(cell)?,
        "consent_public" => member.consent.public = yes_or_no(cell)?,
        "guardian_club" => {
            let yes = yes_or_no(cell)?;
            guardian_said(member, yes, |guardian| guardian.consent.club = yes)?;
        }
        "guardian_public" => {
            let yes = yes_or_no(cell)?;
            guardian_said(member, yes, |guardian| guardian.consent.public = yes)?;
        }
        "guardian_contact" => {
            let contact = cell.trim().to_owned();
            guardian_said(member, true, |guardian| keep(&mut guardian.contact, contact))?;
        }
        "guardian" => {
            let guardian = member.guardian.get_or_insert_with(|| academy::Guardian {
                name: String::new(),
                contact: String::new(),
                consent: academy::Consent::default(),
            });
            keep(&mut guardian.name, cell.trim().to_owned());
        }
        "left" => member.left = yes_or_no(cell)?,
        "notes" => keep(&mut member.notes, cell.trim().to_owned()),
        // The name is how people are found, and set from the start.
        _ => {}
    }
    Ok(())
}

/// Puts a text in place of another, unless only the space around it differs.
fn keep(place: &mut String, text: String) {
    if place.trim() != text {
        *place = text;
    }
}

/// Sets something of the guardian. Without one, only a "no" has nothing to say.
fn guardian_said(
    member: &mut Member,
    matters: bool,
    set: impl FnOnce(&mut academy::Guardian),
) -> Result<(), String> {
    match &mut member.guardian {
        Some(guardian) => set(guardian),
        None if matters => {
            return Err("there is no guardian it could be about: give the guardian's name".into());
        }
        None => {}
    }
    Ok(())
}

fn one_of(cell: &str, expected: &str) -> String {
    format!("\"{}\" is not understood: write {expected}", cell.trim())
}

fn date(cell: &str) -> Result<Date, String> {
    let text = cell.trim();
    // The library reads times and other forms too; one form is easier to be sure about.
    let shaped = text.len() == 10 && text.bytes().filter(|byte| *byte == b'-').count() == 2;
    let read = if shaped { text.parse().ok() } else { None };
    read.ok_or_else(|| one_of(cell, "the date as year-month-day, such as 2026-03-31"))
}

fn yes_or_no(cell: &str) -> Result<bool, String> {
    match cell.trim().to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        _ => Err(one_of(cell, "yes or no")),
    }
}
