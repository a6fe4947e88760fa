//! The house rules, as far as a program can check them. `CONTRIBUTING.md` words them for people.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use crate::program::root;

/// Which crate of ours may use which. A new arrow is a decision about the architecture.
const ARROWS: [(&str, &[&str]); 9] = [
    ("academy", &[]),
    ("talk", &["academy"]),
    ("decode", &["academy", "talk"]),
    ("figures", &["academy"]),
    ("reports", &["academy", "talk", "figures"]),
    ("review", &["academy", "talk", "decode", "reports"]),
    ("store", &["academy"]),
    ("server", &["academy", "talk", "decode", "figures", "reports", "review", "store"]),
    (
        "grapevine",
        &["academy", "talk", "decode", "figures", "reports", "review", "store", "server"],
    ),
];

/// The outside world has no place in the engine, not even through a dependency.
const NOT_IN_ENGINE: [&str; 10] = [
    "tokio",
    "async-std",
    "sqlx",
    "rusqlite",
    "axum",
    "hyper",
    "reqwest",
    "ureq",
    "tempfile",
    "rand",
];

/// Files may have about this many lines.
const MOST_LINES: usize = 450;

/// Flat tables may be longer.
const FLAT_TABLES: [&str; 0] = [];

/// Names that let anything in.
const BAGS: [&str; 9] =
    ["utils", "util", "helpers", "helper", "misc", "manager", "common", "shared", "stuff"];

/// The crates' folders.
fn crates() -> Vec<PathBuf> {
    let mut folders = Vec::new();
    for side in ["engine", "app"] {
        for entry in fs::read_dir(root().join(side)).expect("engine and app are folders") {
            let path = entry.expect("an entry").path();
            if path.join("Cargo.toml").exists() {
                folders.push(path);
            }
        }
    }
    folders.sort();
    folders
}

