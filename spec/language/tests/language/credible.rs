//! Values that no part has: they are refused, and what some part has is not.

use crate::workshop::{reading, table};

/// What no part has: a prefix or a sign slipped. Beside each the same with a value that some part has, which is no problem.
#[test]
fn values_that_no_part_has() {
    let device =
        |transistor: &str| format!("devices: {{ a: {{ transistor: {{ kind: mosfet, {transistor} }} }} }}");
    let energies = |more: &str| {
        format!(
            "blocking_voltage: 1200 V, junction_limit: 175 degC, energies: {{ voltage: 600 V, junction: 150 degC, current: [10 A, 20 A], turn_on: [1 mJ, 2 mJ], turn_off: [1 mJ, 2 mJ] }}{more}"
        )
    };
    let falls = energies("").replace("turn_on: [1 mJ, 2 mJ]", "turn_on: [2 mJ, 1 mJ]");
    let hot = energies("").replace("junction: 150 degC", "junction: 400 degC");
    let high = energies("").replace("voltage: 600 V", "voltage: 6 kV");
    let choke = |resistance: &str| {
        format!(
            "magnetics: {{ a: {{ kind: choke, turns: 26, core: {{ area: 8 cm^2 }}, winding: {{ area: 20 mm^2, resistance: {resistance} }} }} }}"
        )
    };
    let cases = [
        device("junction_limit: 1750 degC"),
        device("short_circuit_withstand: 6 ms"),
        device("blocking_temperature_coefficient: -0.001 1/K"),
        device("thermal_impedance: [[0.05 K/W, 8 s]]"),
        device("thermal_impedance: [[0.02 mK/W, 8 ms]]"),
        device("on_resistance: [{ junction: 25 degC, resistance: 14 mohm }, { junction: 175 degC, resistance: 7 mohm }]"),
        device("gate: { charge: 2.4 nC, drive_on: 15 V, drive_off: -8 V, input_capacitance: 28 nF }"),
        device(&falls),
        device(&hot),
        device(&high),
        choke("3.5 uohm"),
        "magnetics: { a: { kind: choke, core: { saturation: { flux_density: 13 T } } } }".to_owned(),
        "buses: { net: {} }\ngate_supplies: { low: { from: net }, high: { bootstrap_from: low, drive_off: -4 V } }".to_owned(),
    ];
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
    for known in [
        device(&energies(", junction_limit: 175 degC").replacen("junction_limit: 175 degC, ", "", 1)),
        device("blocking_temperature_coefficient: 0.001 1/K, short_circuit_withstand: 6 us"),
        device("thermal_impedance: [[0.05 K/W, 0.8 s]]"),
        device(
            "on_resistance: [{ junction: -40 degC, resistance: 9 mohm }, { junction: 25 degC, resistance: 7 mohm }, { junction: 175 degC, resistance: 13 mohm }]",
        ),
        device("gate: { charge: 2.4 uC, drive_on: 15 V, drive_off: -8 V, input_capacitance: 28 nF }"),
        choke("3.5 mohm"),
        "magnetics: { a: { kind: choke, core: { saturation: { flux_density: 2.3 T } } } }".to_owned(),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}

/// Magnitudes of which one is out by a factor that no part makes up; beside each the same with what some part has.
#[test]
fn magnitudes_that_contradict_one_another() {
    let fitted = |on: &str, off: &str, more: &str| {
        format!(
            "devices: {{ a: {{ transistor: {{ kind: igbt, junction_limit: 175 degC, energies: {{ voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], turn_on: {on}, turn_off: {off}{more} }} }} }} }}"
        )
    };
    let recovery = |energy: &str, growth: &str| {
        format!(
            "devices: {{ a: {{ diode: {{ energies: {{ voltage: 600 V, junction: 150 degC, current: [150 A, 450 A], recovery: {energy}, temperature_coefficient: {growth} }} }} }} }}"
        )
    };
    let core = |density: &str, at: &str, flux: &str| {
        format!(
            "magnetics: {{ a: {{ kind: choke, core: {{ steinmetz: {{ density: {density}, frequency: {at}, flux_density: {flux} }} }} }} }}"
        )
    };
    let wound = |inductance: &str| {
        format!(
            "magnetics: {{ a: {{ kind: transformer, primary_turns: 28, magnetising_inductance: {inductance}, core: {{ area: 3.8 cm^2, volume: 40 cm^3 }} }} }}"
        )
    };
    let measured = |outside: &str| {
        format!(
            "devices: {{ a: {{ transistor: {{ kind: igbt, gate: {{ resistance: 1.8 ohm }}, energies: {{ gate_resistor: {outside}, voltage: 600 V, junction: 150 degC, current: 450 A, turn_on: 42 mJ, turn_off: 46 mJ }} }} }} }}"
        )
    };
    let fuse = |element: &str| format!("conductors: {{ f: {{ kind: fuse, element: {element} }} }}");
    let (on, off) = ("[14 mJ, 42 mJ]", "[17 mJ, 46 mJ]");
    let cases = [
        fitted("[14 uJ, 42 uJ]", "[17 uJ, 46 uJ]", ""),
        fitted("[14 J, 42 J]", "[17 J, 46 J]", ""),
        fitted(on, "[17 uJ, 46 uJ]", ""),
        fitted(on, off, ", temperature_coefficient: 0.03 1/K"),
        fitted(on, off, ", temperature_coefficient: -0.06 1/K"),
        recovery("[16 J, 33 J]", "0.006 1/K"),
        recovery("[16 mJ, 33 mJ]", "0.06 1/K"),
        core("300 W/m^3", "100 kHz", "0.2 T"),
        wound("3.2 uH"),
        wound("3.2 H"),
        measured("2.2 ohm"),
        fuse("400 degC"),
        "conductors: { bar: { kind: busbar, hottest: 1000 degC } }".to_owned(),
        "magnetics: { a: { kind: choke, winding: { hottest: 500 degC } } }".to_owned(),
        "capacitor_types: { a: { ripple_current: 7500 A } }".to_owned(),
    ];
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
    for known in [
        fitted(on, off, ", temperature_coefficient: 0.003 1/K"),
        // A fast switch of gallium nitride: 55 uJ at 400 V and 15 A in all.
        "devices: { a: { transistor: { kind: mosfet, energies: { voltage: 400 V, junction: 25 degC, current: 15 A, turn_on: 47.5 uJ, turn_off: 7.5 uJ } } } }".to_owned(),
        // A switch of several kilovolts: 10.6 J at 3.6 kV and 750 A.
        "devices: { a: { transistor: { kind: igbt, energies: { voltage: 3.6 kV, junction: 125 degC, current: 750 A, turn_on: 6.4 J, turn_off: 4.2 J } } } }".to_owned(),
        // No carriers to recover.
        recovery("[0.06 mJ, 0.07 mJ]", "0 1/K"),
        recovery("[16 mJ, 33 mJ]", "0.006 1/K"),
        // Tape of nanocrystalline iron, iron powder, sheets at the frequency of the grid.
        core("10 kW/m^3", "20 kHz", "0.2 T"),
        core("6000 kW/m^3", "100 kHz", "0.1 T"),
        core("7 kW/m^3", "50 Hz", "1.5 T"),
        wound("3.2 mH"),
        wound("60 uH"),
        measured("1.2 ohm"),
        fuse("140 degC"),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}

/// Values that switch off what is reckoned from them: nothing grows, nothing clears.
#[test]
fn values_that_leave_nothing() {
    let switch = |exponent: &str, on: &str, off: &str| {
        format!(
            "devices: {{ a: {{ transistor: {{ kind: igbt, energies: {{ voltage: 600 V, junction: 150 degC, current: 450 A, turn_on: {on}, turn_off: {off}, voltage_exponent: {exponent} }} }} }} }}"
        )
    };
    let recovery = |exponent: &str, energy: &str| {
        format!(
            "devices: {{ a: {{ diode: {{ energies: {{ voltage: 600 V, junction: 150 degC, current: 450 A, recovery: {energy}, voltage_exponent: {exponent} }} }} }} }}"
        )
    };
    let fuse = |clearing: &str| {
        format!("conductors: {{ f: {{ kind: fuse, melting: 95e3 A^2 s, clearing: {clearing} }} }}")
    };
    let generator = |lowest: &str| {
        format!(
            "sources: {{ g: {{ kind: generator, discharge: {{ continuous: 120 A }}, short_circuit: {{ lowest: {lowest}, highest: 900 A }} }} }}"
        )
    };
    let supply = |dead_time: &str| {
        format!(
            "stages: {{ s: {{ topology: phase_shifted_full_bridge, rectifier: centre_tap, dead_time: {dead_time} }} }}"
        )
    };
    let faces = |tolerance: &str| {
        format!(
            "stages: {{ s: {{ topology: boost }} }}\ncooling: {{ elements: {{ p: {{ cools: {{ s: {{ face_a: 0.1 K/W, tolerance: {tolerance} }} }} }} }} }}"
        )
    };
    let cases = [
        switch("0", "42 mJ", "46 mJ"),
        switch("1.3", "0 mJ", "46 mJ"),
        switch("1.3", "0 mJ", "0 mJ"),
        recovery("0.1", "33 mJ"),
        fuse("95e3 A^2 s"),
        generator("1 mA"),
        supply("0 ns"),
        faces("120 %"),
    ];
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
    for known in [
        // No carriers to recover.
        recovery("0.6", "0 mJ"),
        fuse("140e3 A^2 s"),
        // Some generators drive less into a short than they give for good.
        generator("90 A"),
        supply("150 ns"),
        faces("50 %"),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}

/// A plate that takes up more than its flow carries, and a drop that its passage cannot have. At 8 L/min half glycol takes up some 480
/// W/K: warms by 2.1 mK for each watt.
#[test]
fn coolant_that_contradicts_itself() {
    let plate = |value: &str, from: &str| {
        format!(
            "cooling: {{ coolant: {{ kind: water_glycol }}, elements: {{ p: {{ referred_to: {from}, resistance: {{ value: {value}, flow: 8 L/min }} }} }} }}"
        )
    };
    // Laminar, by hand: 128 · 1.06 mPa s · 0.6 m · 1.33e-4 m³/s over π · (8 mm)⁴ are 0.84 kPa; turbulent it is some 5 kPa.
    let bored = |bore: &str, pressure: &str| {
        format!(
            "cooling: {{ coolant: {{ kind: water_glycol }}, elements: {{ p: {{ passage: {{ bore: {bore}, length: 600 mm }}, pressure_drop: {{ at: 65 degC, flow: 8 L/min, pressure: {pressure} }} }} }} }}"
        )
    };
    let cases = [
        plate("0.9 mK/W", "inlet"),
        plate("12 uK/W", "outlet"),
        bored("0.8 mm", "10 kPa"),
        bored("8 mm", "0.01 kPa"),
        bored("80 mm", "10 kPa"),
    ];
    insta::assert_snapshot!(table(&cases.iter().map(String::as_str).collect::<Vec<_>>()));
    for known in [
        plate("1.1 mK/W", "inlet"),
        plate("0.9 mK/W", "mean"),
        plate("0.1 mK/W", "outlet"),
        bored("8 mm", "10 kPa"),
        bored("8 mm", "5 kPa"),
        bored("12 mm", "30 kPa"),
        // Nothing is said of what flows.
        plate("0.9 mK/W", "inlet").replace("coolant: { kind: water_glycol }, ", ""),
    ] {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}

/// Ratings with a prefix too many, at which nothing would ever fail; beside each what the largest part has.
#[test]
fn ratings_of_no_part() {
    let mosfet = |more: &str| format!("devices: {{ a: {{ transistor: {{ kind: mosfet, {more} }} }} }}");
    let igbt = |junction: &str| {
        format!(
            "devices: {{ a: {{ transistor: {{ kind: igbt, on_state: [{{ junction: {junction}, current: [10 A, 20 A], voltage: [1 V, 1.2 V] }}] }} }} }}"
        )
    };
    let conductor = |more: &str| format!("conductors: {{ a: {{ kind: {more} }} }}");
    let fuse = |melting: &str, time: &str| {
        conductor(&format!(
            "fuse, current: 400 A, melting: {melting}, time_current: {{ load: [200 %, 1000 %], time: [100 s, {time}] }}"
        ))
    };
    let barrier = |more: &str| format!("isolation: {{ barriers: {{ a: {{ {more} }} }} }}");
    let winding = |at: &str| {
        format!("magnetics: {{ a: {{ kind: choke, winding: {{ resistance: 3 mohm, at: {at} }} }} }}")
    };
    let pairs = [
        (mosfet("blocking_voltage: 750 kV"), mosfet("blocking_voltage: 10 kV")),
        (
            "devices: { a: { package: { inductance: 5 uH } } }".to_owned(),
            "devices: { a: { package: { inductance: 500 nH } } }".to_owned(),
        ),
        (mosfet("gate: { highest: 22 kV }"), mosfet("gate: { highest: 22 V }")),
        (
            mosfet("on_resistance: [{ junction: 15000 degC, resistance: 7 mohm }]"),
            mosfet("on_resistance: [{ junction: 250 degC, resistance: 7 mohm }]"),
        ),
        (igbt("-270 degC"), igbt("-55 degC")),
        (
            "capacitor_types: { a: { voltage: 600 kV } }".to_owned(),
            "capacitor_types: { a: { voltage: 4 kV } }".to_owned(),
        ),
        (conductor("fuse, voltage: 700 kV"), conductor("fuse, voltage: 4 kV")),
        (
            conductor("fuse, current: 5 kA, melting: 95e3 A^2 s"),
            conductor("fuse, current: 500 A, melting: 95e3 A^2 s"),
        ),
        (
            conductor("contactor, current: { continuous: 350 A, at: 850 degC }"),
            conductor("contactor, current: { continuous: 350 A, at: 85 degC }"),
        ),
        (conductor("fuse, breaking: 30 MA"), conductor("fuse, breaking: 300 kA")),
        (
            conductor("contactor, current: { continuous: 350 kA }"),
            conductor("contactor, current: { continuous: 3 kA }"),
        ),
        (
            conductor("contactor, breaks: { voltage: 550 kV }"),
            conductor("contactor, breaks: { voltage: 3 kV }"),
        ),
        (fuse("58 A^2 s", "4 ms"), fuse("58e3 A^2 s", "4 ms")),
        (fuse("58e3 A^2 s", "4 us"), fuse("58e3 A^2 s", "20 ms")),
        (barrier("creepage: 14 m"), barrier("creepage: 140 mm")),
        (barrier("transient_immunity: 100 MV/us"), barrier("transient_immunity: 300 kV/us")),
        (winding("20000 degC"), winding("100 degC")),
    ];
    let cases: Vec<&str> = pairs.iter().map(|(none, _)| none.as_str()).collect();
    insta::assert_snapshot!(table(&cases));
    for (_, known) in &pairs {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}

/// Heat that leaves too well, or that is held too well: nothing would get hot. Beside each what the largest part has.
#[test]
fn heat_that_no_part_carries_or_holds() {
    let device =
        |kind: &str, more: &str| format!("devices: {{ a: {{ transistor: {{ kind: {kind}, {more} }} }} }}");
    let drops = |volts: &str| {
        device(
            "igbt",
            &format!("on_state: [{{ junction: 150 degC, current: [100 A, 400 A], voltage: {volts} }}]"),
        )
    };
    let channel = |resistance: &str, amps: &str| {
        device(
            "mosfet",
            &format!(
                "current: {{ continuous: {amps} }}, on_resistance: [{{ junction: 25 degC, resistance: {resistance} }}]"
            ),
        )
    };
    let face = |resistance: &str| {
        format!(
            "stages: {{ s: {{ topology: boost }} }}\ncooling: {{ elements: {{ p: {{ cools: {{ s: {{ face_a: {resistance} }} }} }} }} }}"
        )
    };
    let plate = |held: &str| {
        format!(
            "cooling: {{ elements: {{ p: {{ resistance: {{ value: 10 mK/W, heat_capacity: {held} }} }} }} }}"
        )
    };
    let pad = |resistance: &str| {
        format!(
            "conductors: {{ b: {{ kind: busbar, pad: {{ on: p, resistance: {resistance} }} }} }}\ncooling: {{ elements: {{ p: {{}} }} }}"
        )
    };
    let choke = |more: &str| format!("magnetics: {{ a: {{ kind: choke, {more} }} }}");
    // 40 cm³ of ferrite hold some 140 J/K; 20 mm² and 3.5 mohm are 4.06 m of copper: 81 cm³ hold 280 J/K.
    let core =
        |held: &str| choke(&format!("core: {{ area: 4 cm^2, volume: 40 cm^3, heat_capacity: {held} }}"));
    let winding = |held: &str| {
        choke(&format!(
            "winding: {{ area: 20 mm^2, resistance: 3.5 mohm, at: 20 degC, heat_capacity: {held} }}"
        ))
    };
    let contacts = |more: &str| format!("conductors: {{ k: {{ kind: contactor, {more} }} }}");
    let pairs = [
        (drops("[1.05 mV, 1.65 mV]"), drops("[0.15 V, 0.3 V]")),
        (drops("[1.05 V, 165 V]"), drops("[3 V, 15 V]")),
        (channel("7 uohm", "150 A"), channel("0.3 mohm", "400 A")),
        (channel("7 ohm", "150 A"), channel("1.2 ohm", "8 A")),
        (face("0.06 mK/W"), face("5 mK/W")),
        (pad("0.1 mK/W"), pad("0.05 K/W")),
        (plate("900 kJ/K"), plate("90 kJ/K")),
        (core("14 kJ/K"), core("140 J/K")),
        (winding("28 kJ/K"), winding("400 J/K")),
        (choke("winding: { to_case: 0.5 mK/W }"), choke("winding: { to_case: 10 mK/W }")),
        (choke("core: { to_case: 0.6 mK/W }"), choke("core: { to_case: 20 mK/W }")),
        (choke("to_air: 0.8 mK/W"), choke("to_air: 0.1 K/W")),
        (contacts("thermal_resistance: 0.9 mK/W"), contacts("thermal_resistance: 0.1 K/W")),
        (contacts("heat_capacity: 900 kJ/K"), contacts("heat_capacity: 4 kJ/K")),
        (
            "capacitor_types: { a: { thermal_resistance: 0.7 mK/W } }".to_owned(),
            "capacitor_types: { a: { thermal_resistance: 0.5 K/W } }".to_owned(),
        ),
    ];
    let cases: Vec<&str> = pairs.iter().map(|(none, _)| none.as_str()).collect();
    insta::assert_snapshot!(table(&cases));
    for (_, known) in &pairs {
        let problems = reading(&format!("edition: 2026\n{known}\n")).problems;
        assert!(problems.is_empty(), "{known}: {problems:?}");
    }
}

/// What insulation stands, contacts switch, resistors take and charge waits for: a prefix too many, and beside it what some part has.
#[test]
fn what_is_stood_switched_and_waited_for() {
    let barrier = |value: &str| format!("isolation: {{ barriers: {{ wall: {{ {value} }} }} }}");
    let contactor = |value: &str| format!("conductors: {{ k: {{ kind: contactor, {value} }} }}");
    let discharge = |value: &str| format!("buses: {{ link: {{ discharge: {{ {value} }} }} }}");
    let fuse = |value: &str| format!("conductors: {{ f: {{ kind: fuse, current: 32 A, {value} }} }}");
    let pairs = [
        (barrier("recurring_peak: 800 kV"), barrier("recurring_peak: 800 V")),
        (barrier("impulse: 2500 kV"), barrier("impulse: 2500 V")),
        (barrier("impulse: 4 V"), barrier("impulse: 330 V")),
        (barrier("working_voltage: 500 kV rms"), barrier("working_voltage: 500 V rms")),
        (barrier("frequency: 50 MHz"), barrier("frequency: 50 kHz")),
        (contactor("breaks: { current: 300 kA }"), contactor("breaks: { current: 1.5 kA }")),
        (contactor("makes: 100 kA"), contactor("makes: 650 A")),
        (discharge("resistor_power: 10 kW"), discharge("resistor_power: 25 W")),
        (discharge("passively_within: 120000 s"), discharge("passively_within: 120 s")),
        (
            discharge("within: 500 s, passively_within: 120 s"),
            discharge("within: 5 s, passively_within: 120 s"),
        ),
        (fuse("least_breaking: 60 mA"), fuse("least_breaking: 60 A")),
    ];
    for (slipped, known) in pairs {
        let problems = |text: &str| reading(&format!("edition: 2026\n{text}\n")).problems;
        assert_eq!(problems(&slipped).len(), 1, "{slipped}: {:?}", problems(&slipped));
        assert!(problems(&known).is_empty(), "{known}: {:?}", problems(&known));
    }
}
