//! Laws: what is written reads back the same, and no bytes make a reader panic.

use academy::{Span, Time};
use proptest::prelude::*;
use talk::read::Format;
use talk::{Cue, ReadOptions, Talk, Word, WriteFormat, read, read_with, write};

const WRITTEN: [WriteFormat; 3] =
    [WriteFormat::WebVtt, WriteFormat::SubRip, WriteFormat::TimedText];

/// Words of talk, and words that look like the markup of some format.
fn word() -> impl Strategy<Value = String> {
    let tricky = prop::sample::select(vec![
        "<b>",
        "</i>",
        "<v",
        "&amp;",
        "&",
        "&#65;",
        "&lt",
        "-->",
        "->",
        "[0:05]",
        "(0:05)",
        "0:05",
        "00:00:01,000",
        "00:00:02.000",
        "1",
        "22",
        "{\\an8}",
        "NOTE",
        "STYLE",
        "WEBVTT",
        "-",
        "<",
        ">",
        "\u{FEFF}",
        "{",
        "[",
        "é",
        "柔術",
        "<00:00:01.000>",
        "&copy",
        "R&B",
    ]);
    prop_oneof![
        4 => "[a-z']{1,9}[,.?]?",
        2 => tricky.prop_map(str::to_owned),
        1 => "\\PC{1,6}",
    ]
    .prop_map(|word| word.split_whitespace().collect::<String>())
    .prop_filter("a word has letters", |word| !word.is_empty())
}

/// Cues with gaps and overlaps, without word times: only texts and spans matter.
fn plain_cues() -> impl Strategy<Value = Vec<(u64, u64, Vec<String>)>> {
    let cue = (0u64..20_000, 1u64..15_000, prop::collection::vec(word(), 1..8));
    prop::collection::vec(cue, 1..8)
}

fn talk_of(cues: &[(u64, u64, Vec<String>)]) -> Talk {
    let mut start = 0;
    let cue = |(gap, length, words): &(u64, u64, Vec<String>)| {
        start += gap;
        let span = Span::between(Time::from_millis(start), Time::from_millis(start + length));
        let word = |text: &String| Word { text: text.clone(), span, timed: false };
        Cue { span, voice: None, words: words.iter().map(word).collect() }
    };
    Talk::new(cues.iter().map(cue).collect())
}

fn spans_and_texts(talk: &Talk) -> Vec<(Span, Vec<&str>)> {
    talk.cues()
        .iter()
        .map(|cue| (cue.span, cue.words.iter().map(|word| word.text.as_str()).collect()))
        .collect()
}

/// Cues in which every word has its own time, one after the other, with ends anywhere before the
/// next word; every cue has two words at least and a word after its start, so that word times show.
fn timed_talk() -> impl Strategy<Value = Talk> {
    let words = prop::collection::vec((word(), 1u64..900, 0u64..900), 2..8);
    let voice = prop::option::of(prop::sample::select(vec!["Ana", "Bo & Cy", "<x>", "a b"]));
    prop::collection::vec((0u64..5_000, words, voice, 1u64..500), 1..6).prop_map(|cues| {
        let mut clock = 0;
        let mut out = Vec::new();
        for (gap, words, voice, tail) in cues {
            clock += gap;
            let start = Time::from_millis(clock);
            let words: Vec<Word> = words
                .into_iter()
                .map(|(text, length, pause)| {
                    let from = Time::from_millis(clock);
                    clock += length;
                    let to = Time::from_millis(clock);
                    clock += pause;
                    Word { text, span: Span::between(from, to), timed: true }
                })
                .collect();
            clock += tail;
            let span = Span::between(start, Time::from_millis(clock));
            out.push(Cue { span, voice: voice.map(str::to_owned), words });
        }
        Talk::new(out)
    })
}

