//! Flux of cores: at the current until which a stage is switched off, in legs that share unevenly, and beside direct flux.

use loadworthy_checks::verdict::Outcome;
use loadworthy_unit::{FigureId, Solved};

use crate::descriptions::{changed, defects, holding, reviewed, unit};

/// The lamp supply with a trip at its choke, and what reads its current.
fn tripped(trip: f64, sensing: &str) -> String {
    let text =
        changed(holding("core-saturation"), "    turns: 6\n", &format!("    turns: 6\n    trip: {trip} A\n"));
    changed(&text, "    dead_time: 80 ns\n", &format!("    dead_time: 80 ns\n{sensing}"))
}

fn flux(text: &str) -> f64 {
    figure(text, "lamp_choke.trip_flux_density")
}

pub(crate) fn figure(text: &str, name: &str) -> f64 {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let mut ids = (0..variant.tables.figures().len()).map(FigureId::new);
    let id = ids.find(|&id| variant.tables.figure_path(id).ends_with(name));
    let lane = variant.lane_ids().next().expect("a lane");
    solved.figure(id.expect("a figure"), lane).expect("a value")
}

/// Of 3.3 µH with 10 % more, six turns and 120 mm².
fn at(amps: f64) -> f64 {
    1.1 * 3.3e-6 * amps / (6.0 * 120e-6)
}

#[test]
fn the_latest_unit_counts_and_what_its_delay_adds() {
    let sensing =
        |delay: &str| format!("    current_sensing: {{ range: 200 A, trip_tolerance: 10 %{delay} }}\n");
    let close = |found: f64, by_hand: f64| assert!((found / by_hand - 1.0).abs() < 1e-9, "{found} {by_hand}");
    // 5 % where nothing is said.
    close(flux(&tripped(60.0, "")), at(60.0 * 1.05));
    close(flux(&tripped(60.0, &sensing(""))), at(60.0 * 1.1));
    // 78 V across 3.3 µH for 0.2 µs.
    close(flux(&tripped(60.0, &sensing(", trip_delay: 200 ns"))), at(60.0 * 1.1 + 78.0 / 3.3e-6 * 200e-9));
}

#[test]
fn a_core_may_stand_the_stated_trip_and_saturate_before_the_stage_is_off() {
    let found = |text: &str| defects(&reviewed(text)).contains(&("core-saturation", "saturates-before-trip"));
    // It saturates between 0.36 T at 100 °C and 0.46 T at 25 °C: 71 A to 91 A.
    let early =
        tripped(60.0, "    current_sensing: { range: 200 A, trip_tolerance: 1 %, trip_delay: 10 ns }\n");
    assert!(!found(&early));
    let late =
        tripped(60.0, "    current_sensing: { range: 200 A, trip_tolerance: 5 %, trip_delay: 1.5 us }\n");
    assert!(found(&late));
}

#[test]
fn without_the_delay_of_its_trip_a_core_is_known_to_saturate_and_not_to_hold() {
    let verdict = |trip: f64, delay: &str| {
        let sensing = format!("    current_sensing: {{ range: 200 A, trip_tolerance: 5 %{delay} }}\n");
        let review = reviewed(&tripped(trip, &sensing));
        let mut all = review.verdicts.into_iter().flatten();
        all.find(|one| one.defect == "saturates-before-trip").expect("a verdict").outcome
    };
    assert!(matches!(verdict(60.0, ", trip_delay: 10 ns"), Outcome::Holds(_)));
    assert!(matches!(verdict(60.0, ""), Outcome::NotJudged(_)));
    assert!(matches!(verdict(120.0, ""), Outcome::Fails { .. }));
    // A sensor with a tolerance and a delay is there for a trip.
    let sensing =
        "    legs: 1\n    current_sensing: { range: 200 A, trip_tolerance: 5 %, trip_delay: 1 us }\n";
    let review = reviewed(&changed(holding("core-saturation"), "    legs: 1\n", sensing));
    assert!(review.findings.iter().any(|one| one.defect == "no-trip"), "{:#?}", review.findings);
}

/// The lamp supply with two legs that share unevenly.
pub(crate) fn uneven(share: &str) -> String {
    changed(holding("core-saturation"), "    legs: 1\n", &format!("    legs: 2\n{share}"))
}

