//! From what was typed to the facts of a round, or to what is wrong, field by field.

use std::collections::BTreeMap;

use academy::{Class, Member, Round, RoundKind, Time};
use jiff::civil::Date;
use store::{Captions, ClassId, Media, MemberId, RoundFacts};

use crate::captions_form::CaptionsForm;
use crate::error::PageError;
use crate::reading::remarks_on;
use crate::spoken_names::first_name;

/// The longest round, in milliseconds: four hours hold every open mat.
const LONGEST_MILLIS: u64 = 4 * 60 * 60 * 1000;

/// What the form is held against.
pub(crate) struct Known {
    pub(crate) members: Vec<(MemberId, Member)>,
    /// The latest first.
    pub(crate) classes: Vec<(ClassId, Class)>,
    pub(crate) today: Date,
}

/// What is wrong, by the name of the field.
#[derive(Default)]
pub(crate) struct Problems {
    pub(crate) by_field: BTreeMap<&'static str, String>,
    /// Names that nobody in the book has.
    pub(crate) unknown: Vec<String>,
}

impl Problems {
    /// One thing that is wrong.
    pub(crate) fn with(field: &'static str, words: impl Into<String>) -> Self {
        let mut problems = Problems::default();
        problems.add(field, words);
        problems
    }

    pub(super) fn add(&mut self, field: &'static str, words: impl Into<String>) {
        self.by_field.entry(field).or_insert_with(|| words.into());
    }
}

/// A form with which nothing is wrong.
pub(crate) struct Checked {
    /// The whole names, as the book has them or will have them.
    pub(super) names: [String; 2],
    unknown: Vec<String>,
    date: Date,
    kind: RoundKind,
    gi: bool,
    length: Time,
    class: Option<ClassId>,
    pub(super) talk: Option<Captions>,
    media: Option<String>,
}

/// A name without needless spaces.
fn tidy(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Somebody by name, letter case aside.
pub(crate) fn find(members: &[(MemberId, Member)], name: &str) -> Option<MemberId> {
    let name = tidy(name).to_lowercase();
    let same = |member: &Member| tidy(&member.name).to_lowercase() == name;
    members.iter().find(|(_, member)| same(member)).map(|(id, _)| *id)
}

/// The whole names of those whom a name can mean: whoever is called exactly that, else all with
/// that first name, those who left only where nobody else has it.
fn meant<'m>(members: &'m [(MemberId, Member)], name: &str) -> Vec<&'m str> {
    let typed = name.to_lowercase();
    let called = |left| {
        let with = move |member: &&Member| member.left == left;
        members.iter().map(|(_, member)| member).filter(with)
    };
    let exact = members.iter().find(|(_, member)| tidy(&member.name).to_lowercase() == typed);
    if let Some((_, member)) = exact {
        return vec![&member.name];
    }
    for left in [false, true] {
        let first = called(left).filter(|member| first_name(&member.name) == typed);
        let names: Vec<&str> = first.map(|member| member.name.as_str()).collect();
        if !names.is_empty() {
            return names;
        }
    }
    Vec::new()
}

/// The two names of a form, whole, and what is wrong with them.
pub(crate) fn check_names(
    names: [&str; 2],
    add_people: bool,
    known: &Known,
    problems: &mut Problems,
) -> [String; 2] {
    let mut names = names.map(tidy);
    for (field, name) in ["first", "second"].into_iter().zip(&mut names) {
        if name.is_empty() {
            problems.add(field, "Say who it was.");
            continue;
        }
        let meant = meant(&known.members, name);
        if let [one] = meant[..] {
            *name = tidy(one);
            continue;
        }
        let new = Member { name: name.clone(), ..Member::default() };
        if let Err(error) = new.check() {
            problems.add(field, format!("This name cannot be: {error}."));
            continue;
        }
        problems.unknown.push(name.clone());
        if !add_people {
            let told = match &meant[..] {
                [] => format!(
                    "Nobody in the book is called {name}. Correct the name, or tick below that they are new."
                ),
                several => format!(
                    "Did you mean {}? If {name} is somebody new, tick below.",
                    several.join(" or ")
                ),
            };
            problems.add(field, told);
        }
    }
    if !names[0].is_empty() && names[0].to_lowercase() == names[1].to_lowercase() {
        problems.add("second", "Nobody rolls alone: name somebody else here.");
    }
    names
}

