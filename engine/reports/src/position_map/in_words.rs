//! The map in words: for those who cannot see it, and for those who ask an arrow.

use figures::flows::Flow;
use figures::habits::is_good;
use figures::place::move_of;
use figures::tallies::Doing;

use super::PositionMap;
use crate::amounts::{share_limits, times};
use crate::doings::placed_clause;
use crate::wording::{self, percent};

/// "From under mount to underneath in half guard: 7 times, an escape by the student; 40 % of what
/// follows there, 20 to 64 %"
pub(super) fn flow_in_numbers(flow: &Flow) -> String {
    let by = match move_of(flow.from, flow.to) {
        Some(what) if what.own => format!(", {} of their own", wording::move_name(what.kind)),
        Some(what) => format!(", {} by the partner", wording::move_name(what.kind)),
        None => String::new(),
    };
    let limits = flow.share.interval;
    format!(
        "From {} to {}: {}{by}; {} of what follows there ({})",
        wording::place(flow.from),
        wording::place(flow.to),
        times(flow.count),
        percent(flow.share.value),
        share_limits(limits),
    )
}

/// The text alternative: what the map is, and its flows in words.
pub(super) fn description(map: &PositionMap<'_>, drawn: &[Flow]) -> String {
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
pub(super) fn signs(map: &PositionMap<'_>) -> Vec<String> {
    let line = |name: &str, doing: Doing, better: bool| {
        let often = is_good(doing).unwrap_or(true) == better;
        let clause = placed_clause(&map.whose, doing, if often { "often" } else { "seldom" }, true);
        format!("{name}: {clause}")
    };
    let edge = map.edge.map(|doing| line("Edge", doing, true));
    edge.into_iter().chain(map.leak.map(|doing| line("Leak", doing, false))).collect()
}
