//! Missions: what happened where, where the energy went, and files that cannot be used.

use serde_json::Value;

use super::program::{Folder, assert_shown, run, run_in, text_of};

const UNIT: &str = "timber-forwarder";

/// A folder with an example and some missions.
fn folder(missions: &str) -> Folder {
    let folder = Folder::new();
    for parts in ["parts/semiconductors.yaml", "parts/capacitors.yaml"] {
        folder.put(parts, text_of(&format!("examples/{parts}")));
    }
    folder.put("unit.yaml", text_of(&format!("examples/{UNIT}.yaml")) + "\nmissions:\n" + missions);
    folder
}

const SHIFT: &str = "  shift:
    starts_from: loaded_climb
    steps:
      - { duty: loaded_climb, lasts: 60 s }
      - { duty: hold_on_slope, lasts: 2 s }
      - { duty: downhill_recovery, lasts: 5 min }
";
const HAUL: &str = "  haul: { file: haul.csv, duty: loaded_climb }\n";
const HEAD: &str = "lasts [s],coolant.inlet [degC],loads.traction_motor.electrical_power [kW]\n";

#[test]
fn steps_of_the_description() {
    let ran = run_in(&folder(SHIFT), &["mission", "unit.yaml"]);
    assert_eq!(ran.err, "");
    assert_shown!("mission-steps", format!("{}exit {}\n", ran.out, ran.code.unwrap_or(-1)));
}

fn haul(rows: usize) -> String {
    let wave = |row: usize| 30.0 + 25.0 * ((row % 97) as f64 / 48.5 - 1.0);
    (0..rows).fold(HEAD.to_owned(), |text, row| {
        text + &format!("{},{:.2},{:.2}\n", 1 + row % 2, 55.0 + (row % 31) as f64 / 4.0, wave(row))
    })
}

fn json(folder: &Folder) -> Value {
    let ran = run_in(folder, &["mission", "unit.yaml", "haul", "--format", "json"]);
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err))
}

#[test]
fn a_file_of_rows() {
    let folder = folder(HAUL);
    folder.put("haul.csv", haul(3000));
    let first = json(&folder);
    assert_eq!((&first["form"], &first["version"]), (&"loadworthy-mission".into(), &1.into()));
    assert_eq!((first["rows"].as_u64(), first["lasts"].as_f64()), (Some(3000), Some(4500.0)));
    assert_eq!(first, json(&folder), "the same again");
    // Energy goes from the pack into loads, losses and nowhere else.
    let number = |value: &Value| value.as_f64().expect("a number");
    let energy = &first["energy"];
    let pack = &energy["sources"][0];
    let lost: f64 =
        energy["stage_losses"].as_array().expect("stages").iter().map(|one| number(&one["lost"])).sum();
    let (asked, rest) = (0..3000).fold((0.0, 0.0), |(asked, rest), row| {
        let lasts = 1.0 + f64::from(row % 2);
        let wave = 30.0 + 25.0 * (f64::from(row % 97) / 48.5 - 1.0);
        (asked + lasts * 1e3 * format!("{wave:.2}").parse::<f64>().expect("a number"), rest + lasts * 21.4e3)
    });
    let given = number(&pack["gives"]) - number(&pack["takes_back"]);
    let of = |list: &str, key: &str| -> f64 {
        energy[list].as_array().expect("a list").iter().map(|one| number(&one[key])).sum()
    };
    let wires = of("conductor_losses", "lost");
    assert!(
        (given / (asked + rest + lost + wires) - 1.0).abs() < 1e-6,
        "{given} against {asked} {rest} {lost}"
    );
    // The same by what is printed of machines and loads, and of losses by kind.
    let taken =
        of("machines", "takes") + of("loads", "takes") - of("machines", "gives") - of("loads", "gives");
    assert!((taken / (asked + rest) - 1.0).abs() < 1e-6, "{taken} against {}", asked + rest);
    let kinds: f64 = energy["losses_by_kind"].as_object().expect("kinds").values().map(number).sum();
    assert!((kinds / lost - 1.0).abs() < 1e-9, "{kinds} against {lost}");
    assert!(number(&energy["open_share"]) < 1e-6);
    let worst = first["worst"].as_array().expect("the worst");
    assert!(worst.iter().any(|one| one["check"] == "junction-temperature"));
}

