//! What is missing is named, and nothing else is lost.

use std::collections::BTreeSet;

use loadworthy_unit::missing::{Cause, Reach};
use loadworthy_unit::{FigureId, LaneId, Solved, Variant};

use crate::bench::{IGBT, MOSFET, TWO_FACES, changed, figure, lane, unit};

/// Names of the causes of a missing figure.
pub(crate) fn causes(solved: &Solved<'_>, lane: LaneId, path: &str) -> BTreeSet<String> {
    let tables = &solved.variant.tables;
    let name = |cause: &Cause| match *cause {
        Cause::Input(id) => tables.input_path(id, &solved.variant.duty_of(lane).name),
        Cause::Curve(id) => tables.curve_of(id).path.clone(),
        Cause::Beyond { figure, .. } => format!("range of {}", tables.figure_path(figure)),
        Cause::NoSolution { .. } => "no solution".to_owned(),
        Cause::Undecided { .. } => "undecided".to_owned(),
    };
    solved.missing(figure(solved.variant, path), lane).iter().map(name).collect()
}

/// Ends of the paths of all figures that a lane lacks, and of those that it has.
fn lacking(variant: &Variant, solved: &Solved<'_>, lane: LaneId) -> BTreeSet<String> {
    let all = (0..variant.tables.figures().len()).map(FigureId::new);
    all.filter(|&id| solved.figure(id, lane).is_none()).map(|id| variant.tables.figure_path(id)).collect()
}

/// Removes a piece of a description and asks for figures of a duty point: what they wait for, and which others stay.
fn without(text: &str, gone: &str, duty: &str, lost: &[&str], cause: &str, kept: &[&str]) {
    let unit = unit(&changed(text, &[(gone, "")]));
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = lane(variant, duty);
    for path in lost {
        assert_eq!(solved.figure(figure(variant, path), lane), None, "{path} without `{gone}`");
        assert_eq!(
            causes(&solved, lane, path),
            BTreeSet::from([cause.to_owned()]),
            "{path} without `{gone}`"
        );
    }
    let lacking = lacking(variant, &solved, lane);
    for path in kept {
        assert!(!lacking.contains(*path), "{path} is lost without `{gone}`");
    }
}

const TRANSISTOR_IMPEDANCE: &str = "      thermal_impedance: [[0.020 K/W, 5 ms], [0.046 K/W, 80 ms]]\n";
const TERMINAL: &str =
    "  climb:\n    coolant: { inlet: 65 degC }\n    sources: { pack: { terminal: 600 V } }\n";

#[test]
fn thermal_data_take_temperatures_with_them_and_leave_the_currents() {
    let currents = [
        "drive.phase_current",
        "drive.modulation_index",
        "drive.link_ripple_current",
        "drive.high_side.u.transistor.peak_current",
        "drive.high_side.u.transistor.rms_current",
        "drive.high_side.u.diode.average_current",
        "drive.high_side.u.transistor.switching_energy",
        "cooling.capacity_rate",
        "link.voltage",
    ];
    let hot = [
        "drive.high_side.u.transistor.junction_temperature",
        "drive.loss",
        "drive.dc_power",
        "cooling.outlet",
    ];
    for (gone, cause) in [
        (TRANSISTOR_IMPEDANCE, "devices.module.transistor.thermal_impedance"),
        (
            "      thermal_impedance: [[0.035 K/W, 5 ms], [0.075 K/W, 80 ms]]\n",
            "devices.module.diode.thermal_impedance",
        ),
    ] {
        without(IGBT, gone, "climb", &hot, cause, &currents);
    }
    without(
        IGBT,
        " face_a: 0.06 K/W ",
        "climb",
        &hot,
        "cooling.elements.stack.cools.drive.face_a",
        &currents,
    );
    let currents = &currents[..7];
    without(IGBT, "  pump: { flow: 8 L/min }\n", "climb", &hot, "cooling.pump.flow", currents);
    without(
        IGBT,
        "  coolant: { kind: water_glycol, glycol: 50 % }\n",
        "climb",
        &hot,
        "cooling.coolant",
        currents,
    );
    let at_climb = "    coolant: { inlet: 65 degC }\n    sources: { pack: { terminal: 600 V } }\n    loads:\n      motor: { electrical";
    let text = changed(IGBT, &[(at_climb, &at_climb.replace("    coolant: { inlet: 65 degC }", "# here #"))]);
    without(&text, "# here #\n", "climb", &hot, "duty.climb.coolant.inlet", currents);
}

#[test]
fn what_a_duty_point_leaves_out() {
    let of_motor = "electrical_power: 70 kW, line_voltage: 330 V rms, power_factor: 0.88, frequency: 160 Hz";
    for (part, name) in [
        (", frequency: 160 Hz", "frequency"),
        (", power_factor: 0.88", "power_factor"),
        (", line_voltage: 330 V rms", "line_voltage"),
    ] {
        let text = changed(IGBT, &[(of_motor, &of_motor.replace(part, ""))]);
        let unit = unit(&text);
        let solved = Solved::new(&unit.variants[0]);
        let lane = lane(solved.variant, "climb");
        for path in ["drive.phase_current", "drive.high_side.v.diode.junction_temperature", "drive.dc_power"]
        {
            assert_eq!(
                causes(&solved, lane, path),
                BTreeSet::from([format!("duty.climb.loads.motor.{name}")]),
                "{path}"
            );
        }
    }
    let text = changed(
        IGBT,
        &[(TERMINAL, &TERMINAL.replace("    sources: { pack: { terminal: 600 V } }", "# here #"))],
    );
    let lost = ["link.voltage", "drive.modulation_index", "drive.dc_power"];
    without(
        &text,
        "# here #\n",
        "climb",
        &lost,
        "duty.climb.sources.pack.open_circuit",
        &["drive.phase_current"],
    );
}

