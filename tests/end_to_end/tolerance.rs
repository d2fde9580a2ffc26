//! Headrooms within tolerances.

use serde_json::Value;

use super::program::{Ran, assert_shown, run};

const FORWARDER: &str = "examples/timber-forwarder.yaml";

fn json(arguments: &[&str]) -> Value {
    let ran = run(&[arguments, &["--format", "json"][..]].concat());
    serde_json::from_str(&ran.out).expect("JSON")
}

fn value(of: &Value) -> f64 {
    of["value"].as_f64().expect("a number")
}

#[test]
fn of_an_example() {
    let Ran { code, out, err } = run(&["stress", FORWARDER, "--tolerance"]);
    assert_eq!(err, "");
    assert_shown!("stress-tolerance-timber-forwarder", format!("{out}exit {}\n", code.unwrap_or(-1)));
}

#[test]
fn a_bad_end_is_what_a_stress_table_says_of_that_value() {
    let table = json(&["stress", FORWARDER, "--tolerance", "--variant", "standard"]);
    assert_eq!((&table["form"], &table["version"]), (&"loadworthy-tolerance".into(), &1.into()));
    let rows = table["rows"].as_array().expect("rows");
    // The ripple of a choke goes with one over its inductance, and its allowance for a tolerance goes with the tolerance.
    let taker = |row: &&Value| row["takes_most"][0]["path"] == "sources.pack.internal_resistance";
    let of_source = rows.iter().filter(taker).max_by(|one, other| {
        value(&one["takes_most"][0]["takes"]).total_cmp(&value(&other["takes_most"][0]["takes"]))
    });
    let row = of_source.expect("something that the resistance of the pack moves");
    let at = format!("sources.pack.internal_resistance.highest={} ohm", value(&row["takes_most"][0]["at"]));
    let asked = ["stress", FORWARDER, "--variant", "standard", "--format", "csv", "--with", &at];
    let out = run(&asked).out;
    let columns: Vec<&str> = out.lines().next().expect("a head").split(',').collect();
    let column = |name: &str| columns.iter().position(|own| *own == name).expect("a column");
    let text = |key: &str| row[key].as_str().expect("text");
    let own = out.lines().map(|line| line.split(',').collect::<Vec<_>>()).find(|cells| {
        cells[column("part")] == text("part")
            && cells[column("check")] == text("check")
            && cells[column("defect")] == text("defect")
            && cells[column("duty_point")] == text("duty_point")
    });
    let moved: f64 = own.expect("the same comparison")[column("headroom")].parse().expect("a number");
    let takes = value(&row["headroom"]) - moved;
    assert!((takes - value(&row["takes_most"][0]["takes"])).abs() < 1e-9, "{takes} {row}");
}

#[test]
fn an_interface_takes_what_its_bad_end_does() {
    const SHUTTLE: &str = "examples/harbour-shuttle.yaml";
    let faces = "cooling.elements.front_plate.cools.front_bridge";
    let face = format!("{faces}.face_a");
    let standard = ["stress", SHUTTLE, "--variant", "standard"];
    let rows = |more: &[&str]| {
        let table = json(&[&standard[..], &["--tolerance"], more].concat());
        let rows = table["rows"].as_array().expect("rows").clone();
        let taken = |row: &Value| {
            let takers = row["takes_most"].as_array().expect("takers").clone();
            takers.iter().find(|taker| taker["path"] == face.as_str()).map(|taker| value(&taker["takes"]))
        };
        rows.into_iter().filter_map(|row| Some((taken(&row)?, row))).collect::<Vec<_>>()
    };
    // Nobody says how far it may lie off: it is not varied.
    assert!(rows(&[]).is_empty());
    let with = format!("{faces}.tolerance=40%");
    let all = rows(&["--with", &with]);
    let hot = all.into_iter().filter(|(_, row)| row["check"] == "junction-temperature");
    let (takes, row) = hot.max_by(|one, other| one.0.total_cmp(&other.0)).expect("a junction");
    let text = |key: &str| row[key].as_str().expect("text").to_owned();
    // 0.085 K/W and 40 % more.
    let at = format!("{face}=0.119 K/W");
    let out = run(&[&standard[..], &["--format", "csv", "--with", &at]].concat()).out;
    let columns: Vec<&str> = out.lines().next().expect("a head").split(',').collect();
    let column = |name: &str| columns.iter().position(|own| *own == name).expect("a column");
    let own = out.lines().map(|line| line.split(',').collect::<Vec<_>>()).find(|cells| {
        ["part", "check", "defect", "duty_point"].iter().all(|key| cells[column(key)] == text(key))
    });
    let moved: f64 = own.expect("the same comparison")[column("headroom")].parse().expect("a number");
    assert!((value(&row["headroom"]) - moved - takes).abs() < 1e-6, "{takes} {row}");
    assert!(takes > 5.0, "{takes} K");
}

