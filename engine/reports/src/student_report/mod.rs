//! A student's report: one page to keep or to print, made for the student and to be sent by mail.

mod print_room;
mod style;

use academy::Time;
use figures::flows::Flow;
use figures::getting_out::GettingOut;
use figures::habits::{Habit, SetsApart, is_good};
use figures::overview::{Out, StudentFigures};
use figures::train_next::Change;
use figures::{Place, Role};
use jiff::civil::Date;

use self::print_room::Parts;
use crate::amounts::{counted, minutes};
use crate::curves::{self, OutCurves};
use crate::markup::Element;
use crate::one_file;
use crate::position_map::{self, PositionMap};
use crate::sentences::{self, Said};
use crate::tide::TideWidth;
use crate::whose::{Voice, Whose};
use crate::wording::{self, capital, day_and_month, whole_date};

/// What a report shows. Everything comes as it is to be read: who asks for it has checked whose
/// names may stand in it.
#[derive(Clone, Copy, Debug)]
pub struct StudentReport<'a> {
    /// The student; the report speaks to them, whatever the voice given.
    pub whose: Whose<'a>,
    /// The academy's name.
    pub academy: &'a str,
    /// The day it is made.
    pub date: Date,
    /// Which rounds alone it is made of ("flow rolls without the gi"); none where it is all.
    pub only: Option<&'a str>,
    /// The student's figures.
    pub figures: &'a StudentFigures,
    /// What to call those the student is read beside.
    pub peers: Peers<'a>,
    /// The coach's own words to the student.
    pub message: Option<CoachMessage<'a>>,
    /// What to train next, likeliest best first: as many as the figures suggest.
    pub next: &'a [ToTrain<'a>],
    /// The student's goals, as they are kept.
    pub goals: &'a [&'a str],
    /// Moments to look at again.
    pub moments: &'a [ReplayMoment<'a>],
}

/// The coach's own words to the student.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CoachMessage<'a> {
    /// The day they are of.
    pub day: Date,
    /// As they wrote or kept them; paragraphs are parted by line breaks.
    pub words: &'a str,
}

/// What to call those a student is read beside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Peers<'a> {
    /// Without the student: "the other blue belts".
    pub others: &'a str,
    /// With them: "all blue belts".
    pub everybody: &'a str,
}

/// One thing to train next, with moments that show it.
#[derive(Clone, Copy, Debug)]
pub struct ToTrain<'a> {
    /// The change of habit.
    pub change: Change,
    /// Moments, the most telling first; two are shown at most.
    pub moments: &'a [ReplayMoment<'a>],
}

/// A moment of a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReplayMoment<'a> {
    /// The day of the round.
    pub date: Date,
    /// When, in the round.
    pub time: Time,
    /// The partner's name, only where they agreed to be named.
    pub partner: Option<&'a str>,
    /// What there is to see, in a few words; may be empty.
    pub what: &'a str,
}

impl ReplayMoment<'_> {
    /// "your round with a training partner on 3 May, at 2:14"
    #[must_use]
    pub fn in_words(&self) -> String {
        let partner = self.partner.unwrap_or("a training partner");
        format!("your round with {partner} on {}, at {}", day_and_month(self.date), self.time)
    }
}

/// How much of each a report shows, so that it stays within two printed pages.
const MOST: Most =
    Most { changes: 3, moments_of_next: 2, pictures: 2, outs: 4, habits: 3, goals: 4, moments: 5 };

struct Most {
    changes: usize,
    moments_of_next: usize,
    pictures: usize,
    outs: usize,
    habits: usize,
    goals: usize,
    moments: usize,
}

/// The report as HTML, which is well-formed XML too. It loads nothing and runs nothing; numbers are
/// folded away behind the words. On paper it has two pages at most, as long as the message has no
/// more than 3,000 letters and each goal no more than 200: where there is much to print, pictures
/// get smaller, curves are left out, letters get smaller, and at last moments to look at again are
/// left out: of print only, the file has them all.
#[must_use]
pub fn student_report(report: &StudentReport<'_>) -> String {
    let report = &StudentReport { whose: Whose { voice: Voice::You, ..report.whose }, ..*report };
    let title = format!("{}, {}", report.whose.name, whole_date(report.date));
    let (header, footer) = (header(report), footer(report));
    let (message, changed, goals, next) =
        (message(report), changed(report), goals(report), next(report));
    let (map, out) = (map(report), getting_out(report));
    let (habits, moments) = (habits(report), moments(report));
    let class = print_room::class(&Parts {
        header: &header,
        message: message.as_ref(),
        first: [changed.iter().chain(&goals).collect(), vec![&next]],
        map: &map,
        out: out.as_ref(),
        habits: habits.as_ref(),
        moments: moments.as_ref(),
        footer: &footer,
    });
    let column =
        |parts: Vec<Option<Element>>| Element::new("div").children(parts.into_iter().flatten());
    let columns = |left: Element, right: Element| {
        Element::new("div").class("columns").child(left).child(right)
    };
    let main = Element::new("main")
        .children(message)
        .child(columns(column(vec![changed, goals]), column(vec![Some(next)])))
        .child(map)
        .children(out)
        .child(columns(column(vec![habits]), column(vec![moments])));
    let mut body = Element::new("body");
    if let Some(class) = class {
        body = body.class(class);
    }
    one_file::page(&title, style::STYLE, body.child(header).child(main).child(footer))
}

