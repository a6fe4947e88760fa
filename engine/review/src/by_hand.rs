//! What people entered, laid over what was guessed.

use academy::{ByHand, Event, Ledger, Position, Source, Span, Spell, Time};

/// A guessed spell that entries by hand cut to less than this gives way to its guessed neighbour;
/// what people tell snaps to borders nearer than this. Milliseconds.
pub const LEAST_MILLIS: u64 = 1_000;

/// A guess left between two told spells for less than this shows no position of its own: nobody who
/// told what was before and after saw it. Milliseconds.
pub const BETWEEN_TOLD_MILLIS: u64 = 2_000;

/// A guessed event less sure than this is neither listed nor confirmed: of so many faint ones few
/// are true (common practice: a list that is mostly wrong is not read), and whoever saw one adds it.
pub const LISTED_FROM: f64 = 0.3;

/// A guessed event within so many milliseconds of one told or struck is the same.
pub const SAME_EVENT_MILLIS: u64 = 2_000;

/// The ledger that is shown: what people entered wins, guesses fill the rest.
///
/// - Spells told by hand show exactly as told, as far as they lie before the guess's end. (Where
///   two of them overlap, which edits never make, the earlier one wins.)
/// - Guessed spells are cut, split or dropped by them. A piece left of a guessed spell that is
///   shorter than [`LEAST_MILLIS`] goes to the guessed spell on its other side. Between two told
///   spells, a stretch shorter than [`BETWEEN_TOLD_MILLIS`] takes the position of the earlier one,
///   so that no change shows that nobody told; it stays a guess, as unsure as it was.
/// - Events told by hand are added, as far as they lie in the round. A guessed event is dropped
///   where one of the same kind within [`SAME_EVENT_MILLIS`], by the same athlete or by one
///   unknown, was told or struck.
///
/// The result has the guess's length.
#[must_use]
pub fn with_hand(guess: &Ledger, by_hand: &ByHand) -> Ledger {
    let end = guess.end();
    let told = told_spells(by_hand, end);
    let mut spells = Vec::with_capacity(guess.spells().len() + 2 * told.len());
    let mut free = Time::ZERO;
    for spell in told {
        let between = pieces(guess, Span::between(free, spell.span.start()));
        let short = free.distance(spell.span.start()) < BETWEEN_TOLD_MILLIS;
        match spells.last().filter(|_| short).cloned() {
            Some(before) => {
                spells.extend(whole(&between).map(|span| filled(&before, span, &between)))
            }
            None => spells.extend(between),
        }
        free = spell.span.end();
        spells.push(spell);
    }
    spells.extend(pieces(guess, Span::between(free, end)));

    let mut events: Vec<Event> = (guess.events().iter())
        .filter(|guessed| {
            let known = |other: &Event| same_event(guessed, other);
            !by_hand.events.iter().any(known) && !by_hand.struck.iter().any(known)
        })
        .cloned()
        .collect();
    let inside = by_hand.events.iter().filter(|event| event.time <= end);
    events.extend(inside.cloned().map(told_event));
    Ledger::new(spells, events).expect("told spells are in order and guesses fill what is free")
}

/// The stretch of all these spells, if there are any.
fn whole(between: &[Spell]) -> Option<Span> {
    let (first, last) = (between.first()?, between.last()?);
    Some(Span::between(first.span.start(), last.span.end()))
}

/// A short guess after a told spell, with the position of that one and no more trust than before.
fn filled(before: &Spell, span: Span, guessed: &[Spell]) -> Spell {
    let least = guessed.iter().min_by(|a, b| a.confidence.total_cmp(&b.confidence));
    let (confidence, source) =
        least.map_or((0.0, Source::Talk), |spell| (spell.confidence, spell.source));
    Spell { span, confidence, source, ..before.clone() }
}

/// The ledger without the guessed events that are too faint to be listed; see [`LISTED_FROM`].
#[must_use]
pub fn listed(shown: &Ledger) -> Ledger {
    let clear = |event: &&Event| event.source == Source::Hand || event.confidence >= LISTED_FROM;
    let events = shown.events().iter().filter(clear).cloned().collect();
    Ledger::new(shown.spells().to_vec(), events).expect("the spells are a ledger's")
}

