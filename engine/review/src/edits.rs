//! What a person changes in a round that is shown. Every edit takes the shown ledger and what was
//! entered so far, and gives what is entered then; see [`with_hand`](crate::with_hand) for what
//! that shows.
//!
//! One rule for all that is told of a stretch: whatever it covers of other told spells is cut, and
//! where it ends less than a second short of another told spell's border, or of the round's start
//! or end, it goes on to there, so that no slivers are left.

use academy::{Athlete, ByHand, Event, Ledger, Position, Span, Spell, Time};

use crate::by_hand::{LEAST_MILLIS, is_unread, told_event, told_spell};

/// Why an edit cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// A moment after the end of the round.
    #[error("{time} is after the end of the round at {end}: choose an earlier time")]
    Outside {
        /// The moment.
        time: Time,
        /// When the round ends.
        end: Time,
    },
    /// A stretch shorter than a second.
    #[error("a position lasts a second at least: leave more time between {start:.1} and {end:.1}")]
    TooShort {
        /// Where it would start.
        start: Time,
        /// Where it would end.
        end: Time,
    },
    /// Nobody is said to be on top where somebody must be.
    #[error("say who was on top in {}", .0.name())]
    TopMissing(Position),
    /// Somebody is said to be on top where nobody can be.
    #[error("nobody is on top in this position ({}): leave that out", .0.name())]
    NoTop(Position),
    /// No position changes at this moment any more.
    #[error("no position ends at {0:.1}: the round may have changed meanwhile, look at it again")]
    NoBorder(Time),
    /// A border would pass the next one.
    #[error(
        "the border must stay between {earliest:.1} and {latest:.1}, a second away from the next \
         ones"
    )]
    Crosses {
        /// The earliest it can move to.
        earliest: Time,
        /// The latest it can move to.
        latest: Time,
    },
    /// Both parts of a split would be the same.
    #[error("they were in {} before {time} already: choose what it changed to", position.name())]
    SameAsBefore {
        /// The position.
        position: Position,
        /// Where the split would be.
        time: Time,
    },
    /// The event is not among those shown.
    #[error("there is no {kind} at {time}: the round may have changed meanwhile, look at it again")]
    NoEvent {
        /// What kind it was.
        kind: &'static str,
        /// When it was.
        time: Time,
    },
    /// The event was told before.
    #[error("the {kind} at {time} is there already")]
    EventThere {
        /// What kind it is.
        kind: &'static str,
        /// When it is.
        time: Time,
    },
}

/// Tells what a stretch was. An end after the round's end is cut to it.
///
/// # Errors
/// [`EditError::TopMissing`] or [`EditError::NoTop`] where position and top do not fit,
/// [`EditError::Outside`] for a start after the end of the round, [`EditError::TooShort`].
pub fn set_spell(
    shown: &Ledger,
    by_hand: &ByHand,
    span: Span,
    position: Position,
    top: Option<Athlete>,
    variant: Option<String>,
) -> Result<ByHand, EditError> {
    fits(position, top)?;
    let start = inside(shown, span.start())?;
    let span = Span::between(start, span.end().min(shown.end()).max(start));
    let least = LEAST_MILLIS.min(shown.end().millis());
    if span.millis() < least {
        return Err(EditError::TooShort { start: span.start(), end: span.end() });
    }
    Ok(tell(shown, by_hand, spell(span, position, top, variant)))
}

/// Moves the border between two shown spells: `at`, where it is shown, goes `to`.
///
/// The spell that gains time becomes a person's over its whole new extent. The one that loses time
/// is cut where it was told, and else stays a guess.
///
/// # Errors
/// [`EditError::NoBorder`] if no spell ends at `at`; [`EditError::Crosses`] if less than a second
/// would be left of the spell that loses time.
pub fn move_border(
    shown: &Ledger,
    by_hand: &ByHand,
    at: Time,
    to: Time,
) -> Result<ByHand, EditError> {
    let borders = shown.spells().windows(2);
    let neighbours = borders.into_iter().find(|pair| pair[0].span.end() == at);
    let Some([before, after]) = neighbours else { return Err(EditError::NoBorder(at)) };
    let (first, last) = (before.span.start(), after.span.end());
    // A spell that is shorter than a second already can grow, not shrink.
    let (earliest, latest) =
        (first.later(LEAST_MILLIS).min(at), last.earlier(LEAST_MILLIS).max(at));
    if to < earliest || latest < to {
        return Err(EditError::Crosses { earliest, latest });
    }
    let gains = match to.cmp(&at) {
        std::cmp::Ordering::Equal => return Ok(by_hand.clone()),
        std::cmp::Ordering::Greater => Spell { span: Span::between(first, to), ..before.clone() },
        std::cmp::Ordering::Less => Spell { span: Span::between(to, last), ..after.clone() },
    };
    Ok(tell(shown, by_hand, gains))
}

