//! The position map: where somebody spends their rounds and how they get from place to place.

mod arrows;
mod in_words;
mod key;
mod placed;
mod spots;

use figures::flows::Flow;
use figures::habits::SetsApart;
use figures::place::move_of;
use figures::round::OfPlace;
use figures::tallies::Doing;
use figures::{Place, Role};

use crate::markup::{Element, number};
use crate::one_file;
use crate::svg::{Frame, picture};
use crate::tide::{TideWidth, label};
use crate::whose::{Voice, Whose};
use crate::wording::{self, capital, percent};
use arrows::{Arrow, Dot};
use in_words::{description, flow_in_numbers};
use placed::{Written, dot, drawn, lay, letters, share_of, texts};

/// What a map shows.
#[derive(Clone, Copy, Debug)]
pub struct PositionMap<'a> {
    /// Whose map it is.
    pub whose: Whose<'a>,
    /// Share of time by place ([`figures::round::time_shares`]).
    pub time: &'a [OfPlace],
    /// Flows, thickest first ([`figures::flows::flows`]).
    pub flows: &'a [Flow],
    /// Their surest way, where there is one.
    pub edge: Option<Doing>,
    /// Their leak, where there is one.
    pub leak: Option<Doing>,
}

impl<'a> PositionMap<'a> {
    /// A map with the first of the surest ways and of the leaks.
    #[must_use]
    pub fn new(
        whose: Whose<'a>,
        time: &'a [OfPlace],
        flows: &'a [Flow],
        surest: &[SetsApart],
        leaks: &[SetsApart],
    ) -> Self {
        let first = |of: &[SetsApart]| of.first().map(|one| one.habit.doing);
        PositionMap { whose, time, flows, edge: first(surest), leak: first(leaks) }
    }
}

/// The map as an SVG file of its own, which follows the reader's light or dark setting.
#[must_use]
pub fn position_map(map: &PositionMap<'_>, width: TideWidth) -> String {
    one_file::picture(&draw(map, width, "map", true))
}

/// The map as markup for a page that brings [`crate::picture_style`]. `id` tells two pictures of
/// one page apart.
#[must_use]
pub fn position_map_in_page(map: &PositionMap<'_>, width: TideWidth, id: &str) -> String {
    let mut out = String::new();
    draw(map, width, id, false).write(&mut out);
    out
}

const STAR: &str = "\u{2605}";
const LEAK: &str = "\u{25bd}";

pub(crate) fn draw(map: &PositionMap<'_>, width: TideWidth, id: &str, alone: bool) -> Element {
    let drawn = drawn(map, width);
    let dots: Vec<(Place, Dot)> =
        Place::all().map(|place| (place, dot(map, place, width))).collect();
    let texts = texts(map, &dots, width);
    let arrows = lay(&drawn, &dots, &texts, width);
    let [across, down] = spots::size(width);
    let key = key::key(map, width, down + 22.0);
    let title = format!("Position map: {}", who(&map.whose));
    let mut svg = picture(&Frame {
        id,
        class: "map",
        width: across,
        height: down + 22.0 + key.1,
        title: &title,
        description: &description(map, &drawn),
        alone,
        links: false,
    });
    svg = svg
        .child(
            label("\u{25bc} underneath", 12.0, 22.0)
                .class(&format!("name second{}", letters(width).1)),
        )
        .child(
            label("on top \u{25b2}", across - 12.0, 22.0)
                .class(&format!("name first end{}", letters(width).1)),
        );
    let line = format!("M{0} 112V{1}", number(across / 2.0), number(down - 8.0));
    svg = svg.child(Element::new("path").class("level").with("d", line));
    let flows = drawn.iter().zip(&arrows).map(|(flow, arrow)| arrow_element(flow, arrow));
    svg.child(Element::new("g").class("flows").children(flows))
        .child(
            Element::new("g")
                .children(dots.iter().map(|(place, dot)| dot_element(map, *place, *dot))),
        )
        .child(Element::new("g").children(texts.iter().map(Written::element)))
        .child(key.0)
}

/// "Petra", "you", "the blue belts".
fn who(whose: &Whose<'_>) -> String {
    match whose.voice {
        Voice::You => whose.name.to_owned(),
        Voice::Third | Voice::Together => whose.name(),
    }
}

/// The colour of a side.
const fn side(role: Role) -> &'static str {
    match role {
        Role::Top => "first",
        Role::Bottom => "second",
        Role::Neither => "nobody",
    }
}

fn dot_element(map: &PositionMap<'_>, place: Place, dot: Dot) -> Element {
    let share = share_of(map, place);
    let class = if share > 0.0 {
        format!("spot {}", side(place.role))
    } else {
        format!("hollow {}", side(place.role))
    };
    let time = if share > 0.0 {
        format!("{}: {} of the time", capital(&wording::place(place)), percent(share))
    } else {
        format!("{}: not seen", capital(&wording::place(place)))
    };
    Element::new("circle")
        .class(&class)
        .at([("cx", dot.middle[0]), ("cy", dot.middle[1]), ("r", dot.radius)])
        .child(Element::new("title").text(time))
}

/// Whose move a flow is; nothing where it has no name.
fn own(flow: &Flow) -> Option<bool> {
    move_of(flow.from, flow.to).map(|what| what.own)
}

fn arrow_element(flow: &Flow, arrow: &Arrow) -> Element {
    let (class, head) = match own(flow) {
        Some(true) => ("flow first", "first"),
        Some(false) => ("flow second", "second hollow"),
        None => ("flow nobody", "nobody"),
    };
    Element::new("g")
        .child(Element::new("title").text(flow_in_numbers(flow)))
        .child(
            Element::new("path")
                .class(class)
                .with("d", arrow.path())
                .at([("stroke-width", arrow.thickness)]),
        )
        .child(Element::new("polygon").class(head).with("points", arrow.head_points()))
}
