//! Broken descriptions, each with what is said about it.

use std::fs;

use super::program::{Folder, assert_shown, project, run, run_in, template, text_of};

const FOLDER: &str = "tests/end_to_end/broken";

#[test]
fn what_is_said_of_broken_descriptions() {
    let folder = fs::read_dir(project().join(FOLDER)).expect("the folder");
    let mut names = folder
        .map(|entry| entry.expect("an entry").file_name().into_string().expect("UTF-8"))
        .collect::<Vec<_>>();
    names.sort();
    assert!(names.len() >= 20, "{names:?}");
    for name in names {
        let path = format!("{FOLDER}/{name}");
        let ran = run(&["review", &path]);
        assert_eq!((ran.code, ran.err.as_str()), (Some(2), ""), "{path}");
        // Only what is wrong: what can be judged all the same is another test's matter.
        let problems = ran
            .out
            .split("\n\n")
            .filter(|block| block.starts_with("problem"))
            .collect::<Vec<_>>()
            .join("\n\n");
        assert!(problems.contains(&format!("[{path}:")), "{path} has a place: {problems}");
        assert_shown!(format!("broken-{}", name.trim_end_matches(".yaml")), problems);
    }
}

#[test]
fn what_is_not_broken_is_judged_all_the_same() {
    let folder = Folder::new();
    folder.put("unit.yaml", template("x", "60") + "policy:\n  junctions: { keep: 20 K }\n");
    let ran = run_in(&folder, &["review", "unit.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("1 problem   43 hold   1 fail   4 not judged"), "{}", ran.out);
}

#[test]
fn figures_of_a_broken_description_do_not_pass_for_whole() {
    let path = format!("{FOLDER}/policy-unknown.yaml");
    let ran = run(&["derive", &path, "lift_bridge.modulation_index"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.starts_with("lift_bridge.modulation_index = "), "{}", ran.out);
    assert!(ran.err.starts_with(&format!("{path}:")) && ran.err.contains("1 problem"), "{}", ran.err);
}

/// What feeds the gates of a stage that cannot be read may well pass a barrier: nobody is told that it does not.
#[test]
fn a_stage_that_cannot_be_read_makes_no_finding_elsewhere() {
    let folder = Folder::new();
    let shuttle = text_of("examples/harbour-shuttle.yaml");
    folder.put("unit.yaml", shuttle.replacen("fitted: sic1200_6m,", "fitted: sic1200_6mx,", 1));
    for part in ["semiconductors.yaml", "capacitors.yaml"] {
        folder.put(&format!("parts/{part}"), text_of(&format!("examples/parts/{part}")));
    }
    let ran = run_in(&folder, &["review", "unit.yaml", "--format", "lines", "--grade", "note"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("no device is named"), "{}", ran.out);
    assert!(!ran.out.contains("barrier-crossing: "), "{}", ran.out);
}
