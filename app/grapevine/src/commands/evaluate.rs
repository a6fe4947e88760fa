//! `grapevine evaluate`: how well rounds of known truth are read.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use academy::{Athlete, Ledger, ledger_file};
use clap::{Args, ValueEnum};
use decode::decoder::{Decoder, Heard};
use decode::evaluation::caption_errors::{CaptionErrors, caption_errors};
use decode::evaluation::losses::{Losses, losses};
use decode::evaluation::scores::{Scores, Sureness, calibration_error, score, sureness};
use decode::evaluation::simulated_coach::{Order, answered};
use decode::evaluation::tuning::{self, HeardRound, read_all};
use decode::parameters::Settings;
use decode::reader::words::{Refers, SeenTalk};
use figures::AthleteId;
use figures::round::changes_per_minute;
use figures::stretch::Lived;
use jiff::civil::Date;
use rayon::prelude::*;
use talk::Lexicon;

use super::error::CommandError;
use crate::folds::{self, Fold};
use crate::rounds_folder::{self, Captions, KnownRound};
use crate::terminal;

/// Reads rounds of known truth and prints how well that went.
///
/// Nothing is judged on what it was learned from: every round is read by a reader trained without
/// the rounds of its speaker, and decoded with settings learned without them.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct EvaluateArguments {
    /// A folder of rounds whose truth is known
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,

    /// The readers trained without some of the rounds: a folder with folds.json
    #[arg(long, value_name = "FOLDER", default_value = "data/parameters/folds")]
    pub(crate) folds: PathBuf,

    /// Also write what was read, as CAPTIONS/NAME.json below this folder
    #[arg(long, value_name = "FOLDER")]
    pub(crate) write: Option<PathBuf>,

    /// Use the settings shipped with the program instead of learning them anew without each
    /// speaker: quicker, and a little too kind
    #[arg(long)]
    pub(crate) quick: bool,

    /// Read captions of this kind only
    #[arg(long, value_enum)]
    pub(crate) captions: Option<Captions>,

    /// Leave out a part of what the reader is told, to see what it is worth
    #[arg(long, value_enum)]
    pub(crate) without: Vec<Part>,

    /// Also let somebody who knows the truth answer this many questions about each round
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub(crate) answers: usize,
}

const EXAMPLES: &str = "\
Examples:
  grapevine evaluate samples/rounds
  grapevine evaluate samples/rounds --quick --without names
  grapevine evaluate samples/rounds --quick --captions clean --answers 12";

/// A part of what the reader is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Part {
    /// Who is named
    Names,
    /// Whose pronoun it is
    Pronouns,
    /// Which words are terms of the lexicon
    Terms,
    /// How long positions are held (with --quick only)
    Holds,
}

/// What was read of one round.
struct Read<'a> {
    round: &'a KnownRound,
    scores: Scores,
    sure: Vec<Sureness>,
    losses: Losses,
    /// Share of seconds right after 0, 1, 2 ... answers, asked by use and from start to end.
    answered: [Vec<f64>; 2],
    /// Changes as figures count them, and minutes of rolling, in truth and as read.
    changes: [(f64, f64); 2],
}

pub(crate) fn run(arguments: &EvaluateArguments) -> Result<(), CommandError> {
    let rounds = rounds_folder::read(&arguments.folder)?;
    let list = folds::list(&arguments.folds)?;
    let lexicon = Lexicon::builtin();
    let evaluate = |captions| evaluate(&rounds, &list, captions, &lexicon, arguments);
    let wanted = |kind: &Captions| arguments.captions.is_none_or(|only| only == *kind);
    let tables: Vec<Result<String, CommandError>> =
        Captions::ALL.into_par_iter().filter(wanted).map(evaluate).collect();
    for table in tables {
        terminal::write(&table?)?;
    }
    Ok(())
}

/// Rounds that one core reads before it takes others.
const AT_A_TIME: usize = 4;

