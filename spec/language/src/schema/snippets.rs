//! What an editor offers to write for a person who starts.

use serde_json::{Map, Value, json};

pub(super) fn add(root: &mut Map<String, Value>) {
    let unit = json!([{
        "label": "minimal unit",
        "description": "A battery, a bus, a bridge, a machine and one duty point",
        "body": minimal_unit(),
    }]);
    root.insert("defaultSnippets".to_owned(), unit);
    let bridge = bridge("${2:link}", "${3:motor}", "${4:device}");
    let of_sections = [
        ("branches", "branch", "What the current passes between two nodes", branch()),
        ("stages", "bridge", "A three-phase bridge", bridge),
        ("stages", "step up", "A boost between two buses", step_up()),
        ("stages", "isolated supply", "A full bridge with phase shift, transformer and rectifier", supply()),
        ("devices", "device", "An IGBT half bridge with one point of each curve", device()),
        ("magnetics", "choke", "A choke with its core and winding", choke()),
        ("magnetics", "transformer", "A transformer of an isolated stage", transformer()),
        ("conductors", "fuse", "A fuse", fuse()),
        ("conductors", "busbar", "A copper bar", busbar()),
        ("gate_supplies", "gate supply", "An output that feeds one gate", gate_supply()),
        ("duty", "duty point", "One operating condition", duty_point()),
    ];
    for (section, label, description, body) in of_sections {
        entry(root, section, label, description, body);
    }
}

/// A snippet of a whole entry under a section, with its name to be filled in.
fn entry(root: &mut Map<String, Value>, section: &str, label: &str, description: &str, body: Value) {
    let Some(Value::Object(schema)) = super::properties(root).and_then(|all| all.get_mut(section)) else {
        return;
    };
    let name = format!("${{1:{}}}", label.replace(' ', "_"));
    let snippet = json!({ "label": label, "description": description, "body": { name: body } });
    match schema.get_mut("defaultSnippets") {
        Some(Value::Array(snippets)) => snippets.push(snippet),
        _ => {
            schema.insert("defaultSnippets".to_owned(), json!([snippet]));
        }
    }
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

fn branch() -> Value {
    json!({ "from": "${2:battery}", "to": "${3:link}", "through": ["${4:fuse}", "${5:contactor}"] })
}

fn step_up() -> Value {
    json!({
        "topology": "boost",
        "low_bus": "${2:battery_bus}",
        "high_bus": "${3:link}",
        "legs": 2,
        "inductor": "${4:choke}",
        "carrier": { "frequency": "10 kHz" },
        "switches": { "high_side": { "fitted": "${5:device}" }, "low_side": { "fitted": "${6:device}" } },
    })
}

fn supply() -> Value {
    json!({
        "topology": "phase_shifted_full_bridge",
        "from": "${2:link}",
        "to": "${3:board_net}",
        "rectifier": "current_doubler",
        "transformer": "${4:transformer}",
        "output_inductor": "${5:choke}",
        "carrier": { "frequency": "100 kHz" },
        "switches": {
            "bridge_high": { "fitted": "${6:device}" },
            "bridge_low": { "fitted": "${7:device}" },
            "rectifier": { "fitted": "${8:device}" },
        },
    })
}

fn choke() -> Value {
    json!({
        "kind": "choke",
        "inductance": "${2:200 uH}",
        "core": { "area": "13 cm^2", "saturation": { "flux_density": "1.3 T", "at": "120 degC" } },
        "winding": { "area": "30 mm^2", "resistance": "6 mohm" },
    })
}

fn transformer() -> Value {
    json!({
        "kind": "transformer",
        "turns_ratio": 8,
        "magnetising_inductance": "${2:900 uH}",
        "leakage_inductance": "${3:4 uH}",
        "primary": { "resistance": "25 mohm" },
        "secondary": { "resistance": "1 mohm" },
    })
}

fn fuse() -> Value {
    json!({ "kind": "fuse", "voltage": "${2:500 V DC}", "current": "${3:400 A}", "breaking": "${4:10 kA}" })
}

fn busbar() -> Value {
    json!({ "kind": "busbar", "width": "${2:25 mm}", "thickness": "${3:3 mm}", "length": "${4:180 mm}" })
}

fn gate_supply() -> Value {
    json!({ "feeds": ["${2:bridge}.high_side.${3:u}"], "power": "3 W", "transformer": "${4:gate_transformer}" })
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
