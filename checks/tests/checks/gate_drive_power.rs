//! What gate supplies give, and whether their voltages suit the gates.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Comparison, Grade, Outcome, Verdict};

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed};

const NAME: &str = "gate-drive-power";

fn grinder(changes: &[(&str, &str)]) -> Review {
    let text = changes.iter().fold(holding(NAME).to_owned(), |text, (from, to)| changed(&text, from, to));
    reviewed(&text)
}

/// Comparisons of one kind, in the order of the gates: upper u, lowers, upper v and w.
fn compared(review: &Review, defect: &str) -> Vec<Comparison> {
    let own = review.verdicts.iter().flatten();
    let own = own.filter(|one| one.check == NAME && one.defect == defect);
    own.map(|one| one.comparison().copied().expect("a comparison")).collect()
}

/// Watts that the output of the lower gates gives, its power and what is left of it.
fn lowers(review: &Review) -> (f64, f64, f64) {
    let all = compared(review, "power");
    let most = all.into_iter().max_by(|one, other| one.carried_value.total_cmp(&other.carried_value));
    let most = most.expect("an output");
    (most.carried_value, most.limit, most.allowed)
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9 * other.abs()
}

#[test]
fn each_gate_takes_its_charge_once_a_period_and_each_driver_its_own() {
    let (carried, limit, allowed) = lowers(&reviewed(failing(NAME)));
    assert!(near(carried, 3.0 * (2.4e-6 * 23.0 * 8e3 + 0.15)), "{carried}");
    assert!(near(limit, 2.0) && near(allowed, 1.5));
    let (faster, ..) =
        lowers(&grinder(&[("carrier: { frequency: 8 kHz }", "carrier: { frequency: 4 kHz }")]));
    assert!(near(faster, 3.0 * (2.4e-6 * 23.0 * 4e3 + 0.15)), "{faster}");
}

#[test]
fn the_charge_is_scaled_with_the_swing_and_counted_for_each_device() {
    let (carried, ..) = lowers(&grinder(&[("drive_off: -8 V, tol", "drive_off: -4 V, tol")]));
    assert!(near(carried, 3.0 * (2.4e-6 * (19.0 / 23.0) * 19.0 * 8e3 + 0.15)), "{carried}");
    let (carried, ..) = lowers(&grinder(&[("parallel: 1", "parallel: 3")]));
    assert!(near(carried, 3.0 * (3.0 * 2.4e-6 * 23.0 * 8e3 + 0.15)), "{carried}");
}

#[test]
fn what_bootstraps_take_comes_from_what_charges_them() {
    let review = reviewed(holding("bootstrap-refresh"));
    let all = compared(&review, "power");
    assert_eq!(all.len(), 1, "a bootstrap has no power of its own");
    let gate = 2.4e-6 * (16.0 / 23.0) * 16.0 * 8e3 + 0.15;
    assert!(near(all[0].carried_value, 6.0 * gate), "{}", all[0].carried_value);
}

#[test]
fn devices_in_parallel_draw_their_current_together_unless_they_share_a_resistor() {
    let crest = |changes: &[(&str, &str)]| compared(&grinder(changes), "driver-current")[0].carried_value;
    assert!(near(crest(&[]), 23.0 / 4.3));
    assert!(near(crest(&[("parallel: 1", "parallel: 2")]), 2.0 * 23.0 / 4.3));
    let shared = [("parallel: 1", "parallel: 2"), ("resistor_for_each: true", "resistor_for_each: false")];
    assert!(near(crest(&shared), 23.0 / 3.8));
    // The smaller of both resistors counts.
    assert!(near(crest(&[("turn_off_resistor: 3.3 ohm", "turn_off_resistor: 1 ohm")]), 23.0 / 2.0));
    assert!(near(crest(&[("turn_on_resistor: 3.3 ohm", "turn_on_resistor: 1 ohm")]), 23.0 / 2.0));
}