/// Tells what the shown spell that holds this moment was instead. The variant is kept where the
/// position stays.
///
/// # Errors
/// [`EditError::Outside`]; [`EditError::TopMissing`] or [`EditError::NoTop`].
pub fn retell(
    shown: &Ledger,
    by_hand: &ByHand,
    at: Time,
    position: Position,
    top: Option<Athlete>,
) -> Result<ByHand, EditError> {
    fits(position, top)?;
    let held = spell_at(shown, at)?;
    let variant = held.variant.clone().filter(|_| held.position == position);
    Ok(tell(shown, by_hand, spell(held.span, position, top, variant)))
}

/// Takes a change of position away: the shown spell that begins at this moment joins the one before,
/// which then is told over both.
///
/// # Errors
/// [`EditError::NoBorder`] if no position changes at this moment.
pub fn drop_change(shown: &Ledger, by_hand: &ByHand, at: Time) -> Result<ByHand, EditError> {
    let pair = shown.spells().windows(2).find(|pair| pair[1].span.start() == at);
    let [before, after] = pair.ok_or(EditError::NoBorder(at))? else {
        return Err(EditError::NoBorder(at));
    };
    let both = Span::between(before.span.start(), after.span.end());
    Ok(tell(shown, by_hand, Spell { span: both, ..before.clone() }))
}

/// Splits the shown spell that holds this moment: from here to its end it was something else. Where
/// nothing is known yet it may be the same, and from the first second on it is from the start.
///
/// # Errors
/// [`EditError::Outside`]; [`EditError::TopMissing`] or [`EditError::NoTop`];
/// [`EditError::SameAsBefore`]; [`EditError::TooShort`] if either part is shorter than a second.
pub fn split(
    shown: &Ledger,
    by_hand: &ByHand,
    at: Time,
    position: Position,
    top: Option<Athlete>,
) -> Result<ByHand, EditError> {
    fits(position, top)?;
    let held = spell_at(shown, at)?;
    let unread = is_unread(held);
    if unread && held.span.start() == Time::ZERO && at < Time::from_millis(LEAST_MILLIS) {
        return Ok(tell(shown, by_hand, spell(held.span, position, top, None)));
    }
    if !unread && (held.position, held.top) == (position, top) {
        return Err(EditError::SameAsBefore { position, time: at });
    }
    let parts = [Span::between(held.span.start(), at), Span::between(at, held.span.end())];
    for part in parts {
        if part.millis() < LEAST_MILLIS {
            return Err(EditError::TooShort { start: part.start(), end: part.end() });
        }
    }
    Ok(tell(shown, by_hand, spell(parts[1], position, top, None)))
}

/// Adds an event. A guess at the same gives way to it.
///
/// # Errors
/// [`EditError::Outside`]; [`EditError::EventThere`] if it was told before.
pub fn add_event(shown: &Ledger, by_hand: &ByHand, event: Event) -> Result<ByHand, EditError> {
    if event.time > shown.end() {
        return Err(EditError::Outside { time: event.time, end: shown.end() });
    }
    if by_hand.events.iter().any(|told| same_words(told, &event)) {
        return Err(EditError::EventThere { kind: event.kind.name(), time: event.time });
    }
    let mut changed = by_hand.clone();
    changed.events.push(told_event(event));
    changed.events.sort_by_key(|event| event.time);
    Ok(changed)
}