/// What holds for every talk that was read.
fn check_laws(talk: &Talk) -> Result<(), TestCaseError> {
    for pair in talk.cues().windows(2) {
        prop_assert!(pair[0].span.start() <= pair[1].span.start());
    }
    for cue in talk.cues() {
        prop_assert!(!cue.words.is_empty());
        for word in &cue.words {
            prop_assert!(!word.text.is_empty() && !word.text.contains(char::is_whitespace));
            prop_assert!(word.span.start() >= cue.span.start());
        }
        for pair in cue.words.windows(2) {
            prop_assert!(pair[0].span.start() <= pair[1].span.start());
        }
    }
    for format in WRITTEN {
        if talk.cues().is_empty() || repeats(talk) {
            continue;
        }
        let text = write(talk, format);
        let back =
            read(text.as_bytes()).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        prop_assert_eq!(spans_and_texts(&back.talk), spans_and_texts(talk), "{}", text);
    }
    Ok(())
}

/// Talk in which a cue begins with all of the one before is read as rolling captions.
fn repeats(talk: &Talk) -> bool {
    let texts = |cue: &Cue| -> Vec<String> { cue.words.iter().map(|w| w.text.clone()).collect() };
    talk.cues().windows(2).any(|pair| texts(&pair[1]).starts_with(&texts(&pair[0])))
}

fn every_way_to_read(bytes: &[u8]) -> Result<(), TestCaseError> {
    let formats = [Format::WebVtt, Format::SubRip, Format::TimedText, Format::RecogniserJson];
    for format in formats.map(Some).into_iter().chain([None]) {
        let options = ReadOptions { format, length: Some(Time::from_millis(300_000)) };
        match read_with(bytes, options) {
            Ok(reading) => check_laws(&reading.talk)?,
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn cues_and_words_survive_every_format(cues in plain_cues()) {
        let talk = talk_of(&cues);
        prop_assume!(!repeats(&talk));
        for format in WRITTEN {
            let text = write(&talk, format);
            let back = read(text.as_bytes());
            let back = back.map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
            prop_assert_eq!(spans_and_texts(&back.talk), spans_and_texts(&talk), "{}", text);
            prop_assert_eq!(back.warnings, vec![], "{}", text);
            // Spread times depend on cues and words alone, so a second pass changes nothing.
            let again = read(write(&back.talk, format).as_bytes());
            prop_assert_eq!(again.map(|again| again.talk), Ok(back.talk));
        }
    }

    #[test]
    fn webvtt_keeps_word_times_and_voices(talk in timed_talk()) {
        prop_assume!(!repeats(&talk));
        let text = write(&talk, WriteFormat::WebVtt);
        let back = read(text.as_bytes());
        let back = back.map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        prop_assert_eq!(&back.talk, &talk, "{}", text);
        prop_assert_eq!(back.warnings, vec![]);
    }

    #[test]
    fn random_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        every_way_to_read(&bytes)?;
    }

    #[test]
    fn pieces_of_captions_in_any_order_are_read_or_refused(
        head in prop::sample::select(vec!["WEBVTT\n\n", "1\n00:00:01,000 --> 00:00:02,000\n",
            "[0:00] ", "{\"words\": [", "[{", ""]),
        pieces in prop::collection::vec(prop::sample::select(vec![
            "00:01.000", "00:00:02,000", " --> ", "\n", "\r\n", "\n\n", "he", " passes ", "<c>",
            "</c>", "<00:01.500>", "<v Ana>", "&amp;", "&", "<", ">", "[0:42]", "0:50", "(", "\0",
            "NOTE", "7", "{\"word\": \"a\", \"start\": 1, \"end\": 2}", ",", "]", "}", "null",
            "{\"text\": \"a b\", \"start\": 1.5, \"end\": 2e3}", "\u{FEFF}", "é", "-", "STYLE",
        ]), 0..40),
    ) {
        every_way_to_read(format!("{head}{}", pieces.concat()).as_bytes())?;
    }
}
