//! Ripple of every kind of stage in the banks of its buses: together, divided, in either direction of power.

use loadworthy_checks::review;
use loadworthy_unit::Solved;

use crate::descriptions::{changed, defects, failing, holding, reviewed, unit};

/// A figure of a part in the first lane.
fn figure(text: &str, path: &str) -> f64 {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = variant.lane_ids().next().expect("a lane");
    let mut all = (0..variant.tables.figures().len()).map(loadworthy_unit::FigureId::new);
    let id = all.find(|&id| variant.tables.figure_path(id) == path).expect(path);
    solved.figure(id, lane).expect(path)
}

/// The holding example with a second bridge beside the first, and what it says of its carrier.
fn twins(carrier: &str) -> String {
    let text = holding("link-ripple");
    let (before, rest) = text.split_once("  wheel_bridge:\n").expect("the bridge");
    let (own, behind) = rest.split_once("\nmachines:\n").expect("machines");
    let second = own.replace("wheel_motor", "brush_motor").replace("{ frequency: 8 kHz }", carrier);
    let text = format!("{before}  wheel_bridge:\n{own}  brush_bridge:\n{second}\nmachines:\n{behind}");
    let machine =
        text.lines().find(|line| line.starts_with("  wheel_motor: { kind")).expect("a machine").to_owned();
    let text =
        changed(&text, &machine, &format!("{machine}\n{}", machine.replace("wheel_motor", "brush_motor")));
    let asked =
        text.lines().find(|line| line.starts_with("      wheel_motor: {")).expect("a demand").to_owned();
    changed(&text, &asked, &format!("{asked}\n{}", asked.replace("wheel_motor", "brush_motor")))
}

#[test]
fn unrelated_carriers_add_their_squares_and_synchronised_ones_their_currents() {
    let one = figure(holding("link-ripple"), "link.ripple_current");
    let unrelated = figure(&twins("{ frequency: 8 kHz }"), "link.ripple_current");
    assert!((unrelated / one - 2f64.sqrt()).abs() < 1e-9, "{unrelated}");
    let worst =
        figure(&twins("{ frequency: 8 kHz, synchronised_with: wheel_bridge }"), "link.ripple_current");
    assert!((worst / one - 2.0).abs() < 1e-9, "{worst}");
    let shifted = "{ frequency: 8 kHz, synchronised_with: wheel_bridge, shift: 90 deg }";
    let shifted = figure(&twins(shifted), "link.ripple_current");
    assert!(0.6 * one < shifted && shifted < unrelated, "a quarter of a period: {shifted} of {one}");
}

#[test]
fn ripple_is_the_same_whichever_way_the_power_flows() {
    let driving = figure(holding("link-ripple"), "link.ripple_current");
    let back = changed(holding("link-ripple"), "electrical_power: 35 kW", "electrical_power: -35 kW");
    let recovering = figure(&back, "link.ripple_current");
    // The drop of the devices moves the index a little.
    assert!((recovering / driving - 1.0).abs() < 0.05, "{driving} and {recovering}");
}

#[test]
fn banks_side_by_side_share_and_a_long_path_takes_less_than_its_part() {
    let bank =
        holding("link-ripple").lines().find(|line| line.contains("kind: bank")).expect("a bank").to_owned();
    let far = bank.replace("link_bank", "far_bank").replace("inductance: 10 nH", "inductance: 3 uH");
    let two = changed(holding("link-ripple"), &bank, &format!("{bank}\n{far}"));
    let (near, away) = (figure(&two, "link_bank.ripple_current"), figure(&two, "far_bank.ripple_current"));
    assert!(near > 0.0 && away > 0.0 && near > away, "{near} and {away}");
    let equal = changed(&two, "inductance: 3 uH", "inductance: 10 nH");
    let half = figure(&equal, "far_bank.ripple_current");
    assert!((2.0 * half / figure(holding("link-ripple"), "link_bank.ripple_current") - 1.0).abs() < 1e-9);
}

#[test]
fn a_bank_that_resonates_with_another_is_found() {
    // 324 µF and 81 µF around 1.7 µH resonate at 15.2 kHz, close to the 16 kHz of the bridge.
    let bank =
        holding("link-ripple").lines().find(|line| line.contains("kind: bank")).expect("a bank").to_owned();
    let far = bank.replace("link_bank", "far_bank").replace("inductance: 10 nH", "inductance: 1.7 uH");
    let far = far.replace("parts: 4", "parts: 1");
    let review = reviewed(&changed(holding("link-ripple"), &bank, &format!("{bank}\n{far}")));
    assert!(defects(&review).contains(&("link-ripple", "resonance")), "{:?}", defects(&review));
}

