//! What people read about spells and events: the same words in the terminal, the picture and the
//! page.

use academy::{Athlete, Event, EventKind, Note, Position, Round, RoundKind, Span, Spell};
use figures::{Place, Role};
use jiff::civil::Date;

pub use crate::amounts::times;

/// "Petra and Idris, flow roll, 5:00"
#[must_use]
pub fn heading(round: &Round) -> String {
    format!("{}, {}, {}", pair(round), kind(round.kind()), round.length())
}

/// "Petra and Idris"
pub(crate) fn pair(round: &Round) -> String {
    format!("{} and {}", round.name(Athlete::First), round.name(Athlete::Second))
}

/// The kind of a round as people say it.
#[must_use]
pub const fn kind(kind: RoundKind) -> &'static str {
    match kind {
        RoundKind::Flow => "flow roll",
        RoundKind::Positional => "positional round",
        RoundKind::Hard => "hard round",
        RoundKind::Competition => "match",
    }
}

/// "side control, Petra on top"
#[must_use]
pub fn state(round: &Round, position: Position, top: Option<Athlete>) -> String {
    match (position, top) {
        (Position::Standing, _) => "both standing".to_owned(),
        (Position::Reset, _) => "pause".to_owned(),
        (_, None) => position.name().to_owned(),
        (_, Some(top)) => format!("{}, {}", position.name(), role(round, position, top)),
    }
}

/// The state of a spell, with the finer variant where it is known.
pub(crate) fn spell(round: &Round, spell: &Spell) -> String {
    match (&spell.variant, spell.top) {
        (Some(variant), Some(top)) if variant != spell.position.name() => {
            let (name, role) = (spell.position.name(), role(round, spell.position, top));
            format!("{name} ({variant}), {role}")
        }
        _ => state(round, spell.position, spell.top),
    }
}

/// Who counts as on top, said as the trade would say it for this position.
fn role(round: &Round, position: Position, top: Athlete) -> String {
    let name = round.name(top);
    match position {
        Position::BackControl => format!("{name} behind"),
        Position::LegEntanglement => format!("{name} attacking"),
        _ => format!("{name} on top"),
    }
}

/// "Petra passes: back step pass"
#[must_use]
pub fn event(round: &Round, event: &Event) -> String {
    // A technique that only repeats the kind says nothing new.
    let technique = event.technique.as_deref().filter(|name| *name != event.kind.name());
    if event.kind == EventKind::Reset {
        return "Both start again".to_owned();
    }
    let who = event.actor.map_or("One of them", |actor| round.name(actor));
    let other = event.actor.map_or("the other", |actor| round.name(actor.other()));
    let plain = match event.kind {
        EventKind::Takedown => format!("{who} takes {other} down"),
        EventKind::GuardPull => format!("{who} pulls guard"),
        EventKind::Pass => format!("{who} passes"),
        EventKind::Sweep => format!("{who} sweeps"),
        EventKind::Reversal => format!("{who} reverses"),
        EventKind::Escape => format!("{who} escapes"),
        EventKind::BackTake => format!("{who} takes the back"),
        EventKind::Advance => format!("{who} moves on"),
        EventKind::SubmissionAttempt => match technique {
            Some(name) => return format!("{who} goes for the {name}"),
            None => format!("{who} goes for a submission"),
        },
        EventKind::SubmissionEscape => match technique {
            Some(name) => return format!("{who} gets out of the {name}"),
            None => format!("{who} gets out of it"),
        },
        EventKind::Release => match technique {
            Some(name) => return format!("{who} lets the {name} go"),
            None => format!("{who} lets it go"),
        },
        EventKind::Tap => match technique {
            Some(name) => return format!("{who} taps to the {name}"),
            None => format!("{who} taps"),
        },
        EventKind::FailedTry => match technique {
            Some(name) => return format!("{who} tries the {name}, without success"),
            None => format!("{who} tries something, without success"),
        },
        EventKind::Reset => String::new(),
    };
    match technique {
        Some(name) => format!("{plain}: {name}"),
        None => plain,
    }
}

/// Where an athlete is, to go on from "is", "time" or a comma: "under mount", "on top in half
/// guard", "with somebody on the back".
#[must_use]
pub fn place(place: Place) -> String {
    let name = place.position.name();
    match (place.position, place.role) {
        (Position::Standing, _) => "on the feet".to_owned(),
        (Position::Reset, _) => "in a pause".to_owned(),
        (_, Role::Neither) => format!("in {name}"),
        (Position::BackControl, Role::Top) => "on somebody\u{2019}s back".to_owned(),
        (Position::BackControl, Role::Bottom) => "with somebody on the back".to_owned(),
        (Position::Turtle, Role::Top) => "on top of a turtle".to_owned(),
        (Position::Turtle, Role::Bottom) => "in turtle".to_owned(),
        (Position::FrontHeadlock, Role::Top) => "with a front headlock".to_owned(),
        (Position::FrontHeadlock, Role::Bottom) => "in a front headlock".to_owned(),
        (Position::LegEntanglement, Role::Top) => "attacking the legs".to_owned(),
        (Position::LegEntanglement, Role::Bottom) => "with the legs attacked".to_owned(),
        (Position::KneeOnBelly, Role::Top) => "on top with knee on belly".to_owned(),
        (_, Role::Top) => format!("on top in {name}"),
        (position, Role::Bottom) if position.is_guard() => format!("underneath in {name}"),
        (_, Role::Bottom) => format!("under {name}"),
    }
}

