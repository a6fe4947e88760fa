//! One round as one self-contained page: the tide, the talk beside what was understood of it, and
//! the questions left open. It loads nothing, runs no script, and can be sent by mail.

use academy::{Athlete, Ledger, Note, Round, Time};

use crate::markup::Element;
use crate::moments::moments;
use crate::one_file;
use crate::page_style::STYLE;
use crate::round_text::OpenQuestion;
use crate::telling::sentence;
use crate::tide::{Drawing, TideWidth, accent, draw};
use crate::wording;

/// A stretch of the talk, ready to show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TalkLine {
    /// When it was said.
    pub time: Time,
    /// Who said it, where known.
    pub voice: Option<String>,
    /// What was said, in pieces; a space is put between two pieces.
    pub pieces: Vec<TalkPiece>,
}

/// One or more words of the talk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TalkPiece {
    /// The words as they should read.
    pub text: String,
    /// The words as the captions had them, where that differs.
    pub heard: Option<String>,
    /// How it was meant, where the words name something of the trade.
    pub meant: Meant,
}

/// How a piece of the talk was meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meant {
    /// It names nothing of the trade.
    Plain,
    /// It is about what happens in the round.
    Happening,
    /// It names something of the trade, but nothing that happens: in what way, in a word or two
    /// ("wished", "taught").
    Otherwise(&'static str),
}

/// What a page shows.
#[derive(Clone, Copy, Debug)]
pub struct RoundPage<'a> {
    /// The round.
    pub round: &'a Round,
    /// What happened in it.
    pub ledger: &'a Ledger,
    /// What is to note about it before relying on it.
    pub notes: &'a [Note],
    /// The talk over it, by time.
    pub talk: &'a [TalkLine],
    /// What is still open, the most telling question first.
    pub questions: &'a [OpenQuestion],
}

/// The page as HTML, which is well-formed XML too.
#[must_use]
pub fn round_page(page: &RoundPage<'_>) -> String {
    let title = wording::heading(page.round);
    let main = Element::new("main")
        .with("id", "round")
        .child(tides(page))
        .child(
            Element::new("div")
                .class("columns")
                .child(ledger_section(page))
                .child(talk_section(page.talk)),
        )
        .children(questions_section(page.questions));
    let body = Element::new("body").child(header(page)).child(main).child(footer());
    one_file::page(&title, STYLE, body)
}

fn header(page: &RoundPage<'_>) -> Element {
    let about =
        format!("{}, {}", wording::capital(wording::kind(page.round.kind())), page.round.length());
    let notes = page.notes.iter().map(|note| {
        Element::new("p").class("remark").with("role", "note").text(wording::note(page.round, note))
    });
    Element::new("header")
        .child(Element::new("h1").text(wording::pair(page.round)))
        .child(Element::new("p").class("soft").text(about))
        .children(notes)
}

/// The tide twice, drawn for a wide and for a narrow screen; the style sheet shows one of them.
fn tides(page: &RoundPage<'_>) -> Element {
    let link = |time: Time| place_in_talk(page.talk, time).map(|index| format!("#talk-{index}"));
    let tide = |width, id: &str, class: &str| {
        let drawing = Drawing { width, id, alone: false, link: Some(&link) };
        Element::new("div").class(class).child(draw(page.round, page.ledger, &drawing).svg)
    };
    Element::new("section")
        .class("picture")
        .with("aria-label", "The tide of the round")
        .child(tide(TideWidth::Laptop, "tide-wide", "wide"))
        .child(tide(TideWidth::Phone, "tide-narrow", "narrow"))
}

/// The stretch of talk nearest to a moment: the first that starts no more than a second before
/// it, since people tell what they have seen; else the last.
fn place_in_talk(talk: &[TalkLine], time: Time) -> Option<usize> {
    let from = talk.partition_point(|line| line.time.later(1000) < time);
    talk.len().checked_sub(1).map(|last| from.min(last))
}

