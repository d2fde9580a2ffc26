//! Descriptions that are odd, incomplete or broken: none of them stops the solver, and none of them passes for more
//! than it says.

use loadworthy_unit::{Edit, FigureId, LaneState, Solved};

use crate::bench::{ALL, IGBT, MOSFET, changed, input, is_solved, lane, unit, unit_and_problems, value};

/// Solves and replays every lane of a text that may have problems, and asks why each figure is missing.
fn survives(text: &str) {
    let (unit, _) = unit_and_problems(text);
    for variant in &unit.variants {
        let solved = Solved::new(variant);
        for lane in variant.lane_ids() {
            let replay = solved.derivation(lane);
            let mut why = loadworthy_unit::Diagnosis::of(&solved, lane);
            for (k, replayed) in replay.figures.iter().enumerate() {
                let id = FigureId::new(k);
                let path = variant.tables.figure_path(id);
                let stored = solved.raw(id, lane);
                // Where there is no solution, figures of the last attempt are not given out.
                let same = !is_solved(&solved, lane)
                    || replayed.to_bits() == stored.to_bits()
                    || replayed.is_nan() && stored.is_nan();
                assert!(same, "{path}: {replayed} against {stored} in {text}");
                assert!(
                    solved.figure(id, lane).is_some() || !why.causes(id).is_empty(),
                    "no cause for {path}"
                );
            }
        }
    }
}

#[test]
fn a_description_without_any_one_of_its_lines_is_survived() {
    for text in ALL {
        let lines: Vec<&str> = text.lines().collect();
        for gone in 0..lines.len() {
            let kept = lines.iter().enumerate().filter(|&(k, _)| k != gone);
            survives(&kept.map(|(_, line)| format!("{line}\n")).collect::<String>());
        }
    }
}

#[test]
fn a_description_that_ends_early_is_survived() {
    for text in ALL {
        let lines: Vec<&str> = text.lines().collect();
        for end in 0..lines.len() {
            survives(&(lines[..end].join("\n") + "\n"));
        }
    }
}

#[test]
fn values_that_are_possible_and_absurd_are_survived() {
    for (from, to) in [
        ("flow: 8 L/min", "flow: 0 L/min"),
        ("flow: 8 L/min", "flow: 1e-9 L/min"),
        ("8 kHz", "1 Hz"),
        ("8 kHz", "1 GHz"),
        ("0.06 K/W", "1e9 K/W"),
        ("0.06 K/W", "0 K/W"),
        ("electrical_power: 70 kW", "electrical_power: 0 W"),
        ("electrical_power: 70 kW", "electrical_power: 1e12 W"),
        ("phase_current: 200 A rms", "phase_current: 0 A rms"),
        ("line_voltage: 330 V rms", "line_voltage: 1 mV rms"),
        ("terminal: 600 V", "terminal: 0 V"),
        ("open_circuit: 620 V", "open_circuit: 0 V"),
        ("highest: 80 mohm", "highest: 1e9 ohm"),
        ("210 uH", "1e-20 H"),
        ("frequency: 160 Hz", "frequency: 1e-9 Hz"),
        ("inlet: 65 degC", "inlet: -273 degC"),
        ("{ fitted: module }", "{ fitted: module, parallel: 64 }"),
        ("5 ms", "0 s"),
    ] {
        survives(&changed(IGBT, &[(from, to)]));
    }
}

#[test]
fn without_flow_nothing_can_be_cooled() {
    // A description of no flow is refused; a trial of it has no solution.
    let unit = unit(MOSFET);
    let variant = &unit.variants[0];
    let still = Edit { input: input(variant, "cooling.pump.flow"), value: 0.0 };
    let solved = &Solved::with(variant, &[vec![still]])[0];
    let LaneState::NoSolution { at, .. } = solved.state(lane(solved.variant, "press")) else {
        panic!("cools by nothing")
    };
    assert_eq!(solved.variant.path(at), "cooling");
}

#[test]
fn a_bridge_that_rests_loses_nothing_and_takes_the_temperature_of_its_coolant() {
    let unit = unit(IGBT);
    let solved = Solved::new(&unit.variants[0]);
    let rest = lane(solved.variant, "rest");
    assert!(is_solved(&solved, rest));
    for path in
        ["drive.loss", "drive.phase_current", "drive.dc_power", "drive.link_ripple_current", "link.power"]
    {
        assert!(value(&solved, rest, path).abs() < 1e-300, "{path}");
    }
    assert!((value(&solved, rest, "drive.low_side.w.diode.junction_temperature") - 65.0).abs() < 1e-12);
}

#[test]
fn the_rating_at_the_hotter_of_two_cases_decides() {
    let text = changed(
        crate::bench::TWO_FACES,
        &[("face_b: 0.08 K/W", "face_b: 0.5 K/W"), ("at_case: 80 degC", "at_case: 60 degC")],
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "climb");
    let hotter = value(&solved, lane, "drive.package.u.case_b_temperature");
    assert!(hotter > value(&solved, lane, "drive.package.u.case_a_temperature"));
    let rated = value(&solved, lane, "drive.high_side.u.transistor.rated_current");
    // The line at 175 °C through 225 A and 450 A, continued from the two curves: both currents make the same junction.
    let volts = |i: f64| {
        let (cool, hot) = (1.05 + 0.60 / 350.0 * (i - 100.0), 1.10 + 0.80 / 350.0 * (i - 100.0));
        hot + (hot - cool) * 25.0 / 125.0
    };
    let share = volts(rated) * rated / (volts(450.0) * 450.0);
    assert!((share - (175.0 - hotter) / (175.0 - 60.0)).abs() < 1e-9, "{share}");
}
