//! What the unluckiest of devices in parallel carries against its limits, and where nothing is said of it.

use loadworthy_checks::Review;
use loadworthy_checks::list::CHECKS;
use loadworthy_checks::verdict::{Grade, Outcome, Verdict};
use loadworthy_unit::plan::ChipKind;
use proptest::prelude::*;

use crate::core_saturation::figure;
use crate::descriptions::{changed, failing, finding, holding, repeatable, unit_with};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "parallel-sharing";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

fn whole(text: &str) -> Review {
    reviewed_with(CHECKS, text)
}

/// Verdicts of the check with one defect.
fn of<'r>(review: &'r Review, defect: &str) -> Vec<&'r Verdict> {
    review.verdicts.iter().flatten().filter(|one| one.check == NAME && one.defect == defect).collect()
}

/// The holding example with another spread of the transistors.
fn spread(share: &str) -> String {
    changed(holding(NAME), "on_voltage: 4 %", &format!("on_voltage: {share}"))
}

#[test]
fn the_example_says_what_its_page_works_out() {
    let review = whole(failing(NAME));
    let one = finding(&review, "too-hot");
    assert_eq!((one.check, one.grade, one.also_parts), (NAME, Grade::Major, 5));
    let page = listed(NAME).about().page;
    for number in ["161 °C", "148 °C", "1.23 times", "1.16", "11 %"] {
        assert!(one.facts.iter().any(|fact| fact.contains(number)), "{number}: {:?}", one.facts);
        assert!(page.contains(number), "{number}");
    }
    assert!(one.estimate.iter().any(|remark| remark.contains("spread.gate_threshold is not stated")));
}

#[test]
fn what_holds_at_three_standard_deviations_is_minor() {
    let review = reviewed(&spread("9 %"));
    let one = finding(&review, "too-hot");
    assert_eq!(one.grade, Grade::Minor, "{:?}", one.facts);
    assert_eq!(finding(&reviewed(&spread("13 %")), "too-hot").grade, Grade::Major);
}

#[test]
fn a_short_duty_point_is_minor_and_says_so() {
    let short = changed(&spread("13 %"), "lasts: continuous", "lasts: 9 s");
    let review = reviewed(&short);
    let one = finding(&review, "too-hot");
    assert_eq!(one.grade, Grade::Minor);
    assert!(
        one.estimate.iter().any(|remark| remark.starts_with("if held continuously")),
        "{:?}",
        one.estimate
    );
}

#[test]
fn one_device_has_nobody_to_share_with() {
    let review = reviewed(&holding(NAME).replace("parallel: 2", "parallel: 1"));
    assert!(review.verdicts.iter().flatten().next().is_none());
}

#[test]
fn a_spread_that_is_not_stated_is_named() {
    let text = changed(holding(NAME), "      spread: { on_voltage: 4 % }\n", "");
    let review = reviewed(&text);
    let missing: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(missing, ["devices.hb650_300.transistor.spread.on_voltage is not stated"]);
    // Four verdicts on each of six transistors; the diodes are judged.
    assert_eq!((review.counts.not_judged, review.counts.hold), (24, 24));
}

#[test]
fn where_the_mean_device_fails_nothing_is_said_again() {
    let text = changed(holding(NAME), "junction: { keep: 20 K }", "junction: { keep: 35 K }");
    let review = whole(&text);
    let failing: Vec<_> = review.findings.iter().map(|one| (one.check, one.defect)).collect();
    assert_eq!(failing, [("junction-temperature", "too-hot")]);
    assert!(of(&review, "too-hot").iter().all(|one| matches!(one.outcome, Outcome::Holds(_))));
    assert_eq!(of(&review, "too-hot").len(), 6, "the diodes");
}

#[test]
fn more_devices_are_proposed_although_nothing_is_stated_of_their_spread() {
    let one = changed(
        holding("junction-temperature"),
        "parallel: 2 }\n      low_side",
        "parallel: 1 }\n      low_side",
    );
    let one = one.replace("parallel: 2", "parallel: 1");
    let without: String =
        one.lines().filter(|line| !line.contains("spread:")).map(|line| format!("{line}\n")).collect();
    let review = whole(&without);
    let held = &finding(&review, "too-hot").proposals;
    assert!(held.iter().any(|held| held.say.starts_with("parallel: 1 -> 2")), "{held:#?}");
}

