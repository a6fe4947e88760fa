//! What the form shows.

use academy::RoundKind;
use store::Media;

use super::doubts::{OTHERS, TWICE};
use super::form::{Known, Problems};
use crate::captions_form::CaptionsForm;
use crate::wording::day;

/// The fields that can be wrong, in the order of the page, with their labels.
const FIELDS: [(&str, &str); 8] = [
    ("first", "First athlete"),
    ("second", "Second athlete"),
    (OTHERS, "Who the talk names"),
    ("captions", "Captions file"),
    (TWICE, "Captions that are in the book"),
    ("date", "Date"),
    ("length", "Length"),
    ("kind", "Kind"),
];

/// A choice: value, words, whether chosen.
pub(crate) type Choice = (String, String, bool);

pub(crate) struct AddView {
    pub(crate) first: String,
    pub(crate) second: String,
    pub(crate) date: String,
    pub(crate) length: String,
    pub(crate) gi: bool,
    pub(crate) kinds: Vec<Choice>,
    pub(crate) classes: Vec<Choice>,
    /// Names to choose from.
    pub(crate) people: Vec<String>,
    pub(crate) captions_name: String,
    pub(crate) captions_text: String,
    /// The recording that has come in: hash and name.
    pub(crate) media: Option<(String, String)>,
    pub(crate) problems: Problems,
    pub(crate) add_people: bool,
    pub(crate) doubts: Vec<DoubtView>,
}

/// A doubt that a tick confirms.
pub(crate) struct DoubtView {
    pub(crate) name: &'static str,
    pub(crate) words: &'static str,
    pub(crate) told: Option<String>,
    pub(crate) ticked: bool,
}

impl AddView {
    /// The form to begin with.
    pub(crate) fn empty(known: &Known) -> Self {
        let mut view = AddView::again(&CaptionsForm::default(), known, Problems::default(), None);
        view.date = known.today.to_string();
        view
    }

    /// The form with what was typed and what is wrong with it. A browser does not keep a chosen
    /// file, so its text is shown in the field for text.
    pub(crate) fn again(
        form: &CaptionsForm,
        known: &Known,
        problems: Problems,
        recording: Option<Media>,
    ) -> Self {
        let kind = form.typed("kind");
        let class = form.typed("class");
        let captions_text = form.captions_text();
        let doubt = |(name, words)| DoubtView {
            name,
            words,
            told: problems.by_field.get(name).cloned(),
            ticked: !form.typed(name).is_empty(),
        };
        let doubts = [(TWICE, "Add it all the same"), (OTHERS, "Yes, these are the right two")];
        let doubts = doubts.into_iter().map(doubt);
        let doubts = doubts.filter(|doubt| doubt.told.is_some() || doubt.ticked).collect();
        AddView {
            doubts,
            first: form.typed("first").to_owned(),
            second: form.typed("second").to_owned(),
            date: form.typed("date").to_owned(),
            length: form.typed("length").to_owned(),
            gi: form.typed("gi") != "no",
            kinds: kinds(kind),
            classes: (known.classes.iter())
                .map(|(id, held)| {
                    let id = id.0.to_string();
                    let chosen = id == class;
                    (id, format!("{}, {}", held.title, day(held.date)), chosen)
                })
                .collect(),
            people: people(known),
            captions_name: if captions_text.is_empty() {
                String::new()
            } else {
                form.captions_name()
            },
            captions_text,
            media: recording.map(|media| (media.hash, media.name)),
            problems,
            add_people: !form.typed("add_people").is_empty(),
        }
    }

    /// The fields that are not right, in the order of the page: name and label.
    pub(crate) fn wrong(&self) -> Vec<(&'static str, &'static str)> {
        let wrong = |field: &(&str, &str)| self.problems.by_field.contains_key(field.0);
        FIELDS.into_iter().filter(wrong).collect()
    }

    pub(crate) fn problem(&self, field: &str) -> Option<&str> {
        self.problems.by_field.get(field).map(String::as_str)
    }

    /// Attributes that tie a field to what is wrong with it.
    pub(crate) fn tied(&self, field: &str) -> String {
        match self.problem(field) {
            Some(_) => format!(" aria-invalid=\"true\" aria-describedby=\"{field}-problem\""),
            None => String::new(),
        }
    }
}

/// The kinds of rounds to choose from.
pub(crate) fn kinds(chosen: &str) -> Vec<Choice> {
    let choice = |kind: RoundKind| {
        (kind.id().to_owned(), reports::wording::kind(kind).to_owned(), kind.id() == chosen)
    };
    RoundKind::ALL.into_iter().map(choice).collect()
}

/// The names of those who are here.
pub(crate) fn people(known: &Known) -> Vec<String> {
    let here = known.members.iter().filter(|(_, member)| !member.left);
    here.map(|(_, member)| member.name.clone()).collect()
}
