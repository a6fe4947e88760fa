//! The browser that the tests drive: one chromedriver for all of them, a few sessions that are used
//! again, and nothing left behind however the tests end.

use std::collections::VecDeque;
use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::{LazyLock, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use fantoccini::wd::TimeoutConfiguration;
use fantoccini::{Client, ClientBuilder};
use serde_json::{Value, json};
use tokio::runtime::Runtime;
use tokio::sync::Semaphore;

/// How long anything may take before a test fails. A machine under load is slow, not wrong.
pub(crate) const PATIENCE: Duration = Duration::from_secs(60);

/// Browsers at once. More of them only wait for each other on two cores.
const BROWSERS: usize = 2;

/// All sessions live here, so that a test can use one that another test has begun.
pub(crate) static RUNTIME: LazyLock<Runtime> =
    LazyLock::new(|| Runtime::new().expect("threads for the tests"));

static DRIVER: LazyLock<Driver> = LazyLock::new(Driver::start);
static FREE: Mutex<VecDeque<Client>> = Mutex::new(VecDeque::new());
static TURNS: Semaphore = Semaphore::const_new(BROWSERS);

/// Runs the driver in the folder `$1` until its own input ends, which it does when the test program
/// ends, in whatever way; then ends everything that was started with that folder, and deletes it.
/// A browser is told by its folder: it may be in another process group than its driver.
const KEEPER: &str = r#"
folder=$1; shift
"$@" </dev/null &
driver=$!
cat >/dev/null
kill $driver 2>/dev/null
for tries in 1 2 3 4 5; do
  left=
  for process in /proc/[0-9]*; do
    if tr '\0' '\n' <"$process/cmdline" 2>/dev/null | grep -q -F -e "$folder/browser"; then
      kill -9 "${process#/proc/}" 2>/dev/null
      left=yes
    fi
  done
  [ -n "$left" ] || break
done
rm -rf "$folder"
"#;

struct Driver {
    address: String,
    folder: PathBuf,
    /// Ends the keeper by ending with this program.
    _input: ChildStdin,
    _keeper: Child,
}

impl Driver {
    fn start() -> Self {
        let folder = tempfile::tempdir().expect("a folder for browsers").keep();
        let mut keeper = Command::new("sh")
            .args(["-c", KEEPER, "keeper"])
            .arg(&folder)
            .args(["chromedriver", "--port=0"])
            // What the browser writes beside its profile goes there too.
            .env("TMPDIR", &folder)
            .env("XDG_CONFIG_HOME", folder.join("settings"))
            .env("XDG_CACHE_HOME", folder.join("cache"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("sh is there");
        let input = keeper.stdin.take().expect("an input");
        let mut output = BufReader::new(keeper.stdout.take().expect("an output"));
        let port = loop {
            let mut line = String::new();
            let length = output.read_line(&mut line).expect("text from chromedriver");
            assert!(length > 0, "chromedriver did not start; `make setup` installs it");
            // It greets with the port that was asked for, 0, before it tells which one it got.
            let number = line.trim().rsplit_once("successfully on port ").map(|(_, port)| port);
            let number = number.and_then(|port| port.trim_end_matches('.').parse::<u16>().ok());
            if let Some(port) = number {
                break port;
            }
        };
        // A pipe that nobody reads would stop its writer.
        thread::spawn(move || std::io::copy(&mut output, &mut std::io::sink()));
        let address = format!("http://127.0.0.1:{port}");
        Driver { address, folder, _input: input, _keeper: keeper }
    }

    async fn session(&self) -> Client {
        let profile = tempfile::Builder::new()
            .prefix("browser-")
            .tempdir_in(&self.folder)
            .expect("a folder for a browser")
            .keep();
        let mut arguments: Vec<String> = [
            "--headless=new",
            "--disable-gpu",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-dev-shm-usage",
            "--autoplay-policy=no-user-gesture-required",
        ]
        .map(str::to_owned)
        .into();
        arguments.push(format!("--user-data-dir={}", profile.display()));
        if is_root() {
            // Chromium refuses to shut root into its sandbox.
            arguments.push("--no-sandbox".to_owned());
        }
        let mut options = json!({ "args": arguments });
        if Path::new("/usr/bin/chromium").exists() {
            options["binary"] = json!("/usr/bin/chromium");
        }
        let capabilities = json!({
            "goog:chromeOptions": options,
            "goog:loggingPrefs": { "browser": "ALL" },
        });
        let Value::Object(capabilities) = capabilities else { unreachable!("written above") };
        let begun = Instant::now();
        let client = loop {
            let mut builder = ClientBuilder::new(http_connector());
            match builder.capabilities(capabilities.clone()).connect(&self.address).await {
                Ok(client) => break client,
                Err(error) if begun.elapsed() > PATIENCE => panic!("no browser: {error}"),
                Err(_) => tokio::time::sleep(Duration::from_millis(100)).await,
            }
        };
        let times = TimeoutConfiguration::new(Some(PATIENCE), Some(PATIENCE), None);
        client.update_timeouts(times).await.expect("times are set");
        client
    }
}

fn http_connector() -> hyper_util::client::legacy::connect::HttpConnector {
    hyper_util::client::legacy::connect::HttpConnector::new()
}

fn is_root() -> bool {
    fs::metadata("/proc/self").is_ok_and(|process| process.uid() == 0)
}

/// A browser for the time of a test.
pub(crate) async fn with_browser<T>(work: impl AsyncFnOnce(Client) -> T) -> T {
    let _turn = TURNS.acquire().await.expect("turns are never closed");
    let free = FREE.lock().unwrap_or_else(PoisonError::into_inner).pop_front();
    let client = match free {
        Some(client) => client,
        None => DRIVER.session().await,
    };
    // A test that fails drops its browser; only a browser of a good test is used again.
    let result = work(client.clone()).await;
    client.delete_all_cookies().await.expect("cookies are deleted");
    FREE.lock().unwrap_or_else(PoisonError::into_inner).push_back(client);
    result
}
