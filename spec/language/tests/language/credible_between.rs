//! Values that speak against one another: they are refused, and what some part has is not.

use crate::workshop::{reading, table};

/// Each beside the same with what some part has.
#[test]
fn values_of_one_part_that_no_part_has_together() {
    let igbt = |more: &str| format!("devices: {{ a: {{ transistor: {{ kind: igbt, {more} }} }} }}");
    let first = |volts: &str, joules: &str| {
        igbt(&format!(
            "on_state: [{{ junction: 150 degC, current: [50 A, 400 A], voltage: [{volts}, 1.9 V] }}], energies: {{ voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], turn_on: [{joules}, 42 mJ], turn_off: [14 mJ, 46 mJ] }}"
        ))
    };
    let gate = |off: &str| igbt(&format!("gate: {{ turn_on_delay: 120 ns, turn_off_delay: {off} }}"));
    let can = |ohms: &str, held: &str| {
        format!(
            "capacitor_types: {{ a: {{ ripple_current: 20 A, series_resistance: {ohms}, thermal_resistance: {held} }} }}"
        )
    };
    let conductor = |more: &str| format!("conductors: {{ a: {{ kind: {more} }} }}");
    let contactor = |stands: &str| {
        conductor(&format!("contactor, current: {{ continuous: 450 A, at: 85 degC }}, withstands: {stands}"))
    };
    let bar = |width: &str| {
        conductor(&format!(
            "busbar, width: {width}, thickness: 4 mm, length: 100 mm, current: {{ continuous: 450 A, at: 85 degC }}"
        ))
    };
    let cable = |section: &str| {
        conductor(&format!(
            "cable, section: {section}, length: 1 m, current: {{ continuous: 200 A, at: 85 degC }}"
        ))
    };
    let shunt = |power: &str| {
        conductor(&format!(
            "sensor, resistance: 0.1 mohm, power: {power}, current: {{ continuous: 400 A, at: 85 degC }}"
        ))
    };
    let machine = |ohms: &str| {
        format!(
            "machines: {{ a: {{ kind: permanent_magnet, phase_resistance: {ohms}, inductance: {{ d: 240 uH, q: 380 uH }} }} }}"
        )
    };
    let transformer = |leakage: &str| {
        format!(
            "magnetics: {{ a: {{ kind: transformer, magnetising_inductance: 900 uH, leakage_inductance: {leakage} }} }}"
        )
    };
    let carrier = |more: &str| {
        format!(
            "stages: {{ t: {{ topology: boost }}, s: {{ topology: boost, carrier: {{ frequency: 20 kHz{more} }} }} }}\ndrivers: {{ d: {{ drives: [s.low_side], delay: 100 ns }} }}"
        )
    };
    let driver = |delay: &str| carrier("").replace("100 ns", delay);
    let elevation =
        |out: &str| format!("cooling: {{ elements: {{ p: {{ elevation: {{ in: 0 mm, out: {out} }} }} }} }}");
    let impulse = |volts: &str| {
        format!(
            "isolation: {{ domains: {{ hv: {{ impulse: {volts} }} }} }}\nbuses: {{ link: {{ domain: hv, nominal: 640 V, highest: 780 V }} }}"
        )
    };
    let sensor = |what: &str, of: &str| {
        format!(
            "stages: {{ s: {{ topology: boost, legs: 2 }} }}\nsensors: {{ t: {{ measures: {what}, of: [{of}] }} }}"
        )
    };
    let precharge =
        |ohms: &str| format!("sources: {{ p: {{ kind: battery, precharge: {{ resistor: {ohms} }} }} }}");
    let short = |volts: &str| igbt(&format!("short_circuit_at: {{ voltage: {volts} }}"));
    let short_of = |junction: &str| igbt(&format!("short_circuit_at: {{ junction: {junction} }}"));
    let thick =
        |outer: &str| conductor(&format!("cable, section: 16 mm^2, length: 1 m, outer_diameter: {outer}"));
    let pairs = [
        (first("1.05 mV", "14 mJ"), first("1.05 V", "14 mJ")),
        (first("1.05 V", "14 uJ"), first("1.05 V", "5 mJ")),
        (gate("36 ns"), gate("90 ns")),
        (can("1.5 mohm", "6 mK/W"), can("1.5 mohm", "6 K/W")),
        (can("1.5 uohm", "6 K/W"), can("0.3 mohm", "2 K/W")),
        (contactor("600e6 A^2 s"), contactor("400e6 A^2 s")),
        (bar("30 m"), bar("300 mm")),
        (cable("50e3 mm^2"), cable("95 mm^2")),
        (shunt("20 kW"), shunt("30 W")),
        (machine("12 uohm"), machine("1 mohm")),
        (machine("12 ohm"), machine("0.5 ohm")),
        (transformer("4 nH"), transformer("90 nH")),
        (
            carrier(", synchronised_with: t, shift: 0.12 deg"),
            carrier(", synchronised_with: t, shift: 120 deg"),
        ),
        (driver("30 us"), driver("2 us")),
        (driver("90 us"), driver("900 ns")),
        (elevation("15 m"), elevation("1.5 m")),
        (impulse("500 V"), impulse("2500 V")),
        (sensor("temperature", "s.1"), sensor("current", "s.1")),
        (precharge("33 mohm"), precharge("33 ohm")),
        (short("400 kV"), short("400 V")),
        (short_of("150000 degC"), short_of("150 degC")),
        (thick("6.5 m"), thick("12 mm")),
    ];
    let cases: Vec<&str> = pairs.iter().map(|(none, _)| none.as_str()).collect();
    insta::assert_snapshot!(table(&cases));
    for (none, known) in &pairs {
        let found = reading(&format!("edition: 2026\n{none}\n")).problems;
        assert_eq!(found.len(), 1, "{none}: {found:?}");
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
    // An impulse beside mains is theirs, and one without a bus has nothing to be less than.
    for known in [
        impulse("500 V").replace("impulse", "mains: { line_to_neutral: 230 V rms }, impulse"),
        impulse("500 V").replace("domain: hv, ", ""),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}