fn paragraph(text: impl Into<String>) -> Element {
    Element::new("p").text(text)
}

fn header(report: &StudentReport<'_>) -> Element {
    let figures = report.figures;
    let rounds = counted(figures.rounds, "round", "rounds");
    let rolled = minutes(figures.rolled.all / 60.0);
    let only = report.only.map_or_else(String::new, |only| format!(": {only} only"));
    Element::new("header")
        .child(paragraph(format!("{}, {}", report.academy, whole_date(report.date))).class("above"))
        .child(Element::new("h1").text(report.whose.name))
        .child(
            paragraph(format!("What {rounds} of yours show, {rolled} of rolling{only}"))
                .class("under"),
        )
}

fn section(id: &'static str, heading: &str) -> Element {
    Element::new("section")
        .with("aria-labelledby", id)
        .child(Element::new("h2").with("id", id).text(heading))
}

/// The coach's words, as they are.
fn message(report: &StudentReport<'_>) -> Option<Element> {
    let message = report.message.filter(|message| !message.words.trim().is_empty())?;
    let lines = message.words.lines().map(str::trim).filter(|line| !line.is_empty());
    let heading = format!("From your coach, {}", day_and_month(message.day));
    Some(section("message", &heading).class("message").children(lines.map(paragraph)))
}

/// A line with its numbers folded away.
fn said(said: &Said) -> Vec<Element> {
    vec![Element::new("span").text(said.line.as_str()), folded(&said.numbers)]
}

fn folded(numbers: &str) -> Element {
    Element::new("details").child(Element::new("summary").text("numbers")).child(paragraph(numbers))
}

fn changed(report: &StudentReport<'_>) -> Option<Element> {
    let changes = report.figures.changed.as_ref()?;
    let lines = sentences::what_changed(&report.whose, changes, MOST.changes);
    let items = lines.iter().map(|line| Element::new("li").children(said(line)));
    let heading = format!("What changed since {}", day_and_month(changes.since));
    Some(section("changed", &heading).child(Element::new("ul").children(items)))
}

fn next(report: &StudentReport<'_>) -> Element {
    let rounds = report.figures.rounds;
    let items: Vec<Element> = (report.next.iter().enumerate())
        .map(|(at, next)| {
            let line = sentences::train_next(&report.whose, &next.change, at == 0, rounds);
            let mut item = Element::new("li").child(Element::new("span").text(line.line));
            let moments: Vec<String> = next
                .moments
                .iter()
                .take(MOST.moments_of_next)
                .map(ReplayMoment::in_words)
                .collect();
            if !moments.is_empty() {
                let words = format!("See {}.", moments.join("; "));
                item = item.child(Element::new("span").class("where").text(words));
            }
            item.child(folded(&line.numbers))
        })
        .collect();
    let section = section("next", "What to train next");
    if items.is_empty() {
        return section.child(paragraph(
            "Nothing stands out that would change more than the rest: keep rolling, and ask your \
             coach what would be fun to work on.",
        ));
    }
    section.child(Element::new("ol").children(items))
}

fn map(report: &StudentReport<'_>) -> Element {
    let figures = report.figures;
    let map = PositionMap::new(
        report.whose,
        &figures.time,
        &figures.flows,
        &figures.surest,
        &figures.leaks,
    );
    let picture = |width, id: &str, class: &str| {
        Element::new("div").class(class).child(position_map::draw(&map, width, id, false))
    };
    let time =
        sentences::time_by_place(&report.whose, &figures.time, figures.rounds, figures.rolled.all);
    section("map", "Where you are and where you go")
        .class("map")
        .children(time.iter().map(|time| paragraph(time.line.as_str())))
        .child(picture(TideWidth::Laptop, "map-wide", "map-wide"))
        .child(picture(TideWidth::Phone, "map-narrow", "map-narrow"))
        .children(time.iter().map(|time| folded(&flows_in_numbers(time, &figures.flows, report))))
}

