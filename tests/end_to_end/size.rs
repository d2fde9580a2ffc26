//! Sizes held against whole reviews: each is written into a copy of the description by other means than the program's own,
//! and each one step smaller as well.

use loadworthy_source::{Content, NodeId, Tree};
use serde_json::{Map, Value, json};

use super::program::{Folder, Ran, assert_shown, run, run_in, text_of};

const BRIDGE: &str = "tests/end_to_end/descriptions/one-bridge.yaml";
const FORWARDER: &str = "examples/timber-forwarder.yaml";
const GROOMER: &str = "examples/snow-groomer.yaml";
pub(super) const SHUTTLE: &str = "examples/harbour-shuttle.yaml";
pub(super) const PARTS: [&str; 2] = ["parts/semiconductors.yaml", "parts/capacitors.yaml"];

/// A YAML text as JSON, which is YAML as well.
pub(super) fn read(text: &str) -> Value {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let root = tree.read("unit.yaml", text.as_bytes(), &mut problems).expect("a document");
    assert!(problems.is_empty(), "{problems:?}");
    value(&tree, root)
}

fn value(tree: &Tree, node: NodeId) -> Value {
    match tree.content(node) {
        Content::Map(entries) => {
            let entry = |entry: &loadworthy_source::Entry| {
                (tree.key_text(entry.key).to_owned(), value(tree, entry.value))
            };
            Value::Object(entries.iter().map(entry).collect())
        }
        Content::List(items) => items.iter().map(|&item| value(tree, item)).collect(),
        Content::Scalar(scalar) => match (scalar.as_i64(), scalar.as_bool(), scalar.as_f64()) {
            (Some(whole), _, _) => whole.into(),
            (_, Some(word), _) => word.into(),
            (_, _, Some(number)) => number.into(),
            _ => scalar.as_text().map_or(Value::Null, Into::into),
        },
    }
}

/// Lays a merge patch over a document, by RFC 7396.
pub(super) fn patch(document: &mut Value, with: &Value) {
    let Value::Object(entries) = with else {
        *document = with.clone();
        return;
    };
    if !document.is_object() {
        *document = Value::Object(Map::new());
    }
    let own = document.as_object_mut().expect("a map");
    for (key, value) in entries {
        if value.is_null() {
            own.remove(key);
        } else {
            patch(own.entry(key.clone()).or_insert(Value::Null), value);
        }
    }
}

/// A merge patch that sets one value.
fn set(path: &str, value: &Value) -> Value {
    path.rsplit('.').fold(value.clone(), |below, key| json!({ key: below }))
}

/// What fails in a review at minor or graver, with the exit code.
fn review(document: &Value) -> (Option<i32>, Vec<String>) {
    let folder = Folder::new();
    folder.put("unit.yaml", document.to_string());
    for part in PARTS {
        folder.put(part, text_of(&format!("examples/{part}")));
    }
    let ran = run_in(&folder, &["review", "unit.yaml", "--grade", "minor", "--format", "json"]);
    assert_eq!(ran.err, "");
    let read: Value = serde_json::from_str(&ran.out).expect("JSON");
    let findings = read["reviews"][0]["findings"].as_array().expect("findings");
    let grave = findings.iter().filter(|finding| finding["grade"] != "note");
    let named = grave.map(|finding| format!("{} {}", finding["check"], finding["part"]));
    (ran.code, named.collect())
}

fn sized(arguments: &[&str]) -> Value {
    let ran = run(&[&["size", "--format", "json"], arguments].concat());
    assert_eq!(ran.err, "");
    let read: Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!((&read["form"], &read["version"]), (&"loadworthy-size".into(), &1.into()));
    assert_eq!(read["exit"].as_i64(), ran.code.map(i64::from));
    read
}

pub(super) fn list<'v>(of: &'v Value, key: &str) -> &'v Vec<Value> {
    of[key].as_array().unwrap_or_else(|| panic!("{key} in {of}"))
}