/// The holding example with a small bank behind so much inductance beside its own.
fn with_a_far_bank(nanohenries: u32) -> String {
    let bank =
        holding("link-ripple").lines().find(|line| line.contains("kind: bank")).expect("a bank").to_owned();
    let path = format!("inductance: {nanohenries} nH");
    let far = bank.replace("link_bank", "far_bank").replace("inductance: 10 nH", &path);
    let far = far.replace("parts: 4", "parts: 1");
    changed(holding("link-ripple"), &bank, &format!("{bank}\n{far}"))
}

#[test]
fn weaker_lines_find_a_resonance_too() {
    // 324 µF and 81 µF around 0.39 µH resonate at 31.7 kHz, close to four times the carrier.
    let text = with_a_far_bank(380);
    let review = reviewed(&text);
    assert!(defects(&review).contains(&("link-ripple", "resonance")), "{:?}", defects(&review));
    // Which two, where, and what drives them: worst where all capacitances are largest, a root of 1.1 below 31.7 kHz or near it.
    let said = &crate::descriptions::finding(&review, "resonance").saying;
    let words = [
        "`link_bank` carries",
        "sends at 32 kHz, 4 times the carrier",
        "resonates with `far_bank` at 30.8 kHz",
    ];
    assert!(words.iter().all(|word| said.contains(word)), "{said}");
    let (far, all) = (figure(&text, "far_bank.ripple_current"), figure(&text, "link.ripple_current"));
    // At twice the carrier alone it would take 0.27 of it.
    assert!(far > 0.5 * all, "{far} of {all}");
}

#[test]
fn a_tolerance_is_judged_at_both_ends_and_where_a_line_resonates_between() {
    let stated = "capacitance: 90 uF, tolerance: 10 %";
    for nanohenries in [900, 1300, 1390, 1600] {
        let text = with_a_far_bank(nanohenries);
        let with = |said: &str| {
            let text = changed(&text, stated, said);
            (figure(&text, "far_bank.ripple_current"), figure(&text, "link.largest_ripple_share"))
        };
        let loose = with(stated);
        let (mut most, mut share) = (0.0, 0.0);
        for halves in 162..=198 {
            let exact = with(&format!("capacitance: {} uF, tolerance: 0 %", f64::from(halves) / 2.0));
            (most, share) = (f64::max(most, exact.0), f64::max(share, exact.1));
        }
        assert!(loose.0 > 0.98 * most && loose.0 < 1.05 * most, "{nanohenries}: {} of {most}", loose.0);
        assert!(loose.1 > 0.98 * share && loose.1 < 1.05 * share, "{nanohenries}: {} of {share}", loose.1);
    }
}

#[test]
fn the_lowest_resistance_of_a_source_damps_its_resonance() {
    let pack = "internal_resistance: { lowest: 25 mohm, highest: 50 mohm }";
    let with = |lowest: u32, highest: u32| {
        let other = format!("internal_resistance: {{ lowest: {lowest} mohm, highest: {highest} mohm }}");
        // 324 µF and 0.4 µH resonate at 14.0 kHz, near the 16 kHz of the bridge.
        let near = changed(holding("bus-stability"), "inductance: 4 uH ", "inductance: 0.4 uH ");
        figure(&changed(&near, pack, &other), "link.largest_ripple_share")
    };
    let base = with(25, 50);
    assert!(with(5, 50) > base, "{} and {base}", with(5, 50));
    assert!((with(25, 200) / base - 1.0).abs() < 1e-12);
    let unsaid = changed(holding("bus-stability"), pack, "internal_resistance: { highest: 50 mohm }");
    let review = reviewed(&unsaid);
    let named = |one: &loadworthy_checks::review::NotJudged| {
        format!("{one:?}").contains("link-ripple") && one.missing.contains("internal_resistance.lowest")
    };
    assert!(review.not_judged.iter().any(named), "{:#?}", review.not_judged);
}

#[test]
fn what_a_data_sheet_does_not_say_is_named() {
    for (key, of) in [
        ("ripple_current: 20 A, ", "ripple_current"),
        ("series_resistance: 1.5 mohm,", "series_resistance"),
        ("hottest: 105 degC", "hottest"),
    ] {
        let text = changed(
            holding("link-ripple"),
            key,
            if key.ends_with('C') { "ripple_current: 21 A" } else { "" },
        );
        let text = if key.ends_with('C') { changed(&text, "ripple_current: 20 A, ", "") } else { text };
        let review = review(&unit(&text));
        let named =
            review.not_judged.iter().any(|one| format!("{one:?}").contains(&format!("film450_90u.{of}")));
        assert!(named, "{of}: {:#?}", review.not_judged);
    }
}

