//! `grapevine figures`: what the rounds add up to.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use academy::{Ledger, Person, Round, RoundKind};
use clap::{Args, ValueEnum};
use figures::meant::KindNorms;
use figures::overview::{AcademyFigures, Selection};
use figures::scoring::{RuleSet, score};
use figures::taught::used;
use figures::two_readings::two_readings;
use figures::{AthleteId, KnownRound};
use jiff::civil::Date;
use reports::figure_rows::{self, FigureRow, Topic};

use super::error::CommandError;
use crate::round_arguments::Kind;
use crate::rounds_at_hand::{PersonAtHand, RoundsAtHand, RoundsFrom};
use crate::terminal;

/// Prints what the rounds add up to, for everybody or for one student
///
/// Figures come from the book, while `grapevine serve` may be running, or from a folder of ledgers
/// with --rounds. Each has a value, what it rests on, 95 % limits, and how much of that a person
/// told or confirmed; docs/figures.md says what each is and how it is worked out, docs/figure-rows.md what the columns of CSV and JSON are. They are for
/// conversations with a student, not for ranking people.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct FiguresArguments {
    /// Whose [default: one line for everybody, or with --about everybody's]
    #[arg(value_name = "STUDENT")]
    student: Option<String>,

    /// What about [default: all that is about one student]
    #[arg(long, value_enum, value_name = "WHAT")]
    about: Option<About>,

    #[command(flatten)]
    from: RoundsFrom,

    /// Only rounds of these kinds
    #[arg(long, value_enum, value_delimiter = ',', value_name = "KIND")]
    kind: Vec<Kind>,

    /// Only rounds in the gi
    #[arg(long, conflicts_with = "no_gi")]
    gi: bool,

    /// Only rounds without a gi
    #[arg(long)]
    no_gi: bool,

    /// Only rounds of this day and later; with --about changes or taught, the day to compare before
    /// and since [default for changes: the last talk with the student]
    #[arg(long, value_name = "YYYY-MM-DD")]
    since: Option<Date>,

    /// Only rounds of this day and earlier
    #[arg(long, value_name = "YYYY-MM-DD")]
    until: Option<Date>,

    /// The round, for --about round, scoring or agreement: its number in the book (the end of its
    /// page's address), or the name of its file
    #[arg(long, value_name = "ROUND")]
    round: Option<String>,

    /// The ledger to compare the round with, for --about agreement: a file that `grapevine read
    /// --out json` wrote
    #[arg(long, value_name = "FILE")]
    with: Option<PathBuf>,

    /// The rule book, for --about scoring: ibjjf or adcc
    #[arg(long, value_name = "RULES", default_value = "ibjjf")]
    rules: String,

    /// The technique, for --about taught, as the ledgers name it
    #[arg(long, value_name = "NAME")]
    technique: Option<String>,

    /// What to write
    #[arg(long, value_enum, default_value_t = FiguresOutput::Text)]
    out: FiguresOutput,
}

const EXAMPLES: &str = "\
Examples:
  grapevine figures
  grapevine figures Petra
  grapevine figures Petra --about getting-out --kind hard,competition
  grapevine figures Petra --about changes --since 2026-10-01
  grapevine figures --about habits --out csv > habits.csv
  grapevine figures --about scoring --round 12 --rules adcc
  grapevine figures --rounds ledgers --about time";

/// What figures are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum About {
    /// Time by position, pace, holds, moments per minute
    Time,
    /// How stays in bad positions end
    GettingOut,
    /// What is done from each position
    Habits,
    /// What a position is worth
    Worth,
    /// What to train next
    TrainNext,
    /// What changed since a day
    Changes,
    /// From where to where
    Flows,
    /// Use of a technique before and since a day
    Taught,
    /// The same position at each belt
    Layers,
    /// One round
    Round,
    /// One round under a rule book
    Scoring,
    /// Two readings of one round
    Agreement,
}

