//! Writes descriptions of large units: islands that are alike, in one coolant loop. They state what the checks ask for, so
//! that what is measured is judging rather than telling what is missing.

use std::fmt::Write as _;

/// Stages of an island: a boost, three bridges, an isolated supply.
const STAGES: usize = 5;

/// What a large unit is made of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Large {
    /// Stages, rounded up to whole islands.
    pub(crate) stages: usize,
    /// Duty points.
    pub(crate) duty_points: usize,
    /// Variants; one without a name where there is one.
    pub(crate) variants: usize,
    /// Every so many islands one gate supply feeds the high sides of two legs; none where 0.
    pub(crate) shared_supply_every: usize,
    /// Every so many islands a bridge stands on a poor interface, and its junctions get too hot; none where 0.
    pub(crate) hot_bridge_every: usize,
}

impl Large {
    /// A unit with findings.
    pub(crate) const fn of(stages: usize) -> Self {
        Self { stages, duty_points: 10, variants: 1, shared_supply_every: 10, hot_bridge_every: 7 }
    }

    fn islands(&self) -> usize {
        // A flow that divides has two branches or more.
        self.stages.div_ceil(STAGES).max(2)
    }

    fn has(every: usize, island: usize) -> bool {
        every > 0 && island % every == every - 1
    }

    /// The description.
    pub(crate) fn text(&self) -> String {
        let mut text = String::from("edition: 2026\nunit: { name: Large unit }\n");
        text.push_str("surroundings: { inside_air: 60 degC, coldest: -20 degC, altitude: 500 m }\n");
        self.section(&mut text, "sources", |text, k| {
            line(text, 1, &format!("pack_{k}:"));
            line(text, 2, "kind: battery");
            line(text, 2, "open_circuit: { lowest: 270 V, nominal: 350 V, highest: 410 V }");
            line(text, 2, "internal_resistance: { lowest: 30 mohm, highest: 60 mohm }");
            line(text, 2, "inductance: 4 uH");
            line(text, 2, "discharge: { continuous: 300 A }");
            line(text, 2, "charge: { continuous: 150 A }");
        });
        self.section(&mut text, "buses", |text, k| {
            line(text, 1, &format!("pack_bus_{k}: {{ negative_rail: minus_{k}, highest: 415 V }}"));
            line(text, 1, &format!("link_{k}: {{ negative_rail: minus_{k}, highest: 670 V, discharge: {{ resistor: 28 kohm, resistor_power: 40 W }} }}"));
            line(text, 1, &format!("board_net_{k}: {{ negative_rail: board_minus_{k}, nominal: 28 V, highest: 32 V }}"));
        });
        self.section(&mut text, "branches", |text, k| {
            line(text, 1, &format!("pack_feed_{k}: {{ from: pack_{k}, to: pack_bus_{k}, through: [pack_fuse_{k}, pack_bar_{k}] }}"));
            line(text, 1, &format!("board_feed_{k}: {{ from: board_net_{k}, to: cab_{k}, through: [cab_cable_{k}] }}"));
        });
        self.section(&mut text, "conductors", |text, k| {
            line(text, 1, &format!(
                "pack_fuse_{k}: {{ kind: fuse, voltage: 500 V DC, current: 350 A, melting: 40e3 A^2 s, clearing: 150e3 A^2 s, breaking: 30 kA, least_breaking: 1.5 kA, resistance: 0.3 mohm }}"
            ));
            line(
                text,
                1,
                &format!("pack_bar_{k}: {{ kind: busbar, width: 40 mm, thickness: 3 mm, length: 400 mm }}"),
            );
            line(text, 1, &format!("cab_cable_{k}: {{ kind: cable, section: 25 mm^2, length: 3 m, outer_diameter: 10 mm, hottest: 105 degC }}"));
        });
        self.section(&mut text, "stages", stages);
        self.section(&mut text, "machines", |text, k| {
            line(text, 1, &format!("travel_motor_{k}:"));
            line(text, 2, "kind: permanent_magnet");
            line(text, 2, "pole_pairs: 4");
            line(text, 2, "flux_linkage: 0.11 V s");
            line(text, 2, "phase_resistance: 14 mohm");
            line(text, 2, "inductance: { d: 210 uH, q: 480 uH }");
            for motor in ["lift_motor", "fan_motor"] {
                line(text, 1, &format!(
                    "{motor}_{k}: {{ kind: permanent_magnet, phase_resistance: 20 mohm, inductance: {{ d: 300 uH, q: 420 uH }} }}"
                ));
            }
        });
        self.section(&mut text, "loads", |text, k| {
            line(text, 1, &format!("cab_{k}: {{ bus: board_net_{k} }}"))
        });
        self.section(&mut text, "magnetics", magnetics);
        self.section(&mut text, "capacitors", |text, k| {
            for (bank, bus, parts, each) in [
                ("pack_bank", "pack_bus", 4, "film500_150u"),
                ("link_bank", "link", 8, "film900_120u"),
                ("board_bank", "board_net", 6, "elyte50_2m2"),
            ] {
                line(text, 1, &format!(
                    "{bank}_{k}: {{ kind: bank, bus: {bus}_{k}, parts: {parts}, each: {each}, path: {{ inductance: 4 nH, resistance: 0.2 mohm }} }}"
                ));
            }
        });
        text.push_str(DEVICES);
        self.section(&mut text, "gate_supplies", |text, k| {
            gate_supplies(text, k, Self::has(self.shared_supply_every, k));
        });
        self.cooling(&mut text);
        text.push_str("duty:\n");
        for point in 0..self.duty_points {
            self.duty(&mut text, point);
        }
        self.patches(&mut text);
        text
    }