#[test]
fn what_is_proposed_holds_and_less_of_it_does_not() {
    let text = failing(NAME);
    let review = whole(text);
    let held = &finding(&review, "too-hot").proposals;
    assert!(held[0].say.starts_with("parallel: 2 -> 3"), "{held:#?}");
    assert!(held[1].say.ends_with("12 % -> 6 %"), "{held:#?}");
    for held in held {
        let set: Vec<_> = held.set.iter().map(|set| (set.path.clone(), set.written.clone())).collect();
        let again = loadworthy_checks::review(&unit_with(text, &set));
        assert!(again.findings.is_empty(), "{}: {:#?}", held.say, again.findings);
    }
    let nine = [("devices.hb650_300.transistor.spread.on_voltage".to_owned(), "9 %".to_owned())];
    assert!(!loadworthy_checks::review(&unit_with(text, &nine)).findings.is_empty());
}

#[test]
fn a_skew_of_the_thresholds_makes_it_hotter_once_all_is_stated() {
    let hottest = |text: &str| {
        let review = reviewed(text);
        let carried =
            of(&review, "too-hot").into_iter().filter_map(|one| Some(one.comparison()?.carried_value));
        (carried.fold(f64::NEG_INFINITY, f64::max), review)
    };
    let (without, _) = hottest(holding(NAME));
    let stated = changed(
        holding(NAME),
        "      spread: { on_voltage: 4 % }\n",
        "      spread: { on_voltage: 4 %, gate_threshold: 0.4 V }\n      gate: { transconductance: 120 S, resistance: 2.2 ohm, input_capacitance: 22 nF, common_inductance: 2 nH }\n",
    );
    let (with, review) = hottest(&stated);
    assert!(with > without + 0.1, "{without} {with}");
    assert!(review.verdicts.iter().flatten().all(|one| one.remarks.is_empty()));
    // A spread that is stated counts, or nobody knows by how much.
    let (_, unsure) = hottest(&changed(&stated, "transconductance: 120 S, ", ""));
    assert!(unsure.not_judged.iter().any(|one| one.missing.contains("gate.transconductance")));
    // What no data sheet says is there where a driver is described: 2 ohm for each device, and 0.2 ohm within.
    let fitted = changed(&stated, "resistance: 2.2 ohm", "internal_resistance: 0.2 ohm, charge: 1 uC");
    let (_, lacks) = hottest(&fitted);
    assert!(
        lacks.not_judged.iter().any(|one| one.missing.contains("gate.resistance")),
        "{:?}",
        lacks.not_judged
    );
    let drivers = "drives: [web_bridge.high_side, web_bridge.low_side], turn_on_resistor: 2 ohm";
    let driven = format!("{fitted}\ndrivers:\n  all: {{ {drivers} }}\n");
    let (by_driver, _) = hottest(&driven);
    assert!((by_driver - with).abs() < 1e-6, "{by_driver} {with}");
}

/// Diodes whose voltage falls steeply with temperature, on a bad path.
fn runaway() -> String {
    let text = changed(
        holding(NAME),
        "        - { junction: 150 degC, current: [75 A, 300 A], voltage: [0.98 V, 1.52 V] }",
        "        - { junction: 150 degC, current: [75 A, 300 A], voltage: [0.30 V, 0.52 V] }",
    );
    let text =
        changed(&text, "[[0.090 K/W, 8 ms], [0.150 K/W, 90 ms]]", "[[0.90 K/W, 8 ms], [0.90 K/W, 90 ms]]");
    changed(&text, "power_factor: 0.88", "power_factor: -0.7")
        .replace("electrical_power: 150 kW", "electrical_power: -100 kW")
}

#[test]
fn a_voltage_that_falls_with_temperature_has_no_stable_sharing() {
    let review = reviewed(&runaway());
    let told: Vec<_> = review.findings.iter().map(|one| (one.defect, one.grade)).collect();
    assert_eq!(told, [("no-stable-sharing", Grade::Major)], "{:#?}", review.findings);
    let one = finding(&review, "no-stable-sharing");
    assert!(one.part.ends_with("diode"), "{}", one.part);
    // Of figures that do not exist nothing else is said, neither that they hold nor that they are missing.
    assert_eq!(review.counts.not_judged, 0);
}

