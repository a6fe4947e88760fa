//! The rounds that figures and exports are made of: those of a book, or ledger files of a folder.

use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};

use academy::{Audience, Belt, Ledger, Pronoun, Round, RoundKind, Time};
use clap::Args;
use figures::{AthleteId, KnownRound};
use jiff::civil::Date;
use store::Book;

use crate::commands::error::CommandError;
use crate::{book_folder, terminal};

/// Where the rounds are.
#[derive(Debug, Args)]
pub(crate) struct RoundsFrom {
    /// The folder of the book [default: grapevine in your folder for data]
    #[arg(long, value_name = "FOLDER", conflicts_with = "rounds")]
    pub(crate) book: Option<PathBuf>,

    /// A folder of ledgers instead of a book: files written by `grapevine read --out json`, whose
    /// names begin with the day, as 2026-11-02-petra-idris.json, and go on with -nogi where no gi
    /// was worn, as 2026-11-02-nogi-wren-callum.json. Belts come from people.csv in the folder, if
    /// it is there: a table with the columns name and belt
    #[arg(long, value_name = "FOLDER")]
    pub(crate) rounds: Option<PathBuf>,
}

/// Somebody who is in a round.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PersonAtHand {
    pub(crate) id: AthleteId,
    pub(crate) name: String,
    pub(crate) pronoun: Option<Pronoun>,
    pub(crate) belt: Option<Belt>,
    /// Whether others of the academy may read the name; nothing said means no.
    pub(crate) may_be_named: bool,
    /// The day of the last talk with the coach.
    pub(crate) talked: Option<Date>,
}

/// A round with its ledger.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct RoundAtHand {
    pub(crate) id: i64,
    /// What it is called on the command line: its number in the book, or its file's name.
    pub(crate) called: String,
    pub(crate) date: Date,
    pub(crate) kind: RoundKind,
    pub(crate) gi: bool,
    pub(crate) athletes: [AthleteId; 2],
    pub(crate) length: Time,
    pub(crate) confirmed: bool,
    pub(crate) ledger: Ledger,
}

/// All rounds, by day, and everybody in them, by id.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct RoundsAtHand {
    pub(crate) people: Vec<PersonAtHand>,
    pub(crate) rounds: Vec<RoundAtHand>,
}

impl RoundsFrom {
    /// Reads them. What could not be taken is said on standard error.
    pub(crate) fn read(&self) -> Result<RoundsAtHand, CommandError> {
        let at_hand = match &self.rounds {
            Some(folder) => of_folder(folder)?,
            None => of_book(&book_folder::or_usual(self.book.clone())?)?,
        };
        if at_hand.rounds.is_empty() {
            return Err(CommandError::NoLedgers);
        }
        Ok(at_hand)
    }
}

impl RoundsAtHand {
    /// The rounds as the figures take them.
    pub(crate) fn known(&self) -> Vec<KnownRound<'_>> {
        let mut known = Vec::with_capacity(self.rounds.len());
        for round in &self.rounds {
            known.push(KnownRound {
                date: round.date,
                kind: round.kind,
                gi: round.gi,
                athletes: round.athletes,
                length: round.length.seconds(),
                ledger: &round.ledger,
                confirmed: round.confirmed,
            });
        }
        known
    }

    pub(crate) fn belts(&self) -> BTreeMap<AthleteId, Belt> {
        self.people.iter().filter_map(|person| Some((person.id, person.belt?))).collect()
    }

    pub(crate) fn name(&self, who: AthleteId) -> &str {
        self.people.iter().find(|person| person.id == who).map_or("", |person| &person.name)
    }

    /// Somebody by name, letter case aside.
    pub(crate) fn person(&self, name: &str) -> Result<&PersonAtHand, CommandError> {
        let wanted = name.trim().to_lowercase();
        let found = self.people.iter().find(|person| person.name.to_lowercase() == wanted);
        found.ok_or_else(|| CommandError::NobodyCalled { name: name.to_owned() })
    }

    /// Where a round stands by what it is called, with or without `.json`.
    pub(crate) fn round(&self, called: &str) -> Result<usize, CommandError> {
        let wanted = Path::new(called).file_name().unwrap_or_default().to_string_lossy();
        let wanted = wanted.trim_end_matches(".json");
        let found = self.rounds.iter().position(|round| round.called == wanted);
        found.ok_or_else(|| CommandError::NoRoundCalled { called: called.to_owned() })
    }
}

fn of_book(folder: &Path) -> Result<RoundsAtHand, CommandError> {
    book_folder::wait_for(async {
        let book = Book::open_to_read(folder).await?;
        let known = book.known_rounds().await?;
        let members = book.members().await?;
        let talked = book.last_conversations().await?;
        book.close().await;
        if !known.unread.is_empty() {
            let (are, how_many) = match known.unread.len() {
                1 => ("is", "1 round".to_owned()),
                many => ("are", format!("{many} rounds")),
            };
            terminal::remark(&format!(
                "{how_many} {are} left out, not read since they were added or changed: open the \
                 students' pages in `grapevine serve`, which reads them"
            ));
        }
        let id = |member: store::MemberId| AthleteId(member.0);
        let year = jiff::ZonedDateTime::now().year();
        let rounds: Vec<RoundAtHand> = (known.rounds.into_iter())
            .map(|round| RoundAtHand {
                id: round.id.0,
                called: round.id.0.to_string(),
                date: round.date,
                kind: round.kind,
                gi: round.gi,
                athletes: round.athletes.map(id),
                length: round.length,
                confirmed: round.confirmed,
                ledger: round.ledger,
            })
            .collect();
        let mut people: Vec<PersonAtHand> = (members.into_iter())
            .map(|(member, about)| PersonAtHand {
                id: id(member),
                may_be_named: about.may_be_shown_to(Audience::Club, year).is_ok(),
                name: about.name,
                pronoun: about.pronoun,
                belt: Some(about.belt),
                talked: talked.get(&member).copied(),
            })
            .filter(|person| rounds.iter().any(|round| round.athletes.contains(&person.id)))
            .collect();
        people.sort_by_key(|person| person.id);
        Ok(RoundsAtHand { people, rounds })
    })
}

