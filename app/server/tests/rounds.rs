//! The list of rounds, and rounds added with a form that works without script.

use academy::{RoundKind, Time};
use axum::http::Request;
use http_body_util::Full;
use server::Access;
use store::{RoundFacts, RoundId};

use crate::app::{Answer, Browser, Served, by, named};

const TALK: &str = "WEBVTT

00:00.000 --> 00:04.000
Petra pulls guard

00:20.000 --> 00:24.500
and Idris passes to side control
";

/// Sends a form with a captions file, as browsers do.
pub(crate) async fn add(
    browser: &mut Browser,
    served: &Served,
    path: &str,
    fields: &[(&str, &str)],
    file: Option<(&str, &[u8])>,
) -> Answer {
    let mut body = Vec::new();
    for (name, value) in fields {
        let part =
            format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend(part.as_bytes());
    }
    let (name, bytes) = file.unwrap_or(("", b""));
    let head = format!(
        "--cut\r\nContent-Disposition: form-data; name=\"captions\"; filename=\"{name}\"\r\n\
         Content-Type: application/octet-stream\r\n\r\n"
    );
    body.extend(head.as_bytes());
    body.extend(bytes);
    body.extend(b"\r\n--cut--\r\n");
    let request = Request::post(path)
        .header("origin", format!("http://{}", served.address))
        .header("content-type", "multipart/form-data; boundary=cut")
        .body(Full::from(body))
        .expect("a request");
    browser.send(request).await
}

fn facts() -> [(&'static str, &'static str); 6] {
    [
        ("first", " petra "),
        ("second", "Idris"),
        ("date", "2026-11-03"),
        ("kind", "hard"),
        ("gi", "no"),
        ("length", ""),
    ]
}

async fn with_people() -> (Served, Browser) {
    let served = Served::new(Access::ThisMachine).await;
    served.person(named("Petra")).await;
    served.person(named("Idris")).await;
    let browser = served.browser();
    (served, browser)
}

#[tokio::test]
async fn captions_and_names_make_a_round() {
    let (served, mut browser) = with_people().await;
    let file = Some(("C:\\talks\\friday.vtt", TALK.as_bytes()));
    let added = add(&mut browser, &served, "/rounds/add", &facts(), file).await;
    assert_eq!(added.location().as_deref(), Some("/rounds/1"), "{added:?}");
    let kept = served.book.round_facts(RoundId(1)).await.unwrap();
    let talk = kept.talk.unwrap();
    assert_eq!((talk.name.as_str(), talk.text.as_str()), ("friday.vtt", TALK));
    assert_eq!((kept.kind, kept.gi), (RoundKind::Hard, false));
    assert_eq!(kept.length, Time::from_millis(24_500));
    browser.get("/rounds").await.says("not read yet");
    // Captions in the place of those.
    let other = Some(("saturday.txt", &b"0:05 Idris is in mount"[..]));
    let path = "/rounds/1/captions";
    let replaced = add(&mut browser, &served, path, &[("revision", "1")], other).await;
    assert_eq!(replaced.location().as_deref(), Some("/rounds/1"), "{replaced:?}");
    let kept = served.book.round_facts(RoundId(1)).await.unwrap();
    assert_eq!(kept.talk.unwrap().name, "saturday.txt");
    let stale = add(&mut browser, &served, path, &[("revision", "1")], other).await;
    assert_eq!(stale.status, 409);
}

#[tokio::test]
async fn a_round_needs_no_talk() {
    let (served, mut browser) = with_people().await;
    let mut fields = facts();
    fields[5].1 = "4:30";
    let added = add(&mut browser, &served, "/rounds/add", &fields, None).await;
    assert_eq!(added.status, 303, "{added:?}");
    let kept = served.book.round_facts(RoundId(1)).await.unwrap();
    assert_eq!((kept.talk, kept.length), (None, Time::from_millis(270_000)));
    browser.get("/rounds").await.says("by hand, to confirm");
}

