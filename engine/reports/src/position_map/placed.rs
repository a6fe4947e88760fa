//! What lies where on the map: dots by time, names, signs, and the arrows between them.

use figures::Place;
use figures::flows::Flow;
use figures::tallies::Doing;

use super::arrows::{Arrow, Boxed, Dot, Ground};
use super::{LEAK, PositionMap, STAR, spots};
use crate::markup::Element;
use crate::tide::{TideWidth, label, text_width};
use crate::wording;

/// A flow is drawn from so many expected times on, and of those only the thickest.
pub(super) const FEWEST: f64 = 1.0;

pub(super) const fn most_arrows(width: TideWidth) -> usize {
    match width {
        TideWidth::Laptop => 16,
        TideWidth::Phone => 12,
    }
}

/// The thinnest and the thickest arrow, and the smallest and the largest dot of a place that was
/// visited, in units of the picture.
pub(super) const fn sizes(width: TideWidth) -> ([f64; 2], [f64; 2]) {
    match width {
        TideWidth::Laptop => ([1.5, 9.0], [6.0, 23.0]),
        TideWidth::Phone => ([1.3, 6.0], [5.0, 16.0]),
    }
}

/// The size of letters, and the class that says so: a wide map is mostly shown smaller than drawn.
pub(super) const fn letters(width: TideWidth) -> (f64, &'static str) {
    match width {
        TideWidth::Laptop => (14.5, " large"),
        TideWidth::Phone => (11.5, ""),
    }
}

/// The flows that get an arrow.
pub(super) fn drawn(map: &PositionMap<'_>, width: TideWidth) -> Vec<Flow> {
    let rolled =
        |flow: &&Flow| flow.from.is_rolled() && flow.to.is_rolled() && flow.from != flow.to;
    let mut flows: Vec<Flow> =
        map.flows.iter().filter(rolled).filter(|flow| flow.count >= FEWEST).copied().collect();
    flows.sort_by(|one, other| other.count.total_cmp(&one.count));
    flows.truncate(most_arrows(width));
    flows
}

pub(super) fn share_of(map: &PositionMap<'_>, place: Place) -> f64 {
    map.time.iter().find(|time| time.place == place).map_or(0.0, |time| time.figure.value)
}

pub(super) fn dot(map: &PositionMap<'_>, place: Place, width: TideWidth) -> Dot {
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
pub(super) struct Written {
    text: String,
    class: String,
    at: [f64; 2],
    room: Boxed,
}

impl Written {
    /// Words in the middle of `x`, on the line `y`.
    fn new(text: String, class: String, size: f64, [x, y]: [f64; 2]) -> Self {
        let half = text_width(&text, size) / 2.0;
        let room = Boxed {
            left: x - half,
            right: x + half,
            top: y - size * 0.83,
            bottom: y + size * 0.26,
        };
        Written { text, class, at: [x, y], room }
    }

    pub(super) fn element(&self) -> Element {
        label(&self.text, self.at[0], self.at[1]).class(&self.class)
    }
}

/// The places' names under their dots, and the two signs over theirs.
pub(super) fn texts(
    map: &PositionMap<'_>,
    dots: &[(Place, Dot)],
    width: TideWidth,
) -> Vec<Written> {
    let mut texts = Vec::new();
    let (size, more) = letters(width);
    for (place, dot) in dots {
        let [x, y] = dot.middle;
        let class = if share_of(map, *place) > 0.0 { "place middle" } else { "place middle quiet" };
        let name = wording::place_in_short(*place).to_owned();
        let class = format!("{class}{more}");
        texts.push(Written::new(name, class, size, [x, y + dot.radius + size + 1.5]));
        let at = |doing: Option<Doing>| doing.is_some_and(|doing| doing.place == *place);
        let sign = match (at(map.edge), at(map.leak)) {
            // On a narrow map there is no room for both words; they stand in the key.
            (true, true) if width == TideWidth::Phone => format!("{STAR} {LEAK}"),
            (true, true) => format!("{STAR} edge {LEAK} leak"),
            (true, false) => format!("{STAR} edge"),
            (false, true) => format!("{LEAK} leak"),
            (false, false) => continue,
        };
        let class = format!("place sign middle{more}");
        texts.push(Written::new(sign, class, size, [x, y - dot.radius - 6.0]));
    }
    texts
}

pub(super) fn lay(
    flows: &[Flow],
    dots: &[(Place, Dot)],
    texts: &[Written],
    width: TideWidth,
) -> Vec<Arrow> {
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

#[cfg(test)]
mod tests {
    use super::super::arrows::apart;
    use super::*;
    use academy::Pronoun;
    use figures::round::OfPlace;

    use crate::whose::{Voice, Whose};

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
