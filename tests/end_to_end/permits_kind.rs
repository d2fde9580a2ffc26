//! Permits for what compares no figure and is about the kind of a barrier.

use super::program::run;

/// A permit for an output that does not reach, with a bound of the other sort.
const OTHER: &str = "permits=[{ check: output-reach, part: track_bridge, as: basic, reason: ends the shift slowly, \
                     accepted_by: the drive team, until: 2027-03-31 }]";

#[test]
fn a_permit_for_the_kind_of_a_barrier_ends_where_it_protects_less() {
    let reviewed = |kind: &str, bound: &str| {
        let kind = format!("isolation.barriers.gate_isolation.kind={kind}");
        let permits = format!(
            "permits=[{{ check: barrier-crossing, part: isolation.barriers.gate_isolation, defect: weak{bound}, reason: a trial, \
             accepted_by: the isolation team, until: 2027-03-31 }}]"
        );
        let line = [
            "review",
            "examples/harbour-shuttle.yaml",
            "--with",
            &kind,
            "--with",
            &permits,
            "--on",
            "2027-01-01",
        ];
        run(&line)
    };
    let accepted = reviewed("basic", ", as: basic");
    assert_eq!(accepted.code, Some(0), "{}", accepted.out);
    assert!(accepted.out.contains("as basic by the isolation team until 2027-03-31"), "{}", accepted.out);
    assert_eq!(reviewed("supplementary", ", as: basic").code, Some(0), "it protects as much");
    let less = reviewed("functional", ", as: basic");
    assert_eq!(less.code, Some(1), "{}", less.out);
    let said = "basic is accepted, and isolation.barriers.gate_isolation is functional";
    assert!(less.out.replace("\n       ", " ").contains(said), "{}", less.out);
    // Without a bound it goes on accepting, and says so.
    let unbounded = reviewed("basic", "");
    assert_eq!(unbounded.code, Some(0), "{}", unbounded.out);
    assert!(unbounded.out.contains("add `as: basic`"), "{}", unbounded.out);
    // What is about no kind of barrier has none to be bounded by.
    let unfit = run(&["review", "examples/peat-harvester.yaml", "--with", OTHER, "--on", "2027-01-01"]);
    assert!(unfit.out.contains("unfit") && unfit.code == Some(1), "{}", unfit.out);
}
