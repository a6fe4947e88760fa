//! Getting the talk from a file or from standard input.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use academy::{Note, Round, Time};
use talk::read::{MAX_BYTES, ReadWarning, WarningCause};
use talk::{ReadError, ReadOptions, Reading, Talk};

use crate::commands::error::CommandError;
use crate::round_arguments::RoundArguments;

/// A round with the talk over it.
pub(crate) struct RoundTalk {
    pub(crate) round: Round,
    pub(crate) talk: Talk,
    /// That talk after the end was left out, where it was.
    pub(crate) left_out: Option<Note>,
}

/// Reads the talk over a round.
pub(crate) fn read_round(arguments: &RoundArguments) -> Result<RoundTalk, CommandError> {
    let talk = read(&arguments.talk, arguments.length)?.talk;
    let round = arguments.round(talk.end())?;
    let (talk, left_out) = review::talk_over(&round, talk);
    if talk.words().next().is_none() {
        let lines = left_out.map_or(0, |note| match note {
            Note::TalkLeftOut { lines, .. } => lines,
            _ => 0,
        });
        return Err(CommandError::AllAfterTheEnd { name: name(&arguments.talk), lines });
    }
    Ok(RoundTalk { round, talk, left_out })
}

/// Reads the talk, and tells on standard error what was odd about it.
pub(crate) fn read(path: &Path, length: Option<Time>) -> Result<Reading, CommandError> {
    let bytes = bytes(path)?;
    let wrong = |source| CommandError::Talk { name: name(path), source };
    let reading =
        talk::read_with(&bytes, ReadOptions { length, ..ReadOptions::default() }).map_err(wrong)?;
    const MOST_TOLD: usize = 5;
    // An error below says so better.
    let odd = |warning: &&ReadWarning| warning.cause != WarningCause::NothingSaid;
    let warnings: Vec<&ReadWarning> = reading.warnings.iter().filter(odd).collect();
    for warning in warnings.iter().take(MOST_TOLD) {
        eprintln!("grapevine: {}: {warning}", name(path));
    }
    if warnings.len() > MOST_TOLD {
        let more = warnings.len() - MOST_TOLD;
        eprintln!("grapevine: {}: and {more} more of this kind", name(path));
    }
    if reading.talk.words().next().is_none() {
        return Err(CommandError::NothingSaid { name: name(path) });
    }
    Ok(reading)
}

/// How messages call the talk.
pub(crate) fn name(path: &Path) -> String {
    if is_standard_input(path) { "standard input".to_owned() } else { path.display().to_string() }
}

pub(crate) fn is_standard_input(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The whole file, but never more than the engine reads and one byte.
fn bytes(path: &Path) -> Result<Vec<u8>, CommandError> {
    let failed = |source: io::Error| CommandError::Read { name: name(path), source };
    let limit = MAX_BYTES as u64 + 1;
    let mut bytes = Vec::new();
    if is_standard_input(path) {
        io::stdin().take(limit).read_to_end(&mut bytes).map_err(failed)?;
        return Ok(bytes);
    }
    let file = File::open(path).map_err(failed)?;
    let size = file.metadata().map_err(failed)?.len();
    if size >= limit {
        let bytes = usize::try_from(size).unwrap_or(usize::MAX);
        return Err(CommandError::Talk { name: name(path), source: ReadError::TooLarge { bytes } });
    }
    file.take(limit).read_to_end(&mut bytes).map_err(failed)?;
    Ok(bytes)
}
