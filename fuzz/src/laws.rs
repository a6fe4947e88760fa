//! What must hold for any bytes given to any reader: of talk, of ledgers, of answers.

use academy::{Person, Pronoun, Round, RoundKind, Time, answer_file, ledger_file};
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

/// Reads the bytes as a ledger file and checks the laws: no panic; an error says something; what
/// was read is written and read back as it was, but that confidences are rounded to four decimals.
///
/// Returns whether the bytes were read.
///
/// # Panics
///
/// If a law does not hold.
pub fn check_ledger(bytes: &[u8]) -> bool {
    let (round, ledger) = match ledger_file::read(&String::from_utf8_lossy(bytes)) {
        Ok(read) => read,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return false;
        }
    };
    let text = ledger_file::write(&round, &ledger);
    let (round_back, back) = ledger_file::read(&text).expect("what was written is read");
    assert_eq!(round_back, round, "{text}");
    let spans = |ledger: &academy::Ledger| -> Vec<_> {
        ledger.spells().iter().map(|s| (s.span, s.position, s.top)).collect()
    };
    assert_eq!(spans(&back), spans(&ledger), "{text}");
    assert_eq!(back.events().len(), ledger.events().len(), "{text}");
    assert_eq!(ledger_file::write(&round_back, &back), text);
    true
}

/// Reads the bytes as a file of answers about Petra and Idris, and checks the laws: no panic; an
/// error says something; what was read is written and read back as it was.
///
/// Returns whether the bytes were read.
///
/// # Panics
///
/// If a law does not hold.
pub fn check_answers(bytes: &[u8]) -> bool {
    let person = |name: &str, pronoun| Person { name: name.to_owned(), pronoun: Some(pronoun) };
    let athletes = [person("Petra", Pronoun::She), person("Idris", Pronoun::He)];
    let length = Time::from_millis(300_000);
    let round = Round::new(athletes, RoundKind::Flow, length).expect("two people and a length");
    match answer_file::read(&round, &String::from_utf8_lossy(bytes)) {
        Ok(answers) => {
            let text = answer_file::write(&round, &answers);
            let back = answer_file::read(&round, &text).expect("what was written is read");
            assert_eq!(back, answers, "{text}");
            true
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            false
        }
    }
}
