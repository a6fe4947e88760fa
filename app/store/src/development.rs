//! What the coach keeps about how a student comes on: goals, conversations, messages. Each student
//! is a subject of their own, so that undoing on one's page changes nobody else's; so are the
//! messages for each one's report, so that undoing a goal takes no words back.

use std::collections::HashMap;

use academy::{Conversation, DevelopmentError, Goal, Message};
use jiff::civil::Date;
use serde_json::{Value, json};
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Row as _};

use crate::book::Book;
use crate::change::{By, Subject};
use crate::error::StoreError;
use crate::people::{MemberId, date_from, date_text};
use crate::row::{self, Table};

/// Id of a goal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct GoalId(pub i64);

/// Id of a conversation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ConversationId(pub i64);

/// Id of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct MessageId(pub i64);

fn goal(row: &SqliteRow) -> Result<(GoalId, Goal), StoreError> {
    let reached: Option<String> = row.try_get("reached_on")?;
    let goal = Goal {
        set: date_from(row.try_get("set_on")?)?,
        words: row.try_get("words")?,
        reached: reached.map(|text| date_from(&text)).transpose()?,
    };
    Ok((GoalId(row.try_get("id")?), goal))
}

fn conversation(row: &SqliteRow) -> Result<(ConversationId, Conversation), StoreError> {
    let day = date_from(row.try_get("day")?)?;
    let conversation = Conversation { day, words: row.try_get("words")? };
    Ok((ConversationId(row.try_get("id")?), conversation))
}

fn message(row: &SqliteRow) -> Result<(MessageId, Message), StoreError> {
    let day = date_from(row.try_get("day")?)?;
    Ok((MessageId(row.try_get("id")?), Message { day, words: row.try_get("words")? }))
}

fn checked(what: &str, check: Result<(), DevelopmentError>) -> Result<(), StoreError> {
    check.map_err(|error| StoreError::Refused(format!("{what} cannot be kept: {error}")))
}

/// What is put or taken, as the history says it.
struct Entry {
    table: &'static Table,
    noun: &'static str,
    article: &'static str,
    subject: fn(MemberId) -> Subject,
}

const GOAL: Entry =
    Entry { table: &row::GOAL, noun: "goal", article: "a goal", subject: Subject::Student };
const CONVERSATION: Entry = Entry {
    table: &row::CONVERSATION,
    noun: "conversation",
    article: "a conversation",
    subject: Subject::Student,
};
const MESSAGE: Entry =
    Entry { table: &row::MESSAGE, noun: "message", article: "a message", subject: Subject::Report };

impl Book {
    /// What a student works towards, the latest set first.
    ///
    /// # Errors
    /// The database's.
    pub async fn goals(&self, member: MemberId) -> Result<Vec<(GoalId, Goal)>, StoreError> {
        self.entries(&GOAL, "set_on", member, goal).await
    }

    /// The talks with a student, latest first.
    ///
    /// # Errors
    /// The database's.
    pub async fn conversations(
        &self,
        member: MemberId,
    ) -> Result<Vec<(ConversationId, Conversation)>, StoreError> {
        self.entries(&CONVERSATION, "day", member, conversation).await
    }

    /// The words for a student's report, latest first.
    ///
    /// # Errors
    /// The database's.
    pub async fn messages(
        &self,
        member: MemberId,
    ) -> Result<Vec<(MessageId, Message)>, StoreError> {
        self.entries(&MESSAGE, "day", member, message).await
    }

    async fn entries<T>(
        &self,
        of: &Entry,
        day: &str,
        member: MemberId,
        read: impl Fn(&SqliteRow) -> Result<T, StoreError>,
    ) -> Result<Vec<T>, StoreError> {
        let name = of.table.name;
        let sql = format!("SELECT * FROM {name} WHERE member_id = ? ORDER BY {day} DESC, id DESC");
        let rows = sqlx::query(AssertSqlSafe(sql)).bind(member.0).fetch_all(&self.reading).await?;
        rows.iter().map(read).collect()
    }

    /// The day of the last talk with everybody who was talked with.
    ///
    /// # Errors
    /// The database's.
    pub async fn last_conversations(&self) -> Result<HashMap<MemberId, Date>, StoreError> {
        let rows: Vec<(i64, String)> =
            sqlx::query_as("SELECT member_id, max(day) FROM conversation GROUP BY member_id")
                .fetch_all(&self.reading)
                .await?;
        rows.into_iter().map(|(id, day)| Ok((MemberId(id), date_from(&day)?))).collect()
    }

