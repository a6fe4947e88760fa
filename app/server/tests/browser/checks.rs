//! What must hold of every page at every width and in every theme.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

use super::page::Page;

/// How wide the window is and whether it is dark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Look {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) theme: &'static str,
}

const PHONE: (u32, u32) = (390, 844);
const LAPTOP: (u32, u32) = (1280, 900);

/// A phone and a laptop, light and dark.
pub(crate) const LOOKS: [Look; 4] = [
    Look { width: PHONE.0, height: PHONE.1, theme: "light" },
    Look { width: PHONE.0, height: PHONE.1, theme: "dark" },
    Look { width: LAPTOP.0, height: LAPTOP.1, theme: "light" },
    Look { width: LAPTOP.0, height: LAPTOP.1, theme: "dark" },
];

/// The checker of accessibility, put into pages by the tests alone.
static AXE: LazyLock<String> = LazyLock::new(|| {
    let path = root().join("node_modules/axe-core/axe.min.js");
    fs::read_to_string(&path)
        .unwrap_or_else(|error| panic!("{}: {error}; run `npm ci`", path.display()))
});

/// Checks the page against WCAG 2.2 AA and gives what is wrong as text, one line for each element.
const CHECK: &str = r#"
const done = arguments[arguments.length - 1];
const options = {
  runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"] },
  rules: { "target-size": { enabled: true } },
};
axe.run(document, options).then(
  (found) => done(found.violations.flatMap((rule) => rule.nodes.map((node) =>
    `${rule.id} (${rule.help}): ${node.target.join(" ")}: ${node.failureSummary.replace(/\s+/g, " ")}`))),
  (error) => done([String(error)]));
"#;

/// What sticks out of the page sideways, where the page can be scrolled that way.
const WIDE: &str = r#"
const page = document.documentElement;
if (page.scrollWidth <= page.clientWidth) return [];
const name = (element) => `${element.tagName.toLowerCase()}.${element.className?.baseVal ?? element.className}`;
const wide = [...document.body.querySelectorAll("*")].filter(
  (element) => element.getBoundingClientRect().right > page.clientWidth + 0.5);
return [`${page.scrollWidth} px in ${page.clientWidth} px`, ...wide.slice(0, 6).map(name)];
"#;

/// The repository's folder.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().expect("the root is there")
}

fn lines(found: &Value) -> Vec<String> {
    let found = found.as_array().expect("a list");
    found.iter().map(|line| line.as_str().unwrap_or_default().to_owned()).collect()
}

impl Page {
    /// Makes the window so wide and so dark.
    pub(crate) async fn look(&self, look: Look) {
        let phone = look.width == PHONE.0;
        let size = json!({
            "width": look.width, "height": look.height, "deviceScaleFactor": 1, "mobile": phone,
        });
        self.browser("Emulation.setDeviceMetricsOverride", size).await;
        self.browser("Emulation.setTouchEmulationEnabled", json!({ "enabled": phone })).await;
        let theme = json!({
            "features": [{ "name": "prefers-color-scheme", "value": look.theme }],
        });
        self.browser("Emulation.setEmulatedMedia", theme).await;
    }

    /// What the browser's console has said since it was last asked: errors and warnings.
    pub(crate) async fn complaints(&self) -> Vec<String> {
        let said = self.beyond("se/log", json!({ "type": "browser" })).await;
        let said = said.as_array().expect("a list").iter();
        said.filter(|entry| entry["level"] == "SEVERE" || entry["level"] == "WARNING")
            .map(|entry| entry["message"].as_str().unwrap_or_default().to_owned())
            .collect()
    }

    /// Fails where the browser has complained.
    pub(crate) async fn has_no_complaints(&self) {
        let complaints = self.complaints().await;
        assert!(complaints.is_empty(), "{}: the console says {complaints:#?}", self.path().await);
    }

    /// What the page does wrong for people who see, hear or move differently.
    pub(crate) async fn barriers(&self) -> Vec<String> {
        self.script(&format!("{}\n;window.axe = axe;", *AXE), Vec::new()).await;
        let found = self.client.execute_async(CHECK, Vec::new()).await;
        lines(&found.unwrap_or_else(|error| panic!("the checker ended: {error}")))
    }

    /// Looks at the page at both widths and in both themes: no barrier, nothing that sticks out, no
    /// complaint of the browser; and takes a picture of each. Gives what is wrong.
    pub(crate) async fn faults(&self, name: &str) -> Vec<String> {
        let mut faults = Vec::new();
        for look in LOOKS {
            self.look(look).await;
            let at = format!("{name}, {} px, {}", look.width, look.theme);
            let wide = lines(&self.script(WIDE, Vec::new()).await);
            if !wide.is_empty() {
                faults.push(format!("{at}: can be scrolled sideways: {}", wide.join(", ")));
            }
            for barrier in self.barriers().await {
                faults.push(format!("{at}: {barrier}"));
            }
            self.picture(&format!("{name}-{}-{}", look.width, look.theme)).await;
        }
        for complaint in self.complaints().await {
            faults.push(format!("{name}: the console says {complaint}"));
        }
        faults
    }

    /// As [`Page::faults`], and fails where there are any.
    pub(crate) async fn is_good(&self, name: &str) {
        let faults = self.faults(name).await;
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    }

    /// A picture of the whole page under `build/screenshots`.
    pub(crate) async fn picture(&self, name: &str) {
        let taken = json!({ "format": "png", "captureBeyondViewport": true });
        let taken = self.browser("Page.captureScreenshot", taken).await;
        let picture = STANDARD.decode(taken["data"].as_str().unwrap_or_default());
        let folder = root().join("build/screenshots");
        fs::create_dir_all(&folder).expect("a folder for pictures");
        fs::write(folder.join(format!("{name}.png")), picture.expect("a picture"))
            .expect("a picture is written");
    }
}