fn name(path: &Path) -> String {
    path.file_stem().expect("a file has a name").to_string_lossy().into_owned()
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn toml(path: &Path) -> toml::Table {
    read(path).parse().unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Every file below a folder, sorted.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let Ok(entries) = fs::read_dir(folder) else { return found };
    for entry in entries {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    files(folder).into_iter().filter(|path| path.extension().is_some_and(|e| e == "rs")).collect()
}

#[test]
fn crates_use_only_the_crates_they_may() {
    let known: BTreeMap<&str, &[&str]> = ARROWS.into();
    for folder in crates() {
        let own = name(&folder);
        let allowed = known.get(own.as_str()).unwrap_or_else(|| panic!("{own} has no arrows yet"));
        let manifest = toml(&folder.join("Cargo.toml"));
        for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
            let Some(dependencies) = manifest.get(kind).and_then(toml::Value::as_table) else {
                continue;
            };
            for used in dependencies.keys().filter(|used| known.contains_key(used.as_str())) {
                assert!(allowed.contains(&used.as_str()), "{own} must not use {used}");
            }
        }
    }
}

#[test]
fn the_engine_stays_away_from_the_world() {
    // The lock file tells what each package uses.
    let lock = toml(&root().join("Cargo.lock"));
    let mut uses: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for package in lock["package"].as_array().expect("packages") {
        let name = package["name"].as_str().expect("a name").to_owned();
        let dependencies = package.get("dependencies").and_then(toml::Value::as_array);
        let names = dependencies.into_iter().flatten().filter_map(toml::Value::as_str);
        let names = names.filter_map(|text| text.split(' ').next()).map(str::to_owned);
        uses.entry(name).or_default().extend(names);
    }
    // Of our own crates only what they need to run: the lock file does not tell that apart.
    let needed = |folder: &PathBuf| -> Vec<String> {
        let manifest = toml(&folder.join("Cargo.toml"));
        let direct = manifest.get("dependencies").and_then(toml::Value::as_table);
        direct.into_iter().flat_map(|table| table.keys().cloned()).collect()
    };
    for folder in crates() {
        uses.insert(name(&folder), needed(&folder));
    }
    for folder in crates().iter().filter(|folder| folder.starts_with(root().join("engine"))) {
        let mut open = needed(folder);
        let mut reached = BTreeSet::new();
        while let Some(package) = open.pop() {
            if reached.insert(package.clone()) {
                open.extend(uses.get(&package).into_iter().flatten().cloned());
            }
        }
        for banned in NOT_IN_ENGINE {
            assert!(!reached.contains(banned), "{} pulls in {banned}", name(folder));
        }
    }
}

#[test]
fn crates_follow_the_workspace() {
    for folder in crates() {
        let own = name(&folder);
        let manifest = toml(&folder.join("Cargo.toml"));
        assert_eq!(manifest["lints"]["workspace"].as_bool(), Some(true), "{own}");
        assert_eq!(manifest["package"]["autotests"].as_bool(), Some(false), "{own}");
        // A nearer clippy.toml would hide the one that keeps the engine from the world.
        assert!(!folder.join("clippy.toml").exists(), "{own} has a clippy.toml of its own");
    }
    assert!(root().join("engine/clippy.toml").exists());
}

#[test]
fn no_file_is_forgotten() {
    for folder in crates() {
        // One test binary; everything in tests/ belongs to it.
        let tests = rust_files(&folder.join("tests"));
        if !tests.is_empty() {
            let manifest = read(&folder.join("Cargo.toml"));
            assert!(manifest.contains("path = \"tests/main.rs\""), "{}", folder.display());
        }
        for path in tests.into_iter().chain(rust_files(&folder.join("src"))) {
            if ["main", "lib"].contains(&name(&path).as_str()) {
                continue;
            }
            let parents = parents(&path);
            let own = if name(&path) == "mod" { folder_name(&path) } else { name(&path) };
            let declared = parents.iter().filter(|parent| parent.exists()).any(|parent| {
                read(parent).lines().any(|line| {
                    line.trim_start_matches("pub ")
                        .trim_start_matches("pub(crate) ")
                        .trim_start_matches("pub(super) ")
                        == format!("mod {own};")
                })
            });
            assert!(declared, "{} is not a module of any file", path.display());
        }
    }
}

fn folder_name(path: &Path) -> String {
    name(path.parent().expect("a file lies in a folder"))
}

/// The files that could declare a module.
fn parents(path: &Path) -> Vec<PathBuf> {
    let folder = path.parent().expect("a file lies in a folder");
    let folder =
        if name(path) == "mod" { folder.parent().expect("not at the root") } else { folder };
    ["lib.rs", "main.rs", "mod.rs"]
        .map(|file| folder.join(file))
        .into_iter()
        .chain([folder.with_extension("rs")])
        .collect()
}

#[test]
fn files_are_short_have_a_purpose_and_a_name() {
    for path in crates().iter().flat_map(|folder| rust_files(folder)) {
        let text = read(&path);
        let lines = text.lines().count();
        let shown = path.display();
        let table = FLAT_TABLES.iter().any(|table| path.ends_with(table));
        assert!(lines <= MOST_LINES || table, "{shown} has {lines} lines");
        let first = text.lines().find(|line| !line.is_empty() && !line.starts_with("#!["));
        assert!(
            first.is_some_and(|line| line.starts_with("//!")),
            "{shown} does not say what it is for"
        );
        assert!(!BAGS.contains(&name(&path).as_str()), "{shown}: the name lets anything in");
        assert!(
            !BAGS.contains(&folder_name(&path).as_str()),
            "{shown}: the folder's name lets anything in"
        );
    }
}

#[test]
fn snapshots_belong_to_a_test_and_are_looked_at() {
    for path in crates().iter().flat_map(|folder| files(folder)) {
        assert!(!path.to_string_lossy().ends_with(".snap.new"), "{}: look at it", path.display());
        if path.extension().is_some_and(|extension| extension == "snap") {
            let text = read(&path);
            let source = text.lines().find_map(|line| line.strip_prefix("source: "));
            let source = root().join(source.expect("a snapshot names its source"));
            let test = name(&path).rsplit("__").next().unwrap_or_default().to_owned();
            let known = source.exists() && read(&source).contains(&format!("fn {test}()"));
            assert!(known, "{}: its test is gone", path.display());
        }
    }
}

#[test]
fn the_gate_is_one_command() {
    assert!(read(&root().join(".ci/run")).contains("make test"));
    let makefile = read(&root().join("Makefile"));
    for check in [
        "fmt --all --check",
        "clippy --workspace --all-targets",
        "-D warnings",
        "doc --workspace",
        "test --workspace",
    ] {
        assert!(makefile.contains(check), "{check}");
    }
}
