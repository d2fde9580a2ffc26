//! Where the power goes: what is printed adds up, and what is not known is said.

use serde_json::Value;

use super::program::{Folder, Ran, assert_shown, run, run_in, template, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";
const TWO_SOURCES: &str = "tests/end_to_end/descriptions/two-sources.yaml";
const CHAIN: &str = "spec/unit/tests/chain.yaml";

fn shown(ran: &Ran) -> String {
    assert_eq!(ran.err, "");
    format!("{}exit {}\n", ran.out, ran.code.unwrap_or(-1))
}

#[test]
fn of_an_example() {
    assert_shown!("balance-peat-harvester", shown(&run(&["balance", HARVESTER])));
}

#[test]
fn of_several_sources_a_divided_flow_a_recovery_and_what_has_no_solution() {
    assert_shown!("balance-two-sources", shown(&run(&["balance", TWO_SOURCES])));
}

#[test]
fn down_to_a_board_net_and_at_standstill() {
    assert_shown!("balance-chain", shown(&run(&["balance", CHAIN])));
}

/// Amounts of a duty point as they are printed: what enters and leaves the unit, and losses, in the unit of their column.
#[derive(Debug, Default)]
struct Printed {
    into: f64,
    out: f64,
    losses: f64,
    sum: Option<[f64; 3]>,
    units: [f64; 2],
}

fn factor(unit: &str) -> f64 {
    match unit {
        "W" => 1.0,
        "kW" => 1e3,
        "MW" => 1e6,
        other => panic!("no unit: {other}"),
    }
}

/// Reads the tables back.
fn printed(text: &str) -> Vec<Printed> {
    let mut all: Vec<Printed> = Vec::new();
    for line in text.lines() {
        let cells =
            |from: usize, to: usize| line.chars().take(to).skip(from).collect::<String>().trim().to_owned();
        let [into, out, loss] = [cells(36, 45), cells(45, 54), cells(54, 68)];
        if let Some(unit) = into.strip_prefix("in ") {
            let loss = loss.strip_prefix("loss ").expect("a head has three columns");
            all.push(Printed { units: [factor(unit), factor(loss)], ..Printed::default() });
            continue;
        }
        let Some(last) = all.last_mut().filter(|last| last.sum.is_none()) else { continue };
        let number = |text: &str| text.trim_start_matches("most ").parse::<f64>().ok();
        if line.starts_with("sum ") {
            last.sum = Some([number(&into), number(&out), number(&loss)].map(|sum| sum.expect("a sum")));
        } else if let Some(loss) = number(&loss) {
            // A stage or a conductor: what it passes stays within the unit.
            last.losses += loss;
        } else {
            last.into += number(&into).unwrap_or_default();
            last.out += number(&out).unwrap_or_default();
        }
    }
    all
}

#[test]
fn what_is_printed_adds_up() {
    let mut seen = 0;
    let tries: [&[&str]; 6] = [
        &[HARVESTER],
        &["examples/vineyard-carrier.yaml"],
        &[CHAIN],
        &[TWO_SOURCES, "--duty", "climb"],
        &[TWO_SOURCES, "--duty", "braking"],
        &[CHAIN, "--duty", "hold", "--with", "loads.cab_supply.bus=board_net"],
    ];
    for arguments in tries {
        let ran = run(&[&["balance"][..], arguments].concat());
        for one in printed(&ran.out) {
            seen += 1;
            let [into, out, losses] = one.sum.expect("a sum row");
            let near =
                |a: f64, b: f64, whole: f64| assert!((a - b).abs() <= 1e-3 * whole, "{a} {b}: {}", ran.out);
            near(one.into, into, into);
            near(one.out, out, into);
            near(one.losses, losses, losses);
            near(
                one.into * one.units[0],
                one.out * one.units[0] + one.losses * one.units[1],
                into * one.units[0],
            );
        }
    }
    assert!(seen >= 10, "{seen}");
}

#[test]
fn every_balance_closes_to_rounding() {
    for file in [HARVESTER, "examples/vineyard-carrier.yaml", CHAIN, TWO_SOURCES] {
        let ran = run(&["balance", file, "--format", "json"]);
        let value: Value = serde_json::from_str(&ran.out).expect("JSON");
        assert_eq!((&value["form"], &value["version"]), (&"loadworthy-balance".into(), &1.into()));
        assert_eq!(value["exit"].as_i64(), ran.code.map(i64::from));
        for one in value["balances"].as_array().expect("balances") {
            let sum = &one["sum"];
            let number = |key: &str| sum[key]["value"].as_f64();
            let Some(share) = number("residual_share") else {
                assert!(!one["missing"].as_array().expect("reasons").is_empty(), "{one}");
                continue;
            };
            assert!(share < 1e-6 && sum["adds_up"] == true, "{file}: {sum}");
            let heat = number("to_coolant").expect("heat") + number("to_air").expect("heat");
            let losses = number("losses").expect("losses");
            assert!((heat - losses).abs() <= 1e-6 * losses, "{file}: {heat} of {losses}");
        }
    }
}

#[test]
fn a_duty_point_that_is_not_known_hides_no_other() {
    let ran = run(&["balance", TWO_SOURCES]);
    assert_eq!(ran.code, Some(3));
    assert!(ran.out.contains("not solved   too_steep has no solution: it fails at pack"), "{}", ran.out);
    assert!(ran.out.contains("missing      `duty.unstated.coolant.inlet` is not stated"), "{}", ran.out);
    assert_eq!(printed(&run(&["balance", TWO_SOURCES, "--duty", "climb"]).out).len(), 1);
    assert_eq!(run(&["balance", TWO_SOURCES, "--duty", "climb"]).code, Some(0));
}

#[test]
fn what_is_recovered_is_said_and_its_sign_is_not_left_to_the_reader() {
    let ran = run(&["balance", TWO_SOURCES, "--duty", "braking"]);
    let line =
        |begin: &str| ran.out.lines().find(|line| line.trim_start().starts_with(begin)).expect("a line");
    assert!(
        line("travel_motor").contains("recovers") && line("travel_motor").ends_with("22.000"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("balances: takes back "), "{}", ran.out);
    assert!(line("range_extender").ends_with("rests"), "{}", ran.out);
    assert!(!ran.out.contains(" -"), "{}", ran.out);
}

#[test]
fn one_variant_one_duty_point() {
    let ran = run(&["balance", HARVESTER, "--variant", "wide", "--duty", "harvest"]);
    let heads: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("duty ")).collect();
    assert_eq!(heads.len(), 1);
    assert!(heads[0].starts_with("duty  harvest, wide"), "{}", heads[0]);
    for (arguments, near) in
        [(["--variant", "wyde"], "is it `wide`?"), (["--duty", "harvst"], "is it `harvest`?")]
    {
        let ran = run(&[&["balance", HARVESTER][..], &arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
        assert!(ran.err.contains(near), "{}", ran.err);
    }
}

#[test]
fn a_spreadsheet_has_the_same_columns_in_every_line() {
    for file in [CHAIN, TWO_SOURCES] {
        let ran = run(&["balance", file, "--format", "csv"]);
        let commas = ran.out.lines().map(|line| line.matches(',').count()).collect::<Vec<_>>();
        assert!(commas.len() > 20 && commas.iter().all(|count| *count == commas[0]), "{}", ran.out);
        let stage = ran.out.lines().find(|line| line.contains(",stage,")).expect("a stage");
        let fields: Vec<&str> = stage.split(',').collect();
        let number = |place: usize| fields[place].parse::<f64>().expect("a number");
        // In, out, loss, unrounded.
        assert!((number(8) - number(9) - number(10)).abs() < 1e-6 * number(8), "{stage}");
    }
}

#[test]
fn no_line_is_wider_than_a_terminal() {
    let folder = Folder::new();
    let long = "n".repeat(60);
    folder.put(
        "long.yaml",
        text_of(TWO_SOURCES).replace("travel_bridge", &long).replace("boost_stack", &"b".repeat(60)),
    );
    let runs = [
        run(&["balance", CHAIN]),
        run(&["balance", TWO_SOURCES]),
        run_in(&folder, &["balance", "long.yaml"]),
    ];
    for line in runs.iter().flat_map(|ran| ran.out.lines()) {
        assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
    }
    assert!(runs[2].out.contains(long.as_str()), "{}", runs[2].out);
}

#[test]
fn what_cannot_be_read_and_what_asks_nothing() {
    assert_eq!(run(&["balance", "no-such-file.yaml"]).code, Some(2));
    let folder = Folder::new();
    folder.put("empty.yaml", "edition: 2026\n");
    let ran = run_in(&folder, &["balance", "empty.yaml"]);
    assert_eq!(ran.code, Some(3));
    assert!(ran.out.contains("not known    nothing: no duty point could be read"), "{}", ran.out);
    folder.put("broken.yaml", template("x", "60") + "colour: green\n");
    let ran = run_in(&folder, &["balance", "broken.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("1 problem") && ran.out.contains("sum "), "{}{}", ran.err, ran.out);
}

#[test]
fn a_bus_whose_voltage_is_stated_and_that_nothing_feeds() {
    let folder = Folder::new();
    folder.put("unit.yaml", template("x", "60"));
    let ran = run_in(&folder, &["balance", "unit.yaml"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(ran.out.contains("link  gives "), "{}", ran.out);
}
