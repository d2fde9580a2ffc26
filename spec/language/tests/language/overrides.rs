//! Changes tried without editing the file.

use crate::workshop::{FORWARDER, InMemory, WHOLE, reading_with, told};

fn with(path: &str, value: &str) -> loadworthy_language::Reading {
    reading_with(FORWARDER, &[(path, value)], &mut InMemory::default())
}

#[test]
fn an_override_reaches_every_variant() {
    let reading = with("duty.loaded_climb.loads.traction_motor.electrical_power", "60 kW");
    assert_eq!(told(&reading), "");
    for variant in &reading.variants {
        let point = variant.description.duty.entry("loaded_climb").unwrap();
        let power = point.loads.as_ref().unwrap()["traction_motor"].electrical_power.unwrap();
        assert_eq!(power.value.si(), 60e3);
        let file = reading.tree.span(power.at).file;
        assert_eq!(reading.tree.file(file).name, "--with");
        assert!(reading.tree.replaced(power.at).is_some());
    }
}

#[test]
fn an_override_may_add_what_is_not_stated() {
    let reading = with("stages.pump_bridge.dead_time", "0.4 us");
    assert_eq!(told(&reading), "");
    let reading = with("policy.junction.keep", "25 K");
    assert_eq!(told(&reading), "");
}

#[test]
fn an_override_finds_the_name_of_a_switch_position() {
    let path = "cooling.elements.base_plate.cools.cab_converter.rectifier.face_a";
    let reading = reading_with(WHOLE, &[(path, "0.4 K/W")], &mut InMemory::default());
    assert_eq!(told(&reading), "");
    let cooling = reading.variants[0].description.cooling.read().unwrap();
    let cools = cooling.elements.as_ref().unwrap()["base_plate"].cools.as_ref().unwrap();
    assert_eq!(cools["cab_converter.rectifier"].face_a.unwrap().si(), 0.4);
}

#[test]
fn overrides_that_do_not_fit() {
    let cases = [
        ("stages.pump_bridge.dead_time", "0.4 A"),
        ("stages.pump_brige.dead_time", "0.4 us"),
        ("stages.pump_bridge.ded_time", "0.4 us"),
        ("stagse.pump_bridge.dead_time", "0.4 us"),
        ("stages.pump_bridge.dead_time", ""),
        ("stages.pump_bridge.dead_time", "{"),
        ("", "5"),
        ("duty.loaded_climb.loads.traction_motor.phase_current", "200 A rms"),
    ];
    let told = cases.map(|(path, value)| format!("{path}={value}\n----\n{}\n", told(&with(path, value))));
    insta::assert_snapshot!(told.join("\n====\n"));
}
