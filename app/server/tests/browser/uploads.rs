//! A recording on its way into the book over a connection that breaks, and files that are dropped.

use std::fs;

use serde_json::{Value, json};
use server::Access;
use store::{RoundFilter, RoundId};

use super::academy::{Start, serving};
use super::page::Page;
use crate::uploads::video;

/// Bytes of the recording: three pieces.
const BYTES: usize = 9_000_000;

/// Bytes of a piece, as the page sends it.
const PIECE: usize = 4 << 20;

/// Notes which pieces are sent, and holds each but the first until it is let go.
const WATCH: &str = r#"
const plain = window.fetch;
window.pieces = [];
window.fetch = async (address, options) => {
  if (options?.method === "PUT") {
    if (window.pieces.length > 0 && !window.letGo) {
      await new Promise((resolve) => { window.release = resolve; });
      window.letGo = true;
    }
    const offset = Number(new URL(address, location.href).searchParams.get("offset"));
    window.pieces.push([offset, options.body.size]);
  }
  return plain(address, options);
};
"#;

async fn pieces(page: &Page) -> Value {
    page.script("return window.pieces", Vec::new()).await
}

async fn offline(page: &Page, offline: bool) {
    let network = json!({
        "offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1,
    });
    page.browser("Network.enable", json!({})).await;
    page.browser("Network.emulateNetworkConditions", network).await;
}

#[test]
fn a_recording_goes_on_where_its_connection_and_its_page_left_it() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        let folder = tempfile::tempdir().expect("a folder for files");
        let recording = folder.path().join("friday.mp4");
        fs::write(&recording, video(BYTES)).expect("a file");
        page.open("/rounds/add").await;
        page.script(WATCH, Vec::new()).await;
        page.attach("Video or sound", &recording).await;
        page.sees("friday.mp4: 4.2 MB of 9.0 MB, 46 %").await;
        assert_eq!(pieces(page).await, json!([[0, PIECE]]));
        // The page is closed in the middle, and the connection breaks after the next piece.
        page.open("/rounds/add").await;
        page.sees("friday.mp4 was on its way: choose the same file again").await;
        page.script(WATCH, Vec::new()).await;
        page.attach("Video or sound", &recording).await;
        page.sees("8.4 MB of 9.0 MB, 93 %").await;
        offline(page, true).await;
        page.script("window.release()", Vec::new()).await;
        page.sees("The connection is away; this goes on by itself").await;
        offline(page, false).await;
        page.sees("friday.mp4 is there").await;
        let rest = json!([2 * PIECE, BYTES - 2 * PIECE]);
        let sent = pieces(page).await;
        let sent = sent.as_array().expect("a list");
        assert_eq!(sent[0], json!([PIECE, PIECE]), "it goes on where it was");
        assert!(sent.len() > 2 && sent[1..].iter().all(|piece| *piece == rest), "{sent:?}");
        page.fill("First athlete", "Nadira").await;
        page.fill("Second athlete", "Haruki").await;
        page.fill("Length", "4:00").await;
        page.send("Add the round").await;
        page.sees("Nadira and Haruki").await;
        let facts = given.book.round_facts(RoundId(4)).await.expect("the round");
        let path = given.book.media_path(&facts.media.expect("a recording")).await;
        let kept = fs::read(path.expect("a path")).expect("a file");
        assert!(kept == video(BYTES), "every byte is where it was");
        page.complaints().await;
    });
}

/// Drops a file of some text onto the page.
const DROP: &str = r#"
const [name, type, bytes, begun] = arguments;
const dataTransfer = new DataTransfer();
dataTransfer.items.add(new File([begun, new Uint8Array(bytes)], name, { type }));
const drop = (kind) => document.querySelector("main").dispatchEvent(
  new DragEvent(kind, { dataTransfer, bubbles: true, cancelable: true }));
drop("dragover");
const invited = !document.getElementById("drop-here").hidden;
const taken = !drop("drop");
return [invited, taken, document.getElementById("drop-here").hidden];
"#;

#[test]
fn files_that_are_dropped_onto_the_page_fill_the_form() {
    serving(Start::FewRounds, Access::ThisMachine, async |page, given| {
        page.open("/rounds/add").await;
        page.fill("First athlete", "Nadira").await;
        page.fill("Second athlete", "Haruki").await;
        page.fill("Length", "4:00").await;
        let talk = "0:05 Nadira passes to side control\n";
        let dropped =
            page.script(DROP, vec![json!("friday.txt"), json!(""), json!(0), json!(talk)]);
        assert_eq!(dropped.await, json!([true, true, true]));
        let chosen = "return [...document.getElementById('captions').files].map((f) => f.name)";
        assert_eq!(page.script(chosen, Vec::new()).await, json!(["friday.txt"]));
        let sound = json!("RIFF\u{24}\0\0\0WAVEfmt ");
        let dropped =
            page.script(DROP, vec![json!("it.wav"), json!("audio/wav"), json!(50), sound]);
        assert_eq!(dropped.await, json!([true, true, true]));
        page.sees("it.wav is there").await;
        // Other files than the captions leave them as they are.
        assert_eq!(page.script(chosen, Vec::new()).await, json!(["friday.txt"]));
        page.send("Add the round").await;
        page.sees("Nadira and Haruki").await;
        let count = given.book.count_rounds(&RoundFilter::default()).await;
        assert_eq!(count.expect("a count"), 4);
        let facts = given.book.round_facts(RoundId(4)).await.expect("the round");
        let captions = facts.talk.expect("the captions");
        assert_eq!((&*captions.name, &*captions.text), ("friday.txt", talk));
        assert!(facts.media.is_some());
        page.complaints().await;
    });
}