    fn section(&self, text: &mut String, name: &str, entries: impl Fn(&mut String, usize)) {
        line(text, 0, &format!("{name}:"));
        for island in 0..self.islands() {
            entries(text, island);
        }
    }

    fn cooling(&self, text: &mut String) {
        let islands = self.islands();
        line(text, 0, "cooling:");
        line(text, 1, "coolant: { kind: water_glycol, glycol: 50 % }");
        line(text, 1, &format!("pump: {{ flow: {} L/min }}", 10 * islands));
        line(text, 1, "absolute_pressure: 140 kPa");
        line(text, 1, "path: [riser, stacks]");
        line(text, 1, "elements:");
        let most = 10 * islands;
        line(
            text,
            2,
            &format!(
                "riser: {{ elevation: {{ in: 0 mm, out: 50 mm }}, pressure_drop: {{ at: 65 degC, flow: [{} L/min, {most} L/min], pressure: [0.3 kPa, 1.1 kPa] }} }}",
                most / 2
            ),
        );
        line(text, 2, "stacks:");
        line(text, 3, "split:");
        for k in 0..islands {
            line(text, 4, &format!("row_{k}: [plate_{k}, travel_stack_{k}, lift_stack_{k}]"));
        }
        for k in 0..islands {
            let face = if Self::has(self.hot_bridge_every, k) { "0.45" } else { "0.05" };
            line(text, 2, &format!("travel_stack_{k}:"));
            line(text, 3, "referred_to: mean");
            line(
                text,
                3,
                &format!(
                    "cools: {{ travel_bridge_{k}: {{ face_a: {face} K/W }}, step_up_{k}: {{ face_a: 0.05 K/W }} }}"
                ),
            );
            line(text, 3, "elevation: { in: 70 mm, out: 90 mm }");
            line(
                text,
                3,
                "pressure_drop: { at: 65 degC, flow: [5 L/min, 10 L/min], pressure: [1.7 kPa, 6 kPa] }",
            );
            line(text, 2, &format!("lift_stack_{k}:"));
            line(text, 3, "referred_to: outlet");
            line(
                text,
                3,
                &format!(
                    "cools: {{ lift_bridge_{k}: {{ face_a: 0.06 K/W }}, fan_bridge_{k}: {{ face_a: 0.06 K/W }} }}"
                ),
            );
            line(text, 3, "elevation: { in: 90 mm, out: 110 mm }");
            line(
                text,
                3,
                "pressure_drop: { at: 65 degC, flow: [5 L/min, 10 L/min], pressure: [1.4 kPa, 5 kPa] }",
            );
            line(text, 2, &format!("plate_{k}:"));
            line(text, 3, "referred_to: outlet");
            line(
                text,
                3,
                &format!(
                    "cools: {{ step_up_choke_{k}: {{ face_a: 0.1 K/W }}, auxiliary_{k}: {{ face_a: 0.9 K/W }}, transformer_{k}: {{ face_a: 0.6 K/W }}, output_choke_{k}: {{ face_a: 0.6 K/W }} }}"
                ),
            );
            line(text, 3, "elevation: { in: 50 mm, out: 70 mm }");
            line(
                text,
                3,
                "pressure_drop: { at: 65 degC, flow: [5 L/min, 10 L/min], pressure: [0.9 kPa, 3 kPa] }",
            );
            line(text, 3, "resistance: { value: 0.01 K/W, flow: 10 L/min }");
        }
    }

