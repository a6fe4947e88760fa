//! Two readings of one round.

use figures::interval::Estimate;
use figures::two_readings::{Agreed, Found, OVERLAPS, TwoReadings};

use super::Said;
use crate::amounts::{seconds, share, share_limits, short};

/// How far two readings agree: in words by the share, and by whether the limits of Cohen's kappa
/// leave chance out.
#[must_use]
pub fn agreement(agreed: &Agreed) -> Said {
    let part = match agreed.share.value {
        value if value >= 0.9 => "nearly everywhere",
        value if value >= 0.75 => "mostly",
        value if value >= 0.5 => "on more than half",
        _ => "on less than half",
    };
    let chance = match agreed.kappa {
        Some(kappa) if kappa.interval.low() > 0.0 => ", more than chance would have it",
        Some(_) => ", which may be chance",
        None => "",
    };
    let line = format!(
        "The two readings agree {part} ({}){chance}. Where they differ is a good place to talk.",
        share(agreed.share.value)
    );
    let kappa =
        agreed.kappa.map_or_else(String::new, |kappa| measure("Cohen\u{2019}s kappa", &kappa));
    let numbers = format!(
        "Agreed {} ({}){kappa}{}.",
        share(agreed.share.value),
        share_limits(agreed.share.interval),
        measure("Gwet\u{2019}s AC1", &agreed.ac1),
    );
    Said::new(line, numbers)
}

/// "; Cohen's kappa 0.64 (0.43 to 0.9)"
fn measure(name: &str, estimate: &Estimate) -> String {
    let limits = estimate.interval;
    format!(
        "; {name} {} ({} to {})",
        short(estimate.value),
        short(limits.low()),
        short(limits.high())
    )
}

/// Two readings of a round, position and top together; nothing where nothing could be compared.
#[must_use]
pub fn two_readings(both: &TwoReadings) -> Option<Said> {
    let said = agreement(both.position_and_top.as_ref()?);
    let position = both.position.as_ref().map_or_else(String::new, |agreed| {
        format!(" Of the position alone: {}", agreement(agreed).numbers)
    });
    let found: Vec<String> = (both.stretches.iter().zip(OVERLAPS))
        .map(|(found, overlap)| format!("{} at {}", short(Found::f1(*found)), share(overlap)))
        .collect();
    let numbers = format!(
        "{}{position} Stretches found again, F1 by overlap: {}. Compared were {}.",
        said.numbers,
        found.join(", "),
        seconds(both.compared),
    );
    Some(Said::new(said.line, numbers))
}
