//! Bootstraps: what their capacitors run down by, against the charge followed from period to period.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_unit::plan::Role;
use loadworthy_unit::{LaneId, Solved};

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed, unit};

const NAME: &str = "bootstrap-refresh";

fn changed_lift(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(holding(NAME).to_owned(), |text, (from, to)| changed(&text, from, to))
}

fn lift(changes: &[(&str, &str)]) -> Review {
    reviewed(&changed_lift(changes))
}

fn verdict<'r>(review: &'r Review, defect: &str) -> &'r Verdict {
    let mut own = review.verdicts.iter().flatten();
    own.find(|one| one.check == NAME && one.defect == defect).expect("a verdict")
}

fn volts(review: &Review) -> (f64, f64) {
    let compared = verdict(review, "runs-down").comparison().copied().expect("a comparison");
    (compared.carried_value, compared.limit)
}

/// Volts that the capacitor comes down by from what it is charged towards, followed over some turns of the output, and
/// what the solver says of it beyond tolerance and drops.
fn followed(text: &str) -> (f64, f64) {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    let (plan, lane) = (&solved.variant.plan, LaneId::new(0));
    let bootstrap = &plan.bootstraps[0];
    let drive = &plan.gate_drives[bootstrap.drive];
    let stage = &plan.stages[drive.stage];
    let figures = &stage.bridge().expect("a bridge").figures;
    let figure = |figure| solved.figure(figure, lane).expect("a figure");
    let input = |input| solved.input(input, lane).expect("an input");
    let (index, turns) = (figure(figures.modulation_index), figure(figures.frequency));
    let (charge, leakage) = (figure(drive.figures.charge), figure(bootstrap.figures.current));
    let (farad, ohms) = (input(bootstrap.capacitance), input(bootstrap.resistance));
    let (period, dead) = (1.0 / input(stage.carrier), input(stage.dead_time));
    let (mut down, mut most) = (0.0, 0.0_f64);
    let periods = 5.0 / turns / period;
    let mut k = 0.0;
    while k < periods {
        let angle = core::f64::consts::TAU * turns * k * period;
        let on = 0.5 * (1.0 + loadworthy_physics::Modulation::SpaceVector.reference(index, angle));
        down += (charge + leakage * on * period) / farad;
        most = most.max(down);
        let recharge = ((1.0 - on) * period - 2.0 * dead).max(0.0);
        down *= libm::exp(-recharge / (ohms * farad));
        k += 1.0;
    }
    let fixed = 0.05 * 16.0 + 1.2 + figure(figures.device_drop).abs();
    (most, figure(bootstrap.figures.fall) - fixed)
}

#[test]
fn a_capacitor_followed_over_turns_comes_down_as_far() {
    for changes in [
        &[][..],
        &[("capacitance: 4.7 uF", "capacitance: 1 uF")],
        // The low side is left 4.6 µs at the crest: far from a whole recharge.
        &[("line_voltage: 120 V rms", "line_voltage: 185 V rms")],
        // And next to nothing at the end of the linear range.
        &[
            ("line_voltage: 120 V rms", "line_voltage: 200 V rms"),
            ("capacitance: 4.7 uF", "capacitance: 47 uF"),
        ],
    ] {
        let (followed, solved) = followed(&changed_lift(changes));
        // Where the carrier stands as the crest comes is another from turn to turn.
        assert!((0.98..1.02).contains(&(solved / followed)), "{changes:?}: {followed} {solved}");
    }
}

#[test]
fn the_worked_calculation_names_the_least_capacitance() {
    let review = reviewed(failing(NAME));
    let told = finding(&review, "runs-down");
    assert!(told.worked.iter().any(|line| line.starts_with("least capacitance 3.98")), "{:?}", told.worked);
    assert!(
        told.proposals.iter().any(|held| held.say.starts_with("capacitance: 1 µF -> 4.4 µF")),
        "{told:?}"
    );
}

#[test]
fn standing_still_within_the_linear_range_recharges_in_each_period() {
    let held = "{ phase_current: 80 A rms, frequency: 0 Hz }";
    let stalled = lift(&[(
        "{ electrical_power: 15 kW, line_voltage: 120 V rms, power_factor: 0.88, frequency: 120 Hz }",
        held,
    )]);
    assert!(matches!(verdict(&stalled, "never-recharged").outcome, Outcome::Holds(_)));
    let (fall, reserve) = volts(&stalled);
    assert!(fall < 0.8 * reserve, "{fall} of {reserve}");
}

#[test]
fn a_bridge_beyond_the_linear_range_holds_for_half_a_turn() {
    let fast = [("line_voltage: 120 V rms", "line_voltage: 260 V rms")];
    let (carried, _) = volts(&lift(&fast));
    // Half a turn at 120 Hz holds 33 periods, each with the charge of the gate: far more than a bootstrap has.
    assert!(carried > 33.0 * 1.67e-6 / 4.7e-6, "{carried}");
}