#[test]
fn data_of_the_bridge() {
    let kept = ["drive.phase_current", "drive.high_side.u.transistor.peak_current", "link.voltage"];
    let lost = ["drive.high_side.u.transistor.junction_temperature", "drive.dc_power"];
    for (gone, cause) in [
        ("    modulation: space_vector\n", "stages.drive.modulation"),
        ("    carrier: { frequency: 8 kHz }\n", "stages.drive.carrier.frequency"),
    ] {
        without(IGBT, gone, "climb", &lost, cause, &kept);
        without(IGBT, gone, "hold", &lost, cause, &kept);
    }
    // A bridge of which nobody knows what it feeds does not rest.
    without(
        IGBT,
        "    feeds: motor\n",
        "climb",
        &["drive.phase_current", lost[0]],
        "stages.drive.feeds",
        &["link.voltage"],
    );
}

#[test]
fn curves_of_a_device() {
    let energies = "      energies: { voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], recovery: [11 mJ, 21 mJ] }\n";
    let lost = ["drive.high_side.u.diode.junction_temperature", "drive.dc_power"];
    let kept = [
        "drive.modulation_index",
        "drive.high_side.u.diode.rms_current",
        "drive.high_side.u.transistor.switching_energy",
    ];
    without(IGBT, energies, "climb", &lost, "devices.module.diode.energies", &kept);
}

#[test]
fn a_sagging_bus_names_what_its_power_waits_for() {
    let lost = ["link.voltage", "drive.dc_power", "pack.current", "drive.modulation_index"];
    let kept = ["drive.phase_current", "drive.high_side.u.transistor.peak_current"];
    without(
        IGBT,
        TRANSISTOR_IMPEDANCE,
        "sagging",
        &lost,
        "devices.module.transistor.thermal_impedance",
        &kept,
    );
    let resistance = "    internal_resistance: { lowest: 40 mohm, highest: 80 mohm }\n";
    without(IGBT, resistance, "sagging", &lost, "sources.pack.internal_resistance.highest", &kept);
    // Where the voltage is stated, the resistance is not needed.
    without(
        IGBT,
        resistance,
        "climb",
        &["pack.loss"],
        "sources.pack.internal_resistance.highest",
        &["drive.dc_power", "link.current"],
    );
}

/// The one range that a figure is asked beyond.
fn reach(text: &str, duty: &str, path: &str) -> Reach {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    let causes = solved.missing(figure(solved.variant, path), lane(solved.variant, duty));
    let reaches: Vec<Reach> = causes
        .iter()
        .filter_map(|cause| match cause {
            Cause::Beyond { reach, .. } => *reach,
            _ => None,
        })
        .collect();
    assert!(!reaches.is_empty(), "{path}: {causes:?}");
    assert!(causes.len() == reaches.len(), "{path} has other causes too: {causes:?}");
    reaches[0]
}

#[test]
fn a_voltage_beyond_one_and_a_half_times_that_of_the_energies() {
    let text = changed(IGBT, &[("terminal: 600 V", "terminal: 905 V")]);
    let reach = reach(&text, "climb", "drive.high_side.u.transistor.switching_energy");
    assert_eq!((reach.what, reach.value, reach.low, reach.high), ("voltage", 905.0, 0.0, 900.0));
}

#[test]
fn a_current_beyond_one_and_a_quarter_of_the_curve() {
    let text = changed(IGBT, &[("phase_current: 200 A rms", "phase_current: 398 A rms")]);
    let reach = reach(&text, "hold", "drive.high_side.u.transistor.switching_energy");
    assert_eq!((reach.what, reach.high), ("current", 562.5));
    assert!((reach.value - 398.0 * 2.0_f64.sqrt()).abs() < 1e-9);
}

#[test]
fn a_flow_below_half_of_the_plates() {
    let text = changed(TWO_FACES, &[("pump: { flow: 8 L/min }", "pump: { flow: 4.4 L/min }")]);
    let reach = reach(&text, "climb", "drive.high_side.u.transistor.junction_temperature");
    assert_eq!(reach.what, "flow");
    assert!((reach.value * 60_000.0 - 4.4).abs() < 1e-9 && (reach.low * 60_000.0 - 4.5).abs() < 1e-9);
}

#[test]
fn a_coolant_outside_its_properties() {
    let text = changed(MOSFET, &[("inlet: 60 degC", "inlet: -38 degC")]);
    let reach = reach(&text, "press", "drive.high_side.u.transistor.junction_temperature");
    assert_eq!((reach.what, reach.low, reach.high), ("coolant inlet", -35.0, 100.0));
}

#[test]
fn a_crest_beyond_the_curves_on_a_sagging_bus_is_what_everything_waits_for() {
    // The voltage waits for the losses, and the losses for the voltage: one way leads out of that circle.
    let text = changed(IGBT, &[("electrical_power: 70 kW", "electrical_power: 210 kW")]);
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "sagging");
    let figures = [
        "link.voltage",
        "link.power",
        "pack.current",
        "cooling.outlet",
        "drive.modulation_index",
        "drive.high_side.u.transistor.junction_temperature",
    ];
    for path in figures {
        let causes = solved.missing(figure(solved.variant, path), lane);
        assert!(!causes.is_empty(), "{path} is known");
        for cause in causes {
            let Cause::Beyond { reach: Some(reach), .. } = cause else { panic!("{path}: {cause:?}") };
            assert!(reach.what == "current" && reach.value > reach.high, "{path}: {reach:?}");
        }
    }
}
