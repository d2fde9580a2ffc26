//! How slowly a fault rises, against the circuit that the breaking capacity of a fuse is stated for.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::Grade;

use crate::descriptions::{changed, holding, reviewed};

/// A pack of 40 mΩ behind an inductance, and a fuse whose breaking capacity is stated for 2 ms.
fn behind(inductance: &str) -> String {
    let text = changed(
        holding("fuse-coordination"),
        "breaking: 10 kA\n",
        "breaking: 10 kA\n    time_constant: 2 ms\n",
    );
    changed(
        &text,
        "    charge: { continuous: 60 A }\n",
        &format!("    charge: {{ continuous: 60 A }}\n{inductance}"),
    )
}

fn found(review: &Review) -> Vec<(&str, Grade, f64)> {
    let own = review.findings.iter().filter(|one| one.defect == "slow-fault");
    own.map(|one| (one.part.as_str(), one.grade, one.comparison.expect("compared").carried_value)).collect()
}

/// Time in which a fault that sources of (V, R, L) drive side by side has risen to 1 - 1/e of what it settles at, stepped.
fn rises_in(sources: &[(f64, f64, f64)]) -> f64 {
    let settles: f64 = sources.iter().map(|(volts, ohms, _)| volts / ohms).sum();
    let (mut amps, mut time, step) = (vec![0.0; sources.len()], 0.0, 1e-7);
    while amps.iter().sum::<f64>() < settles * (1.0 - libm::exp(-1.0)) {
        for (own, (volts, ohms, henry)) in amps.iter_mut().zip(sources) {
            *own += step * (volts - ohms * *own) / henry;
        }
        time += step;
    }
    time
}

#[test]
fn a_fault_that_rises_more_slowly_than_the_fuse_is_stated_for_is_found() {
    let review = reviewed(&behind("    inductance: 100 uH\n"));
    let [(part, grade, constant)] = found(&review)[..] else { panic!("{:?}", review.findings) };
    assert_eq!((part, grade), ("pack_fuse", Grade::Major));
    let stepped = rises_in(&[(360.0, 0.04, 100e-6)]);
    assert!((constant / stepped - 1.0).abs() < 1e-3, "{constant} and {stepped}");
    let one = review.findings.iter().find(|one| one.defect == "slow-fault").expect("found");
    assert_eq!(
        one.proposals.iter().map(|held| held.say.as_str()).collect::<Vec<_>>(),
        ["time constant of pack_fuse: 2 ms -> 3 ms"]
    );
    assert_eq!(found(&reviewed(&behind("    inductance: 60 uH\n"))), []);
}

#[test]
fn an_inductance_that_nobody_states_leaves_it_open_and_a_fuse_without_a_time_constant_is_not_asked() {
    let open = reviewed(&behind(""));
    let missing: Vec<&str> = open.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(missing, ["sources.pack.inductance is not stated"]);
    let silent = reviewed(holding("fuse-coordination"));
    assert!(silent.verdicts.iter().flatten().all(|verdict| verdict.defect != "slow-fault"));
}

/// Each source drives its own share with its own time constant; none of them is slower than the slowest.
#[test]
fn of_several_sources_the_slowest_counts() {
    let text = changed(
        &behind("    inductance: 60 uH\n"),
        "buses:\n",
        "  second:
    kind: battery
    open_circuit: { lowest: 280 V, highest: 360 V }
    internal_resistance: { lowest: 30 mohm, highest: 80 mohm }
    inductance: 90 uH
    discharge: { continuous: 160 A }
buses:
",
    );
    let text = changed(
        &text,
        "\nconductors:\n",
        "  second_feed: { from: second, to: link, through: [second_fuse] }\n\nconductors:\n  second_fuse:
    { kind: fuse, voltage: 500 V DC, current: 200 A, melting: 12e3 A^2 s, clearing: 45e3 A^2 s, breaking: 30 kA,
      least_breaking: 250 A, resistance: 0.5 mohm }
",
    );
    let text = changed(
        &text,
        "pack: { open_circuit: 320 V }",
        "pack: { open_circuit: 320 V }, second: { power: 10 kW }",
    );
    let review = reviewed(&text);
    let [(part, _, constant)] = found(&review)[..] else { panic!("{:#?}", review.findings) };
    assert_eq!(part, "pack_fuse");
    // Behind its own fuse, of half a milliohm when warm.
    assert!((90e-6 / 30.5e-3..90e-6 / 30e-3).contains(&constant), "{constant}");
    let stepped = rises_in(&[(360.0, 0.04, 60e-6), (360.0, 0.03, 90e-6)]);
    assert!(stepped < constant, "{stepped}");
}
