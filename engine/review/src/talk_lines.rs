//! The talk as people read it: lines with what was put right and how it was meant.

use std::ops::Range;

use academy::{Span, Time};
use decode::reader::words::SeenTalk;
use decode::{Manner, Mention};
use reports::{Meant, TalkLine, TalkPiece};
use talk::{Correction, Cue, Talk, Word};

/// The lines said around a moment: from a few seconds before it, since a moment can be announced,
/// to several after it, since people tell what they have seen.
#[must_use]
pub fn said_around(talk: &Talk, time: Time) -> Vec<String> {
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
fn marks(corrections: &[Correction], mentions: Vec<(Range<usize>, Meant)>) -> Vec<Mark<'_>> {
    let mut marks: Vec<Mark<'_>> = (corrections.iter())
        .map(|c| Mark { words: c.words.clone(), said: Some(&c.said), meant: Meant::Plain })
        .collect();
    let corrected = marks.len();
    for (words, meant) in mentions {
        let touches =
            |mark: &&mut Mark<'_>| mark.words.start < words.end && words.start < mark.words.end;
        match marks[..corrected].iter_mut().find(touches) {
            Some(mark) if mark.words == words => mark.meant = meant,
            // Something likelier was heard there, such as a name.
            Some(_) => {}
            None => marks.push(Mark { words, said: None, meant }),
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
#[must_use]
pub fn talk_lines(talk: &Talk, seen: &SeenTalk, mentions: &[Mention]) -> Vec<TalkLine> {
    let words: Vec<&str> = talk.words().map(|word| word.text.as_str()).collect();
    let corrections = talk::corrections(&words, &seen.terms, &seen.names, talk::LEAST_TO_CORRECT);
    // What is probably not a word of the trade at all gets no mark, nor what is likelier a name.
    let named = |mention: &Mention| {
        seen.names.iter().any(|name| {
            name.words.start < mention.words.end
                && mention.words.start < name.words.end
                && name.probability >= mention.probability
        })
    };
    let likely = mentions.iter().filter(|mention| mention.probability >= 0.5 && !named(mention));
    let mentions = likely.map(|mention| (mention.words.clone(), meant(mention))).collect();
    lines(talk, &marks(&corrections, mentions))
}

/// What is put right in a talk as heard.
#[must_use]
pub fn corrections(talk: &Talk, seen: &SeenTalk) -> Vec<Correction> {
    let words: Vec<&str> = talk.words().map(|word| word.text.as_str()).collect();
    talk::corrections(&words, &seen.terms, &seen.names, talk::LEAST_TO_CORRECT)
}

/// Whether a mention is about what happens, or how else it was meant.
fn meant(mention: &Mention) -> Meant {
    if mention.takes_place() >= 0.5 {
        return Meant::Happening;
    }
    // The likeliest of the ways that do not take place.
    let ways = Manner::ALL.into_iter().zip(mention.manners);
    let otherwise = ways.filter(|(manner, _)| !manner.takes_place());
    let best = otherwise.max_by(|(_, one), (_, other)| one.total_cmp(other));
    Meant::Otherwise(match best.map(|(manner, _)| manner) {
        Some(Manner::AboutTo) => "about to happen",
        Some(Manner::Wished) => "wished",
        Some(Manner::Hypothetical) => "if",
        Some(Manner::Taught) => "taught",
        Some(Manner::Earlier) => "of another time",
        Some(Manner::Negated) => "said not to be so",
        _ => "in general",
    })
}

/// A new line begins after a pause as long as this, in milliseconds, or after so many words.
const PAUSE_MILLIS: u64 = 1_000;
const LONG_LINE: usize = 40;

/// The talk as it was spoken, whatever the captions' lines: broken at pauses.
fn lines(talk: &Talk, marks: &[Mark<'_>]) -> Vec<TalkLine> {
    let voiced: Vec<(&Word, &Option<String>)> = (talk.cues().iter())
        .flat_map(|cue| cue.words.iter().map(move |word| (word, &cue.voice)))
        .collect();
    let spoken: Vec<&Word> = voiced.iter().map(|(word, _)| *word).collect();
    let mut marks = marks.iter().peekable();
    let mut lines: Vec<TalkLine> = Vec::new();
    let (mut at, mut in_line) = (0, 0);
    while let Some((word, voice)) = voiced.get(at) {
        let pause = at.checked_sub(1).map_or(u64::MAX, |before| {
            word.span.start().millis().saturating_sub(spoken[before].span.end().millis())
        });
        let same_voice = lines.last().is_some_and(|line| line.voice == **voice);
        if pause >= PAUSE_MILLIS || in_line >= LONG_LINE || !same_voice {
            let (time, voice) = (word.span.start(), (*voice).clone());
            lines.push(TalkLine { time, voice, pieces: Vec::new() });
            in_line = 0;
        }
        let Some(line) = lines.last_mut() else { break };
        let end = match marks.next_if(|mark| mark.words.start <= at) {
            Some(mark) => {
                let words = &spoken[mark.words.clone()];
                let heard = text(words);
                let (text, heard) = match mark.said {
                    Some(said) => (put_right(words, said), Some(heard)),
                    None => (heard, None),
                };
                line.pieces.push(TalkPiece { text, heard, meant: mark.meant });
                mark.words.end
            }
            None => {
                match line.pieces.last_mut() {
                    Some(last) if last.meant == Meant::Plain && last.heard.is_none() => {
                        last.text.push(' ');
                        last.text.push_str(&word.text);
                    }
                    _ => line.pieces.push(TalkPiece {
                        text: word.text.clone(),
                        heard: None,
                        meant: Meant::Plain,
                    }),
                }
                at + 1
            }
        };
        in_line += end - at;
        at = end;
    }
    lines
}

fn text(words: &[&Word]) -> String {
    words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ")
}

/// The words as a corrected caption would have them, with their punctuation and case.
fn put_right(heard: &[&Word], said: &str) -> String {
    let words: Vec<Word> = heard.iter().map(|word| (*word).clone()).collect();
    let (whole, said) = (0..words.len(), said.to_owned());
    let correction = Correction { words: whole, said, probability: 1.0 };
    let cue = Cue { span: Span::default(), voice: None, words };
    let corrected = talk::correct(&Talk::new(vec![cue]), &[correction]);
    text(&corrected.words().collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lines with `{said|heard}` for corrections and `*` around what happens.
    fn shown(corrections: &[(Range<usize>, &str)], mentions: &[Range<usize>]) -> Vec<String> {
        let file = "WEBVTT\n\n00:01.000 --> 00:02.000\nso that is\n\n00:05.000 --> 00:06.000\n\
                    a side can\n\n00:06.000 --> 00:07.000\ntroll and Camera,\n";
        let talk = talk::read(file.as_bytes()).unwrap().talk;
        let corrections: Vec<Correction> = (corrections.iter())
            .map(|(words, said)| Correction {
                words: words.clone(),
                said: (*said).to_owned(),
                probability: 0.9,
            })
            .collect();
        let mentions = mentions.iter().map(|words| (words.clone(), Meant::Happening)).collect();
        let piece = |piece: &TalkPiece| {
            let star = if piece.meant == Meant::Happening { "*" } else { "" };
            match &piece.heard {
                Some(heard) => format!("{star}{{{}|{heard}}}{star}", piece.text),
                None => format!("{star}{}{star}", piece.text),
            }
        };
        let line = |line: &TalkLine| line.pieces.iter().map(piece).collect::<Vec<_>>().join(" ");
        lines(&talk, &marks(&corrections, mentions)).iter().map(line).collect()
    }

    #[test]
    fn lines_are_broken_where_the_speaker_pauses() {
        assert_eq!(shown(&[], &[]), ["so that is", "a side can troll and Camera,"]);
    }

    #[test]
    fn what_was_put_right_and_how_it_was_meant_show_together() {
        assert_eq!(
            shown(&[(4..7, "side control"), (8..9, "kimura")], &[4..7, 3..4]),
            ["so that is", "*a* *{side control|side can troll}* and {Kimura,|Camera,}"]
        );
    }

    #[test]
    fn a_mention_of_other_words_than_those_put_right_gives_way() {
        let lines = shown(&[(4..7, "side control")], std::slice::from_ref(&(4..5)));
        assert_eq!(lines, ["so that is", "a {side control|side can troll} and Camera,"]);
    }

    #[test]
    fn places_that_overlap_do_no_harm() {
        let lines = shown(&[], &[0..2, 1..4, 8..9]);
        assert_eq!(lines, ["*so that* is", "a side can troll and *Camera,*"]);
    }
}