fn flows_in_numbers(time: &Said, flows: &[Flow], report: &StudentReport<'_>) -> String {
    match sentences::flows(&report.whose, flows) {
        Some(flows) => format!("{} {}", time.numbers, flows.numbers),
        None => time.numbers.clone(),
    }
}

/// The bad positions with most stays: the first with a picture, the rest in words.
fn getting_out(report: &StudentReport<'_>) -> Option<Element> {
    let mut outs: Vec<&Out> = report.figures.getting_out.iter().collect();
    outs.sort_by(|one, other| other.own.stays.total_cmp(&one.own.stays));
    outs.truncate(MOST.outs);
    if outs.is_empty() {
        return None;
    }
    let drawn = outs.iter().take(MOST.pictures).take_while(|out| out.own.stays >= 5.0).count();
    let line = |out: &Out| {
        let (own, beside) = (&out.own, out.beside.as_ref());
        sentences::getting_out(&report.whose, own, beside, report.peers.others)
    };
    let figures = outs[..drawn].iter().enumerate().map(|(at, out)| {
        let everybody: Option<&GettingOut> = out.everybody.as_ref();
        let shown = OutCurves {
            whose: report.whose,
            own: &out.own,
            others: everybody.map(|everybody| (everybody, report.peers.everybody)),
        };
        let picture = curves::draw(&shown, TideWidth::Phone, &format!("out-{at}"), false);
        let said = line(out);
        let place = Place { position: out.own.position, role: Role::Bottom };
        let heading = Element::new("h3").text(capital(&wording::place(place)));
        Element::new("figure").child(heading).child(picture).child(
            Element::new("figcaption")
                .child(Element::new("span").text(said.line))
                .child(folded(&said.numbers)),
        )
    });
    let rest = outs[drawn..].iter().map(|out| Element::new("li").children(said(&line(out))));
    let mut section = section("out", "Getting out");
    if drawn > 0 {
        section = section
            .child(paragraph(
                "How many of your stays have ended by a time: out, or another way. The shaded band \
                 is how unsure that is; the dashed line is everybody together.",
            ).class("quiet"))
            .child(Element::new("div").class("columns").children(figures));
    }
    Some(section.child(Element::new("ul").class("rest").children(rest)))
}

/// The surest three; where fewer set the student apart, what they do most often that is good.
fn habits(report: &StudentReport<'_>) -> Option<Element> {
    let figures = report.figures;
    let surest: Vec<&SetsApart> = figures.surest.iter().take(MOST.habits).collect();
    let mut lines: Vec<Said> =
        surest.iter().map(|apart| sentences::surest_way(&report.whose, apart)).collect();
    let mut usual: Vec<&Habit> = (figures.habits.iter())
        .filter(|habit| habit.doing.own && is_good(habit.doing) == Some(true))
        .filter(|habit| habit.seen.count >= 1.0)
        .filter(|habit| surest.iter().all(|apart| apart.habit.doing != habit.doing))
        .collect();
    usual.sort_by(|one, other| other.seen.count.total_cmp(&one.seen.count));
    lines.extend(usual.into_iter().map(sentences::habit));
    lines.truncate(MOST.habits);
    let items = lines.iter().map(|line| Element::new("li").children(said(line)));
    (!lines.is_empty()).then(|| {
        section("habits", "What you can rely on").child(Element::new("ul").children(items))
    })
}

fn goals(report: &StudentReport<'_>) -> Option<Element> {
    let goals = report.goals.iter().take(MOST.goals);
    let items: Vec<Element> = goals.map(|goal| Element::new("li").text(capital(goal))).collect();
    (!items.is_empty())
        .then(|| section("goals", "Your goals").child(Element::new("ul").children(items)))
}

fn moments(report: &StudentReport<'_>) -> Option<Element> {
    let items: Vec<Element> = (report.moments.iter().take(MOST.moments))
        .map(|moment| {
            let words = capital(&moment.in_words());
            Element::new("li").text(match moment.what {
                "" => format!("{words}."),
                what => format!("{words}: {what}"),
            })
        })
        .collect();
    (!items.is_empty()).then(|| {
        section("moments", "Moments to look at again")
            .class("moments")
            .child(Element::new("ul").children(items))
    })
}

fn footer(report: &StudentReport<'_>) -> Element {
    let figures = report.figures;
    let sure = sentences::confirmed(figures.rolled, figures.rounds);
    Element::new("footer")
        .child(paragraph(format!(
            "{} Numbers from rounds are rough and say little about a single day: take them as \
             something to talk about, not as marks.",
            sure.line
        )))
        .child(paragraph(
            "Chokes, joint locks and falls can hurt people. Choose partner and pace, train under \
             your coach and by the rules of your club, tap early and let go at once. After an injury \
             or a break for your health, a doctor decides when and how you train again.",
        ))
}
