//! The largest load over a condition: found twice, by the program and by hand, and shown in every form.

use std::f64::consts::PI;

use serde_json::Value;

use super::program::{Folder, Ran, assert_shown, run, run_in, text_of};

const BRIDGE: &str = "tests/end_to_end/descriptions/one-bridge.yaml";
const FORWARDER: &str = "examples/timber-forwarder.yaml";
const CLIMB: [&str; 6] = ["capability", FORWARDER, "--stage", "traction_bridge", "--duty", "loaded_climb"];

fn shown(ran: &Ran) -> String {
    assert_eq!(ran.err, "");
    format!("{}exit {}\n", ran.out, ran.code.unwrap_or(-1))
}

fn points(arguments: &[&str]) -> Vec<Value> {
    let ran = run(&[arguments, &["--format", "json"][..]].concat());
    let read: Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!((&read["form"], &read["version"]), (&"loadworthy-capability".into(), &1.into()));
    read["curves"][0]["points"].as_array().expect("points").clone()
}

fn number(of: &Value) -> f64 {
    of["value"].as_f64().expect("a number")
}

/// Junction of a transistor of the small bridge, stepped through a turn of the output: sinusoidal references, a straight
/// on-state line, energies in proportion to the current, one case for the four chips
/// of a leg, and what the junction swings about its mean within a turn.
fn junction(watts: f64, inlet: f64) -> f64 {
    let (link, volts, cos_phi): (f64, f64, f64) = (300.0, 150.0, 0.9);
    let crest = 2_f64.sqrt() * watts / (3_f64.sqrt() * volts * cos_phi);
    let (mut transistor, mut diode) = (100.0, 100.0);
    // What the chips take of the voltage is made up for by the index.
    let mut drop = 0.0;
    let mut course = Vec::new();
    for _ in 0..60 {
        let (mut of_transistor, mut of_diode, mut taken) = (0.0, 0.0, 0.0);
        let steps = 5000;
        course.clear();
        for step in 0..steps {
            let angle = (f64::from(step) + 0.5) / f64::from(steps) * 2.0 * PI;
            let amps = crest * angle.cos();
            // The voltage to form leads by the angle of the load; the drop is along the current.
            let reference =
                volts * (2.0_f64 / 3.0).sqrt() * (angle + cos_phi.acos()).cos() + drop * angle.cos();
            let on = 0.5 + reference / link;
            let own = |knee: f64, slope: f64| knee + slope * (amps.abs() - 50.0);
            let before = of_transistor;
            if amps > 0.0 {
                let falls = own(1.0, 1.75 / 350.0);
                let scale = 1.0 + 0.003 * (transistor - 125.0);
                of_transistor += on * amps * falls + 12e3 * 12e-3 * amps / 200.0 * scale;
                taken += 2.0 * angle.cos() * on * falls;
            } else {
                // The same switch position carries the current back through its diode.
                let falls = own(1.0, 1.4 / 350.0);
                let scale = 1.0 + 0.006 * (diode - 125.0);
                of_diode += on * -amps * falls + 12e3 * 4e-3 * -amps / 200.0 * scale;
                taken -= 2.0 * angle.cos() * on * falls;
            }
            course.push(of_transistor - before);
        }
        let each = |sum: f64| sum / f64::from(steps);
        (of_transistor, of_diode, drop) = (each(of_transistor), each(of_diode), 2.0 * each(taken));
        let all = 6.0 * (of_transistor + of_diode);
        let coolant = inlet + all / (10e-3 / 60.0 * 1060.0 * 3460.0);
        let case = coolant + 0.03 * 2.0 * (of_transistor + of_diode);
        (transistor, diode) = (case + 0.14 * of_transistor, case + 0.24 * of_diode);
    }
    // One thermal time constant: where the swing begins follows from where it ends.
    let kept = (-1.0_f64 / (200.0 * 60e-3 * course.len() as f64)).exp();
    let swing = |from: f64| {
        course.iter().fold((from, from), |(last, most), watts| {
            let next = last * kept + 0.14 * watts * (1.0 - kept);
            (next, most.max(next))
        })
    };
    let begin = swing(0.0).0 / (1.0 - (-1.0_f64 / (200.0 * 60e-3)).exp());
    let mean = 0.14 * course.iter().sum::<f64>() / course.len() as f64;
    transistor - mean + swing(begin).1
}

