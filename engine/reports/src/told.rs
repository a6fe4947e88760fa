//! What happened, moment by moment, in the words of the reports: for lists that people can change.

use academy::{Athlete, Event, Ledger, Round, Spell, Time};

use crate::moments::moments;
use crate::telling::sentence;

/// One line of what happened: the start of a spell, an event, or both where one led to the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Told<'a> {
    /// When.
    pub time: Time,
    /// In words: "Petra passes to side control: back step pass".
    pub sentence: String,
    /// Probability, 0 to 1, that it was so: the spell's where one begins, else the event's.
    pub confidence: f64,
    /// Who is on top from then on, or who acted.
    pub athlete: Option<Athlete>,
    /// The spell that begins.
    pub spell: Option<&'a Spell>,
    /// The event.
    pub event: Option<&'a Event>,
    /// The attempt that the event, a tap, ends; it has no line of its own then.
    pub attempt: Option<&'a Event>,
}

/// What happened, in order of time.
#[must_use]
pub fn told<'a>(round: &Round, ledger: &'a Ledger) -> Vec<Told<'a>> {
    let told = |moment: crate::moments::Moment<'a>| Told {
        time: moment.time,
        sentence: sentence(round, &moment),
        confidence: moment.confidence(),
        athlete: moment.athlete(),
        spell: moment.spell,
        event: moment.event,
        attempt: moment.attempt,
    };
    moments(ledger).into_iter().map(told).collect()
}
