//! What a student does, or has done to them, in words: the verb of every kind of moment, with its
//! subject.

use academy::EventKind;
use figures::tallies::Doing;

use crate::whose::Whose;
use crate::wording;

/// How a kind of moment is said of a student.
enum Verb {
    /// The student does it: the form for "you" and for "she".
    Does(&'static str, &'static str),
    /// It is done to the student: "are swept".
    IsDone(&'static str),
    /// Partners do it.
    PartnersDo(&'static str),
}

const fn verb(doing: Doing) -> Verb {
    match (doing.kind, doing.own) {
        (EventKind::Takedown, true) => Verb::Does("take partners down", "takes partners down"),
        (EventKind::Takedown, false) => Verb::IsDone("taken down"),
        (EventKind::GuardPull, true) => Verb::Does("pull guard", "pulls guard"),
        (EventKind::GuardPull, false) => Verb::PartnersDo("pull guard"),
        (EventKind::Pass, true) => Verb::Does("pass", "passes"),
        (EventKind::Pass, false) => Verb::IsDone("passed"),
        (EventKind::Sweep, true) => Verb::Does("sweep", "sweeps"),
        (EventKind::Sweep, false) => Verb::IsDone("swept"),
        (EventKind::Reversal, true) => Verb::Does("reverse", "reverses"),
        (EventKind::Reversal, false) => Verb::IsDone("reversed"),
        (EventKind::Escape, true) => Verb::Does("get out", "gets out"),
        (EventKind::Escape, false) => Verb::PartnersDo("get out"),
        (EventKind::BackTake, true) => Verb::Does("take the back", "takes the back"),
        (EventKind::BackTake, false) => Verb::PartnersDo("take the back"),
        (EventKind::Advance, true) => Verb::Does("improve the position", "improves the position"),
        (EventKind::Advance, false) => Verb::PartnersDo("improve the position"),
        (EventKind::SubmissionAttempt, true) => {
            Verb::Does("go for a submission", "goes for a submission")
        }
        (EventKind::SubmissionAttempt, false) => Verb::PartnersDo("go for a submission"),
        (EventKind::SubmissionEscape, true) => {
            Verb::Does("get out of a submission", "gets out of a submission")
        }
        (EventKind::SubmissionEscape, false) => Verb::PartnersDo("get out of a submission"),
        (EventKind::Release, true) => Verb::Does("let a submission go", "lets a submission go"),
        (EventKind::Release, false) => Verb::PartnersDo("let a submission go"),
        (EventKind::Tap, true) => Verb::Does("tap", "taps"),
        (EventKind::Tap, false) => Verb::Does("get the tap", "gets the tap"),
        (EventKind::FailedTry, true) => {
            Verb::Does("try something that does not work", "tries something that does not work")
        }
        (EventKind::FailedTry, false) => Verb::PartnersDo("try something that does not work"),
        (EventKind::Reset, _) => Verb::Does("start again", "starts again"),
    }
}

/// "you often sweep", "she is seldom passed", "partners often get out", "Petra sweeps": an adverb
/// may be empty; `by_name` says the student's name instead of the pronoun.
pub(crate) fn clause(whose: &Whose<'_>, doing: Doing, adverb: &str, by_name: bool) -> String {
    let subject = if by_name { whose.name() } else { whose.they().to_owned() };
    let form = |many: &'static str, one: &'static str| {
        if by_name { whose.name_does(many, one) } else { whose.they_do(many, one) }
    };
    let words = match verb(doing) {
        Verb::Does(many, one) => [subject, adverb.to_owned(), form(many, one).to_owned()],
        Verb::IsDone(participle) => {
            [format!("{subject} {}", form("are", "is")), adverb.to_owned(), participle.to_owned()]
        }
        Verb::PartnersDo(verb) => ["partners".to_owned(), adverb.to_owned(), verb.to_owned()],
    };
    words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// "on top in half guard, you often pass": a whole clause that begins with the place.
pub(crate) fn placed_clause(
    whose: &Whose<'_>,
    doing: Doing,
    adverb: &str,
    by_name: bool,
) -> String {
    format!("{}, {}", wording::place(doing.place), clause(whose, doing, adverb, by_name))
}

/// The habit as a heading: "passing, on top in half guard"; "being swept, on top in half guard".
#[must_use]
pub fn habit_name(doing: Doing) -> String {
    format!("{}, {}", gerund(doing), wording::place(doing.place))
}

/// "passing", "being swept", "partners getting out".
pub(crate) const fn gerund(doing: Doing) -> &'static str {
    match (doing.kind, doing.own) {
        (EventKind::Takedown, true) => "taking partners down",
        (EventKind::Takedown, false) => "being taken down",
        (EventKind::GuardPull, true) => "pulling guard",
        (EventKind::GuardPull, false) => "partners pulling guard",
        (EventKind::Pass, true) => "passing",
        (EventKind::Pass, false) => "being passed",
        (EventKind::Sweep, true) => "sweeping",
        (EventKind::Sweep, false) => "being swept",
        (EventKind::Reversal, true) => "reversing",
        (EventKind::Reversal, false) => "being reversed",
        (EventKind::Escape, true) => "getting out",
        (EventKind::Escape, false) => "partners getting out",
        (EventKind::BackTake, true) => "taking the back",
        (EventKind::BackTake, false) => "having the back taken",
        (EventKind::Advance, true) => "improving the position",
        (EventKind::Advance, false) => "partners improving the position",
        (EventKind::SubmissionAttempt, true) => "going for submissions",
        (EventKind::SubmissionAttempt, false) => "partners going for submissions",
        (EventKind::SubmissionEscape, true) => "getting out of submissions",
        (EventKind::SubmissionEscape, false) => "partners getting out of submissions",
        (EventKind::Release, true) => "letting submissions go",
        (EventKind::Release, false) => "partners letting submissions go",
        (EventKind::Tap, true) => "tapping",
        (EventKind::Tap, false) => "getting the tap",
        (EventKind::FailedTry, true) => "tries that do not work",
        (EventKind::FailedTry, false) => "partners\u{2019} tries that do not work",
        (EventKind::Reset, _) => "starting again",
    }
}
