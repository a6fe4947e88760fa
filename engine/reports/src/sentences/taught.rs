//! What was taught, before the class and since.

use figures::taught::Use;

use super::changed::ratio_in_words;
use super::{FEW, MORE_THAN_CHANCE, Said};
use crate::amounts::{counted, rate, rate_limits, share, short, times};
use crate::wording::capital;

/// How a technique was used before a class and since. `people` is what to call those looked at
/// ("those who were in that class").
#[must_use]
pub fn taught(technique: &str, used: &Use, people: &str) -> Said {
    let name = capital(technique);
    let count = |side: &Option<figures::Figure>| side.map_or(0.0, |figure| figure.count);
    let (before, since) = (count(&used.before), count(&used.since));
    let line = match (&used.since, &used.ratio) {
        (None, _) => format!("{name}: {people} have not rolled since, as far as is known."),
        (Some(_), _) if used.never_appeared() => format!(
            "{name}: not seen among {people} since the class. It may need another look, or it goes \
             by another name in the talk."
        ),
        (Some(_), Some(ratio)) if before + since >= FEW => {
            let how = if ratio.ratio.is_finite() {
                ratio_in_words(ratio.ratio)
            } else {
                "not seen before".to_owned()
            };
            let chance = if ratio.p_value <= MORE_THAN_CHANCE {
                "more than chance, though people change for other reasons too"
            } else {
                "which may be chance"
            };
            format!("{name}: {} since the class among {people}, {how}; {chance}.", times(since))
        }
        (Some(_), _) => format!(
            "{name}: {} since the class among {people}, {} before; too few to tell more.",
            times(since),
            times(before)
        ),
    };
    let side = |name: &str, figure: &Option<figures::Figure>| match figure {
        Some(figure) => format!(
            "{name} {} of rolling ({}), {}",
            rate(figure.value),
            rate_limits(figure.interval),
            times(figure.count)
        ),
        None => format!("{name} no rolling known"),
    };
    let ratio = used.ratio.map_or_else(String::new, |ratio| {
        format!(
            "; ratio {} ({} to {}), the chance of it by luck {}",
            short(ratio.ratio),
            short(ratio.interval.low()),
            short(ratio.interval.high()),
            share(ratio.p_value)
        )
    });
    let numbers = format!(
        "{}, {}{ratio}. From {}.",
        side("Before", &used.before),
        side("since", &used.since),
        counted(used.people, "person", "people")
    );
    Said::new(line, numbers)
}
