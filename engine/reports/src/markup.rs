//! The one writer of markup: elements, attributes and text, escaped on the way out.
//!
//! What it writes is well-formed XML and, in a page, valid HTML at once: elements that HTML knows
//! as empty are closed in place, all others have an end tag.

use std::borrow::Cow;
use std::fmt::Write;

/// Elements that never have content.
const EMPTY: [&str; 11] =
    ["meta", "link", "br", "hr", "img", "rect", "path", "line", "circle", "polygon", "polyline"];

/// An element under construction.
#[derive(Clone, Debug)]
pub(crate) struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    content: Vec<Content>,
}

#[derive(Clone, Debug)]
enum Content {
    Element(Element),
    Text(String),
    /// A style sheet of our own; it needs no escaping and must not get any.
    Style(Cow<'static, str>),
}

impl Element {
    pub(crate) const fn new(name: &'static str) -> Self {
        Element { name, attributes: Vec::new(), content: Vec::new() }
    }

    /// Adds an attribute with any text.
    pub(crate) fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.attributes.push((name, value.into()));
        self
    }

    /// Adds attributes with numbers.
    pub(crate) fn at<const N: usize>(mut self, numbers: [(&'static str, f64); N]) -> Self {
        self.attributes.extend(numbers.map(|(name, value)| (name, number(value))));
        self
    }

    pub(crate) fn class(self, class: &str) -> Self {
        self.with("class", class)
    }

    pub(crate) fn text(mut self, text: impl Into<String>) -> Self {
        self.content.push(Content::Text(text.into()));
        self
    }

    pub(crate) fn child(mut self, child: Element) -> Self {
        self.content.push(Content::Element(child));
        self
    }

    pub(crate) fn children(mut self, children: impl IntoIterator<Item = Element>) -> Self {
        self.content.extend(children.into_iter().map(Content::Element));
        self
    }

    /// Adds a style sheet, which holds none of `<`, `&` and `>`.
    pub(crate) fn style(mut self, css: impl Into<Cow<'static, str>>) -> Self {
        self.content.push(Content::Style(css.into()));
        self
    }

    /// Calls `see` with the name of each paragraph, heading, item and caption in it and the number
    /// of letters there; what is drawn or folded away doesn't count.
    pub(crate) fn paragraphs(&self, see: &mut impl FnMut(&'static str, usize)) {
        for element in self.elements().filter(|element| !UNSEEN.contains(&element.name)) {
            match element.name {
                name @ ("p" | "li" | "h1" | "h2" | "h3" | "figcaption") => {
                    see(name, element.letters());
                }
                _ => element.paragraphs(see),
            }
        }
    }

    fn elements(&self) -> impl Iterator<Item = &Element> {
        self.content.iter().filter_map(|content| match content {
            Content::Element(element) => Some(element),
            _ => None,
        })
    }

    fn letters(&self) -> usize {
        let here = self.content.iter().map(|content| match content {
            Content::Text(text) => text.chars().count(),
            Content::Element(element) if !UNSEEN.contains(&element.name) => element.letters(),
            _ => 0,
        });
        here.sum()
    }

    /// The element as text. `lines` puts block-like children on lines of their own, which keeps
    /// files readable without adding white space where it would show.
    pub(crate) fn write(&self, out: &mut String) {
        out.push('<');
        out.push_str(self.name);
        for (name, value) in &self.attributes {
            let _ = write!(out, " {name}=\"");
            escape(value, out);
            out.push('"');
        }
        if self.content.is_empty() && EMPTY.contains(&self.name) {
            out.push_str("/>");
            return;
        }
        out.push('>');
        let broken = BROKEN.contains(&self.name);
        for content in &self.content {
            if broken {
                out.push('\n');
            }
            match content {
                Content::Element(element) => element.write(out),
                Content::Text(text) => escape(text, out),
                Content::Style(css) => out.push_str(css),
            }
        }
        if broken {
            out.push('\n');
        }
        let _ = write!(out, "</{}>", self.name);
    }
}

/// Elements that hold no words that are read at once.
const UNSEEN: [&str; 2] = ["details", "svg"];

/// Elements whose content may be broken into lines, since white space there shows nothing.
const BROKEN: [&str; 13] = [
    "svg", "g", "html", "head", "body", "main", "header", "footer", "section", "ol", "ul", "div",
    "style",
];

/// A number with at most two decimals and no trailing zeros. The pictures' coordinates are
/// finite by construction; anything else is a mistake of ours and becomes zero.
pub(crate) fn number(value: f64) -> String {
    debug_assert!(value.is_finite(), "a coordinate must be finite");
    let value = if value.is_finite() { value } else { 0.0 };
    let mut text = format!("{value:.2}");
    text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    if text == "-0" { "0".to_owned() } else { text }
}

/// Writes text so that it is read back as text and nothing else.
pub(crate) fn escape(text: &str, out: &mut String) {
    for char in text.chars() {
        match char {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            // XML has no way to hold these, not even escaped.
            '\0'..='\u{1f}' | '\u{7f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            other => out.push(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in
            [(0.0, "0"), (-0.001, "0"), (1.5, "1.5"), (100.0, "100"), (2.345_6, "2.35")]
        {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn empty_elements_close_in_place_and_others_do_not() {
        let mut out = String::new();
        Element::new("p").child(Element::new("br")).child(Element::new("b")).write(&mut out);
        assert_eq!(out, "<p><br/><b></b></p>");
    }

    proptest! {
        #[test]
        fn any_text_reads_back(text in "\\PC{0,40}", value in "\\PC{0,40}") {
            let mut out = String::new();
            Element::new("p").with("title", value.clone()).text(text.clone()).write(&mut out);
            let document = roxmltree::Document::parse(&out).unwrap();
            prop_assert_eq!(document.root_element().text().unwrap_or(""), text);
            prop_assert_eq!(document.root_element().attribute("title").unwrap(), value);
        }

        #[test]
        fn no_character_breaks_the_markup(text in proptest::collection::vec(any::<char>(), 0..40)) {
            let text: String = text.into_iter().collect();
            let mut out = String::new();
            Element::new("p").text(text).write(&mut out);
            prop_assert!(roxmltree::Document::parse(&out).is_ok());
        }
    }
}
