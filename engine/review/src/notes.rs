//! What is to note about a round that was read.

use academy::{Athlete, Note};
use decode::Understood;
use decode::reader::words::SeenTalk;

/// What is to note about a round that was read.
#[must_use]
pub fn notes(seen: &SeenTalk, understood: &Understood, left_out: Option<Note>) -> Vec<Note> {
    // Fainter echoes of a name are more likely something else.
    const HEARD: f64 = 0.5;
    let mut notes = Vec::new();
    if !understood.swapped.is_empty() {
        notes.push(Note::MayBeSwapped { stretches: understood.swapped.clone() });
    }
    for athlete in Athlete::BOTH {
        let named =
            seen.names.iter().any(|name| name.athlete == athlete && name.probability >= HEARD);
        if !named {
            notes.push(Note::NameNotHeard { athlete });
        }
    }
    notes.extend(left_out);
    notes
}
