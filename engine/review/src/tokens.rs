//! Answers as compact texts that a form can carry and give back.
//!
//! | token | answer |
//! |---|---|
//! | `state.12500.mount.1` | at 12.5 s in mount, the second athlete on top |
//! | `spell.12500.mount.0.11000.` | the same with the first on top, since 11 s, no end told |
//! | `top.12500.0` | at 12.5 s the first athlete on top |
//! | `event.12500.sweep.1` | about 12.5 s a sweep by the second |
//! | `nothing.9500.15500` | nothing changed from 9.5 s to 15.5 s |
//!
//! Times are whole milliseconds, athletes 0 or 1; what is not known is left empty.

use academy::{Answer, Athlete, EventKind, Position, Round, Span, Time};

/// The answer as a token.
#[must_use]
pub fn token(answer: &Answer) -> String {
    match answer {
        Answer::State { time, position, top } => {
            format!("state.{}.{}.{}", time.millis(), position.id(), athlete(*top))
        }
        Answer::Top { time, top } => format!("top.{}.{}", time.millis(), athlete(Some(*top))),
        Answer::Spell { time, position, top, start, end } => format!(
            "spell.{}.{}.{}.{}.{}",
            time.millis(),
            position.id(),
            athlete(*top),
            moment(*start),
            moment(*end)
        ),
        Answer::Event { time, kind, actor } => {
            format!("event.{}.{}.{}", time.millis(), kind.id(), athlete(*actor))
        }
        Answer::Nothing { span } => {
            format!("nothing.{}.{}", span.start().millis(), span.end().millis())
        }
    }
}

/// The answer that a token stands for; `None` for anything that [`token`] did not write about this
/// round: another text, a time after the end of the round, a spell seen outside its times, somebody
/// on top where nobody can be.
#[must_use]
pub fn answer_from(token: &str, round: &Round) -> Option<Answer> {
    let parts: Vec<&str> = token.split('.').collect();
    let time = |text: &str| read_moment(text).filter(|time| *time <= round.length());
    let maybe = |text: &str| match text {
        "" => Some(None),
        text => time(text).map(Some),
    };
    match parts[..] {
        ["state", at, position, top] => {
            let (position, top) = state(position, top)?;
            Some(Answer::State { time: time(at)?, position, top })
        }
        ["top", at, top] => Some(Answer::Top { time: time(at)?, top: read_athlete(top)?? }),
        ["spell", at, position, top, start, end] => {
            let (position, top) = state(position, top)?;
            let (time, start, end) = (time(at)?, maybe(start)?, maybe(end)?);
            in_order(time, start, end).then_some(Answer::Spell { time, position, top, start, end })
        }
        ["event", at, kind, actor] => Some(Answer::Event {
            time: time(at)?,
            kind: EventKind::from_id(kind)?,
            actor: read_athlete(actor)?,
        }),
        ["nothing", start, end] => {
            Some(Answer::Nothing { span: Span::new(time(start)?, time(end)?)? })
        }
        _ => None,
    }
}

/// The answer to the question when a spell began and ended: its token with the times that a person
/// told. `None` where the token is of no spell or state, where no time is told, or where the
/// spell's moment does not lie between them.
#[must_use]
pub fn with_times(
    token: &str,
    round: &Round,
    start: Option<Time>,
    end: Option<Time>,
) -> Option<Answer> {
    let (time, position, top) = match answer_from(token, round)? {
        Answer::Spell { time, position, top, .. } | Answer::State { time, position, top } => {
            (time, position, top)
        }
        Answer::Top { .. } | Answer::Event { .. } | Answer::Nothing { .. } => return None,
    };
    let told = start.is_some() || end.is_some();
    let end = end.map(|end| end.min(round.length()));
    (told && in_order(time, start, end)).then_some(Answer::Spell {
        time,
        position,
        top,
        start,
        end,
    })
}

fn in_order(time: Time, start: Option<Time>, end: Option<Time>) -> bool {
    start.is_none_or(|start| start <= time) && end.is_none_or(|end| time <= end)
}

fn athlete(athlete: Option<Athlete>) -> &'static str {
    match athlete {
        Some(Athlete::First) => "0",
        Some(Athlete::Second) => "1",
        None => "",
    }
}

fn read_athlete(text: &str) -> Option<Option<Athlete>> {
    match text {
        "0" => Some(Some(Athlete::First)),
        "1" => Some(Some(Athlete::Second)),
        "" => Some(None),
        _ => None,
    }
}

fn moment(time: Option<Time>) -> String {
    time.map(|time| time.millis().to_string()).unwrap_or_default()
}

/// Whole milliseconds as [`token`] writes them: no sign, no zeros in front.
fn read_moment(text: &str) -> Option<Time> {
    let millis: u64 = text.parse().ok()?;
    (millis.to_string() == text).then_some(Time::from_millis(millis))
}

fn state(position: &str, top: &str) -> Option<(Position, Option<Athlete>)> {
    let position = Position::from_id(position)?;
    let top = read_athlete(top)?;
    (top.is_none() || position.has_top()).then_some((position, top))
}
