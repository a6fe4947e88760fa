//! What the signs of the map mean, under it.

use super::in_words::signs;
use super::placed::letters;
use super::{LEAK, PositionMap, STAR, spots};
use crate::markup::Element;
use crate::tide::{TideWidth, label, text_width};
use crate::whose::Voice;

/// What the signs mean, under the map, and how much room that takes.
pub(super) fn key(map: &PositionMap<'_>, width: TideWidth, top: f64) -> (Element, f64) {
    let mut group = Element::new("g").class("key");
    let (left, row) = (12.0, 21.0);
    let (size, more) = letters(width);
    let quiet = format!("quiet{more}");
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
            .child(label(text, tip + 6.0, y).class(&quiet));
        x = tip + 6.0 + text_width(text, size) + 30.0;
    }
    let rest = ["thicker: more often", "larger dot: more time"];
    for text in rest {
        let long = text_width(text, size);
        if x + long > across - 8.0 {
            (x, y) = (left, y + row);
        }
        group = group.child(label(text, x, y).class(&quiet));
        x += long + 26.0;
    }
    for (line, sign) in signs(map).iter().zip(signs_of(map)) {
        for (index, part) in broken(line, across - 46.0, size).into_iter().enumerate() {
            y += row;
            if index == 0 {
                group = group.child(label(sign, left, y).class(&format!("sign{more}")));
            }
            group = group.child(label(&part, left + 20.0, y).class(more.trim_start()));
        }
    }
    (group, y - top + 12.0)
}

pub(super) fn signs_of(map: &PositionMap<'_>) -> Vec<&'static str> {
    map.edge.map(|_| STAR).into_iter().chain(map.leak.map(|_| LEAK)).collect()
}

/// A text in lines of at most so many units.
pub(super) fn broken(text: &str, room: f64, size: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(line, size) + text_width(word, size) + 6.0 <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