proptest! {
    #![proptest_config(repeatable(48))]

    #[test]
    fn the_unluckiest_never_carries_less_than_the_mean_nor_more_than_the_spread_alone_allows(
        percent in 0.5..25.0_f64,
        count in 2..6_u32,
        power in 20.0..140.0_f64,
    ) {
        let text = spread(&format!("{percent:.2} %")).replace("parallel: 2", &format!("parallel: {count}"));
        let text = text.replace("electrical_power: 150 kW", &format!("electrical_power: {power:.2} kW"));
        let unit = crate::descriptions::unit(&text);
        let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
        let lane = loadworthy_unit::LaneId::new(0);
        let (s, n) = (percent / 100.0, f64::from(count));
        let bound = n * (1.0 + s) / ((1.0 + s) + (n - 1.0) * (1.0 - s));
        // The spread of the diodes is another one.
        for chip in solved.variant.plan.chips.iter().filter(|chip| chip.kind == ChipKind::Igbt) {
            let factor = solved.figure(chip.sharing.factor, lane).expect("a factor");
            let likely = solved.figure(chip.sharing.likely_factor, lane).expect("a likely factor");
            prop_assert!(factor >= likely - 1e-9 && likely >= 1.0 - 1e-9, "{} {}", factor, likely);
            let gain = solved.figure(chip.sharing.hogging_gain, lane).expect("a gain");
            // (1 − s)·(V + r·k·I) = (1 + s)·(V + r·(n − k)/(n − 1)·I), all equally warm, is k − 1 = (bound − 1)·(1 + V/(r·I)),
            // where I is the current at which the RMS values share, I_rms²/I_avg: 0.8 of the crest in a half wave.
            // Temperatures even that out. Where the voltage falls with them, a difference is fed back, 1/(1 − g); as
            // the low device starts with less loss at the same current, and so colder, all of that is never reached.
            let knee = solved.figure(chip.figures.knee, lane).expect("a knee");
            let slope = solved.figure(chip.figures.slope, lane).expect("a slope");
            let rms = solved.figure(chip.figures.rms_current, lane).expect("a current");
            let average = solved.figure(chip.figures.average_current, lane).expect("a current");
            let decides = rms * rms / average;
            let isothermal = (bound - 1.0) * (1.0 + knee / (slope * decides));
            let most = 1.0 + isothermal / (1.0 - gain.max(0.0));
            prop_assert!(factor <= most, "{} above {} of {}", factor, most, bound);
        }
    }
}

/// The holding example with thresholds that lie apart, at a load of its machine.
fn at_load(kilowatts: f64) -> String {
    let gate = "spread: { on_voltage: 12 %, gate_threshold: 0.4 V }\n      gate: { charge: 1.5 uC, drive_on: 15 V, drive_off: -8 V, input_capacitance: 19 nF, resistance: 2.2 ohm, transconductance: 190 S, common_inductance: 4 nH }";
    let text = changed(holding(NAME), "spread: { on_voltage: 4 % }", gate);
    changed(&text, "electrical_power: 150 kW", &format!("electrical_power: {kilowatts} kW"))
}

#[test]
fn less_load_never_shares_worse() {
    // Near the knee one device may carry everything, of next to nothing.
    let mut has_failed = false;
    for kilowatts in [0.1, 0.4, 1.0, 2.5, 6.0, 12.0, 20.0, 40.0, 80.0, 120.0, 140.0, 155.0] {
        let review = reviewed(&at_load(kilowatts));
        let told: Vec<_> = review.findings.iter().map(|one| one.saying.as_str()).collect();
        assert_eq!(review.counts.not_judged, 0, "{kilowatts} kW: {:?}", review.not_judged);
        assert!(kilowatts > 100.0 || told.is_empty(), "{kilowatts} kW: {told:?}");
        assert!(!has_failed || !told.is_empty(), "{kilowatts} kW holds, and less did not");
        has_failed = !told.is_empty();
    }
    assert!(has_failed, "too much at last");
}