#[test]
fn voltages_stand_against_what_the_gate_bears_and_the_driver_wants() {
    for (from, to, defect, grade, carried, allowed) in [
        ("highest: 20 V", "highest: 15.5 V", "above-highest", Grade::Major, 15.75, 15.5),
        ("lowest: -20 V", "lowest: -8.2 V", "below-lowest", Grade::Major, 8.4, 8.2),
        ("undervoltage: 11.5 V", "undervoltage: 14.5 V", "locked-out", Grade::Major, 0.75, 0.5),
        ("peak_current: 8 A", "peak_current: 5 A", "driver-current", Grade::Minor, 23.0 / 4.3, 5.0),
    ] {
        let review = grinder(&[(from, to)]);
        assert_eq!(defects(&review), [(NAME, defect)]);
        let worst = finding(&review, defect);
        assert_eq!(worst.grade, grade, "{defect}");
        assert!(!worst.proposals.is_empty(), "{defect}: {:?}", worst.no_proposal);
        let compared = compared(&review, defect)[0];
        assert!(near(compared.carried_value, carried), "{defect}: {}", compared.carried_value);
        assert!(near(compared.allowed, allowed), "{defect}: {}", compared.allowed);
    }
}

#[test]
fn on_state_figures_hold_near_their_own_gate_voltage() {
    // 14 V within 5 % come down to 13.3 V, 1.7 V below the 15 V of the curves, of which a tenth is allowed.
    let review = grinder(&[("drive_on: 15 V, drive_off: -8 V, tol", "drive_on: 14 V, drive_off: -8 V, tol")]);
    assert_eq!(defects(&review), [(NAME, "low-level")]);
    let compared = compared(&review, "low-level")[0];
    assert!(near(compared.carried_value, 1.7) && near(compared.allowed, 1.5), "{compared:?}");
    let proposals = &finding(&review, "low-level").proposals;
    assert!(proposals.iter().any(|held| held.say.contains("14 V -> 14.3 V")), "{proposals:?}");
}

#[test]
fn a_lock_out_below_the_saturation_of_the_channel_comes_too_late() {
    // 40 kW at 205 V and 0.88: a crest of 181 A, for which a channel of 190 S wants 1.9 V beyond 5.8 V.
    let review = grinder(&[("undervoltage: 11.5 V", "undervoltage: 7.5 V")]);
    assert_eq!(defects(&review), [(NAME, "late-lock-out")]);
    let level = compared(&review, "late-lock-out")[0].carried_value;
    let crest = 40e3 / (3f64.sqrt() * 205.0 * 0.88) * 2f64.sqrt();
    assert!((level - (5.8 + 2.0 * crest / 190.0)).abs() < 1e-6, "{level}");
    assert!(!finding(&review, "late-lock-out").proposals.is_empty());
}

#[test]
fn a_channel_that_no_gate_voltage_opens_far_enough_is_never_full() {
    // A crest of 181 A takes 5.8 V and 2 · 181 A / 30 S beyond: 17.9 V, and the gate may stay at 15 V less 5 %.
    let review = grinder(&[("transconductance: 190 S", "transconductance: 30 S")]);
    assert_eq!(defects(&review), [(NAME, "never-full")]);
    let found = compared(&review, "never-full")[0];
    let crest = 40e3 / (3f64.sqrt() * 205.0 * 0.88) * 2f64.sqrt();
    assert!((found.carried_value - (5.8 + 2.0 * crest / 30.0)).abs() < 1e-6, "{found:?}");
    assert!((found.limit - 0.95 * 15.0).abs() < 1e-9, "{found:?}");
    let told = finding(&review, "never-full");
    assert!(told.grade == Grade::Major && told.saying.contains("is never fully on"), "{told:?}");
    // What it loses is solved as of one that is, and every junction of such a transistor says so, no diode's.
    let junctions = |review: &Review| {
        let all = review.verdicts.iter().flatten().filter(|one| one.defect == "too-hot");
        let says = |one: &&Verdict| {
            one.remarks.iter().any(|remark| remark.to_string().contains("solved as fully on"))
        };
        let (low, others): (Vec<_>, Vec<_>) = all.partition(says);
        (low.len(), others.len())
    };
    let (low, others) = junctions(&review);
    assert!(low > 0 && low == others, "{low} of {}", low + others);
    assert_eq!(junctions(&grinder(&[])).0, 0);
}

