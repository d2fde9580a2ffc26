//! What is proposed holds when it is written into the description, and less of it does not.

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::review;
use loadworthy_checks::review::{Held, JudgedBy};

use crate::descriptions::{changed, defects, failing, finding, reviewed, unit_with};

/// What still fails once a proposal is written.
fn with(text: &str, held: &Held) -> Vec<(&'static str, &'static str)> {
    let changes: Vec<_> = held.set.iter().map(|set| (set.path.clone(), set.written.clone())).collect();
    defects(&review(&unit_with(text, &changes)))
}

#[test]
fn every_proposal_holds_when_it_is_written() {
    for check in CHECKS {
        let text = check.about().fails;
        let review = reviewed(text);
        for finding in &review.findings {
            assert!(!finding.proposals.is_empty(), "{} proposes nothing", finding.defect);
            // What no value expresses is written by its check's own tests.
            for held in finding.proposals.iter().filter(|held| held.judged_by == JudgedBy::AllChecks) {
                assert_eq!(with(text, held), [], "{}", held.say);
            }
        }
    }
}

#[test]
fn the_last_device_in_parallel_is_needed() {
    let text = changed(failing("current-headroom"), "repetitive_peak: 400 A", "repetitive_peak: 150 A");
    // Devices so alike that the mean one decides.
    let text = changed(&text, "on_voltage: 2 %", "on_voltage: 0.1 %");
    let review = reviewed(&text);
    let held = &finding(&review, "repetitive-peak").proposals[0];
    assert_eq!(held.say, "parallel: 1 -> 3 at high_side and low_side");
    assert_eq!(with(&text, held), []);
    let less: Vec<_> = held.set.iter().map(|set| (set.path.clone(), "2".to_owned())).collect();
    let left = defects(&loadworthy_checks::review(&unit_with(&text, &less)));
    assert_eq!(left, [("current-headroom", "repetitive-peak")]);
}

#[test]
fn a_volt_less_than_proposed_is_too_little() {
    let text = failing("output-reach");
    let review = reviewed(text);
    let held = finding(&review, "beyond-linear").proposals.iter().find(|held| held.say.starts_with("link"));
    let held = held.expect("a higher bus voltage");
    let volts: u32 = held.set[0].written.trim_end_matches(" V").parse().expect("whole volts");
    let less = [(held.set[0].path.clone(), format!("{} V", volts - 1))];
    let left = defects(&loadworthy_checks::review(&unit_with(text, &less)));
    assert_eq!(left, [("output-reach", "beyond-linear")]);
}

#[test]
fn single_packages_change_only_the_side_that_fails() {
    let text = changed(failing("current-headroom"), "circuit: half_bridge, ", "circuit: single, ");
    let text = changed(
        &text,
        "low_side: { fitted: hb650_300, parallel: 1 }",
        "low_side: { fitted: hb650_300, parallel: 2 }",
    );
    let review = reviewed(&text);
    let held = &finding(&review, "repetitive-peak").proposals[0];
    assert_eq!(held.say, "parallel: 1 -> 2 at high_side");
    assert_eq!(held.set.len(), 1);
    assert_eq!(with(&text, held), []);
}

#[test]
fn side_effects_are_told() {
    let review = reviewed(&changed(failing("junction-temperature"), "flow: 8 L/min", "flow: 6 L/min"));
    let proposals = &finding(&review, "too-hot").proposals;
    let slower = proposals.iter().find(|held| held.say.starts_with("carrier")).expect("a slower carrier");
    let more = proposals.iter().find(|held| held.say.starts_with("parallel")).expect("more in parallel");
    assert!(more.side_effects.iter().any(|effect| effect.starts_with("loss of lift_bridge")), "{more:?}");
    assert!(slower.side_effects.iter().all(|effect| !effect.is_empty()), "{slower:?}");
    assert!(more.side_effects.iter().any(|effect| effect.starts_with("coolant outlet -")), "{more:?}");
}

#[test]
fn a_bus_that_a_source_sets_gets_no_voltage_proposed() {
    let text =
        changed(failing("output-reach"), "buses: { link: 300 V }", "sources: { pack: { terminal: 300 V } }");
    let text = changed(&text, "modulation: sinusoidal", "modulation: space_vector");
    let text = changed(&text, "line_voltage: 182 V", "line_voltage: 215 V");
    let pack = "sources:\n  pack: { kind: battery, bus: link, internal_resistance: { highest: 40 mohm } }\n\nbuses:\n";
    let text = changed(
        &text,
        "buses:\n  link: { nominal: 350 V, highest: 400 V }",
        &format!("{pack}  link: {{ nominal: 350 V, highest: 400 V }}"),
    );
    let review = reviewed(&text);
    let one = finding(&review, "beyond-linear");
    assert!(one.proposals.is_empty(), "{:?}", one.proposals);
    let why = one.no_proposal.as_deref().expect("a reason");
    assert!(why.contains("`link` stands at what `pack` gives"), "{why}");
}