    fn duty(&self, text: &mut String, point: usize) {
        // Duty points lie apart, so that none is solved for another.
        let part = |low: f64, high: f64| {
            let share = point as f64 / self.duty_points.max(2) as f64;
            low + (high - low) * share
        };
        line(text, 1, &format!("point_{point}:"));
        line(text, 2, "lasts: continuous");
        line(text, 2, &format!("coolant: {{ inlet: {:.1} degC }}", part(55.0, 65.0)));
        for (section, of) in [("sources", "pack"), ("buses", "link")] {
            line(text, 2, &format!("{section}:"));
            for k in 0..self.islands() {
                line(
                    text,
                    3,
                    &match of {
                        "pack" => format!("pack_{k}: {{ open_circuit: {:.1} V }}", part(390.0, 330.0)),
                        _ => format!("link_{k}: 620 V"),
                    },
                );
            }
        }
        line(text, 2, "loads:");
        for k in 0..self.islands() {
            line(
                text,
                3,
                &format!(
                    "travel_motor_{k}: {{ electrical_power: {:.2} kW, line_voltage: 330 V rms, power_factor: 0.88, frequency: 160 Hz }}",
                    part(20.0, 42.0)
                ),
            );
            line(
                text,
                3,
                &format!(
                    "lift_motor_{k}: {{ electrical_power: {:.2} kW, line_voltage: 330 V rms, power_factor: 0.84, frequency: 120 Hz }}",
                    part(-9.0, 12.0)
                ),
            );
            line(
                text,
                3,
                &format!(
                    "fan_motor_{k}: {{ electrical_power: {:.2} kW, line_voltage: 300 V rms, power_factor: 0.86, frequency: 140 Hz }}",
                    part(3.0, 5.0)
                ),
            );
            line(text, 3, &format!("cab_{k}: {{ power: {:.2} kW }}", part(0.6, 1.2)));
        }
    }

    fn patches(&self, text: &mut String) {
        if self.variants < 2 {
            return;
        }
        line(text, 0, "variants:");
        line(text, 1, "standard: {}");
        for variant in 1..self.variants {
            line(text, 1, &format!("heavy_{variant}:"));
            line(text, 2, "duty:");
            line(text, 3, "point_0:");
            line(text, 4, "loads:");
            line(text, 5, &format!("travel_motor_0: {{ electrical_power: {} kW }}", 22 + variant));
        }
    }
}

fn line(text: &mut String, indent: usize, written: &str) {
    let _ = writeln!(text, "{}{written}", "  ".repeat(indent));
}

fn stages(text: &mut String, k: usize) {
    line(text, 1, &format!("step_up_{k}:"));
    line(text, 2, "topology: boost");
    line(text, 2, &format!("low_bus: pack_bus_{k}"));
    line(text, 2, &format!("high_bus: link_{k}"));
    line(text, 2, "legs: 2");
    line(text, 2, &format!("inductor: step_up_choke_{k}"));
    line(text, 2, "carrier: { frequency: 10 kHz }");
    line(text, 2, "dead_time: 2 us");
    line(text, 2, "switches: { high_side: { fitted: ig1200_450 }, low_side: { fitted: ig1200_450 } }");
    for name in ["travel", "lift", "fan"] {
        line(text, 1, &format!("{name}_bridge_{k}:"));
        line(text, 2, "topology: three_phase_bridge");
        line(text, 2, &format!("dc_bus: link_{k}"));
        line(text, 2, &format!("feeds: {name}_motor_{k}"));
        line(text, 2, "modulation: space_vector");
        line(text, 2, "carrier: { frequency: 8 kHz }");
        line(text, 2, "dead_time: 2 us");
        line(text, 2, "switches: { high_side: { fitted: ig1200_450 }, low_side: { fitted: ig1200_450 } }");
    }
    line(text, 1, &format!("auxiliary_{k}:"));
    line(text, 2, "topology: phase_shifted_full_bridge");
    line(text, 2, &format!("from: pack_bus_{k}"));
    line(text, 2, &format!("to: board_net_{k}"));
    line(text, 2, "rectifier: current_doubler");
    line(text, 2, &format!("transformer: transformer_{k}"));
    line(text, 2, &format!("output_inductor: output_choke_{k}"));
    line(text, 2, "carrier: { frequency: 120 kHz }");
    line(text, 2, "dead_time: 100 ns");
    line(text, 2, "switches:");
    line(text, 3, "bridge_high: { fitted: mos650_40m }");
    line(text, 3, "bridge_low: { fitted: mos650_40m }");
    line(text, 3, "rectifier: { fitted: mos150_3m, parallel: 2 }");
}

