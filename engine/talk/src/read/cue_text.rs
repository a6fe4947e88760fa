//! The text of a WebVTT cue, by the standard's "cue text parsing rules": tags, voices, inline
//! times and character references, as words.

use super::draft::{DraftCue, DraftWord};
use super::webvtt::collect_timestamp;
use academy::{Span, Time};

/// An open element, as far as it matters to the words.
enum Element {
    /// c, i, b, u or lang.
    Plain(&'static str),
    Ruby,
    /// The small reading above ruby text: it repeats the word, so it is not talk.
    RubyText,
    Voice(Option<String>),
}

impl Element {
    fn name(&self) -> &'static str {
        match self {
            Element::Plain(name) => name,
            Element::Ruby => "ruby",
            Element::RubyText => "rt",
            Element::Voice(_) => "v",
        }
    }
}

/// Collects the words of one cue.
pub(super) struct CueText {
    cue: DraftCue,
    open: Vec<Element>,
    ruby_texts: usize,
    word: String,
    new_line: bool,
    /// The last inline time; the next word starts there.
    pending: Option<Time>,
    latest: Time,
    /// Whether an inline time was out of order or out of the cue.
    pub(super) unused_times: bool,
}

impl CueText {
    pub(super) fn new(span: Span) -> Self {
        CueText {
            cue: DraftCue { span, ..DraftCue::default() },
            open: Vec::new(),
            ruby_texts: 0,
            word: String::new(),
            new_line: true,
            pending: None,
            latest: span.start(),
            unused_times: false,
        }
    }

    /// Reads the whole payload. Tags end at the first `>`, or at the end of the text.
    pub(super) fn read(&mut self, payload: &str) {
        let mut rest = payload;
        while let Some(start) = rest.find('<') {
            self.text(&rest[..start]);
            let inside = &rest[start + 1..];
            let (tag, after) = inside.split_once('>').unwrap_or((inside, ""));
            self.tag(tag);
            rest = after;
        }
        self.text(rest);
    }

    /// The cue, when all is read.
    pub(super) fn into_cue(mut self) -> DraftCue {
        self.end_word();
        // A last time with nothing after it is the end of the last word.
        self.end_at_pending();
        self.cue
    }

    fn text(&mut self, text: &str) {
        if self.ruby_texts > 0 || text.is_empty() {
            return;
        }
        for c in htmlize::unescape(text).chars() {
            if c.is_whitespace() {
                self.end_word();
                self.new_line |= c == '\n';
            } else {
                if self.word.is_empty() {
                    self.begin_word();
                } else {
                    // A time inside a word says nothing about a word's start.
                    self.pending = None;
                }
                self.word.push(c);
            }
        }
    }

    fn begin_word(&mut self) {
        let start = self.pending.take();
        if let Some(start) = start {
            self.latest = start;
        }
        let index = self.cue.words.len();
        let voice = self.open.iter().rev().find_map(|element| match element {
            Element::Voice(name) => Some(name),
            _ => None,
        });
        let voice = voice.and_then(Option::as_deref);
        if self.cue.voices.last().and_then(|(_, last)| last.as_deref()) != voice {
            self.cue.voices.push((index, voice.map(str::to_owned)));
        }
        if std::mem::take(&mut self.new_line) {
            self.cue.lines.push(index);
        }
        self.cue.words.push(DraftWord { text: String::new(), start, end: None });
    }

    fn end_word(&mut self) {
        if let Some(last) = self.cue.words.last_mut()
            && last.text.is_empty()
        {
            last.text = self.word.as_str().into();
            self.word.clear();
        }
    }

    fn end_at_pending(&mut self) {
        if let (Some(end), Some(last)) = (self.pending.take(), self.cue.words.last_mut()) {
            last.end = Some(end);
        }
    }

    fn tag(&mut self, tag: &str) {
        if let Some(name) = tag.strip_prefix('/') {
            self.end_tag(name);
        } else if tag.starts_with(|c: char| c.is_ascii_digit()) {
            if let Some((time, "")) = collect_timestamp(tag) {
                self.timestamp(time);
            }
        } else {
            self.start_tag(tag);
        }
    }

