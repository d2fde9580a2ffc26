//! Failures are grouped by cause, over parts, duty points and variants.

use crate::descriptions::{changed, failing, finding, reviewed};

#[test]
fn one_finding_for_all_chips_of_a_device_in_a_stage() {
    let review = reviewed(failing("current-headroom"));
    let one = finding(&review, "repetitive-peak");
    assert_eq!(one.part, "disc_bridge.high_side.u.transistor");
    assert_eq!(one.also_parts, 11);
    let also =
        ["high_side.v, w", "low_side.u, v, w", "high_side.u, v, w (diode)", "low_side.u, v, w (diode)"];
    assert_eq!(one.also, also);
    assert_eq!(review.counts.fail, 12);
}

#[test]
fn the_worst_variant_speaks_and_the_others_are_named() {
    let variants = "variants:\n  mild: {}\n  heavy:\n    duty: { load_held_up: { loads: { lift_motor: { phase_current: 180 A rms } } } }\n\npolicy:\n";
    let text = changed(failing("junction-temperature"), "policy:\n", variants);
    let review = reviewed(&text);
    let one = finding(&review, "too-hot");
    assert_eq!(one.variant_name.as_deref(), Some("heavy"));
    assert_eq!(one.also_in, ["load_held_up, mild"]);
    let plain = reviewed(failing("junction-temperature"));
    assert_eq!(one.fingerprint, finding(&plain, "too-hot").fingerprint);
}

#[test]
fn a_proposal_must_hold_in_every_variant_that_shares_the_value() {
    // With 400 A for a peak two modules are enough; the weak ones of the other variant need four.
    let variants = "variants:\n  plain: {}\n  weak:\n    devices: { hb650_300: { transistor: { current: { repetitive_peak: 115 A } } } }\n\npolicy:\n";
    let text = changed(failing("current-headroom"), "policy:\n", variants);
    // Devices so alike that the mean one decides.
    let text = changed(&text, "on_voltage: 2 %", "on_voltage: 0.1 %");
    let review = reviewed(&text);
    let one = finding(&review, "repetitive-peak");
    assert_eq!(
        (one.variant_name.as_deref(), one.also_in.as_slice()),
        (Some("weak"), ["stump_cut, plain".to_owned()].as_slice())
    );
    assert_eq!(one.proposals[0].say, "parallel: 1 -> 4 at high_side and low_side");

    // The counts of the loaded variant are its own; what helps the other does not reach it.
    let loaded = "variants:\n  plain: {}\n  loaded:\n    duty: { stump_cut: { loads: { disc_motor: { phase_current: 241 A rms } } } }\n    stages: { disc_bridge: { switches: { high_side: { parallel: 1 }, low_side: { parallel: 1 } } } }\n\npolicy:\n";
    let text = changed(failing("current-headroom"), "policy:\n", loaded);
    let review = reviewed(&text);
    let one = finding(&review, "repetitive-peak");
    assert_eq!(one.variant_name.as_deref(), Some("loaded"));
    assert_eq!(one.proposals[0].say, "parallel: 1 -> 2 at high_side and low_side");
}

#[test]
fn a_change_that_harms_another_variant_is_not_proposed() {
    // More bus voltage reaches the speed, and is too much for the energies of the variant with other modules.
    let other = "variants:\n  plain: {}\n  low_voltage:\n    devices: { hb650_300: { transistor: { energies: { voltage: 205 V } } } }\n    stages: { wheel_bridge: { modulation: space_vector } }\n\npolicy:\n";
    let text = changed(failing("output-reach"), "policy:\n", other);
    let review = reviewed(&text);
    assert_eq!(review.counts.not_judged, 0, "{:?}", review.not_judged);
    let one = finding(&review, "beyond-linear");
    assert_eq!(one.variant_name.as_deref(), Some("plain"));
    let say: Vec<_> = one.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(say, ["modulation: sinusoidal -> space_vector"]);
}

#[test]
fn a_fingerprint_knows_no_lines() {
    let text = failing("output-reach");
    let moved = format!("# another line\n\n{text}");
    assert_eq!(reviewed(text).findings[0].fingerprint, reviewed(&moved).findings[0].fingerprint);
}

#[test]
fn the_worst_of_equals_is_always_the_first() {
    let review = reviewed(failing("junction-temperature"));
    let one = finding(&review, "too-hot");
    assert_eq!(one.part, "lift_bridge.high_side.u.transistor");
    assert_eq!(one.corner.as_deref(), Some("rotor held with the crest of the current out of leg u"));
}

#[test]
fn findings_stand_gravest_first() {
    let text = changed(failing("current-headroom"), "buses: { link: 350 V }", "buses: { link: 210 V }");
    let review = reviewed(&text);
    let order: Vec<_> = review.findings.iter().map(|one| (one.grade, one.defect)).collect();
    assert!(order.windows(2).all(|pair| pair[0].0 <= pair[1].0), "{order:?}");
    assert_eq!(order.first().map(|one| one.0.word()), Some("major"));
    assert_eq!(order.last().map(|one| one.1), Some("beyond-linear"));
}

#[test]
fn a_review_is_the_same_twice() {
    let text = failing("junction-temperature");
    assert_eq!(format!("{:?}", reviewed(text)), format!("{:?}", reviewed(text)));
}
