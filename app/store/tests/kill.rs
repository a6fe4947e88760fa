//! The program is killed at any moment: whatever it said was kept is there, and the book is whole.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::time::Duration;

use store::{Book, Finding, RoundFilter, UploadId};

use crate::child::child;

/// How often it is killed.
const KILLS: usize = 200;

/// So many kills hit the same book, each while it goes on from the one before.
const OF_ONE_BOOK: usize = 25;

/// What was acknowledged.
#[derive(Default)]
struct Acknowledged {
    people: Vec<String>,
    rounds: Vec<i64>,
    /// How much of each upload is there, unless it is finished.
    uploads: BTreeMap<String, u64>,
    recordings: Vec<String>,
}

impl Acknowledged {
    fn take(&mut self, line: &str) -> bool {
        let words: Vec<&str> = line.split(' ').collect();
        match words[..] {
            ["person", ..] => self.people.push(words[1..].join(" ")),
            ["round", id] => self.rounds.push(id.parse().expect("a number")),
            ["upload", id, there] => {
                self.uploads.insert(id.to_owned(), there.parse().expect("a number"));
            }
            ["recording", hash, id] => {
                self.uploads.remove(id);
                self.recordings.push(hash.to_owned());
            }
            _ => return false,
        }
        true
    }

    async fn is_there(&mut self, folder: &Path, kill: usize) {
        let book = Book::open(folder).await.expect("it opens after a kill");
        let members = book.members().await.expect("people");
        let names: Vec<&str> = members.iter().map(|(_, member)| member.name.as_str()).collect();
        for name in &self.people {
            assert!(names.contains(&name.as_str()), "kill {kill}: {name} is lost");
        }
        let rounds = book.rounds(&RoundFilter::default()).await.expect("rounds");
        for id in &self.rounds {
            assert!(rounds.iter().any(|line| line.id.0 == *id), "kill {kill}: round {id} is lost");
        }
        for hash in &self.recordings {
            assert!(book.media(hash).await.is_ok(), "kill {kill}: recording {hash} is lost");
        }
        for (id, there) in std::mem::take(&mut self.uploads) {
            let upload = UploadId::parse(&id).expect("an id");
            // It may have been finished without having said so.
            if let Ok(found) = book.upload_size(&upload).await {
                assert!(found >= there, "kill {kill}: {found} of {there} bytes of an upload");
            } else {
                let finished = book.all_media().await.expect("recordings").len();
                assert!(finished > self.recordings.len(), "kill {kill}: upload {id} is lost");
            }
            book.drop_upload(&upload).await.expect("dropped");
        }
        self.recordings =
            book.all_media().await.expect("recordings").into_iter().map(|it| it.hash).collect();
        let found = book.check().await.expect("a check");
        let unused = |it: &Finding| matches!(it, Finding::MediaUnused(_));
        assert!(found.iter().all(unused), "kill {kill}: {found:?}");
        book.close().await;
    }
}

/// Numbers that look random and are the same in each run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: u64) -> u64 {
        // Knuth's MMIX generator (The Art of Computer Programming, volume 2, 3.3.4).
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}

#[tokio::test]
async fn a_kill_at_any_moment_loses_nothing_that_was_acknowledged() {
    let mut numbers = Numbers(2_026);
    let mut kills = 0;
    let mut acknowledged = 0;
    while kills < KILLS {
        let folder = tempfile::tempdir().unwrap();
        let mut kept = Acknowledged::default();
        for _ in 0..OF_ONE_BOOK.min(KILLS - kills) {
            // Some are killed before they said anything: while they open the book.
            let lines = numbers.below(9);
            let mut process = child("write", folder.path(), kills).spawn().unwrap();
            let mut said = BufReader::new(process.stdout.take().unwrap());
            let mut line = String::new();
            let mut heard = 0;
            if lines == 0 {
                std::thread::sleep(Duration::from_micros(numbers.below(60_000)));
            }
            while heard < lines && said.read_line(&mut line).unwrap() > 0 {
                heard += u64::from(kept.take(line.trim_end()));
                line.clear();
            }
            assert_eq!(heard, lines, "it wrote until it was killed");
            std::thread::sleep(Duration::from_micros(numbers.below(4_000)));
            process.kill().unwrap();
            process.wait().unwrap();
            // What it said before it died counts too; half a line does not.
            while said.read_line(&mut line).unwrap() > 0 && line.ends_with('\n') {
                heard += u64::from(kept.take(line.trim_end()));
                line.clear();
            }
            acknowledged += heard;
            kept.is_there(folder.path(), kills).await;
            kills += 1;
        }
    }
    assert_eq!(kills, KILLS);
    assert!(acknowledged >= KILLS as u64, "only {acknowledged} things were acknowledged at all");
}
