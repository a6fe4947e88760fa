//! What the page of a round shows, made from a round and from what a visitor may see of it.

pub(crate) mod entries;
pub(crate) mod figures;
pub(crate) mod question;
pub(crate) mod readings;
pub(crate) mod scored;

use academy::{Athlete, Member, Note, RoundKind, Time};
use jiff::civil::Date;
use reports::{Meant, TalkPiece, TideInPage, TideWidth, tide_in_page, wording};
use store::{ClassId, Kept, Media, MemberId, Remark, RoundId, SpokenForm};

use self::entries::{Border, Choice, Entry};
use self::question::Asking;
use super::access::Sight;
use crate::pages::history::{self, ChangeView};
use crate::reading::ShownRound;
use crate::wording::fragment;

/// What the book holds around a round.
pub(crate) struct Around {
    pub(crate) media: Option<Media>,
    pub(crate) remarks: Vec<Remark>,
    pub(crate) history: Vec<Kept>,
    pub(crate) people: Vec<(MemberId, Member)>,
    pub(crate) classes: Vec<(ClassId, String)>,
    pub(crate) taught: Vec<SpokenForm>,
    /// What the coach asked to teach: the words as they were heard.
    pub(crate) heard: String,
    /// Another round that waits to be confirmed.
    pub(crate) next: Option<RoundId>,
}

/// What the page of a round shows.
pub(crate) struct RoundView {
    pub(crate) id: i64,
    pub(crate) revision: i64,
    /// By which reading it is shown, for confirming what was seen.
    pub(crate) reading: String,
    pub(crate) may_edit: bool,
    pub(crate) names: [String; 2],
    /// The numbers of the two.
    pub(crate) people: [i64; 2],
    /// Another round that waits to be confirmed.
    pub(crate) next: Option<i64>,
    pub(crate) about: String,
    pub(crate) confirmed: Option<String>,
    pub(crate) trouble: Option<String>,
    pub(crate) notes: Vec<String>,
    pub(crate) length: u64,
    pub(crate) recording: Option<Recording>,
    pub(crate) asking: Asking,
    /// Whether the talk was read; without it everything is told by hand.
    pub(crate) spoken: bool,
    pub(crate) wide: TideInPage,
    pub(crate) narrow: TideInPage,
    pub(crate) borders: Vec<Border>,
    pub(crate) talk: Vec<Line>,
    pub(crate) talk_hidden: bool,
    pub(crate) entries: Vec<Entry>,
    pub(crate) remarks: Vec<RemarkLine>,
    pub(crate) states: Vec<Choice>,
    pub(crate) kinds: Vec<Choice>,
    pub(crate) undo: Option<String>,
    pub(crate) redo: Option<String>,
    pub(crate) history: Vec<ChangeView>,
    pub(crate) taught: Vec<SpokenForm>,
    pub(crate) heard: String,
    pub(crate) details: Details,
}

/// The recording of a round.
pub(crate) struct Recording {
    pub(crate) address: String,
    pub(crate) video: bool,
}

/// A line of the talk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Line {
    pub(crate) at: String,
    pub(crate) fragment: String,
    pub(crate) millis: u64,
    pub(crate) voice: Option<String>,
    pub(crate) pieces: Vec<Piece>,
}

/// Some words of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Piece {
    pub(crate) text: String,
    /// How it looks; empty where nothing is to say about it.
    pub(crate) class: &'static str,
    /// The words as they were heard, for teaching.
    pub(crate) heard: String,
    /// "heard: side can troll, wished"
    pub(crate) note: String,
}

/// A note at a moment.
pub(crate) struct RemarkLine {
    pub(crate) id: i64,
    pub(crate) at: String,
    pub(crate) fragment: String,
    pub(crate) millis: u64,
    pub(crate) whose: String,
    pub(crate) words: String,
}

/// What the form of the details holds.
pub(crate) struct Details {
    pub(crate) date: String,
    pub(crate) gi: bool,
    pub(crate) length: String,
    pub(crate) kinds: Vec<(&'static str, &'static str, bool)>,
    pub(crate) first: Vec<(i64, String, bool)>,
    pub(crate) second: Vec<(i64, String, bool)>,
    pub(crate) classes: Vec<(i64, String, bool)>,
    pub(crate) captions: String,
}

