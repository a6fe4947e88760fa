//! What must hold for any bytes given to any reader of talk.

use academy::Time;
use talk::read::Format;
use talk::{Cue, ReadOptions, Talk, WriteFormat, read, read_with, write};

/// Reads the bytes, of the given kind or of the kind that is found, and checks the laws: no panic;
/// an error says something; a talk that was read is in order, without empty words, and what is
/// written of it in each format reads back with the same cue times and words.
///
/// Returns whether the bytes were read.
///
/// # Panics
///
/// If a law does not hold.
pub fn check(bytes: &[u8], format: Option<Format>) -> bool {
    let options = ReadOptions { format, length: Some(Time::from_millis(300_000)) };
    let reading = match read_with(bytes, options) {
        Ok(reading) => reading,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return false;
        }
    };
    let talk = &reading.talk;
    assert!(talk.cues().is_sorted_by_key(|cue| cue.span.start()));
    for cue in talk.cues() {
        assert!(!cue.words.is_empty());
        assert!(cue.words.is_sorted_by_key(|word| word.span.start()));
        for word in &cue.words {
            assert!(!word.text.is_empty() && !word.text.contains(char::is_whitespace));
            assert!(word.span.start() >= cue.span.start());
        }
    }
    if talk.cues().is_empty() || may_roll(talk) {
        return true;
    }
    for written in [WriteFormat::WebVtt, WriteFormat::SubRip, WriteFormat::TimedText] {
        let text = write(talk, written);
        let back = match read(text.as_bytes()) {
            Ok(back) => back.talk,
            // A small file in one format can be a too large one in another.
            Err(talk::ReadError::TooLarge { .. }) => continue,
            Err(error) => panic!("{written:?}: {error}\n{text}"),
        };
        assert_eq!(back.cues().len(), talk.cues().len(), "{written:?}\n{text}");
        for (one, other) in back.cues().iter().zip(talk.cues()) {
            assert_eq!(one.span, other.span, "{written:?}\n{text}");
            assert!(texts(one).eq(texts(other)), "{written:?}\n{text}");
        }
    }
    true
}

fn texts(cue: &Cue) -> impl Iterator<Item = &str> {
    cue.words.iter().map(|word| word.text.as_str())
}

/// Cues that begin with the whole cue before may be rolling captions, which are read once.
fn may_roll(talk: &Talk) -> bool {
    talk.cues().windows(2).any(|pair| {
        pair[0].words.len() <= pair[1].words.len()
            && texts(&pair[0]).zip(texts(&pair[1])).all(|(one, other)| one == other)
    })
}