/// Reads all rounds that have captions of one kind, fold by fold.
fn evaluate(
    rounds: &[KnownRound],
    list: &[Fold],
    captions: Captions,
    lexicon: &Lexicon,
    arguments: &EvaluateArguments,
) -> Result<String, CommandError> {
    let mut decoders = folds::decoders(&arguments.folds, list, rounds)?;
    if arguments.quick {
        let mut shipped =
            Settings::shipped().map_err(CommandError::Settings)?[captions as usize].clone();
        if arguments.without.contains(&Part::Holds) {
            shipped.duration_weight = 0.0;
        }
        decoders.iter_mut().try_for_each(|d| d.set(&shipped)).map_err(CommandError::Model)?;
    }
    let heard = folds::hear(rounds, list, &decoders, captions, lexicon);
    let heard: Vec<(&str, HeardRound<'_>)> = (heard.into_iter())
        .map(|(name, round)| (name, leave_out(round, &decoders, &arguments.without)))
        .collect();
    let mut read = Vec::new();
    for fold in list {
        let (own, others): (Vec<_>, Vec<_>) =
            heard.iter().partition(|(name, _)| fold.left_out.iter().any(|out| out == name));
        if !arguments.quick {
            let others: Vec<&HeardRound<'_>> = others.iter().map(|(_, round)| round).collect();
            tuning::learn(&mut decoders, &others, lexicon).map_err(CommandError::Model)?;
        }
        let own_rounds: Vec<_> = own.iter().map(|(_, round)| round).collect();
        let ledgers: Vec<_> = (own_rounds.par_chunks(AT_A_TIME))
            .flat_map_iter(|rounds| read_all(&decoders, rounds, lexicon))
            .collect();
        for ((name, heard), ledger) in own.into_iter().zip(&ledgers) {
            if let Some(folder) = &arguments.write {
                write_ledger(folder, captions, name, heard, ledger)?;
            }
            let Some(round) = rounds.iter().find(|round| round.name == *name) else { continue };
            let answer = |order| {
                let decoder = &decoders[heard.decoder];
                let most = arguments.answers;
                let after = answered(decoder, &heard.heard, heard.truth, order, most, lexicon);
                after.iter().map(|read| score(heard.truth, read).position_and_top).collect()
            };
            read.push(Read {
                round,
                scores: score(heard.truth, ledger),
                sure: sureness(heard.truth, ledger),
                losses: losses(heard.truth, &heard.heard, ledger),
                changes: [&heard.truth.ledger, ledger].map(|of| changes(heard, of)),
                answered: match arguments.answers {
                    0 => [Vec::new(), Vec::new()],
                    _ => [answer(Order::MostUseful), answer(Order::FromTheStart)],
                },
            });
        }
    }
    let mut text = table(captions, &read);
    text += &errors_table(rounds, captions, lexicon);
    text.push('\n');
    Ok(text)
}

/// Changes in a ledger of a round, and its minutes of rolling; both expected.
fn changes(heard: &HeardRound<'_>, ledger: &Ledger) -> (f64, f64) {
    let round = figures::KnownRound {
        // The day and the people do not matter here.
        date: Date::MIN,
        athletes: [AthleteId(0), AthleteId(1)],
        kind: heard.truth.round.kind(),
        gi: true,
        length: heard.truth.round.length().seconds(),
        ledger,
        confirmed: false,
    };
    let lived = [Lived::new(&round, Athlete::First)];
    let count = changes_per_minute(&lived).map_or(0.0, |figure| figure.count);
    (count, lived[0].rolling() / 60.0)
}

/// The round heard again without some parts of what the reader is told.
fn leave_out<'a>(round: HeardRound<'a>, decoders: &[Decoder], without: &[Part]) -> HeardRound<'a> {
    if without.iter().all(|part| *part == Part::Holds) {
        return round;
    }
    let mut seen: SeenTalk = round.heard.seen;
    for word in &mut seen.words {
        word.refers = match word.refers {
            Refers::Name(_) if without.contains(&Part::Names) => Refers::Either,
            Refers::Pronoun(_) if without.contains(&Part::Pronouns) => Refers::Either,
            other => other,
        };
        if without.contains(&Part::Terms) {
            word.term = None;
        }
    }
    let heard: Heard = decoders[round.decoder].hear_words(seen, &round.truth.round);
    HeardRound { heard, ..round }
}