fn magnetics(text: &mut String, k: usize) {
    let component = |text: &mut String, name: &str, own: &[&str], core: &str, windings: &[(&str, &str)]| {
        line(text, 1, &format!("{name}_{k}:"));
        own.iter().for_each(|key| line(text, 2, key));
        line(
            text,
            2,
            &format!(
                "core: {{ {core}, saturation: {{ flux_density: [0.46 T, 0.36 T], at: [25 degC, 100 degC] }}, to_case: 0.3 K/W, hottest: 125 degC }}"
            ),
        );
        for (winding, resistance) in windings {
            line(
                text,
                2,
                &format!(
                    "{winding}: {{ resistance: {resistance}, at: 20 degC, conductor: {{ kind: foil, thickness: 0.3 mm, layers: 3, filling: 90 % }}, to_case: 0.3 K/W, hottest: 155 degC }}"
                ),
            );
        }
    };
    let choke = ["kind: choke", "inductance: 220 uH", "turns: 60"];
    component(text, "step_up_choke", &choke, "area: 20 cm^2, loss: 15 W", &[("winding", "6 mohm")]);
    let transformer = [
        "kind: transformer",
        "turns_ratio: 4",
        "primary_turns: 24",
        "magnetising_inductance: 500 uH",
        "leakage_inductance: 2 uH",
    ];
    let windings = [("primary", "30 mohm"), ("secondary", "2 mohm")];
    component(text, "transformer", &transformer, "area: 3 cm^2, loss: 4 W", &windings);
    let choke = ["kind: choke", "inductance: 4 uH", "turns: 6"];
    component(text, "output_choke", &choke, "area: 3 cm^2, loss: 2 W", &[("winding", "1 mohm")]);
}

fn gate_supplies(text: &mut String, k: usize, is_shared: bool) {
    let mut feeds = |name: &str, places: &str| line(text, 1, &format!("{name}_{k}: {{ feeds: [{places}] }}"));
    for leg in ["u", "v", "w"] {
        for stage in ["travel", "lift", "fan"] {
            feeds(&format!("{stage}_{leg}"), &format!("{stage}_bridge_{k}.high_side.{leg}"));
        }
    }
    for stage in ["travel", "lift", "fan"] {
        feeds(&format!("{stage}_low"), &format!("{stage}_bridge_{k}.low_side"));
    }
    if is_shared {
        feeds("step_up_high", &format!("step_up_{k}.high_side"));
    } else {
        feeds("step_up_high_1", &format!("step_up_{k}.high_side.1"));
        feeds("step_up_high_2", &format!("step_up_{k}.high_side.2"));
    }
    feeds("step_up_low", &format!("step_up_{k}.low_side"));
    feeds("auxiliary_a", &format!("auxiliary_{k}.bridge_high.a"));
    feeds("auxiliary_b", &format!("auxiliary_{k}.bridge_high.b"));
    feeds("auxiliary_low", &format!("auxiliary_{k}.bridge_low"));
    feeds("rectifier_low", &format!("auxiliary_{k}.rectifier"));
}

/// A stock of invented parts.
const DEVICES: &str = "capacitor_types:
  film900_120u:
    { capacitance: 120 uF, tolerance: 10 %, voltage: 900 V, ripple_current: 65 A, series_resistance: 0.9 mohm,
      inductance: 22 nH, thermal_resistance: 2.4 K/W, hottest: 105 degC }
  film500_150u:
    { capacitance: 150 uF, tolerance: 10 %, voltage: 500 V, ripple_current: 52 A, series_resistance: 1.0 mohm,
      inductance: 20 nH, thermal_resistance: 2.6 K/W, hottest: 105 degC }
  elyte50_2m2:
    { capacitance: 2.2 mF, tolerance: 20 %, voltage: 50 V, ripple_current: 5.2 A, series_resistance: 18 mohm,
      inductance: 14 nH, thermal_resistance: 11 K/W, hottest: 125 degC }
