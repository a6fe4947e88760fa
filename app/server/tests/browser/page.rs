//! A page as a person uses it: what is seen, pressed, filled in and typed, found by the words that
//! stand there. Everything waits until it can be done.

use std::fmt::Display;
use std::time::{Duration, Instant};

use fantoccini::Client;
use fantoccini::actions::{InputSource, KeyAction, KeyActions};
use fantoccini::elements::{Element, ElementRef};
use fantoccini::wd::WebDriverCompatibleCommand;
use hyper::Method;
use serde_json::{Value, json};
use url::{ParseError, Url};

use super::driver::PATIENCE;

/// Finds a shown element of a kind by its name: as a whole first, then by how the name begins.
const FIND: &str = r#"
const [kind, name] = arguments;
const kinds = {
  button: "button, summary, [role=button], [role=tab], [role=option], input[type=submit]",
  link: "a[href]",
  field: "input:not([type=hidden]), select, textarea, [role=slider], [role=textbox]",
};
const tidy = (text) => (text || "").replace(/\s+/g, " ").trim();
const named = (element) => {
  const by = element.getAttribute("aria-labelledby");
  if (by) return by.split(/\s+/).map((id) => tidy(document.getElementById(id)?.textContent)).join(" ");
  const own = element.getAttribute("aria-label");
  if (own) return tidy(own);
  if (element.labels?.length) {
    return [...element.labels].map((label) => {
      const copy = label.cloneNode(true);
      for (const inner of copy.querySelectorAll("input, select, textarea")) inner.remove();
      return tidy(copy.textContent);
    }).join(" ");
  }
  return tidy(element.innerText) || tidy(element.value) || tidy(element.title);
};
const all = [...document.querySelectorAll(kinds[kind])].filter(
  (element) => element.type === "file" || element.checkVisibility({ visibilityProperty: true }));
return all.find((element) => named(element) === name)
  ?? all.find((element) => named(element).startsWith(name))
  ?? null;
"#;

/// A page in a browser, and the address of its server.
pub(crate) struct Page {
    pub(crate) client: Client,
    pub(crate) address: String,
}

/// A command of the driver beyond the standard ones.
#[derive(Debug)]
struct Beyond {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Beyond {
    fn endpoint(&self, base: &Url, session: Option<&str>) -> Result<Url, ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }

    fn method_and_body(&self, _address: &Url) -> (Method, Option<String>) {
        (Method::POST, Some(self.body.to_string()))
    }
}