/// A step-up stage whose high side a bootstrap feeds, from a pack of so many volts onto a link of 400 V.
fn passed_through(lasts: &str, pack: &str) -> String {
    let text = holding(NAME);
    let between = |from: &str, to: &str| {
        let (start, end) = (text.find(from).expect(from), text.find(to).expect(to));
        text[start..end].to_owned()
    };
    let supplies = between("gate_supplies:\n", "drivers:\n").replace(".high_side.u", ".high_side.1");
    let supplies = {
        let (start, end) =
            (supplies.find("  upper_v:\n").expect("v"), supplies.find("  lowers:").expect("lowers"));
        format!("{}{}", &supplies[..start], &supplies[end..])
    };
    let rest = between("drivers:\n", "cooling:\n");
    format!(
        "edition: 2026\nsurroundings: {{ coldest: -25 degC, inside_air: 60 degC }}\n\
         sources:\n  pack: {{ kind: battery, bus: low, open_circuit: {{ nominal: {pack}, highest: {pack} }}, internal_resistance: {{ highest: 10 mohm }}, discharge: {{ continuous: 100 A }} }}\n\
         buses:\n  low: {{ nominal: {pack}, highest: 400 V, negative_rail: minus }}\n  link: {{ nominal: 360 V, highest: 400 V, negative_rail: minus }}\n\
         stages:\n  lift_bridge:\n    topology: boost\n    low_bus: low\n    high_bus: link\n    inductor: choke\n    carrier: {{ frequency: 8 kHz }}\n    dead_time: 2 us\n    switches:\n      high_side: {{ fitted: hb650_300 }}\n      low_side: {{ fitted: hb650_300 }}\n\
         loads: {{ heater: {{ bus: link }} }}\n\
         magnetics:\n  choke: {{ kind: choke, inductance: 500 uH, winding: {{ resistance: 2 mohm }} }}\n\
         {supplies}{rest}\
         cooling:\n  coolant: {{ kind: water_glycol, glycol: 50 % }}\n  pump: {{ flow: 8 L/min }}\n  path: [plate]\n  elements: {{ plate: {{ referred_to: outlet, cools: {{ lift_bridge: {{ face_a: 0.06 K/W }} }} }} }}\n\
         duty:\n  running:\n    lasts: {lasts}\n    coolant: {{ inlet: 60 degC }}\n    sources: {{ pack: {{ open_circuit: {pack} }} }}\n    buses: {{ link: 360 V }}\n    loads: {{ heater: {{ power: 5 kW }} }}\n"
    )
}

#[test]
fn a_boost_recharges_while_it_lifts_and_never_while_it_passes_through() {
    let lifts = reviewed(&passed_through("continuous", "200 V"));
    assert!(matches!(verdict(&lifts, "never-recharged").outcome, Outcome::Holds(_)));
    let passes = reviewed(&passed_through("continuous", "360.2 V"));
    let never = verdict(&passes, "never-recharged");
    assert!(never.fails(), "{never:?}");
    assert!(
        finding(&passes, "never-recharged")
            .no_proposal
            .as_ref()
            .is_some_and(|why| why.contains("isolated output"))
    );
    // For a second 1 mA takes 1 mC: more than 4.7 µF hold.
    let held = reviewed(&passed_through("1 s", "360.2 V"));
    assert!(matches!(verdict(&held, "never-recharged").outcome, Outcome::Holds(_)));
    let (carried, _) = volts(&held);
    assert!(carried > 1e-3 / 4.7e-6, "{carried}");
}

#[test]
fn the_diode_blocks_the_highest_bus() {
    let review = lift(&[("blocking_voltage: 650 V, leakage", "blocking_voltage: 450 V, leakage")]);
    assert_eq!(defects(&review), [(NAME, "diode")]);
    let told = finding(&review, "diode");
    assert!(told.proposals.iter().any(|held| held.say == "a diode that blocks: 450 V -> 500 V"), "{told:?}");
}

#[test]
fn a_resistance_and_a_capacitor_at_their_ends_are_judged() {
    let slow = lift(&[("resistance: 2.2 ohm", "resistance: 10 kohm")]);
    assert_eq!(defects(&slow), [(NAME, "runs-down")]);
    let large = lift(&[("capacitance: 4.7 uF", "capacitance: 1 F")]);
    assert!(large.broken_checks.is_empty() && large.counts.not_judged == 0);
    let tight = lift(&[("leakage: 1 mA", "leakage: 0 A")]);
    assert_eq!(defects(&tight), []);
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (from, to, named) in [
        ("capacitance: 4.7 uF, ", "", "bootstrap.capacitance"),
        ("resistance: 2.2 ohm, ", "", "bootstrap.resistance"),
        ("diode_drop: 1.2 V, ", "", "bootstrap.diode_drop"),
        ("blocking_voltage: 650 V, leakage", "leakage", "bootstrap.blocking_voltage"),
        (", leakage: 1 mA", "", "bootstrap.leakage"),
        ("    undervoltage: 11 V\n", "", "lift_drivers.undervoltage"),
        ("power: 3.2 W, drive_on: 16 V, ", "power: 3.2 W, ", "gate_supplies.lowers.drive_on"),
    ] {
        let review = lift(&[(from, to)]);
        assert_eq!(defects(&review), [], "{named}");
        let told =
            review.not_judged.iter().any(|one| one.checks.contains(&NAME) && one.missing.contains(named));
        assert!(told, "{named}: {:?}", review.not_judged);
    }
}

