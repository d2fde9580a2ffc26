//! A barrier that names two domains other than those that its list joins, and sensors that pass none.

use super::{SHUTTLE, after};
use crate::descriptions::{changed, reviewed};

const BASES: &str = "module_bases:\n      { between: [traction, chassis]";
const GATES: &str = "gate_isolation:\n      between: [traction, low_voltage]";
const SUPPLY: &str = "supply_isolation:\n      { between: [traction, low_voltage]";

/// What lacks a barrier, as it is told.
fn told(from: &str, to: &str) -> loadworthy_checks::review::Finding {
    let review = reviewed(&changed(SHUTTLE, from, to));
    assert!(review.not_judged.is_empty(), "{:#?}", review.not_judged);
    review.findings.into_iter().find(|one| one.defect == "no-barrier").expect("what passes none")
}

#[test]
fn a_barrier_between_two_others_is_one_finding_that_shows_it() {
    for (from, to, pair, name, put_right) in [
        (
            BASES,
            "traction, chassis",
            "low_voltage, chassis",
            "module_bases",
            "`between: [traction, chassis]` at module_bases",
        ),
        (
            BASES,
            "traction, chassis",
            "traction, low_voltage",
            "module_bases",
            "`between: [traction, chassis]` at module_bases",
        ),
        (
            GATES,
            "traction, low_voltage",
            "traction, chassis",
            "gate_isolation",
            "`between: [traction, low_voltage]` at gate_isolation",
        ),
        (
            SUPPLY,
            "traction, low_voltage",
            "traction, chassis",
            "supply_isolation",
            "`between: [traction, low_voltage]` at supply_isolation",
        ),
    ] {
        let wrong = from.replace(to, pair);
        let (new, missing) = after(from, &wrong);
        assert_eq!((new.len(), missing.len()), (1, 0), "{name} {pair}: {new:#?} {missing:#?}");
        let told = told(from, &wrong);
        assert!(told.saying.starts_with(&format!("`{name}` stands between ")), "{}", told.saying);
        assert!(told.at.label.starts_with("meant for "), "{}", told.at.label);
        let says: Vec<&str> = told.proposals.iter().map(|held| held.say.as_str()).collect();
        assert_eq!(says, [put_right], "{pair}");
    }
}

/// With the kind that those two need.
#[test]
fn a_barrier_that_is_too_weak_where_it_is_meant_to_stand_is_told_with_its_kind() {
    let weak =
        changed(SHUTTLE, &format!("{GATES}\n      kind: reinforced"), &format!("{GATES}\n      kind: basic"));
    let weak = changed(&weak, GATES, &GATES.replace("low_voltage", "chassis"));
    let review = reviewed(&weak);
    let told = review.findings.iter().find(|one| one.defect == "no-barrier").expect("what passes none");
    let says: Vec<&str> = told.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(says, ["`between: [traction, low_voltage]` and `kind: reinforced` at gate_isolation"]);
}

/// One name in a list of several says nothing of where the barrier stands.
#[test]
fn what_is_listed_by_the_wrong_barrier_stays_that() {
    let (new, _) = after("        - auxiliary_temperature\n", "");
    assert_eq!(new.len(), 1, "{new:#?}");
    assert!(!told("        - auxiliary_temperature\n", "").saying.contains("stands between"));
}

/// A sensor that is read where it stands passes no barrier, whatever lists it.
#[test]
fn a_sensor_in_the_wrong_domain_is_told_by_the_list_that_names_it() {
    for (from, to) in [
        (
            "of: [front_bridge], read_by: [front_controller]",
            "of: [front_bridge], domain: low_voltage, read_by: [front_controller]",
        ),
        ("of: [auxiliary], domain: traction", "of: [auxiliary], domain: low_voltage"),
    ] {
        let (new, missing) = after(from, to);
        let part = "isolation.barriers.gate_isolation".to_owned();
        assert_eq!((new, missing.len()), (vec![("barrier-crossing", "elsewhere", part)], 0), "{to}");
        let review = reviewed(&changed(SHUTTLE, from, to));
        let told = review.findings.iter().find(|one| one.defect == "elsewhere").expect("its list");
        assert!(
            told.saying.ends_with("which is read where it stands, and joins no two domains"),
            "{}",
            told.saying
        );
        // The word that says where it stands comes before the list.
        assert_eq!(told.at.label, "stands in low_voltage by this word alone");
        assert_eq!(told.because[0].label, "stands in `low_voltage`, and is read there");
    }
}
