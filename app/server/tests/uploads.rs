//! Recordings come in over connections that break, and go out in parts.

use axum::body::Bytes;
use axum::http::Request;
use http_body_util::Full;
use serde_json::{Value, json};
use server::Access;
use store::RoundId;

use crate::app::{Answer, Browser, Served, named};

/// A file that counts as a video by its first bytes.
pub(crate) fn video(length: usize) -> Vec<u8> {
    let mut bytes = b"\0\0\0\x20ftypisom\0\0\x02\0".to_vec();
    bytes.extend((bytes.len()..length).map(|place| (place % 251) as u8));
    bytes
}

/// Sends what a page's script sends.
pub(crate) async fn ask(
    browser: &mut Browser,
    served: &Served,
    method: &str,
    path: &str,
    body: impl Into<Bytes>,
) -> Answer {
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header("origin", format!("http://{}", served.address))
        .header("accept", "application/json")
        .header("content-type", "application/json")
        .body(Full::new(body.into()))
        .expect("a request");
    browser.send(request).await
}

fn value(answer: &Answer) -> Value {
    serde_json::from_str(&answer.text).unwrap_or_else(|_| panic!("{answer:?}"))
}

async fn begin(browser: &mut Browser, served: &Served, name: &str, bytes: u64) -> String {
    let body = json!({ "name": name, "bytes": bytes }).to_string();
    let begun = ask(browser, served, "POST", "/uploads", body).await;
    assert_eq!(begun.status, 200, "{begun:?}");
    value(&begun)["id"].as_str().expect("an id").to_owned()
}

async fn piece(
    browser: &mut Browser,
    served: &Served,
    id: &str,
    offset: u64,
    bytes: &[u8],
) -> Answer {
    let path = format!("/uploads/{id}?offset={offset}");
    ask(browser, served, "PUT", &path, bytes.to_vec()).await
}

/// Takes a whole recording in; tells its hash.
async fn whole(browser: &mut Browser, served: &Served, bytes: &[u8]) -> String {
    let id = begin(browser, served, "round.mp4", bytes.len() as u64).await;
    assert_eq!(piece(browser, served, &id, 0, bytes).await.status, 200);
    let finished = ask(browser, served, "POST", &format!("/uploads/{id}/finish"), "").await;
    assert_eq!(finished.status, 200, "{finished:?}");
    value(&finished)["media"].as_str().expect("a hash").to_owned()
}

#[tokio::test]
async fn an_upload_goes_on_where_it_broke() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let bytes = video(100_000);
    let id = begin(&mut browser, &served, "../../round of friday.mp4", 100_000).await;
    let first = piece(&mut browser, &served, &id, 0, &bytes[..60_000]).await;
    assert_eq!(value(&first), json!({ "received": 60_000 }));
    // The answer was lost, so the same piece comes again, and is told where to go on.
    let again = piece(&mut browser, &served, &id, 0, &bytes[..60_000]).await;
    assert_eq!((again.status, &value(&again)["received"]), (409, &json!(60_000)));
    assert!(value(&again)["error"].as_str().unwrap().contains("60000"), "{again:?}");
    let ahead = piece(&mut browser, &served, &id, 80_000, &bytes[80_000..]).await;
    assert_eq!((ahead.status, &value(&ahead)["received"]), (409, &json!(60_000)));
    // After a reload the page asks.
    let mut reloaded = served.browser();
    let there = ask(&mut reloaded, &served, "GET", &format!("/uploads/{id}"), "").await;
    assert_eq!(value(&there), json!({ "received": 60_000 }));
    // Too early to finish.
    let finish = format!("/uploads/{id}/finish");
    let early = ask(&mut reloaded, &served, "POST", &finish, "").await;
    assert_eq!((early.status, &value(&early)["received"]), (409, &json!(60_000)));
    piece(&mut reloaded, &served, &id, 60_000, &bytes[60_000..]).await;
    let finished = ask(&mut reloaded, &served, "POST", &finish, "").await;
    let hash = value(&finished)["media"].as_str().unwrap().to_owned();
    let kept = served.book.media(&hash).await.unwrap();
    assert_eq!((kept.bytes, kept.name.as_str()), (100_000, "round of friday.mp4"));
    let path = served.book.media_path(&hash).await.unwrap();
    assert_eq!(std::fs::read(path).unwrap(), bytes);
    // The upload is over.
    let gone = ask(&mut reloaded, &served, "GET", &format!("/uploads/{id}"), "").await;
    assert_eq!(gone.status, 404, "{gone:?}");
}