    /// Keeps a goal of a student, new (no id) or changed.
    ///
    /// # Errors
    /// [`StoreError::Refused`] if it cannot be, [`StoreError::Missing`] where the student has no
    /// such goal.
    pub async fn put_goal(
        &self,
        by: &By,
        member: MemberId,
        id: Option<GoalId>,
        goal: &Goal,
    ) -> Result<GoalId, StoreError> {
        checked("the goal", goal.check())?;
        let columns = [
            ("set_on", json!(goal.set.to_string())),
            ("words", json!(goal.words.trim())),
            ("reached_on", date_text(goal.reached)),
        ];
        self.put_entry(by, member, &GOAL, id.map(|id| id.0), columns).await.map(GoalId)
    }

    /// Keeps that the coach talked with a student: a new conversation (no id) or a changed one.
    ///
    /// # Errors
    /// As [`Book::put_goal`].
    pub async fn put_conversation(
        &self,
        by: &By,
        member: MemberId,
        id: Option<ConversationId>,
        conversation: &Conversation,
    ) -> Result<ConversationId, StoreError> {
        checked("the conversation", conversation.check())?;
        let columns = [
            ("day", json!(conversation.day.to_string())),
            ("words", json!(conversation.words.trim())),
        ];
        let id = self.put_entry(by, member, &CONVERSATION, id.map(|id| id.0), columns).await?;
        Ok(ConversationId(id))
    }

    /// Keeps words for a student's report, new (no id) or changed.
    ///
    /// # Errors
    /// As [`Book::put_goal`].
    pub async fn put_message(
        &self,
        by: &By,
        member: MemberId,
        id: Option<MessageId>,
        message: &Message,
    ) -> Result<MessageId, StoreError> {
        checked("the message", message.check())?;
        let columns =
            [("day", json!(message.day.to_string())), ("words", json!(message.words.trim()))];
        self.put_entry(by, member, &MESSAGE, id.map(|id| id.0), columns).await.map(MessageId)
    }

    async fn put_entry<const N: usize>(
        &self,
        by: &By,
        member: MemberId,
        of: &Entry,
        id: Option<i64>,
        columns: [(&str, Value); N],
    ) -> Result<i64, StoreError> {
        self.member(member).await?;
        let verb = if id.is_some() { "Changed" } else { "Added" };
        let what = format!("{verb} {}", of.article);
        let mut change = self.change((of.subject)(member), by, &what).await?;
        let id = match id {
            None => change.next_id(of.table).await?,
            Some(id) => {
                let key = row::row([("id", json!(id))]);
                let kept = of.table.find(change.connection(), &key).await?;
                let own = kept.is_some_and(|kept| kept["member_id"] == json!(member.0));
                own.then_some(id).ok_or(StoreError::Missing(of.noun))?
            }
        };
        let mut kept = row::row(columns);
        kept.insert("id".to_owned(), json!(id));
        kept.insert("member_id".to_owned(), json!(member.0));
        change.put(of.table, kept).await?;
        change.keep().await?;
        Ok(id)
    }

    /// Takes a goal of a student away.
    ///
    /// # Errors
    /// [`StoreError::Missing`] where the student has no such thing.
    pub async fn delete_goal(
        &self,
        by: &By,
        member: MemberId,
        id: GoalId,
    ) -> Result<(), StoreError> {
        self.delete_entry(by, member, &GOAL, id.0).await
    }

    /// Takes a conversation with a student away.
    ///
    /// # Errors
    /// [`StoreError::Missing`] where the student has no such thing.
    pub async fn delete_conversation(
        &self,
        by: &By,
        member: MemberId,
        id: ConversationId,
    ) -> Result<(), StoreError> {
        self.delete_entry(by, member, &CONVERSATION, id.0).await
    }

    /// Takes words for a student's report away.
    ///
    /// # Errors
    /// [`StoreError::Missing`] where the student has no such thing.
    pub async fn delete_message(
        &self,
        by: &By,
        member: MemberId,
        id: MessageId,
    ) -> Result<(), StoreError> {
        self.delete_entry(by, member, &MESSAGE, id.0).await
    }

    async fn delete_entry(
        &self,
        by: &By,
        member: MemberId,
        of: &Entry,
        id: i64,
    ) -> Result<(), StoreError> {
        let what = format!("Took {} away", of.article);
        let mut change = self.change((of.subject)(member), by, &what).await?;
        let key = row::row([("id", json!(id))]);
        let kept = of.table.find(change.connection(), &key).await?;
        if kept.is_none_or(|kept| kept["member_id"] != json!(member.0)) {
            return Err(StoreError::Missing(of.noun));
        }
        change.take(of.table, &key).await?;
        change.keep().await
    }

    /// Reads everything that is kept about students, for a check.
    ///
    /// # Errors
    /// What cannot be read.
    pub(crate) async fn check_development(&self) -> Result<(), StoreError> {
        for (member, _) in self.members().await? {
            self.goals(member).await?;
            self.conversations(member).await?;
            self.messages(member).await?;
        }
        Ok(())
    }
}