#[test]
fn a_driver_takes_its_own_power_from_the_capacitor() {
    let fall = |changes: &[(&str, &str)]| volts(&lift(changes)).0;
    // 150 mW from 16 V are 9.4 mA, more than the 1 mA of the bootstrap; a tenth of that is less.
    let (own, little, more) = (
        fall(&[]),
        fall(&[("own_power: 150 mW", "own_power: 15 mW")]),
        fall(&[("own_power: 150 mW", "own_power: 15 mW"), ("leakage: 1 mA", "leakage: 9.375 mA")]),
    );
    assert!(little < own && (own - more).abs() < 1e-9, "{little} {own} {more}");
}

/// The clamp of a forward converter that stands on the node of its main switch is fed while that conducts, and its diode blocks
/// what the clamp lifts that node to.
#[test]
fn a_clamp_is_recharged_while_its_main_switch_conducts() {
    let groomer = include_str!("../../../examples/snow-groomer.yaml");
    let own = "{ feeds: [auxiliary.clamp], power: 1 W, drive_on: 18 V, drive_off: -4 V, tolerance: 5 %,
      transformer: auxiliary_clamp_transformer, from: board_net }";
    let bootstrap = "{ feeds: [auxiliary.clamp], bootstrap_from: auxiliary_main, drive_off: 0 V,
      bootstrap: { capacitance: 1 uF, resistance: 2.2 ohm, diode_drop: 1 V, blocking_voltage: 1000 V, leakage: 1 mA } }";
    let text = changed(groomer, own, bootstrap);
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let lane = LaneId::new(0);
    let of = &solved.variant.plan.bootstraps[0].figures;
    let [on, recharge] = [of.on_time, of.recharge].map(|figure| solved.figure(figure, lane).expect("a time"));
    // The period of 90 kHz is divided among both, less a dead time of 150 ns on either side.
    assert!((on + recharge + 2.0 * 150e-9 - 1.0 / 90e3).abs() < 1e-12, "{on} and {recharge}");
    // 28 V and what the rectifiers take, over the duty, are the 607 V of the link over the turns.
    assert!((4.5e-6..5.5e-6).contains(&recharge), "{recharge}");
    let review = reviewed(&text);
    let compared = verdict(&review, "diode").comparison().copied().expect("a comparison");
    let blocks = unit.variants[0].plan.stages.iter().flat_map(|stage| &stage.withstands);
    let main = blocks.filter(|one| one.role == Role::Main).find_map(|one| solved.figure(one.blocked, lane));
    assert!((compared.carried_value - main.expect("a voltage")).abs() < 1e-6, "{compared:?}");
    assert!(compared.carried_value > 1100.0, "{compared:?}");
}

/// A charge below the lock-out is too low, and no capacitor mends that.
#[test]
fn a_charge_that_never_reaches_the_lock_out_is_told_as_that() {
    let review = lift(&[("drive_on: 16 V, drive_off: 0 V", "drive_on: 10.5 V, drive_off: 0 V")]);
    let told = finding(&review, "runs-down");
    assert!(told.saying.contains("never lifts it above 11 V"), "{}", told.saying);
    assert_eq!(told.at.label, "charged from 10.5 V");
}

/// One that lives on the output of another leg is told as that, and not by how far it would run down.
#[test]
fn a_bootstrap_on_the_wrong_output_is_not_reckoned() {
    let own = "lowers: { feeds: [lift_bridge.low_side], power: 3.2 W, drive_on: 16 V, drive_off: 0 V, tolerance: 5 % }";
    let parted = "lowers: { feeds: [lift_bridge.low_side.u, lift_bridge.low_side.v], power: 3.2 W, drive_on: 16 V, drive_off: 0 V, tolerance: 5 % }\n  lower_w: { feeds: [lift_bridge.low_side.w], power: 1.2 W, drive_on: 16 V, drive_off: 0 V, tolerance: 5 % }";
    let found = defects(&lift(&[(own, parted)]));
    assert!(found.contains(&("floating-supplies", "bootstrap")), "{found:?}");
    assert!(found.iter().all(|(check, _)| *check != NAME), "{found:?}");
}