#[test]
fn the_leg_that_carries_most_counts_for_flux_and_copper() {
    let text = uneven("    leg_imbalance: 8 %\n");
    let (peak, ripple) = (figure(&text, "choke_peak_current"), figure(&text, "choke_ripple_current"));
    let by_hand = 3.3e-6 * (1.1 * 1.08 * (peak - 0.5 * ripple) + 0.5 * ripple) / (6.0 * 120e-6);
    let found = figure(&text, "lamp_choke.flux_density");
    assert!((found / by_hand - 1.0).abs() < 1e-9, "{found} {by_hand}");
    // Its winding loses 1.08² times as much over its 3 K/W to the case, and is hottest 10 K above its mean.
    let (mean, loss) =
        (figure(&text, "lamp_choke.mean_winding_temperature"), figure(&text, "lamp_choke.winding_loss"));
    let found = figure(&text, "lamp_choke.winding_temperature");
    let by_hand = mean + 10.0 + 3.0 * loss * (1.08 * 1.08 - 1.0);
    assert!((found - by_hand).abs() < 1e-9, "{found} {by_hand}");
    // So do its chips, and the trip of its choke: 1.08 times the mean in the same duty, the ripple of all.
    let mean = peak - 0.5 * ripple;
    let crest = 1.08 * mean + 0.5 * ripple;
    let rms = |mean: f64| (mean * mean + ripple * ripple / 12.0).sqrt();
    for chip in ["lamp_buck.high_side.1.transistor", "lamp_buck.low_side.2.transistor"] {
        let (even, found) = (
            figure(&text, &format!("{chip}.peak_current")),
            figure(&text, &format!("{chip}.uneven_peak_current")),
        );
        assert!((found / even - crest / peak).abs() < 1e-9, "{chip}: {found} {even}");
        let (even, found) = (
            figure(&text, &format!("{chip}.rms_current")),
            figure(&text, &format!("{chip}.uneven_rms_current")),
        );
        assert!((found / even - rms(1.08 * mean) / rms(mean)).abs() < 1e-9, "{chip}: {found} {even}");
    }
    let found = figure(&text, "lamp_choke.largest_leg_rms_current");
    assert!((found / rms(1.08 * mean) - 1.0).abs() < 1e-9, "{found}");
    // What the stage loses does not change: another leg carries less.
    let even = uneven("    leg_imbalance: 0 %\n");
    assert!((figure(&even, "lamp_choke.winding_loss") - loss).abs() < 1e-12);
}

#[test]
fn what_legs_share_is_assumed_where_there_are_several() {
    let assumed = |text: &str| reviewed(text).assumed.iter().any(|one| one.id == "leg-imbalance");
    assert!(assumed(&uneven("")) && !assumed(&uneven("    leg_imbalance: 5 %\n")));
    assert!(!assumed(holding("core-saturation")), "one leg shares with none");
}

/// The lamp supply whose core states what direct flux adds to its loss.
fn biased(curve: &str) -> String {
    changed(
        holding("core-saturation"),
        "      to_case: 2 K/W\n",
        &format!("      bias: {curve}\n      to_case: 2 K/W\n"),
    )
}

#[test]
fn direct_flux_adds_to_the_loss_of_a_core_as_stated_and_no_further() {
    let text = biased("{ flux_density: [0 T, 0.5 T], loss: [100 %, 220 %] }");
    let (peak, ripple) = (figure(&text, "choke_peak_current"), figure(&text, "choke_ripple_current"));
    let direct = 3.3e-6 * (peak - 0.5 * ripple) / (6.0 * 120e-6);
    let found = figure(&text, "lamp_choke.direct_flux_density");
    assert!((found / direct - 1.0).abs() < 1e-9, "{found} {direct}");
    let without = figure(holding("core-saturation"), "lamp_choke.core_loss");
    let with = figure(&text, "lamp_choke.core_loss");
    // Heat moves the voltages of the stage, and with them the ripple, a little.
    assert!((with / without / (1.0 + 1.2 * direct / 0.5) - 1.0).abs() < 1e-3, "{with} {without}");
    let remarked = |text: &str| {
        let review = reviewed(text);
        let mut all = review.verdicts.iter().flatten().filter(|one| one.check == "winding-loading");
        all.any(|one| one.remarks.iter().any(|remark| remark.to_string().contains("direct flux")))
    };
    assert!(remarked(holding("core-saturation")) && !remarked(&text));
    // Beyond its points nothing is known.
    let short = reviewed(&biased("{ flux_density: [0 T, 0.01 T], loss: [100 %, 102 %] }"));
    let open: Vec<&str> = short.not_judged.iter().map(|one| one.missing.as_str()).collect();
    let is_named =
        |one: &&str| one.contains("lamp_choke.core.bias") && one.contains("at most 0.01 T, not 0.165 T");
    assert!(matches!(open.as_slice(), [one] if is_named(one)), "{open:?}");
}

