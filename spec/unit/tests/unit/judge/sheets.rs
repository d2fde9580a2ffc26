//! Devices of the judged units, as a description states them and as plain numbers beside it.

use crate::waveform::Sheet;

/// A device twice: in a description, and as the judge reads it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Device {
    pub(crate) name: &'static str,
    pub(crate) text: &'static str,
    pub(crate) sheet: Sheet,
    /// From junction to case: transistor, diode.
    pub(crate) to_case: [f64; 2],
}

/// Two IGBTs with their diodes in one package.
pub(crate) const MODULE: Device = Device {
    name: "module",
    text: "
  module:
    package: { circuit: half_bridge, cooled_faces: 1 }
    transistor:
      kind: igbt
      junction_limit: 175 degC
      on_state:
        - { junction: 25 degC, current: [100 A, 450 A], voltage: [1.05 V, 1.65 V] }
        - { junction: 150 degC, current: [100 A, 450 A], voltage: [1.10 V, 1.90 V] }
      energies: { voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], turn_on: [13 mJ, 36 mJ], turn_off: [17 mJ, 45 mJ] }
      thermal_impedance: [[0.020 K/W, 5 ms], [0.046 K/W, 80 ms]]
    diode:
      on_state:
        - { junction: 25 degC, current: [100 A, 450 A], voltage: [1.20 V, 1.75 V] }
        - { junction: 150 degC, current: [100 A, 450 A], voltage: [1.00 V, 1.60 V] }
      energies: { voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], recovery: [11 mJ, 21 mJ] }
      thermal_impedance: [[0.035 K/W, 5 ms], [0.075 K/W, 80 ms]]",
    sheet: crate::whole_unit::MODULE,
    to_case: [0.066, 0.110],
};

/// A MOSFET for the link.
pub(crate) const CHIP: Device = Device {
    name: "chip",
    text: "
  chip:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: mosfet
      junction_limit: 175 degC
      on_resistance:
        - { junction: 25 degC, resistance: 9 mohm }
        - { junction: 100 degC, resistance: 11 mohm }
        - { junction: 175 degC, resistance: 15 mohm }
      energies: { voltage: 500 V, junction: 25 degC, current: [20 A, 60 A, 120 A], turn_on: [0.35 mJ, 0.80 mJ, 1.90 mJ], turn_off: [0.10 mJ, 0.35 mJ, 0.95 mJ] }
      thermal_impedance: [[0.09 K/W, 2 ms], [0.13 K/W, 30 ms]]
    diode:
      on_state:
        - { junction: 25 degC, current: [20 A, 120 A], voltage: [3.1 V, 4.2 V] }
        - { junction: 175 degC, current: [20 A, 120 A], voltage: [2.7 V, 3.9 V] }
      energies: { voltage: 500 V, junction: 25 degC, current: [20 A, 120 A], recovery: [0.06 mJ, 0.20 mJ] }",
    sheet: crate::whole_unit::CHIP,
    to_case: [0.22; 2],
};

/// A diode without a switch.
pub(crate) const DIODE: Device = Device {
    name: "plain_diode",
    text: "
  plain_diode:
    package: { circuit: single, cooled_faces: 1 }
    diode:
      junction_limit: 175 degC
      on_state:
        - { junction: 25 degC, current: [10 A, 40 A, 90 A], voltage: [1.0 V, 1.35 V, 1.9 V] }
        - { junction: 175 degC, current: [10 A, 40 A, 90 A], voltage: [0.85 V, 1.6 V, 2.8 V] }
      energies: { voltage: 600 V, junction: 150 degC, current: [20 A, 80 A], recovery: [0.4 mJ, 1.1 mJ] }
      thermal_impedance: [[0.15 K/W, 2 ms], [0.30 K/W, 30 ms]]",
    sheet: Sheet {
        is_mosfet: false,
        forward: &[],
        diode: &[
            (25.0, &[(10.0, 1.0), (40.0, 1.35), (90.0, 1.9)]),
            (175.0, &[(10.0, 0.85), (40.0, 1.6), (90.0, 2.8)]),
        ],
        turn_on: &[],
        turn_off: &[],
        recovery: &[(20.0, 0.4e-3), (80.0, 1.1e-3)],
        measured: (600.0, 150.0),
        scale: [(1.0, 0.0), (0.6, 0.006)],
    },
    to_case: [0.45; 2],
};