/// A size as a person would write it.
fn written(quantity: &Value) -> Value {
    let value = quantity["value"].as_f64().expect("a number");
    match quantity["unit"].as_str().expect("a unit") {
        "1" => json!(value as i64),
        "m" => json!(format!("{} mm", 1e3 * value)),
        "F" | "J" => panic!("a part is written by its name"),
        "m^2" => json!(format!("{} mm^2", 1e6 * value)),
        "m^3/s" => json!(format!("{} L/min", 6e4 * value)),
        unit => json!(format!("{value} {unit}")),
    }
}

/// A fuse of the same family beside the one that is described: elements in parallel.
fn fuse(document: &Value, name: &str, rated: &Value) -> Value {
    let own = &document["conductors"][name];
    let number = |text: &Value| -> (f64, String) {
        let (number, unit) = text.as_str().expect("text").split_once(' ').expect("a unit");
        (number.parse().expect("a number"), unit.to_owned())
    };
    let by = rated["value"].as_f64().expect("amperes") / number(&own["current"]).0;
    let scaled = |key: &str, by: f64| {
        let (value, unit) = number(&own[key]);
        json!(format!("{} {unit}", value * by))
    };
    let mut changes = json!({ "current": written(rated) });
    for (key, by) in
        [("melting", by * by), ("clearing", by * by), ("least_breaking", by), ("resistance", 1.0 / by)]
    {
        if !own[key].is_null() {
            changes[key] = scaled(key, by);
        }
    }
    json!({ "conductors": { name: changes } })
}

/// Fits the part one step smaller: another name where parts are named, else the whole entry of the parts file.
fn exchange(described: &Value, document: &mut Value, one: &Value) {
    let smaller = &one["chosen"]["smaller"];
    for path in list(one, "paths") {
        let path = path.as_str().expect("a path");
        let (section, name) = path.split_once('.').expect("an entry");
        if !["magnetics", "conductors"].contains(&section) {
            patch(document, &set(path, smaller));
            continue;
        }
        let stock = PARTS.map(|part| read(&text_of(&format!("examples/{part}"))));
        let smaller = smaller.as_str().expect("a name");
        let own = stock.iter().map(|parts| &parts[section][smaller]).find(|entry| !entry.is_null());
        let trip = document[section][name]["trip"].clone();
        document[section][name] = own.unwrap_or(&described[section][name]).clone();
        // Where a choke is switched off is set by its stage, and stays.
        if !trip.is_null() {
            document[section][name]["trip"] = trip;
        }
    }
}

/// Another number of legs, with the sensors and supplies that name all of them.
fn with_legs(document: &mut Value, stage: &str, legs: &Value) {
    document["stages"][stage]["legs"] = legs.clone();
    for (section, key, name) in
        [("sensors", "of", stage.to_owned()), ("gate_supplies", "feeds", format!("{stage}.high_side"))]
    {
        let names = (1..=legs.as_i64().expect("a number")).map(|leg| json!(format!("{name}.{leg}")));
        let names: Vec<Value> = names.collect();
        for (_, entry) in document[section].as_object_mut().expect("entries") {
            if entry[key].as_array().is_some_and(|all| all.contains(&json!(format!("{name}.1")))) {
                entry[key] = json!(names);
            }
        }
    }
}

/// The result holds under a review, but for what no size mends; each size one step smaller does not.
fn assert_smallest(document: &Value, found: &Value) {
    let mut result = document.clone();
    if let Some(text) = found["patch"].as_str() {
        patch(&mut result, &read(text));
    }
    let (code, left) = review(&result);
    let mut known: Vec<String> = list(found, "left")
        .iter()
        .map(|one| format!("{} {}", one["now"]["check"], one["now"]["part"]))
        .collect();
    known.dedup();
    assert!(left.iter().all(|finding| known.contains(finding)), "{left:?} beside {known:?}");
    assert_eq!(code == Some(1), !known.is_empty(), "{left:?}");
    let mut steps = 0;
    for one in list(found, "sizes") {
        if one["smaller"].is_null() || !one["waits_for"].is_null() {
            continue;
        }
        steps += 1;
        let mut smaller = result.clone();
        if !one["chosen"].is_null() {
            exchange(document, &mut smaller, one);
        } else if one["kind"] == "legs" {
            with_legs(&mut smaller, one["part"].as_str().expect("a stage"), &written(&one["smaller"]));
        } else if one["kind"] == "fuses" {
            let name = one["part"].as_str().expect("a name");
            patch(&mut smaller, &fuse(document, name, &one["smaller"]));
        } else {
            for path in list(one, "paths") {
                patch(&mut smaller, &set(path.as_str().expect("a path"), &written(&one["smaller"])));
            }
        }
        let (code, fails) = review(&smaller);
        let fresh = fails.iter().filter(|finding| !known.contains(finding)).count();
        // What can no longer be judged does not hold either.
        let is_judged = list(one, "smaller_fails").iter().any(|stop| !stop["grade"].is_null());
        let expected = if is_judged { fresh > 0 && code == Some(1) } else { code == Some(3) };
        assert!(expected, "{} holds one step smaller: {code:?}, {fails:?}", one["paths"]);
        let told = list(one, "smaller_fails");
        assert!(!told.is_empty(), "{} says nothing of what stops it", one["paths"]);
    }
    assert!(steps > 0, "nothing could be smaller, so nothing was held against a review");
}