#[tokio::test]
async fn what_cannot_be_is_refused_and_nothing_of_it_kept() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    for bytes in [0_u64, 17 << 30] {
        let body = json!({ "name": "a.mp4", "bytes": bytes }).to_string();
        let refused = ask(&mut browser, &served, "POST", "/uploads", body).await;
        assert_eq!(refused.status, 413, "{refused:?}");
        assert!(value(&refused)["error"].is_string());
    }
    // More bytes than were announced.
    let id = begin(&mut browser, &served, "a.mp4", 1_000).await;
    let longer = piece(&mut browser, &served, &id, 0, &video(1_001)).await;
    assert_eq!(longer.status, 413, "{longer:?}");
    // A piece that is too large.
    let id = begin(&mut browser, &served, "b.mp4", 20 << 20).await;
    let large = piece(&mut browser, &served, &id, 0, &video((8 << 20) + 1)).await;
    assert_eq!(large.status, 413, "{large:?}");
    assert!(value(&large)["error"].as_str().unwrap().contains("8 MB"), "{large:?}");
    let there = ask(&mut browser, &served, "GET", &format!("/uploads/{id}"), "").await;
    assert_eq!(value(&there), json!({ "received": 0 }));
    // Something that is no recording, whatever it is called.
    let id = begin(&mut browser, &served, "page.mp4", 40).await;
    let page = b"<!doctype html><script>alert(1)</script>";
    let refused = piece(&mut browser, &served, &id, 0, page).await;
    assert_eq!(refused.status, 415, "{refused:?}");
    // Given up.
    let path = format!("/uploads/{id}");
    assert_eq!(ask(&mut browser, &served, "DELETE", &path, "").await.status, 204);
    assert_eq!(ask(&mut browser, &served, "GET", &path, "").await.status, 404);
    assert!(served.book.all_media().await.unwrap().is_empty());
}

#[tokio::test]
async fn no_path_of_a_request_reaches_the_files() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    for id in ["..%2Fbook.sqlite", "%2e%2e%2fbook.sqlite", "..", "book.sqlite", "%00", "x%0a"] {
        for (method, path) in [
            ("GET", format!("/uploads/{id}")),
            ("PUT", format!("/uploads/{id}?offset=0")),
            ("DELETE", format!("/uploads/{id}")),
            ("POST", format!("/uploads/{id}/finish")),
            ("GET", format!("/media/{id}")),
        ] {
            let answer = ask(&mut browser, &served, method, &path, "x").await;
            assert_eq!(answer.status, 404, "{method} {path} {answer:?}");
        }
    }
    // Not even an id that has the right form.
    let answer = browser.get(&format!("/media/{}", "0".repeat(64))).await;
    assert_eq!(answer.status, 404);
    assert!(served.book.folder().join("book.sqlite").exists());
}

#[tokio::test]
async fn a_player_gets_the_part_it_asks_for() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let bytes = video(5_000);
    let hash = whole(&mut browser, &served, &bytes).await;
    let all = browser.get(&format!("/media/{hash}")).await;
    assert_eq!((all.status, all.headers["content-type"].to_str().unwrap()), (200, "video/mp4"));
    assert_eq!(all.headers["content-length"], "5000");
    assert_eq!(all.headers["x-content-type-options"], "nosniff");
    let part = |range: &str| {
        let request = Request::get(format!("/media/{hash}")).header("range", range);
        // Browsers offer this always; a recording must come as it is.
        request.header("accept-encoding", "gzip").body(Full::default()).unwrap()
    };
    let middle = browser.send(part("bytes=32-63")).await;
    assert_eq!(
        (middle.status, &middle.headers["content-range"].to_str().unwrap()),
        (206, &"bytes 32-63/5000")
    );
    assert_eq!(middle.text.as_bytes(), &bytes[32..64]);
    let end = browser.send(part("bytes=-10")).await;
    assert_eq!((end.status, end.headers["content-length"].to_str().unwrap()), (206, "10"));
    let beyond = browser.send(part("bytes=9000-")).await;
    assert_eq!(beyond.status, 416);
    let packed = Request::get(format!("/media/{hash}")).header("accept-encoding", "gzip");
    let packed = browser.send(packed.body(Full::default()).unwrap()).await;
    assert!(!packed.headers.contains_key("content-encoding"), "{:?}", packed.headers);
}

#[tokio::test]
async fn a_round_gets_and_loses_its_recording() {
    let served = Served::new(Access::ThisMachine).await;
    let mut browser = served.browser();
    let athletes = [served.person(named("Petra")).await, served.person(named("Idris")).await];
    let round = served.round(athletes).await;
    let path = format!("/rounds/{}/media", round.0);
    let hash = whole(&mut browser, &served, &video(900)).await;
    let unseen = json!({ "hash": hash }).to_string();
    assert_eq!(ask(&mut browser, &served, "POST", &path, unseen).await.status, 422);
    let body = json!({ "hash": hash, "revision": 1 }).to_string();
    assert_eq!(ask(&mut browser, &served, "POST", &path, body).await.status, 200);
    assert_eq!(served.book.round_facts(round).await.unwrap().media.as_deref(), Some(&*hash));
    let stale = json!({ "hash": null, "revision": 0 }).to_string();
    assert_eq!(ask(&mut browser, &served, "POST", &path, stale).await.status, 409);
    let unknown = json!({ "hash": "../book.sqlite", "revision": 2 }).to_string();
    assert_eq!(ask(&mut browser, &served, "POST", &path, unknown).await.status, 404);
    let away = json!({ "hash": null, "revision": 2 }).to_string();
    assert_eq!(ask(&mut browser, &served, "POST", &path, away).await.status, 200);
    assert_eq!(served.book.round_facts(round).await.unwrap().media, None);
    assert_eq!(round, RoundId(1));
    // Whose recording it was is known by round, whatever happens to the file.
    assert!(served.book.people_in_recording(&hash).await.unwrap().is_empty());
}