#[test]
fn values_at_their_ends_are_judged() {
    for (from, to) in [
        ("tolerance: 5 %", "tolerance: 0 %"),
        ("own_power: 150 mW", "own_power: 0 W"),
        ("power: 2.4 W", "power: 200 W"),
        ("turn_on_resistor: 3.3 ohm", "turn_on_resistor: 1 Mohm"),
        ("peak_current: 8 A", "peak_current: 300 A"),
    ] {
        let review = grinder(&[(from, to)]);
        assert_eq!(defects(&review), [], "{to}");
        assert_eq!(review.counts.not_judged, 0, "{to}: {:?}", review.not_judged);
    }
    // No resistance at all in the loop of a gate: more current than any driver gives.
    let shorted = grinder(&[
        ("turn_on_resistor: 3.3 ohm", "turn_on_resistor: 0 ohm"),
        ("internal_resistance: 1 ohm", "internal_resistance: 0 ohm"),
    ]);
    assert!(shorted.broken_checks.is_empty());
    assert!(
        defects(&shorted).is_empty() && shorted.counts.not_judged > 0
            || defects(&shorted).contains(&(NAME, "driver-current"))
    );
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (from, to, named) in [
        ("        charge: 2.4 uC\n", "", "gate.charge"),
        ("        highest: 20 V\n", "", "gate.highest"),
        ("        lowest: -20 V\n", "", "gate.lowest"),
        ("        threshold: 5.8 V\n", "", "gate.threshold"),
        ("        transconductance: 190 S\n", "", "gate.transconductance"),
        ("    own_power: 150 mW\n", "", "grinder_drivers.own_power"),
        ("    undervoltage: 11.5 V\n", "", "grinder_drivers.undervoltage"),
        ("], power: 2.4 W,", "],", "gate_supplies.lowers.power"),
        ("power: 2.4 W, drive_on: 15 V,", "power: 2.4 W,", "gate_supplies.lowers.drive_on"),
        ("    peak_current: 8 A\n", "", "peak_current"),
    ] {
        let review = grinder(&[(from, to)]);
        assert_eq!(defects(&review), [], "{named}");
        let told =
            review.not_judged.iter().any(|one| one.checks.contains(&NAME) && one.missing.contains(named));
        assert!(told, "{named}: {:?}", review.not_judged);
    }
}

/// The description without its drivers.
fn undriven() -> String {
    let text = holding(NAME);
    let (start, end) = (text.find("drivers:\n").expect("drivers"), text.find("devices:\n").expect("devices"));
    format!("{}{}", &text[..start], &text[end..])
}

#[test]
fn gates_without_a_driver_are_told_once_for_their_stage() {
    let review = reviewed(&undriven());
    let own = |one: &&Verdict| one.check == NAME;
    let verdicts: Vec<&Verdict> = review.verdicts.iter().flatten().filter(own).collect();
    assert!(
        matches!(verdicts.as_slice(), [one] if matches!(one.outcome, Outcome::NotJudged(_))),
        "{verdicts:?}"
    );
    let [line] = review.not_judged.as_slice() else { panic!("{:?}", review.not_judged) };
    assert_eq!(line.missing, "drivers is not stated");
    assert_eq!(line.checks, ["dead-time", "false-turn-on", "gate-drive-power", "short-circuit-response"]);
}

#[test]
fn who_says_only_what_feeds_what_is_not_asked() {
    let only_feeds = undriven()
        .replace(", power: 1 W, drive_on: 15 V, drive_off: -8 V, tolerance: 5 %", "")
        .replace(", power: 2.4 W, drive_on: 15 V, drive_off: -8 V, tolerance: 5 %", "");
    let review = reviewed(&only_feeds);
    assert!(review.verdicts.iter().flatten().all(|one| one.check != NAME));
    assert_eq!(review.counts.not_judged, 0, "{:?}", review.not_judged);
}

#[test]
fn a_supply_that_could_not_be_fed_is_no_pass() {
    let text = changed(
        holding(NAME),
        "  upper_v: { feeds: [grinder_bridge.high_side.v],",
        "  upper_v: { feeds: [grinder_bridge.high_side.u],",
    );
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "doubled").expect("two outputs on one gate");
    let waits = |fact: &String| fact.starts_with("not judged for want of it: ") && fact.contains(NAME);
    assert!(told.facts.iter().any(waits) && review.counts.not_judged > 0, "{told:#?}");
}

