//! Duty points without a solution fail where they fail, once, with the share that has one.

use loadworthy_checks::verdict::When;

use crate::descriptions::{
    changed, defects, failing, finding, holding, holds, keeps_open, reviewed, trencher,
};

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
    // 400 V between lines have a crest of 327 V in a phase, 1.866 times half of 350 V; a bridge forms 4/π at most.
    let far = asks("400");
    // Heat that cannot leave is told along.
    assert_eq!(far.findings.len(), 1, "{:?}", defects(&far));
    let one = finding(&far, "out-of-reach");
    assert!(one.saying.contains("a modulation index of 1.87 or more"), "{}", one.saying);
    let share = one.largest_share.expect("a share");
    assert!((share - 4.0 / (core::f64::consts::PI * 1.866)).abs() < 1e-3, "{share}");
    assert!(
        one.facts.iter().any(|fact| fact.starts_with("with it junction-temperature: ")),
        "{:?}",
        one.facts
    );
    assert_eq!(defects(&asks("200")), [("junction-temperature", "no-steady-temperature")]);
}

/// What hangs on the description alone is one word on the unit, however many of its duty points have a solution.
#[test]
fn a_duty_point_without_a_solution_adds_nothing_that_holds() {
    let described = trencher();
    let (before, duty) = described.split_once("  trenching:\n").expect("a duty point");
    let (own, after) = duty.split_once("\npolicy:").expect("a policy");
    let with = |more: &str| {
        let again = own.replace("cab: { power: 1.2 kW }", "cab: { power: 1.1 kW }");
        reviewed(&format!("{before}  trenching:\n{own}  again:\n{again}{more}\npolicy:{after}"))
    };
    let of_the_unit = |review: &loadworthy_checks::Review| -> Vec<_> {
        let all = review.verdicts.iter().flatten();
        let same = all.filter(|one| matches!(one.when, When::Throughout { .. }) && holds(one));
        same.map(|one| (one.check, one.part, one.defect)).collect()
    };
    let two = with("");
    let lost = with(&format!("  lost:\n{}", own.replace("cab: { power: 1.2 kW }", "cab: { power: 500 MW }")));
    assert!(two.unsolved.is_empty());
    assert_eq!(lost.unsolved.len(), 1);
    assert!(of_the_unit(&two).len() > 5, "{:?}", of_the_unit(&two));
    assert_eq!(of_the_unit(&lost), of_the_unit(&two));
    // Of what is the same in all duty points no word is left on one of them that holds.
    let said = of_the_unit(&two);
    let again = lost.verdicts.iter().flatten().filter(|one| one.duty().is_some() && holds(one));
    let again: Vec<_> =
        again.map(|one| (one.check, one.part, one.defect)).filter(|one| said.contains(one)).collect();
    assert_eq!(again, []);
}