#[test]
fn the_energy_of_a_whole_unit_closes() {
    let ran = run(&["mission", "examples/harbour-shuttle.yaml", "round", "--format", "json"]);
    let shown: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err));
    let energy = &shown["energy"];
    let sum = |list: &str, key: &str| -> f64 {
        let all = energy[list].as_array().expect("a list");
        all.iter().map(|one| one[key].as_f64().expect("a number")).sum()
    };
    let entered =
        sum("sources", "gives") + sum("feeds", "gives") + sum("machines", "gives") + sum("loads", "gives");
    let left = sum("sources", "takes_back") + sum("machines", "takes") + sum("loads", "takes");
    let lost = sum("stage_losses", "lost") + sum("conductor_losses", "lost");
    assert!(((entered - left - lost) / entered).abs() < 1e-6, "{entered} {left} {lost}");
    // While it brakes the machines give and the pack takes.
    assert!(sum("machines", "gives") > 0.0 && sum("sources", "takes_back") > 0.0);
    // What stages lose goes into the coolant, less what its chokes and bars give to the air.
    let coolant = energy["coolant"].as_f64().expect("a number");
    assert!(coolant > 0.5 * sum("stage_losses", "lost") && coolant < lost, "{coolant} of {lost}");
}

#[test]
fn what_a_mission_uses_of_the_life_of_capacitors_is_told() {
    let with = ["life=100000 h", "hot_spot=85 degC", "voltage=800 V"]
        .map(|said| format!("capacitor_types.film900_60u.endurance.{said}"));
    let mut arguments = vec!["mission", "examples/harbour-shuttle.yaml", "round"];
    for one in &with {
        arguments.extend(["--with", one]);
    }
    let shown = run(&arguments).out;
    assert!(
        shown.contains("\ncapacitors   link_bank: uses 3.2e-5 % of its life by its hot spot, 3150000 such\n"),
        "{shown}"
    );
    arguments.extend(["--format", "json"]);
    let json: Value = serde_json::from_str(&run(&arguments).out).expect("JSON");
    let bank = &json["capacitors"][0];
    let (used, runs) = (bank["life_used"].as_f64().expect("known"), bank["runs"].as_f64().expect("some"));
    // 320 s of 100,000 h, which double for every ten kelvins and by no more than sixteen.
    let least = 320.0 / (100_000.0 * 3600.0 * 16.0);
    assert!(bank["bank"] == "link_bank" && used > least && used < 16.0 * least, "{bank}");
    assert!((used * runs - 1.0).abs() < 1e-9, "{bank}");
}

#[test]
fn files_that_cannot_be_used_say_where() {
    let row = "1,60,40\n";
    for (text, expected) in [
        ("lasts [s],coolant.inlet [degC]\n1,60\n", ""),
        ("coolant.inlet [degC]\n60\n", "haul.csv: line 1: no column `lasts [s]` says how long a row lasts"),
        (
            "lasts [s],coolant.inlt [degC]\n1,60\n",
            "line 1, column 2: duty points state no `coolant.inlt`; is it `coolant.inlet`?",
        ),
        (
            "lasts [s],coolant.inlet [kW]\n1,60\n",
            "line 1, column 2: `coolant.inlet` states a temperature, and `[kW]` is no unit of it; write one as in `65 degC`",
        ),
        (
            "lasts [s];coolant.inlet [degC]\n1;60\n",
            "line 1, column 1: columns are separated by commas, and numbers have a decimal point",
        ),
        (&format!("{HEAD}{row}1,60\n"), "line 3, column 3: 2 columns, where the first line has 3"),
        (&format!("{HEAD}1\n"), "line 2, column 2: 1 column, where the first line has 3"),
        (&format!("{HEAD}1,60,40,7\n"), "line 2, column 4: 4 columns, where the first line has 3"),
        (&format!("{HEAD}1,\"60,40\n{row}{row}"), "line 2, column 2: a quote opens here and is never closed"),
        (
            &format!("{HEAD}{row}1,,40\n"),
            "line 3, column 2: nothing is stated; a row states every column, in `coolant.inlet`",
        ),
        (
            &format!("{HEAD}{row}{row}1,60,NaN\n"),
            "line 4, column 3: `NaN` is no number that can be reckoned with",
        ),
        (&format!("{HEAD}1e300,60,40\n"), "line 2, column 1: `1e300` is too long: a row lasts up to 1e9 s"),
        (&format!("{HEAD}0,60,40\n"), "line 2, column 1: a row lasts for some time"),
        (&format!("{HEAD}1,-400,40\n"), "line 2, column 2: `-400` cannot be: expected a temperature"),
        (
            "lasts [s],loads.traction_motor.power_factor\n1,0.8\n1,1.5\n",
            "haul.csv: line 3, column 2: `1.5` cannot be: expected a number from -1 to 1, in `loads.traction_motor.power_factor`",
        ),
        (
            "lasts [s],sources.pack.open_circuit [V]\n1,0\n",
            "line 2, column 2: `0` cannot be: it is above zero, in `sources.pack.open_circuit`",
        ),
        (&format!("{HEAD}1,warm,\u{1b}[31m\n"), "line 2, column 3: `\\u{001B}[31m` is no number"),
        (HEAD, "haul.csv: line 1: it has no rows"),
        (
            "lasts [s],loads.crane.power [kW]\n1,4\n",
            "line 1, column 2: duty points state no `loads.crane.power`",
        ),
        (
            "lasts [s],duty\n1,loaded_clim\n",
            "line 2, column 2: there is no duty point `loaded_clim`; is it `loaded_climb`?",
        ),
        (
            "lasts [s],duty,loads.traction_motor.torque [N m]\n1,loaded_climb,90\n",
            "line 2: duty point `loaded_climb` states no `loads.traction_motor.torque`, so rows cannot change it; state it there",
        ),
    ] {
        let folder = folder(HAUL);
        folder.put("haul.csv", text);
        let ran = run_in(&folder, &["mission", "unit.yaml"]);
        assert!(ran.err.contains(expected), "{text}: {}", ran.err);
        assert_eq!(ran.err.is_empty(), expected.is_empty(), "{text}: {}", ran.err);
        assert_eq!(ran.code == Some(2), !expected.is_empty(), "{text}");
    }
}

