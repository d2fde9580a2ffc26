//! The pages of the checks, and what each check says of its own examples.

use loadworthy_checks::list::CHECKS;

use super::program::{Folder, assert_shown, run, run_in};

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