#[test]
fn layers_packed_too_loosely_are_named() {
    let review = reviewed(&changed(holding("core-saturation"), "filling: 80 %", "filling: 30 %"));
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    let said = "filling is 30 %, and what follows from it is known from 60 % to 100 %";
    assert!(missing.iter().any(|one| one.contains(said)), "{missing:?}");
    let others = ["is not stated", "are not stated"];
    let named = missing.iter().filter(|one| others.iter().any(|other| one.contains(other)));
    assert_eq!(named.collect::<Vec<_>>(), Vec::<&&str>::new());
}

#[test]
fn a_softening_choke_has_the_ripple_that_its_curve_leaves() {
    let curve = "current: [0 A, 5 A, 60 A, 120 A], inductance: [3.3 uH, 3.3 uH, 1.2 uH, 0.9 uH]";
    let text = changed(
        holding("core-saturation"),
        "    turns: 6\n",
        &format!("    turns: 6\n    softening: {{ {curve} }}\n"),
    );
    let of = |name: &str| (figure(holding("core-saturation"), name), figure(&text, name));
    let (mean, ripple) = (of("lamp_buck.leg_current").1.abs(), of("lamp_buck.choke_ripple_current"));
    let henry = |amps: f64| match amps {
        _ if amps < 5.0 => 3.3e-6,
        _ if amps < 60.0 => 3.3e-6 - 2.1e-6 * (amps - 5.0) / 55.0,
        _ => 1.2e-6 - 0.3e-6 * (amps - 60.0) / 60.0,
    };
    let step = ripple.1 / 10_000.0;
    let linked: f64 =
        (0..10_000).map(|k| step * henry(mean - 0.5 * ripple.1 + step * (f64::from(k) + 0.5))).sum();
    let volt_seconds = 3.3e-6 * ripple.0;
    assert!((linked / volt_seconds - 1.0).abs() < 5e-3, "{linked} of {volt_seconds}");
    assert!(ripple.1 > 1.2 * ripple.0, "{ripple:?}");
    // What the voltages drive through the core stays what it was.
    let swing = of("lamp_choke.flux_density_swing");
    assert!((swing.1 / swing.0 - 1.0).abs() < 5e-3, "{swing:?}");
    let peak = of("lamp_buck.choke_peak_current");
    assert!((peak.1 - mean - 0.5 * ripple.1).abs() < 1e-9, "{peak:?}");
}

#[test]
fn a_trip_lets_more_through_a_choke_that_softens_on_the_way() {
    let tripped = |softening: &str| {
        let sensing =
            "    legs: 1\n    current_sensing: { range: 300 A, trip_tolerance: 5 %, trip_delay: 0.4 us }\n";
        let text = changed(holding("core-saturation"), "    legs: 1\n", sensing);
        changed(&text, "    turns: 6\n", &format!("    turns: 6\n    trip: 70 A\n{softening}"))
    };
    // 78 V over 3.3 µH for 0.4 µs, after a unit that trips at 73.5 A.
    let straight = figure(&tripped(""), "lamp_buck.tripped_current");
    assert!((straight - 73.5 - 78.0 / 3.3e-6 * 0.4e-6).abs() < 1e-9, "{straight}");
    let softens =
        tripped("    softening: { current: [0 A, 60 A, 120 A], inductance: [3.3 uH, 1.2 uH, 0.6 uH] }\n");
    let mut amps: f64 = 73.5;
    for _ in 0..40_000 {
        amps += 78.0 / (1.2e-6 - 0.01e-6 * (amps - 60.0)) * 1e-11;
    }
    let found = figure(&softens, "lamp_buck.tripped_current");
    assert!((found / amps - 1.0).abs() < 1e-4, "{found} against {amps}");
    // What flows through the core then is the area up to there.
    let linked = 0.5 * (3.3e-6 + 1.2e-6) * 60.0 + (1.2e-6 - 0.005e-6 * (found - 60.0)) * (found - 60.0);
    let density = figure(&softens, "lamp_choke.trip_flux_density");
    assert!((density / (1.1 * linked / (6.0 * 120e-6)) - 1.0).abs() < 1e-9, "{density}");
}

