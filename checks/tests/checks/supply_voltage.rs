//! What arrives at loads, and how far buses dip, against circuits stepped in time.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Outcome, Verdict};

use crate::descriptions::{changed, defects, failing, figure, finding, holding, holds, reviewed};

fn own(review: &Review) -> Vec<&Verdict> {
    review.verdicts.iter().flatten().filter(|one| one.check == "supply-voltage").collect()
}

#[test]
fn what_a_long_cable_leaves_is_held_against_what_a_load_works_at() {
    let review = reviewed(failing("supply-voltage"));
    // The dip on top is told with it.
    assert_eq!(defects(&review), [("supply-voltage", "dip"), ("supply-voltage", "low-voltage")]);
    assert_eq!(review.findings.len(), 1, "{:?}", review.findings);
    let one = finding(&review, "low-voltage");
    assert_eq!((one.part.as_str(), one.grade.word()), ("lamps", "major"));
    // 8 m of 10 mm² at 1.91 mΩ/m; 450 W that are held: V = 12.5 − R·450/V.
    // In air of 60 °C its copper has 1 + 40 K · 0.00393/K of that.
    let ohms = 8.0 * 1.91e-3 * (1.0 + 40.0 * 0.00393);
    let mut volts: f64 = 12.5;
    for _ in 0..50 {
        volts = 12.5 - ohms * 450.0 / volts;
    }
    let told = figure(failing("supply-voltage"), "lamps.voltage");
    assert!((told / volts - 1.0).abs() < 5e-3, "{told} V, by hand {volts} V");
    assert!(one.proposals.iter().any(|one| one.say.contains("on the way")), "{:?}", one.proposals);
    // Who states nothing is not asked.
    let silent = changed(failing("supply-voltage"), "lamps: { lowest: 12 V }", "lamps: {}");
    assert!(own(&reviewed(&silent)).is_empty());
}

const BUS: &str = "  link:\n    nominal: 350 V\n";

/// The link of a battery that says what it works at.
fn fed(lowest: &str) -> String {
    let text = changed(
        holding("bus-stability"),
        BUS,
        &format!("  link:\n    lowest: {lowest}\n    nominal: 350 V\n"),
    );
    changed(&text, "terminal: 300 V", "open_circuit: 306 V")
}

#[test]
fn a_bus_behind_a_battery_dips_as_far_as_in_time() {
    let text = fed("250 V");
    let watts = figure(&text, "link.held_power");
    // 50 mΩ and 4 µH; 4 parts of 90 µF less 10 %, 1.5 mΩ for each and 0.2 mΩ for all. What is drawn is what 250 V would take.
    let (ohms, henry, farad, series) = (50e-3, 4e-6, 4.0 * 81e-6, 1.5e-3 / 4.0 + 0.2e-3);
    let load = watts / 250.0;
    let step = 2e-9;
    let (mut stored, mut amps, mut lowest) = (306.0_f64, 0.0_f64, 306.0_f64);
    for _ in 0..200_000 {
        let volts = stored + series * (amps - load);
        lowest = lowest.min(volts);
        amps += step / henry * (306.0 - ohms * amps - volts);
        stored += step / farad * (amps - load);
    }
    let told = figure(&text, "link.dipped_voltage");
    assert!((told - lowest).abs() < 0.02, "{told} V, in time {lowest} V");
    let verdict_of = |lowest: &str| {
        let review = reviewed(&fed(lowest));
        let dip = own(&review).into_iter().find(|one| one.defect == "dip").cloned().expect("a dip");
        dip.outcome
    };
    assert!(matches!(verdict_of("250 V"), Outcome::Holds(_)));
    let close = reviewed(&fed("295 V"));
    let one = finding(&close, "dip");
    assert_eq!((one.part.as_str(), one.grade.word()), ("link", "minor"));
    assert!(one.saying.contains("comes at once"), "{}", one.saying);
    // Too little for good is told of that alone.
    let low = reviewed(&fed("303 V"));
    assert_eq!(
        low.findings.iter().filter(|one| one.check == "supply-voltage").count(),
        1,
        "{:?}",
        low.findings
    );
    assert_eq!(finding(&low, "low-voltage").part, "link");
    // Of a battery without an inductance nobody knows how it follows.
    let unsaid = changed(&fed("250 V"), "    inductance: 4 uH ", "    # 4 uH ");
    assert!(own(&reviewed(&unsaid)).iter().any(|one| matches!(one.outcome, Outcome::NotJudged(_))));
}

/// The lamp net of a buck, with a bank and a response.
fn stage(more: &str, response: &str) -> String {
    let text = changed(
        holding("supply-voltage"),
        "nominal: 12.5 V, response: 50 us,",
        &format!("nominal: 12.5 V, {more}{response},"),
    );
    // The net alone is asked.
    let text = changed(&text, "lamps: { lowest: 12 V }", "lamps: {}");
    changed(&text, "parts: 40, each: can,", "parts: 3, each: can,")
}

#[test]
fn a_bus_that_a_stage_holds_dips_until_it_follows() {
    let text = stage("lowest: 11 V", ", response: 200 us");
    // The lamps and their cable, all at once, as at 11 V; the bank from the side, less a fifth.
    let load = figure(&text, "lamp_net.load_step");
    let drawn = figure(&text, "lamps.drawn_power");
    assert!((load - drawn / 11.0).abs() < 1e-9 * load, "{load} A");
    let (farad, series, time) = (3.0 * 2.2e-3 * 0.8, 12e-3 / 3.0 + 0.1e-3, 200e-6);
    let step = 1e-8;
    let (mut charge, mut deepest) = (0.0_f64, 0.0_f64);
    for k in 0..20_000 {
        let left = load * (1.0 - f64::from(k) * step / time);
        deepest = deepest.max(charge / farad + series * left);
        charge += step * left;
    }
    let told = figure(&text, "lamp_net.dip");
    assert!((told / deepest - 1.0).abs() < 1e-3, "{told} V, in time {deepest} V");
    let of = |text: &str| {
        own(&reviewed(text)).into_iter().filter(|one| one.defect == "dip").cloned().collect::<Vec<_>>()
    };
    assert!(of(&text).iter().all(holds));
    let slow = reviewed(&stage("lowest: 11 V", ", response: 2 ms"));
    assert_eq!(finding(&slow, "dip").part, "lamp_net");
    // Without a word on how fast it follows nothing is known; nor without a bank.
    let missing = |text: &str| of(text).iter().all(|one| matches!(one.outcome, Outcome::NotJudged(_)));
    assert!(missing(&stage("lowest: 11 V", "")));
    let bank = "  lamp_bank: { kind: bank, bus: lamp_net, parts: 3, each: can, path: { inductance: 8 nH, resistance: 0.1 mohm } }\n";
    let bare = changed(&stage("lowest: 11 V", ", response: 1 ms"), bank, "");
    assert!(missing(&bare) && !of(&bare).is_empty());
}
