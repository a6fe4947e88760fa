//! Help, completions, manual pages.

use crate::program::Folder;

/// The commands for coaches; those for whoever trains the reader are not held to examples.
const COMMANDS: [&str; 5] = ["read", "captions", "ask", "completions", "man"];

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
fn every_command_has_examples_and_a_manual_page() {
    let folder = Folder::new();
    for command in COMMANDS {
        let help = folder.run(&[command, "--help"]).good();
        assert!(help.contains("Example"), "{command}");
        let page = folder.run(&["man", command]).good();
        assert!(page.contains(&format!(".TH grapevine-{command} 1")), "{page}");
        assert!(page.contains("Example"), "{command}");
    }
    assert!(folder.run(&["man"]).good().contains(".TH grapevine 1"));
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
