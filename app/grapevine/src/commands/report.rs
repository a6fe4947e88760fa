//! `grapevine report`: what a student's rounds add up to, as a page for the student.

use std::fs;
use std::path::{Path, PathBuf};

use academy::{Audience, Time};
use clap::Args;
use figures::habits::Towards;
use figures::moments::Moment;
use figures::overview::AcademyFigures;
use jiff::civil::Date;
use reports::wording::first_name;
use reports::{
    CoachMessage, HiddenNames, Peers, ReplayMoment, StudentReport, ToTrain, Voice, Whose,
};
use store::{Book, MemberId};

use super::error::CommandError;
use crate::rounds_at_hand::{PersonAtHand, RoundsAtHand, RoundsFrom};
use crate::{book_folder, terminal};

/// Writes a student's report: one page to print or to send
///
/// It speaks to the student, compares nobody with anybody by name, and holds the message, the goals
/// and the notes that the coach keeps in the book. Others are named only where they agreed to be
/// shown within the club: partners, and whoever the coach's own words name. Read it before you hand
/// it on.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct ReportArguments {
    /// Whose
    #[arg(value_name = "STUDENT")]
    student: String,

    /// The file to write
    #[arg(long, value_name = "FILE", required = true)]
    out: PathBuf,

    #[command(flatten)]
    from: RoundsFrom,

    /// The day that stands on it [default: today]
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,

    /// Replace a file of that name
    #[arg(long)]
    force: bool,
}

const EXAMPLES: &str = "\
Examples:
  grapevine report Petra --out petra.html
  grapevine report Petra --out petra.html --force --date 2026-11-30
  grapevine report Petra --out petra.html --rounds ledgers";

/// What the coach keeps for the report, without the names of those who may not be named.
#[derive(Default)]
struct Kept {
    academy: String,
    message: Option<(Date, String)>,
    goals: Vec<String>,
    /// Notes on moments: the round's number, when, and the words.
    notes: Vec<(i64, Time, String)>,
    /// Whether the student is a minor.
    minor: bool,
}

pub(crate) fn run(arguments: &ReportArguments) -> Result<(), CommandError> {
    let file = arguments.out.display().to_string();
    if arguments.out.exists() && !arguments.force {
        return Err(CommandError::IsThere { name: file });
    }
    let at_hand = arguments.from.read()?;
    let person = at_hand.person(&arguments.student)?;
    let today = jiff::ZonedDateTime::now().date();
    let kept = match arguments.from.rounds {
        Some(_) => Kept { academy: "Your academy".to_owned(), ..Kept::default() },
        None => kept(arguments, MemberId(person.id.0), today.year())?,
    };
    let date = arguments.date.unwrap_or(today);
    let html = report(&at_hand, person, &kept, date)?;
    let failed = |source| CommandError::Write { name: file.clone(), source };
    // Whole or not at all.
    let part = unfinished(&arguments.out);
    fs::write(&part, html).map_err(failed)?;
    fs::rename(&part, &arguments.out).map_err(failed)?;
    if kept.minor {
        let name = &person.name;
        terminal::remark(&format!(
            "For the guardian as well: {name} is a minor, so show them the file before or with {name}"
        ));
    }
    terminal::write(&format!("Wrote {file}: read it before you hand it on.\n"))
}

/// Where a file is written before it takes its name: beside it and hidden, so that no file of
/// anybody's is in the way.
fn unfinished(out: &Path) -> PathBuf {
    let name = out.file_name().unwrap_or_default().to_string_lossy();
    out.with_file_name(format!(".{name}.part"))
}

