//! `grapevine captions`: the captions with the trade's words and the names put right.

use talk::read::Format;
use talk::{Lexicon, WriteFormat};

use super::error::CommandError;
use crate::arguments::{CaptionsArguments, CaptionsOutput};
use crate::{talk_file, terminal};

pub(crate) fn run(arguments: &CaptionsArguments) -> Result<(), CommandError> {
    let reading = talk_file::read(&arguments.talk, None)?;
    let format = match (arguments.out, reading.format) {
        (Some(CaptionsOutput::Webvtt), _) => WriteFormat::WebVtt,
        (Some(CaptionsOutput::Subrip), _) => WriteFormat::SubRip,
        (Some(CaptionsOutput::Text), _) => WriteFormat::TimedText,
        (None, Format::SubRip) => WriteFormat::SubRip,
        (None, Format::TimedText) => WriteFormat::TimedText,
        // A recogniser's JSON has no captions of its own kind; WebVTT keeps the most of it.
        (None, Format::WebVtt | Format::RecogniserJson) => WriteFormat::WebVtt,
    };
    // Without names only the trade's words are put right.
    let name = |index: usize| arguments.between.get(index).map_or("", |person| &person.name);
    let words: Vec<&str> = reading.talk.words().map(|word| word.text.as_str()).collect();
    let (terms, names) =
        talk::find_terms_and_names(&words, [name(0), name(1)], &Lexicon::builtin());
    let corrections = talk::corrections(&words, &terms, &names, talk::LEAST_TO_CORRECT);
    terminal::write(&talk::write(&talk::correct(&reading.talk, &corrections), format))
}