#[test]
fn a_bridge_carries_what_a_hand_calculation_says() {
    let found = points(&[
        "capability",
        BRIDGE,
        "--stage",
        "drive",
        "--over",
        "coolant.inlet=40degC..70degC",
        "--points",
        "5",
    ]);
    assert_eq!(found.len(), 5);
    for point in &found {
        let limit = &point["limit"];
        assert_eq!(
            (&limit["check"], &point["state"]),
            (&"junction-temperature".into(), &"limited".into()),
            "{point}"
        );
        assert!(limit["part"].as_str().is_some_and(|part| part.ends_with(".transistor")), "{point}");
        let allowed = number(&limit["comparison"]["allowed"]);
        assert!((allowed - 105.0).abs() < 1e-9);
        let (mut low, mut high) = (1e3, 100e3);
        for _ in 0..30 {
            let middle: f64 = 0.5 * (low + high);
            if junction(middle, number(&point["at"])) < allowed { low = middle } else { high = middle }
        }
        let load = number(&point["load"]);
        assert!((load / low - 1.0).abs() < 0.01, "{load} is not {low} at {}", point["at"]);
    }
    // Cooler coolant carries more.
    assert!(found.windows(2).all(|pair| number(&pair[1]["load"]) < number(&pair[0]["load"])));
}

#[test]
fn what_it_says_is_what_a_stress_table_says_of_that_load() {
    for point in points(
        &[&CLIMB[..], &["--variant", "standard", "--over", "coolant.inlet=70degC..95degC", "--points", "3"]]
            .concat(),
    ) {
        let limit = &point["limit"];
        let holds = |times: f64| {
            let set = |path: &str, value: f64, unit: &str| format!("duty.loaded_climb.{path}={value} {unit}");
            let load = set("loads.traction_motor.electrical_power", number(&point["load"]) * times, "W");
            let inlet = set("coolant.inlet", number(&point["at"]), "degC");
            let asked =
                ["stress", FORWARDER, "--variant", "standard", "--duty", "loaded_climb", "--format", "json"];
            let ran = run(&[&asked[..], &["--with", &load, "--with", &inlet]].concat());
            let table: Value = serde_json::from_str(&ran.out).expect("JSON");
            let rows = table["rows"].as_array().expect("rows").clone();
            let own: Vec<&Value> = rows
                .iter()
                .filter(|row| row["part"] == limit["part"] && row["check"] == limit["check"])
                .collect();
            assert!(!own.is_empty(), "{limit}");
            let fails = |row: &&Value| row["verdict"] == "fails" && row["duty_point"] == "loaded_climb";
            (!own.into_iter().any(|row| fails(&row)), rows.iter().filter(fails).count())
        };
        assert_eq!(holds(1.0 - 1e-4), (true, 0), "{point}");
        assert!(!holds(1.0 + 1e-4).0, "{point}");
    }
}

#[test]
fn as_a_table() {
    assert_shown!(
        "capability-timber-forwarder",
        shown(&run(&[&CLIMB[..], &["--over", "coolant.inlet=20degC..100degC"]].concat()))
    );
}

#[test]
fn as_a_drawing() {
    let asked = [
        "--variant",
        "standard",
        "--over",
        "coolant.inlet=20degC..100degC",
        "--points",
        "9",
        "--format",
        "svg",
    ];
    let out = shown(&run(&[&CLIMB[..], &asked].concat()));
    assert_shown!("capability-timber-forwarder-svg", out);
}

#[test]
fn for_a_spreadsheet() {
    let asked = [
        "--variant",
        "standard",
        "--over",
        "coolant.inlet=85degC..100degC",
        "--points",
        "4",
        "--format",
        "csv",
    ];
    assert_shown!("capability-timber-forwarder-csv", shown(&run(&[&CLIMB[..], &asked].concat())));
}