/// A MOSFET for the primary of a transformer.
pub(crate) const PRIMARY: Device = Device {
    name: "primary_chip",
    text: "
  primary_chip:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: mosfet
      junction_limit: 150 degC
      on_resistance:
        - { junction: 25 degC, resistance: 40 mohm }
        - { junction: 125 degC, resistance: 72 mohm }
      energies:
        { voltage: 400 V, junction: 25 degC, current: [5 A, 30 A], turn_on: [20 uJ, 110 uJ], turn_off: [8 uJ, 60 uJ] }
      thermal_impedance: [[0.2 K/W, 1 ms], [0.4 K/W, 20 ms]]
      output_capacitance: 150 pF
    diode:
      on_state:
        - { junction: 25 degC, current: [5 A, 40 A], voltage: [1.2 V, 1.8 V] }
        - { junction: 125 degC, current: [5 A, 40 A], voltage: [1.1 V, 1.7 V] }
      energies: { voltage: 400 V, junction: 25 degC, current: [5 A, 30 A], recovery: [5 uJ, 15 uJ] }",
    sheet: Sheet {
        is_mosfet: true,
        forward: &[(25.0, &[(0.0, 0.0), (1.0, 40e-3)]), (125.0, &[(0.0, 0.0), (1.0, 72e-3)])],
        diode: &[(25.0, &[(5.0, 1.2), (40.0, 1.8)]), (125.0, &[(5.0, 1.1), (40.0, 1.7)])],
        turn_on: &[(5.0, 20e-6), (30.0, 110e-6)],
        turn_off: &[(5.0, 8e-6), (30.0, 60e-6)],
        recovery: &[(5.0, 5e-6), (30.0, 15e-6)],
        measured: (400.0, 25.0),
        scale: [(1.2, 0.0005), (0.6, 0.006)],
    },
    to_case: [0.6; 2],
};

/// A MOSFET for a rectifier.
pub(crate) const RECTIFIER: Device = Device {
    name: "rectifier_chip",
    text: "
  rectifier_chip:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: mosfet
      junction_limit: 175 degC
      on_resistance:
        - { junction: 25 degC, resistance: 3 mohm }
        - { junction: 150 degC, resistance: 5.6 mohm }
      energies: { voltage: 75 V, junction: 25 degC, current: [20 A, 100 A], turn_on: [5 uJ, 40 uJ], turn_off: [4 uJ, 35 uJ] }
      thermal_impedance: [[0.15 K/W, 1 ms], [0.35 K/W, 20 ms]]
    diode:
      on_state:
        - { junction: 25 degC, current: [10 A, 150 A], voltage: [0.7 V, 0.95 V] }
        - { junction: 150 degC, current: [10 A, 150 A], voltage: [0.5 V, 0.85 V] }
      energies: { voltage: 75 V, junction: 25 degC, current: [20 A, 100 A], recovery: [3 uJ, 9 uJ] }",
    sheet: Sheet {
        is_mosfet: true,
        forward: &[(25.0, &[(0.0, 0.0), (1.0, 3e-3)]), (150.0, &[(0.0, 0.0), (1.0, 5.6e-3)])],
        diode: &[(25.0, &[(10.0, 0.7), (150.0, 0.95)]), (150.0, &[(10.0, 0.5), (150.0, 0.85)])],
        turn_on: &[(20.0, 5e-6), (100.0, 40e-6)],
        turn_off: &[(20.0, 4e-6), (100.0, 35e-6)],
        recovery: &[(20.0, 3e-6), (100.0, 9e-6)],
        measured: (75.0, 25.0),
        scale: [(1.2, 0.0005), (0.6, 0.006)],
    },
    to_case: [0.5; 2],
};