#[test]
fn where_nothing_holds_it_says_what_was_tried() {
    let text = changed(failing("junction-temperature"), "inlet: 60 degC", "inlet: 85 degC");
    let text = changed(&text, "junction: { keep: 20 K }", "junction: { keep: 80 K }");
    let review = reviewed(&text);
    let one = finding(&review, "too-hot");
    assert!(one.proposals.is_empty(), "{:?}", one.proposals);
    let why = one.no_proposal.as_deref().expect("a reason");
    assert!(why.contains("up to 8 in parallel") && why.contains("carrier down to"), "{why}");
}

#[test]
fn a_change_that_does_not_reach_another_variant_says_where_it_still_fails() {
    let shared = "\nvariants:\n  first: { stages: { wheel_bridge: { dead_time: 2 us } } }\n";
    let own = "  second: { stages: { wheel_bridge: { modulation: sinusoidal } } }\n";
    let text = format!("{}{shared}{own}", failing("output-reach"));
    let review = reviewed(&text);
    let one = finding(&review, "beyond-linear");
    let of = |start: &str| {
        let held = one.proposals.iter().find(|held| held.say.starts_with(start));
        held.unwrap_or_else(|| panic!("no {start} among {:#?}", one.proposals))
    };
    let other = review.verdicts.len() - 1;
    assert!(review.verdicts[other].iter().any(loadworthy_checks::verdict::Verdict::fails));
    let warned = "does not reach second, where it still fails".to_owned();
    assert!(of("modulation").side_effects.contains(&warned), "{:#?}", of("modulation"));
    assert!(!of("link").side_effects.contains(&warned), "{:#?}", of("link"));
}

#[test]
fn what_a_second_device_leaves_open_is_said() {
    // One device shares with nobody; two do, and how far they lie apart is not stated.
    let text = failing("current-headroom").replace("      spread: { on_voltage: 2 % }\n", "");
    let review = reviewed(&text);
    assert_eq!(review.counts.not_judged, 0, "{:?}", review.not_judged);
    let held = &finding(&review, "repetitive-peak").proposals[0];
    assert_eq!(held.say, "parallel: 1 -> 2 at high_side and low_side");
    let said = "parallel-sharing of disc_bridge is not judged then: devices.hb650_300.transistor.spread.on_voltage is not stated";
    assert!(held.side_effects.iter().any(|line| line == said), "{held:#?}");
}

/// Two bridges whose carriers run in step keep doing so: one of them alone would beat with the other.
#[test]
fn carriers_in_step_are_slowed_together() {
    let text = include_str!("../../../examples/timber-forwarder.yaml");
    let review = reviewed(text);
    let all = review.findings.iter().flat_map(|finding| &finding.proposals);
    let slower: Vec<&Held> = all.filter(|held| held.say.starts_with("carrier frequency")).collect();
    let [held] = slower.as_slice() else { panic!("{slower:?}") };
    assert_eq!(held.say, "carrier frequency: 8 kHz -> 6.4 kHz, and of pump_bridge, which is in step");
    let written: Vec<_> = held.set.iter().map(|set| (set.path.as_str(), set.written.as_str())).collect();
    assert_eq!(
        written,
        [
            ("stages.traction_bridge.carrier.frequency", "6.4 kHz"),
            ("stages.pump_bridge.carrier.frequency", "6.4 kHz")
        ]
    );
    let left = with(text, held);
    assert!(!left.iter().any(|(_, defect)| ["too-hot", "out-of-step"].contains(defect)), "{left:?}");
    // Twice the carrier of another stays twice that.
    let text = changed(text, "carrier: { frequency: 8 kHz }", "carrier: { frequency: 16 kHz }");
    let text =
        changed(&text, "synchronised_with: pump_bridge, shift: 90 deg", "synchronised_with: pump_bridge");
    let review = reviewed(&text);
    let mut all = review.findings.iter().flat_map(|finding| &finding.proposals);
    let says =
        all.find(|held| held.say.starts_with("carrier frequency: 8 kHz")).map(|held| held.say.as_str());
    assert_eq!(
        says,
        Some("carrier frequency: 8 kHz -> 6.4 kHz, and of pump_bridge, which is in step: 16 kHz -> 12.8 kHz")
    );
}