impl Page {
    /// Asks the driver for something beyond the standard.
    pub(crate) async fn beyond(&self, path: &'static str, body: Value) -> Value {
        let command = Beyond { path, body };
        self.client.issue_cmd(command).await.unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    /// Gives a command of the browser's own protocol.
    pub(crate) async fn browser(&self, command: &str, parameters: Value) -> Value {
        self.beyond("goog/cdp/execute", json!({ "cmd": command, "params": parameters })).await
    }

    /// Runs a script in the page.
    pub(crate) async fn script(&self, script: &str, arguments: Vec<Value>) -> Value {
        let ran = self.client.execute(script, arguments).await;
        ran.unwrap_or_else(|error| panic!("the script ended: {error}\n{script}"))
    }

    /// Goes to a page of the server.
    pub(crate) async fn open(&self, path: &str) {
        let address = format!("{}{path}", self.address);
        self.client.goto(&address).await.unwrap_or_else(|error| panic!("{address}: {error}"));
    }

    /// The path and query of the page.
    pub(crate) async fn path(&self) -> String {
        let address = self.client.current_url().await.expect("an address").to_string();
        address.strip_prefix(&self.address).unwrap_or(&address).to_owned()
    }

    /// All that can be read on the page.
    pub(crate) async fn text(&self) -> String {
        let text = self.script("return document.body?.innerText ?? ''", Vec::new()).await;
        let text = text.as_str().unwrap_or_default();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Waits until something holds; `wanted` says what, for whoever reads of a failure.
    pub(crate) async fn until(&self, wanted: impl Display, holds: impl AsyncFn() -> bool) {
        let begun = Instant::now();
        while !holds().await {
            if begun.elapsed() > PATIENCE {
                let (path, text) = (self.path().await, self.text().await);
                panic!("waited in vain for {wanted}; {path} shows:\n{text}");
            }
            tokio::time::sleep(Duration::from_millis(30)).await;
        }
    }

    /// Waits until a text can be read.
    pub(crate) async fn sees(&self, text: &str) {
        self.until(format!("\"{text}\""), async || self.text().await.contains(text)).await;
    }

    /// Waits until a text can be read no more.
    pub(crate) async fn sees_no(&self, text: &str) {
        let gone = async || !self.text().await.contains(text);
        self.until(format!("\"{text}\" to go away"), gone).await;
    }

    async fn find_now(&self, kind: &str, name: &str) -> Option<Element> {
        let found = self.client.execute(FIND, vec![json!(kind), json!(name)]).await.ok()?;
        // The driver names an element by an object with one entry.
        let found = found.as_object()?.values().next()?.as_str()?.to_owned();
        Some(Element::from_element_id(self.client.clone(), ElementRef::from(found)))
    }

    /// Whether a button, link or field of this name is shown now.
    pub(crate) async fn has(&self, kind: &str, name: &str) -> bool {
        self.find_now(kind, name).await.is_some()
    }

    /// Does something with an element, again and again until it works: pages change while one acts.
    async fn act<T>(
        &self,
        kind: &str,
        name: &str,
        act: impl AsyncFn(Element) -> Result<T, fantoccini::error::CmdError>,
    ) -> T {
        let begun = Instant::now();
        loop {
            let why = match self.find_now(kind, name).await {
                None => "there is none".to_owned(),
                Some(element) => match act(element).await {
                    Ok(done) => return done,
                    Err(error) => error.to_string(),
                },
            };
            if begun.elapsed() > PATIENCE {
                let (path, text) = (self.path().await, self.text().await);
                panic!("the {kind} \"{name}\": {why}; {path} shows:\n{text}");
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Presses a button.
    pub(crate) async fn press(&self, name: &str) {
        self.act("button", name, async |element| element.click().await).await;
    }

    /// Follows a link.
    pub(crate) async fn follow(&self, name: &str) {
        let old = self.mark().await;
        self.act("link", name, async |element| element.click().await).await;
        self.newer_than(old).await;
    }

    /// Presses a button that sends a form, and waits for the page that answers.
    pub(crate) async fn send(&self, button: &str) {
        let old = self.mark().await;
        self.press(button).await;
        self.newer_than(old).await;
    }

    /// Types a text into a field in place of what is there.
    pub(crate) async fn fill(&self, field: &str, text: &str) {
        self.act("field", field, async |element| {
            element.clear().await?;
            element.send_keys(text).await
        })
        .await;
    }

    /// Gives a file to a field.
    pub(crate) async fn attach(&self, field: &str, path: &std::path::Path) {
        let path = path.to_str().expect("a path in Unicode");
        self.act("field", field, async |element| element.send_keys(path).await).await;
    }

    /// Chooses an option of a list by its words.
    pub(crate) async fn choose(&self, field: &str, option: &str) {
        self.act("field", field, async |element| element.select_by_label(option).await).await;
    }

    /// Ticks or unticks a box, or takes one of several.
    pub(crate) async fn tick(&self, field: &str) {
        self.act("field", field, async |element| element.click().await).await;
    }

    /// What a field holds.
    pub(crate) async fn value(&self, field: &str) -> String {
        let value = self.act("field", field, async |element| element.prop("value").await).await;
        value.unwrap_or_default()
    }

    /// Presses a key with whatever has the focus.
    pub(crate) async fn key(&self, key: impl Into<char>) {
        let value = key.into();
        let keys = KeyActions::new("keys".to_owned())
            .then(KeyAction::Down { value })
            .then(KeyAction::Up { value });
        self.client.perform_actions(keys).await.expect("a key is pressed");
    }

    /// Marks the document, to tell it from the one that follows.
    pub(crate) async fn mark(&self) -> Mark {
        self.script("window.isOld = true", Vec::new()).await;
        Mark
    }

    /// Waits until a page that follows a marked one is there and its scripts have run.
    pub(crate) async fn newer_than(&self, _old: Mark) {
        let script = "return !window.isOld && document.readyState === 'complete'";
        let loaded = async || {
            let loaded = self.client.execute(script, Vec::new()).await;
            loaded.is_ok_and(|loaded| loaded == json!(true))
        };
        self.until("the next page", loaded).await;
    }
}

/// Says that the document was marked.
#[must_use]
pub(crate) struct Mark;