#[test]
fn sizes_of_the_forwarder_hold_and_none_may_be_smaller() {
    let found = sized(&[FORWARDER]);
    assert_smallest(&read(&text_of(FORWARDER)), &found);
    // One output feeds two potentials, whatever is sized.
    let left: Vec<&Value> = list(&found, "left").iter().map(|one| &one["now"]["check"]).collect();
    assert!(!left.is_empty() && left.iter().all(|check| *check == "floating-supplies"), "{left:?}");
    // What a variant patches is a size of its own.
    let is_bridge = |one: &&Value| one["part"] == "traction_bridge" && one["kind"] == "devices";
    let bridges = list(&found, "sizes").iter().filter(is_bridge);
    assert_eq!(bridges.map(|one| &one["variant"]).collect::<Vec<_>>(), [&Value::Null, &json!("heavy")]);
}

#[test]
fn sizes_of_the_shuttle_hold_and_none_may_be_smaller() {
    let found = sized(&[SHUTTLE]);
    assert_smallest(&read(&text_of(SHUTTLE)), &found);
    let kinds: Vec<&str> = list(&found, "sizes").iter().filter_map(|one| one["kind"].as_str()).collect();
    for kind in ["devices", "banks", "sections", "fuses", "flow"] {
        assert!(kinds.contains(&kind), "{kind} is not among {kinds:?}");
    }
}

#[test]
fn parts_are_chosen_from_what_parts_files_offer() {
    let found = sized(&[FORWARDER]);
    let chosen = |part: &str, what: &str| {
        let one = list(&found, "sizes")
            .iter()
            .find(|one| one["part"] == part && one["what"] == what && !one["chosen"].is_null());
        one.unwrap_or_else(|| panic!("{part}, {what} is not among {found}"))["chosen"].clone()
    };
    let modules = chosen("step_up", "high_side and low_side");
    assert_eq!(modules["among"], json!(["hb1200_300", "hb1200_450", "hb1200_600"]));
    assert_eq!((&modules["by"], &modules["described"]), (&json!("rated current"), &json!("hb1200_450")));
    let capacitors = chosen("link_bank", "each capacitor");
    assert_eq!(capacitors["among"], json!(["film900_60u", "film900_80u", "film900_120u"]));
    let chokes = chosen("step_up_choke", "choke");
    assert_eq!(chokes["among"], json!(["lift_choke_260u", "lift_choke_300u", "step_up_choke"]));
    let fuses = chosen("pack_fuse", "rated current");
    assert_eq!(fuses["among"], json!(["dc500_630", "pack_fuse", "dc500_800", "dc500_900"]));
    // Somewhere a smaller part will do, and the patch says which.
    let is_smaller =
        |one: &&Value| one["kind"] == "parts" && one["chosen"]["part"] != one["chosen"]["described"];
    let smaller: Vec<&Value> = list(&found, "sizes").iter().filter(is_smaller).collect();
    assert!(!smaller.is_empty(), "{found}");
    // Nothing of the kind is offered for a device of one switch that no other in its voltage stands beside.
    assert!(list(&found, "sizes").iter().all(|one| one["part"] != "auxiliary" || one["kind"] != "parts"));
}