#[test]
fn beyond_the_curve_of_a_choke_nothing_is_judged_by_the_current_after_its_trip() {
    // 96 µVs lift a choke of 0.5 µH at 100 A further than that, and nobody knows by how much.
    let sensing =
        "    legs: 1\n    current_sensing: { range: 300 A, trip_tolerance: 5 %, trip_delay: 1.2 us }\n";
    let text = changed(holding("core-saturation"), "    legs: 1\n", sensing);
    let curve = "softening: { current: [0 A, 60 A, 100 A], inductance: [3.3 uH, 1.2 uH, 0.5 uH] }";
    let text = changed(&text, "    turns: 6\n", &format!("    turns: 6\n    trip: 70 A\n    {curve}\n"));
    let review = reviewed(&text);
    let open: Vec<_> =
        review.not_judged.iter().map(|one| (one.checks.as_slice(), one.missing.as_str())).collect();
    // From 73.5 A, of 0.96 µH, 19.4 µVs reach the end of the curve; what is left of 93.6 µVs adds 148 A at least.
    let said = "magnetics.lamp_choke: its curves cover a current of at most 100 A, not 248 A";
    assert_eq!(open, [(&["core-saturation", "trip-window"][..], said)], "{open:?}");
}

#[test]
fn densities_and_the_share_of_the_ripple_are_told() {
    let text = holding("core-saturation");
    // 400 strands of 0.071 mm.
    let copper = 400.0 * core::f64::consts::PI / 4.0 * 0.071e-3 * 0.071e-3;
    let rms = figure(text, "lamp_buck.choke_rms_current");
    let found = figure(text, "lamp_choke.winding_current_density");
    assert!((found / (rms / copper) - 1.0).abs() < 1e-12, "{found} {rms}");
    // What is stated of the copper counts before its wire.
    let stated =
        changed(text, "      resistance: 2.9 mohm\n", "      resistance: 2.9 mohm\n      area: 2 mm^2\n");
    let found = figure(&stated, "lamp_choke.winding_current_density");
    assert!((found / (rms / 2e-6) - 1.0).abs() < 1e-9, "{found} {rms}");
    let (ripple, mean) = (figure(text, "choke_ripple_current"), figure(text, "lamp_buck.leg_current"));
    let share = figure(text, "lamp_buck.choke_ripple_share");
    assert!((share - ripple / mean.abs()).abs() < 1e-12, "{share}");
}

#[test]
fn a_resistance_from_case_to_coolant_follows_the_flow_that_it_states() {
    let text = |flow: &str| {
        changed(holding("core-saturation"), "face_a: 1.5 K/W }", &format!("face_a: 1.5 K/W{flow} }}"))
    };
    let here = |flow: &str| figure(&text(flow), "high_side.1.package.face_a_resistance");
    // 4 L/min flow: measured at twice as much it grows by 2^1.1, at half as much no gain is taken.
    assert!((here(", flow: 8 L/min") / (1.5 * libm::pow(2.0, 1.1)) - 1.0).abs() < 1e-9);
    assert!((here(", flow: 2 L/min") / 1.5 - 1.0).abs() < 1e-12);
    let case = |flow: &str| {
        figure(&text(flow), "high_side.1.package.case_temperature") - figure(&text(flow), "cooling.outlet")
    };
    let heat = |flow: &str| figure(&text(flow), "high_side.1.package.heat");
    assert!(
        (case(", flow: 8 L/min") / (heat(", flow: 8 L/min") * here(", flow: 8 L/min")) - 1.0).abs() < 1e-9
    );
    assert_eq!(case("").to_bits(), case(", flow: 2 L/min").to_bits());
    // So does that of a choke.
    let choke = changed(holding("core-saturation"), "face_a: 1.2 K/W }", "face_a: 1.2 K/W, flow: 8 L/min }");
    let found = figure(&choke, "lamp_choke.face_a_resistance");
    assert!((found / (1.2 * libm::pow(2.0, 1.1)) - 1.0).abs() < 1e-9, "{found}");
    let rises = figure(&choke, "lamp_choke.case_temperature") - figure(&choke, "cooling.outlet");
    assert!((rises / (found * figure(&choke, "lamp_choke.loss")) - 1.0).abs() < 1e-9, "{rises}");
    // Less than half of it is not known, which is named once.
    let review = reviewed(&text(", flow: 9 L/min"));
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    let said =
        "cooling.elements.plate.cools.lamp_buck.face_a covers a flow of at least 4.5 L/min, not 4 L/min";
    assert_eq!(missing, [said]);
}