#[test]
fn a_curve_ends_where_a_law_does() {
    let folder = Folder::new();
    let unit = text_of(BRIDGE)
        .replace("junction_limit: 125 degC", "junction_limit: 350 degC")
        .replace("400 A], voltage", "220 A], voltage");
    folder.put("short.yaml", unit.replace("[200 A, 400 A]", "[200 A, 220 A]"));
    let ran = run_in(
        &folder,
        &[
            "capability",
            "short.yaml",
            "--stage",
            "drive",
            "--over",
            "coolant.inlet=20degC..30degC",
            "--points",
            "2",
        ],
    );
    assert_eq!(ran.code, Some(3));
    assert!(
        ran.out.contains("not judged beyond: ") && ran.out.contains("cover a current of at"),
        "{}",
        ran.out
    );
}

#[test]
fn what_cannot_be_asked() {
    for (arguments, said) in [
        (["--stage", "traction_brige", "--over", "coolant.inlet=20degC..80degC"], "is it `traction_bridge`?"),
        (["--stage", "traction_bridge", "--over", "coolant.outlet=20degC..80degC"], "is it `coolant.inlet`?"),
        (["--stage", "traction_bridge", "--over", "coolant.inlet=20..80"], "a number without a unit"),
        (["--stage", "traction_bridge", "--over", "coolant.inlet=80degC..20degC"], "the range must rise"),
        (["--stage", "traction_bridge", "--over", "coolant.inlet"], "from where to where"),
        (
            ["--stage", "traction_bridge", "--over", "loads.traction_motor.electrical_power=1kW..2kW"],
            "the load that is scaled",
        ),
        (["--stage", "traction_bridge", "--over", "loads.traction_motor.frequency=-1Hz..2Hz"], "frequency"),
    ] {
        let ran = run(&[&["capability", FORWARDER, "--duty", "loaded_climb"][..], &arguments].concat());
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(ran.err.contains(said), "{arguments:?}: {}", ran.err);
    }
    let ran = run(&[
        "capability",
        FORWARDER,
        "--stage",
        "traction_bridge",
        "--over",
        "coolant.inlet=20degC..80degC",
    ]);
    assert!(ran.code == Some(2) && ran.err.contains("by --duty: `loaded_climb`"), "{}", ran.err);
    let rests = [
        "capability",
        FORWARDER,
        "--stage",
        "traction_bridge",
        "--duty",
        "crane_work",
        "--over",
        "coolant.inlet=20degC..80degC",
    ];
    assert!(run(&rests).err.contains("asks nothing of `traction_bridge`"));
}

#[test]
fn names_are_text_in_a_drawing() {
    let folder = Folder::new();
    let name = "<b>&\u{1b}.yaml";
    folder.put(name, text_of(BRIDGE));
    let asked =
        ["--stage", "drive", "--over", "coolant.inlet=40degC..60degC", "--points", "2", "--format", "svg"];
    let ran = run_in(&folder, &[&["capability", name][..], &asked].concat());
    assert!(ran.out.contains("&lt;b&gt;&amp;\\u{001B}.yaml"), "{}{}", ran.err, ran.out);
    assert!(!ran.out.contains("<b>") && !ran.out.contains('\u{1b}'), "{}", ran.out);
}

#[test]
fn a_coolant_outside_its_range_is_what_limits() {
    let asked =
        ["capability", "examples/harbour-shuttle.yaml", "--stage", "front_bridge", "--duty", "laden_run"];
    let over = ["--over", "coolant.inlet=60degC..120degC", "--points", "2"];
    let out = run(&[&asked[..], &over[..]].concat()).out;
    assert!(out.contains("not judged beyond: cooling ("), "{out}");
    assert!(!out.contains("outside the range of its law"), "{out}");
}

