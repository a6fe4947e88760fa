//! A recording that really plays: keys, the talk, the tide and the playhead go with it.

use academy::Time;
use fantoccini::key::Key;
use serde::Deserialize;
use serde_json::json;
use server::Access;
use store::{Book, RoundId};

use super::academy::{Start, by, serving};
use super::page::Page;

/// A round with talk, of Nadira and Haruki.
const TALKED: RoundId = RoundId(1);

/// How far a moment may be from the one asked for, in milliseconds.
const EXACT: f64 = 100.0;

/// Samples of sound in a second.
const RATE: u32 = 8_000;

/// What the player and the page show.
const SHOWN: &str = r#"
const player = document.getElementById("player");
const now = (selector) => document.querySelector(selector)?.dataset.at ?? null;
const box = document.querySelector(".playhead").getBoundingClientRect();
const question = document.getElementById("question");
return {
  ready: player.readyState,
  duration: player.duration * 1000,
  at: player.currentTime * 1000,
  plays: !player.paused && !player.ended,
  seeks: player.seeking,
  line: now(".lines-of-talk p.now"),
  entry: now(".entries > li.now"),
  playhead: box.left + box.width / 2,
  asked: [Number(question.dataset.from), Number(question.dataset.to)],
};
"#;

#[derive(Debug, Deserialize)]
struct Shown {
    ready: u8,
    duration: f64,
    at: f64,
    plays: bool,
    seeks: bool,
    line: Option<String>,
    entry: Option<String>,
    playhead: f64,
    asked: [f64; 2],
}

/// Sound without a sound: PCM, one channel of 8 bits.
fn silence(length: Time) -> Vec<u8> {
    let samples = u32::try_from(length.millis() * u64::from(RATE) / 1000).expect("a short round");
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((36 + samples).to_le_bytes());
    bytes.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
    bytes.extend(RATE.to_le_bytes());
    bytes.extend(RATE.to_le_bytes());
    bytes.extend(b"\x01\0\x08\0data");
    bytes.extend(samples.to_le_bytes());
    bytes.resize(bytes.len() + samples as usize, 128);
    bytes
}

/// Gives a round a recording as long as itself; tells its hash.
pub(crate) async fn record(book: &Book, round: RoundId) -> String {
    let mut facts = book.round_facts(round).await.expect("the round");
    let bytes = silence(facts.length);
    let upload = book.begin_upload("round.wav", bytes.len() as u64, 0).await.expect("room");
    book.append(&upload, 0, bytes).await.expect("a piece");
    let hash = book.finish_upload(&upload).await.expect("a recording");
    facts.media = Some(hash.clone());
    book.change_round(&by(), round, "Added a recording", &facts).await.expect("a change");
    hash
}

async fn shown(page: &Page) -> Shown {
    let shown = page.script(SHOWN, Vec::new()).await;
    serde_json::from_value(shown).expect("what is shown")
}

/// Waits until the player has gone to a moment, and rests there.
async fn rests_at(page: &Page, millis: f64) -> Shown {
    page.until(format!("the player at {millis}"), async || {
        let shown = shown(page).await;
        !shown.seeks && (shown.at - millis).abs() <= EXACT
    })
    .await;
    shown(page).await
}

/// Clicks on an element and tells which moment it names, in milliseconds.
async fn click_moment(page: &Page, selector: &str) -> f64 {
    let element = page.client.find(fantoccini::Locator::Css(selector)).await.expect(selector);
    element.click().await.expect("a click");
    let moment = "return document.querySelector(arguments[0]).getAttribute('href').slice(3) * 1000";
    page.script(moment, vec![json!(selector)]).await.as_f64().expect("a moment")
}

/// Opens the page of a round whose recording plays.
async fn open(page: &Page) -> Shown {
    page.open(&format!("/rounds/{}", TALKED.0)).await;
    page.until("something is asked", async || {
        let asks = "return Boolean(document.getElementById('question')?.dataset.to)";
        page.script(asks, Vec::new()).await == json!(true)
    })
    .await;
    page.until("the recording loads", async || shown(page).await.ready >= 2).await;
    let begun = shown(page).await;
    rests_at(page, begun.asked[0]).await
}

fn with_recording(test: impl AsyncFnOnce(&Page)) {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        record(&given.book, TALKED).await;
        test(page).await;
    });
}

#[test]
fn a_recording_is_played_and_moved_through_by_keys() {
    with_recording(async |page| {
        let begun = open(page).await;
        assert!((begun.duration - 240_000.0).abs() < EXACT, "{begun:?}");
        assert!(!begun.plays);
        page.key(' ').await;
        page.until("it plays on", async || shown(page).await.at > begun.at + 200.0).await;
        page.key(' ').await;
        page.until("it rests", async || !shown(page).await.plays).await;
        let mut at = shown(page).await.at;
        for (key, step) in [
            (char::from(Key::Right), 2000.0),
            (char::from(Key::Right), 2000.0),
            (char::from(Key::Left), -2000.0),
            ('.', 500.0),
            (',', -500.0),
        ] {
            page.key(key).await;
            at = rests_at(page, at + step).await.at;
        }
        let part = page.client.execute_async(PART, Vec::new()).await.expect("an answer");
        assert_eq!(part, json!([206, "bytes 1000-1999/1920044", 1000]));
    });
}

