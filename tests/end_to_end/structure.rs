//! The rules that the structure keeps: who knows whom, who may open files, and what a check is made of.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::program::{project, text_of};

/// Each crate with those of ours that it may know when it runs.
pub(super) const FLOORS: &[(&str, &[&str])] = &[
    ("spec/physics", &[]),
    ("spec/source", &[]),
    ("spec/language", &["physics", "source"]),
    // The source crate gives the unit nothing but ids of nodes and problems.
    ("spec/unit", &["language", "physics", "source"]),
    ("checks", &["physics", "unit"]),
    (".", &["checks", "language", "source", "unit"]),
];

const LONGEST_FILE: usize = 500;

/// Rust files below a folder.
pub(super) fn sources(folder: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut open = vec![project().join(folder)];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).unwrap_or_else(|why| panic!("{}: {why}", folder.display())) {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                files.push(path);
            }
        }
    }
    files.sort();
    assert!(!files.is_empty(), "{folder} has no sources");
    files
}

pub(super) fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|why| panic!("{}: {why}", path.display()))
}

/// A file without what is compiled for tests alone, which may do what the program may not.
pub(super) fn without_tests(text: &str) -> String {
    let mut kept = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if line.trim() != "#[cfg(test)]" {
            kept.extend([line, "\n"]);
            continue;
        }
        let margin = line.len() - line.trim_start().len();
        let at_margin = |line: &str| line.len() - line.trim_start().len() == margin;
        // The item ends with a brace of its own, or on its only line.
        lines.by_ref().find(|line| at_margin(line) && (line.trim() == "}" || line.ends_with(';')));
    }
    kept
}

/// Whether a file is compiled for tests alone: the module that holds it says so.
pub(super) fn is_for_tests(path: &Path) -> bool {
    let (Some(folder), Some(name)) = (path.parent(), path.file_stem().and_then(|name| name.to_str())) else {
        return false;
    };
    let says_so = |text: String| text.contains(&format!("#[cfg(test)]\nmod {name};"));
    let holders = ["mod.rs", "lib.rs"].map(|holder| folder.join(holder));
    let beside = folder.with_extension("rs");
    name.ends_with("_tests")
        || holders.iter().chain([&beside]).filter_map(|holder| fs::read_to_string(holder).ok()).any(says_so)
}

#[test]
fn every_crate_knows_only_the_floors_below() {
    for (folder, allowed) in FLOORS {
        let manifest = text_of(&format!("{folder}/Cargo.toml"));
        let section = manifest.split("\n[dependencies]\n").nth(1).unwrap_or_default();
        let section = section.split("\n[").next().unwrap_or_default();
        let known = section.lines().filter_map(|line| line.strip_prefix("loadworthy-"));
        let known = known.filter_map(|rest| rest.split(['.', ' ', '=']).next()).collect::<BTreeSet<_>>();
        assert!(known.iter().all(|name| allowed.contains(name)), "{folder} depends on {known:?}");
        let code = if *folder == "." { "cli".to_owned() } else { format!("{folder}/src") };
        for path in sources(&code) {
            let text = read(&path);
            for name in ["physics", "source", "language", "unit", "checks"] {
                let word = format!("loadworthy_{name}");
                let own = folder.ends_with(name);
                let uses = without_tests(&text).contains(&word);
                assert!(!uses || own || allowed.contains(&name), "{} uses {word}", path.display());
            }
        }
    }
}

#[test]
fn only_the_program_opens_files_prints_or_reads_a_clock() {
    let forbidden = [
        "std::fs",
        "std::io",
        "std::net",
        "std::process",
        "std::env",
        "std::time",
        "println!",
        "eprintln!",
        "print!(",
    ];
    for (folder, _) in FLOORS.iter().filter(|(folder, _)| *folder != ".") {
        for path in sources(&format!("{folder}/src")) {
            let text = read(&path);
            // The language's own crate may write its schema where its tests ask for it, not where it runs.
            for word in forbidden {
                let text = without_tests(&text);
                let line = text.lines().find(|line| line.contains(word) && !line.trim().starts_with("//"));
                assert!(line.is_none(), "{}: {word}: {line:?}", path.display());
            }
        }
    }
    for path in sources("cli") {
        let text = read(&path);
        let opens = path.file_name().is_some_and(|name| name == "files.rs");
        for word in ["std::fs", "File::open"] {
            assert!(opens || !without_tests(&text).contains(word), "{} opens files", path.display());
        }
        for word in ["println!", "eprintln!", "print!(", "std::time"] {
            assert!(!without_tests(&text).contains(word), "{}: {word}", path.display());
        }
    }
}

#[test]
fn nothing_gives_up_on_what_it_meets() {
    for (folder, _) in FLOORS {
        let code = if *folder == "." { "cli".to_owned() } else { format!("{folder}/src") };
        for path in sources(&code).into_iter().filter(|path| !is_for_tests(path)) {
            let text = without_tests(&read(&path));
            // What is asserted of constants is asserted when it is compiled.
            let is_code = |line: &&str| !line.trim().starts_with("//") && !line.starts_with("const _");
            let code = text.lines().filter(is_code).collect::<Vec<_>>().join("\n");
            for word in [".unwrap()", ".expect(", "panic!(", "unreachable!(", "assert!("] {
                assert!(!code.contains(word), "{}: {word}", path.display());
            }
        }
    }
}

