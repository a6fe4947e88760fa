//! The question at the top of the page, ready to be asked.

use academy::{Ledger, Time};
use review::{AsksWhen, OtherPosition, QuestionView};

use crate::pages::round::editing::nearest;
use crate::reading::ShownRound;
use crate::wording::fragment;

/// What stands where questions are asked.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Asking {
    /// Which question is the next is still being weighed.
    Weighing,
    /// A question.
    Ask(Box<Ask>),
    /// Nothing is left that is worth asking.
    Nothing { answered: usize },
    /// There is no talk to ask about, or the round is confirmed.
    Silent,
}

/// A question with what the page shows around it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Ask {
    /// "Question 3 of about 9"
    pub(crate) progress: String,
    pub(crate) at: String,
    pub(crate) fragment: String,
    pub(crate) millis: u64,
    pub(crate) sentence: String,
    /// The lines said around the moment.
    pub(crate) said: Vec<String>,
    pub(crate) choices: Vec<AskChoice>,
    pub(crate) when: Option<AskWhen>,
    pub(crate) other: Vec<OtherPosition>,
    pub(crate) nothing: Option<String>,
    /// The stretch of the recording to watch, in milliseconds.
    pub(crate) watch: [u64; 2],
}

impl Ask {
    /// The moment as forms send it.
    pub(crate) fn sent_time(&self) -> String {
        format!("{:.3}", Time::from_millis(self.millis))
    }
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct AskChoice {
    /// The key that chooses it.
    pub(crate) key: usize,
    pub(crate) words: String,
    pub(crate) chance: String,
    pub(crate) token: String,
}

/// A question for times.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct AskWhen {
    pub(crate) token: String,
    pub(crate) start: Option<String>,
    pub(crate) end: Option<String>,
}

/// Questions that are weighed at a time: of so many or more left nobody knows how many there are.
const WEIGHED: usize = 8;

/// The question to ask now, if what is worth asking was looked for.
pub(crate) fn asking(shown: &ShownRound) -> Asking {
    let Some(spoken) = shown.spoken.as_ref().filter(|_| shown.facts.confirmed.is_none()) else {
        return Asking::Silent;
    };
    let Some(questions) = shown.questions() else { return Asking::Weighing };
    let answered = shown.told.answers.len() + shown.told.passed.len();
    let Some(first) = questions.first() else { return Asking::Nothing { answered } };
    let question = QuestionView::new(&shown.round, first);
    Asking::Ask(Box::new(Ask {
        progress: progress(answered, questions.len()),
        at: nearest(question.time),
        fragment: fragment(question.time),
        millis: question.time.millis(),
        said: review::said_around(&spoken.corrected, question.time),
        watch: watch(&question, shown.facts.length),
        choices: choices(&question),
        when: question.asks_when.map(|asks| when(asks, &shown.ledger)),
        sentence: question.sentence,
        other: question.other,
        nothing: question.nothing,
    }))
}

/// How far one has come. What is left is what seems worth asking now; each answer changes it.
fn progress(answered: usize, left: usize) -> String {
    let (this, all) = (answered + 1, answered + left);
    match left {
        1 => format!("Question {this}, perhaps the last"),
        WEIGHED.. => format!("Question {this} of {all} or more"),
        _ => format!("Question {this} of about {all}"),
    }
}

fn choices(question: &QuestionView) -> Vec<AskChoice> {
    let choice = |(index, choice): (usize, &review::ChoiceView)| AskChoice {
        key: index + 1,
        words: reports::wording::capital(&choice.words),
        chance: reports::wording::percent(choice.chance),
        token: choice.token.clone(),
    };
    question.choices.iter().enumerate().map(choice).collect()
}

/// Within so many milliseconds a border of the list is the one that a question guesses at.
const SAME_BORDER_MILLIS: u64 = 3_000;

/// The border that is shown near a guess, so that the question and the list tell the same time.
fn as_shown(time: Time, shown: &Ledger) -> Time {
    let borders = shown.spells().iter().map(|spell| spell.span.start());
    let near = borders.filter(|border| border.distance(time) <= SAME_BORDER_MILLIS);
    near.min_by_key(|border| border.distance(time)).unwrap_or(time)
}

fn when(asks: AsksWhen, shown: &Ledger) -> AskWhen {
    let guess = |asked: bool, guess: Option<Time>| {
        asked.then(|| guess.map(|time| format!("{:.1}", as_shown(time, shown))).unwrap_or_default())
    };
    AskWhen {
        start: guess(asks.start, asks.guessed_start),
        end: guess(asks.end, asks.guessed_end),
        token: asks.token,
    }
}

/// What to watch: some seconds around the moment, or around the times that are asked for.
fn watch(question: &QuestionView, length: Time) -> [u64; 2] {
    let times = question.asks_when.as_ref();
    let start = times.and_then(|asks| asks.guessed_start.filter(|_| asks.start));
    let end = times.and_then(|asks| asks.guessed_end.filter(|_| asks.end));
    let first = start.unwrap_or(question.time).min(question.time).earlier(3_000);
    let last = end.unwrap_or(question.time).max(question.time).later(4_000).min(length);
    [first.millis(), last.millis()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_promises_nothing() {
        assert_eq!(progress(0, 1), "Question 1, perhaps the last");
        assert_eq!(progress(2, 7), "Question 3 of about 9");
        assert_eq!(progress(2, 8), "Question 3 of 10 or more");
    }
}
