//! The position map: where somebody spends their rounds and how they get from place to place.

mod arrows;
mod spots;

use figures::flows::Flow;
use figures::habits::{SetsApart, is_good};
use figures::place::move_of;
use figures::round::OfPlace;
use figures::tallies::Doing;
use figures::{Place, Role};

use crate::amounts::times;
use crate::doings::placed_clause;
use crate::markup::{Element, number};
use crate::svg::{Frame, picture};
use crate::tide::{TideWidth, label, text_width};
use crate::whose::{Voice, Whose};
use crate::wording::{self, capital, percent};
use arrows::{Arrow, Boxed, Dot, Ground};

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
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    draw(map, width, "map", true).write(&mut out);
    out.push('\n');
    out
}

/// The map as markup for a page that brings [`crate::picture_style`]. `id` tells two pictures of
/// one page apart.
#[must_use]
pub fn position_map_in_page(map: &PositionMap<'_>, width: TideWidth, id: &str) -> String {
    let mut out = String::new();
    draw(map, width, id, false).write(&mut out);
    out
}

/// A flow is drawn from so many expected times on, and of those only the thickest.
const FEWEST: f64 = 1.0;

const fn most_arrows(width: TideWidth) -> usize {
    match width {
        TideWidth::Laptop => 16,
        TideWidth::Phone => 12,
    }
}