fn of_folder(folder: &Path) -> Result<RoundsAtHand, CommandError> {
    let failed = |path: &Path| {
        let name = path.display().to_string();
        move |source| CommandError::Read { name, source }
    };
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed(folder))? {
        let path = entry.map_err(failed(folder))?.path();
        if path.extension().is_some_and(|extension| extension == "json") {
            files.push(path);
        }
    }
    files.sort();
    let mut read: Vec<(String, Date, bool, Round, Ledger)> = Vec::new();
    for path in files {
        let name = path.display().to_string();
        let called = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let text = fs::read_to_string(&path).map_err(failed(&path))?;
        let (round, ledger) = academy::ledger_file::read(&text)
            .map_err(|source| CommandError::Ledger { name: name.clone(), source })?;
        let (date, gi) = day_and_gi(&called).ok_or(CommandError::NoDay { name })?;
        read.push((called, date, gi, round, ledger));
    }
    read.sort_by(|one, other| (one.1, &one.0).cmp(&(other.1, &other.0)));
    let belts = belts_beside(folder)?;
    // Names in order give the ids, so that the same folder gives the same ids.
    let names = read.iter().flat_map(|(_, _, _, round, _)| round.athletes());
    let pronouns: HashMap<String, Pronoun> =
        names.clone().filter_map(|person| Some((key(&person.name), person.pronoun?))).collect();
    let names: BTreeMap<String, String> =
        names.map(|person| (key(&person.name), person.name.clone())).collect();
    let number = |index: usize| i64::try_from(index).unwrap_or(i64::MAX - 1) + 1;
    let ids: HashMap<&str, AthleteId> = (names.keys().enumerate())
        .map(|(index, key)| (key.as_str(), AthleteId(number(index))))
        .collect();
    let id = |name: &str| ids.get(key(name).as_str()).copied().unwrap_or(AthleteId(0));
    let people = (names.values())
        .map(|name| PersonAtHand {
            id: id(name),
            name: name.clone(),
            pronoun: pronouns.get(&key(name)).copied(),
            belt: belts.get(&key(name)).copied(),
            may_be_named: false,
            talked: None,
        })
        .collect();
    let rounds = (read.into_iter().enumerate())
        .map(|(index, (called, date, gi, round, ledger))| RoundAtHand {
            id: number(index),
            called,
            date,
            kind: round.kind(),
            gi,
            athletes: round.athletes().each_ref().map(|person| id(&person.name)),
            length: round.length(),
            confirmed: is_confirmed(&ledger),
            ledger,
        })
        .collect();
    Ok(RoundsAtHand { people, rounds })
}

fn key(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// Whether everything in it was told or confirmed by a person.
fn is_confirmed(ledger: &Ledger) -> bool {
    let hand = academy::Source::Hand;
    ledger.spells().iter().all(|spell| spell.source == hand)
        && ledger.events().iter().all(|event| event.source == hand)
}

/// "2026-11-02-nogi-petra-idris": the day, and whether a gi was worn.
fn day_and_gi(called: &str) -> Option<(Date, bool)> {
    let (day, rest) = called.split_at_checked("2026-11-02".len())?;
    let rest = rest.strip_prefix('-').unwrap_or(rest);
    let nogi =
        rest.strip_prefix("nogi").is_some_and(|rest| rest.is_empty() || rest.starts_with('-'));
    Some((day.parse().ok()?, !nogi))
}

/// The belts that `people.csv` in the folder tells, by name; empty without such a file.
fn belts_beside(folder: &Path) -> Result<HashMap<String, Belt>, CommandError> {
    let path = folder.join("people.csv");
    if !path.exists() {
        return Ok(HashMap::new());
    }
    let name = path.display().to_string();
    let text = fs::read_to_string(&path)
        .map_err(|source| CommandError::Read { name: name.clone(), source })?;
    let preview = store::roster_csv::preview(&text, &[]);
    if let Some(problem) = preview.problems.first() {
        let (line, what) = (problem.line, problem.what.clone());
        return Err(CommandError::People { name, line, what });
    }
    Ok(preview.new.into_iter().map(|new| (key(&new.member.name), new.member.belt)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_files_name_tells_the_day_and_the_gi() {
        let day = Date::new(2026, 11, 2).unwrap();
        assert_eq!(day_and_gi("2026-11-02-petra-idris"), Some((day, true)));
        assert_eq!(day_and_gi("2026-11-02-nogi-petra-idris"), Some((day, false)));
        assert_eq!(day_and_gi("2026-11-02-nogiya"), Some((day, true)));
        assert_eq!(day_and_gi("2026-11-02"), Some((day, true)));
        assert_eq!(day_and_gi("petra-idris"), None);
        assert_eq!(day_and_gi("ünïcödé"), None);
    }
}
