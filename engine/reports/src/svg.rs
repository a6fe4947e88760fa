//! The frame of every picture: size, title, text alternative, and the look on light and dark
//! grounds and on paper.

use crate::markup::Element;

/// How a picture says who it is to a reader who cannot see it, and to the page around it.
pub(crate) struct Frame<'a> {
    /// Put before every id, so that two pictures can share a page.
    pub(crate) id: &'a str,
    pub(crate) class: &'a str,
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) title: &'a str,
    pub(crate) description: &'a str,
    /// Whether the picture brings its own style sheet, as it must outside of a page.
    pub(crate) alone: bool,
    /// Whether it holds links; a picture with role "img" hides what is in it.
    pub(crate) links: bool,
}

/// An empty picture.
pub(crate) fn picture(frame: &Frame<'_>) -> Element {
    let (title_id, description_id) = (format!("{}-title", frame.id), format!("{}-text", frame.id));
    let size = format!("0 0 {} {}", frame.width, frame.height);
    let mut svg = Element::new("svg")
        .with("xmlns", "http://www.w3.org/2000/svg")
        .class(frame.class)
        .with("viewBox", size);
    if frame.alone {
        svg = svg.at([("width", frame.width), ("height", frame.height)]);
    }
    svg = svg
        .with("role", if frame.links { "group" } else { "img" })
        .with("aria-labelledby", title_id.clone())
        .with("aria-describedby", description_id.clone())
        .child(Element::new("title").with("id", title_id).text(frame.title))
        .child(Element::new("desc").with("id", description_id).text(frame.description));
    if frame.alone {
        svg = svg.child(Element::new("style").style(style_sheet()));
        svg = svg.child(
            Element::new("rect")
                .class("ground")
                .at([("width", frame.width), ("height", frame.height)]),
        );
    }
    svg
}

/// The style sheet of the pictures. First the light look, which old viewers stay with; then the
/// dark one for those who ask for it; paper is always light.
pub(crate) fn style_sheet() -> String {
    let mut css = String::from(SHAPES);
    css.push_str(LIGHT);
    css.push_str("@media screen and (prefers-color-scheme: dark) {\n");
    css.push_str(DARK);
    css.push('}');
    css
}

const SHAPES: &str = "\
text { font: 11.5px system-ui, 'Segoe UI', 'Liberation Sans', sans-serif }
text.heading { font: 600 16px Charter, 'Bitstream Charter', Georgia, 'Liberation Serif', serif }
text.level-name { font-size: 10px }
text.name { font-weight: 600; font-size: 12.5px }
.line { fill: none }
.level { fill: none; stroke-width: 1; stroke-dasharray: 1 4 }
.mat { fill: none; stroke-width: 1.25 }
.stand { fill: none; stroke-width: 3; stroke-linecap: round }
.pause { fill: none; stroke-width: 3; stroke-linecap: round; stroke-dasharray: 0.1 6 }
.seam { fill: none; stroke-width: 0.7 }
.unsure { fill-opacity: 0.3; stroke-width: 1; stroke-dasharray: 3 2 }
.hollow { stroke-width: 1.6 }
.stroke { fill: none; stroke-width: 1.8; stroke-linecap: round; stroke-linejoin: round }
.tap { fill: none; stroke-width: 1; stroke-dasharray: 2 2 }
.hit { fill: transparent }
a:hover .hit, a:focus .hit { fill-opacity: 0.12 }
.flow { fill: none; stroke-opacity: 0.72 }
.spot { stroke-width: 1.5 }
text.place { font-size: 11.5px; paint-order: stroke; stroke-width: 3.5px; stroke-linejoin: round }
text.sign { font-weight: 600 }
text.large { font-size: 14.5px }
.curve { fill: none; stroke-width: 2.2; stroke-linejoin: round }
.curve.thin { stroke-width: 1.2 }
.others { fill: none; stroke-width: 1.4; stroke-dasharray: 5 3 }
.likely { stroke-width: 1.6; stroke-linecap: round }
.bar { fill-opacity: 0.16; stroke: none }
.middle { text-anchor: middle }
.end { text-anchor: end }
";

/// Blue and rust: told apart by people with any of the common kinds of colour blindness, both
/// readable as text on the ground (contrast above 4.5 to 1).
const LIGHT: &str = "\
.ground { fill: #fbf8f1 }
text { fill: #2b2925 }
text.quiet { fill: #66615a }
.level, .axis { stroke: #cfc7b8 }
.mat, .stand, .pause, .tap { stroke: #7d766b }
.seam { stroke: #fbf8f1 }
.first, text.first { fill: #1f5f8b }
.second, text.second { fill: #a4501b }
.nobody, text.nobody { fill: #66615a }
.first.unsure, .first.hollow, .first.stroke { stroke: #1f5f8b }
.second.unsure, .second.hollow, .second.stroke { stroke: #a4501b }
.nobody.hollow, .nobody.stroke { stroke: #66615a }
.hollow { fill: #fbf8f1 }
.stroke { fill: none }
.first.flow, .first.curve, .first.likely { stroke: #1f5f8b; fill: none }
.second.flow, .second.curve, .second.likely { stroke: #a4501b; fill: none }
.nobody.flow, .nobody.curve, .nobody.likely { stroke: #66615a; fill: none }
.spot, text.place { stroke: #fbf8f1 }
.others { stroke: #66615a }
a:hover .hit, a:focus .hit { fill: #2b2925 }
";

const DARK: &str = "\
.ground { fill: #1d1b18 }
text { fill: #ece6da }
text.quiet { fill: #aaa295 }
.level, .axis { stroke: #4a453d }
.mat, .stand, .pause, .tap { stroke: #958d80 }
.seam { stroke: #1d1b18 }
.first, text.first { fill: #8bbfe4 }
.second, text.second { fill: #eda470 }
.nobody, text.nobody { fill: #aaa295 }
.band .first { fill: #5f9bc6 }
.band .second { fill: #cc8350 }
.first.unsure, .first.hollow, .first.stroke { stroke: #8bbfe4 }
.second.unsure, .second.hollow, .second.stroke { stroke: #eda470 }
.nobody.hollow, .nobody.stroke { stroke: #aaa295 }
.hollow { fill: #1d1b18 }
.stroke { fill: none }
.first.flow, .first.curve, .first.likely { stroke: #8bbfe4; fill: none }
.second.flow, .second.curve, .second.likely { stroke: #eda470; fill: none }
.nobody.flow, .nobody.curve, .nobody.likely { stroke: #aaa295; fill: none }
.spot, text.place { stroke: #1d1b18 }
.others { stroke: #aaa295 }
a:hover .hit, a:focus .hit { fill: #ece6da }
";