fn ledger_section(page: &RoundPage<'_>) -> Element {
    let entries = moments(page.ledger).into_iter().map(|moment| {
        let top = moment.athlete();
        let sign = match (moment.spell.is_some(), top) {
            (true, Some(Athlete::First)) => "\u{25b2}",
            (true, Some(Athlete::Second)) => "\u{25bc}",
            (true, None) => "\u{2500}",
            (false, _) => "\u{b7}",
        };
        let time = moment.time.to_string();
        let time = match place_in_talk(page.talk, moment.time) {
            Some(index) => {
                Element::new("a").class("time").with("href", format!("#talk-{index}")).text(time)
            }
            None => Element::new("span").class("time").text(time),
        };
        let sure = wording::percent(moment.confidence());
        Element::new("li")
            .class(if moment.spell.is_some() { "change" } else { "within" })
            .child(time)
            .child(
                Element::new("span")
                    .class(&format!("sign {}", accent(top)))
                    .with("aria-hidden", "true")
                    .text(sign),
            )
            .child(Element::new("span").class("told").text(sentence(page.round, &moment)))
            .child(Element::new("span").class("sure").text(sure))
    });
    Element::new("section")
        .class("ledger")
        .with("aria-labelledby", "ledger-heading")
        .child(Element::new("h2").with("id", "ledger-heading").text("What happened"))
        .child(
            Element::new("p")
                .class("soft")
                .text("With how sure each line is. A time leads to the talk about it."),
        )
        .child(Element::new("ol").children(entries))
}

fn talk_section(talk: &[TalkLine]) -> Element {
    let lines = talk.iter().enumerate().map(|(index, line)| {
        let mut text = Element::new("p")
            .with("id", format!("talk-{index}"))
            .child(Element::new("span").class("time").text(line.time.to_string()))
            .text(" ");
        if let Some(voice) = &line.voice {
            text = text.child(Element::new("b").text(format!("{voice}:"))).text(" ");
        }
        for piece in &line.pieces {
            text = match piece_of_talk(piece) {
                Some(marked) => text.child(marked).text(" "),
                None => text.text(format!("{} ", piece.text)),
            };
        }
        text
    });
    Element::new("section")
        .class("talk")
        .with("aria-labelledby", "talk-heading")
        .child(Element::new("h2").with("id", "talk-heading").text("The talk"))
        .child(talk_key())
        .child(
            // Scrolls on its own beside the ledger; the keyboard must be able to get into it.
            Element::new("div")
                .class("lines")
                .with("tabindex", "0")
                .with("role", "region")
                .with("aria-label", "The talk, line by line")
                .children(lines),
        )
}

fn talk_key() -> Element {
    Element::new("p")
        .class("soft key")
        .child(Element::new("span").class("term").text("Underlined"))
        .text(": about what happens. ")
        .child(Element::new("span").class("term otherwise").text("Dotted"))
        .text(": taught, wished, or of another time. ")
        .child(Element::new("span").class("term put-right").text("With a ring"))
        .text(": put right; point at it, or step to it, to read what was heard.")
}

/// A piece with its marks; `None` for one that has none.
fn piece_of_talk(piece: &TalkPiece) -> Option<Element> {
    let mut class = String::new();
    let mut notes = Vec::new();
    match piece.meant {
        Meant::Plain => {}
        Meant::Happening => class.push_str("term"),
        Meant::Otherwise(how) => {
            class.push_str("term otherwise");
            notes.push(how.to_owned());
        }
    }
    let heard = piece.heard.as_deref().filter(|heard| *heard != piece.text);
    if let Some(heard) = heard {
        class.push_str(" put-right");
        notes.insert(0, format!("heard: {heard}"));
    }
    if class.is_empty() {
        return None;
    }
    let mut span = Element::new("span").class(class.trim()).text(piece.text.clone());
    if heard.is_some() {
        span = span.with("tabindex", "0");
    }
    if !notes.is_empty() {
        // Read out as part of the line, shown beside the words on pointing or focus.
        let note = format!(" ({})", notes.join(", "));
        span = span.child(Element::new("span").class("note").text(note));
    }
    Some(span)
}

fn questions_section(questions: &[OpenQuestion]) -> Option<Element> {
    if questions.is_empty() {
        return None;
    }
    let items = questions.iter().map(|question| {
        Element::new("li")
            .child(Element::new("span").class("time").text(question.time.to_string()))
            .child(Element::new("span").class("told").text(format!("{} ", question.text)).child(
                Element::new("span").class("soft").text(wording::choices(&question.choices)),
            ))
    });
    Some(
        Element::new("section")
            .class("questions")
            .with("aria-labelledby", "questions-heading")
            .child(Element::new("h2").with("id", "questions-heading").text("Left open"))
            .child(
                Element::new("p")
                    .class("soft")
                    .text("What the talk does not settle, the most telling question first."),
            )
            .child(Element::new("ol").children(items)),
    )
}

fn footer() -> Element {
    Element::new("footer").child(Element::new("p").class("soft").text(
        "Understood from what was said, with the chances shown; the coach and the athletes know \
         better. Chokes, joint locks and falls can hurt people: train them under a coach, by the \
         rules of your club, tap early and let go at once; after an injury, a doctor decides.",
    ))
}