#[test]
fn the_talk_the_list_and_the_tide_lead_to_their_moments() {
    with_recording(async |page| {
        open(page).await;
        let at = click_moment(page, ".lines-of-talk p:nth-of-type(5) a.at").await;
        let there = rests_at(page, at).await;
        assert_eq!(there.line.as_deref(), Some(&*at.to_string()), "the line is marked");
        // A link has no use for these keys: they are the player's.
        page.key(' ').await;
        page.until("it plays on", async || shown(page).await.at > at + 200.0).await;
        page.key(' ').await;
        page.until("it rests", async || !shown(page).await.plays).await;
        let before = shown(page).await.at;
        page.key(Key::Right).await;
        rests_at(page, before + 2000.0).await;

        let at = click_moment(page, ".entries > li:nth-of-type(4) a.at").await;
        let there = rests_at(page, at).await;
        assert_eq!(there.entry.as_deref(), Some(&*at.to_string()), "the entry is marked");
        assert_ne!(there.line.as_deref(), None, "the talk goes along");

        let link = page.script(LINK, Vec::new()).await;
        let link: [f64; 5] = serde_json::from_value(link).expect("a link on the tide");
        let [x, y, at, left, right] = link;
        press_at(page, x, y).await;
        let there = rests_at(page, at).await;
        let over = left - 2.0..right + 2.0;
        assert!(over.contains(&there.playhead), "{there:?} is not over {link:?}");

        // Beside its links the tide leads to where it was pressed.
        let free = page.script(FREE, Vec::new()).await;
        let [x, y] = [0, 1].map(|index| free[index].as_f64().expect("a free place"));
        let last = shown(page).await.at;
        press_at(page, x, y).await;
        page.until("the playhead where the tide was pressed", async || {
            let shown = shown(page).await;
            (shown.playhead - x).abs() <= 1.5 && (shown.at - last).abs() > EXACT
        })
        .await;
    });
}

/// Asks for a part of the recording, as a player does.
const PART: &str = r#"
const done = arguments[arguments.length - 1];
const part = { headers: { range: "bytes=1000-1999" } };
fetch(document.getElementById("player").src, part).then(async (answer) => {
  const bytes = await answer.arrayBuffer();
  done([answer.status, answer.headers.get("content-range"), bytes.byteLength]);
});
"#;

/// A link on the tide after its first minute: a place on it, its moment, and its edges.
const LINK: &str = r#"
document.querySelector(".tide-frame.wide").scrollIntoView({ block: "center" });
for (const link of document.querySelectorAll(".tide-frame.wide a")) {
  const moment = Number(link.getAttribute("href").slice(3)) * 1000;
  const box = link.getBoundingClientRect();
  const [x, y] = [Math.round(box.left + box.width / 2), Math.round(box.top + box.height / 2)];
  if (moment > 60000 && document.elementFromPoint(x, y)?.closest("a") === link) {
    return [x, y, moment, box.left, box.right];
  }
}
return null;
"#;

/// A place on the tide that lies on none of its links, far from its beginning.
const FREE: &str = r#"
const frame = document.querySelector(".tide-frame.wide");
frame.scrollIntoView({ block: "center" });
const box = frame.getBoundingClientRect();
for (let part = 0.8; part > 0.5; part -= 0.01) {
  for (let y = box.top + 2; y < box.bottom; y += 3) {
    const x = Math.round(box.left + part * box.width);
    const found = document.elementFromPoint(x, y);
    if (found && frame.contains(found) && !found.closest("a")) return [x, Math.round(y)];
  }
}
return null;
"#;

async fn press_at(page: &Page, x: f64, y: f64) {
    for kind in ["mousePressed", "mouseReleased"] {
        let press = json!({ "type": kind, "x": x, "y": y, "button": "left", "clickCount": 1 });
        page.browser("Input.dispatchMouseEvent", press).await;
    }
}

/// Keeps the earliest and the latest moment that is shown from now on.
const KEEP: &str = r#"
const player = document.getElementById("player");
window.kept = [Infinity, -Infinity];
const keep = () => {
  if (!player.paused) {
    window.kept[0] = Math.min(window.kept[0], player.currentTime * 1000);
    window.kept[1] = Math.max(window.kept[1], player.currentTime * 1000);
  }
  requestAnimationFrame(keep);
};
requestAnimationFrame(keep);
"#;

#[test]
fn the_moment_asked_about_is_repeated() {
    with_recording(async |page| {
        let [from, to] = open(page).await.asked;
        page.script("document.getElementById('player').currentTime = 200", Vec::new()).await;
        rests_at(page, 200_000.0).await;
        page.key('l').await;
        page.until("it plays from where it is asked", async || {
            let shown = shown(page).await;
            shown.plays && shown.at >= from && shown.at < to
        })
        .await;
        page.script(KEEP, Vec::new()).await;
        repeats(page, from, to).await;
        let kept = page.script("return window.kept", Vec::new()).await;
        let kept = |index: usize| kept[index].as_f64().expect("a moment");
        assert!(kept(0) >= from - EXACT && kept(1) <= to, "{} to {}", kept(0), kept(1));
        // A moment that lasts to the end of the recording comes again too.
        let last = "const question = document.getElementById('question');
            question.dataset.from = '230000';
            question.dataset.to = document.getElementById('round').dataset.length";
        page.script(last, Vec::new()).await;
        repeats(page, 230_000.0, 240_000.0).await;
        page.key('l').await;
        page.key(' ').await;
        page.until("it rests", async || !shown(page).await.plays).await;
    });
}

/// Lets a moment play to its end, and waits until it begins again.
async fn repeats(page: &Page, from: f64, to: f64) {
    let end = "document.getElementById('player').currentTime = arguments[0] / 1000";
    page.script(end, vec![json!(to - 400.0)]).await;
    page.until("it begins again", async || {
        let shown = shown(page).await;
        shown.plays && shown.at >= from - EXACT && shown.at < to - 1000.0
    })
    .await;
}
