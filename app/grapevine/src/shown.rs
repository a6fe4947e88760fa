//! What people are shown of the engine's results: questions as sentences, talk with its marks.

use std::ops::Range;

use academy::{Answer, Event, Round, Source, Span, Time};
use reports::{Meant, OpenQuestion, TalkLine, TalkPiece, wording};
use talk::{Correction, Cue, Talk, Word};

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

/// A stretch of words that shows differently from the rest of the talk.
struct Mark<'a> {
    words: Range<usize>,
    /// What was said, where it was heard as something else.
    said: Option<&'a str>,
    meant: Meant,
}

/// Corrections and mentions together, by place, without overlap. A mention of corrected words
/// says how they were meant.
fn marks<'a>(corrections: &'a [Correction], mentions: &[Mention]) -> Vec<Mark<'a>> {
    let mut marks: Vec<Mark<'a>> = (corrections.iter())
        .map(|c| Mark { words: c.words.clone(), said: Some(&c.said), meant: Meant::Plain })
        .collect();
    let corrected = marks.len();
    for mention in mentions.iter().filter(|mention| !mention.words.is_empty()) {
        let same = |mark: &&mut Mark<'_>| {
            mark.words.start < mention.words.end && mention.words.start < mark.words.end
        };
        match marks[..corrected].iter_mut().find(same) {
            Some(mark) => mark.meant = mention.meant,
            None => {
                marks.push(Mark { words: mention.words.clone(), said: None, meant: mention.meant })
            }
        }
    }
    marks.sort_by_key(|mark| mark.words.start);
    let mut end = 0;
    marks.retain(|mark| {
        let free = mark.words.start >= end;
        end = end.max(mark.words.end);
        free
    });
    marks
}

/// The talk as lines, with what was put right and how the trade's words were meant.
pub(crate) fn talk_lines(
    talk: &Talk,
    corrections: &[Correction],
    mentions: &[Mention],
) -> Vec<TalkLine> {
    let spoken: Vec<&Word> = talk.words().collect();
    let words: Vec<&str> = spoken.iter().map(|word| word.text.as_str()).collect();
    let marks = marks(corrections, mentions);
    let mut marks = marks.iter().peekable();
    let mut lines = Vec::new();
    // The next word to show, and the first one after the cue.
    let (mut at, mut end) = (0, 0);
    for cue in talk.cues() {
        end += cue.words.len();
        let mut pieces = Vec::new();
        while at < end {
            let plain_end = marks.peek().map_or(end, |mark| mark.words.start.clamp(at, end));
            if at < plain_end {
                let text = words[at..plain_end].join(" ");
                pieces.push(TalkPiece { text, heard: None, meant: Meant::Plain });
                at = plain_end;
            } else if let Some(mark) = marks.next() {
                // One that reaches into the next line is shown where it starts.
                let heard = words[mark.words.clone()].join(" ");
                let (text, heard) = match mark.said {
                    Some(said) => (put_right(&spoken[mark.words.clone()], said), Some(heard)),
                    None => (heard, None),
                };
                pieces.push(TalkPiece { text, heard, meant: mark.meant });
                at = mark.words.end;
            }
        }
        lines.push(TalkLine { time: cue.span.start(), voice: cue.voice.clone(), pieces });
    }
    lines
}

/// The words as a corrected caption would have them, with their punctuation and case.
fn put_right(heard: &[&Word], said: &str) -> String {
    let words: Vec<Word> = heard.iter().map(|word| (*word).clone()).collect();
    let (whole, said) = (0..words.len(), said.to_owned());
    let correction = Correction { words: whole, said, probability: 1.0 };
    let cue = Cue { span: Span::default(), voice: None, words };
    let corrected = talk::correct(&Talk::new(vec![cue]), &[correction]);
    corrected.words().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lines with `{said|heard}` for corrections and `*` around what happens.
    fn shown(corrections: &[(Range<usize>, &str)], mentions: &[Range<usize>]) -> Vec<String> {
        let file = "[0:01] so that is\n[0:05] a side can\n[0:09] troll and Camera, \n";
        let talk = talk::read(file.as_bytes()).unwrap().talk;
        let corrections: Vec<Correction> = (corrections.iter())
            .map(|(words, said)| Correction {
                words: words.clone(),
                said: (*said).to_owned(),
                probability: 0.9,
            })
            .collect();
        let mention =
            |words: &Range<usize>| Mention { words: words.clone(), meant: Meant::Happening };
        let mentions: Vec<Mention> = mentions.iter().map(mention).collect();
        let piece = |piece: &TalkPiece| {
            let star = if piece.meant == Meant::Happening { "*" } else { "" };
            match &piece.heard {
                Some(heard) => format!("{star}{{{}|{heard}}}{star}", piece.text),
                None => format!("{star}{}{star}", piece.text),
            }
        };
        let line = |line: &TalkLine| line.pieces.iter().map(piece).collect::<Vec<_>>().join(" ");
        talk_lines(&talk, &corrections, &mentions).iter().map(line).collect()
    }

    #[test]
    fn plain_talk_stays_as_it_is() {
        assert_eq!(shown(&[], &[]), ["so that is", "a side can", "troll and Camera,"]);
    }

    #[test]
    fn what_was_put_right_and_how_it_was_meant_show_together() {
        assert_eq!(
            shown(&[(4..7, "side control"), (8..9, "kimura")], &[4..7, 3..4]),
            ["so that is", "*a* *{side control|side can troll}*", "and {Kimura,|Camera,}"]
        );
    }

    #[test]
    fn places_that_overlap_or_lie_outside_do_no_harm() {
        let lines = shown(&[], &[0..2, 1..4, 8..9]);
        assert_eq!(lines, ["*so that* is", "a side can", "troll and *Camera,*"]);
    }
}
