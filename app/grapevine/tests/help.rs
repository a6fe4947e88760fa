//! Help, completions, manual pages.

use crate::program::Folder;

/// The commands for coaches, and those for people who work on the program.
const COMMANDS: [&str; 12] = [
    "read",
    "ask",
    "captions",
    "serve",
    "backup",
    "restore",
    "check",
    "figures",
    "report",
    "export",
    "completions",
    "man",
];
const FOR_WORK: [&str; 3] = ["evaluate", "learn", "prepare"];

#[test]
fn help_of_the_program() {
    insta::assert_snapshot!(Folder::new().run(&["--help"]).good());
}

#[test]
fn help_of_read() {
    insta::assert_snapshot!(Folder::new().run(&["read", "--help"]).good());
}

#[test]
fn help_of_captions() {
    insta::assert_snapshot!(Folder::new().run(&["captions", "--help"]).good());
}

#[test]
fn help_of_ask() {
    insta::assert_snapshot!(Folder::new().run(&["ask", "--help"]).good());
}

#[test]
fn help_of_what_keeps_the_book() {
    let help = |command| Folder::new().run(&[command, "--help"]).good();
    insta::assert_snapshot!(["backup", "restore", "check"].map(help).join("\n----\n\n"));
}

#[test]
fn help_of_what_adds_up() {
    let help = |command| Folder::new().run(&[command, "--help"]).good();
    insta::assert_snapshot!(["figures", "report", "export"].map(help).join("\n----\n\n"));
}

#[test]
fn every_command_has_examples_and_a_manual_page() {
    let folder = Folder::new();
    for command in COMMANDS.into_iter().chain(FOR_WORK) {
        let help = folder.run(&[command, "--help"]).good();
        assert!(help.contains("Example"), "{command}");
        let page = folder.run(&["man", command]).good();
        assert!(page.contains(&format!(".TH grapevine-{command} 1")), "{page}");
        assert!(page.contains("Example"), "{command}");
    }
    assert!(folder.run(&["man"]).good().contains(".TH grapevine 1"));
}

#[test]
fn commands_for_coaches_come_first_and_others_are_for_the_long_help() {
    let folder = Folder::new();
    let (short, long) = (folder.run(&["-h"]).good(), folder.run(&["--help"]).good());
    let place = |help: &str, command: &str| help.find(&format!("\n  {command} "));
    for help in [&short, &long] {
        let places: Vec<_> = COMMANDS.iter().map(|command| place(help, command)).collect();
        assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{help}");
    }
    let heading = long.find("For those who work on grapevine:").unwrap();
    for command in FOR_WORK {
        assert!(place(&short, command).is_none(), "{short}");
        assert!(place(&long, command).unwrap() > heading, "{long}");
    }
}

#[test]
fn every_shell_gets_completions() {
    let folder = Folder::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = folder.run(&["completions", shell]).good();
        for word in ["captions", "between", "completions"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
    }
}

#[test]
fn alone_it_shows_its_help_and_fails() {
    let ran = Folder::new().run(&[]);
    assert_eq!(ran.status, Some(2));
    assert!(ran.err.contains("Usage: grapevine <COMMAND>"), "{}", ran.err);
}