#[test]
fn files_are_short_and_say_what_they_are() {
    for folder in ["cli", "checks/src", "spec", "tests/end_to_end"] {
        for path in sources(folder) {
            let text = read(&path);
            let lines = text.lines().count();
            assert!(lines <= LONGEST_FILE, "{} has {lines} lines", path.display());
            let name = path.file_stem().and_then(|name| name.to_str()).unwrap_or_default();
            assert!(
                !["util", "utils", "misc", "common", "helpers", "helper"].contains(&name),
                "{}",
                path.display()
            );
            let is_tests = name.ends_with("_tests");
            assert!(text.starts_with("//!") || is_tests, "{} does not say what it is for", path.display());
        }
    }
}

#[test]
fn nothing_is_left_for_later() {
    for folder in ["cli", "checks/src", "spec"] {
        for path in sources(folder) {
            let text = read(&path);
            for word in ["todo!(", "unimplemented!(", "#[ignore", "dbg!("] {
                assert!(!text.contains(word), "{}: {word}", path.display());
            }
        }
    }
}

#[test]
fn a_check_is_whole_and_listed() {
    let list = text_of("checks/src/list.rs");
    let mut checks = Vec::new();
    for entry in fs::read_dir(project().join("checks/src")).expect("the folder") {
        let path = entry.expect("an entry").path();
        let is_check = path.join("page.md").exists();
        if is_check {
            let name = path.file_name().and_then(|name| name.to_str()).expect("UTF-8").to_owned();
            for file in ["mod.rs", "page.md", "fails.yaml", "holds.yaml", "says.snap"] {
                assert!(path.join(file).is_file(), "{name} lacks {file}");
            }
            assert!(list.contains(&format!("&crate::{name}::")), "{name} is not listed");
            checks.push(name.replace('_', "-"));
        }
    }
    checks.sort();
    let listed = loadworthy_checks::list::CHECKS.iter().map(|check| check.about().name).collect::<Vec<_>>();
    assert_eq!(listed, checks);
}

/// The checks that ask others, so that one cause is told once: what the others find, they leave to them, or tell along. What several
/// hold figures against stands beside them all.
const ASKS: &[(&str, &[&str])] = &[
    ("barrier_crossing", &["control_cover", "floating_supplies"]),
    ("barrier_distance", &["barrier_crossing", "turn_off_overshoot"]),
    ("bootstrap_refresh", &["floating_supplies"]),
    ("conductor_loading", &["link_ripple"]),
    ("control_cover", &["barrier_crossing"]),
    ("coolant_order", &["coolant_purging"]),
    ("coolant_state", &["junction_temperature"]),
    ("dead_time", &["output_reach"]),
    ("floating_supplies", &["barrier_crossing"]),
    ("fuse_coordination", &["stored_energy"]),
    ("gate_drive_power", &["bootstrap_refresh", "dead_time", "parallel_sharing", "short_circuit_response"]),
    ("junction_temperature", &["output_reach"]),
    ("output_reach", &["dead_time"]),
    ("unused_parts", &["fuse_coordination", "power_balance", "stored_energy"]),
    ("voltage_headroom", &["short_circuit_response"]),
];

#[test]
fn a_check_asks_no_other_but_for_what_it_leaves_to_it() {
    let all: BTreeSet<String> =
        loadworthy_checks::list::CHECKS.iter().map(|check| check.about().name.replace('-', "_")).collect();
    for own in &all {
        let text: String = sources(&format!("checks/src/{own}")).iter().map(|path| read(path)).collect();
        let words = text.split(|one: char| !one.is_ascii_alphanumeric() && one != '_' && one != ':');
        let mut asks: BTreeSet<&str> =
            words.filter_map(|word| word.strip_prefix("crate::")?.split("::").next()).collect();
        let several = text.split("use crate::{").skip(1).filter_map(|rest| rest.split('}').next());
        asks.extend(
            several.flat_map(|names| names.split(',')).filter_map(|name| name.trim().split("::").next()),
        );
        asks.retain(|name| name != own && all.contains(*name));
        let may = ASKS.iter().find(|(name, _)| name == own).map_or(&[] as &[&str], |(_, may)| may);
        assert_eq!(asks.into_iter().collect::<Vec<_>>(), may, "what `{own}` asks");
    }
}

#[test]
fn the_examples_of_a_check_differ_in_few_lines() {
    for check in loadworthy_checks::list::CHECKS {
        let about = check.about();
        let (fails, holds) =
            (about.fails.lines().collect::<Vec<_>>(), about.holds.lines().collect::<Vec<_>>());
        let only = |one: &[&str], other: &[&str]| one.iter().filter(|line| !other.contains(line)).count();
        let differ = only(&fails, &holds).max(only(&holds, &fails));
        assert!((1..=5).contains(&differ), "{} differs in {differ} lines", about.name);
    }
}
