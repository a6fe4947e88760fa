//! What the terminal can show, and writing to it.

use std::io::{self, IsTerminal, Write};

use anstream::{AutoStream, ColorChoice};
use reports::TextStyle;

use crate::commands::error::CommandError;

/// How text on standard output may look: colour as the terminal and `NO_COLOR`, `CLICOLOR`,
/// `CLICOLOR_FORCE` say, the terminal's width within reason, 80 columns elsewhere.
pub(crate) fn style() -> TextStyle {
    let stdout = io::stdout();
    let colour = AutoStream::choice(&stdout) != ColorChoice::Never;
    let columns = if stdout.is_terminal() {
        terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0).clamp(40, 110))
    } else {
        80
    };
    TextStyle { columns, colour }
}

/// Says something on standard error that is no failure.
pub(crate) fn remark(sentence: &str) {
    let mut chars = sentence.chars();
    let first = chars.next().map(|first| first.to_lowercase().to_string()).unwrap_or_default();
    eprintln!("grapevine: {first}{}", chars.as_str().trim_end_matches('.'));
}

/// Writes to standard output. A reader who has seen enough closes the pipe: that is no failure.
pub(crate) fn write(text: &str) -> Result<(), CommandError> {
    let mut stdout = io::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Err(CommandError::PipeClosed),
        Err(source) => Err(CommandError::Write { name: "standard output".to_owned(), source }),
        Ok(()) => Ok(()),
    }
}

/// So many of something: "1 round", "2 rounds".
pub(crate) fn count(number: usize, what: &str) -> String {
    format!("{number} {what}{}", if number == 1 { "" } else { "s" })
}