impl RoundView {
    pub(crate) fn new(shown: &ShownRound, sight: &Sight, around: Around) -> Self {
        let round = &sight.round;
        let spoken = shown.spoken.as_ref();
        let link = |time: Time| format!("#{}", fragment(time));
        let ledger = review::listed(&shown.ledger);
        let tide = |width, id| tide_in_page(round, &ledger, width, id, &link);
        let (undo, redo) = undo_and_redo(&around.history);
        let talk_hidden = spoken.is_some() && !sight.talk;
        let names = Athlete::BOTH.map(|athlete| round.name(athlete).to_owned());
        RoundView {
            id: shown.id.0,
            revision: shown.revision.0,
            reading: shown.reading().to_owned(),
            may_edit: sight.may_edit,
            about: about(shown),
            confirmed: shown.facts.confirmed.map(day),
            trouble: shown.trouble.clone(),
            notes: notes(shown, sight),
            length: shown.facts.length.millis(),
            recording: around.media.filter(|_| sight.talk).map(|media| Recording {
                address: format!("/media/{}", media.hash),
                video: !media.media_type.starts_with("audio/"),
            }),
            asking: if sight.may_edit { question::asking(shown) } else { Asking::Silent },
            spoken: spoken.is_some(),
            wide: tide(TideWidth::Laptop, "tide-wide"),
            narrow: tide(TideWidth::Phone, "tide-narrow"),
            borders: entries::borders(round, &ledger),
            talk: spoken
                .filter(|_| sight.talk)
                .map_or_else(Vec::new, |spoken| spoken.lines.iter().map(line).collect()),
            talk_hidden,
            entries: entries::entries(round, &ledger),
            remarks: (around.remarks.iter())
                .filter(|remark| sight.may_read(remark))
                .map(|remark| remark_line(remark, shown, &names))
                .collect(),
            states: entries::states(round),
            kinds: entries::kinds(),
            undo,
            redo,
            history: around.history.iter().map(ChangeView::of).collect(),
            taught: around.taught,
            heard: around.heard,
            people: shown.facts.athletes.map(|id| id.0),
            next: around.next.map(|id| id.0),
            details: details(shown, &around.people, around.classes),
            names,
        }
    }

    /// Whether questions are asked, now or in a moment.
    pub(crate) fn asks(&self) -> bool {
        matches!(self.asking, Asking::Ask(_) | Asking::Weighing)
    }

    /// Whether there is something to confirm: anything read, or anything told.
    pub(crate) fn confirmable(&self) -> bool {
        self.spoken || self.entries.iter().any(|entry| !entry.sure.is_empty())
    }

    /// The lines to look at before all is confirmed.
    pub(crate) fn doubtful(&self) -> Vec<&Entry> {
        self.entries.iter().filter(|entry| entry.doubtful).collect()
    }

    /// Whether a person is asked to enter everything.
    pub(crate) fn by_hand(&self) -> bool {
        self.may_edit && !self.spoken && self.confirmed.is_none()
    }
}

/// "12 March 2026"
fn day(date: Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}

fn about(shown: &ShownRound) -> String {
    let facts = &shown.facts;
    let clothes = if facts.gi { "in the gi" } else { "no-gi" };
    format!("{}, {}, {clothes}, {}", day(facts.date), wording::kind(facts.kind), facts.length)
}

/// What is to note before relying on it. Who edits the round is told; a student is not.
fn notes(shown: &ShownRound, sight: &Sight) -> Vec<String> {
    let (Some(spoken), Some(answered), None, true) =
        (&shown.spoken, &shown.understood, shown.facts.confirmed, sight.may_edit)
    else {
        return Vec::new();
    };
    let notes: Vec<Note> =
        review::notes(&spoken.heard.seen, &answered.understood, spoken.left_out.clone());
    notes.iter().map(|note| wording::note(&shown.round, note)).collect()
}

fn line(line: &reports::TalkLine) -> Line {
    Line {
        at: line.time.to_string(),
        fragment: fragment(line.time),
        millis: line.time.millis(),
        voice: line.voice.clone(),
        pieces: line.pieces.iter().map(piece).collect(),
    }
}

