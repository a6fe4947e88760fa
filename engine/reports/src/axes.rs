//! Axes of the small pictures: ticks at round numbers, with their labels and the unit.

use crate::markup::{Element, number};
use crate::tide::{label, text_width};

/// Where a picture's drawing ground lies, in its units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plot {
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
}

impl Plot {
    /// Across, for a share of the width.
    pub(crate) fn x(&self, share: f64) -> f64 {
        self.left + share.clamp(0.0, 1.0) * (self.right - self.left)
    }

    /// Up, for a share of the height.
    pub(crate) fn y(&self, share: f64) -> f64 {
        self.bottom - share.clamp(0.0, 1.0) * (self.bottom - self.top)
    }

    /// Faint lines at shares of the height, with words at their left.
    pub(crate) fn levels(&self, levels: &[(f64, String)]) -> Element {
        let mut group = Element::new("g");
        for (share, name) in levels {
            let y = self.y(*share);
            let line = format!("M{} {}H{}", number(self.left), number(y), number(self.right));
            group = group
                .child(Element::new("path").class("level").with("d", line))
                .child(label(name, self.left - 6.0, y + 3.5).class("level-name quiet end"));
        }
        group
    }

    /// The line at the bottom with ticks at shares of the width; labels that would run into the one
    /// before are left out.
    pub(crate) fn bottom_line(&self, ticks: &[(f64, String)], unit: &str) -> Element {
        let line = format!("M{} {}H{}", number(self.left), number(self.bottom), number(self.right));
        let mut group =
            Element::new("g").child(Element::new("path").class("axis line").with("d", line));
        let y = self.bottom + 17.0;
        let room = self.right - if unit.is_empty() { 0.0 } else { text_width(unit, 10.0) + 4.0 };
        let mut free = f64::NEG_INFINITY;
        for (share, name) in ticks {
            let x = self.x(*share);
            let line = format!("M{} {}v4", number(x), number(self.bottom));
            group = group.child(Element::new("path").class("axis line").with("d", line));
            let half = text_width(name, 11.5) / 2.0;
            if x - half > free && x + half <= room.max(self.left + half) {
                group = group.child(label(name, x, y).class("middle quiet"));
                free = x + half + 8.0;
            }
        }
        if unit.is_empty() {
            return group;
        }
        group.child(label(unit, self.right, y).class("level-name quiet end"))
    }
}

/// The smallest round step (1, 2 or 5 times a power of ten, from 1 on) with at most so many steps up
/// to `most`.
pub(crate) fn step(most: f64, steps: f64) -> f64 {
    let mut size = 1.0;
    loop {
        for times in [1.0, 2.0, 5.0] {
            if most / (size * times) <= steps || size > 1e9 {
                return size * times;
            }
        }
        size *= 10.0;
    }
}

/// Labels of a share: 0, half and all of it.
pub(crate) fn share_levels() -> [(f64, String); 3] {
    [(0.0, "0 %".to_owned()), (0.5, "50 %".to_owned()), (1.0, "100 %".to_owned())]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (most, steps, size) in [(4.0, 6.0, 1.0), (60.0, 6.0, 10.0), (61.0, 6.0, 20.0)] {
            assert_eq!(step(most, steps), size);
        }
    }
}
