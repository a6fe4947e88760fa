//! What the file forms have in common: JSON with a header that names the form and its version, and
//! times in seconds.

use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::time::Time;

/// The longest a file may speak of, in seconds: a day.
const LONGEST: f64 = 86_400.0;

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FileForm {
    /// What people call it: "ledger".
    pub what: &'static str,
    /// What its key `format` says.
    pub format: &'static str,
    /// The oldest version this program reads.
    pub oldest: u32,
    /// The version this program writes, and the newest it reads.
    pub version: u32,
}

/// Why a text is not a file of some form, whichever form that is.
#[derive(Debug, thiserror::Error)]
pub enum FileFormError {
    /// It is not JSON, or a value is missing or of the wrong kind.
    #[error("line {line}, column {column}: {reason}")]
    Json {
        /// Line, from 1.
        line: usize,
        /// Column, from 1; 0 where the line is empty.
        column: usize,
        /// What the JSON reader found.
        reason: String,
    },
    /// It is JSON, but of another form.
    #[error("this is not a {}: its \"format\" is not \"{}\"", .0.what, .0.format)]
    Format(FileForm),
    /// It was written by another version of the program.
    #[error("this {} has version {found}, this program reads version {}", .form.what, .form.versions())]
    Version {
        /// What it is.
        form: FileForm,
        /// The version it has; 0 where it says none.
        found: u32,
    },
    /// A number of seconds is negative or longer than a day.
    #[error("{0} is not a time in seconds between 0 and {LONGEST}")]
    Seconds(f64),
}

#[derive(Deserialize)]
struct Header {
    format: Option<String>,
    version: Option<u32>,
}

impl FileForm {
    /// The versions that are read, in words.
    fn versions(self) -> String {
        let FileForm { oldest, version, .. } = self;
        if oldest == version { version.to_string() } else { format!("{oldest} to {version}") }
    }

    /// Reads a text of this form, whose keys `T` names.
    ///
    /// The header is read first: whoever opens another program's file should not read about a
    /// missing key.
    pub(crate) fn parse<T: DeserializeOwned>(self, text: &str) -> Result<T, FileFormError> {
        // Some editors put a mark at the start.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let header: Header = serde_json::from_str(text).map_err(json_error)?;
        if header.format.as_deref() != Some(self.format) {
            return Err(FileFormError::Format(self));
        }
        let found = header.version.unwrap_or(0);
        if !(self.oldest..=self.version).contains(&found) {
            return Err(FileFormError::Version { form: self, found });
        }
        serde_json::from_str(text).map_err(json_error)
    }
}

fn json_error(error: serde_json::Error) -> FileFormError {
    let (line, column) = (error.line(), error.column());
    // The place is a field of its own; cut it from the end of the sentence.
    let reason = error.to_string();
    let place = format!(" at line {line} column {column}");
    let reason = reason.strip_suffix(&place).unwrap_or(&reason).to_owned();
    FileFormError::Json { line, column, reason }
}

/// A moment from the seconds that a file holds.
pub(crate) fn time(seconds: f64) -> Result<Time, FileFormError> {
    if (0.0..=LONGEST).contains(&seconds) {
        Ok(Time::from_seconds(seconds))
    } else {
        Err(FileFormError::Seconds(seconds))
    }
}