fn piece(piece: &TalkPiece) -> Piece {
    // A capital letter put right is nothing to tell.
    let heard = piece.heard.as_ref().filter(|heard| bare(heard) != bare(&piece.text));
    let class = match (piece.meant, heard) {
        (Meant::Plain, None) => "",
        (Meant::Plain, Some(_)) => "term put-right plain",
        (Meant::Happening, None) => "term",
        (Meant::Happening, Some(_)) => "term put-right",
        (Meant::Otherwise(_), None) => "term otherwise",
        (Meant::Otherwise(_), Some(_)) => "term otherwise put-right",
    };
    let mut notes: Vec<String> =
        heard.map(|heard| format!("heard: {}", bare(heard))).into_iter().collect();
    if let Meant::Otherwise(how) = piece.meant {
        notes.push(how.to_owned());
    }
    Piece {
        text: piece.text.clone(),
        class,
        heard: bare(piece.heard.as_ref().unwrap_or(&piece.text)),
        note: notes.join(", "),
    }
}

/// Words as they are taught: in lower case, without punctuation around them.
fn bare(words: &str) -> String {
    words.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase()
}

fn remark_line(remark: &Remark, shown: &ShownRound, names: &[String; 2]) -> RemarkLine {
    let whose = (0..2).find(|index| remark.member == Some(shown.facts.athletes[*index]));
    RemarkLine {
        id: remark.id,
        at: remark.time.to_string(),
        fragment: fragment(remark.time),
        millis: remark.time.millis(),
        whose: whose.map_or_else(|| "both".to_owned(), |index| names[index].clone()),
        words: remark.words.clone(),
    }
}

/// What undo and redo would do, newest change first. That the round was added is not undone here,
/// since its page would be gone.
fn undo_and_redo(history: &[Kept]) -> (Option<String>, Option<String>) {
    let (undo, redo) = history::undo_and_redo(history);
    let undo = undo.filter(|kept| kept.what != "Added the round");
    (undo.map(|kept| kept.what.clone()), redo.map(|kept| kept.what.clone()))
}

fn details(
    shown: &ShownRound,
    people: &[(MemberId, Member)],
    classes: Vec<(ClassId, String)>,
) -> Details {
    let facts = &shown.facts;
    let chosen = |chosen: MemberId| {
        let person = |(id, member): &(MemberId, Member)| {
            // Those who left stay choosable only where they are chosen.
            (!member.left || *id == chosen).then(|| (id.0, member.name.clone(), *id == chosen))
        };
        people.iter().filter_map(person).collect()
    };
    Details {
        date: facts.date.to_string(),
        gi: facts.gi,
        length: match facts.length.millis() % 1000 {
            0 => facts.length.to_string(),
            _ => format!("{:.3}", facts.length),
        },
        kinds: RoundKind::ALL
            .map(|kind| (kind.id(), wording::kind(kind), kind == facts.kind))
            .to_vec(),
        first: chosen(facts.athletes[0]),
        second: chosen(facts.athletes[1]),
        classes: (classes.into_iter())
            .map(|(id, title)| (id.0, title, facts.class == Some(id)))
            .collect(),
        captions: facts.talk.as_ref().map(|talk| talk.name.clone()).unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(what: &str, undone: bool) -> Kept {
        Kept { id: 1, who: "coach".to_owned(), at: 0, what: what.to_owned(), undone }
    }

    #[test]
    fn undo_and_redo_say_what_they_would_do() {
        let added = kept("Added the round", false);
        assert_eq!(undo_and_redo(std::slice::from_ref(&added)), (None, None));
        let history = [kept("third", true), kept("second", true), kept("first", false), added];
        let (undo, redo) = undo_and_redo(&history);
        assert_eq!((undo.as_deref(), redo.as_deref()), (Some("first"), Some("second")));
    }

    #[test]
    fn a_word_put_right_says_what_was_heard_and_how_it_was_meant() {
        let shown = piece(&TalkPiece {
            text: "side control,".to_owned(),
            heard: Some("Side can troll,".to_owned()),
            meant: Meant::Otherwise("wished"),
        });
        assert_eq!(shown.note, "heard: side can troll, wished");
        assert_eq!(shown.heard, "side can troll");
        assert_eq!(shown.class, "term otherwise put-right");
    }
}