#[test]
fn what_a_mission_lacks_is_told_in_the_description() {
    let cases = [
        ("  shift: {}\n", "`shift` lacks `steps` or a `file`"),
        ("  shift: { steps: [] }\n", "`steps` lists nothing"),
        ("  shift: { steps: [{ duty: loaded_clim, lasts: 5 s }] }\n", "no duty point is named"),
        ("  shift: { file: ../haul.csv, duty: loaded_climb }\n", ""),
    ];
    for (missions, expected) in cases {
        let ran = run_in(&folder(missions), &["review", "unit.yaml"]);
        let told = ran.out.replace('\n', " ").split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(expected), "{missions}: {told}");
    }
    let ran = run_in(&folder(cases[3].0), &["mission", "unit.yaml"]);
    assert!(ran.err.contains("cannot read `../haul.csv`"), "{}", ran.err);
    assert_eq!(ran.code, Some(2));
}

#[test]
fn a_column_of_time_without_a_unit_is_told_once() {
    let folder = folder(HAUL);
    folder.put("haul.csv", "lasts,coolant.inlet [degC]\n1,60\n");
    let ran = run_in(&folder, &["mission", "unit.yaml"]);
    assert!(ran.err.contains("`lasts` states a time"), "{}", ran.err);
    assert!(!ran.err.contains("no column"), "{}", ran.err);
}

#[test]
fn what_a_duty_point_does_not_state_is_told_once_for_all_its_rows() {
    let folder = folder(HAUL);
    let rows = "1,loaded_climb,90\n".repeat(30);
    folder
        .put("haul.csv", format!("lasts [s],duty,loads.traction_motor.torque [N m]\n{rows}1,way_home,90\n"));
    let ran = run_in(&folder, &["mission", "unit.yaml"]);
    assert_eq!(ran.err.matches("states no").count(), 2, "{}", ran.err);
    assert!(ran.err.contains("line 32: duty point `way_home` states no"), "{}", ran.err);
}

#[test]
fn a_row_that_cannot_be_followed_is_named_and_the_others_count() {
    let folder = folder(HAUL);
    folder.put("haul.csv", format!("{HEAD}10,60,40\n10,5000,40\n10,60,40\n"));
    let ran = run_in(&folder, &["mission", "unit.yaml"]);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("row 2: duty.loaded_climb.coolant.inlet covers a coolant inlet of"), "{}", ran.out);
    assert!(said.contains("of 2 of 3 rows, 20 s"), "{}", ran.out);
    assert!(!said.contains("not a number"), "{}", ran.out);
    let bad = json(&folder);
    folder.put("haul.csv", format!("{HEAD}10,60,40\n10,60,40\n"));
    let good = json(&folder);
    assert_eq!(bad["energy"]["rows"], 2);
    assert_eq!(bad["not_followed"][0]["row"], 2);
    assert_eq!(bad["energy"]["coolant"], good["energy"]["coolant"]);
    assert_eq!(bad["energy"]["sources"], good["energy"]["sources"]);
}

