//! What is missing is named, and never passes.

use loadworthy_checks::Review;
use loadworthy_checks::review::Counts;
use loadworthy_checks::verdict::Outcome;

use crate::descriptions::{changed, finding, holding, keeps_open, reviewed};

fn named<'r>(review: &'r Review, missing: &str) -> &'r loadworthy_checks::review::NotJudged {
    let path = missing.strip_suffix(" is not stated").unwrap_or_default();
    let is = |one: &&loadworthy_checks::review::NotJudged| {
        one.missing == missing || one.missing.ends_with("not stated") && one.paths.iter().any(|of| of == path)
    };
    let found = review.not_judged.iter().find(is);
    found.unwrap_or_else(|| panic!("no `{missing}` among {:#?}", review.not_judged))
}

#[test]
fn a_missing_inlet_keeps_every_temperature_from_being_judged() {
    let text = changed(holding("junction-temperature"), "    coolant: { inlet: 60 degC }\n", "");
    let review = reviewed(&text);
    let inlet = named(&review, "duty.load_held_up.coolant.inlet is not stated");
    let waiting = [
        "coolant-state",
        "coolant-supply",
        "current-headroom",
        "junction-temperature",
        "loss-of-load",
        "parallel-sharing",
    ];
    assert_eq!(inlet.checks, waiting);
    assert_eq!(inlet.duties, ["load_held_up"]);
    assert_eq!(review.not_judged.len(), 1, "{:#?}", review.not_judged);
    let count = |check: &str, is: fn(&Outcome) -> bool| {
        review.verdicts[0].iter().filter(|verdict| verdict.check == check && is(&verdict.outcome)).count()
    };
    let is_open = |outcome: &Outcome| matches!(outcome, Outcome::NotJudged(_));
    let is_held = |outcome: &Outcome| matches!(outcome, Outcome::Holds(_));
    assert_eq!((count("current-headroom", is_open), count("junction-temperature", is_open)), (12, 12));
    // What does not hang on the coolant is judged all the same.
    assert_eq!((count("current-headroom", is_held), count("output-reach", is_held)), (12, 1));
    assert_eq!(review.counts.fail, 0);
    let open = review.verdicts[0].iter().filter(|v| v.check == "current-headroom" && is_open(&v.outcome));
    assert!(open.into_iter().all(|verdict| verdict.defect != "repetitive-peak"));
}

#[test]
fn a_missing_peak_rating_is_named_once_for_all_chips_of_the_device() {
    let text = holding("current-headroom").replace(", repetitive_peak: 400 A", "");
    let review = reviewed(&text);
    let device = named(&review, "devices.hb650_300.transistor.current.repetitive_peak is not stated");
    assert_eq!(
        (device.verdicts, device.checks.as_slice()),
        (24, ["current-headroom", "parallel-sharing"].as_slice())
    );
    assert_eq!(
        device.missing,
        "devices.hb650_300: transistor.current.repetitive_peak and diode.current.repetitive_peak are not stated"
    );
    assert_eq!(review.not_judged.len(), 1);
}

#[test]
fn a_missing_modulation_leaves_the_reach_open() {
    let text = changed(holding("output-reach"), "    modulation: space_vector\n", "");
    let review = reviewed(&text);
    let modulation = named(&review, "stages.wheel_bridge.modulation is not stated");
    assert!(modulation.checks.contains(&"output-reach"), "{modulation:?}");
}

#[test]
fn a_current_beyond_the_data_sheet_is_not_extrapolated() {
    let text = changed(holding("current-headroom"), "phase_current: 240 A rms", "phase_current: 700 A rms");
    let review = reviewed(&text);
    let of_heat =
        |check: &str| ["current-headroom", "junction-temperature", "parallel-sharing"].contains(&check);
    let held = |verdict: &&loadworthy_checks::verdict::Verdict| crate::descriptions::holds(verdict);
    assert_eq!(review.verdicts[0].iter().filter(|v| of_heat(v.check)).filter(held).count(), 0);
    // The crest is found itself, and what waits for the curves is told with it.
    assert!(keeps_open(finding(&review, "repetitive-peak")), "{:#?}", review.findings);
    assert!(
        review.not_judged.iter().all(|one| !one.missing.contains("its curves")),
        "{:#?}",
        review.not_judged
    );
    // Where the crest is allowed, one line says by how much the curves of the device end too early.
    let allowed = text.replace("repetitive_peak: 400 A", "repetitive_peak: 4 kA");
    let lines: Vec<String> = reviewed(&allowed).not_judged.iter().map(|one| one.missing.clone()).collect();
    let says = |line: &&String| line.ends_with("its curves cover a current of at most 375 A, not 495 A");
    assert_eq!(lines.iter().filter(says).count(), 1, "{lines:#?}");
    assert_eq!(lines.iter().filter(|line| line.contains("its curves")).count(), 1, "{lines:#?}");
}