#[tokio::test]
async fn what_is_wrong_is_said_and_nothing_typed_is_lost() {
    let (served, mut browser) = with_people().await;
    let broken = "1\n00:00:01,000 --> 00:00:02,000\nPetra & co\n\n2\n00:00:0x --> 5\nlost\n";
    let file = Some(("friday.srt", broken.as_bytes()));
    let mut fields = facts();
    fields[1].1 = "Wren <b>";
    let refused = add(&mut browser, &served, "/rounds/add", &fields, file).await;
    assert_eq!(refused.status, 422);
    for words in [
        "line 6",
        "there stands: 00:00:0x",
        "friday.srt",
        "Petra &#38; co",
        "Nobody in the book is called Wren &#60;b&#62;",
        "value=\"2026-11-03\"",
    ] {
        assert!(refused.text.contains(words), "{words} is not in {}", refused.text);
    }
    assert!(!refused.text.contains("<b>"), "{}", refused.text);
    assert_eq!(refused.field("first"), "petra");
    assert!(served.book.rounds(&store::RoundFilter::default()).await.unwrap().is_empty());
    assert_eq!(served.book.members().await.unwrap().len(), 2);
    // Put right in the page, with the new person confirmed.
    let mended = broken.replace("00:00:0x --> 5", "00:00:03,000 --> 00:00:05,000");
    let more =
        [("add_people", "yes"), ("captions_text", &*mended), ("captions_name", "friday.srt")];
    fields[1].1 = "Wren";
    let fields = [&fields[..], &more].concat();
    let added = add(&mut browser, &served, "/rounds/add", &fields, None).await;
    assert_eq!(added.status, 303, "{added:?}");
    let kept = served.book.round_facts(RoundId(1)).await.unwrap();
    assert_eq!(kept.talk.unwrap().name, "friday.srt");
    assert_eq!(served.book.members().await.unwrap().len(), 3);
}

#[tokio::test]
async fn facts_that_cannot_be_are_refused() {
    let (served, mut browser) = with_people().await;
    for (index, value, words) in [
        (0, "idris", "Nobody rolls alone"),
        (0, "", "Say who it was"),
        (2, "2126-01-01", "has not come yet"),
        (2, "yesterday", "Write the day"),
        (3, "brawl", "Choose what"),
        (5, "long", "Write minutes and seconds"),
        (5, "", "say how long"),
    ] {
        let mut fields = facts();
        fields[5].1 = "5:00";
        fields[index].1 = value;
        let refused = add(&mut browser, &served, "/rounds/add", &fields, None).await;
        assert_eq!(refused.status, 422, "{value}");
        assert!(refused.text.contains(words), "{words} is not in {}", refused.text);
    }
    assert!(served.book.rounds(&store::RoundFilter::default()).await.unwrap().is_empty());
}

#[tokio::test]
async fn lists_come_in_pages_and_can_be_narrowed() {
    let (served, mut browser) = with_people().await;
    browser.get("/rounds").await.says("There is no round in the book yet");
    let people: Vec<_> = served.book.members().await.unwrap();
    let wren = served.person(named("Wren")).await;
    let (idris, petra) = (people[0].0, people[1].0);
    for day in 1..=60_i8 {
        let date = jiff::civil::date(2026, if day > 30 { 10 } else { 9 }, (day - 1) % 30 + 1);
        let athletes = if day % 3 == 0 { [petra, wren] } else { [petra, idris] };
        let facts = RoundFacts {
            date,
            kind: RoundKind::Flow,
            gi: true,
            athletes,
            length: Time::from_millis(300_000),
            class: None,
            talk: None,
            media: None,
            confirmed: (day % 2 == 0).then_some(date),
        };
        served.book.add_round(&by(), &facts).await.unwrap();
    }
    let first = browser.get("/rounds").await;
    first.says("1 to 50 of 60 rounds");
    first.says("href=\"/rounds?page=2\"");
    assert!(first.text.find("30 Oct 2026") < first.text.find("29 Oct 2026"));
    let second = browser.get("/rounds?page=2").await;
    second.says("51 to 60 of 60 rounds");
    assert!(second.text.contains("1 Sep 2026") && !second.text.contains("Oct 2026"));
    browser.get("/rounds?page=nonsense&person=&state=").await.says("1 to 50 of 60 rounds");
    let narrow = browser.get(&format!("/rounds?person={}", wren.0)).await;
    narrow.says("20 rounds");
    let both = browser.get(&format!("/rounds?person={}&state=confirmed", wren.0)).await;
    both.says("10 rounds");
    both.says("confirmed 6 Sep 2026");
    browser.get("/rounds?person=9999").await.says("No round is like that");
}