#[test]
fn a_bank_below_the_highest_voltage_of_its_bus_is_told_whatever_its_ripple() {
    let low = changed(holding("loss-of-load"), "voltage: 450 V", "voltage: 400 V");
    // Without its resistance nobody knows the ripple.
    let text = changed(&low, "series_resistance: 1.5 mohm,", "");
    let found = defects(&reviewed(&text));
    assert!(found.contains(&("link-ripple", "peak-voltage")), "{found:?}");
    // And that is all that is told of it: what the bus comes to later stands across what is rated for it.
    let of_bank = |review: &loadworthy_checks::Review| {
        review.findings.iter().filter(|one| one.part == "link_bank").map(|one| one.check).collect::<Vec<_>>()
    };
    assert_eq!(of_bank(&reviewed(&text)), ["link-ripple"]);
    assert_eq!(of_bank(&reviewed(&low)), ["link-ripple"]);
}

#[test]
fn three_capacitors_are_too_few() {
    assert_eq!(defects(&reviewed(failing("link-ripple"))), [("link-ripple", "ripple-current")]);
}

#[test]
fn carriers_in_step_have_one_frequency_or_a_whole_multiple() {
    let of = |carrier: &str| -> Vec<(String, String)> {
        let review = reviewed(&twins(carrier));
        let own = review.findings.iter().filter(|one| one.defect == "out-of-step");
        own.map(|one| (format!("{:?}", one.grade), one.saying.clone())).collect()
    };
    let beats = of("{ frequency: 9 kHz, synchronised_with: wheel_bridge }");
    assert_eq!(
        beats,
        [(
            "Minor".to_owned(),
            "`brush_bridge` at 9 kHz is called synchronised with `wheel_bridge` at 8 kHz: neither goes into the other, so \
             that they beat"
                .to_owned()
        )]
    );
    // A counter that starts another one anew after so many of its own periods keeps it in step.
    for whole in ["8 kHz", "16 kHz", "24 kHz", "2.666666667 kHz"] {
        assert_eq!(of(&format!("{{ frequency: {whole}, synchronised_with: wheel_bridge }}")), [], "{whole}");
    }
    assert_eq!(of("{ frequency: 8 kHz, synchronised_with: wheel_bridge, shift: 90 deg }"), []);
    // But a shift is one on the lines alone that both have, and nothing is taken off for it.
    let shifted = of("{ frequency: 16 kHz, synchronised_with: wheel_bridge, shift: 90 deg }");
    assert!(matches!(shifted.as_slice(), [(grade, _)] if grade == "Note"), "{shifted:?}");
    let current = |carrier: &str| figure(&twins(carrier), "link.ripple_current");
    let worst = current("{ frequency: 16 kHz, synchronised_with: wheel_bridge }");
    let with = current("{ frequency: 16 kHz, synchronised_with: wheel_bridge, shift: 90 deg }");
    assert_eq!(with.to_bits(), worst.to_bits());
}

#[test]
fn the_resistance_of_capacitors_swings_the_bus_by_the_pulses_themselves() {
    let with = |ohms: &str| {
        changed(holding("link-ripple"), "series_resistance: 1.5 mohm", &format!("series_resistance: {ohms}"))
    };
    let swing = |ohms: &str| figure(&with(ohms), "link.ripple_voltage");
    // Four cans of 600 mΩ behind a path of 0.2 mΩ; the bridge takes nothing one moment and the crest of a phase the next.
    let steps = 150.2e-3 * figure(holding("link-ripple"), "wheel_bridge.phase_current_peak");
    let (cans, charge) = (swing("600 mohm"), swing("10 uohm"));
    assert!(cans > 0.99 * steps && cans < steps + charge, "{cans} of {steps} and {charge}");
    let found = defects(&reviewed(&with("600 mohm")));
    assert!(found.contains(&("link-ripple", "ripple-voltage")), "{found:?}");
    // Nobody knows the swing of capacitors of which no resistance is stated.
    let unsaid = reviewed(&changed(holding("link-ripple"), " series_resistance: 1.5 mohm,", ""));
    assert!(is_open(&unsaid, "ripple-voltage"));
}

/// Whether a comparison of this check is not judged.
fn is_open(review: &loadworthy_checks::Review, defect: &str) -> bool {
    let mut all = review.verdicts.iter().flatten();
    all.any(|verdict| {
        verdict.check == "link-ripple"
            && verdict.defect == defect
            && matches!(verdict.outcome, loadworthy_checks::verdict::Outcome::NotJudged(_))
    })
}

#[test]
fn a_line_that_is_not_known_is_no_line_that_does_not_resonate() {
    for carrier in ["carrier: { frequency: 8 kHz }", "carrier: {}"] {
        let text = changed(holding("link-ripple"), "carrier: { frequency: 8 kHz }", carrier);
        for (from, to) in [("line_voltage: 182 V rms, ", ""), (", power_factor: 0.9", "")] {
            let review = reviewed(&changed(&text, from, to));
            assert!(is_open(&review, "resonance"), "{carrier} {from}");
        }
    }
    assert!(!is_open(&reviewed(holding("link-ripple")), "resonance"));
}

