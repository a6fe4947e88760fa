//! The small file of answers beside a talk.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use academy::{Answer, Round, answer_file};

use crate::commands::error::CommandError;
use crate::talk_file;

/// Where the answers about a talk are kept: the file asked for, else `TALK.answers.json`. None for
/// a talk from standard input, beside which nothing can lie.
pub(crate) fn place(talk: &Path, asked_for: Option<&Path>) -> Option<PathBuf> {
    if let Some(path) = asked_for {
        return Some(path.to_owned());
    }
    if talk_file::is_standard_input(talk) {
        return None;
    }
    let mut name = talk.file_name()?.to_owned();
    name.push(".answers.json");
    Some(talk.with_file_name(name))
}

/// The answers in a file; `None` if there is no such file.
pub(crate) fn load(path: &Path, round: &Round) -> Result<Option<Vec<Answer>>, CommandError> {
    let name = || path.display().to_string();
    let text = match fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(source) => return Err(CommandError::Read { name: name(), source }),
    };
    let wrong = |source| CommandError::Answers { name: name(), source };
    answer_file::read(round, &text).map(Some).map_err(wrong)
}

/// Keeps the answers; none need no file. The old file stays whole until the new one is: it is
/// written beside and then put in its place.
pub(crate) fn save(path: &Path, round: &Round, answers: &[Answer]) -> Result<(), CommandError> {
    let failed = |source| CommandError::Write { name: path.display().to_string(), source };
    if answers.is_empty() {
        return match fs::remove_file(path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(failed(error)),
            _ => Ok(()),
        };
    }
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    fs::write(&beside, answer_file::write(round, answers))
        .and_then(|()| fs::rename(&beside, path))
        .map_err(failed)
}
