//! Forms that carry a captions file, or its text.

use std::collections::HashMap;

use academy::Time;
use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use axum::http::StatusCode;
use store::Captions;
use store::uploads::shown_name;
use talk::ReadError;

use crate::error::PageError;

/// Bytes of a whole form: the largest captions file, once as a file and once as text.
pub(crate) const MOST_OF_A_FORM: usize = 2 * talk::read::MAX_BYTES + (1 << 20);

/// The name of captions that were pasted.
const PASTED: &str = "pasted text";

/// A form that was sent.
#[derive(Default)]
pub(crate) struct CaptionsForm {
    /// Everything but files, by name; the last where one comes twice.
    pub(crate) fields: HashMap<String, String>,
    /// The captions file: its name and its bytes.
    file: Option<(String, Vec<u8>)>,
}

/// Captions that cannot be read.
pub(crate) struct Unreadable {
    pub(crate) error: ReadError,
    /// The line that is wrong, as it stands in the file.
    pub(crate) line: Option<String>,
}

impl Unreadable {
    /// The error with the line it is about.
    pub(crate) fn told(&self) -> String {
        match &self.line {
            Some(line) => format!("{} — there stands: {line}", self.error),
            None => self.error.to_string(),
        }
    }
}

fn broken(error: &MultipartError) -> PageError {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        return PageError::Refused(
            "what was sent is too large: captions have a few megabytes at most; a recording is \
             taken by the page's script only"
                .to_owned(),
        );
    }
    PageError::Refused("the form did not arrive whole: go back and send it again".to_owned())
}

impl CaptionsForm {
    /// Takes a form in. The route bounds its size.
    pub(crate) async fn read(mut form: Multipart) -> Result<Self, PageError> {
        let mut read = CaptionsForm::default();
        while let Some(field) = form.next_field().await.map_err(|error| broken(&error))? {
            let name = field.name().unwrap_or_default().to_owned();
            let file_name = field.file_name().map(str::to_owned);
            let bytes = field.bytes().await.map_err(|error| broken(&error))?;
            match file_name {
                // A file input that was left empty comes as a file without name and content.
                Some(file) if file.is_empty() && bytes.is_empty() => {}
                Some(file) if name == "captions" => {
                    read.file = Some((shown_name(&file, PASTED), bytes.to_vec()));
                }
                Some(_) => {}
                None => {
                    read.fields.insert(name, String::from_utf8_lossy(&bytes).into_owned());
                }
            }
        }
        Ok(read)
    }

    /// What was typed into a field, trimmed.
    pub(crate) fn typed(&self, name: &str) -> &str {
        self.fields.get(name).map_or("", |text| text.trim())
    }

    /// The name of the captions, whether they came as a file now or were kept by the form.
    pub(crate) fn captions_name(&self) -> String {
        match &self.file {
            Some((name, _)) => name.clone(),
            None => shown_name(self.typed("captions_name"), PASTED),
        }
    }

    /// The captions' text as far as it can be shown for mending.
    pub(crate) fn captions_text(&self) -> String {
        match &self.file {
            Some((_, bytes)) => text_of(bytes).unwrap_or_default(),
            None => self.fields.get("captions_text").cloned().unwrap_or_default(),
        }
    }

    /// The captions, and when the talk ends. A file goes before pasted text; `None` where neither
    /// was given.
    pub(crate) fn captions(&self) -> Result<Option<(Captions, Time)>, Unreadable> {
        let pasted = self.fields.get("captions_text").map_or("", String::as_str);
        let bytes = match &self.file {
            Some((_, bytes)) => bytes.as_slice(),
            None if pasted.trim().is_empty() => return Ok(None),
            None => pasted.as_bytes(),
        };
        let reading = talk::read(bytes).map_err(|error| {
            let number = error.line().and_then(|line| line.checked_sub(1));
            let text = text_of(bytes).unwrap_or_default();
            let line = number.and_then(|number| text.lines().nth(number));
            let line = line.map(|line| line.trim().chars().take(80).collect::<String>());
            Unreadable { error, line: line.filter(|line| !line.is_empty()) }
        })?;
        // What was read is text, so that its text can be had.
        let text = text_of(bytes).unwrap_or_default();
        Ok(Some((Captions { name: self.captions_name(), text }, reading.talk.end())))
    }
}

/// The text of a file that is UTF-8, or UTF-16 with a byte order mark.
fn text_of(bytes: &[u8]) -> Option<String> {
    let units: fn([u8; 2]) -> u16 = match bytes {
        [0xff, 0xfe, ..] => u16::from_le_bytes,
        [0xfe, 0xff, ..] => u16::from_be_bytes,
        _ => return std::str::from_utf8(bytes).ok().map(str::to_owned),
    };
    let pairs = bytes[2..].chunks_exact(2).map(|pair| units([pair[0], pair[1]]));
    char::decode_utf16(pairs).collect::<Result<String, _>>().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_lead_nowhere() {
        for (name, shown) in [
            ("round.vtt", "round.vtt"),
            ("../../etc/passwd", "passwd"),
            ("C:\\talk\\one.srt", "one.srt"),
            ("a\0\nb.vtt", "ab.vtt"),
            ("", PASTED),
            ("..\\", PASTED),
        ] {
            assert_eq!(shown_name(name, PASTED), shown, "{name:?}");
        }
    }

    #[test]
    fn text_of_two_byte_files_is_kept_as_text() {
        assert_eq!(text_of(b"\xff\xfeh\0i\0").as_deref(), Some("hi"));
        assert_eq!(text_of(b"\xfe\xff\0h\0i").as_deref(), Some("hi"));
        assert_eq!(text_of("hï".as_bytes()).as_deref(), Some("hï"));
        assert_eq!(text_of(b"\xc3("), None);
    }
}