impl About {
    /// What of a student's figures it is; nothing where it is about something else.
    const fn topic(self) -> Option<Topic> {
        Some(match self {
            About::Time => Topic::Time,
            About::GettingOut => Topic::GettingOut,
            About::Habits => Topic::Habits,
            About::Worth => Topic::Worth,
            About::TrainNext => Topic::TrainNext,
            About::Changes => Topic::Changes,
            About::Flows => Topic::Flows,
            _ => return None,
        })
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum FiguresOutput {
    /// Tables to read
    Text,
    /// A table for a spreadsheet
    Csv,
    /// For programs (docs/figure-rows.md)
    Json,
}

pub(crate) fn run(arguments: &FiguresArguments) -> Result<(), CommandError> {
    let at_hand = arguments.from.read()?;
    let rows = rows(arguments, &at_hand)?;
    if rows.is_empty() {
        return Err(CommandError::NoFigures);
    }
    terminal::write(&match arguments.out {
        FiguresOutput::Text => figure_rows::text(&rows),
        FiguresOutput::Csv => figure_rows::csv(&rows),
        FiguresOutput::Json => figure_rows::json(&rows),
    })
}

fn rows(
    arguments: &FiguresArguments,
    at_hand: &RoundsAtHand,
) -> Result<Vec<FigureRow>, CommandError> {
    match arguments.about {
        Some(About::Round) => return of_round(arguments, at_hand),
        Some(About::Scoring) => return scoring(arguments, at_hand),
        Some(About::Agreement) => return agreement(arguments, at_hand),
        _ => {}
    }
    // Where days are compared, those before the day are looked at too.
    let compares = matches!(arguments.about, Some(About::Changes | About::Taught));
    let selection = Selection {
        kinds: arguments.kind.iter().map(|kind| RoundKind::from(*kind)).collect(),
        gi: (arguments.gi || arguments.no_gi).then_some(arguments.gi),
        since: arguments.since.filter(|_| !compares),
        until: arguments.until,
    };
    let rounds = selection.of(&at_hand.known());
    let people: Vec<&PersonAtHand> = match &arguments.student {
        Some(name) => vec![at_hand.person(name)?],
        None => by_name(at_hand),
    };
    if arguments.about == Some(About::Taught) {
        return taught(arguments, at_hand, &rounds);
    }
    let academy = AcademyFigures::new(&rounds, at_hand.belts());
    if arguments.about == Some(About::Layers) {
        return Ok(figure_rows::layer_rows(&academy));
    }
    let topics: Vec<Topic> = match (arguments.about.and_then(About::topic), &arguments.student) {
        (Some(topic), _) => vec![topic],
        (None, Some(_)) => Topic::ALL.to_vec(),
        (None, None) => {
            let row = |one: &&PersonAtHand| {
                figure_rows::overview_rows(&one.name, &academy, &rounds, one.id)
            };
            return Ok(people.iter().flat_map(row).collect());
        }
    };
    let mut rows = Vec::new();
    for person in people {
        let day = if compares { arguments.since.or(person.talked) } else { person.talked };
        if compares && day.is_none() && arguments.student.is_some() {
            return Err(CommandError::NoDayToCompare { name: person.name.clone() });
        }
        let Some(figures) = academy.student(&rounds, person.id, day) else { continue };
        for topic in &topics {
            rows.extend(figure_rows::student_rows(&person.name, &figures, *topic));
        }
    }
    Ok(rows)
}

fn by_name(at_hand: &RoundsAtHand) -> Vec<&PersonAtHand> {
    let mut people: Vec<&PersonAtHand> = at_hand.people.iter().collect();
    people.sort_by_key(|person| person.name.to_lowercase());
    people
}

fn taught(
    arguments: &FiguresArguments,
    at_hand: &RoundsAtHand,
    rounds: &[KnownRound<'_>],
) -> Result<Vec<FigureRow>, CommandError> {
    let (Some(technique), Some(day)) = (&arguments.technique, arguments.since) else {
        return Err(CommandError::NeedsForTaught);
    };
    if let Some(name) = &arguments.student {
        let person = at_hand.person(name)?;
        let used = used(rounds, technique, day, |who| who == person.id);
        return Ok(figure_rows::taught_rows(&person.name, technique, &used));
    }
    let mut rows =
        figure_rows::taught_rows("Everybody", technique, &used(rounds, technique, day, |_| true));
    let belts: BTreeMap<AthleteId, academy::Belt> = at_hand.belts();
    for belt in academy::Belt::ALL {
        if belts.values().any(|worn| *worn == belt) {
            let used = used(rounds, technique, day, |who| belts.get(&who) == Some(&belt));
            let whose = format!("{} belts", belt.id());
            rows.extend(figure_rows::taught_rows(&whose, technique, &used));
        }
    }
    Ok(rows)
}

/// The round asked for: where it stands among those at hand.
fn asked_for(arguments: &FiguresArguments, at_hand: &RoundsAtHand) -> Result<usize, CommandError> {
    let called = arguments.round.as_deref().ok_or(CommandError::NeedsRound)?;
    at_hand.round(called)
}

fn of_round(
    arguments: &FiguresArguments,
    at_hand: &RoundsAtHand,
) -> Result<Vec<FigureRow>, CommandError> {
    let at = asked_for(arguments, at_hand)?;
    let mut known = at_hand.known();
    let names = at_hand.rounds[at].athletes.map(|who| at_hand.name(who));
    let round = known.remove(at);
    Ok(figure_rows::round_rows(names, &round, &KindNorms::of(&known)))
}

/// A round as the scoring and the wording take it.
fn as_round(at_hand: &RoundsAtHand, at: usize) -> Result<(Round, &Ledger), CommandError> {
    let found = &at_hand.rounds[at];
    let person = |who| Person { name: at_hand.name(who).to_owned(), pronoun: None };
    Ok((Round::new(found.athletes.map(person), found.kind, found.length)?, &found.ledger))
}

fn scoring(
    arguments: &FiguresArguments,
    at_hand: &RoundsAtHand,
) -> Result<Vec<FigureRow>, CommandError> {
    let rules = RuleSet::from_id(&arguments.rules)
        .ok_or_else(|| CommandError::NoRules { name: arguments.rules.clone() })?;
    let (round, ledger) = as_round(at_hand, asked_for(arguments, at_hand)?)?;
    terminal::remark(&format!(
        "by {} {}, read by a program from a ledger; the referee's rule book decides",
        rules.name(),
        rules.edition()
    ));
    Ok(figure_rows::scoring_rows(&round, &score(ledger, &round, &rules)))
}

fn agreement(
    arguments: &FiguresArguments,
    at_hand: &RoundsAtHand,
) -> Result<Vec<FigureRow>, CommandError> {
    let other = arguments.with.as_deref().ok_or(CommandError::NeedsSecondReading)?;
    let (round, ledger) = as_round(at_hand, asked_for(arguments, at_hand)?)?;
    let (_, second) = ledger_file(other)?;
    Ok(figure_rows::agreement_rows(&round, &two_readings(ledger, &second)))
}

fn ledger_file(path: &Path) -> Result<(Round, Ledger), CommandError> {
    let name = path.display().to_string();
    let text = fs::read_to_string(path)
        .map_err(|source| CommandError::Read { name: name.clone(), source })?;
    academy::ledger_file::read(&text).map_err(|source| CommandError::Ledger { name, source })
}