#[test]
fn what_fails_at_any_load_limits_none_and_is_told() {
    let shuttle = [
        "capability",
        "examples/harbour-shuttle.yaml",
        "--stage",
        "front_bridge",
        "--duty",
        "laden_run",
        "--over",
        "coolant.inlet=20degC..80degC",
        "--points",
        "3",
    ];
    let jumpy = [&shuttle[..], &["--with", "drivers.axle_drivers.transient_immunity=1kV/us"]].concat();
    assert_eq!(points(&jumpy), points(&shuttle));
    let said = run(&jumpy).out;
    assert!(said.contains("at any load, at none as well: edge at "), "{said}");
    let table = run(&[&jumpy[..], &["--format", "csv"]].concat()).out;
    // In both variants.
    let told = table.lines().skip(1).filter(|line| line.contains("barrier-immunity edge ")).count();
    assert_eq!(told, 6, "{table}");
}

#[test]
fn what_is_not_judged_at_an_end_of_the_range_fails_there_as_everywhere() {
    let over = |what: &str, end: &str| {
        let over = format!("coolant.inlet=60degC..{end}");
        let shuttle =
            ["capability", "examples/harbour-shuttle.yaml", "--stage", "front_bridge", "--duty", "laden_run"];
        let asked = ["--over", over.as_str(), "--points", "2", "--with", what];
        run(&[&shuttle[..], &asked[..]].concat()).out
    };
    let first = |said: &str| {
        said.lines().find(|line| line.trim_start().starts_with("60 °C")).expect("a point").to_owned()
    };
    let strict = "policy.turn_off_voltage.use_at_most=20 %";
    let fails = "at any load, at none as well: spike at front_bridge.high_side";
    let (known, beyond) = (over(strict, "70degC"), over(strict, "120degC"));
    assert!(known.contains(fails) && beyond.contains(fails), "{beyond}");
    // Beside that the load at 60 °C is what it is without it.
    let otherwise = over("policy.turn_off_voltage.use_at_most=90 %", "70degC");
    assert_eq!(first(&known), first(&otherwise));
    assert_eq!(first(&beyond), first(&otherwise));
}

#[test]
fn what_all_duty_points_share_is_judged_in_every_row_of_a_mission() {
    let arguments = ["mission", "examples/harbour-shuttle.yaml", "--with", "surroundings.coldest=-60degC"];
    let ran = run(&[&arguments[..], &["--format", "json"]].concat());
    let read: Value = serde_json::from_str(&ran.out).expect("JSON");
    let worst = read["worst"].as_array().expect("comparisons");
    let freezes = worst.iter().find(|one| one["defect"] == "freezes").expect("freezing");
    assert_eq!(freezes["fails_for"], read["lasts"]);
}

/// Factors of the points of a curve.
fn factors(arguments: &[&str]) -> Vec<f64> {
    points(arguments).iter().map(|point| point["factor"].as_f64().expect("a factor")).collect()
}

#[test]
fn over_the_carrier_and_the_altitude_each_point_is_that_of_a_description_that_says_so() {
    // The carriers of both bridges run together: what one of them is named for, the other does as well.
    let over = [&CLIMB[..], &["--variant", "standard", "--points", "2"]].concat();
    let at_inlet = [&over[..], &["--over", "coolant.inlet=70degC..72degC"]].concat();
    let carrier = [&over[..], &["--over", "stages.traction_bridge.carrier.frequency=8kHz..12kHz"]].concat();
    let patched =
        ["stages.traction_bridge.carrier.frequency=12 kHz", "stages.pump_bridge.carrier.frequency=12 kHz"];
    let patched = [&at_inlet[..], &["--with", patched[0], "--with", patched[1]]].concat();
    let (as_described, carrier, patched) = (factors(&at_inlet), factors(&carrier), factors(&patched));
    assert!((carrier[0] - as_described[0]).abs() < 1e-12 && carrier[1] < carrier[0], "{carrier:?}");
    assert!((carrier[1] - patched[0]).abs() < 1e-12, "{carrier:?} {patched:?}");
    let altitude = [&over[..], &["--over", "surroundings.altitude=1000m..2000m"]].concat();
    let low = [&at_inlet[..], &["--with", "surroundings.altitude=1000 m"]].concat();
    let (altitude, low) = (factors(&altitude), factors(&low));
    assert!((altitude[0] - low[0]).abs() < 1e-12 && (altitude[1] - as_described[0]).abs() < 1e-12);
    let flow = [&over[..], &["--over", "coolant.flow=10L/min..14L/min"]].concat();
    let less = [&at_inlet[..], &["--with", "cooling.pump.flow=10 L/min"]].concat();
    let (flow, less) = (factors(&flow), factors(&less));
    assert!((flow[0] - less[0]).abs() < 1e-12 && (flow[1] - as_described[0]).abs() < 1e-12, "{flow:?}");
    assert!(flow[0] <= flow[1], "{flow:?}");
    // What a duty point starts from would have to vary as well.
    let held = ["capability", FORWARDER, "--stage", "traction_bridge", "--duty", "hold_on_slope"];
    let ran = run(&[&held[..], &["--over", "surroundings.altitude=0m..2000m"]].concat());
    assert!(ran.err.contains("starts from another duty point"), "{}", ran.err);
    assert_eq!(ran.code, Some(2));
}

