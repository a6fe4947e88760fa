//! A book in a folder of its own, served on a free port, and a browser that keeps its cookies.

#![allow(clippy::unwrap_used, reason = "a test that cannot begin has failed")]

use std::collections::BTreeMap;
use std::net::SocketAddr;

use academy::{Member, RoundKind, Time};
use axum::body::Bytes;
use axum::http::{HeaderMap, Request, Response};
use http_body_util::{BodyExt as _, Full};
use hyper_util::client::legacy::{Client, connect::HttpConnector};
use hyper_util::rt::TokioExecutor;
use server::{Access, App, ServeOptions, Serving};
use store::{Book, By, MemberId, RoundFacts, RoundId};
use tempfile::TempDir;

/// A served book. Ends with the test.
pub(crate) struct Served {
    pub(crate) book: Book,
    pub(crate) address: SocketAddr,
    _serving: Serving,
    _folder: TempDir,
}

impl Served {
    /// An empty book, served.
    pub(crate) async fn new(access: Access) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let book = Book::open(folder.path()).await.unwrap();
        let app = App::new(book.clone(), access).unwrap();
        let serving = server::start(app, ServeOptions { port: 0 }).await.unwrap();
        let address = SocketAddr::from(([127, 0, 0, 1], serving.address.port()));
        Served { book, address, _serving: serving, _folder: folder }
    }

    /// Somebody at a browser, with no cookies yet.
    pub(crate) fn browser(&self) -> Browser {
        let client = Client::builder(TokioExecutor::new()).build_http();
        Browser { address: self.address, client, cookies: BTreeMap::new() }
    }

    /// Puts somebody into the book.
    pub(crate) async fn person(&self, member: Member) -> MemberId {
        self.book.add_member(&by(), &member).await.unwrap()
    }

    /// Puts a round of five minutes without talk into the book.
    pub(crate) async fn round(&self, athletes: [MemberId; 2]) -> RoundId {
        let facts = RoundFacts {
            date: "2026-11-02".parse().unwrap(),
            kind: RoundKind::Flow,
            gi: true,
            athletes,
            length: Time::from_millis(300_000),
            class: None,
            talk: None,
            media: None,
            confirmed: None,
        };
        self.book.add_round(&by(), &facts).await.unwrap()
    }
}

/// Who puts things into the book before a test begins.
pub(crate) fn by() -> By {
    By { who: "Ines".to_owned(), at: 1_790_000_000, seen: None }
}

/// Somebody with a name and no other facts.
pub(crate) fn named(name: &str) -> Member {
    Member { name: name.to_owned(), ..Member::default() }
}

/// A browser: keeps cookies, follows no redirects, says whose page a change comes from.
#[derive(Clone)]
pub(crate) struct Browser {
    address: SocketAddr,
    client: Client<HttpConnector, Full<Bytes>>,
    pub(crate) cookies: BTreeMap<String, String>,
}

impl Browser {
    /// Asks for a page.
    pub(crate) async fn get(&mut self, path: &str) -> Answer {
        let request = Request::get(path).body(Full::default()).unwrap();
        self.send(request).await
    }

    /// Asks for a page and follows redirects to others.
    pub(crate) async fn visit(&mut self, path: &str) -> Answer {
        let mut answer = self.get(path).await;
        while let Some(to) = answer.location() {
            answer = self.get(&to).await;
        }
        answer
    }

    /// Sends a form.
    pub(crate) async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let request = Request::post(path)
            .header("origin", format!("http://{}", self.address))
            .header("content-type", "application/x-www-form-urlencoded")
            .body(Full::from(form(fields)))
            .unwrap();
        self.send(request).await
    }

    /// Sends any request; its path is completed, and Host and cookies are added where missing.
    pub(crate) async fn send(&mut self, mut request: Request<Full<Bytes>>) -> Answer {
        let path = request.uri().path_and_query().unwrap().clone();
        *request.uri_mut() = format!("http://{}{path}", self.address).parse().unwrap();
        if !self.cookies.is_empty() {
            let pairs = self.cookies.iter().map(|(name, value)| format!("{name}={value}"));
            let pairs = pairs.collect::<Vec<_>>().join("; ");
            request.headers_mut().insert("cookie", pairs.parse().unwrap());
        }
        let response = self.client.request(request).await.unwrap();
        for cookie in response.headers().get_all("set-cookie") {
            let (pair, rest) = cookie.to_str().unwrap().split_once(';').unwrap();
            let (name, value) = pair.split_once('=').unwrap();
            if rest.contains("Max-Age=0") {
                self.cookies.remove(name);
            } else {
                self.cookies.insert(name.to_owned(), value.to_owned());
            }
        }
        Answer::of(response).await
    }
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) headers: HeaderMap,
    pub(crate) text: String,
}

impl Answer {
    async fn of(response: Response<hyper::body::Incoming>) -> Self {
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.unwrap().to_bytes();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        Answer { status: parts.status.as_u16(), headers: parts.headers, text }
    }

    /// Where a redirect leads.
    pub(crate) fn location(&self) -> Option<String> {
        let to = self.headers.get("location")?;
        (300..400).contains(&self.status).then(|| to.to_str().unwrap().to_owned())
    }

    /// The value of the first input of this name.
    pub(crate) fn field(&self, name: &str) -> String {
        let tag = self.text.split("<input").skip(1).find_map(|rest| {
            let tag = rest.split_once('>')?.0;
            tag.contains(&format!("name=\"{name}\"")).then_some(tag)
        });
        let tag = tag.unwrap_or_else(|| panic!("no input {name} in {}", self.text));
        let value = tag.split_once("value=\"").map_or("", |(_, rest)| rest);
        value.split('"').next().unwrap_or_default().to_owned()
    }

    /// Fails unless the page is fine and says this.
    #[track_caller]
    pub(crate) fn says(&self, words: &str) {
        assert_eq!(self.status, 200, "{}", self.text);
        assert!(self.text.contains(words), "\"{words}\" is not in {}", self.text);
    }
}

/// Fields as a browser sends them.
pub(crate) fn form(fields: &[(&str, &str)]) -> String {
    let escape = |text: &str| {
        let mut escaped = String::new();
        for byte in text.bytes() {
            match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => escaped.push(char::from(byte)),
                b' ' => escaped.push('+'),
                _ => escaped.push_str(&format!("%{byte:02X}")),
            }
        }
        escaped
    };
    let pairs = fields.iter().map(|(name, value)| format!("{}={}", escape(name), escape(value)));
    pairs.collect::<Vec<_>>().join("&")
}
