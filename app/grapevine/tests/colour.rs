//! Colour, and pipes.

use std::process::Stdio;

use crate::program::{DEMO, Folder};

fn coloured(settings: &[(&str, &str)]) -> bool {
    let folder = Folder::with_demo();
    let mut command = folder.command();
    command.arg("read").args(DEMO).envs(settings.iter().copied());
    command.output().expect("the program runs").stdout.contains(&b'\x1b')
}

#[test]
fn colour_is_for_terminals_and_for_those_who_ask() {
    assert!(!coloured(&[]), "a pipe is no terminal");
    assert!(coloured(&[("CLICOLOR_FORCE", "1")]));
    assert!(!coloured(&[("CLICOLOR", "0")]));
    assert!(!coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
}

#[test]
fn a_reader_who_has_seen_enough_is_no_failure() {
    let folder = Folder::with_demo();
    let mut child = folder
        .command()
        .arg("read")
        .args(DEMO)
        .args(["--out", "html"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
}
