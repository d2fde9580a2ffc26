//! No formula without a use: what the program does not reckon with, nobody keeps true.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::structure::{FLOORS, is_for_tests, read, sources, without_tests};

/// The code that the program is made of, without comments and without what is compiled for tests alone.
fn production() -> Vec<(PathBuf, String)> {
    let folders = FLOORS.iter().map(|(folder, _)| match *folder {
        "." => "cli".to_owned(),
        folder => format!("{folder}/src"),
    });
    let files = folders.flat_map(|folder| sources(&folder)).filter(|path| !is_for_tests(path));
    files.map(|path| (path.clone(), code(&without_tests(&read(&path))))).collect()
}

fn code(text: &str) -> String {
    let lines = text.lines().map(|line| line.split("//").next().unwrap_or_default());
    lines.collect::<Vec<_>>().join("\n")
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|letter: char| !letter.is_alphanumeric() && letter != '_').filter(|word| !word.is_empty())
}

fn is_of_physics(path: &Path) -> bool {
    path.components().any(|part| part.as_os_str() == "physics")
}

/// Whether code names an item by its module: `module::NAME`, or `module::{…, NAME, …}`.
fn names(code: &str, module: &str, name: &str) -> bool {
    let path = format!("{module}::");
    code.match_indices(&path).any(|(at, _)| {
        let begins =
            code[..at].chars().next_back().is_none_or(|letter| !letter.is_alphanumeric() && letter != '_');
        let rest = &code[at + path.len()..];
        let listed = match rest.strip_prefix('{') {
            Some(list) => list.split('}').next().unwrap_or_default(),
            None => rest
                .split(|letter: char| !letter.is_alphanumeric() && letter != '_')
                .next()
                .unwrap_or_default(),
        };
        begins && words(listed).any(|word| word == name)
    })
}

#[test]
fn every_law_stands_beside_a_figure() {
    let all = production();
    let mut unread = Vec::new();
    for (path, text) in all.iter().filter(|(path, _)| is_of_physics(path)) {
        let laws = text
            .lines()
            .filter_map(|line| line.strip_prefix("pub static ")?.split_once(": Law ="))
            .map(|(name, _)| name);
        let module = path.file_stem().and_then(|stem| stem.to_str()).expect("a name");
        for name in laws {
            if !all.iter().any(|(other, code)| other != path && names(code, module, name)) {
                unread.push(format!("{}: {name}", path.display()));
            }
        }
    }
    // Nobody meets them: what they say belongs into the words of their function.
    assert!(unread.is_empty(), "{unread:#?}");
}

#[test]
fn every_formula_is_reckoned_with() {
    let all = production();
    let mut used: BTreeSet<&str> = BTreeSet::new();
    let mut made: BTreeMap<&str, &Path> = BTreeMap::new();
    for (path, text) in &all {
        let mut before = "";
        for word in words(text) {
            if before != "fn" {
                used.insert(word);
            }
            before = word;
        }
        let public = text.lines().filter_map(|line| {
            let line = line.trim().strip_prefix("pub ")?;
            words(line.strip_prefix("const ").unwrap_or(line).strip_prefix("fn ")?).next()
        });
        if is_of_physics(path) {
            made.extend(public.map(|name| (name, path.as_path())));
        }
    }
    // Those with a case of reference data are held against it by the files of topics.
    let topics = sources("spec/physics/tests").into_iter().filter(|path| {
        path.file_stem().and_then(|stem| stem.to_str()).is_some_and(|stem| stem.ends_with("_topics"))
    });
    let topics: Vec<String> = topics.map(|path| code(&read(&path))).collect();
    let is_held = |name: &str| topics.iter().any(|text| words(text).any(|word| word == name));
    let left: Vec<_> = made.iter().filter(|(name, _)| !used.contains(**name) && !is_held(name)).collect();
    assert!(left.is_empty(), "{left:#?}");
}
