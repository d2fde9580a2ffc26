//! The JSON form: whole, and true to what the terminal says.

use serde_json::Value;

use super::program::{Folder, run, run_in, template, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";

fn review(arguments: &[&str]) -> Value {
    let ran = run(&[&["review", "--format", "json"], arguments].concat());
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err))
}

#[test]
fn the_form_is_named_and_numbered() {
    let run = review(&[HARVESTER]);
    assert_eq!(
        (&run["form"], &run["version"], &run["exit"]),
        (&"loadworthy-review".into(), &1.into(), &1.into())
    );
    let review = &run["reviews"][0];
    assert_eq!(review["file"], HARVESTER);
    assert_eq!(review["unit"]["variants"], serde_json::json!(["standard", "wide"]));
    assert_eq!(review["unit"]["duty_points"], serde_json::json!(["harvest", "end_of_shift", "drum_jammed"]));
}

#[test]
fn counts_are_those_of_the_verdicts() {
    let run = review(&[HARVESTER]);
    let review = &run["reviews"][0];
    let verdicts = review["verdicts"].as_array().expect("a list");
    for (word, key) in [("holds", "hold"), ("fails", "fail"), ("not judged", "not_judged")] {
        let number = verdicts.iter().filter(|verdict| verdict["verdict"] == word).count();
        assert_eq!(review["counts"][key], number, "{word}");
    }
}

#[test]
fn headroom_follows_from_carried_and_allowed() {
    let run = review(&[HARVESTER]);
    let mut compared = 0;
    for verdict in run["reviews"][0]["verdicts"].as_array().expect("a list") {
        let comparison = &verdict["comparison"];
        let number = |key: &str| comparison[key]["value"].as_f64();
        let (Some(carried), Some(allowed), Some(headroom)) =
            (number("carried"), number("allowed"), number("headroom"))
        else {
            continue;
        };
        let expected = match comparison["headroom"]["unit"].as_str() {
            Some("K") => allowed - carried,
            _ => 1.0 - carried / allowed,
        };
        assert!((headroom - expected).abs() < 1e-9, "{verdict}");
        assert_eq!(verdict["verdict"] == "holds", headroom >= -1e-6, "{verdict}");
        compared += 1;
    }
    assert!(compared > 300, "{compared}");
}

#[test]
fn places_are_where_the_text_stands() {
    let run = review(&[HARVESTER]);
    let text = text_of(HARVESTER);
    let findings = run["reviews"][0]["findings"].as_array().expect("a list");
    let reach = findings.iter().find(|finding| finding["check"] == "output-reach").expect("the finding");
    let place = |place: &Value| {
        let offset = |key: &str| usize::try_from(place[key].as_u64().expect("a number")).expect("small");
        text[offset("start")..offset("end")].to_owned()
    };
    let marked = std::iter::once(&reach["at"]).chain(reach["because"].as_array().expect("a list"));
    let marked = marked.map(place).collect::<Vec<_>>();
    assert!(
        marked.contains(&"sinusoidal".to_owned()) && marked.contains(&"355 V rms".to_owned()),
        "{marked:?}"
    );
    let line = text.lines().position(|line| line.contains("modulation: sinusoidal")).expect("the line") + 1;
    let lines = std::iter::once(&reach["at"]).chain(reach["because"].as_array().expect("a list"));
    assert!(lines.map(|place| &place["line"]).any(|found| found == line));
}

#[test]
fn problems_and_unreadable_files_are_json_too() {
    let folder = Folder::new();
    folder.put("broken.yaml", template("x", "60").replace("feeds: track_motor", "feeds: trak_motor"));
    let ran = run_in(&folder, &["review", "--format=json", "broken.yaml", "missing.yaml"]);
    assert_eq!(ran.code, Some(2));
    let run: Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(run["exit"], 2);
    let problem = &run["reviews"][0]["problems"][0];
    assert_eq!(problem["way_out"], "write `track_motor`; the rest is judged as if it stood here");
    assert_eq!(problem["taken_as"], "track_motor");
    assert_eq!(problem["at"]["file"], "broken.yaml");
    assert_eq!(run["reviews"][1]["unreadable"], "there is no such file");
}

#[test]
fn every_figure_and_every_step_of_one() {
    let figures: Value =
        serde_json::from_str(&run(&["derive", HARVESTER, "--format=json"]).out).expect("JSON");
    assert_eq!(figures["form"], "loadworthy-figures");
    let path = "drum_bridge.high_side.u.transistor.junction_temperature";
    let ran = run(&["derive", HARVESTER, path, "--format=json", "--duty=drum_jammed", "--variant=wide"]);
    let derived: Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!((&derived["form"], &derived["figure"]), (&"loadworthy-derivation".into(), &path.into()));
    let same = |figure: &&Value| {
        ["figure", "variant", "duty_point", "corner"].iter().all(|key| figure[*key] == derived[*key])
    };
    let figure = figures["figures"].as_array().expect("a list").iter().find(same).expect("the figure");
    assert_eq!(figure["quantity"], derived["quantity"]);
    let steps = derived["steps"].as_array().expect("a list");
    assert_eq!(steps[0]["figure"], path);
    let inputs = steps.iter().flat_map(|step| step["from"].as_array().expect("a list"));
    let inputs = inputs.filter(|from| from["kind"] == "input").collect::<Vec<_>>();
    assert!(inputs.iter().any(|input| input["path"] == "duty.drum_jammed.loads.drum_motor.phase_current"));
    assert!(inputs.iter().all(|input| input["origin"].is_string()));
    assert!(!derived["together"].as_array().expect("a list").is_empty());
}
