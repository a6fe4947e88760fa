//! Requests that must not get through: other hosts, other sites' pages, paths out of the folder.

use axum::http::Request;
use http_body_util::Full;
use server::Access;

use crate::app::{Served, form};

#[tokio::test]
async fn another_host_is_refused() {
    let served = Served::new(Access::ThisMachine).await;
    for host in ["evil.example", "localhost.evil.example", "192.168.1.9:7100"] {
        let request = Request::get("/").header("host", host).body(Full::default()).unwrap();
        let answer = served.browser().send(request).await;
        assert_eq!(answer.status, 421, "{host}");
        assert!(!answer.text.contains("<h1>"), "{host}");
    }
    served.browser().get("/").await.says("Today");
}

#[tokio::test]
async fn a_change_that_another_page_asks_for_is_refused() {
    let served = Served::new(Access::ThisMachine).await;
    let change = || {
        Request::post("/students/add").header("content-type", "application/x-www-form-urlencoded")
    };
    let body = || Full::from(form(&[("name", "Petra"), ("belt", "white"), ("stripes", "0")]));
    let requests = [
        change().body(body()).unwrap(),
        change().header("origin", "null").body(body()).unwrap(),
        change().header("origin", "https://evil.example").body(body()).unwrap(),
        change().header("sec-fetch-site", "cross-site").body(body()).unwrap(),
        change().header("sec-fetch-site", "same-site").body(body()).unwrap(),
    ];
    for request in requests {
        let answer = served.browser().send(request).await;
        assert_eq!(answer.status, 403);
    }
    assert!(served.book.members().await.unwrap().is_empty());
}

#[tokio::test]
async fn no_path_leads_out() {
    let served = Served::new(Access::ThisMachine).await;
    let home = served.browser().get("/").await;
    let style = home.text.split("href=\"/assets/").nth(1).unwrap().split('/').next().unwrap();
    for path in [
        format!("/assets/{style}/..%2f..%2fCargo.toml"),
        format!("/assets/{style}/%2e%2e%2fframe.html"),
        format!("/assets/{style}//etc/passwd"),
        "/assets/../Cargo.toml".to_owned(),
        "/students/..%2f..%2fbook.sqlite".to_owned(),
        "/students/%00".to_owned(),
        "/students/99999999999999999999".to_owned(),
        "/book.sqlite".to_owned(),
    ] {
        let answer = served.browser().get(&path).await;
        assert!((400..=404).contains(&answer.status), "{path}: {}", answer.status);
    }
    let answer = served.browser().get(&format!("/assets/{style}/style.css")).await;
    assert_eq!(answer.status, 200);
}

#[tokio::test]
async fn every_answer_says_what_it_may_load() {
    let served = Served::new(Access::ThisMachine).await;
    for path in ["/", "/no-such-page"] {
        let answer = served.browser().get(path).await;
        let policy = answer.headers["content-security-policy"].to_str().unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
        assert_eq!(answer.headers["x-content-type-options"], "nosniff");
    }
}
