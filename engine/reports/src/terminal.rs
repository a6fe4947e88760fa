//! What text for a terminal has in common: colour or none, safe characters, lines of a width.

use academy::Athlete;
use unicode_width::UnicodeWidthStr;

/// How text for a terminal may look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TextStyle {
    /// How many columns a line may fill; 40 or more, less is taken as 40.
    pub columns: usize,
    /// Whether to colour by escape sequences. Without, the same characters say the same.
    pub colour: bool,
}

impl TextStyle {
    pub(crate) fn columns(self) -> usize {
        self.columns.max(40)
    }

    /// Text in an athlete's colour.
    pub(crate) fn accent(self, athlete: Option<Athlete>, text: &str) -> String {
        match athlete {
            Some(Athlete::First) => self.paint("34", text),
            Some(Athlete::Second) => self.paint("33", text),
            None => text.to_owned(),
        }
    }

    pub(crate) fn bold(self, text: &str) -> String {
        self.paint("1", text)
    }

    pub(crate) fn faint(self, text: &str) -> String {
        self.paint("2", text)
    }

    fn paint(self, code: &str, text: &str) -> String {
        if self.colour && !text.trim().is_empty() {
            format!("\u{1b}[{code}m{text}\u{1b}[0m")
        } else {
            text.to_owned()
        }
    }
}

/// The text without characters that could steer a terminal: names and captions come from files.
pub(crate) fn safe(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

/// Columns that a text fills.
pub(crate) fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Breaks a text at spaces into lines of at most `columns`, but not between a number and its per
/// cent sign; a longer word gets a line of its own.
pub(crate) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match words.last_mut() {
            Some(number) if word.starts_with('%') => {
                number.push(' ');
                number.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if width(line) + 1 + width(&word) <= columns => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wraps_at_spaces_and_counts_columns_not_bytes() {
        assert_eq!(wrap("one two three", 7), ["one two", "three"]);
        assert_eq!(wrap("", 7), [""]);
        assert_eq!(wrap("half 67 %; open", 8), ["half", "67 %;", "open"]);
        assert_eq!(wrap("unbreakable", 3), ["unbreakable"]);
        // Each of these signs fills two columns.
        assert_eq!(wrap("袈裟固 め", 6), ["袈裟固", "め"]);
    }

    #[test]
    fn no_escape_sequence_gets_through() {
        assert_eq!(safe("Ana\u{1b}[31m\u{7}"), "Ana\u{fffd}[31m\u{fffd}");
    }
}
