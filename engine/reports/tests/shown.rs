//! What is shown of the sample round, held as files to look at.

use academy::{EventKind, Ledger, Spell, Time};
use reports::{RoundPage, TextStyle, TideWidth};

use crate::sample;

fn text(colour: bool) -> String {
    let style = TextStyle { columns: 80, colour };
    let (round, ledger, notes) = (sample::round(), sample::ledger(), sample::notes());
    reports::round_text(&round, &ledger, &notes, &sample::questions(), style)
}

fn page() -> String {
    reports::round_page(&RoundPage {
        round: &sample::round(),
        ledger: &sample::ledger(),
        notes: &sample::notes(),
        talk: &sample::talk(),
        questions: &sample::questions(),
    })
}

#[test]
fn round_as_text() {
    insta::assert_snapshot!(text(false));
}

#[test]
fn colour_changes_nothing_but_the_colour() {
    let coloured = text(true);
    let mut plain = String::new();
    let mut rest = coloured.as_str();
    while let Some((before, after)) = rest.split_once('\u{1b}') {
        plain.push_str(before);
        rest = after.split_once('m').unwrap().1;
    }
    plain.push_str(rest);
    // Trailing blanks may hide inside a colour.
    let trimmed: Vec<&str> = plain.lines().map(str::trim_end).collect();
    assert_eq!(trimmed, text(false).lines().collect::<Vec<_>>());
    assert!(coloured.contains("\u{1b}[34m▲ Petra on top\u{1b}[0m"));
}

#[test]
fn text_keeps_to_the_width() {
    for columns in [40, 60, 80, 120] {
        let style = TextStyle { columns, colour: false };
        let (round, ledger, notes) = (sample::round(), sample::ledger(), sample::notes());
        let text = reports::round_text(&round, &ledger, &notes, &sample::questions(), style);
        for line in text.lines() {
            assert!(line.chars().count() <= columns, "{columns}: {line}");
        }
    }
}

#[test]
fn tide_for_a_laptop() {
    insta::assert_snapshot!(reports::tide(&sample::round(), &sample::ledger(), TideWidth::Laptop));
}

#[test]
fn tide_for_a_phone() {
    insta::assert_snapshot!(reports::tide(&sample::round(), &sample::ledger(), TideWidth::Phone));
}

#[test]
fn table() {
    insta::assert_snapshot!(reports::ledger_csv(&sample::round(), &sample::ledger()));
}

#[test]
fn page_as_a_file() {
    insta::assert_snapshot!(page());
}

#[test]
fn a_tide_in_a_page_leads_to_its_moments_and_brings_no_style() {
    let link = |time: Time| format!("#t={}", time.millis());
    let (round, ledger) = (sample::round(), sample::ledger());
    for (width, units) in [(TideWidth::Laptop, 960.0), (TideWidth::Phone, 360.0)] {
        let tide = reports::tide_in_page(&round, &ledger, width, "here", &link);
        assert!(!tide.svg.contains("<style") && !tide.svg.contains("style="));
        for spell in ledger.spells() {
            let link = format!("href=\"{}\"", link(spell.span.start()));
            assert!(tide.svg.contains(&link), "{link}");
        }
        // The band begins and ends where the page is told.
        let [start, end] = tide.time.map(|share| share * units);
        assert!(
            tide.svg.contains(&format!("M{start} ")) && tide.svg.contains(&format!("H{end}\""))
        );
        assert!(0.0 < tide.axis && tide.axis < 1.0);
    }
    assert!(reports::picture_style().contains(".first"));
}

#[test]
fn what_happened_is_told_in_order_with_what_can_be_changed() {
    let (round, ledger) = (sample::round(), sample::ledger());
    let told = reports::told(&round, &ledger);
    assert!(told.windows(2).all(|pair| pair[0].time <= pair[1].time));
    let spells = told.iter().filter_map(|told| told.spell).count();
    assert_eq!(spells, ledger.spells().len());
    let events = told.iter().flat_map(|told| [told.event, told.attempt]).flatten().count();
    assert_eq!(events, ledger.events().len());
    assert!(told.iter().all(|told| !told.sentence.is_empty()));
}

