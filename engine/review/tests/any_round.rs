//! Rounds, ledgers and edits as they may come.

use academy::{
    Athlete, ByHand, Event, EventKind, Ledger, Person, Position, Round, RoundKind, Source, Span,
    Spell, Time,
};
use proptest::prelude::*;
use review::EditError;

pub(crate) const LENGTH: u64 = 60_000;

pub(crate) fn round() -> Round {
    let athletes = ["Petra", "Idris"].map(|n| Person { name: n.to_owned(), pronoun: None });
    Round::new(athletes, RoundKind::Flow, Time::from_millis(LENGTH)).unwrap()
}

pub(crate) fn at(millis: u64) -> Time {
    Time::from_millis(millis)
}

pub(crate) fn span(start: u64, end: u64) -> Span {
    Span::between(at(start), at(end))
}

pub(crate) fn spell(start: u64, end: u64, position: Position, top: Option<Athlete>) -> Spell {
    let (variant, confidence, source) = (None, 0.5, Source::Talk);
    Spell { span: span(start, end), position, top, variant, confidence, source }
}

pub(crate) fn event(millis: u64, kind: EventKind, actor: Option<Athlete>) -> Event {
    let (technique, confidence, source) = (None, 0.5, Source::Talk);
    Event { time: at(millis), kind, actor, technique, confidence, source }
}

pub(crate) fn place() -> impl Strategy<Value = (Position, Option<Athlete>)> {
    (prop::sample::select(Position::ALL.to_vec()), prop::sample::select(Athlete::BOTH.to_vec()))
        .prop_map(|(position, top)| (position, position.has_top().then_some(top)))
}

pub(crate) fn events() -> impl Strategy<Value = Event> {
    // Few kinds, so that the same is told, struck and guessed again and again.
    let kinds = vec![EventKind::Pass, EventKind::Sweep, EventKind::Tap];
    let actor = prop::option::of(prop::sample::select(Athlete::BOTH.to_vec()));
    (0..=LENGTH / 100, prop::sample::select(kinds), actor)
        .prop_map(|(tenths, kind, actor)| event(tenths * 100, kind, actor))
}

/// A guess: spells from a tenth of a second up, over the same length always.
pub(crate) fn guesses() -> impl Strategy<Value = Ledger> {
    let cuts = prop::collection::btree_set(1..LENGTH / 100, 0..12);
    (cuts, prop::collection::vec(place(), 13), prop::collection::vec(events(), 0..8)).prop_map(
        |(cuts, places, events)| {
            let borders: Vec<u64> = std::iter::once(0)
                .chain(cuts.into_iter().map(|cut| cut * 100))
                .chain([LENGTH])
                .collect();
            let spells = borders.windows(2).zip(places);
            let spells =
                spells.map(|(ends, (position, top))| spell(ends[0], ends[1], position, top));
            Ledger::new(spells.collect(), events).unwrap()
        },
    )
}

/// Something a person does to the round that they see.
#[derive(Clone, Debug)]
pub(crate) enum Edit {
    SetSpell(Span, Position, Option<Athlete>),
    /// Which of the borders shown, and where to.
    MoveBorder(usize, Time),
    Retell(Time, Position, Option<Athlete>),
    Split(Time, Position, Option<Athlete>),
    AddEvent(Event),
    /// Which of the events shown.
    ChangeEvent(usize, Event),
    DeleteEvent(usize),
    Confirm,
}

impl Edit {
    pub(crate) fn make(&self, shown: &Ledger, by_hand: &ByHand) -> Result<ByHand, EditError> {
        let border = |which: &usize| {
            let spells = shown.spells();
            spells[which % spells.len()].span.end()
        };
        let shown_event = |which: &usize| {
            let events = shown.events();
            (!events.is_empty()).then(|| &events[which % events.len()])
        };
        match self {
            Edit::SetSpell(span, position, top) => {
                review::set_spell(shown, by_hand, *span, *position, *top, None)
            }
            Edit::MoveBorder(which, to) => review::move_border(shown, by_hand, border(which), *to),
            Edit::Retell(at, position, top) => review::retell(shown, by_hand, *at, *position, *top),
            Edit::Split(at, position, top) => review::split(shown, by_hand, *at, *position, *top),
            Edit::AddEvent(event) => review::add_event(shown, by_hand, event.clone()),
            Edit::ChangeEvent(which, new) => match shown_event(which) {
                Some(old) => review::change_event(shown, by_hand, old, new.clone()),
                None => Ok(by_hand.clone()),
            },
            Edit::DeleteEvent(which) => match shown_event(which) {
                Some(old) => review::delete_event(shown, by_hand, old),
                None => Ok(by_hand.clone()),
            },
            Edit::Confirm => Ok(review::confirm(shown, by_hand)),
        }
    }
}

/// Any edit, nonsense among them: times after the end, tops that do not fit.
pub(crate) fn edits() -> impl Strategy<Value = Edit> {
    let time = || (0..LENGTH / 100 + 50).prop_map(|tenths| at(tenths * 100));
    let any_place = || {
        let position = prop::sample::select(Position::ALL.to_vec());
        let top = prop::option::of(prop::sample::select(Athlete::BOTH.to_vec()));
        prop_oneof![9 => place(), 1 => (position, top)]
    };
    prop_oneof![
        4 => (time(), time(), any_place())
            .prop_map(|(a, b, (p, top))| Edit::SetSpell(Span::between(a, b), p, top)),
        4 => (any::<usize>(), time()).prop_map(|(which, to)| Edit::MoveBorder(which, to)),
        3 => (time(), any_place()).prop_map(|(at, (p, top))| Edit::Retell(at, p, top)),
        3 => (time(), any_place()).prop_map(|(at, (p, top))| Edit::Split(at, p, top)),
        2 => events().prop_map(Edit::AddEvent),
        2 => (any::<usize>(), events()).prop_map(|(which, new)| Edit::ChangeEvent(which, new)),
        2 => any::<usize>().prop_map(Edit::DeleteEvent),
        1 => Just(Edit::Confirm),
    ]
}

/// What is entered after these edits, one after another on what is shown then; those refused
/// change nothing.
pub(crate) fn after(guess: &Ledger, edits: &[Edit]) -> ByHand {
    edits.iter().fold(ByHand::default(), |by_hand, edit| {
        let shown = review::with_hand(guess, &by_hand);
        edit.make(&shown, &by_hand).unwrap_or(by_hand)
    })
}
