//! What an action brings and what it costs.

use figures::balance::Balance;
use figures::tallies::Doing;
use figures::{Place, Role};

use super::{FEW, Said};
use crate::amounts::{share, times};
use crate::doings::gerund;
use crate::wording::capital;

/// What tends to come after an action: a submission for the student, or one for the other.
#[must_use]
pub fn balance(balance: &Balance) -> Said {
    // The words of an action do not depend on the place.
    let place = Place { position: academy::Position::Standing, role: Role::Neither };
    let action = balance.action;
    let name = capital(gerund(Doing { place, kind: action.kind, own: action.own }));
    let seen = times(balance.count);
    let limits = balance.interval;
    let line = if balance.count < FEW {
        let only = if balance.count > 0.05 { "only " } else { "" };
        format!("{name}: {only}{seen} so far, so this is mostly what others show.")
    } else if limits.low() > 0.0 {
        format!("{name}, {seen}: it tends to bring more submissions than it costs.")
    } else if limits.high() < 0.0 {
        format!("{name}, {seen}: it tends to be followed by being submitted.")
    } else {
        format!("{name}, {seen}: what it brings and what it costs are about even.")
    };
    let numbers = format!(
        "Next comes a submission of their own in {}, of the partner in {}: {} in a hundred ({} to \
         {}).",
        share(balance.submits),
        share(balance.submitted),
        points(balance.value),
        points(limits.low()),
        points(limits.high()),
    );
    Said::new(line, numbers)
}

/// "+12", "0", "\u{2212}4"
fn points(share: f64) -> String {
    let whole = (share * 100.0).round();
    match whole {
        whole if whole < 0.0 => format!("\u{2212}{:.0}", -whole),
        whole if whole > 0.0 => format!("+{whole:.0}"),
        _ => "0".to_owned(),
    }
}