    fn timestamp(&mut self, time: Time) {
        if time < self.latest.max(self.pending.unwrap_or(Time::ZERO)) || time > self.cue.span.end()
        {
            self.unused_times = true;
            return;
        }
        // Two times with nothing between them: the first ends the word before.
        self.end_at_pending();
        self.pending = Some(time);
    }

    fn start_tag(&mut self, tag: &str) {
        const SPACES: [char; 4] = ['\t', '\n', '\u{C}', ' '];
        let (head, annotation) = tag.split_once(SPACES).unwrap_or((tag, ""));
        let name = head.split('.').next().unwrap_or("");
        let element = match name {
            "c" => Element::Plain("c"),
            "i" => Element::Plain("i"),
            "b" => Element::Plain("b"),
            "u" => Element::Plain("u"),
            "lang" => Element::Plain("lang"),
            "ruby" => Element::Ruby,
            "rt" if matches!(self.open.last(), Some(Element::Ruby)) => {
                self.ruby_texts += 1;
                Element::RubyText
            }
            "v" => {
                let voice = htmlize::unescape(annotation);
                let voice: Vec<&str> = voice.split_whitespace().collect();
                Element::Voice((!voice.is_empty()).then(|| voice.join(" ")))
            }
            _ => return,
        };
        self.open.push(element);
    }

    fn end_tag(&mut self, name: &str) {
        let Some(current) = self.open.last().map(Element::name) else { return };
        if current == name {
            self.close();
        } else if name == "ruby" && current == "rt" {
            self.close();
            self.close();
        }
    }

    fn close(&mut self) {
        if let Some(Element::RubyText) = self.open.pop() {
            self.ruby_texts -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(payload: &str) -> CueText {
        let span = Span::between(Time::from_millis(1_000), Time::from_millis(9_000));
        let mut text = CueText::new(span);
        text.read(payload);
        text
    }

    fn words(payload: &str) -> Vec<(String, Option<u64>, Option<u64>)> {
        let millis = |time: Option<Time>| time.map(Time::millis);
        let cue = read(payload).into_cue();
        cue.words.into_iter().map(|w| (w.text, millis(w.start), millis(w.end))).collect()
    }

    #[test]
    fn inline_times_start_the_next_word_and_two_in_a_row_end_the_one_before() {
        let expected = [
            ("well", None, None),
            ("then", Some(2_000), Some(2_500)),
            ("go", Some(4_000), Some(5_000)),
        ];
        let expected = expected.map(|(text, start, end)| (text.to_owned(), start, end));
        let text = "well<00:02.000><c> then</c><00:02.500> <00:04.000>go<00:05.000>";
        assert_eq!(words(text), expected);
    }

    #[test]
    fn times_out_of_order_or_out_of_the_cue_are_not_used() {
        for text in ["a <00:00.500>b", "a <00:03.000>b <00:02.000>c", "a <00:09.001>b"] {
            assert!(read(text).unused_times, "{text}");
        }
        let text = read("a <00:02.000>b <00:02.000>c <0:03.000>d <00:09.000>e");
        assert!(!text.unused_times, "equal times, no time at all, the end of the cue");
    }

    #[test]
    fn voices_nest_and_end() {
        let cue = read("so <v.loud Ana  &amp; Bo>hold <v Cy>it</v> there</v> now").into_cue();
        let voices: Vec<_> =
            cue.voices.iter().map(|(from, name)| (*from, name.as_deref())).collect();
        assert_eq!(
            voices,
            [(1, Some("Ana & Bo")), (2, Some("Cy")), (3, Some("Ana & Bo")), (4, None)]
        );
    }

    #[test]
    fn readings_above_ruby_text_are_not_said_twice() {
        let texts: Vec<String> =
            words("<ruby>yoko<rt>side</ruby> four &lt;b&gt;").into_iter().map(|w| w.0).collect();
        assert_eq!(texts, ["yoko", "four", "<b>"]);
    }
}