#[test]
fn rows_that_cannot_be_followed_are_named_at_first_and_then_counted() {
    let folder = folder(HAUL);
    folder.put("haul.csv", format!("{HEAD}10,60,40\n{}", "10,5000,40\n".repeat(5)));
    let out = run_in(&folder, &["mission", "unit.yaml"]).out;
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("row 4: duty.loaded_climb.coolant.inlet covers") && !said.contains("row 5:"),
        "{out}"
    );
    assert!(said.contains("and 2 rows more"), "{out}");
}

#[test]
fn a_mission_that_could_not_be_read_is_not_said_to_be_none() {
    let wrong = "  shift: { steps: [{ duty: loaded_clim, lasts: 5 s }] }\n";
    let ran = run_in(&folder(wrong), &["mission", "unit.yaml"]);
    assert!(ran.err.contains("no mission could be read"), "{}", ran.err);
    assert!(!ran.err.contains("has no missions"), "{}", ran.err);
}

#[test]
fn each_row_for_a_spreadsheet() {
    let folder = folder(&format!("{SHIFT}{HAUL}"));
    let columns = ["pack.current", "traction_bridge.low_side.u.transistor.hottest_junction_temperature"];
    let asked = ["--format", "csv", "--column", columns[0], "--column", columns[1]];
    let ran = run_in(&folder, &[&["mission", "unit.yaml", "shift"], &asked[..]].concat());
    assert_eq!(ran.err, "");
    let head = format!("row,begins [s],lasts [s],duty,state,{} [A],{} [degC]", columns[0], columns[1]);
    let lines: Vec<Vec<&str>> = ran.out.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(lines[0].join(","), head);
    let times: Vec<_> = lines[1..].iter().map(|line| line[..5].join(",")).collect();
    assert_eq!(
        times,
        [
            "1,0,60,loaded_climb,followed",
            "2,60,2,hold_on_slope,followed",
            "3,62,300,downhill_recovery,followed"
        ]
    );
    // What the first row comes to is the duty point that it starts from, once it has settled.
    let settled =
        run_in(&folder, &["derive", "unit.yaml", columns[0], "--duty", "loaded_climb", "--format", "csv"]);
    let settled: Vec<&str> = settled.out.lines().nth(1).expect("a line").split(',').collect();
    assert_eq!(lines[1][5].parse::<f64>().ok(), settled[4].parse().ok(), "{settled:?}");
    // A rotor that stands heats one junction far above what it was.
    let hot = |line: usize| lines[line][6].parse::<f64>().expect("a number");
    assert!(hot(2) > hot(1), "{}", ran.out);

    // A file of rows: a line for each, whatever it is longer than; it ends as the mission does.
    folder.put("haul.csv", haul(3000));
    let rows = run_in(&folder, &["mission", "unit.yaml", "haul", "--format", "csv"]);
    let plain = run_in(&folder, &["mission", "unit.yaml", "haul"]);
    assert_eq!((rows.code, rows.out.lines().count()), (plain.code, 3001));
    let mut lines = rows.out.lines();
    let width = lines.next().map(|head| head.split(',').count());
    assert!(lines.all(|line| Some(line.split(',').count()) == width && !line.contains("NaN")));
    assert!(
        rows.out.starts_with("row,begins [s],lasts [s],duty,state,pack_bus.voltage [V],"),
        "{}",
        &rows.out[..200]
    );
    let json = json(&folder);
    let worst = json["worst"].as_array().expect("worst").iter().find(|worst| {
        worst["check"] == "junction-temperature"
            && worst["part"].as_str().is_some_and(|part| part.starts_with("traction_bridge"))
    });
    let hottest =
        worst.and_then(|worst| worst["comparison"]["carried"]["value"].as_f64()).expect("a temperature");
    let place = rows
        .out
        .lines()
        .next()
        .and_then(|head| head.split(',').position(|of| of == "traction_bridge.hottest_junction [degC]"));
    let column = rows.out.lines().skip(1).filter_map(|line| line.split(',').nth(place?)?.parse::<f64>().ok());
    let most = column.reduce(f64::max).expect("rows");
    assert!((most - hottest).abs() < 1e-6, "{most} {hottest}");
}

#[test]
fn columns_that_cannot_be_shown() {
    let folder = folder(SHIFT);
    let told = |asked: &[&str]| {
        let ran = run_in(&folder, &[&["mission", "unit.yaml"], asked].concat());
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{asked:?}");
        ran.err
    };
    let wrong = told(&["--format", "csv", "--column", "pack.curent"]);
    assert!(wrong.contains("is it `pack.current`?"), "{wrong}");
    let alone = told(&["--column", "pack.current"]);
    assert!(alone.contains("`--format csv`"), "{alone}");
}