/// A film bank of 1.9 µF behind 15 nH beside four of 90 µF rings at 89 times the carrier, one of 7 µF behind 30 nH at 36 times. All of
/// them 10 % small, and stepped through time with carrier and references compared at each of 4000 steps in a period, 22 turns long,
/// the bus swings by 17.04 V and by 10.26 V; without them by 8.9 V.
#[test]
fn a_small_bank_that_rings_far_above_the_carrier_swings_the_bus() {
    let own = holding("link-ripple").lines().find(|line| line.starts_with("  link_bank: {")).expect("a bank");
    let bank = own.replace("parts: 4", "parts: 1").replace("link_bank", "small_bank");
    let bank = bank.replace("film450_90u", "small_film");
    let types = "capacitor_types:\n";
    let with = |micro: &str, nano: &str| {
        let small = format!(
            "{types}  small_film:\n    {{ capacitance: {micro} uF, tolerance: 10 %, voltage: 450 V, ripple_current: 25 A, series_resistance: 4 mohm,\n      inductance: {nano} nH, thermal_resistance: 6 K/W, hottest: 105 degC }}\n"
        );
        let text = changed(holding("link-ripple"), own, &format!("{own}\n{bank}"));
        figure(&changed(&text, types, &small), "link.ripple_voltage")
    };
    assert!(figure(holding("link-ripple"), "link.ripple_voltage") < 9.0);
    for (micro, nano, stepped) in [("1.9", "5", 17.04), ("7", "20", 10.26)] {
        let told = with(micro, nano);
        assert!((told / stepped - 1.0).abs() < 0.05, "{micro}: {told} of {stepped}");
    }
}

/// The holding example with an endurance of its capacitors and a life of its bank.
fn lasting(asked: &str, endurance: &str) -> String {
    let text = changed(
        holding("link-ripple"),
        "hottest: 105 degC }",
        &format!("hottest: 105 degC,\n      endurance: {endurance} }}"),
    );
    changed(&text, "each: film450_90u, path:", &format!("each: film450_90u, life: {asked}, path:"))
}

#[test]
fn a_bank_that_has_to_last_longer_than_it_does_is_found() {
    const ENDURANCE: &str = "{ life: 5000 h, hot_spot: 105 degC, voltage: 400 V }";
    let text = lasting("60000 h", ENDURANCE);
    let hot = figure(&text, "link_bank.hot_spot_temperature");
    let hours = figure(&text, "link_bank.life") / 3600.0;
    // Doubled for every ten kelvins.
    assert!((libm::log2(hours / 5000.0) * 10.0 - (105.0 - hot)).abs() < 1e-9, "{hours} at {hot}");
    let review = reviewed(&text);
    assert_eq!(defects(&review), [("link-ripple", "short-life")]);
    let told = crate::descriptions::finding(&review, "short-life");
    assert_eq!(
        told.saying,
        "the capacitors of `link_bank` last 34300 h at their hot spot, by a rule of thumb, and have to last 60000 h: that wears 8740 h of their endurance, 75 % above what they have of 5000 h"
    );
    assert_eq!(told.grade.word(), "minor");
    assert_eq!(defects(&reviewed(&lasting("20000 h", ENDURANCE))), []);
    assert_eq!(defects(&reviewed(&changed(&text, "life: 60000 h, path", "path"))), []);
    // What is not stated is asked for, and above its voltage nothing is known of it.
    for (without, lacks) in [
        ("{ hot_spot: 105 degC, voltage: 400 V }", "endurance.life"),
        ("{ life: 5000 h, hot_spot: 105 degC }", "endurance.voltage"),
        ("{ life: 5000 h, hot_spot: 105 degC, voltage: 200 V }", "life"),
    ] {
        let review = reviewed(&lasting("20000 h", without));
        assert!(is_open(&review, "short-life"), "{without}");
        assert!(review.not_judged.iter().any(|one| one.missing.contains(lacks)), "{:?}", review.not_judged);
    }
}

#[test]
fn a_bank_that_is_too_hot_is_not_told_of_its_life_as_well() {
    let text = lasting("60000 h", "{ life: 5000 h, hot_spot: 105 degC, voltage: 400 V }");
    let review = reviewed(&changed(&text, "inside_air: 75 degC", "inside_air: 104 degC"));
    let told = |defect: &str| review.findings.iter().any(|one| one.defect == defect);
    assert!(told("hot-spot") && !told("short-life"), "{:#?}", review.findings);
}