#[test]
fn tide_tells_itself_in_words() {
    let svg = reports::tide(&sample::round(), &sample::ledger(), TideWidth::Laptop);
    let document = roxmltree::Document::parse(&svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    for (label, starts) in [
        ("aria-labelledby", "The tide of the round: Petra and Idris, flow roll, 1:30"),
        ("aria-describedby", "A band along the time of the round."),
    ] {
        let id = root.attribute(label).unwrap();
        let element = document.descendants().find(|node| node.attribute("id") == Some(id)).unwrap();
        assert!(element.text().unwrap().starts_with(starts), "{label}");
    }
    let text: Vec<_> = document.descendants().filter_map(|node| node.text()).collect();
    assert!(text.contains(&"min:s"), "the axis has a unit");
    assert!(text.iter().any(|text| text.contains("1:00: back control, Idris behind")));
}

#[test]
fn page_loads_nothing_and_runs_nothing() {
    let page = page();
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(&page, options).unwrap();
    let mut ids = std::collections::HashSet::new();
    let mut inside = Vec::new();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        assert!(!["script", "iframe", "object", "img"].contains(&node.tag_name().name()));
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!name.starts_with("on") && name != "src", "{name}");
            match name {
                "href" if node.tag_name().name() == "link" => assert_eq!(value, "data:,"),
                "href" => inside.push(value.strip_prefix('#').unwrap().to_owned()),
                "aria-labelledby" | "aria-describedby" => inside.push(value.to_owned()),
                "id" => assert!(ids.insert(value.to_owned()), "{value} twice"),
                _ => {}
            }
        }
    }
    assert!(!page.contains("url(") && !page.contains("@import"));
    for id in inside {
        assert!(ids.contains(&id), "{id} leads nowhere");
    }
}

#[test]
fn what_was_heard_is_shown_as_text_only() {
    let page = page();
    assert!(page.contains("(heard: iters)"));
    assert!(page.contains("(heard: camera, taught)"));
    assert!(page.contains("on Monday &lt;all of you&gt; &amp; it shows"));
}

#[test]
fn the_legend_explains_what_occurs_and_nothing_else() {
    let style = TextStyle { columns: 80, colour: false };
    let (round, full) = (sample::round(), sample::ledger());
    let legend = |ledger: &Ledger| {
        let text = reports::round_text(&round, ledger, &[], &[], style);
        let lines: Vec<&str> = text.lines().skip_while(|line| !line.starts_with("0:00")).collect();
        lines[1..].iter().take_while(|line| !line.is_empty()).copied().collect::<Vec<_>>().join(" ")
    };
    assert_eq!(
        legend(&full),
        "▼ came to the top  ◇ submission  ○ let go  ◆ tap  × tried, did not work ▒ unsure"
    );
    let sure = |spell: &Spell| Spell { confidence: 0.9, ..spell.clone() };
    let spells: Vec<Spell> = full.spells().iter().map(sure).collect();
    let quiet = Ledger::new(spells.clone(), Vec::new()).unwrap();
    assert_eq!(legend(&quiet), "");
    let taps = full.events().iter().filter(|event| event.kind == EventKind::Tap).cloned();
    assert_eq!(legend(&Ledger::new(spells, taps.collect()).unwrap()), "◆ tap");
}

#[test]
fn one_moment_has_one_number() {
    let (round, ledger) = (sample::round(), sample::ledger());
    let text = reports::ledger_text(&round, &ledger, TextStyle { columns: 80, colour: false });
    let svg = reports::tide(&round, &ledger, TideWidth::Laptop);
    // The pass at 0:30 has 85 %, the side control that it leads to 82 %: the list, the band and
    // the mark say 82 %.
    assert!(text.contains("Petra passes to side control: back step pass                     82 %"));
    assert!(svg.contains("0:30: Petra passes to side control: back step pass (82 %)"));
    assert!(svg.contains("0:30 to 0:47: side control, Petra on top (82 %)"));
    assert!(!text.contains("85 %") && !svg.contains("85 %"));
}

#[test]
fn an_attempt_and_its_tap_are_one_line() {
    let finish = "Idris finishes with the rear naked choke (begun 1:12)";
    assert!(text(false).contains(finish) && page().contains(finish));
    assert!(!text(false).contains("goes for the rear naked choke"));
    assert!(!text(false).contains("taps to"));
    // The table keeps both.
    let table = reports::ledger_csv(&sample::round(), &sample::ledger());
    assert!(table.contains("1:12,submission_attempt,Idris,rear naked choke"));
    assert!(table.contains("1:17,tap,Petra,rear naked choke"));
}

#[test]
fn what_is_to_note_stands_above_the_picture() {
    let (text, page) = (text(false), page());
    for note in ["The two athletes may be swapped: ", "The name Idris is never heard in the talk"] {
        assert!(text.find(note).unwrap() < text.find("▲ Petra on top").unwrap());
        assert!(page.find(note).unwrap() < page.find("<svg").unwrap());
    }
}
