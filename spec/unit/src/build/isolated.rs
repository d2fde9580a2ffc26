//! A stage with a transformer.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::stages::{RectifierCircuit, Stage as Written};

use crate::build::stage::{Design, Place, rectifier_lead};
use crate::build::{Build, assumed, magnetic};
use crate::origin::Origin;
use crate::plan::{Isolated, IsolatedFigures, IsolatedInputs, IsolatedKind, Role, Topology};
use crate::table::Stated;

/// Tells that rectifiers stand in the return, where nobody says so and gate supplies rest on it.
fn own_lead(build: &mut Build<'_>, design: &Design<'_>) {
    let is_switched = design.fitted.iter().skip(2).any(|(device, _)| !device.is_diode());
    if is_switched && rectifier_lead(design.written).is_none() && !build.description.gate_supplies.is_empty()
    {
        let stated = assumed(&defaults::RECTIFIER_LEAD, design.entry.key);
        let path = format!("stages.{}.rectifier_lead", design.name);
        build.tables.input(path, Dimension::Ratio, stated);
    }
}

/// Inputs and figures of a stage with a transformer, and its positions.
pub(crate) fn isolated(build: &mut Build<'_>, design: &Design<'_>) -> (Topology, Vec<Place>) {
    let (name, at) = (design.name, design.entry.key);
    let (transformer, output, circuit, largest) = match design.written {
        Written::PhaseShiftedFullBridge(bridge) => (
            bridge.transformer.as_ref(),
            bridge.output_inductor.as_ref(),
            bridge.rectifier.as_ref().map(|circuit| (circuit.value, circuit.at)),
            None,
        ),
        Written::ActiveClampForward(forward) => (
            forward.transformer.as_ref(),
            forward.output_inductor.as_ref(),
            None,
            Some(forward.largest_duty.as_ref()),
        ),
        _ => (None, None, None, None),
    };
    let is_forward = largest.is_some();
    let kind = match (is_forward, circuit) {
        (true, _) => IsolatedKind::Forward,
        (false, Some((RectifierCircuit::CentreTap, _))) => IsolatedKind::CentreTap,
        (false, Some((RectifierCircuit::CurrentDoubler, _))) => IsolatedKind::CurrentDoubler,
        (false, None) => IsolatedKind::UnknownRectifier,
    };
    let circuit = match (is_forward, circuit) {
        (true, _) => Stated { value: 0.0, origin: Origin::Absent { near: None } },
        (false, Some((_, at))) => Stated { value: 0.0, origin: build.written(at) },
        (false, None) => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let largest = match largest {
        Some(given) => build.stated_or(given, at, &defaults::LARGEST_DUTY, |share| share.value()),
        // A phase shift ends at half a period by itself.
        None => Stated { value: 1.0, origin: Origin::Absent { near: None } },
    };
    let of = magnetic::transformer(build, name, transformer, at);
    let choke = magnetic::choke(build, name, "output_inductor", output, at);
    let output_capacitance = [0, 1].map(|seat| {
        let (path, stated) = design.fitted[seat].0.output_capacitance.clone();
        // A forward converter counts a hard turn-on without it, so nothing stands in for it.
        let is_silent = matches!(stated.origin, Origin::Absent { .. } | Origin::Assumed { .. });
        let capacitance = if is_forward && is_silent {
            Stated { value: 0.0, origin: Origin::Absent { near: None } }
        } else {
            stated
        };
        build.tables.input(path, Dimension::Capacitance, capacitance)
    });
    own_lead(build, design);
    let inputs = IsolatedInputs {
        turns_ratio: of.turns_ratio,
        magnetising: of.magnetising,
        leakage: of.leakage,
        inductance: choke.inductance,
        output_capacitance,
        largest_duty: build.tables.input(format!("stages.{name}.largest_duty"), Dimension::Ratio, largest),
        circuit: build.tables.input(format!("stages.{name}.rectifier"), Dimension::Ratio, circuit),
    };
    let mut figure = |name, dimension| build.tables.figure(design.part, name, dimension);
    let figures = IsolatedFigures {
        driven_voltage: figure("driven_voltage", Dimension::Voltage),
        effective_duty: figure("effective_duty", Dimension::Ratio),
        duty: figure(if is_forward { "duty" } else { "phase_shift" }, Dimension::Ratio),
        primary_rms: figure("primary_rms_current", Dimension::Current),
        primary_peak: figure("primary_peak_current", Dimension::Current),
        secondary_rms: figure("secondary_rms_current", Dimension::Current),
        ripple: figure("choke_ripple_current", Dimension::Current),
        choke_rms: figure("choke_rms_current", Dimension::Current),
        choke_peak: figure("choke_peak_current", Dimension::Current),
        magnetising_ripple: figure("magnetising_ripple_current", Dimension::Current),
        magnetising_peak: figure("magnetising_peak_current", Dimension::Current),
        input_ripple: figure("input_ripple_current", Dimension::Current),
        output_ripple: figure("output_ripple_current", Dimension::Current),
        rectifier_voltage: figure("rectifier_voltage", Dimension::Voltage),
        freewheel_voltage: is_forward.then(|| figure("freewheel_voltage", Dimension::Voltage)),
        switch_voltage: figure("switch_voltage", Dimension::Voltage),
        soft: figure("soft_switching", Dimension::Ratio),
    };
    (Topology::Isolated(Isolated { kind, inputs, figures }), places(is_forward))
}

fn places(is_forward: bool) -> Vec<Place> {
    let place =
        |role, seat, leg, label: Option<&str>| Place { role, seat, leg, label: label.map(str::to_owned) };
    if is_forward {
        return vec![
            place(Role::Main, 0, 0, None),
            place(Role::Clamp, 1, 0, None),
            place(Role::Forward, 2, 0, None),
            place(Role::Freewheel, 3, 0, None),
        ];
    }
    vec![
        place(Role::BridgeHigh, 0, 0, Some("a")),
        place(Role::BridgeLow, 1, 0, Some("a")),
        place(Role::BridgeHigh, 0, 1, Some("b")),
        place(Role::BridgeLow, 1, 1, Some("b")),
        place(Role::Rectifier, 2, 0, Some("1")),
        place(Role::Rectifier, 2, 1, Some("2")),
    ]
}
