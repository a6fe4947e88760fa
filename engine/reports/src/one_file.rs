//! A page or a picture as one file, which loads nothing and runs nothing.

use crate::markup::Element;
use crate::svg;

/// A page with this title, look and body, in HTML that is well-formed XML too. The look of the
/// pictures is added. Whatever its words hold, nothing is loaded and nothing runs.
pub(crate) fn page(title: &str, look: &str, body: Element) -> String {
    let head = Element::new("head")
        .child(Element::new("meta").with("charset", "utf-8"))
        .child(
            Element::new("meta")
                .with("name", "viewport")
                .with("content", "width=device-width, initial-scale=1"),
        )
        .child(Element::new("meta").with("name", "color-scheme").with("content", "light dark"))
        .child(
            Element::new("meta")
                .with("http-equiv", "Content-Security-Policy")
                .with("content", "default-src 'none'; style-src 'unsafe-inline'; img-src data:"),
        )
        // An empty icon: browsers would ask a server for one.
        .child(Element::new("link").with("rel", "icon").with("href", "data:,"))
        .child(Element::new("title").text(title))
        .child(Element::new("style").style(format!("{}{look}", svg::style_sheet())));
    let mut out = String::from("<!DOCTYPE html>\n");
    Element::new("html").with("lang", "en").child(head).child(body).write(&mut out);
    out.push('\n');
    out
}

/// A picture as a file.
pub(crate) fn picture(picture: &Element) -> String {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    picture.write(&mut out);
    out.push('\n');
    out
}
