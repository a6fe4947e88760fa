//! The invented academy: what a new book holds until one click empties it.

use std::collections::HashMap;

use academy::{Class, Conversation, Goal, RoundKind, Time};
use jiff::ToSpan;
use jiff::civil::Date;
use rust_embed::RustEmbed;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use store::{AcademyFacts, By, Captions, ClassId, MemberId, RoundFacts};

use crate::error::PageError;
use crate::state::App;

#[derive(RustEmbed)]
#[folder = "../../samples/academy"]
#[include = "*.csv"]
#[include = "rounds/*.vtt"]
struct Files;

/// Rounds that are older than this count as confirmed.
const CONFIRMED_AFTER_DAYS: i64 = 14;

/// Under whose name the invented entries are kept.
const WHO: &str = "grapevine";

/// Why the invented academy could not be put into a book.
#[derive(Debug, thiserror::Error)]
#[error("the invented academy could not be set up: {0}")]
pub struct DemoError(String);

impl From<PageError> for DemoError {
    fn from(error: PageError) -> Self {
        DemoError(error.to_string())
    }
}

impl From<store::StoreError> for DemoError {
    fn from(error: store::StoreError) -> Self {
        DemoError(error.to_string())
    }
}

#[derive(Deserialize)]
struct ClassLine {
    days_ago: i64,
    title: String,
    topic: String,
    notes: String,
    attended: String,
}

#[derive(Deserialize)]
struct GoalLine {
    member: String,
    days_ago: i64,
    reached_days_ago: Option<i64>,
    words: String,
}

#[derive(Deserialize)]
struct TalkLine {
    member: String,
    days_ago: i64,
    words: String,
}

#[derive(Deserialize)]
struct RoundLine {
    file: String,
    days_ago: i64,
    kind: String,
    gi: String,
    first: String,
    second: String,
    length: String,
}

fn text(name: &str) -> Result<String, DemoError> {
    let file = Files::get(name).ok_or_else(|| DemoError(format!("{name} is missing")))?;
    String::from_utf8(file.data.into_owned()).map_err(|error| DemoError(error.to_string()))
}

fn lines<T: DeserializeOwned>(name: &str) -> Result<Vec<T>, DemoError> {
    let text = text(name)?;
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let lines: Result<Vec<T>, _> = reader.deserialize().collect();
    lines.map_err(|error| DemoError(format!("{name}: {error}")))
}

impl App {
    /// Whether the book is new: nobody has named an academy in it.
    ///
    /// # Errors
    /// The book's.
    pub async fn needs_invented_academy(&self) -> Result<bool, store::StoreError> {
        Ok(self.book.academy().await?.is_none())
    }

    /// Fills a new book with the invented academy, its last class yesterday.
    ///
    /// # Errors
    /// The book's; the files are inside the program and a test holds that they fit together.
    pub async fn put_invented_academy(&self) -> Result<(), DemoError> {
        let by = By { who: WHO.to_owned(), at: self.now(), seen: None };
        let today = self.today();
        let people = self.put_people(&by).await?;
        let classes = self.put_classes(&by, today, &people).await?;
        self.put_development(&by, today, &people).await?;
        for line in lines::<RoundLine>("rounds.csv")? {
            let id = |name: &str| somebody(&people, name);
            let unclear = |what: &str| DemoError(format!("rounds.csv: {what}"));
            let talk = match line.file.as_str() {
                "" => None,
                file => {
                    Some(Captions { name: file.to_owned(), text: text(&format!("rounds/{file}"))? })
                }
            };
            let facts = RoundFacts {
                date: day(today, line.days_ago)?,
                kind: RoundKind::from_id(&line.kind).ok_or_else(|| unclear(&line.kind))?,
                gi: line.gi == "yes",
                athletes: [id(&line.first)?, id(&line.second)?],
                length: Time::parse(&line.length).ok_or_else(|| unclear(&line.length))?,
                class: classes.get(&line.days_ago).copied(),
                talk,
                media: None,
                confirmed: None,
            };
            let round = self.book.add_round(&by, &facts).await?;
            if line.days_ago > CONFIRMED_AFTER_DAYS && facts.talk.is_some() {
                let shown = self.round_at_once(round).await?;
                let by_hand = review::confirm(&shown.ledger, &shown.told.by_hand);
                self.book.confirm_round(&by, round, facts.date, &by_hand).await?;
            }
            self.shown_round(round).await?;
        }
        // Last, so that a set-up that was cut short is seen as such.
        let facts = AcademyFacts { name: "Saltmarsh Grappling".to_owned(), invented: true };
        Ok(self.book.put_academy(&by, &facts).await?)
    }

    async fn put_people(&self, by: &By) -> Result<HashMap<String, MemberId>, DemoError> {
        let preview = store::roster_csv::preview(&text("people.csv")?, &[]);
        self.book.import(by, &preview, false).await?;
        let members = self.book.members().await?;
        Ok(members.into_iter().map(|(id, member)| (member.name, id)).collect())
    }

    /// Goals and talks with the coach.
    async fn put_development(
        &self,
        by: &By,
        today: Date,
        people: &HashMap<String, MemberId>,
    ) -> Result<(), DemoError> {
        for line in lines::<GoalLine>("goals.csv")? {
            let reached = line.reached_days_ago.map(|days| day(today, days)).transpose()?;
            let goal = Goal { set: day(today, line.days_ago)?, words: line.words, reached };
            self.book.put_goal(by, somebody(people, &line.member)?, None, &goal).await?;
        }
        for line in lines::<TalkLine>("talks.csv")? {
            let talk = Conversation { day: day(today, line.days_ago)?, words: line.words };
            self.book.put_conversation(by, somebody(people, &line.member)?, None, &talk).await?;
        }
        Ok(())
    }

    async fn put_classes(
        &self,
        by: &By,
        today: Date,
        people: &HashMap<String, MemberId>,
    ) -> Result<HashMap<i64, ClassId>, DemoError> {
        let mut classes = HashMap::new();
        for line in lines::<ClassLine>("classes.csv")? {
            let class = Class {
                date: day(today, line.days_ago)?,
                title: line.title,
                topic: line.topic,
                notes: line.notes,
            };
            let names = line.attended.split("; ").filter(|name| !name.is_empty());
            let attended: Option<Vec<MemberId>> =
                names.map(|name| people.get(name).copied()).collect();
            let attended = attended.ok_or_else(|| DemoError("a class has a stranger".into()))?;
            let id = self.book.put_class(by, None, &class, &attended).await?;
            classes.insert(line.days_ago, id);
        }
        Ok(classes)
    }
}

fn somebody(people: &HashMap<String, MemberId>, name: &str) -> Result<MemberId, DemoError> {
    people.get(name).copied().ok_or_else(|| DemoError(format!("nobody is {name}")))
}

fn day(today: Date, days_ago: i64) -> Result<Date, DemoError> {
    today.checked_sub(days_ago.days()).map_err(|error| DemoError(error.to_string()))
}
