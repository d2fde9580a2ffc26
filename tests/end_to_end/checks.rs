//! The pages of the checks, and what each check says of its own examples.

use std::collections::BTreeMap;
use std::fs;

use loadworthy_checks::list::{CHECKS, PASSES};

use super::program::{Folder, assert_shown, project, run, run_in};

#[test]
fn the_list_of_checks() {
    let ran = run(&["checks"]);
    assert_eq!(ran.code, Some(0));
    assert_shown!("checks", ran.out);
}

#[test]
fn each_page_shows_what_fails_and_what_holds() {
    for check in CHECKS {
        let about = check.about();
        let ran = run(&["checks", about.name]);
        assert_eq!(ran.code, Some(0), "{}", about.name);
        for part in [about.page.trim(), about.fails.trim(), about.holds.trim()] {
            assert!(ran.out.contains(part), "{} lacks {part}", about.name);
        }
    }
}

#[test]
fn an_unknown_check_is_told_with_a_near_one() {
    let ran = run(&["checks", "junction-temprature"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    assert!(ran.err.contains("is it `junction-temperature`?"), "{}", ran.err);
}

#[test]
fn what_a_check_says_of_its_examples() {
    let folder = Folder::new();
    for check in CHECKS {
        let about = check.about();
        folder.put("fails.yaml", about.fails);
        folder.put("holds.yaml", about.holds);
        let fails = run_in(&folder, &["review", "fails.yaml", "--grade", "note"]);
        assert_eq!(fails.code, Some(1), "{}: {}", about.name, fails.out);
        // It lies in the folder of the check, beside what it is about.
        let own = format!("../../checks/src/{}", about.name.replace('-', "_"));
        assert_shown!(own, "says", fails.out);
        let holds = run_in(&folder, &["review", "holds.yaml", "--grade", "note"]);
        assert_eq!(holds.code, Some(0), "{}: {}", about.name, holds.out);
    }
}

/// `LOADWORTHY_ACCEPT=1` writes them anew.
#[test]
fn the_pages_in_the_repository_are_those_of_the_program() {
    let folder = project().join("checks/pages");
    let mut pages = BTreeMap::from([("index".to_owned(), run(&["checks", "--format=markdown"]).out)]);
    let names = CHECKS.iter().map(|check| check.about().name).chain(PASSES.iter().map(|pass| pass.name));
    pages.extend(names.map(|name| (name.to_owned(), run(&["checks", name]).out)));
    if std::env::var_os("LOADWORTHY_ACCEPT").is_some() {
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).expect("a folder");
        for (name, text) in &pages {
            fs::write(folder.join(format!("{name}.md")), text).expect("it can be written");
        }
    }
    let mut there = BTreeMap::new();
    for entry in fs::read_dir(&folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().and_then(|name| name.to_str()).expect("UTF-8").to_owned();
        there.insert(name, fs::read_to_string(&path).expect("a page"));
    }
    let differ = pages.keys().chain(there.keys()).filter(|name| pages.get(*name) != there.get(*name));
    let differ = differ.collect::<Vec<_>>();
    assert!(differ.is_empty(), "checks/pages is out of step in {differ:?}: run with LOADWORTHY_ACCEPT=1");
}

#[test]
fn the_index_names_every_defect_and_policy_item() {
    let index = run(&["checks", "--format=markdown"]).out;
    for check in CHECKS {
        let about = check.about();
        let (_, own) = index.split_once(&format!("\n## [{0}]({0}.md)\n", about.name)).expect("its section");
        let own = own.split("\n## ").next().unwrap_or_default();
        assert!(own.contains(about.question), "{}", about.name);
        let items = about.policy.iter().map(|item| item.name);
        for word in about.defects.iter().map(|(defect, _)| *defect).chain(items) {
            assert!(own.contains(&format!("| `{word}` | ")), "{}: {word}", about.name);
        }
    }
}