#[test]
fn legs_become_as_few_as_it_takes_with_the_sensors_that_name_them() {
    let found = sized(&[GROOMER, "--only", "legs", "--only", "parts"]);
    assert_smallest(&read(&text_of(GROOMER)), &found);
    let legs = list(&found, "sizes").iter().find(|one| one["kind"] == "legs").expect("legs");
    assert_eq!((&legs["part"], &legs["described"]["value"]), (&json!("step_up"), &json!(4.0)));
    // A supply of one leg would stay behind.
    let one = "gate_supplies.step_up_uppers.feeds=[step_up.high_side.2]";
    let ran = run(&["size", FORWARDER, "--only", "legs", "--with", one]);
    assert!(ran.code == Some(2) && ran.err.contains("name its legs one by one"), "{}", ran.err);
}

#[test]
fn what_stands_in_no_parts_file_is_exchanged_for_nothing() {
    let found = sized(&[BRIDGE]);
    assert!(list(&found, "sizes").iter().all(|one| one["kind"] != "parts" && one["chosen"].is_null()));
}

#[test]
fn too_few_devices_become_as_many_as_it_takes() {
    let mut document = read(&text_of(BRIDGE));
    patch(&mut document, &set("duty.climb.loads.motor.electrical_power", &json!("60 kW")));
    let folder = Folder::new();
    folder.put("unit.yaml", document.to_string());
    let path = folder.path().join("unit.yaml");
    let found = sized(&[path.to_str().expect("a path")]);
    assert_smallest(&document, &found);
    // How two of them share is not stated, and is no pass.
    assert_eq!(found["exit"], 3);
    assert!(list(&found, "not_judged").iter().any(|one| one["check"] == "parallel-sharing"));
    let devices = &list(&found, "sizes")[0];
    assert_eq!(devices["described"]["value"], 1.0);
    assert!(devices["size"]["value"].as_f64().expect("a number") > 1.0);
    // Nobody wrote how many there are: both keys of the half bridge are written.
    let paths = ["stages.drive.switches.high_side.parallel", "stages.drive.switches.low_side.parallel"];
    assert_eq!(devices["paths"], json!(paths));
}

#[test]
fn what_is_not_judged_is_not_made_smaller() {
    // More current than the curves of one device, or of eight, cover.
    let known = "cooling.elements.plate.cools.drive.flow=10 L/min";
    let found =
        sized(&[BRIDGE, "--with", "duty.climb.loads.motor.electrical_power=1200 kW", "--with", known]);
    assert_ne!(found["exit"], 0);
    let flow = list(&found, "sizes").iter().find(|one| one["kind"] == "flow").expect("a flow");
    assert!(!flow["waits_for"].is_null() && flow["size"] == flow["described"], "{flow}");
    // Two devices bring it back into their curves.
    let found = sized(&[BRIDGE, "--with", "duty.climb.loads.motor.electrical_power=100 kW"]);
    let devices = &list(&found, "sizes")[0];
    assert!(devices["size"]["value"].as_f64().expect("a number") > 1.0, "{devices}");
}

#[test]
fn what_is_asked_for_first_gets_smaller() {
    let flow = |arguments: &[&str]| {
        let found = sized(arguments);
        let flow = list(&found, "sizes").iter().find(|one| one["kind"] == "flow").cloned();
        let order = found["order"][0].as_str().map(str::to_owned);
        (order, flow.expect("a flow")["size"]["value"].as_f64().expect("a number"))
    };
    let (last, after) = flow(&[BRIDGE]);
    let (first, before) = flow(&[BRIDGE, "--first", "flow"]);
    assert_eq!((last.as_deref(), first.as_deref()), (Some("legs"), Some("flow")));
    assert!(before <= after, "{before} of {after}");
}

#[test]
fn only_what_is_asked_for_is_sized() {
    let found = sized(&[FORWARDER, "--only", "link_bank", "--only", "flow"]);
    let parts: Vec<&Value> = list(&found, "sizes").iter().map(|one| &one["part"]).collect();
    assert_eq!(parts, ["link_bank", "link_bank", "cooling"], "how many, and of what");
    // The junction that is too hot on a slope needs more devices: no bank mends it, and it gets no worse.
    let left: Vec<&Value> = list(&found, "left").iter().map(|one| &one["now"]["check"]).collect();
    assert!(left.contains(&&json!("junction-temperature")), "{left:?}");
    assert_eq!(found["exit"], 1);
}