fn kept(arguments: &ReportArguments, member: MemberId, year: i16) -> Result<Kept, CommandError> {
    let folder = book_folder::or_usual(arguments.from.book.clone())?;
    book_folder::wait_for(async {
        let book = Book::open_to_read(&folder).await?;
        let academy = book.academy().await?;
        let messages = book.messages(member).await?;
        let goals = book.goals(member).await?;
        let notes = book.remarks_for(member).await?;
        let people = book.members().await?;
        book.close().await;
        // Everybody in the book, in whatever round: words may name anybody.
        let hidden = HiddenNames::new(people.iter().map(|(id, about)| {
            let agreed = about.may_be_shown_to(Audience::Club, year).is_ok();
            (about.name.as_str(), agreed || *id == member)
        }));
        let without = |words: &String| hidden.taken_out_of(words);
        let open = goals.into_iter().filter(|(_, goal)| goal.reached.is_none());
        Ok(Kept {
            academy: academy.map_or_else(String::new, |academy| academy.name),
            message: messages.first().map(|(_, one)| (one.day, without(&one.words))),
            goals: open.map(|(_, goal)| without(&goal.words)).collect(),
            notes: (notes.iter())
                .map(|note| (note.round.0, note.time, without(&note.words)))
                .collect(),
            minor: people.iter().any(|(id, about)| *id == member && about.is_minor(year)),
        })
    })
}

fn report(
    at_hand: &RoundsAtHand,
    person: &PersonAtHand,
    kept: &Kept,
    date: Date,
) -> Result<String, CommandError> {
    let rounds = at_hand.known();
    let academy = AcademyFigures::new(&rounds, at_hand.belts());
    let figures = academy
        .student(&rounds, person.id, person.talked)
        .ok_or_else(|| CommandError::NothingToReport { name: person.name.clone() })?;
    let partner = |at: usize| {
        let of = at_hand.rounds.get(at)?;
        let other = of.athletes.into_iter().find(|who| *who != person.id)?;
        let other = at_hand.people.iter().find(|one| one.id == other && one.may_be_named)?;
        Some(other.name.as_str())
    };
    let moment = |moment: &Moment| {
        let date = at_hand.rounds.get(moment.round)?.date;
        let time = Time::from_seconds(moment.time);
        Some(ReplayMoment { date, time, partner: partner(moment.round), what: "" })
    };
    let seen: Vec<Vec<ReplayMoment<'_>>> = (figures.train_next.iter())
        .map(|next| next.to_watch().filter_map(|one| moment(&one)).collect())
        .collect();
    let next: Vec<ToTrain<'_>> = (figures.train_next.iter().zip(&seen))
        .map(|(next, moments)| ToTrain { change: next.change, moments })
        .collect();
    let note = |(round, time, words): &'_ (i64, Time, String)| {
        let at = at_hand.rounds.iter().position(|one| one.id == *round)?;
        Some((at, *time, words.clone()))
    };
    let notes: Vec<(usize, Time, String)> = kept.notes.iter().filter_map(note).collect();
    let moments: Vec<ReplayMoment<'_>> = (notes.iter())
        .map(|(at, time, words)| ReplayMoment {
            date: at_hand.rounds[*at].date,
            time: *time,
            partner: partner(*at),
            what: words,
        })
        .collect();
    let belt = match (figures.towards, person.belt) {
        (Towards::Belt, Some(belt)) => Some(belt.id()),
        _ => None,
    };
    let peers = belt.map(|belt| [format!("the other {belt} belts"), format!("all {belt} belts")]);
    let peers = peers.unwrap_or_else(|| ["the others here", "everybody here"].map(str::to_owned));
    let goals: Vec<&str> = kept.goals.iter().map(String::as_str).collect();
    Ok(reports::student_report(&StudentReport {
        whose: Whose { name: first_name(&person.name), pronoun: person.pronoun, voice: Voice::You },
        academy: &kept.academy,
        date,
        only: None,
        figures: &figures,
        peers: Peers { others: &peers[0], everybody: &peers[1] },
        message: kept.message.as_ref().map(|(day, words)| CoachMessage { day: *day, words }),
        next: &next,
        goals: &goals,
        moments: &moments,
    }))
}
