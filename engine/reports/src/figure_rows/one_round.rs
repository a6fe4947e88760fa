//! The figures of one round as rows.

use academy::{Athlete, Round};
use figures::meant::{KindNorms, Measure, meant};
use figures::round::{changes_per_minute, done_per_minute, give_and_take, holds, time_shares};
use figures::scoring::Scored;
use figures::stretch::Lived;
use figures::tallies::Doing;
use figures::two_readings::{Agreed, TwoReadings};
use figures::{KnownRound, Place, Role};

use super::{FigureRow, Rows, Unit, doing_id};
use crate::doings::gerund;
use crate::wording;

/// Moments that are counted in one round.
const COUNTED: [academy::EventKind; 4] = [
    academy::EventKind::SubmissionAttempt,
    academy::EventKind::SubmissionEscape,
    academy::EventKind::Release,
    academy::EventKind::Tap,
];

/// What a round adds up to for each of the two, and how it looks beside the others of its kind,
/// among which it must not be.
#[must_use]
pub fn round_rows(names: [&str; 2], round: &KnownRound<'_>, others: &KindNorms) -> Vec<FigureRow> {
    let mut all = Vec::new();
    for seat in Athlete::BOTH {
        let lived = [Lived::new(round, seat)];
        let name = names[seat.index()];
        let mut time = Rows::new(name, "time");
        for of in time_shares(&lived) {
            time.placed(of.place, &of.figure, Unit::Share);
        }
        let mut rows = Rows::new(name, "round");
        if let Some(pace) = changes_per_minute(&lived) {
            rows.figure("changes", "changes of position", &pace, Unit::PerMinute);
        }
        if let Some(even) = give_and_take(&lived) {
            rows.figure("give_and_take", "how evenly the top was shared", &even, Unit::Index);
        }
        for kind in COUNTED {
            let place = Place { position: academy::Position::Standing, role: Role::Neither };
            let doing = Doing { place, kind, own: true };
            if let Some(rate) = done_per_minute(&lived, kind, true) {
                rows.figure(&doing_id(doing), gerund(doing), &rate, Unit::PerMinute);
            }
        }
        let mut held = Rows::new(name, "holds");
        for hold in holds(&lived) {
            let said = format!("{}: the longest", wording::place(hold.place));
            held.bare("longest", &said, hold.longest, Unit::Seconds).place = Some(hold.place);
        }
        all.extend([time.rows, rows.rows, held.rows].concat());
    }
    let both = format!("{} and {}", names[0], names[1]);
    let mut rows = Rows::new(&both, "meant");
    let meant = meant(round, others);
    for evidence in &meant.evidence {
        let (id, said, unit) = measure(evidence.measure);
        let row = rows.bare(id, said, evidence.value, unit);
        row.count = evidence.others.map(|others| others.rounds as f64);
        row.confirmed = Some(meant.confirmed);
    }
    if let Some(chance) = meant.chance {
        let said = "chance that a round like the others is so odd";
        rows.bare("chance", said, chance, Unit::Chance);
    }
    all.extend(rows.rows);
    all
}

const fn measure(measure: Measure) -> (&'static str, &'static str, Unit) {
    match measure {
        Measure::Changes => ("changes", "changes of position", Unit::PerMinute),
        Measure::Pinned => ("pinned", "time in pins", Unit::Share),
        Measure::LongestPin => ("longest_pin", "the longest pin", Unit::Seconds),
        Measure::GiveAndTake => ("give_and_take", "how evenly the top was shared", Unit::Index),
        Measure::Attempts => ("attempts", "submission attempts", Unit::PerMinute),
        Measure::Releases => ("releases", "submissions let go", Unit::PerMinute),
        Measure::Taps => ("taps", "taps", Unit::PerMinute),
    }
}

/// A round read under a rule book: the points of both, each award, and what does not count.
#[must_use]
pub fn scoring_rows(round: &Round, scored: &Scored) -> Vec<FigureRow> {
    let mut all = Vec::new();
    for seat in Athlete::BOTH {
        let mut rows = Rows::new(round.name(seat), "scoring");
        let points = f64::from(scored.points[seat.index()]);
        rows.bare("points", "points", points, Unit::Points).confirmed =
            Some(1.0 - scored.uncertain);
        for award in scored.awards.iter().filter(|award| award.athlete == seat) {
            let said = format!("{} {}: {}", award.time, award.action.name(), award.reason);
            let row = rows.bare(award.action.id(), &said, f64::from(award.points), Unit::Points);
            row.count = Some(award.held_seconds);
            row.confirmed = Some(if award.confirmed { 1.0 } else { 0.0 });
        }
        for not in scored.not_counted.iter().filter(|not| not.athlete == Some(seat)) {
            let id = format!("no_{}", not.action.map_or("points", |action| action.id()));
            let said = format!("{} no points: {}", not.time, not.reason);
            rows.bare(&id, &said, 0.0, Unit::Points);
        }
        all.extend(rows.rows);
    }
    all
}

/// How much two readings of a round agree.
#[must_use]
pub fn agreement_rows(round: &Round, readings: &TwoReadings) -> Vec<FigureRow> {
    let both = format!("{} and {}", round.name(Athlete::First), round.name(Athlete::Second));
    let mut rows = Rows::new(&both, "agreement");
    rows.bare("compared", "time compared", readings.compared, Unit::Seconds);
    rows.bare("left_out", "time one of them leaves open", readings.left_out, Unit::Seconds);
    let of = |agreed: &Option<Agreed>| *agreed;
    for (id, said, agreed) in [
        ("position", "position", of(&readings.position)),
        ("position_and_top", "position and top", of(&readings.position_and_top)),
    ] {
        let Some(agreed) = agreed else { continue };
        for (what, words, estimate, unit) in [
            ("share", "share of the seconds", Some(agreed.share), Unit::Share),
            ("kappa", "Cohen's kappa", agreed.kappa, Unit::Index),
            ("ac1", "Gwet's AC1", Some(agreed.ac1), Unit::Index),
        ] {
            let Some(estimate) = estimate else { continue };
            let (id, said) = (format!("{id}_{what}"), format!("{said}: {words}"));
            let row = rows.bare(&id, &said, estimate.value, unit);
            row.count = Some(readings.compared);
            row.limits = Some(estimate.interval);
        }
    }
    for found in &readings.stretches {
        let percent = found.overlap * 100.0;
        let id = format!("f1_at_{percent:.0}");
        let said = format!("F1 of stretches that overlap by {percent:.0} %");
        let row = rows.bare(&id, &said, found.f1(), Unit::Index);
        row.count = Some((found.found + found.missed) as f64);
    }
    rows.rows
}
