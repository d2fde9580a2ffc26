//! Each key that a converter needs, taken away in turn: what waits for it names it.

use std::collections::BTreeSet;

use loadworthy_unit::Solved;

use crate::bench::{CHAIN, changed, lane, unit_and_problems, value};
use crate::missing::causes;

/// Takes a key of the chain away and asks why figures of the climb are missing.
#[track_caller]
fn without(from: &str, to: &str, cause: &str, lost: &[&str]) {
    let (unit, _) = unit_and_problems(&changed(CHAIN, &[(from, to)]));
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "climb");
    for path in lost {
        let found = causes(&solved, lane, path);
        assert_eq!(found, BTreeSet::from([cause.to_owned()]), "{path} without `{from}`");
    }
    // Whatever a converter lacks, what the machines take is known.
    assert!(value(&solved, lane, "traction_bridge.phase_current") > 0.0, "without `{from}`");
}

const BOOST: [&str; 3] =
    ["step_up.loss", "step_up.low_side.1.transistor.junction_temperature", "pack.current"];
const AUXILIARY: [&str; 3] =
    ["auxiliary.loss", "auxiliary.rectifier.2.transistor.junction_temperature", "pack.current"];

#[test]
fn keys_of_a_boost_and_its_choke() {
    for (from, to, cause) in [
        ("    inductor: step_up_choke\n", "", "stages.step_up.inductor"),
        ("    carrier: { frequency: 10 kHz }\n", "", "stages.step_up.carrier.frequency"),
        ("    inductance: 220 uH\n", "", "magnetics.step_up_choke.inductance"),
        ("    winding: { resistance: 6 mohm }\n", "", "magnetics.step_up_choke.winding.resistance"),
        (", step_up: { face_a: 0.05 K/W }", "", "cooling.elements.*.cools.step_up.face_a"),
        ("step_up: { face_a: 0.05 K/W }", "step_up: {}", "cooling.elements.pump_stack.cools.step_up.face_a"),
        ("    buses: { link: 620 V }\n", "", "duty.climb.buses.link"),
    ] {
        without(from, to, cause, &BOOST);
    }
    without("    low_bus: pack_bus\n", "", "stages.step_up.low_bus", &BOOST[..1]);
    without("    high_bus: link\n", "", "stages.step_up.high_bus", &BOOST[..1]);
}

#[test]
fn keys_of_a_full_bridge_its_transformer_and_its_choke() {
    for (from, cause) in [
        ("    transformer: auxiliary_transformer\n", "stages.auxiliary.transformer"),
        ("    output_inductor: auxiliary_choke\n", "stages.auxiliary.output_inductor"),
        ("    carrier: { frequency: 120 kHz }\n", "stages.auxiliary.carrier.frequency"),
        ("    turns_ratio: 4\n", "magnetics.auxiliary_transformer.turns_ratio"),
        ("    magnetising_inductance: 500 uH\n", "magnetics.auxiliary_transformer.magnetising_inductance"),
        ("    leakage_inductance: 2 uH\n", "magnetics.auxiliary_transformer.leakage_inductance"),
        ("    primary: { resistance: 30 mohm }\n", "magnetics.auxiliary_transformer.primary.resistance"),
        ("    secondary: { resistance: 2 mohm }\n", "magnetics.auxiliary_transformer.secondary.resistance"),
        ("inductance: 4 uH, ", "magnetics.auxiliary_choke.inductance"),
        (", winding: { resistance: 1 mohm }", "magnetics.auxiliary_choke.winding.resistance"),
        (", nominal: 28 V", "duty.climb.buses.board_net"),
    ] {
        without(from, "", cause, &AUXILIARY);
    }
    without("    from: pack_bus\n", "", "stages.auxiliary.from", &AUXILIARY[..1]);
    without("    to: board_net\n", "", "stages.auxiliary.to", &AUXILIARY[..1]);
}

#[test]
fn curves_of_the_devices_of_a_full_bridge() {
    let piece = |start: &str, end: &str| {
        let from = CHAIN.find(start).unwrap();
        CHAIN[from..from + CHAIN[from..].find(end).unwrap()].to_owned()
    };
    let primary = piece("  mos650_40m:\n", "  mos150_3m:\n");
    let rectifier = piece("  mos150_3m:\n", "\ncooling:\n");
    for (device, name) in [(primary, "mos650_40m"), (rectifier, "mos150_3m")] {
        for (start, end, key) in [
            ("      on_resistance:\n", "      energies:\n", "transistor.on_resistance"),
            ("      thermal_impedance:", "      ", "transistor.thermal_impedance"),
            ("      on_state:\n", "      energies:\n", "diode.on_state"),
        ] {
            let from = device.find(start).unwrap();
            let length = if end.trim().is_empty() {
                device[from..].find('\n').unwrap() + 1
            } else {
                device[from..].find(end).unwrap()
            };
            let without_key = format!("{}{}", &device[..from], &device[from + length..]);
            without(&device, &without_key, &format!("devices.{name}.{key}"), &AUXILIARY[..1]);
        }
    }
}

#[test]
fn what_a_load_a_source_and_the_coolant_leave_out() {
    without(
        "      cab_supply: { power: 1.4 kW }\n  hold:",
        "      cab_supply: {}\n  hold:",
        "duty.climb.loads.cab_supply.power",
        &["auxiliary.loss", "board_net.current"],
    );
    without(
        "    internal_resistance: { lowest: 35 mohm, highest: 65 mohm }\n",
        "",
        "sources.pack.internal_resistance.highest",
        &["pack_bus.voltage", "step_up.leg_current", "auxiliary.loss"],
    );
    without(
        "      pressure_drop: { flow: 4 L/min, pressure: 7 kPa }\n",
        "",
        "cooling.elements.pump_stack.pressure_drop",
        &[
            "cooling.stacks.right.flow",
            "pump_bridge.high_side.u.transistor.junction_temperature",
            "pack.current",
        ],
    );
}