/// Errors of the captions against those without mistakes, before and after correction.
fn errors_table(rounds: &[KnownRound], captions: Captions, lexicon: &Lexicon) -> String {
    let mut sums = [CaptionErrors::default(); 2];
    for round in rounds {
        if let (Some(said), Some(heard)) = (&round.talks[0], &round.talks[captions as usize]) {
            let errors = caption_errors(said, heard, &round.truth.round, lexicon);
            sums = [sums[0].with(errors[0]), sums[1].with(errors[1])];
        }
    }
    let [before, after] = sums;
    format!(
        "wrong words, before and after correction: the trade's {:.3} {:.3}, names {:.3} {:.3}, \
         all {:.3} {:.3}\n",
        before.trade.share(),
        after.trade.share(),
        before.names.share(),
        after.names.share(),
        before.all.rate(),
        after.all.rate(),
    )
}

fn write_ledger(
    folder: &Path,
    captions: Captions,
    name: &str,
    heard: &HeardRound<'_>,
    ledger: &Ledger,
) -> Result<(), CommandError> {
    let folder = folder.join(captions.name());
    let path = folder.join(format!("{name}.json"));
    let text = ledger_file::write(&heard.truth.round, ledger);
    fs::create_dir_all(&folder)
        .and_then(|()| fs::write(&path, text))
        .map_err(|source| CommandError::Write { name: path.display().to_string(), source })
}

fn table(captions: Captions, read: &[Read<'_>]) -> String {
    let mut text = format!("{}\nround  ", captions.name());
    let mut row = |name: &str, figures: &[f64]| {
        let cells: Vec<String> = figures.iter().map(|figure| format!("{figure:9.3}")).collect();
        let _ = write!(text, "\n{name:6} {}", cells.join(" "));
    };
    for read in read {
        row(&read.round.name, &read.scores.figures());
    }
    let mean = |keep: &dyn Fn(&Read<'_>) -> bool| {
        let kept: Vec<&Read<'_>> = read.iter().filter(|read| keep(read)).collect();
        let scores: Vec<Scores> = kept.iter().map(|read| read.scores).collect();
        let sure: Vec<Sureness> = kept.iter().flat_map(|read| read.sure.clone()).collect();
        (Scores::mean(&scores), calibration_error(&sure))
    };
    let same = |read: &Read<'_>| {
        let [first, second] = read.round.truth.round.athletes();
        first.pronoun == second.pronoun
    };
    let (all, pooled) = mean(&|_| true);
    let (same_pronoun, same_pooled) = mean(&same);
    row("mean", &all.figures());
    row("same", &same_pronoun.figures());
    let names: Vec<String> = Scores::NAMES.iter().map(|name| format!("{name:>9}")).collect();
    let text = text.replacen("round  ", &format!("round  {}", names.join(" ")), 1);
    let lost = read.iter().fold(Losses::default(), |sum, read| sum.with(read.losses));
    let shares: Vec<String> =
        lost.shares().iter().map(|(name, share)| format!("{name} {share:.3}")).collect();
    let mut text = format!(
        "{text}\n(same: rounds whose athletes have the same pronoun)\n\
         calibration error over all seconds together: {pooled:.3}, same pronoun {same_pooled:.3}\n\
         seconds: {}\n",
        shares.join(", ")
    );
    let changes = [0, 1].map(|side| {
        let both = read.iter().map(|read| read.changes[side]);
        let (count, minutes) =
            both.fold((0.0, 0.0), |sum, (count, minutes)| (sum.0 + count, sum.1 + minutes));
        count / minutes
    });
    let [true_changes, read_changes] = changes;
    let _ = writeln!(
        text,
        "changes a minute as figures count them: {true_changes:.2} true, {read_changes:.2} read, \
         ratio {:.2}",
        read_changes / true_changes
    );
    for (order, name) in ["the most useful first", "from start to end"].iter().enumerate() {
        let most = read.iter().map(|read| read.answered[order].len()).max().unwrap_or(0);
        if most > 0 {
            // A round with nothing left to ask stays as it is.
            let after = |count: usize| {
                let of_round = |read: &Read<'_>| {
                    let shares = &read.answered[order];
                    shares[count.min(shares.len() - 1)]
                };
                read.iter().map(of_round).sum::<f64>() / read.len() as f64
            };
            let figures: Vec<String> =
                (0..most).map(|count| format!("{:.3}", after(count))).collect();
            let _ = writeln!(text, "pos+top after answers, {name}: {}", figures.join(" "));
        }
    }
    text
}
