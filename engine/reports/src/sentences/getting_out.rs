//! Getting out of bad positions, beside the belt's others.

use figures::getting_out::{Ending, GettingOut};
use figures::overview::Beside;
use figures::{Place, Role};

use super::{FEW, MORE_THAN_CHANCE, Said};
use crate::amounts::{counted_about, share, share_limits, times, within};
use crate::whose::Whose;
use crate::wording::{capital, place};

/// How somebody gets out of one position. `others` is what to call those they are compared with
/// ("the other blue belts").
#[must_use]
pub fn getting_out(
    whose: &Whose<'_>,
    out: &GettingOut,
    beside: Option<&Beside>,
    others: &str,
) -> Said {
    let here = Place { position: out.position, role: Role::Bottom };
    let escaped = out.ended[Ending::Escaped.index()];
    let stays = times(out.stays);
    let mut line = if out.stays < FEW {
        format!(
            "{}, only {stays} so far, {}: too few to tell.",
            capital(&place(here)),
            few_out(escaped, out.stays)
        )
    } else {
        let middle = middle(out).map_or_else(String::new, |middle| {
            format!(", half of the time within {}", within(middle))
        });
        format!(
            "{}, {stays} so far: {} got out {}{middle}{}.",
            capital(&place(here)),
            whose.name(),
            times(escaped),
            otherwise(out)
        )
    };
    if out.stays >= FEW
        && let Some(beside) = beside
    {
        line.push(' ');
        line.push_str(&compared(whose, beside, others));
    }
    Said::new(line, numbers(out, beside))
}

/// How few stays ended: "not out yet", "out each time", "out once".
fn few_out(escaped: f64, stays: f64) -> String {
    match escaped.round() {
        none if none <= 0.0 => "not out yet".to_owned(),
        all if all >= stays.round() => "out each time".to_owned(),
        _ => format!("out {}", times(escaped)),
    }
}

/// What else came of the stays: "; turned to turtle twice; once the clock or a pause came first".
fn otherwise(out: &GettingOut) -> String {
    let mut said = String::new();
    let turtled = out.ended[Ending::Turtled.index()];
    if turtled >= 0.5 {
        said += &format!(", and turned to turtle {}", times(turtled));
    }
    let cut = out.stays - out.ended.iter().sum::<f64>();
    if cut >= 0.5 {
        said += &format!("; {} the clock or a pause came first", times(cut));
    }
    said
}

/// By when half of the stays have ended with getting out.
fn middle(out: &GettingOut) -> Option<f64> {
    let escaped = |step: &&figures::competing_risks::IncidenceStep| {
        step.outcomes.get(Ending::Escaped.index()).is_some_and(|at| at.incidence >= 0.5 - 1e-9)
    };
    out.curves.steps().iter().find(escaped).map(|step| step.time)
}

fn compared(whose: &Whose<'_>, beside: &Beside, others: &str) -> String {
    let they = capital(whose.they());
    let comparison = &beside.comparison;
    if comparison.stays.iter().any(|stays| *stays < FEW) {
        return format!("Too few to compare with {others}.");
    }
    if beside.adjusted > MORE_THAN_CHANCE {
        return format!("No clear difference from {others}.");
    }
    if comparison.excess > 0.0 {
        format!(
            "{they} {} out sooner or more often than most of {others} here, more than chance.",
            whose.they_do("get", "gets")
        )
    } else {
        format!(
            "{they} {} out later or less often than most of {others} here, more than chance: a good \
             place to work on.",
            whose.they_do("get", "gets")
        )
    }
}

fn numbers(out: &GettingOut, beside: Option<&Beside>) -> String {
    let Some(last) = out.curves.steps().last() else {
        return format!("{}.", counted_about(out.stays, "stay", "stays"));
    };
    let names = ["out", "to turtle", "worse", "tapped", "elsewhere"];
    let parts: Vec<String> = (names.iter().zip(&last.outcomes).enumerate())
        .filter(|(index, (_, at))| *index == 0 || at.incidence > 0.0)
        .map(|(index, (name, at))| {
            if index == 0 {
                format!("{name} {} ({})", share(at.incidence), share_limits(at.interval))
            } else {
                format!("{name} {}", share(at.incidence))
            }
        })
        .collect();
    let enough = |beside: &&Beside| beside.comparison.stays.iter().all(|stays| *stays >= FEW);
    let chance = beside.filter(enough).map_or_else(String::new, |beside| {
        format!(
            " Beside {} of the others; the chance of so much difference by luck is {}.",
            counted_about(beside.comparison.stays[1], "stay", "stays"),
            share(beside.adjusted)
        )
    });
    format!(
        "By {:.0} seconds {}. From {}.{chance}",
        last.time.ceil(),
        parts.join(", "),
        counted_about(out.stays, "stay", "stays"),
    )
}
