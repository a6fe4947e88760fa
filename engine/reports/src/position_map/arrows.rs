//! The arrows of the map: curves from place to place that keep clear of dots, names and each other.

use crate::markup::number;

/// A point of the picture.
pub(crate) type Point = [f64; 2];

/// A dot with its radius.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Dot {
    pub(crate) middle: Point,
    pub(crate) radius: f64,
}

/// A stretch of the picture that text fills.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Boxed {
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
}

impl Boxed {
    fn holds(&self, [x, y]: Point, margin: f64) -> bool {
        self.left - margin < x
            && x < self.right + margin
            && self.top - margin < y
            && y < self.bottom + margin
    }
}

/// An arrow laid out.
#[derive(Clone, Debug)]
pub(crate) struct Arrow {
    /// The curve's three points, from the edge of one dot to where the head begins.
    curve: [Point; 3],
    /// Points along it, by which it is told what it lies on: each is asked for thousands of times.
    along: [Point; SAMPLES + 1],
    /// The head: its two corners and its tip, at the edge of the other dot.
    pub(crate) head: [Point; 3],
    pub(crate) thickness: f64,
}

/// What arrows have to keep clear of.
pub(crate) struct Ground<'a> {
    pub(crate) size: [f64; 2],
    pub(crate) dots: &'a [Dot],
    pub(crate) texts: &'a [Boxed],
}

/// How far an arrow may bow to the right or left of its way, as a share of its length.
const BOWS: [f64; 18] = [
    0.1, -0.1, 0.16, -0.16, 0.23, -0.23, 0.31, -0.31, 0.4, -0.4, 0.5, -0.5, 0.62, -0.62, 0.76,
    -0.76, 0.95, -0.95,
];

/// Points of a curve that are looked at.
const SAMPLES: usize = 28;

impl Arrow {
    /// The best of several bows, given the arrows that lie there already.
    pub(crate) fn lay(
        from: Dot,
        to: Dot,
        thickness: f64,
        ground: &Ground<'_>,
        laid: &[Arrow],
    ) -> Arrow {
        let arrows = BOWS.iter().map(|bow| (*bow, Arrow::bowed(from, to, *bow, thickness)));
        let costed = arrows.map(|(bow, arrow)| (arrow.cost(bow, from, to, ground, laid), arrow));
        let best = costed.reduce(|best, next| if next.0 < best.0 { next } else { best });
        best.map_or_else(|| Arrow::bowed(from, to, 0.0, thickness), |best| best.1)
    }

    fn bowed(from: Dot, to: Dot, bow: f64, thickness: f64) -> Arrow {
        let [a, b] = [from.middle, to.middle];
        let way = [b[0] - a[0], b[1] - a[1]];
        let bend = [(a[0] + b[0]) / 2.0 - way[1] * bow, (a[1] + b[1]) / 2.0 + way[0] * bow];
        let whole = [a, bend, b];
        // From the edge of one dot to the edge of the other, less the head.
        let long = 6.0 + thickness;
        let start = crossing(&whole, a, from.radius + 2.0, true);
        let tip = crossing(&whole, b, to.radius + 2.0, false);
        let neck = crossing(&whole, b, to.radius + 2.0 + long, false).max(start);
        let (tip, base) = (point(&whole, tip), point(&whole, neck));
        let along = unit([tip[0] - base[0], tip[1] - base[1]]);
        let half = 3.0 + thickness * 0.75;
        let corner =
            |side: f64| [base[0] - along[1] * half * side, base[1] + along[0] * half * side];
        let curve = part(&whole, start, neck);
        Arrow {
            curve,
            along: std::array::from_fn(|at| point(&curve, at as f64 / SAMPLES as f64)),
            head: [corner(1.0), corner(-1.0), tip],
            thickness,
        }
    }

    /// How bad it is to lie so: over other dots and words, on other arrows, far out of the way.
    fn cost(&self, bow: f64, from: Dot, to: Dot, ground: &Ground<'_>, laid: &[Arrow]) -> f64 {
        let mut cost = bow.abs() * 14.0 + if bow < 0.0 { 0.5 } else { 0.0 };
        let room = self.thickness / 2.0;
        let others = || {
            let ends = [from.middle, to.middle];
            ground.dots.iter().filter(move |dot| !ends.contains(&dot.middle))
        };
        let inside =
            Boxed { left: 6.0, right: ground.size[0] - 6.0, top: 30.0, bottom: ground.size[1] };
        for here in self.along {
            cost += if inside.holds(here, -room) { 0.0 } else { 10.0 };
            cost += 6.0
                * others().filter(|dot| near(here, dot.middle, dot.radius + room + 4.0)).count()
                    as f64;
            cost += 2.5
                * ground.texts.iter().filter(|text| text.holds(here, room + 1.0)).count() as f64;
            let touches = |arrow: &&Arrow| {
                let reach = room + arrow.thickness / 2.0 + 3.0;
                arrow.along.iter().any(|other| near(here, *other, reach))
            };
            cost += 1.2 * laid.iter().filter(touches).count() as f64;
        }
        cost + self.head_cost(ground, laid)
    }

