//! The book in another process, which can be killed or given little room: this test binary runs
//! itself again, and does there what an environment variable says.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use academy::{ByHand, Member, RoundKind, Time};
use store::{Book, By, Captions, MemberId, RoundFacts, StoreError, UploadError};

use crate::uploads::recording;

const TASK: &str = "STORE_TEST_TASK";
const FOLDER: &str = "STORE_TEST_FOLDER";
const NUMBER: &str = "STORE_TEST_NUMBER";

/// How a process is started in which [`task`] does something with a folder.
pub(crate) fn child(task: &str, folder: &Path, number: usize) -> Command {
    within("exec", task, folder, number)
}

/// The same with files of at most so many blocks of 512 bytes: a disk that is full.
#[cfg(unix)]
pub(crate) fn child_with_little_room(task: &str, folder: &Path, blocks: usize) -> Command {
    // Without the signal a write beyond the limit is an error, as on a full disk.
    within(&format!("trap '' XFSZ; ulimit -f {blocks}; exec"), task, folder, 0)
}

fn within(before: &str, task: &str, folder: &Path, number: usize) -> Command {
    let program = std::env::current_exe().expect("this test is a program");
    let mut command = Command::new("sh");
    command
        .args(["-c", &format!("{before} \"$@\""), "sh"])
        .arg(program)
        .args(["--exact", "child::task", "--nocapture", "--test-threads=1"])
        .env(TASK, task)
        .env(FOLDER, folder)
        .env(NUMBER, number.to_string())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    command
}

/// Not a test by itself: what a process started by [`child`] does.
#[tokio::test(flavor = "current_thread")]
async fn task() {
    let (Ok(task), Some(folder)) = (std::env::var(TASK), std::env::var_os(FOLDER)) else { return };
    let number = std::env::var(NUMBER).unwrap_or_default();
    let folder = PathBuf::from(folder);
    match task.as_str() {
        "write" => write_on(&folder, &number).await,
        "fill" => fill(&folder).await,
        "open" => match Book::open(&folder).await {
            Ok(_) => say("opened"),
            Err(error) => say(&format!("refused: {error}")),
        },
        other => panic!("no task {other}"),
    }
}

/// A line for whoever reads this process's output. Begins anew, after what the test runner prints.
fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    let said = out.write_all(format!("\n{line}\n").as_bytes()).and_then(|()| out.flush());
    said.expect("somebody reads");
}

fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

pub(crate) fn facts(athletes: [MemberId; 2], talk: &str) -> RoundFacts {
    RoundFacts {
        date: "2026-11-02".parse().expect("a date"),
        kind: RoundKind::Flow,
        gi: true,
        athletes,
        length: Time::from_millis(300_000),
        class: None,
        talk: Some(Captions { name: "round.vtt".to_owned(), text: talk.to_owned() }),
        media: None,
        confirmed: None,
    }
}

/// Writes for ever, and acknowledges whatever the book says it kept.
async fn write_on(folder: &Path, number: &str) {
    let book = Book::open(folder).await.expect("the book opens");
    let kill: usize = number.parse().expect("a number");
    for turn in 0.. {
        let mut pair = Vec::new();
        for side in ["first", "second"] {
            let name = format!("{side} of {number}-{turn}");
            let member = Member { name: name.clone(), ..Member::default() };
            pair.push(book.add_member(&by(), &member).await.expect("added"));
            say(&format!("person {name}"));
        }
        let facts = facts([pair[0], pair[1]], "WEBVTT\n");
        let round = book.add_round(&by(), &facts).await.expect("added");
        say(&format!("round {}", round.0));
        book.put_by_hand(&by(), round, "Nothing", &ByHand::default()).await.expect("kept");
        // Of another length each time, so that each is another recording.
        let bytes = recording(3_000 + 20 * kill + turn % 20, (turn / 20) as u8);
        let id = book.begin_upload("roll.wav", bytes.len() as u64, i64::MAX).await.expect("begun");
        for (offset, piece) in [(0, &bytes[..1_000]), (1_000, &bytes[1_000..])] {
            let there = book.append(&id, offset, piece.to_vec()).await.expect("taken");
            say(&format!("upload {id} {there}"));
        }
        let hash = book.finish_upload(&id).await.expect("finished");
        say(&format!("recording {hash} {id}"));
    }
}

/// Writes until there is no room, and tells what happened.
async fn fill(folder: &Path) {
    let book = Book::open(folder).await.expect("the book opens");
    // A piece of a recording that does not fit: nothing of it is kept, the upload goes on.
    let id = book.begin_upload("roll.wav", 3_000_000, i64::MAX).await.expect("begun");
    let refused = book.append(&id, 0, recording(2_000_000, 0)).await;
    let refused = matches!(refused, Err(UploadError::Store(StoreError::CannotWrite(_))));
    let there = book.upload_size(&id).await.expect("it is known");
    say(&format!("piece {refused} {there}"));
    let athletes = [MemberId(1), MemberId(2)];
    let talk = "WEBVTT\n".repeat(2_000);
    let full = loop {
        match book.add_round(&by(), &facts(athletes, &talk)).await {
            Ok(round) => say(&format!("round {}", round.0)),
            Err(error) => break error,
        }
    };
    say(&format!("full {}: {full}", matches!(full, StoreError::CannotWrite(_))));
    say(&format!("read {}", book.members().await.is_ok()));
}
