//! What the figure of a permit bounds: what a part carries, or has of what is asked of it, and no part that states its own limit.

use super::program::{Ran, run};

const DAY: &str = "2027-01-01";

/// A review of the shuttle with changes and a permit.
fn with(changes: &[&str], permit: &str) -> Ran {
    let permits = format!("permits=[{{ {permit}, reason: r, accepted_by: a, until: 2027-03-31 }}]");
    let mut line = vec!["review", "examples/harbour-shuttle.yaml", "--on", DAY, "--with", &permits];
    for change in changes {
        line.extend(["--with", change]);
    }
    run(&line)
}

/// What was printed, as one line.
fn line(ran: &Ran) -> String {
    ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Where the figure is what is asked of a part, a permit bounds the least that the part has; a share bounds both.
#[test]
fn a_part_that_has_less_is_a_finding_again() {
    let distance = "check: barrier-distance, part: isolation.barriers.gate_isolation";
    let insulation = "check: leakage-paths, part: isolation.domains.traction";
    let dead_time = "check: dead-time, part: front_bridge";
    let short = "isolation.barriers.gate_isolation.clearance=5 mm";
    let leaks = "isolation.domains.traction.isolation_resistance=250 kohm";
    let early = "stages.front_bridge.dead_time=100 ns";
    for (change, permit, accepts, exceeded, says) in [
        (short, distance, ["5 mm", "110 %"], ["5.5 mm", "109 %"], "has 5 mm of the 5.5 mm that are asked"),
        (leaks, insulation, ["220 kohm", "181 %"], ["410 kohm", "180 %"], "of the 410 kΩ that are asked"),
        (
            early,
            dead_time,
            ["100 ns", "114 %"],
            ["100.5 ns", "112 %"],
            "has 100 ns of the 113 ns that are asked",
        ),
    ] {
        for bound in accepts {
            let ran = with(&[change], &format!("{permit}, up_to: {bound}"));
            assert_eq!(ran.code, Some(0), "{permit}, {bound}: {}", ran.out);
        }
        for bound in exceeded {
            let ran = with(&[change], &format!("{permit}, up_to: {bound}"));
            assert_eq!(ran.code, Some(1), "{permit}, {bound}: {}", ran.out);
        }
        let ran = with(&[change], &format!("{permit}, up_to: {}", exceeded[0]));
        assert!(line(&ran).contains(says), "{}", ran.out);
    }
}

/// What a permit accepts is worded as it is held: of what is asked of a part the least that it has.
#[test]
fn a_bound_is_worded_as_it_is_held() {
    let distance = "check: barrier-distance, part: isolation.barriers.gate_isolation";
    let short = ["isolation.barriers.gate_isolation.clearance=5 mm"];
    let ran = with(&short, &format!("{distance}, up_to: 5 mm"));
    assert!(line(&ran).contains("at least 5 mm by a until"), "{}", ran.out);
    let ran = with(&short, &format!("{distance}, up_to: 110 %"));
    assert!(line(&ran).contains("up to 110 % by a until"), "{}", ran.out);
}

/// A distance of nothing would accept whatever the part has.
#[test]
fn a_bound_of_nothing_bounds_nothing() {
    let distance = "check: barrier-distance, part: isolation.barriers.gate_isolation";
    let short = ["isolation.barriers.gate_isolation.clearance=5 mm"];
    let ran = with(&short, &format!("{distance}, up_to: 0 mm"));
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    let said = "`up_to: 0 mm` does not fit, so that nothing is accepted: what the part has is 5 mm";
    assert!(line(&ran).contains(said), "{}", ran.out);
}

/// What states its limit in an entry of its own needs a permit of its own, or its name in that of another.
#[test]
fn a_limit_of_its_own_is_not_accepted_with_another() {
    let small = ["gate_supplies.front_u.power=0.4 W", "gate_supplies.front_v.power=0.1 W"];
    let permit = "check: gate-drive-power, part: front_bridge.high_side.u, up_to: 400 mW";
    let ran = with(&small, permit);
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    assert!(line(&ran).contains("major gate-drive-power front_bridge.high_side.v"), "{}", ran.out);
    assert!(line(&ran).contains("accepted gate-drive-power front_bridge.high_side.u"), "{}", ran.out);
    let named =
        with(&small, &format!("{permit}, only: [front_bridge.high_side.u, front_bridge.high_side.v]"));
    assert_eq!(named.code, Some(0), "{}", named.out);
    let early = ["stages.front_bridge.dead_time=100 ns", "stages.rear_bridge.dead_time=1 ns"];
    let ran = with(&early, "check: dead-time, part: front_bridge, up_to: 100 ns");
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    assert!(line(&ran).contains("major dead-time rear_bridge"), "{}", ran.out);
    assert!(line(&ran).contains("accepted dead-time front_bridge"), "{}", ran.out);
}

/// What is so whatever a duty point asks is accepted only without one.
#[test]
fn bonding_belongs_to_no_duty_point() {
    let permit = "check: leakage-paths, part: isolation.domains.chassis, up_to: 150 mohm";
    let bonded = ["isolation.domains.chassis.bonding_resistance=0.15 ohm"];
    let ran = with(&bonded, permit);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(line(&ran).contains("accepted leakage-paths isolation.domains.chassis standard"), "{}", ran.out);
    let ran = with(&bonded, &format!("{permit}, duty_point: laden_run"));
    assert_eq!(ran.code, Some(1), "{}", ran.out);
}
