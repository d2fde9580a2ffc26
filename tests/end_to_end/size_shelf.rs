//! Parts of a parts file that are entries themselves, exchanged by what their data sheets say.

use serde_json::{Value, json};

use super::program::{Folder, run_in, text_of};
use super::size::{PARTS, SHUTTLE, list, patch, read};

/// Transformers and outputs to choose from, beside what the shuttle has.
fn wound() -> String {
    let transformer = |name: &str, area: f64, volume: f64| {
        format!(
            "  {name}:
    kind: transformer
    turns_ratio: 14
    primary_turns: 28
    magnetising_inductance: 3.2 mH
    leakage_inductance: 24 uH
    core:
      area: {area} cm^2
      volume: {volume} cm^3
      saturation: {{ flux_density: [0.46 T, 0.36 T], at: [25 degC, 100 degC] }}
      steinmetz:
        {{ density: 300 kW/m^3, frequency: 100 kHz, flux_density: 0.2 T, frequency_exponent: 1.45, flux_exponent: 2.5, reach: 4 }}
      to_case: 0.6 K/W
      hottest: 125 degC
    primary:
      area: 1.6 mm^2
      resistance: 62 mohm
      at: 20 degC
      conductor: {{ kind: litz, diameter: 0.071 mm, strands: 400, layers: 1, filling: 80 % }}
      to_case: 1.2 K/W
      hot_spot: 15 K
      hottest: 155 degC
      current: {{ continuous: 14 A }}
    secondary:
      area: 9 mm^2
      resistance: 0.4 mohm
      at: 20 degC
      conductor: {{ kind: foil, thickness: 0.3 mm, layers: 2, filling: 90 % }}
      to_case: 1.0 K/W
      hot_spot: 15 K
      hottest: 155 degC
      current: {{ continuous: 110 A }}
"
        )
    };
    let output = |name: &str, power: &str| {
        format!("  {name}: {{ power: {power}, drive_on: 18 V, drive_off: -4 V, tolerance: 5 % }}\n")
    };
    [
        "magnetics:\n".to_owned(),
        transformer("tap14_small", 0.9, 9.0),
        transformer("tap14_middle", 3.7, 40.0),
        "gate_supplies:\n".to_owned(),
        output("output_tiny", "20 mW"),
        output("output_middle", "1.45 W"),
        output("output_large", "5 W"),
        "  other_voltage: { power: 1 W, drive_on: 15 V, drive_off: -8 V }\n".to_owned(),
    ]
    .concat()
}

#[test]
fn transformers_and_outputs_are_exchanged_by_their_data_sheets() {
    let folder = Folder::new();
    for part in PARTS {
        folder.put(part, text_of(&format!("examples/{part}")));
    }
    folder.put("parts/wound.yaml", wound());
    let (listed, more) = ("parts/capacitors.yaml]", "parts/capacitors.yaml, parts/wound.yaml]");
    let text = text_of(SHUTTLE).replace(listed, more);
    let document = read(&text);
    let review = |document: &Value| {
        folder.put("unit.yaml", document.to_string());
        let ran = run_in(&folder, &["review", "unit.yaml"]);
        assert_eq!(ran.err, "");
        ran.code
    };
    // What stands on the shelf is no output of the unit, and no transformer of it.
    assert_eq!(review(&document), Some(0));
    folder.put("unit.yaml", &text);
    let ran = run_in(
        &folder,
        &["size", "unit.yaml", "--format", "json", "--only", "auxiliary_transformer", "--only", "front_u"],
    );
    let found: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}", ran.err));
    let text = found["patch"].as_str().expect("a patch");
    assert!(!text.contains("feeds") && !text.contains("from:"), "{text}");
    let mut result = document.clone();
    patch(&mut result, &read(text));
    assert_eq!(review(&result), Some(0), "{text}");
    let stock = read(&wound());
    let sizes = list(&found, "sizes");
    let among = |part: &str| {
        let one = sizes.iter().find(|one| one["part"] == part).unwrap_or_else(|| panic!("{part}: {found}"));
        let chosen = &one["chosen"];
        (chosen["among"].clone(), chosen["part"].clone(), chosen["smaller"].clone(), chosen["by"].clone())
    };
    let (all, part, below, by) = among("auxiliary_transformer");
    assert_eq!(all, json!(["tap14_small", "tap14_middle", "auxiliary_transformer"]));
    assert_eq!(
        (part, below.clone(), by),
        (json!("tap14_middle"), json!("tap14_small"), json!("volume of its core"))
    );
    let mut smaller = result.clone();
    smaller["magnetics"]["auxiliary_transformer"] = stock["magnetics"]["tap14_small"].clone();
    smaller["magnetics"]["auxiliary_transformer"]["flux_walking"] = json!("10 %");
    assert_eq!(review(&smaller), Some(1), "a smaller transformer holds");
    let (all, part, below, by) = among("front_u");
    assert_eq!(all, json!(["output_tiny", "output_middle", "front_u", "output_large"]));
    assert_eq!((part, below, by), (json!("output_middle"), json!("output_tiny"), json!("power")));
    let mut smaller = result.clone();
    smaller["gate_supplies"]["front_u"]["power"] = json!("20 mW");
    assert_eq!(review(&smaller), Some(1), "a smaller output holds");
}