/// The spells told, fit to be shown in a round that ends at `end`.
fn told_spells(by_hand: &ByHand, end: Time) -> Vec<Spell> {
    let mut spells: Vec<&Spell> = by_hand.spells.iter().collect();
    spells.sort_by_key(|spell| spell.span.start());
    let mut free = Time::ZERO;
    let mut told = Vec::with_capacity(spells.len());
    for spell in spells {
        let (start, stop) = (spell.span.start().max(free), spell.span.end().min(end));
        if start < stop && spell.position.has_top() == spell.top.is_some() {
            told.push(told_spell(Spell { span: Span::between(start, stop), ..spell.clone() }));
            free = stop;
        }
    }
    told
}

/// A spell as a person's.
pub(crate) fn told_spell(spell: Spell) -> Spell {
    Spell { confidence: 1.0, source: Source::Hand, ..spell }
}

/// An event as a person's.
pub(crate) fn told_event(event: Event) -> Event {
    Event { confidence: 1.0, source: Source::Hand, ..event }
}

/// The guessed spells of a stretch that nobody told about, without short leftovers.
fn pieces(guess: &Ledger, free: Span) -> Vec<Spell> {
    let mut pieces: Vec<Spell> = Vec::new();
    for spell in guess.spells() {
        let start = spell.span.start().max(free.start());
        let stop = spell.span.end().min(free.end());
        if start < stop {
            pieces.push(Spell { span: Span::between(start, stop), ..spell.clone() });
        }
    }
    // Only the first and the last of them can have been cut.
    let leftover = |piece: &Spell| {
        let whole = guess.spell_at(piece.span.start()).map(|spell| spell.span);
        piece.span.millis() < LEAST_MILLIS && whole != Some(piece.span)
    };
    if pieces.len() > 1 && leftover(&pieces[0]) {
        pieces.remove(0);
        pieces[0].span = Span::between(free.start(), pieces[0].span.end());
    }
    if pieces.len() > 1 && leftover(&pieces[pieces.len() - 1]) {
        pieces.pop();
        if let Some(last) = pieces.last_mut() {
            last.span = Span::between(last.span.start(), free.end());
        }
    }
    pieces
}

/// Whether a guessed event is the one that a person means.
fn same_event(guessed: &Event, meant: &Event) -> bool {
    let same_athlete =
        guessed.actor.is_none() || meant.actor.is_none() || guessed.actor == meant.actor;
    guessed.kind == meant.kind
        && guessed.time.distance(meant.time) <= SAME_EVENT_MILLIS
        && same_athlete
}

/// The base of a round that nobody has talked over: both standing all along, with confidence 0.
///
/// Its source is `talk`, not `hand`: nobody said so, and whatever people tell must go over it. The
/// confidence 0 tells it from anything understood; see [`is_unread`]. A round without a length gets
/// a millisecond, the shortest ledger there is.
#[must_use]
pub fn unread(length: Time) -> Ledger {
    let nothing_known = Spell {
        span: Span::between(Time::ZERO, length.max(Time::from_millis(1))),
        position: Position::Standing,
        top: None,
        variant: None,
        confidence: 0.0,
        source: Source::Talk,
    };
    Ledger::new(vec![nothing_known], Vec::new()).expect("one standing spell with a length")
}

/// Whether nothing is known about a spell: a page leaves it blank instead of calling it a guess.
#[must_use]
pub fn is_unread(spell: &Spell) -> bool {
    spell.source != Source::Hand && spell.confidence == 0.0
}

/// Everything shown becomes a person's word, but for stretches that nobody told anything about:
/// whoever confirms has seen them blank, and they stay so. What was struck out stays so.
///
/// Laid over the same guess this shows what was shown, with confidence 1 wherever it says anything. A later reading may
/// guess further events: show a confirmed round over [`unread`], which guesses none.
#[must_use]
pub fn confirm(shown: &Ledger, by_hand: &ByHand) -> ByHand {
    ByHand {
        spells: (shown.spells().iter())
            .filter(|spell| !is_unread(spell))
            .cloned()
            .map(told_spell)
            .collect(),
        events: shown.events().iter().cloned().map(told_event).collect(),
        struck: by_hand.struck.clone(),
    }
}
