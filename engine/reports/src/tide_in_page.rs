//! The tide as a part of a page that brings the style sheet of the pictures itself.

use academy::{Ledger, Round, Time};

use crate::svg;
use crate::tide::{Drawing, TideWidth, draw};

/// A tide for a page, and where things lie in it, so that a playhead can be laid over it.
#[derive(Clone, Debug, PartialEq)]
pub struct TideInPage {
    /// The picture, as markup for the page: no style inside, links for its moments.
    pub svg: String,
    /// Where the time of the round begins and ends, as shares of the picture's width.
    pub time: [f64; 2],
    /// Where the time axis lies, as a share of the picture's height.
    pub axis: f64,
}

/// The tide of a round for a page, which needs [`picture_style`] as a style sheet.
///
/// `id` tells two pictures of one page apart; `link` says where a press on a moment leads.
#[must_use]
pub fn tide_in_page(
    round: &Round,
    ledger: &Ledger,
    width: TideWidth,
    id: &str,
    link: &dyn Fn(Time) -> String,
) -> TideInPage {
    let link = |time: Time| Some(link(time));
    let drawn = draw(round, ledger, &Drawing { width, id, alone: false, link: Some(&link) });
    let mut svg = String::new();
    drawn.svg.write(&mut svg);
    let [width, height] = drawn.size;
    TideInPage { svg, time: drawn.time.map(|x| x / width), axis: drawn.axis / height }
}

/// The style sheet of the pictures, on light and dark grounds and on paper.
#[must_use]
pub fn picture_style() -> String {
    svg::style_sheet()
}