#[test]
fn the_worst_case_is_no_better_than_any_single_end() {
    let table = json(&["stress", FORWARDER, "--tolerance"]);
    for row in table["rows"].as_array().expect("rows") {
        let (headroom, worst) = (value(&row["headroom"]), value(&row["worst_case"]));
        let (summed, rss) = (value(&row["worst_case_summed"]), value(&row["root_sum_square"]));
        assert!(summed <= rss + 1e-12 && rss <= headroom + 1e-12, "{row}");
        let most = row["takes_most"][0]["takes"]["value"].as_f64().unwrap_or(0.0);
        assert!(rss <= headroom - most + 1e-12, "{row}");
        if row["is_linear"] == true {
            assert!((worst - summed).abs() <= 0.1 * (headroom - summed) + 1e-6, "{row}");
        }
    }
    let varied = table["varied"].as_array().expect("values");
    let path = |name: &str| {
        varied.iter().find(|one| one["path"] == name).unwrap_or_else(|| panic!("{name}: {varied:?}"))
    };
    let choke = path("magnetics.step_up_choke.inductance");
    assert!((value(&choke["low"]) - 288e-6).abs() < 1e-12 && (value(&choke["high"]) - 352e-6).abs() < 1e-12);
    assert!((value(&path("sources.pack.internal_resistance")["low"]) - 28e-3).abs() < 1e-12);
    assert!((value(&path("capacitor_types.film900_120u.capacitance")["low"]) - 108e-6).abs() < 1e-12);
}

#[test]
fn defaults_that_move_nothing_are_not_varied() {
    let table = json(&["stress", FORWARDER, "--tolerance"]);
    let varied = table["varied"].as_array().expect("what is varied");
    let has = |path: &str| varied.iter().any(|one| one["path"] == path);
    // Nothing discharges the net of the board, and no time of it is held against anything.
    assert!(!has("buses.board_net.discharge.within") && has("conductors.pack_fuse.element"), "{varied:?}");
}

#[test]
fn a_default_that_stands_in_for_several_values_is_named_with_all_of_them() {
    let table = json(&["stress", FORWARDER, "--tolerance"]);
    let varied = table["varied"].as_array().expect("what is varied");
    let briefly = varied.iter().find(|one| one["default"] == "hottest-briefly").expect("a default");
    let places = briefly["places"].as_array().expect("where it stands in");
    assert_eq!(briefly["path"], places[0]);
    assert_eq!(places.len(), 4, "{briefly}");
    let of_the_unit = varied.iter().filter(|one| one["by"] == "description");
    assert!(of_the_unit.clone().all(|one| one["default"].is_null() && one["places"][0] == one["path"]));
    let shown = run(&["stress", FORWARDER, "--tolerance", "--all"]).out;
    let plain = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain.contains("conductors.*.hottest_briefly of main_contactor and 3 more"), "{plain}");
}
