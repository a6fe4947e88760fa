//! A student's figures as rows.

use figures::getting_out::{Ending, GettingOut};
use figures::overview::{Changes, StudentFigures};
use figures::{Place, Role};

use super::{FigureRow, Rows, Unit, doing_id, place_id, said_of};
use crate::doings::gerund;
use crate::wording;

/// What of a student's figures is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Topic {
    /// Time by place, pace, holds, give and take, moments per minute.
    Time,
    /// How stays in bad positions end.
    GettingOut,
    /// What they do, and have done to them, by place.
    Habits,
    /// What a place, and an action, is worth to them.
    Worth,
    /// What to train next.
    TrainNext,
    /// What changed since a day.
    Changes,
    /// From where to where.
    Flows,
}

impl Topic {
    /// All of them, in the order in which they are written.
    pub const ALL: [Topic; 7] = [
        Topic::Time,
        Topic::GettingOut,
        Topic::Habits,
        Topic::Worth,
        Topic::TrainNext,
        Topic::Changes,
        Topic::Flows,
    ];
}

/// Stays are told as they stand after so many seconds.
const AFTER_SECONDS: [(f64, &str); 2] = [(30.0, "30s"), (60.0, "60s")];

/// The figures of a student about one topic.
#[must_use]
pub fn student_rows(name: &str, figures: &StudentFigures, about: Topic) -> Vec<FigureRow> {
    match about {
        Topic::Time => time(name, figures),
        Topic::GettingOut => getting_out(name, figures),
        Topic::Habits => habits(name, figures),
        Topic::Worth => worth(name, figures),
        Topic::TrainNext => train_next(name, figures),
        Topic::Changes => figures.changed.as_ref().map_or_else(Vec::new, |all| changes(name, all)),
        Topic::Flows => flows(name, figures),
    }
}

fn time(name: &str, figures: &StudentFigures) -> Vec<FigureRow> {
    let mut time = Rows::new(name, "time");
    for of in &figures.time {
        time.placed(of.place, &of.figure, Unit::Share);
    }
    let mut round = Rows::new(name, "round");
    if let Some(pace) = &figures.pace {
        round.figure("changes", "changes of position", pace, Unit::PerMinute);
    }
    if let Some(even) = &figures.give_and_take {
        round.figure("give_and_take", "how evenly the top was shared", even, Unit::Index);
    }
    for done in &figures.done {
        let place = Place { position: academy::Position::Standing, role: Role::Neither };
        let doing = figures::tallies::Doing { place, kind: done.kind, own: done.own };
        round.figure(&doing_id(doing), gerund(doing), &done.rate, Unit::PerMinute);
    }
    let mut holds = Rows::new(name, "holds");
    for hold in &figures.holds {
        let said = wording::place(hold.place);
        let half = format!("{said}: half are no longer than");
        holds.figure("median", &half, &hold.median, Unit::Seconds).place = Some(hold.place);
        let longest = format!("{said}: the longest");
        holds.bare("longest", &longest, hold.longest, Unit::Seconds).place = Some(hold.place);
    }
    [time.rows, round.rows, holds.rows].concat()
}

const fn ending(ending: Ending) -> (&'static str, &'static str) {
    match ending {
        Ending::Escaped => ("escaped", "out"),
        Ending::Turtled => ("turtled", "turned to turtle"),
        Ending::Worse => ("worse", "somewhere worse"),
        Ending::Tapped => ("tapped", "tapped"),
        Ending::Elsewhere => ("elsewhere", "in another bad position"),
    }
}

fn getting_out(name: &str, figures: &StudentFigures) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "getting_out");
    for out in &figures.getting_out {
        let place = Place { position: out.own.position, role: Role::Bottom };
        let mut of = |of: &GettingOut, whose: &str, said_whose: &str| {
            let step = |seconds: f64| of.curves.at(seconds);
            for (seconds, after) in AFTER_SECONDS {
                let Some(step) = step(seconds) else { continue };
                for kind in Ending::ALL {
                    let Some(at) = step.outcomes.get(kind.index()) else { continue };
                    let (id, words) = ending(kind);
                    let said = format!(
                        "{}{said_whose}: {words} within {seconds:.0} s",
                        wording::place(place)
                    );
                    let doing = format!("{whose}{id}_within_{after}");
                    let row = rows.bare(&doing, &said, at.incidence, Unit::Share);
                    row.place = Some(place);
                    row.count = Some(of.stays);
                    row.limits = Some(at.interval);
                    row.confirmed = Some(of.confirmed);
                }
            }
        };
        of(&out.own, "", "");
        if let Some(everybody) = &out.everybody {
            of(everybody, "everybody_", ", everybody together");
        }
        if let Some(beside) = out.beside {
            let said = format!("{}: chance of so much difference", wording::place(place));
            let row = rows.bare("chance_of_difference", &said, beside.adjusted, Unit::Chance);
            row.place = Some(place);
            row.count = Some(beside.comparison.stays[0]);
        }
    }
    rows.rows
}