/// Devices of a unit that stand in parallel at one place: path, and a figure of the unluckiest beside that of the mean one.
fn beside_the_mean(text: &str) -> Vec<(String, f64, f64)> {
    let unit = crate::descriptions::unit(text);
    let mut all = Vec::new();
    for variant in &unit.variants {
        let (plan, solved) = (&variant.plan, loadworthy_unit::Solved::new(variant));
        for position in plan.stages.iter().flat_map(|stage| &stage.positions) {
            let chips = &plan.chips[position.chips.clone()];
            let at_one_place = |kind| chips.iter().filter(|chip| chip.kind == kind).count() == 1;
            for chip in chips.iter().filter(|chip| at_one_place(chip.kind)) {
                let (own, unlucky) = (&chip.figures, &chip.sharing);
                let pairs = [
                    (unlucky.loss, own.loss),
                    (unlucky.junction_temperature, own.junction_temperature),
                    (unlucky.likely_junction_temperature, own.junction_temperature),
                ];
                for (lane, (worst, mean)) in
                    variant.lane_ids().flat_map(|lane| pairs.map(|pair| (lane, pair)))
                {
                    if let (Some(worst), Some(mean)) = (solved.figure(worst, lane), solved.figure(mean, lane))
                    {
                        all.push((variant.tables.figure_path(unlucky.loss), worst, mean));
                    }
                }
            }
        }
    }
    all
}

#[test]
fn at_one_place_the_unluckiest_is_never_better_off_than_the_mean_device() {
    let examples =
        ["harbour-shuttle", "peat-harvester", "snow-groomer", "timber-forwarder", "vineyard-carrier"];
    let examples = examples.map(|name| {
        let path = format!("{}/../examples/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(path).expect("an example")
    });
    let own = CHECKS.iter().flat_map(|check| [check.about().fails, check.about().holds]);
    let mut compared = 0;
    for text in examples.iter().map(String::as_str).chain(own) {
        for (path, worst, mean) in beside_the_mean(text) {
            assert!(worst >= mean - 1e-6 * mean.abs(), "{path}: {worst} below {mean}");
            compared += 1;
        }
    }
    assert!(compared > 1000, "{compared}");
}

#[test]
fn the_unluckiest_device_stands_in_the_leg_that_carries_most() {
    // Two devices at each place of a buck of two legs, of which one carries 8 % more.
    let two = |share: &str| {
        let text = crate::core_saturation::uneven(share);
        let text = changed(&text, "fitted: mos100_4m, parallel: 1", "fitted: mos100_4m, parallel: 2");
        changed(&text, "      kind: mosfet\n", "      kind: mosfet\n      spread: { on_voltage: 8 % }\n")
    };
    let of = |text: &str, name: &str| figure(text, &format!("lamp_buck.high_side.1.transistor{name}"));
    let above = |text: &str, name: &str| of(text, name) - figure(text, "cooling.outlet");
    let even = two("    leg_imbalance: 0 %\n");
    let uneven = two("    leg_imbalance: 8 %\n");
    // More lamps, until every leg carries 8 % more than the mean of before.
    let mean = figure(&even, "lamp_buck.leg_current");
    let asked = |watts: f64| changed(&even, "power: 450 W", &format!("power: {watts} W"));
    let mut watts = 450.0 * 1.08;
    for _ in 0..4 {
        watts *= 1.08 * mean / figure(&asked(watts), "lamp_buck.leg_current");
    }
    let all = asked(watts);
    for name in ["rms_current", "peak_current", "loss"] {
        let name = format!(".unluckiest.{name}");
        let (one, alike, same) = (of(&uneven, &name), of(&all, &name), of(&even, &name));
        assert!(one / same > 1.04 && (one / alike - 1.0).abs() < 6e-3, "{name}: {one} {alike} {same}");
    }
    let name = ".unluckiest.junction_temperature";
    let (one, alike, same) = (above(&uneven, name), above(&all, name), above(&even, name));
    assert!(one / same > 1.08 && (one / alike - 1.0).abs() < 6e-3, "{one} {alike} {same}");
    // It carries its share of what a device of that leg does, and more than one of it if all were equal.
    let times = of(&uneven, ".unluckiest.current_factor");
    assert!(times > 1.0);
    let rms = of(&uneven, ".unluckiest.rms_current");
    assert!((rms / (times * of(&uneven, ".uneven_rms_current")) - 1.0).abs() < 1e-12);
    assert!(above(&uneven, name) > above(&uneven, ".uneven_junction_temperature"));
}