    /// A head that lies under a name or on another head can't be read.
    fn head_cost(&self, ground: &Ground<'_>, laid: &[Arrow]) -> f64 {
        let middle = between(between(self.head[0], self.head[1], 0.5), self.head[2], 0.5);
        let points = [middle, self.head[2], between(self.head[0], self.head[1], 0.5)];
        let under = |text: &&Boxed| points.iter().any(|point| text.holds(*point, 4.0));
        let reach = 5.0 + self.thickness / 2.0;
        let crowded = |arrow: &&Arrow| {
            let other = between(between(arrow.head[0], arrow.head[1], 0.5), arrow.head[2], 0.5);
            let near_head = near(middle, other, reach + 5.0 + arrow.thickness / 2.0);
            let on_line = arrow.along.iter().any(|point| near(*point, middle, reach));
            near_head || on_line || self.along.iter().any(|point| near(*point, other, reach))
        };
        let texts = ground.texts.iter().filter(under).count() as f64;
        20.0 * texts + 7.0 * laid.iter().filter(crowded).count() as f64
    }

    /// Where it begins.
    #[cfg(test)]
    pub(crate) const fn start(&self) -> Point {
        self.curve[0]
    }

    /// The curve as a path.
    pub(crate) fn path(&self) -> String {
        let [a, bend, b] = self.curve.map(|[x, y]| format!("{} {}", number(x), number(y)));
        format!("M{a}Q{bend} {b}")
    }

    /// The head as a list of points.
    pub(crate) fn head_points(&self) -> String {
        let corners = self.head.map(|[x, y]| format!("{},{}", number(x), number(y)));
        corners.join(" ")
    }
}

#[cfg(test)]
pub(crate) fn apart(one: Point, other: Point) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}

/// Whether two points are less than so far apart; by squares, since a map asks a million times.
fn near(one: Point, other: Point, reach: f64) -> bool {
    let (x, y) = (one[0] - other[0], one[1] - other[1]);
    x * x + y * y < reach * reach
}

fn unit([x, y]: Point) -> Point {
    let long = x.hypot(y);
    if long > 0.0 { [x / long, y / long] } else { [1.0, 0.0] }
}

fn between(one: Point, other: Point, share: f64) -> Point {
    [one[0] + (other[0] - one[0]) * share, one[1] + (other[1] - one[1]) * share]
}

/// The point of a quadratic curve at a share of it.
fn point(curve: &[Point; 3], share: f64) -> Point {
    let [a, bend, b] = *curve;
    between(between(a, bend, share), between(bend, b, share), share)
}

/// The part of a quadratic curve between two shares (de Casteljau's way of cutting it).
fn part(curve: &[Point; 3], from: f64, to: f64) -> [Point; 3] {
    let [a, bend, b] = *curve;
    let mixed = between(between(a, bend, from), between(bend, b, from), to);
    [point(curve, from), mixed, point(curve, to)]
}

/// The share of the curve at which it leaves, or from its end reaches, a circle.
fn crossing(curve: &[Point; 3], middle: Point, radius: f64, leaving: bool) -> f64 {
    const STEPS: usize = 400;
    let share = |at: usize| at as f64 / STEPS as f64;
    let at = |at: usize| if leaving { share(at) } else { 1.0 - share(at) };
    let out = (0..=STEPS).find(|step| !near(point(curve, at(*step)), middle, radius));
    out.map_or(0.5, at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_of_a_curve_lies_on_the_curve() {
        let whole = [[0.0, 0.0], [10.0, 30.0], [40.0, 0.0]];
        let cut = part(&whole, 0.2, 0.7);
        for share in [0.0, 0.3, 1.0] {
            let there = point(&whole, 0.2 + share * 0.5);
            assert!(apart(point(&cut, share), there) < 1e-9);
        }
    }

    #[test]
    fn an_arrow_keeps_clear_of_a_dot_in_its_way() {
        let dot = |x: f64, y: f64| Dot { middle: [x, y], radius: 12.0 };
        let (from, between, to) = (dot(50.0, 200.0), dot(150.0, 200.0), dot(250.0, 200.0));
        let dots = [from, between, to];
        let ground = Ground { size: [300.0, 400.0], dots: &dots, texts: &[] };
        let arrow = Arrow::lay(from, to, 4.0, &ground, &[]);
        assert!(arrow.along.iter().all(|here| apart(*here, between.middle) > 14.0));
        // Back again it lies elsewhere.
        let back = Arrow::lay(to, from, 4.0, &ground, std::slice::from_ref(&arrow));
        let far = back.along[SAMPLES / 2];
        assert!(arrow.along.iter().all(|here| apart(*here, far) > 6.0));
    }
}
