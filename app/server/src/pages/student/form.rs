//! The form with what is kept of a person: from a person to fields, and back with what is wrong.

use academy::{Belt, Consent, Guardian, Member, MemberError, Pronoun, Role};
use jiff::civil::Date;

use crate::fields::{Fields, FormView};

/// The fields that show what is kept of a person.
pub(super) fn fields_of(member: &Member) -> Fields {
    let date = |date: Option<Date>| date.map(|date| date.to_string()).unwrap_or_default();
    let guardian = member.guardian.as_ref();
    let mut fields = Fields::of([
        ("name", member.name.clone()),
        ("pronoun", member.pronoun.map(|pronoun| pronoun.subject().to_owned()).unwrap_or_default()),
        ("role", member.role.id().to_owned()),
        ("belt", member.belt.id().to_owned()),
        ("stripes", member.stripes.to_string()),
        ("belt_since", date(member.belt_since)),
        ("joined", date(member.joined)),
        ("weight", member.weight.map(|weight| weight.to_string()).unwrap_or_default()),
        ("birth_year", member.birth_year.map(|year| year.to_string()).unwrap_or_default()),
        ("notes", member.notes.clone()),
        ("guardian", guardian.map(|guardian| guardian.name.clone()).unwrap_or_default()),
        ("guardian_contact", guardian.map(|guardian| guardian.contact.clone()).unwrap_or_default()),
    ]);
    let agreed = guardian.map_or(Consent::default(), |guardian| guardian.consent);
    for (name, yes) in [
        ("consent_club", member.consent.club),
        ("consent_public", member.consent.public),
        ("guardian_club", agreed.club),
        ("guardian_public", agreed.public),
    ] {
        if yes {
            fields.tick(name, "yes");
        }
    }
    fields
}

/// What was typed, as a person; what is wrong is said in the form. What the form does not hold is
/// kept as it was. Only a coach changes what somebody does here.
pub(super) fn read(form: &mut FormView, kept: &Member, by_coach: bool) -> Member {
    let fields = form.fields.clone();
    let text = |name: &str| fields.text(name);
    let mut member = Member {
        name: text("name").to_owned(),
        pronoun: Pronoun::parse(text("pronoun")),
        notes: fields.raw("notes").trim_end().replace("\r\n", "\n"),
        consent: Consent { club: fields.has("consent_club"), public: fields.has("consent_public") },
        ..kept.clone()
    };
    match Belt::from_id(text("belt")) {
        Some(belt) => member.belt = belt,
        None => form.wrong("belt", "choose a belt"),
    }
    if by_coach && let Some(role) = Role::from_id(text("role")) {
        member.role = role;
    }
    match text("stripes") {
        "" => member.stripes = 0,
        stripes => match stripes.parse() {
            Ok(stripes) => member.stripes = stripes,
            Err(_) => form.wrong("stripes", "write a whole number, such as 2"),
        },
    }
    for (name, kept) in [("belt_since", &mut member.belt_since), ("joined", &mut member.joined)] {
        match optional::<Date>(text(name)) {
            Ok(date) => *kept = date,
            Err(()) => form.wrong(name, "write the date as year-month-day, such as 2024-05-01"),
        }
    }
    match optional(&text("weight").replace(',', ".")) {
        Ok(weight) => member.weight = weight,
        Err(()) => form.wrong("weight", "write kilograms as a number, such as 72.5"),
    }
    match optional(text("birth_year")) {
        Ok(year) => member.birth_year = year,
        Err(()) => form.wrong("birth_year", "write the year as a number, such as 1998"),
    }
    member.guardian = guardian(form);
    if let Err(error) = member.check() {
        let field = match error {
            MemberError::NoName | MemberError::LongName => "name",
            MemberError::Stripes(..) => "stripes",
            MemberError::Weight => "weight",
            MemberError::BirthYear => "birth_year",
        };
        form.wrong(field, error);
    }
    member
}

fn guardian(form: &mut FormView) -> Option<Guardian> {
    let fields = &form.fields;
    let (name, contact) = (fields.text("guardian"), fields.text("guardian_contact"));
    let consent =
        Consent { club: fields.has("guardian_club"), public: fields.has("guardian_public") };
    if !name.is_empty() {
        return Some(Guardian { name: name.to_owned(), contact: contact.to_owned(), consent });
    }
    if !contact.is_empty() || consent != Consent::default() {
        form.wrong("guardian", "write the guardian's name too, or clear what is said about them");
    }
    None
}

/// Nothing typed is nothing known.
fn optional<T: std::str::FromStr>(text: &str) -> Result<Option<T>, ()> {
    if text.is_empty() { Ok(None) } else { text.parse().map(Some).map_err(|_| ()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_person_comes_back_from_the_form_as_they_went_in() {
        let member = Member {
            name: "Wren".to_owned(),
            pronoun: Some(Pronoun::They),
            role: Role::Assistant,
            belt: Belt::Green,
            stripes: 3,
            belt_since: Some("2025-04-01".parse().unwrap()),
            joined: Some("2023-01-09".parse().unwrap()),
            weight: Some(48.5),
            birth_year: Some(2012),
            notes: "Left knee.\nBegins slowly.".to_owned(),
            consent: Consent { club: true, public: false },
            guardian: Some(Guardian {
                name: "Ida".to_owned(),
                contact: "at the door".to_owned(),
                consent: Consent { club: true, public: true },
            }),
            left: false,
        };
        let mut form = FormView::new(fields_of(&member));
        assert_eq!(read(&mut form, &Member::default(), true), member);
        assert!(form.is_right());
        // An assistant cannot make somebody a coach.
        let kept = Member { role: Role::Student, ..member.clone() };
        assert_eq!(read(&mut form, &kept, false), kept);
    }

    #[test]
    fn each_problem_is_said_at_its_field() {
        let mut fields = Fields::of([
            ("belt", "plaid".to_owned()),
            ("stripes", "many".to_owned()),
            ("joined", "last spring".to_owned()),
            ("weight", "heavy".to_owned()),
            ("birth_year", "99999".to_owned()),
        ]);
        fields.tick("guardian_club", "yes");
        let mut form = FormView::new(fields);
        read(&mut form, &Member::default(), true);
        for field in ["name", "belt", "stripes", "joined", "weight", "birth_year", "guardian"] {
            assert!(form.problem(field).is_some(), "{field}");
        }
        assert!(form.problem("belt_since").is_none());
    }
}