#[test]
fn what_is_wrong_with_the_structure_is_told_before_the_curve() {
    let folder = Folder::new();
    for part in ["semiconductors.yaml", "capacitors.yaml"] {
        folder.put(&format!("parts/{part}"), text_of(&format!("examples/parts/{part}")));
    }
    let text = text_of("examples/harbour-shuttle.yaml");
    let precharge =
        "  pack_precharge: { around: main_contactor, through: [precharge_contactor, precharge_resistor] }\n";
    assert_eq!(text.matches(precharge).count(), 1);
    let asked = |text: String| {
        folder.put("unit.yaml", text);
        let asks =
            ["--stage", "front_bridge", "--duty", "laden_run", "--over", "coolant.inlet=40degC..50degC"];
        let all = [&["capability", "unit.yaml"][..], &asks[..], &["--points", "2"][..]].concat();
        run_in(&folder, &all).out
    };
    let (sound, bare) = (asked(text.clone()), asked(text.replacen(precharge, "", 1)));
    assert!(!sound.contains("at any load"), "{sound}");
    assert!(bare.contains("at any load") && bare.contains("stored-energy"), "{bare}");
}

/// How long a duty point may last as it asks: its time put into the description holds, a little more does not.
#[test]
fn how_long_a_duty_point_may_last_is_told_beside_the_loads() {
    let asked = [
        "capability",
        FORWARDER,
        "--stage",
        "traction_bridge",
        "--duty",
        "hold_on_slope",
        "--over",
        "lasts=2ms..500ms",
        "--points",
        "5",
    ];
    let ran = run(&[&asked[..], &["--format", "json"]].concat());
    let read: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err));
    let longest = &read["curves"][0]["longest"];
    let lasts = number(&longest["lasts"]);
    let limit = &longest["limit"];
    assert!(0.002 < lasts && lasts < 0.5 && limit["check"].is_string(), "{longest}");
    let fails = |seconds: f64| {
        let with = format!("duty.hold_on_slope.lasts={seconds} s");
        let ran = run(&["review", FORWARDER, "--with", &with, "--format", "json"]);
        let read: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err));
        let found = read["reviews"][0]["findings"].as_array().expect("findings").iter();
        found.filter(|one| one["check"] == limit["check"] && one["duty_point"] == "hold_on_slope").count()
    };
    assert!(fails(0.9 * lasts) < fails(1.1 * lasts), "{lasts} s, {limit}");
    let shown = run(&asked);
    assert!(shown.out.contains("as asked     holds for up to "), "{}", shown.out);
    // Loads fall as it lasts longer.
    let points = points(&asked);
    let factors: Vec<f64> = points.iter().filter_map(|point| point["factor"].as_f64()).collect();
    assert!(factors.is_sorted_by(|one, other| one >= other), "{factors:?}");
    // What does not say what it starts from is settled, however long it lasts.
    let settled = run(&[
        "capability",
        FORWARDER,
        "--stage",
        "traction_bridge",
        "--duty",
        "loaded_climb",
        "--over",
        "lasts=1s..2s",
    ]);
    assert_eq!(settled.code, Some(2), "{}", settled.out);
    let none = run(&[&asked[..7], &["lasts=0s..2s"]].concat());
    assert!(none.code == Some(2) && none.err.contains("lasts for some time"), "{}", none.err);
}