/// A place in two or three words, for where its side is known: "side control", "legs attacked".
#[must_use]
pub const fn place_in_short(place: Place) -> &'static str {
    match (place.position, place.role) {
        (Position::Standing, _) => "on the feet",
        (Position::BackControl, Role::Top) => "on the back",
        (Position::BackControl, Role::Bottom) => "back taken",
        (Position::LegEntanglement, Role::Top) => "attacking legs",
        (Position::LegEntanglement, Role::Bottom) => "legs attacked",
        (position, _) => position.name(),
    }
}

/// What a coach calls a change of place, from what [`figures::place::move_of`] says of it: "a
/// pass".
#[must_use]
pub const fn move_name(kind: EventKind) -> &'static str {
    match kind {
        EventKind::Takedown => "a takedown",
        EventKind::GuardPull => "a guard pull",
        EventKind::Pass => "a pass",
        EventKind::Sweep => "a sweep",
        EventKind::Reversal => "a reversal",
        EventKind::Escape => "an escape",
        EventKind::BackTake => "a back take",
        EventKind::Advance => "a move on",
        EventKind::SubmissionAttempt => "a submission attempt",
        EventKind::SubmissionEscape => "getting out of a submission",
        EventKind::Release => "a submission let go",
        EventKind::Tap => "a tap",
        EventKind::FailedTry => "a try",
        EventKind::Reset => "a restart",
    }
}

/// What somebody does, to go on from their name in a form: "takes the other down". Whose the event
/// is can't be misread: a tap is of the one who gives up.
#[must_use]
pub const fn does(kind: EventKind) -> &'static str {
    match kind {
        EventKind::Takedown => "takes the other down",
        EventKind::GuardPull => "pulls guard",
        EventKind::Pass => "passes the other's guard",
        EventKind::Sweep => "sweeps: comes up from their guard",
        EventKind::Reversal => "reverses: comes up from under a pin",
        EventKind::Escape => "escapes or recovers, but isn't on top",
        EventKind::BackTake => "takes the other's back",
        EventKind::Advance => "is on top and moves on",
        EventKind::SubmissionAttempt => "goes for a submission",
        EventKind::SubmissionEscape => "gets out of the other's submission",
        EventKind::Release => "lets their own submission go",
        EventKind::Tap => "taps: gives up to the other",
        EventKind::FailedTry => "tries something, without success",
        EventKind::Reset => "starts again, with the other",
    }
}

/// "82 %". What is nearly sure or nearly impossible is said so: nothing heard is ever certain.
#[must_use]
pub fn percent(probability: f64) -> String {
    match probability {
        p if p > 0.99 => "> 99 %".to_owned(),
        p if p < 0.01 => "< 1 %".to_owned(),
        p => format!("{:.0} %", p * 100.0),
    }
}

/// A remark about the whole, as a sentence or two.
#[must_use]
pub fn note(round: &Round, note: &Note) -> String {
    match note {
        Note::MayBeSwapped { stretches } => format!(
            "The two athletes may be swapped: {} the positions are clear, but the talk hardly \
             tells who is who. The first open questions settle that.",
            stretches_in_words(stretches)
        ),
        Note::NameNotHeard { athlete } => format!(
            "The name {} is never heard in the talk: is that what the coach says?",
            round.name(*athlete)
        ),
        Note::TalkLeftOut { lines, after } => {
            let lines = if *lines == 1 { "1 line".to_owned() } else { format!("{lines} lines") };
            format!("Left out: {lines} of talk after the end of the round at {after}.")
        }
    }
}

/// "from 0:14 to 2:00 and from 3:10 to 5:00"; of more than three only how many.
fn stretches_in_words(stretches: &[Span]) -> String {
    const MOST_LISTED: usize = 3;
    let from_to = |span: &Span| format!("from {} to {}", span.start(), span.end());
    match stretches {
        [] => "here and there".to_owned(),
        [first, .., last] if stretches.len() > MOST_LISTED => {
            format!("in {} stretches between {} and {}", stretches.len(), first.start(), last.end())
        }
        [firsts @ .., last] => {
            let mut text = firsts.iter().map(from_to).collect::<Vec<_>>().join(", ");
            if !firsts.is_empty() {
                text.push_str(" and ");
            }
            text + &from_to(last)
        }
    }
}

/// "half guard, Petra on top (62 %); mount, Petra on top (20 %)"
pub(crate) fn choices(choices: &[(String, f64)]) -> String {
    let choice = |(text, chance): &(String, f64)| format!("{text} ({})", percent(*chance));
    choices.iter().map(choice).collect::<Vec<_>>().join("; ")
}

/// A sentence as it goes on after another word: "One of them" becomes "one of them", a name stays.
pub(crate) fn in_sentence(text: &str) -> String {
    for words in ["One of them ", "Both "] {
        if let Some(rest) = text.strip_prefix(words) {
            return words.to_lowercase() + rest;
        }
    }
    text.to_owned()
}

/// The name that people are called by: "Bruna" of Bruna Aldertree.
#[must_use]
pub fn first_name(name: &str) -> &str {
    name.split_whitespace().next().unwrap_or(name)
}

/// "4 May"
#[must_use]
pub fn day_and_month(day: Date) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let month = usize::try_from(day.month() - 1).ok().and_then(|month| MONTHS.get(month));
    format!("{} {}", day.day(), month.copied().unwrap_or_default())
}

/// "4 May 2026"
#[must_use]
pub fn whole_date(day: Date) -> String {
    format!("{} {}", day_and_month(day), day.year())
}

/// The text with its first letter in upper case.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