/// Puts another event in the place of a shown one. A guessed one is struck and the new one added; a
/// told one is replaced.
///
/// # Errors
/// [`EditError::NoEvent`] if the old one is not shown; those of [`add_event`].
pub fn change_event(
    shown: &Ledger,
    by_hand: &ByHand,
    old: &Event,
    new: Event,
) -> Result<ByHand, EditError> {
    add_event(shown, &delete_event(shown, by_hand, old)?, new)
}

/// Takes a shown event away. It is struck, told or guessed: a guess at the same must not come to
/// light in its place.
///
/// # Errors
/// [`EditError::NoEvent`] if it is not shown.
pub fn delete_event(shown: &Ledger, by_hand: &ByHand, old: &Event) -> Result<ByHand, EditError> {
    if !shown.events().iter().any(|event| same_words(event, old)) {
        return Err(EditError::NoEvent { kind: old.kind.name(), time: old.time });
    }
    let mut changed = by_hand.clone();
    changed.events.retain(|told| !same_words(told, old));
    if !changed.struck.iter().any(|struck| same_words(struck, old)) {
        changed.struck.push(old.clone());
        changed.struck.sort_by_key(|event| event.time);
    }
    Ok(changed)
}

/// Whether two events say the same, whoever says it.
fn same_words(one: &Event, other: &Event) -> bool {
    (one.time, one.kind, one.actor, &one.technique)
        == (other.time, other.kind, other.actor, &other.technique)
}

fn fits(position: Position, top: Option<Athlete>) -> Result<(), EditError> {
    match (position.has_top(), top) {
        (true, None) => Err(EditError::TopMissing(position)),
        (false, Some(_)) => Err(EditError::NoTop(position)),
        _ => Ok(()),
    }
}

/// The moment, if it comes before the end of the round.
fn inside(shown: &Ledger, time: Time) -> Result<Time, EditError> {
    let end = shown.end();
    if time < end { Ok(time) } else { Err(EditError::Outside { time, end }) }
}

/// The shown spell that holds a moment; the last one for the very end.
fn spell_at(shown: &Ledger, time: Time) -> Result<&Spell, EditError> {
    shown.spell_at(time).ok_or(EditError::Outside { time, end: shown.end() })
}

fn spell(span: Span, position: Position, top: Option<Athlete>, variant: Option<String>) -> Spell {
    let source = academy::Source::Hand;
    Spell { span, position, top, variant, confidence: 1.0, source }
}

/// Enters a spell, cuts what it covers, and closes slivers beside it.
fn tell(shown: &Ledger, by_hand: &ByHand, told: Spell) -> ByHand {
    let end = shown.end();
    let borders = (by_hand.spells.iter())
        .flat_map(|spell| [spell.span.start(), spell.span.end()])
        .chain([Time::ZERO, end]);
    let (mut start, mut stop) = (told.span.start(), told.span.end());
    for border in borders.filter(|border| *border <= end) {
        if border < told.span.start() && border.later(LEAST_MILLIS) > told.span.start() {
            start = start.min(border);
        }
        if told.span.end() < border && border < told.span.end().later(LEAST_MILLIS) {
            stop = stop.max(border);
        }
    }
    let covered = Span::between(start, stop);
    let mut spells = Vec::with_capacity(by_hand.spells.len() + 2);
    for other in &by_hand.spells {
        let before = Span::new(other.span.start(), other.span.end().min(start));
        let after = Span::new(other.span.start().max(stop), other.span.end());
        let kept = [before, after].into_iter().flatten().filter(|part| part.millis() > 0);
        spells.extend(kept.map(|span| Spell { span, ..other.clone() }));
    }
    spells.push(told_spell(Spell { span: covered, ..told }));
    spells.sort_by_key(|spell| spell.span.start());
    ByHand { spells: joined(spells), ..by_hand.clone() }
}

/// Told spells of which those that say the same and touch are one.
fn joined(spells: Vec<Spell>) -> Vec<Spell> {
    let mut joined: Vec<Spell> = Vec::with_capacity(spells.len());
    for spell in spells {
        let says = |spell: &Spell| (spell.position, spell.top, spell.variant.clone());
        match joined.last_mut() {
            Some(last) if last.span.end() == spell.span.start() && says(last) == says(&spell) => {
                last.span = Span::between(last.span.start(), spell.span.end());
            }
            _ => joined.push(spell),
        }
    }
    joined
}
