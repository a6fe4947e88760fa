//! A student's report and the draft of a message, as their readers get them.

use academy::Time;
use figures::overview::StudentFigures;
use jiff::civil::date;
use reports::{
    CoachMessage, MessageDraft, Peers, ReplayMoment, StudentReport, ToTrain, Voice, message_draft,
    student_report,
};

use crate::invented::{petra, petras};

const MESSAGE: &str = "It has been good to watch you these weeks: you slow down when it gets tight, \
    and you breathe.\nYour knee cut is getting heavy. Keep the head low and let the hips do it.";

fn moments() -> [ReplayMoment<'static>; 2] {
    let time = Time::from_millis(134_000);
    [
        ReplayMoment { date: date(2026, 5, 3), time, partner: None, what: "" },
        ReplayMoment { date: date(2026, 5, 17), time, partner: Some("Lumi"), what: "the knee cut" },
    ]
}

/// A report with everything in it.
fn full<R>(
    rounds: usize,
    message: Option<&str>,
    see: impl FnOnce(&StudentFigures, &StudentReport<'_>) -> R,
) -> R {
    petras(rounds, |figures, _| {
        let moments = moments();
        let next: Vec<ToTrain<'_>> = (figures.train_next.iter())
            .map(|next| ToTrain { change: next.change, moments: &moments })
            .collect();
        let many: Vec<ReplayMoment<'_>> = moments.into_iter().cycle().take(8).collect();
        see(
            figures,
            &StudentReport {
                whose: petra(Voice::Third),
                academy: "Invented Academy",
                date: date(2026, 6, 1),
                only: None,
                figures,
                peers: Peers { others: "the other blue belts", everybody: "all blue belts" },
                message: message.map(|words| CoachMessage { day: date(2026, 5, 30), words }),
                next: &next,
                goals: &[
                    "stay calm under mount",
                    "use the knee cut in every round",
                    "roll twice a week",
                ],
                moments: &many,
            },
        )
    })
}

/// What is read, without pictures and folded numbers.
fn words(html: &str) -> String {
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(html, options).expect("well-formed");
    let body = document.descendants().find(|node| node.has_tag_name("body")).expect("a body");
    let mut lines = Vec::new();
    for node in body.descendants().filter(roxmltree::Node::is_text) {
        let hidden = |tag: &str| node.ancestors().any(|ancestor| ancestor.tag_name().name() == tag);
        let text = node.text().unwrap_or_default().trim();
        if !text.is_empty() && !hidden("svg") && !hidden("details") {
            lines.push(text.to_owned());
        }
    }
    lines.join("\n")
}

#[test]
fn a_report_after_many_rounds() {
    full(120, Some(MESSAGE), |_, report| insta::assert_snapshot!(student_report(report)));
}

#[test]
fn what_a_report_says() {
    full(120, Some(MESSAGE), |_, report| insta::assert_snapshot!(words(&student_report(report))));
}

#[test]
fn what_a_report_says_after_two_rounds() {
    full(2, None, |_, report| insta::assert_snapshot!(words(&student_report(report))));
}

#[test]
fn a_report_is_one_file_that_runs_and_loads_nothing() {
    full(40, Some("<script>alert(1)</script> & \"so on\""), |_, report| {
        let html = student_report(report);
        let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
        let document = roxmltree::Document::parse_with_options(&html, options).unwrap();
        let mut ids = std::collections::HashSet::new();
        for node in document.descendants().filter(roxmltree::Node::is_element) {
            assert!(!["script", "iframe", "object", "img", "a"].contains(&node.tag_name().name()));
            for attribute in node.attributes() {
                let name = attribute.name();
                assert!(!name.starts_with("on") && name != "src" && name != "style", "{name}");
                assert!(name != "id" || ids.insert(attribute.value().to_owned()));
            }
        }
        for node in document.descendants().filter(roxmltree::Node::is_element) {
            for name in ["aria-labelledby", "aria-describedby"] {
                assert!(node.attribute(name).is_none_or(|id| ids.contains(id)));
            }
        }
        assert!(!html.contains("url(") && !html.contains("@import") && !html.contains("<script"));
        assert!(html.contains("&lt;script&gt;"));
    });
}

#[test]
fn a_report_keeps_the_coach_s_words_and_names_only_whom_it_is_told_to() {
    full(40, Some(MESSAGE), |_, report| {
        let words = words(&student_report(report));
        for line in MESSAGE.lines() {
            assert!(words.contains(line), "{line}");
        }
        assert!(words.contains("your round with a training partner on 3 May, at 2:14"));
        assert!(words.contains("Your round with Lumi on 17 May, at 2:14: the knee cut"));
        assert!(words.contains("tap early") && words.contains("a doctor decides"));
        assert!(words.contains("was confirmed by a person"));
        // The student is spoken to: the name stands at the top and nowhere else.
        assert_eq!(words.matches("Petra").count(), 1);
        for never in ["NaN", "inf ", "rank", "worst", "best student"] {
            assert!(!words.contains(never), "{never}");
        }
    });
    full(40, None, |_, report| {
        assert!(!student_report(report).contains("From your coach"));
    });
}

#[test]
fn a_report_says_of_which_day_the_message_is_and_which_rounds_alone_it_is_made_of() {
    full(40, Some(MESSAGE), |_, report| {
        let told = words(&student_report(report));
        assert!(told.contains("From your coach, 30 May\n") && !told.contains(" only\n"), "{told}");
        let some = StudentReport { only: Some("flow rolls without the gi"), ..*report };
        let told = words(&student_report(&some));
        assert!(told.contains(" of rolling: flow rolls without the gi only\n"), "{told}");
    });
}

#[test]
fn a_draft_begins_with_what_went_well_and_is_short() {
    for rounds in [1, 3, 12, 40, 120] {
        full(rounds, None, |figures, report| {
            let notes = ["she stays calm under mount now", "The knee cut works!"];
            let draft = message_draft(&MessageDraft {
                whose: report.whose,
                figures,
                notes: &notes,
                next: report.next,
            });
            let body = draft.strip_prefix("Hi Petra,\n\n").unwrap().trim_end();
            let sentences = body.matches(['.', '!']).count();
            assert!((4..=7).contains(&sentences), "{sentences}: {body}");
            assert!(body.starts_with("What I like") || body.starts_with("I enjoyed"), "{body}");
            assert!(body.contains("She stays calm under mount now.") && !body.contains("NaN"));
            assert_eq!(rounds >= 10, body.contains("For the next weeks"), "{body}");
        });
    }
}

#[test]
fn a_draft_for_the_coach_to_change() {
    full(120, None, |figures, report| {
        let notes = ["You kept your elbows in all evening."];
        insta::assert_snapshot!(message_draft(&MessageDraft {
            whose: report.whose,
            figures,
            notes: &notes,
            next: report.next,
        }));
    });
}

#[test]
fn where_there_is_much_less_is_printed_and_all_stays_in_the_file() {
    let printed = |html: &str| {
        let body = html.split_once("<body").and_then(|(_, rest)| rest.split_once('>'));
        body.map_or_else(String::new, |(class, _)| class.trim().to_owned())
    };
    let long = |letters: usize| "hold on and breathe ".repeat(letters / 20);
    let (message, goal) = (long(4_000), long(200));
    full(120, Some("Well done."), |_, report| {
        let few = StudentReport { goals: &[], moments: &[], ..*report };
        assert_eq!(printed(&student_report(&few)), "");
    });
    full(120, Some(&message), |_, report| {
        let goals = [goal.as_str(); 4];
        let html = student_report(&StudentReport { goals: &goals, ..*report });
        assert_eq!(printed(&html), "class=\"full long tight brief\"");
        let words = words(&html);
        assert!(words.contains(message.trim()) && words.contains("Moments to look at again"));
    });
}
