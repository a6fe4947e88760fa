//! `grapevine check`: whether the book is whole.

use store::{Book, RoundFilter};

use super::error::CommandError;
use crate::arguments::CheckArguments;
use crate::{book_folder, terminal};

pub(crate) fn run(arguments: &CheckArguments) -> Result<(), CommandError> {
    let folder = book_folder::or_usual(arguments.book.clone())?;
    let (findings, counts) = book_folder::wait_for(async {
        let book = Book::open_to_read(&folder).await?;
        let findings = book.check().await?;
        // Where something cannot be read, it is among the findings.
        let people = book.members().await.map_or(0, |people| people.len());
        let rounds = book.count_rounds(&RoundFilter::default()).await.unwrap_or(0);
        let recordings = book.all_media().await.map_or(0, |all| all.len());
        book.close().await;
        Ok((findings, (people, rounds as usize, recordings)))
    })?;
    for finding in &findings {
        terminal::write(&format!("{finding}\n"))?;
    }
    if findings.iter().any(store::Finding::is_fault) {
        return Err(CommandError::NotWhole);
    }
    let (people, rounds, recordings) = counts;
    let people = if people == 1 { "1 person".to_owned() } else { format!("{people} people") };
    terminal::write(&format!(
        "The book is whole: {people}, {}, {}.\n",
        terminal::count(rounds, "round"),
        terminal::count(recordings, "recording")
    ))
}
