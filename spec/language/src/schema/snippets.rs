//! What an editor offers to write for a person who starts.

use serde_json::{Map, Value, json};

pub(super) fn add(root: &mut Map<String, Value>) {
    let unit = json!([{
        "label": "minimal unit",
        "description": "A battery, a bus, a bridge, a machine and one duty point",
        "body": minimal_unit(),
    }]);
    root.insert("defaultSnippets".to_owned(), unit);
    entry(root, "devices", "device", "An IGBT half bridge with one point of each curve", device());
    entry(root, "stages", "bridge", "A three-phase bridge", bridge("${2:link}", "${3:motor}", "${4:device}"));
    entry(root, "duty", "duty point", "One operating condition", duty_point());
}

/// A snippet of a whole entry under a section, with its name to be filled in.
fn entry(root: &mut Map<String, Value>, section: &str, label: &str, description: &str, body: Value) {
    let Some(Value::Object(schema)) = super::properties(root).and_then(|all| all.get_mut(section)) else {
        return;
    };
    let name = format!("${{1:{}}}", label.replace(' ', "_"));
    let body = json!({ name: body });
    let snippet = json!([{ "label": label, "description": description, "body": body }]);
    schema.insert("defaultSnippets".to_owned(), snippet);
}

fn minimal_unit() -> Value {
    json!({
        "edition": 2026,
        "unit": { "name": "${1:Drive unit}" },
        "sources": {
            "battery": {
                "kind": "battery",
                "bus": "link",
                "open_circuit": { "lowest": "${2:500 V}", "nominal": "${3:620 V}", "highest": "${4:700 V}" },
                "internal_resistance": { "lowest": "${5:40 mohm}", "highest": "${6:80 mohm}" },
            },
        },
        "buses": { "link": {} },
        "stages": { "bridge": bridge("link", "motor", "device") },
        "machines": { "motor": { "kind": "permanent_magnet" } },
        "devices": { "device": device() },
        "cooling": {
            "coolant": { "kind": "water_glycol", "glycol": "50 %" },
            "pump": { "flow": "8 L/min" },
            "path": ["plate"],
            "elements": { "plate": { "cools": { "bridge": { "face_a": "0.08 K/W" } } } },
        },
        "duty": {
            "climb": {
                "lasts": "continuous",
                "coolant": { "inlet": "65 degC" },
                "sources": { "battery": { "terminal": "600 V" } },
                "loads": { "motor": demand() },
            },
        },
    })
}

fn bridge(bus: &str, machine: &str, device: &str) -> Value {
    json!({
        "topology": "three_phase_bridge",
        "dc_bus": bus,
        "feeds": machine,
        "modulation": "space_vector",
        "carrier": { "frequency": "8 kHz" },
        "dead_time": "2 us",
        "switches": { "high_side": { "fitted": device }, "low_side": { "fitted": device } },
    })
}

fn device() -> Value {
    json!({
        "package": { "circuit": "half_bridge", "cooled_faces": 1 },
        "transistor": {
            "kind": "igbt",
            "blocking_voltage": "1200 V",
            "current": { "continuous": "450 A", "at_case": "80 degC", "repetitive_peak": "900 A" },
            "junction_limit": "175 degC",
            "on_state": [{ "junction": "150 degC", "current": ["100 A", "450 A"], "voltage": ["1.1 V", "1.9 V"] }],
            "energies": {
                "voltage": "600 V", "junction": "150 degC", "current": "450 A", "turn_on": "36 mJ", "turn_off": "45 mJ",
            },
            "thermal_impedance": [["0.066 K/W", "60 ms"]],
        },
        "diode": {
            "current": { "continuous": "450 A", "at_case": "80 degC" },
            "on_state": [{ "junction": "150 degC", "current": ["100 A", "450 A"], "voltage": ["1.0 V", "1.6 V"] }],
            "energies": { "voltage": "600 V", "junction": "150 degC", "current": "450 A", "recovery": "21 mJ" },
            "thermal_impedance": [["0.11 K/W", "60 ms"]],
        },
    })
}

fn duty_point() -> Value {
    json!({
        "lasts": "continuous",
        "coolant": { "inlet": "${2:65 degC}" },
        "sources": { "${3:battery}": { "terminal": "${4:600 V}" } },
        "loads": { "${5:motor}": demand() },
    })
}

fn demand() -> Value {
    json!({
        "electrical_power": "70 kW",
        "line_voltage": "330 V rms",
        "power_factor": 0.88,
        "frequency": "160 Hz",
    })
}
