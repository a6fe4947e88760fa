//! The program in a folder of its own.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use tempfile::TempDir;

/// The root of the repository.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The talk of the demo round.
pub(crate) fn demo_talk() -> String {
    let path = root().join("samples/demo/round.vtt");
    std::fs::read_to_string(path).expect("the demo is part of the repository")
}

/// The talk of one of the sample rounds.
pub(crate) fn sample_talk(name: &str) -> String {
    let path = root().join("samples/rounds").join(name);
    std::fs::read_to_string(path).expect("the sample rounds are part of the repository")
}

/// The arguments that go with it.
pub(crate) const DEMO: [&str; 6] =
    ["round.vtt", "--between", "Maren:she", "Joaquim:he", "--length", "3:40"];

/// A folder that goes away with its test.
pub(crate) struct Folder(TempDir);

/// How a run ended.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) status: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Folder {
    pub(crate) fn new() -> Self {
        Folder(TempDir::new().expect("a temporary folder can be made"))
    }

    /// A folder that holds the demo's talk as `round.vtt`.
    pub(crate) fn with_demo() -> Self {
        let folder = Folder::new();
        folder.put("round.vtt", demo_talk());
        folder
    }

    pub(crate) fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), content).expect("the folder can be written to");
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub(crate) fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.0.path()).expect("the folder can be listed");
        let name = |entry: std::io::Result<std::fs::DirEntry>| {
            entry.expect("an entry").file_name().to_string_lossy().into_owned()
        };
        let mut names: Vec<String> = entries.map(name).collect();
        names.sort();
        names
    }

    /// The program with nothing of the surroundings that could change what it shows.
    pub(crate) fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_grapevine"));
        command.current_dir(self.0.path());
        for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS", "CI"] {
            command.env_remove(name);
        }
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        self.run_with(arguments, "")
    }

    pub(crate) fn run_with(&self, arguments: &[&str], input: impl AsRef<[u8]>) -> Ran {
        let mut child = self
            .command()
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut stdin = child.stdin.take().expect("standard input is piped");
        // A program that reads nothing may be gone already.
        let _ = stdin.write_all(input.as_ref());
        drop(stdin);
        let output = child.wait_with_output().expect("the program ends");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("what it writes is UTF-8");
        Ran { status: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }

    /// Runs a command on the demo, with more arguments.
    pub(crate) fn demo(&self, command: &str, more: &[&str]) -> Ran {
        self.run(&[&[command], &DEMO[..], more].concat())
    }
}

impl Ran {
    /// What it wrote; it must have ended well and quietly.
    pub(crate) fn good(self) -> String {
        assert_eq!((self.status, self.err.as_str()), (Some(0), ""), "{}", self.out);
        self.out
    }
}