/// The thinnest and the thickest arrow, and the smallest and the largest dot of a place that was
/// visited, in units of the picture.
const fn sizes(width: TideWidth) -> ([f64; 2], [f64; 2]) {
    match width {
        TideWidth::Laptop => ([1.5, 9.0], [6.0, 23.0]),
        TideWidth::Phone => ([1.3, 6.0], [5.0, 16.0]),
    }
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
    let key = key(map, width, down + 22.0);
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
        .child(label("\u{25bc} underneath", 12.0, 22.0).class("name second"))
        .child(label("on top \u{25b2}", across - 12.0, 22.0).class("name first end"));
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

/// The flows that get an arrow.
fn drawn(map: &PositionMap<'_>, width: TideWidth) -> Vec<Flow> {
    let rolled =
        |flow: &&Flow| flow.from.is_rolled() && flow.to.is_rolled() && flow.from != flow.to;
    let mut flows: Vec<Flow> =
        map.flows.iter().filter(rolled).filter(|flow| flow.count >= FEWEST).copied().collect();
    flows.sort_by(|one, other| other.count.total_cmp(&one.count));
    flows.truncate(most_arrows(width));
    flows
}

fn share_of(map: &PositionMap<'_>, place: Place) -> f64 {
    map.time.iter().find(|time| time.place == place).map_or(0.0, |time| time.figure.value)
}

fn dot(map: &PositionMap<'_>, place: Place, width: TideWidth) -> Dot {
    let ([_, _], [small, large]) = sizes(width);
    let most = map.time.iter().map(|time| time.figure.value).fold(0.0, f64::max);
    let share = share_of(map, place);
    let middle = spots::spot(place, width);
    // The area grows with the time.
    let radius = if share > 0.0 && most > 0.0 {
        (large * (share / most).sqrt()).clamp(small, large)
    } else {
        small - 2.0
    };
    Dot { middle, radius }
}

/// Words on the map, with the room they take.
struct Written {
    text: String,
    class: &'static str,
    at: [f64; 2],
    room: Boxed,
}

impl Written {
    /// Words in the middle of `x`, on the line `y`.
    fn new(text: String, class: &'static str, x: f64, y: f64) -> Self {
        let half = text_width(&text, 11.5) / 2.0;
        let room = Boxed { left: x - half, right: x + half, top: y - 9.5, bottom: y + 3.0 };
        Written { text, class, at: [x, y], room }
    }

    fn element(&self) -> Element {
        label(&self.text, self.at[0], self.at[1]).class(self.class)
    }
}

/// The places' names under their dots, and the two signs over theirs.
fn texts(map: &PositionMap<'_>, dots: &[(Place, Dot)], width: TideWidth) -> Vec<Written> {
    let mut texts = Vec::new();
    for (place, dot) in dots {
        let [x, y] = dot.middle;
        let class = if share_of(map, *place) > 0.0 { "place middle" } else { "place middle quiet" };
        let name = wording::place_in_short(*place).to_owned();
        texts.push(Written::new(name, class, x, y + dot.radius + 13.0));
        let at = |doing: Option<Doing>| doing.is_some_and(|doing| doing.place == *place);
        let sign = match (at(map.edge), at(map.leak)) {
            // On a narrow map there is no room for both words; they stand in the key.
            (true, true) if width == TideWidth::Phone => format!("{STAR} {LEAK}"),
            (true, true) => format!("{STAR} edge {LEAK} leak"),
            (true, false) => format!("{STAR} edge"),
            (false, true) => format!("{LEAK} leak"),
            (false, false) => continue,
        };
        texts.push(Written::new(sign, "place sign middle", x, y - dot.radius - 6.0));
    }
    texts
}

fn lay(flows: &[Flow], dots: &[(Place, Dot)], texts: &[Written], width: TideWidth) -> Vec<Arrow> {
    let ([thin, thick], _) = sizes(width);
    let most = flows.iter().map(|flow| flow.count).fold(0.0, f64::max);
    let (all, rooms): (Vec<Dot>, Vec<Boxed>) =
        (dots.iter().map(|(_, dot)| *dot).collect(), texts.iter().map(|text| text.room).collect());
    let ground = Ground { size: spots::size(width), dots: &all, texts: &rooms };
    let at = |place: Place| dots.iter().find(|(one, _)| *one == place).map(|(_, dot)| *dot);
    let mut laid: Vec<Arrow> = Vec::new();
    for flow in flows {
        let nowhere = Dot { middle: [0.0, 0.0], radius: 0.0 };
        let [from, to] = [flow.from, flow.to].map(|place| at(place).unwrap_or(nowhere));
        let thickness = (thick * flow.count / most).max(thin);
        let arrow = Arrow::lay(from, to, thickness, &ground, &laid);
        laid.push(arrow);
    }
    laid
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

/// "From under mount to underneath in half guard: 7 times, an escape by the student; 40 % of what
/// follows there, 20 to 64 %"
fn flow_in_numbers(flow: &Flow) -> String {
    let by = match move_of(flow.from, flow.to) {
        Some(what) if what.own => format!(", {} of their own", wording::move_name(what.kind)),
        Some(what) => format!(", {} by the partner", wording::move_name(what.kind)),
        None => String::new(),
    };
    let limits = flow.share.interval;
    format!(
        "From {} to {}: {}{by}; {} of what follows there ({:.0} to {:.0} %)",
        wording::place(flow.from),
        wording::place(flow.to),
        times(flow.count),
        percent(flow.share.value),
        limits.low() * 100.0,
        limits.high() * 100.0,
    )
}

/// The text alternative: what the map is, and its flows in words.
fn description(map: &PositionMap<'_>, drawn: &[Flow]) -> String {
    let all: f64 = map.flows.iter().map(|flow| flow.count).sum();
    let shown: f64 = drawn.iter().map(|flow| flow.count).sum();
    let mut text = String::from(
        "Every place of a round as a dot, larger where more time is spent. Both stand at the top; \
         on the right are the places on top, on the left those underneath, with guards next to the \
         middle and pins, mount and back further out. Arrows lead from place to place, thicker \
         where it happened more often, down to a least thickness. A full head is a move of their \
         own, a hollow head one of the partner.",
    );
    if drawn.is_empty() {
        text.push_str(" No change of place has been seen yet.");
    } else {
        text.push_str(&format!(
            " Drawn are the {} that happened most often, with {} of all changes.",
            if drawn.len() == 1 { "one".to_owned() } else { drawn.len().to_string() },
            percent(if all > 0.0 { shown / all } else { 0.0 }),
        ));
    }
    for flow in drawn {
        let (from, to) = (wording::place(flow.from), wording::place(flow.to));
        text.push_str(&format!(" From {from} to {to}: {}.", times(flow.count)));
    }
    for line in signs(map) {
        text.push_str(&format!(" {line}."));
    }
    text
}

/// "Edge: on top in half guard, you often pass" and the same for the leak.
fn signs(map: &PositionMap<'_>) -> Vec<String> {
    let line = |name: &str, doing: Doing, better: bool| {
        let often = is_good(doing).unwrap_or(true) == better;
        let clause = placed_clause(&map.whose, doing, if often { "often" } else { "seldom" }, true);
        format!("{name}: {clause}")
    };
    let edge = map.edge.map(|doing| line("Edge", doing, true));
    edge.into_iter().chain(map.leak.map(|doing| line("Leak", doing, false))).collect()
}

/// What the signs mean, under the map, and how much room that takes.
fn key(map: &PositionMap<'_>, width: TideWidth, top: f64) -> (Element, f64) {
    let mut group = Element::new("g").class("key");
    let left = 12.0;
    let mut y = top;
    let mut x = left;
    let (across, _) = (spots::size(width)[0], 0.0);
    let meanings = [
        ("flow first", "first", "their own move"),
        ("flow second", "second hollow", "the partner\u{2019}s move"),
    ];
    for (line, head, text) in meanings {
        let text = match (map.whose.voice, text) {
            (Voice::You, "their own move") => "your own move",
            _ => text,
        };
        let tip = x + 30.0;
        let points =
            format!("{},{} {},{} {tip},{}", tip - 9.0, y - 9.0, tip - 9.0, y + 1.0, y - 4.0);
        group = group
            .child(
                Element::new("path")
                    .class(line)
                    .with("d", format!("M{x} {}H{}", y - 4.0, tip - 9.0))
                    .at([("stroke-width", 3.0)]),
            )
            .child(Element::new("polygon").class(head).with("points", points))
            .child(label(text, tip + 6.0, y).class("quiet"));
        x = tip + 6.0 + text_width(text, 11.5) + 22.0;
    }
    let rest = ["thicker: more often", "larger dot: more time"];
    for text in rest {
        let long = text_width(text, 11.5);
        if x + long > across - 8.0 {
            (x, y) = (left, y + 18.0);
        }
        group = group.child(label(text, x, y).class("quiet"));
        x += long + 22.0;
    }
    for (line, sign) in signs(map).iter().zip(signs_of(map)) {
        for (index, part) in broken(line, across - 46.0).into_iter().enumerate() {
            y += 18.0;
            if index == 0 {
                group = group.child(label(sign, left, y).class("sign"));
            }
            group = group.child(label(&part, left + 18.0, y));
        }
    }
    (group, y - top + 12.0)
}

fn signs_of(map: &PositionMap<'_>) -> Vec<&'static str> {
    map.edge.map(|_| STAR).into_iter().chain(map.leak.map(|_| LEAK)).collect()
}

/// A text in lines of at most so many units.
fn broken(text: &str, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(line, 11.5) + text_width(word, 11.5) + 6.0 <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use academy::Pronoun;
    use arrows::apart;

    const WIDTHS: [TideWidth; 2] = [TideWidth::Laptop, TideWidth::Phone];

    fn figure(value: f64) -> figures::Figure {
        let interval =
            figures::proportions::wilson(1.0, 2.0, figures::interval::Level::NINETY_FIVE)
                .unwrap()
                .interval;
        figures::Figure { value, count: 10.0, interval, confirmed: 1.0 }
    }

    /// Everything at once: every place with so much time, and flows between many of them.
    fn see(share: f64, check: impl Fn(&PositionMap<'_>)) {
        let places: Vec<Place> = Place::all().collect();
        let time: Vec<OfPlace> =
            places.iter().map(|place| OfPlace { place: *place, figure: figure(share) }).collect();
        let mut flows = Vec::new();
        for (at, from) in places.iter().enumerate() {
            for (step, to) in [(1, 9.0), (3, 5.0), (7, 2.0)]
                .map(|(step, count)| (places[(at + step) % places.len()], count))
            {
                flows.push(Flow { from: *from, to: step, count: to, share: figure(0.3) });
            }
        }
        let whose = Whose { name: "Petra", pronoun: Some(Pronoun::She), voice: Voice::Third };
        let doing = |place| Some(Doing { place, kind: academy::EventKind::Escape, own: true });
        for place in places {
            let (edge, leak) = (doing(place), doing(place));
            check(&PositionMap { whose, time: &time, flows: &flows, edge, leak });
        }
    }

    #[test]
    fn every_place_has_a_spot_inside_of_the_map_and_its_mirror() {
        for width in WIDTHS {
            let [across, down] = spots::size(width);
            for place in Place::all() {
                let [x, y] = spots::spot(place, width);
                assert!(20.0 < x && x < across - 20.0 && 40.0 < y && y < down - 20.0, "{place:?}");
                let [mirror, level] = spots::spot(place.across(), width);
                assert_eq!((x + mirror, y), (across, level));
            }
        }
    }

    #[test]
    fn no_names_overlap_each_other_or_a_dot() {
        for width in WIDTHS {
            for share in [0.0, 0.04] {
                see(share, |map| {
                    let dots: Vec<(Place, Dot)> =
                        Place::all().map(|place| (place, dot(map, place, width))).collect();
                    let texts = texts(map, &dots, width);
                    let across = spots::size(width)[0];
                    for (at, text) in texts.iter().enumerate() {
                        let one = text.room;
                        assert!(one.left > 0.0 && one.right < across, "{}", text.text);
                        for other in &texts[at + 1..] {
                            let two = other.room;
                            let beside = one.right < two.left || two.right < one.left;
                            let apart = one.bottom < two.top || two.bottom < one.top;
                            assert!(beside || apart, "{} over {}", text.text, other.text);
                        }
                        for (place, dot) in &dots {
                            let [x, y] = dot.middle;
                            let near = [x.clamp(one.left, one.right), y.clamp(one.top, one.bottom)];
                            assert!(
                                self::apart(near, dot.middle) > dot.radius - 0.5,
                                "{} in {place:?}",
                                text.text
                            );
                        }
                    }
                });
            }
        }
    }

    #[test]
    fn arrows_lead_from_their_place_to_their_place() {
        for width in WIDTHS {
            see(0.04, |map| {
                let flows = drawn(map, width);
                let dots: Vec<(Place, Dot)> =
                    Place::all().map(|place| (place, dot(map, place, width))).collect();
                let arrows = lay(&flows, &dots, &texts(map, &dots, width), width);
                assert_eq!(arrows.len(), most_arrows(width));
                for (flow, arrow) in flows.iter().zip(&arrows) {
                    let at = |place| dots.iter().find(|dot| dot.0 == place).unwrap().1;
                    let (from, to) = (at(flow.from), at(flow.to));
                    let begins = apart(arrow.start(), from.middle) - from.radius;
                    let ends = apart(arrow.head[2], to.middle) - to.radius;
                    assert!((1.0..5.0).contains(&begins) && (1.0..5.0).contains(&ends), "{flow:?}");
                }
            });
        }
    }
}