#[test]
fn an_empty_description_is_reviewed_without_a_verdict() {
    let empty = reviewed("edition: 2026\n");
    assert_eq!((empty.counts, empty.findings.len()), (Counts::default(), 0));
    let text = holding("output-reach");
    let duty = text.find("duty:").expect("duty points");
    let idle = reviewed(&text[..duty]);
    // Only what stands whatever is asked.
    assert!(!idle.judges_a_duty_point());
    assert_eq!((idle.counts.fail, idle.counts.not_judged, idle.findings.len()), (0, 0, 0));
}

#[test]
fn a_device_that_is_not_described_keeps_its_stage_open_under_its_own_name() {
    let text = holding("output-reach");
    let (from, to) =
        (text.find("devices:").expect("devices"), text.find("gate_supplies:").expect("supplies"));
    let text = format!("{}devices:\n  hb650_300: {{}}\n\n{}", &text[..from], &text[to..]);
    let review = reviewed(&text);
    named(&review, "devices.hb650_300.transistor.on_state is not stated");
    named(&review, "devices.hb650_300.diode.junction_limit is not stated");
    assert_eq!(review.counts.fail, 0);
    let mut paths = review.not_judged.iter().flat_map(|one| &one.paths);
    assert!(paths.by_ref().all(|path| path.starts_with("devices.hb650_300.")), "{:#?}", review.not_judged);
}

#[test]
fn a_bridge_that_rests_is_not_judged_and_not_missed() {
    let text = changed(
        holding("output-reach"),
        "policy:\n",
        "  standing_by:\n    lasts: continuous\n    coolant: { inlet: 60 degC }\n    buses: { link: 300 V }\n\npolicy:\n",
    );
    let (before, after) = (reviewed(holding("output-reach")), reviewed(&text));
    // The coolant is judged there as well, and finds nothing to complain of; and what rests blocks its bus.
    let goes_on = |check: &str| check.starts_with("coolant") || check == "voltage-headroom";
    let of_stages =
        |review: &Review| review.verdicts[0].iter().filter(|verdict| !goes_on(verdict.check)).count();
    assert_eq!(of_stages(&before), of_stages(&after));
    assert_eq!(after.counts, Counts { hold: after.counts.hold, ..Counts::default() });
}

#[test]
fn a_stage_without_devices_is_told_in_one_line_and_assumes_nothing_of_them() {
    let text = changed(
        holding("output-reach"),
        "    switches:\n      high_side: { fitted: hb650_300, parallel: 1 }\n      low_side: { fitted: hb650_300, parallel: 1 }\n",
        "",
    );
    let text = text.lines().filter(|line| !line.contains("dead_time")).collect::<Vec<_>>().join("\n");
    let review = reviewed(&text);
    let fitted = named(&review, "stages.wheel_bridge.switches.high_side.fitted is not stated");
    assert_eq!(fitted.paths.len(), 2, "{fitted:?}");
    let lines = review.not_judged.iter().filter(|one| one.missing.contains("wheel_bridge"));
    assert_eq!(lines.count(), 1, "{:#?}", review.not_judged);
    // Without a device there is no usual dead time of it, and no capacitance.
    assert!(
        review.assumed.iter().all(|one| !one.id.starts_with("dead-time") && one.id != "output-capacitance")
    );
}

/// The loss of a winding goes into what its stage draws, so half the unit waits for it; it alone is named.
#[test]
fn a_litz_without_its_strands_is_named_as_that() {
    let shuttle = include_str!("../../../examples/harbour-shuttle.yaml");
    let review = reviewed(&changed(shuttle, ", strands: 400", ""));
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    let [own] = missing.as_slice() else { panic!("{missing:#?}") };
    assert_eq!(*own, "magnetics.auxiliary_transformer.primary.conductor.strands is not stated");
}
