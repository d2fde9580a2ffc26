//! What comes of single faults, and that it is what the description says once the fault is written into it.

use serde_json::Value;

use super::program::{assert_shown, run};

const FORWARDER: &str = "examples/timber-forwarder.yaml";
const CARRIER: &str = "examples/vineyard-carrier.yaml";
const HARVESTER: &str = "examples/peat-harvester.yaml";

fn walked(file: &str, more: &[&str]) -> Vec<Value> {
    let ran = run(&[&["review", file, "--faults", "--format", "json"], more].concat());
    let whole: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err));
    whole["reviews"][0]["faults"][0]["faults"].as_array().expect("faults of the first variant").clone()
}

/// The fault of that kind on that part.
fn fault<'v>(faults: &'v [Value], kind: &str, part: &str) -> &'v Value {
    let is_it = |cause: &Value| {
        let parts = cause["parts"].as_array().expect("parts");
        cause["kind"] == kind && parts.iter().any(|name| name == part)
    };
    let found = faults.iter().find(|fault| fault["causes"].as_array().expect("causes").iter().any(is_it));
    found.unwrap_or_else(|| panic!("no {kind} of {part}: {faults:#?}"))
}

fn texts(list: &Value) -> Vec<&str> {
    list.as_array().expect("a list").iter().map(|one| one.as_str().expect("a text")).collect()
}

#[test]
fn single_faults_of_a_whole_unit() {
    let ran = run(&["review", FORWARDER, "--faults"]);
    let from = ran.out.find("faults 101 single faults").unwrap_or_else(|| panic!("{}", ran.out));
    let end = ran.out[from..].find("assumed ").expect("what follows");
    assert_shown!("faults-timber-forwarder", &ran.out[from..from + end]);
}

#[test]
fn a_lost_supply_of_the_controls_takes_everything_with_it() {
    let faults = walked(FORWARDER, &[]);
    let all = ["step_up", "traction_bridge", "pump_bridge", "auxiliary"];
    for (kind, part) in [
        ("bus without voltage", "board_net"),
        // It makes the net that feeds its own controller and all gates.
        ("controller lost", "auxiliary_controller"),
        ("driver lost", "auxiliary_drivers"),
    ] {
        let fault = fault(&faults, kind, part);
        assert_eq!(texts(&fault["stops"]), all, "{kind}");
        // Its coil opens the main contactor then.
        assert_eq!(texts(&fault["cut_off"]), ["pack"], "{kind}");
        assert_eq!(texts(&fault["without_feed"]), ["pack_bus", "link", "board_net"]);
        assert_eq!(texts(&fault["not_served"]).len(), 5);
    }
    let alone = fault(&faults, "controller lost", "pump_controller");
    assert_eq!(texts(&alone["stops"]), ["pump_bridge"]);
    // The one duty point in which the pump rests is served.
    assert!(!texts(&alone["not_served"]).contains(&"downhill_recovery"));
}

#[test]
fn a_discharge_is_lost_with_the_bus_that_feeds_its_control() {
    let own = walked(FORWARDER, &[]);
    let own = fault(&own, "bus without voltage", "board_net");
    assert_eq!(
        texts(&own["discharge"]),
        [
            "link: its active discharge lives on link and works against traction_motor for as long as that turns"
        ]
    );
    let other = walked(FORWARDER, &["--with", "buses.link.discharge.active.from=board_net"]);
    let other = fault(&other, "bus without voltage", "board_net");
    let said = texts(&other["discharge"]);
    assert!(said[0].starts_with("link: by its resistor alone, in "), "{said:?}");
}

#[test]
fn insulation_that_is_bridged_joins_domains() {
    let faults = walked(FORWARDER, &[]);
    let fault = fault(&faults, "insulation bridged", "supply_isolation");
    assert_eq!(fault["hazard"], true);
    let said = texts(&fault["then"]);
    assert!(said.contains(&"joins traction (up to 700 V) to low_voltage (up to 32 V)"), "{said:?}");
    assert!(said.contains(&"gate_isolation no longer keeps them apart"), "{said:?}");
}

