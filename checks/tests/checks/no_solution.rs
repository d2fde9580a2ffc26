//! Duty points without a solution fail where they fail, once, with the share that has one.

use crate::descriptions::{changed, defects, failing, finding, holding, keeps_open, reviewed};

#[test]
fn a_source_that_cannot_give_the_power_fails_with_the_share_it_can() {
    let text = changed(
        holding("output-reach"),
        "buses: { link: 300 V }",
        "sources: { pack: { open_circuit: 300 V } }",
    );
    let pack = "sources:\n  pack: { kind: battery, internal_resistance: { highest: 900 mohm } }\n\nbranches: { pack_feed: { from: pack, to: link, protected_by: pack_fuse } }\nconductors: { pack_fuse: { kind: fuse } }\n\nbuses:\n";
    let text = changed(
        &text,
        "buses:\n  link: { nominal: 350 V, highest: 400 V }",
        &format!("{pack}  link: {{ nominal: 350 V, highest: 400 V }}"),
    );
    // Half the open-circuit voltage, where most power passes, must lie within the range of the energies.
    let text = changed(&text, "{ voltage: 350 V, junction", "{ voltage: 250 V, junction");
    let review = reviewed(&text);
    assert_eq!(defects(&review), [("power-balance", "beyond-source")]);
    let one = finding(&review, "beyond-source");
    assert_eq!((one.part.as_str(), one.grade.word()), ("pack", "major"));
    // 300²/(4 · 0.9) is 25 kW, of which the bridge takes its losses.
    let share = one.largest_share.expect("a share");
    assert!((0.65..0.714).contains(&share), "{share}");
    assert!(one.saying.contains("at most 7"), "{}", one.saying);
    assert_eq!(review.unsolved.len(), 1);
    // Everything else of the duty point is open, and told with it; of the fuse within the pack nothing is stated.
    let open = || review.not_judged.iter().filter(|one| one.checks != ["fuse-coordination"]);
    assert_eq!(open().count(), 0, "{:?}", review.not_judged);
    assert!(keeps_open(one), "{:#?}", one.facts);
}

#[test]
fn losses_that_outrun_the_coolant_have_no_steady_temperature() {
    let text = changed(failing("junction-temperature"), "face_a: 0.060 K/W", "face_a: 3 K/W");
    let review = reviewed(&text);
    assert_eq!(defects(&review), [("junction-temperature", "no-steady-temperature")]);
    let one = finding(&review, "no-steady-temperature");
    let share = one.largest_share.expect("a share");
    assert!(0.0 < share && share < 1.0, "{share}");
    assert!(one.saying.contains("rise faster than the coolant takes them away"), "{}", one.saying);
    // The corners of the duty point are one failure.
    assert_eq!(review.counts.fail, 1);
    assert!(one.corner.is_some());
}

/// A demand that no modulation forms is more likely the slip than the losses that follow from it.
#[test]
fn a_demand_beyond_any_modulation_is_named_where_nothing_settles() {
    let text = changed(failing("junction-temperature"), "face_a: 0.060 K/W", "face_a: 3 K/W");
    let asks = |volts: &str| {
        let turning = format!(
            "electrical_power: 60 kW, line_voltage: {volts} V rms, power_factor: 0.9, frequency: 90 Hz"
        );
        reviewed(&changed(&text, "phase_current: 175 A rms, frequency: 0 Hz", &turning))
    };
    let named = |volts: &str| {
        let facts = finding(&asks(volts), "no-steady-temperature").facts.join("\n");
        // Beside the fundamental what its devices drop.
        facts.contains("takes a modulation index of 1.9") && facts.contains("which no bridge forms")
    };
    // 400 V between lines have a crest of 327 V in a phase, over half of 350 V.
    assert!(named("400"), "{:?}", finding(&asks("400"), "no-steady-temperature").facts);
    assert!(!named("200"));
}