#[test]
fn an_output_below_the_lock_out_never_turns_its_gate_on() {
    let shuttle = include_str!("../../../examples/harbour-shuttle.yaml");
    let own = "feeds: [front_bridge.high_side.u], power: 1.5 W, drive_on: ";
    let review = reviewed(&changed(shuttle, &format!("{own}18 V"), &format!("{own}10 V")));
    let is_known = |(check, _): &(&str, &str)| matches!(*check, "control-cover" | "stored-energy");
    let found: Vec<_> = defects(&review).into_iter().filter(|one| !is_known(one)).collect();
    assert_eq!(found, [(NAME, "locked-out")]);
    let told = finding(&review, "locked-out");
    assert_eq!(
        told.saying,
        "`front_bridge.high_side.u` never turns on: its output gives 10 V, and its driver blocks the gate below 13.5 V"
    );
    assert_eq!(told.comparison, None);
    // What turns it on is a level that its figures hold at as well.
    assert_eq!(told.proposals.first().map(|held| held.say.as_str()), Some("on voltage: 10 V -> 17.1 V"));
}

#[test]
fn energies_count_near_the_resistance_that_they_hold_at() {
    let inside = "        internal_resistance: 1 ohm\n";
    let with = |ohms: &str| grinder(&[(inside, &format!("{inside}        resistance: {ohms}\n"))]);
    // 4.3 ohm are fitted, inside and outside.
    assert_eq!(defects(&with("4.1 ohm")), []);
    assert_eq!(defects(&with("4.5 ohm")), []);
    // 4.3/3.44 = 1.25.
    for (ohms, does) in [
        ("3.44 ohm", "each edge may lose up to 1.25 times what is solved"),
        ("4.09 ohm", "each edge may lose up to 1.05 times what is solved"),
        ("6 ohm", "are steeper than is solved"),
    ] {
        let review = with(ohms);
        assert_eq!(defects(&review), [(NAME, "other-resistor")], "{ohms}");
        let told = finding(&review, "other-resistor");
        assert!(told.grade == Grade::Minor && told.saying.contains(does), "{told:?}");
    }
}

/// Energies that state the resistor they were measured with are held against it and what is inside; 1 ohm is.
#[test]
fn energies_may_state_a_resistor_of_their_own() {
    let inside = "        internal_resistance: 1 ohm\n";
    let with = |outside: &str, more: &str| {
        let energies = format!("turn_on: [3.0 mJ, 6.5 mJ], gate_resistor: {outside},");
        grinder(&[("turn_on: [3.0 mJ, 6.5 mJ],", &energies), (inside, &format!("{inside}{more}"))])
    };
    // 3.3 ohm are fitted outside.
    assert_eq!(defects(&with("3.3 ohm", "")), []);
    // What stands for gate and times says nothing of energies any more.
    assert_eq!(defects(&with("3.3 ohm", "        resistance: 3.4 ohm\n")), []);
    let review = with("2 ohm", "");
    assert_eq!(defects(&review), [(NAME, "other-resistor")]);
    let factor = compared(&review, "other-resistor")[0].carried_value;
    assert!((factor - 4.3 / 3.0).abs() < 1e-9, "{factor}");
    let told = finding(&review, "other-resistor");
    assert!(told.saying.contains("the energies of its device hold at 3 Ω"), "{told:?}");
}

/// What runs a bootstrap down comes from the output that charges it: 60 mA at 12 V are 0.72 W, of which the driver's 60 mW are counted
/// already, and 3 nC at 12 V in each period of 120 kHz are 4.32 mW.
#[test]
fn what_a_bootstrap_leaks_comes_from_what_charges_it() {
    const CARRIER: &str = include_str!("../../../examples/vineyard-carrier.yaml");
    let charges = |leaks: &str| {
        let text = changed(CARRIER, "leakage: 1 mA }", leaks);
        let unit = crate::descriptions::unit(&text);
        let variant = &unit.variants[0];
        let solved = loadworthy_unit::Solved::new(variant);
        let feed = variant
            .plan
            .gate_feeds
            .iter()
            .find(|feed| variant.path(variant.plan.gate_supplies[feed.supply].part) == "lamp_low");
        let lane = variant.lane_ids().next().expect("a lane");
        solved.figure(feed.expect("lamp_low feeds").asked, lane).expect("solved")
    };
    let little = charges("leakage: 1 mA }");
    assert!((charges("leakage: 60 mA }") - little - 0.66).abs() < 1e-9);
    assert!((charges("leakage: 60 mA, shift_charge: 3 nC }") - little - 0.66432).abs() < 1e-9);
}