/// A length that was typed.
pub(crate) fn check_length(text: &str, problems: &mut Problems) -> Option<Time> {
    if text.is_empty() {
        return None;
    }
    // Alone "5" means minutes to a coach, not seconds.
    let minutes = text.parse::<u64>().ok().map(|minutes| format!("{minutes}:00"));
    match Time::parse(minutes.as_deref().unwrap_or(text)) {
        Some(time) if time.millis() > LONGEST_MILLIS => {
            problems.add("length", "A round has four hours at most.");
            None
        }
        Some(time) if time.millis() >= 1000 => Some(time),
        _ => {
            problems.add("length", "Write minutes and seconds, like 5:00.");
            None
        }
    }
}

/// A kind that was chosen.
pub(crate) fn check_kind(id: &str, problems: &mut Problems) -> RoundKind {
    RoundKind::from_id(id).unwrap_or_else(|| {
        problems.add("kind", "Choose what the round was meant to be.");
        RoundKind::default()
    })
}

/// Checks a form; says everything that is wrong at once.
pub(crate) fn check(
    form: &CaptionsForm,
    known: &Known,
    recording: Option<&Media>,
) -> Result<Checked, Problems> {
    let mut problems = Problems::default();
    let add_people = !form.typed("add_people").is_empty();
    let names = [form.typed("first"), form.typed("second")];
    let names = check_names(names, add_people, known, &mut problems);
    let kind = check_kind(form.typed("kind"), &mut problems);
    let date = match form.typed("date").parse::<Date>() {
        Ok(date) if date > known.today => {
            problems.add("date", "That day has not come yet.");
            date
        }
        Ok(date) => date,
        Err(_) => {
            problems.add("date", "Write the day like 2026-11-03.");
            known.today
        }
    };
    let talk = form.captions().unwrap_or_else(|error| {
        problems.add("captions", format!("These captions cannot be read. {}", error.told()));
        None
    });
    let length = check_length(form.typed("length"), &mut problems);
    let length = length.or(talk.as_ref().map(|(_, end)| *end).filter(|end| end.millis() > 0));
    if length.is_none() && !problems.by_field.contains_key("captions") {
        problems.add("length", "Without captions that tell it, say how long the round was.");
    }
    let class = form.typed("class").parse().ok().map(ClassId);
    let class = class.filter(|class| known.classes.iter().any(|(id, _)| id == class));
    if !problems.by_field.is_empty() {
        return Err(problems);
    }
    Ok(Checked {
        names,
        unknown: problems.unknown,
        date,
        kind,
        gi: form.typed("gi") != "no",
        length: length.unwrap_or_default(),
        class,
        talk: talk.map(|(captions, _)| captions),
        media: recording.map(|media| media.hash.clone()),
    })
}

impl Checked {
    /// What is to be said of the captions, for the two as they will be in the book.
    ///
    /// # Errors
    /// Captions that cannot be read.
    pub(crate) fn remarks(&self, known: &Known) -> Result<String, PageError> {
        let Some(talk) = &self.talk else { return Ok(String::new()) };
        let person = |name: &String| {
            let id = find(&known.members, name);
            let member = known.members.iter().find(|(other, _)| Some(*other) == id);
            let new = || Member { name: name.clone(), ..Member::default() };
            member.map_or_else(new, |(_, member)| member.clone()).person()
        };
        let people = self.names.each_ref().map(person);
        let round = Round::new(people, self.kind, self.length).map_err(PageError::refused)?;
        remarks_on(&talk.text, &round)
    }

    /// People to put into the book first.
    pub(crate) fn new_people(&self) -> Vec<(Option<MemberId>, Member)> {
        let new = |name: &String| (None, Member { name: name.clone(), ..Member::default() });
        self.unknown.iter().map(new).collect()
    }

    /// The facts, once everybody is in the book.
    pub(crate) fn facts(self, members: &[(MemberId, Member)]) -> Result<RoundFacts, PageError> {
        let gone = |name: &str| PageError::Refused(format!("{name} is not in the book any more"));
        let [first, second] = &self.names;
        let first = find(members, first).ok_or_else(|| gone(first))?;
        let second = find(members, second).ok_or_else(|| gone(second))?;
        Ok(RoundFacts {
            date: self.date,
            kind: self.kind,
            gi: self.gi,
            athletes: [first, second],
            length: self.length,
            class: self.class,
            talk: self.talk,
            media: self.media,
            confirmed: None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_number_is_minutes() {
        let length = |text| check_length(text, &mut Problems::default()).map(Time::millis);
        assert_eq!(length("5"), Some(300_000));
        assert_eq!(length("4:30"), Some(270_000));
        assert_eq!(length("0:00"), None);
        assert_eq!(length("five"), None);
        assert_eq!(length("9:00:00"), None);
        assert_eq!(length(""), None);
    }
}