#[test]
fn what_is_set_from_outside_is_not_sized() {
    let found = sized(&[BRIDGE, "--with", "cooling.pump.flow=8 L/min"]);
    assert!(list(&found, "sizes").iter().all(|one| one["kind"] != "flow"));
    assert_eq!(list(&found, "not_sized")[0]["why"], "is set by --with");
}

#[test]
fn the_patch_alone_is_what_the_table_ends_with() {
    let found = sized(&[FORWARDER]);
    let ran = run(&["size", FORWARDER, "--format", "yaml"]);
    assert_eq!(Some(ran.out.as_str()), found["patch"].as_str());
    assert_eq!(ran.code, Some(1));
}

#[test]
fn names_that_lead_nowhere_are_told_with_a_way_out() {
    let said = |arguments: &[&str]| {
        let Ran { code, out, err } = run(&[&["size"], arguments].concat());
        assert_eq!((code, out.as_str()), (Some(2), ""));
        err
    };
    assert_shown!(
        "size_refused",
        [
            said(&[FORWARDER, "--only", "link_bnk"]),
            said(&[FORWARDER, "--only", "pack_bar"]),
            said(&[FORWARDER, "--only", "sections"]),
            said(&[BRIDGE, "--only", "fuses"]),
            said(&["examples/snow-groomer.yaml", "--only", "flow"]),
            said(&["no-such-file.yaml"]),
        ]
        .concat()
    );
}

#[test]
fn a_description_with_problems_is_not_sized() {
    let folder = Folder::new();
    folder.put("unit.yaml", text_of(BRIDGE).replace("10 L/min", "10 A"));
    let ran = run_in(&folder, &["size", "unit.yaml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
    assert!(ran.err.contains("what is not read whole is not sized"), "{}", ran.err);
}

#[test]
fn nothing_that_is_judged_stops_no_size() {
    let mut document = read(&text_of(BRIDGE));
    document.as_object_mut().expect("a map").remove("duty");
    let folder = Folder::new();
    folder.put("unit.yaml", document.to_string());
    let ran = run_in(&folder, &["size", "unit.yaml"]);
    assert_eq!(ran.code, Some(3), "{}", ran.out);
    assert!(ran.out.contains("no duty point is judged"), "{}", ran.out);
}

#[test]
fn sizes_read_as_an_engineer_reads_them() {
    let shown = |arguments: &[&str]| {
        let ran = run(&[&["size"], arguments].concat());
        assert_eq!(ran.err, "");
        format!("{}exit {}\n", ran.out, ran.code.unwrap_or(-1))
    };
    assert_shown!("size_timber_forwarder", shown(&[FORWARDER]));
    assert_shown!("size_harbour_shuttle", shown(&[SHUTTLE]));
    assert_shown!(
        "size_no_device_holds",
        shown(&[BRIDGE, "--with", "policy.junction.keep=65 K", "--only", "devices"])
    );
}

#[test]
fn a_flow_stays_where_nothing_says_how_resistances_grow_with_less() {
    let found = sized(&[SHUTTLE, "--only", "flow"]);
    let flow = list(&found, "sizes").iter().find(|one| one["kind"] == "flow").expect("a flow");
    // The supply plate states its resistance with a flow; what only bends the hose cools nothing.
    assert_eq!(flow["taken_alike"], json!(["cooling.front_plate", "cooling.rear_plate"]), "{flow}");
    assert_eq!(flow["size"], flow["described"], "{flow}");
    let with = |plate: &str, bridge: &str| format!("cooling.elements.{plate}.cools.{bridge}.flow=4 L/min");
    let (front, rear) = (with("front_plate", "front_bridge"), with("rear_plate", "rear_bridge"));
    let found = sized(&[SHUTTLE, "--only", "flow", "--with", &front, "--with", &rear]);
    let flow = list(&found, "sizes").iter().find(|one| one["kind"] == "flow").expect("a flow");
    assert!(flow.get("taken_alike").is_none(), "{flow}");
    assert_ne!(flow["size"], flow["described"], "{flow}");
}
