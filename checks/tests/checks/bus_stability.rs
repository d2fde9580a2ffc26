//! Swings of a bus against its battery: the figure against time stepping, and what the findings say.

use loadworthy_checks::verdict::{Grade, Outcome};

use crate::descriptions::{changed, defects, failing, figure, finding, holding, reviewed};

/// Swing that is left after twenty turns of the bus of the failing example, as a share of the one that it started from.
fn left(watts: f64) -> f64 {
    // 25 mΩ and 30 µH; 4 parts of 90 µF less 10 %, 1.5 mΩ for each and 0.2 mΩ for all.
    let (ohms, henry, farad, series) = (25e-3, 30e-6, 4.0 * 81e-6, 1.5e-3 / 4.0 + 0.2e-3);
    let step = 2e-8;
    let source = 300.0 + ohms * watts / 300.0;
    let (mut stored, mut amps) = (300.1, watts / 300.0);
    let mut last = 0.0f64;
    let turn = core::f64::consts::TAU * f64::sqrt(henry * farad);
    let steps = (20.0 * turn / step) as usize;
    for k in 0..steps {
        let open: f64 = stored + series * amps;
        let volts = 0.5 * (open + (open * open - 4.0 * series * watts).sqrt());
        // Current first, then the voltage with the new one: neither gains nor loses energy by itself.
        amps += step / henry * (source - ohms * amps - volts);
        stored += step / farad * (amps - watts / volts);
        if (k as f64) * step > 19.0 * turn {
            last = last.max((stored - 300.0).abs());
        }
    }
    last / 0.1
}

#[test]
fn the_limit_is_where_a_swing_neither_grows_nor_fades() {
    let most = figure(failing("bus-stability"), "link.largest_held_power");
    assert!((most / 24.9e3 - 1.0).abs() < 5e-3, "{most}");
    assert!((left(most) - 1.0).abs() < 0.05, "{}", left(most));
    assert!(left(0.9 * most) < 0.9 && left(1.1 * most) > 1.1);
    let hertz = figure(failing("bus-stability"), "link.swing_frequency");
    assert!((hertz - 1614.3).abs() < 1.0, "{hertz}");
}

/// A generator that gives 30 of the 35 kW holds its current for all that is known: nothing it feeds in damps the bus.
#[test]
fn what_is_fed_in_beside_the_battery_damps_nothing() {
    let genset = "    absorbs: true\n    precharge: { resistor: 33 ohm, energy: 200 J }\n  genset: { kind: generator, bus: link }\n";
    let text = changed(
        failing("bus-stability"),
        "    absorbs: true\n    precharge: { resistor: 33 ohm, energy: 200 J }\n",
        genset,
    );
    let text = changed(&text, "sources: { pack:", "sources: { genset: { power: 30 kW }, pack:");
    let held = figure(&text, "link.held_power");
    let alone = figure(failing("bus-stability"), "link.held_power");
    assert!((held / alone - 1.0).abs() < 1e-3 && held > 35e3, "{held} {alone}");
    assert!(figure(&text, "link.power") < 8e3);
    assert!(defects(&reviewed(&text)).contains(&("bus-stability", "growing-swing")));
}

#[test]
fn a_swing_that_control_follows_matters_more() {
    assert_eq!(defects(&reviewed(failing("bus-stability"))), [("bus-stability", "growing-swing")]);
    assert_eq!(finding(&reviewed(failing("bus-stability")), "growing-swing").grade, Grade::Minor);
    assert!(defects(&reviewed(holding("bus-stability"))).is_empty());
    let faster = changed(failing("bus-stability"), "frequency: 8 kHz", "frequency: 18 kHz");
    assert_eq!(finding(&reviewed(&faster), "growing-swing").grade, Grade::Major);
}

#[test]
fn recovery_damps_and_what_is_missing_is_named() {
    let braking = changed(failing("bus-stability"), "electrical_power: 35 kW", "electrical_power: -35 kW");
    let braking = changed(&braking, "power_factor: 0.9", "power_factor: -0.9");
    assert!(!defects(&reviewed(&braking)).contains(&("bus-stability", "growing-swing")));
    let own = |text: &str| -> Vec<bool> {
        let review = reviewed(text);
        let own = review.verdicts.iter().flatten().filter(|verdict| verdict.check == "bus-stability");
        own.map(|verdict| matches!(verdict.outcome, Outcome::NotJudged(_))).collect()
    };
    for missing in ["lowest: 25 mohm, ", "series_resistance: 1.5 mohm,", "capacitance: 90 uF, "] {
        let text = changed(failing("bus-stability"), missing, "");
        assert_eq!(own(&text), [true], "{missing}");
    }
    let named = reviewed(&changed(failing("bus-stability"), "lowest: 25 mohm, ", ""));
    let told: Vec<_> = named.not_judged.iter().map(|one| format!("{one:?}")).collect();
    assert!(told.iter().any(|told| told.contains("sources.pack.internal_resistance.lowest")), "{told:#?}");
    // A battery that says nothing of its inductance is asked nothing.
    let line =
        "    inductance: 30 uH                         # with four metres of cable, plus and minus apart\n";
    assert!(own(&changed(failing("bus-stability"), line, "")).is_empty());
}