/// One of six devices open is the unit with five: the same figures as of a description that says five.
#[test]
fn a_device_less_is_what_the_description_with_one_less_says() {
    let faults = walked(CARRIER, &[]);
    let open = fault(&faults, "device open", "track_bridge.high_side");
    let worse = open["fails_then"].as_array().expect("a list");
    assert!(!worse.is_empty(), "{open:#?}");
    // Each is a package of its own, so that the other side keeps its six.
    let five = "stages.track_bridge.switches.high_side.parallel=5";
    let ran = run(&["review", CARRIER, "--format", "json", "--with", five]);
    let whole: Value = serde_json::from_str(&ran.out).expect("it is JSON");
    let verdicts = whole["reviews"][0]["verdicts"].as_array().expect("verdicts");
    for one in worse {
        let same = verdicts.iter().find(|verdict| {
            ["check", "part", "duty_point"].iter().all(|key| verdict[*key] == one[*key])
                && verdict["verdict"] == "fails"
                && verdict["comparison"]["carried"] == one["carried"]
        });
        assert!(same.is_some(), "not said of five in parallel: {one:#?}");
    }
}

#[test]
fn faults_do_not_count_and_come_out_the_same() {
    for file in [FORWARDER, CARRIER, HARVESTER] {
        let plain = run(&["review", file]);
        let once = run(&["review", file, "--faults", "--all"]);
        assert_eq!(plain.code, once.code, "{file}");
        assert_eq!(once.out, run(&["review", file, "--faults", "--all"]).out, "{file}");
    }
}

#[test]
fn a_description_that_declares_nothing_has_no_faults() {
    let ran = run(&["review", "tests/end_to_end/descriptions/hostile.template.yaml", "--faults"]);
    // Its name and a number are still to be put in, so that it is broken and read all the same.
    assert_eq!(ran.code, Some(2), "{}", ran.out);
    assert!(!ran.out.contains("panicked") && ran.err.is_empty(), "{}", ran.err);
}

#[test]
fn a_shorted_device_is_told_by_what_feeds_its_buses() {
    let then = |file: &str, kind: &str, part: &str| {
        let faults = walked(file, &[]);
        texts(&fault(&faults, kind, part)["then"])[0].to_owned()
    };
    let groomer = "examples/snow-groomer.yaml";
    // The pack drives the bus of the cell through the choke, for the diode that kept it out is gone.
    assert_eq!(
        then(groomer, "device shorted", "step_up.high_side"),
        "drives cell_bus towards the voltage of link through its choke, up to 740 V where it may have 360 V, until pack_fuse clears; its partner turning on shorts link through both until its driver turns it off; should that fail, until pack_fuse clears"
    );
    assert_eq!(
        then(groomer, "device shorted", "step_up.low_side"),
        "shorts cell_bus through its choke until cell_fuse clears"
    );
    assert_eq!(
        then(groomer, "device open", "step_up.high_side"),
        "the current of its choke finds no way when step_up.low_side turns off, and drives it above what it blocks"
    );
    // A net without a source of its own is discharged, and no fuse comes into it.
    assert!(
        then(CARRIER, "device shorted", "lamp_buck.low_side")
            .starts_with("discharges lamp_net through its choke; its partner turning on shorts ")
    );
    let carrier = walked(CARRIER, &[]);
    let lifted = fault(&carrier, "device shorted", "lamp_buck.high_side");
    assert!(texts(&lifted["then"])[0].starts_with("lifts lamp_net to the voltage of link"), "{lifted:#}");
    // Its partner turning on melts the fuse, and nothing feeds either any more.
    assert_eq!(texts(&lifted["without_feed"]), ["link", "lamp_net"]);
}
