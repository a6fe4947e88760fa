//! A draft of a message to a student, for the coach to make their own before it leaves.

use figures::habits::is_good;
use figures::overview::StudentFigures;
use figures::{Place, Role};

use crate::amounts::times;
use crate::doings::{clause, placed_clause};
use crate::sentences::goal;
use crate::student_report::ToTrain;
use crate::whose::{Voice, Whose};
use crate::wording::{capital, day_and_month, place};

/// What a draft is made of.
#[derive(Clone, Copy, Debug)]
pub struct MessageDraft<'a> {
    /// The student; the draft speaks to them, whatever the voice given.
    pub whose: Whose<'a>,
    /// The student's figures.
    pub figures: &'a StudentFigures,
    /// The coach's notes of the period that the student may read, newest first; two are used.
    pub notes: &'a [&'a str],
    /// What to train next, likeliest best first; the first is used.
    pub next: &'a [ToTrain<'a>],
}

/// With fewer rounds the draft says that the advice is a guess. `common practice`, as in
/// [`crate::sentences::train_next`].
const FEW_ROUNDS: usize = 10;

/// Differences from chance up to this adjusted p-value are told to a student.
const MORE_THAN_CHANCE: f64 = 0.05;

/// The draft: four to seven short sentences after a greeting, what went well first. It is never
/// sent as it is: a coach reads and changes it.
#[must_use]
pub fn message_draft(draft: &MessageDraft<'_>) -> String {
    let whose = &Whose { voice: Voice::You, ..draft.whose };
    let rounds = draft.figures.rounds;
    let mut sentences = vec![well(whose, draft.figures)];
    sentences.extend(better(whose, draft.figures));
    sentences.extend(
        out(draft.figures).filter(|(place, _)| !said_of(&sentences, *place)).map(|(_, said)| said),
    );
    sentences.extend(draft.notes.iter().take(2).filter_map(|note| noted(note)));
    sentences.truncate(4);
    match draft.next.first() {
        Some(next) => {
            let start = if rounds < FEW_ROUNDS {
                "Let\u{2019}s try one thing together in the next rounds"
            } else {
                "For the next weeks I\u{2019}d look at one thing"
            };
            sentences.push(format!("{start}: {}.", goal(next.change.doing)));
            if let Some(moment) = next.moments.first() {
                sentences.push(format!("Have a look at {}.", moment.in_words()));
            }
        }
        None if rounds < FEW_ROUNDS => sentences.push(
            "We\u{2019}ll find the next thing to work on as there are more rounds.".to_owned(),
        ),
        None => sentences.push(
            "Nothing needs fixing first, so pick what you would like to get better at.".to_owned(),
        ),
    }
    sentences.push("Tell me how it feels to you, and we\u{2019}ll work on it together.".to_owned());
    if sentences.len() < 4 {
        let thanks = format!("Thank you for {}.", the_rounds(rounds));
        sentences.insert(0, thanks);
    }
    format!("Hi {},\n\n{}\n", draft.whose.name, sentences.join(" "))
}

fn the_rounds(rounds: usize) -> String {
    match rounds {
        0 => "training with us".to_owned(),
        1 => "the round you rolled".to_owned(),
        many => format!("the {many} rounds you rolled"),
    }
}

/// What went well, as specific as the figures allow.
fn well(whose: &Whose<'_>, figures: &StudentFigures) -> String {
    if let Some(apart) = figures.surest.first() {
        let often = if is_good(apart.habit.doing) == Some(true) { "often" } else { "seldom" };
        let (clause, place) =
            (clause(whose, apart.habit.doing, often, true), place(apart.habit.doing.place));
        return format!("What I like to see in your rounds: {place}, {clause}.");
    }
    let good = figures.habits.iter().filter(|habit| {
        habit.doing.own && is_good(habit.doing) == Some(true) && habit.seen.count >= 1.0
    });
    let most = good.max_by(|one, other| one.seen.count.total_cmp(&other.seen.count));
    match most {
        Some(habit) => format!(
            "What I like to see in your rounds: {}, {} so far.",
            placed_clause(whose, habit.doing, "", true),
            times(habit.seen.count)
        ),
        None => format!("I enjoyed {}.", the_rounds(figures.rounds)),
    }
}

/// A change for the better that is more than chance.
fn better(whose: &Whose<'_>, figures: &StudentFigures) -> Option<String> {
    let changes = figures.changed.as_ref()?;
    let change = (changes.what.habits.iter())
        .find(|change| change.better == Some(true) && change.adjusted <= MORE_THAN_CHANCE)?;
    let more = change.since.value > change.before.value;
    let often = if more { "more often" } else { "less often" };
    Some(format!(
        "Since {}, {} {often}, and that is more than chance.",
        day_and_month(changes.since),
        placed_clause(whose, change.doing, "", true)
    ))
}

/// The bad position that the student got out of most often.
fn out(figures: &StudentFigures) -> Option<(Place, String)> {
    let escaped = |out: &&figures::overview::Out| out.own.ended[0];
    // Nothing to be glad of where most stays ended otherwise.
    let outs = (figures.getting_out.iter())
        .filter(|out| escaped(out) >= 2.0 && escaped(out) >= out.own.stays * 0.6);
    let most = outs.max_by(|one, other| escaped(one).total_cmp(&escaped(other)))?;
    let here = Place { position: most.own.position, role: Role::Bottom };
    let said = format!(
        "{}, you got out {} of {:.0} times.",
        capital(&place(here)),
        about(most.own.ended[0]),
        most.own.stays.round()
    );
    Some((here, said))
}

/// Whether a place has been spoken of.
fn said_of(sentences: &[String], here: Place) -> bool {
    let (small, large) = (place(here), capital(&place(here)));
    sentences.iter().any(|said| said.contains(&small) || said.contains(&large))
}

/// "17", "about 17"
fn about(count: f64) -> String {
    let about = if (count - count.round()).abs() > 0.05 { "about " } else { "" };
    format!("{about}{:.0}", count.round())
}

/// A note in the coach's own words, as a sentence.
fn noted(note: &str) -> Option<String> {
    let note = note.split_whitespace().collect::<Vec<_>>().join(" ");
    if note.is_empty() {
        return None;
    }
    let end = if note.ends_with(['.', '!', '?', '\u{2026}']) { "" } else { "." };
    Some(format!("{}{end}", capital(&note)))
}
