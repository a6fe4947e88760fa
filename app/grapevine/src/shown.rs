//! What people are shown of the engine's results: questions as sentences, talk with its marks.

use academy::{Answer, Event, Round, Source, Time};
use reports::{Meant, OpenQuestion, TalkLine, TalkPiece, wording};
use talk::Talk;

use crate::engine::{Choice, Mention, Question, QuestionKind, Understanding};

/// How many open questions a report shows.
const MOST_QUESTIONS: usize = 5;

/// "1 answer", "3 answers"
pub(crate) fn answers(count: usize) -> String {
    if count == 1 { "1 answer".to_owned() } else { format!("{count} answers") }
}

/// The questions that would settle most, ready to show.
pub(crate) fn open_questions(round: &Round, understood: &Understanding) -> Vec<OpenQuestion> {
    (understood.questions.iter().take(MOST_QUESTIONS))
        .map(|open| OpenQuestion {
            time: open.time,
            text: question(round, open),
            choices: (open.choices.iter())
                .map(|offered| (choice(round, open, offered), offered.probability))
                .collect(),
        })
        .collect()
}

/// A question as a sentence.
pub(crate) fn question(_round: &Round, question: &Question) -> String {
    match question.kind {
        QuestionKind::State => "Which position was it?".to_owned(),
        QuestionKind::Top => "Who was on top?".to_owned(),
        QuestionKind::Happened => "What happened here?".to_owned(),
        QuestionKind::Who => "Who did it?".to_owned(),
    }
}

/// A choice as a few words.
pub(crate) fn choice(round: &Round, _question: &Question, choice: &Choice) -> String {
    match &choice.answer {
        Answer::State { position, top, .. } => wording::state(round, *position, *top),
        Answer::Top { top, .. } => round.name(*top).to_owned(),
        Answer::Event { time, kind, actor } => wording::event(
            round,
            &Event {
                time: *time,
                kind: *kind,
                actor: *actor,
                technique: None,
                confidence: choice.probability,
                source: Source::Talk,
            },
        ),
        Answer::Nothing { .. } => "nothing".to_owned(),
    }
}

/// The lines said around a moment: from a few seconds before it, since a moment can be announced,
/// to several after it, since people tell what they have seen.
pub(crate) fn said_around(talk: &Talk, time: Time) -> Vec<String> {
    let (from, to) = (time.earlier(3_000), time.later(6_000));
    let near = |word: &&talk::Word| from <= word.span.end() && word.span.start() <= to;
    (talk.cues().iter())
        .map(|cue| cue.words.iter().filter(near).map(|word| word.text.as_str()).collect::<Vec<_>>())
        .filter(|words| !words.is_empty())
        .map(|words| words.join(" "))
        .collect()
}

/// The talk as lines with their marks.
pub(crate) fn talk_lines(talk: &Talk, _round: &Round, mentions: &[Mention]) -> Vec<TalkLine> {
    let mut lines = Vec::new();
    let mut first_word = 0;
    let mut mentions = mentions.iter().peekable();
    for cue in talk.cues() {
        let words: Vec<&str> = cue.words.iter().map(|word| word.text.as_str()).collect();
        let mut pieces = Vec::new();
        let mut at = 0;
        while at < words.len() {
            while mentions.next_if(|m| m.words.end <= first_word + at).is_some() {}
            let mention = mentions.peek().filter(|m| m.words.start <= first_word + at);
            let (end, heard, meant) = match mention {
                Some(mention) => (mention.words.end - first_word, None, mention.meant),
                None => {
                    let next = mentions.peek().map_or(usize::MAX, |m| m.words.start);
                    (next.saturating_sub(first_word), None, Meant::Plain)
                }
            };
            let end = end.clamp(at + 1, words.len());
            pieces.push(TalkPiece { text: words[at..end].join(" "), heard, meant });
            at = end;
        }
        first_word += words.len();
        lines.push(TalkLine { time: cue.span.start(), voice: cue.voice.clone(), pieces });
    }
    lines
}