devices:
  ig1200_450:
    package: { circuit: half_bridge, cooled_faces: 1 }
    transistor:
      kind: igbt
      blocking_voltage: 1200 V
      current: { continuous: 450 A, at_case: 80 degC, repetitive_peak: 900 A }
      junction_limit: 175 degC
      on_state:
        - { junction: 25 degC, current: [100 A, 450 A], voltage: [1.05 V, 1.65 V] }
        - { junction: 150 degC, current: [100 A, 450 A], voltage: [1.10 V, 1.90 V] }
      energies:
        { voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], turn_on: [13 mJ, 36 mJ], turn_off: [17 mJ, 45 mJ],
          voltage_exponent: 1.35, temperature_coefficient: 0.003 1/K }
      thermal_impedance: [[0.020 K/W, 5 ms], [0.046 K/W, 80 ms]]
      spread: { on_voltage: 6 % }
    diode:
      current: { continuous: 450 A, at_case: 80 degC, repetitive_peak: 900 A }
      junction_limit: 175 degC
      on_state:
        - { junction: 25 degC, current: [100 A, 450 A], voltage: [1.15 V, 1.70 V] }
        - { junction: 150 degC, current: [100 A, 450 A], voltage: [1.00 V, 1.60 V] }
      energies:
        { voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], recovery: [11 mJ, 21 mJ],
          voltage_exponent: 0.6, temperature_coefficient: 0.006 1/K }
      thermal_impedance: [[0.035 K/W, 5 ms], [0.075 K/W, 80 ms]]
      spread: { on_voltage: 6 % }
  mos650_40m:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: mosfet
      blocking_voltage: 650 V
      current: { continuous: 40 A, at_case: 100 degC, repetitive_peak: 120 A }
      junction_limit: 150 degC
      on_resistance:
        - { junction: 25 degC, resistance: 40 mohm }
        - { junction: 125 degC, resistance: 72 mohm }
      energies:
        { voltage: 400 V, junction: 25 degC, current: [5 A, 30 A], turn_on: [20 uJ, 110 uJ], turn_off: [8 uJ, 60 uJ],
          voltage_exponent: 1.2, temperature_coefficient: 0.0005 1/K }
      thermal_impedance: [[0.2 K/W, 1 ms], [0.4 K/W, 20 ms]]
      output_capacitance: 150 pF
    diode:
      current: { continuous: 40 A, at_case: 100 degC, repetitive_peak: 120 A }
      on_state:
        - { junction: 25 degC, current: [5 A, 40 A], voltage: [0.8 V, 1.1 V] }
        - { junction: 125 degC, current: [5 A, 40 A], voltage: [0.7 V, 1.0 V] }
      energies:
        { voltage: 400 V, junction: 25 degC, current: [5 A, 30 A], recovery: [5 uJ, 15 uJ], voltage_exponent: 0.6,
          temperature_coefficient: 0.006 1/K }
  mos150_3m:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: mosfet
      blocking_voltage: 300 V
      current: { continuous: 150 A, at_case: 100 degC, repetitive_peak: 600 A }
      junction_limit: 175 degC
      on_resistance:
        - { junction: 25 degC, resistance: 3 mohm }
        - { junction: 150 degC, resistance: 5.6 mohm }
      energies:
        { voltage: 75 V, junction: 25 degC, current: [20 A, 100 A], turn_on: [5 uJ, 40 uJ], turn_off: [4 uJ, 35 uJ],
          voltage_exponent: 1.2, temperature_coefficient: 0.0005 1/K }
      thermal_impedance: [[0.15 K/W, 1 ms], [0.35 K/W, 20 ms]]
      spread: { on_voltage: 10 % }
    diode:
      current: { continuous: 150 A, at_case: 100 degC, repetitive_peak: 600 A }
      on_state:
        - { junction: 25 degC, current: [10 A, 150 A], voltage: [0.7 V, 0.95 V] }
        - { junction: 150 degC, current: [10 A, 150 A], voltage: [0.5 V, 0.85 V] }
      energies:
        { voltage: 75 V, junction: 25 degC, current: [20 A, 100 A], recovery: [3 uJ, 9 uJ], voltage_exponent: 0.6,
          temperature_coefficient: 0.006 1/K }
";