fn habits(name: &str, figures: &StudentFigures) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "habits");
    for habit in &figures.habits {
        let (id, said) = (doing_id(habit.doing), said_of(habit.doing));
        let place = Some(habit.doing.place);
        rows.figure(&id, &said, &habit.seen, Unit::PerMinute).place = place;
        if let Some(pooled) = &habit.pooled {
            let (id, said) = (format!("{id}_reads_as"), format!("{said}, reads as"));
            let row = rows.bare(&id, &said, pooled.value, Unit::PerMinute);
            row.place = place;
            row.count = Some(habit.seen.count);
            row.limits = Some(pooled.interval);
            row.confirmed = Some(habit.seen.confirmed);
        }
    }
    let mut apart = Rows::new(name, "sets_apart");
    for (kind, all) in [("surest", &figures.surest), ("leak", &figures.leaks)] {
        for one in all {
            let id = format!("{kind}_{}", doing_id(one.habit.doing));
            let said = format!("{kind}: {}", said_of(one.habit.doing));
            let row = apart.bare(&id, &said, one.chance, Unit::Chance);
            row.place = Some(one.habit.doing.place);
            row.count = Some(one.habit.seen.count);
            row.confirmed = Some(one.habit.seen.confirmed);
        }
    }
    let mut attempts = Rows::new(name, "attempts");
    if let Some(ends) = &figures.attempts {
        attempts.figure("caught", "attempts that were there", &ends.caught, Unit::Share);
        if let Some(pooled) = &ends.pooled {
            let said = "attempts that were there, reads as";
            let row = attempts.bare("caught_reads_as", said, pooled.value, Unit::Share);
            row.count = Some(ends.caught.count);
            row.limits = Some(pooled.interval);
            row.confirmed = Some(ends.caught.confirmed);
        }
    }
    [rows.rows, apart.rows, attempts.rows].concat()
}

fn worth(name: &str, figures: &StudentFigures) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "worth");
    for worth in &figures.worth {
        let said = wording::place(worth.place);
        let row = rows.bare("", &said, worth.value, Unit::NetSubmissions);
        row.place = Some(worth.place);
        row.count = Some(worth.minutes);
        row.limits = Some(worth.interval);
        row.confirmed = Some(worth.confirmed);
    }
    rows.rows
}

fn train_next(name: &str, figures: &StudentFigures) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "train_next");
    for suggestion in &figures.train_next {
        let change = &suggestion.change;
        let (id, said) = (doing_id(change.doing), said_of(change.doing));
        let place = Some(change.doing.place);
        let row = rows.bare(&format!("{id}_gain"), &said, change.gain, Unit::NetSubmissions);
        row.place = place;
        row.count = Some(change.count);
        row.limits = Some(change.interval);
        row.confirmed = Some(change.confirmed);
        for (what, words, value, unit) in [
            ("best", "chance that nothing else is worth more", change.best, Unit::Chance),
            ("now", "now", change.now, Unit::PerMinute),
            ("target", "the better quarter", change.target, Unit::PerMinute),
        ] {
            let (id, said) = (format!("{id}_{what}"), format!("{said}, {words}"));
            rows.bare(&id, &said, value, unit).place = place;
        }
    }
    rows.rows
}

fn changes(name: &str, changes: &Changes) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "changes");
    for change in &changes.what.habits {
        let (id, said) = (doing_id(change.doing), said_of(change.doing));
        let place = Some(change.doing.place);
        let before = (format!("{id}_before"), format!("{said}, before"));
        rows.figure(&before.0, &before.1, &change.before, Unit::PerMinute).place = place;
        let since = (format!("{id}_since"), format!("{said}, since {}", changes.since));
        rows.figure(&since.0, &since.1, &change.since, Unit::PerMinute).place = place;
        let ratio = (format!("{id}_ratio"), format!("{said}, since beside before"));
        let row = rows.bare(&ratio.0, &ratio.1, change.ratio.ratio, Unit::Ratio);
        row.place = place;
        row.limits = Some(change.ratio.interval);
        let chance = (format!("{id}_chance"), format!("{said}, chance of so much by itself"));
        rows.bare(&chance.0, &chance.1, change.adjusted, Unit::Chance).place = place;
    }
    for change in &changes.what.getting_out {
        let place = Place { position: change.comparison.position, role: Role::Bottom };
        let said = format!("{}: escapes more than before", wording::place(place));
        let row = rows.bare("escapes_more", &said, change.comparison.excess, Unit::Count);
        row.place = Some(place);
        row.count = Some(change.comparison.stays[0]);
        let said = format!("{}: chance of so much by itself", wording::place(place));
        rows.bare("escapes_chance", &said, change.adjusted, Unit::Chance).place = Some(place);
    }
    rows.rows
}

fn flows(name: &str, figures: &StudentFigures) -> Vec<FigureRow> {
    let mut rows = Rows::new(name, "flows");
    for flow in &figures.flows {
        let id = format!("to_{}", place_id(flow.to));
        let said = format!("{}, then {}", wording::place(flow.from), wording::place(flow.to));
        rows.figure(&id, &said, &flow.share, Unit::Share).place = Some(flow.from);
    }
    rows.rows
}
