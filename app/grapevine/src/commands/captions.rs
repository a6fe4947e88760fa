//! `grapevine captions`: the captions with the trade's words and the names put right.

use talk::WriteFormat;
use talk::read::Format;

use super::error::CommandError;
use crate::arguments::{CaptionsArguments, CaptionsOutput};
use crate::{engine, talk_file, terminal};

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
    let names = arguments.between.iter().map(|person| person.name.as_str());
    let corrected = engine::correct(&reading.talk, &names.collect::<Vec<_>>());
    terminal::write(&talk::write(&corrected, format))
}
