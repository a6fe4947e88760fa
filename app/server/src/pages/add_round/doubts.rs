//! What is odd about a round that could well be right: it is asked once, and added when confirmed.

use std::collections::HashSet;

use store::Book;

use super::form::{Checked, Known, Problems, find};
use crate::captions_form::CaptionsForm;
use crate::error::PageError;
use crate::spoken_names::first_name;
use crate::wording::day;

/// The doubts that a form can confirm, by the names of their boxes.
pub(super) const TWICE: &str = "twice";
/// See [`TWICE`].
pub(super) const OTHERS: &str = "others";

/// How often somebody else's name is heard before it is taken for the name of who rolls.
const HEARD_CLEARLY: usize = 2;

/// Names that a question can hold.
const MOST_NAMES: usize = 4;

/// What is odd about a round and not confirmed.
pub(super) async fn doubts(
    book: &Book,
    form: &CaptionsForm,
    known: &Known,
    checked: &Checked,
) -> Result<Problems, PageError> {
    let mut problems = Problems::default();
    let Some(captions) = &checked.talk else { return Ok(problems) };
    let [first, second] = checked.names.each_ref().map(|name| find(&known.members, name));
    if form.typed(TWICE).is_empty()
        && let (Some(first), Some(second)) = (first, second)
        && let Some(date) = book.day_of_same_talk([first, second], &captions.text).await?
    {
        let [first, second] = &checked.names;
        let told = format!(
            "A round with these captions is in the book already: {}, {first} and {second}.",
            day(date)
        );
        problems.add(TWICE, told);
    }
    let named = others_named(&captions.text, known, &checked.names);
    if form.typed(OTHERS).is_empty() && !named.is_empty() {
        let told = format!("This talk names {}. Are these the right two?", named.join(" and "));
        problems.add(OTHERS, told);
    }
    Ok(problems)
}

/// The first names of people in the book that are heard in the talk, where none of the two is.
fn others_named(captions: &str, known: &Known, chosen: &[String; 2]) -> Vec<String> {
    let Ok(reading) = talk::read(captions.as_bytes()) else { return Vec::new() };
    let heard: Vec<String> = reading.talk.words().flat_map(|word| words(&word.text)).collect();
    let own: HashSet<String> = chosen.iter().flat_map(|name| words(name)).collect();
    if heard.iter().any(|word| own.contains(word)) {
        return Vec::new();
    }
    let mut named = Vec::new();
    for (_, member) in known.members.iter().filter(|(_, member)| !member.left) {
        let name = first_name(&member.name);
        let times = heard.iter().filter(|word| **word == name).count();
        let shown = member.name.split_whitespace().next().unwrap_or_default().to_owned();
        if times >= HEARD_CLEARLY && !named.contains(&shown) && named.len() < MOST_NAMES {
            named.push(shown);
        }
    }
    named
}

/// The words of a text in small letters, without what belongs to no word: "Petra's" is "petra".
fn words(text: &str) -> Vec<String> {
    let parts = text.split(|letter: char| !letter.is_alphanumeric());
    parts.filter(|part| !part.is_empty()).map(str::to_lowercase).collect()
}
