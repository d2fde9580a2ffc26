//! The description to start from is a description, and names everything that the language has.

use serde_json::Value;

use super::program::{Folder, assert_shown, run, run_in};

const MORE: [&str; 4] = ["surroundings", "variants", "permits", "missions"];

#[test]
fn the_outline() {
    let ran = run(&["outline"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    assert_shown!("outline", ran.out);
    let widest = ran.out.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    assert!(widest <= 110, "{widest}");
}

#[test]
fn it_names_every_section_in_the_order_of_the_schema() {
    let schema: Value = serde_json::from_str(&run(&["schema"]).out).expect("JSON");
    let sections = schema["properties"].as_object().expect("the sections");
    for arguments in
        [&["outline"][..], &["outline", "--with", "surroundings", "variants", "permits", "missions"]]
    {
        let outline = run(arguments).out;
        let place = |name: &String| {
            let begins = |line: &str| line.trim_start_matches("# ").starts_with(&format!("{name}:"));
            let top = |line: &&str| !line.starts_with(' ') && !line.starts_with("#  ");
            outline.lines().filter(top).position(begins).unwrap_or_else(|| panic!("{name} is not named"))
        };
        let places = sections.keys().map(place).collect::<Vec<_>>();
        assert!(places.is_sorted(), "{places:?}");
    }
}

#[test]
fn it_is_reviewed_with_and_without_what_may_be_asked_for() {
    let folder = Folder::new();
    for more in [&[][..], &MORE[..1], &MORE[1..2], &MORE[2..], &MORE[..]] {
        let with = if more.is_empty() { &[][..] } else { &["--with"] };
        let ran = run(&[&["outline"], with, more].concat());
        for section in more {
            assert!(ran.out.contains(&format!("\n{section}:\n")), "{section}: {}", ran.out);
        }
        folder.put("outline.yaml", &ran.out);
        // Its permit shows how one is written, and accepts nothing, which is a minor finding.
        let grade = if more.contains(&"permits") { "major" } else { "note" };
        let ran = run_in(&folder, &["review", "outline.yaml", "--grade", grade]);
        // Nothing fails; what it leaves out is not judged.
        assert!(ran.out.contains(" 0 fail"), "{more:?}: {}", ran.out);
        assert!(matches!(ran.code, Some(0 | 3)), "{more:?}: {}", ran.out);
        assert_eq!(run_in(&folder, &["resolve", "outline.yaml"]).code, Some(0));
    }
}

#[test]
fn a_section_that_cannot_be_written_is_told() {
    let ran = run(&["outline", "--with", "permitz"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    assert_eq!(ran.err, "loadworthy: there is no section to write `permitz`; is it `permits`?\n");
}
