//! The log for hosts that show results beside lines: against the published schema, and against what hosts ask beyond it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use jsonschema::Validator;
use serde_json::Value;

use super::program::{Folder, assert_shown, project, run, run_in, template, text_of};

const EXAMPLES: [&str; 5] = [
    "examples/harbour-shuttle.yaml",
    "examples/peat-harvester.yaml",
    "examples/snow-groomer.yaml",
    "examples/timber-forwarder.yaml",
    "examples/vineyard-carrier.yaml",
];
const PERMIT: &str = "permits=[{ check: output-reach, part: track_bridge, up_to: 108 %, reason: \"ends [the](1) shift slowly\", accepted_by: the drive team, until: 2027-03-31 }]";

fn schema() -> &'static Validator {
    static SCHEMA: OnceLock<Validator> = OnceLock::new();
    SCHEMA.get_or_init(|| {
        let text = text_of("tests/schema/sarif/sarif-schema-2.1.0.json");
        let schema = serde_json::from_str(&text).expect("JSON");
        jsonschema::validator_for(&schema).expect("a schema")
    })
}

/// The run of a log that satisfies the schema and the rules of hosts.
fn run_of(text: &str) -> Value {
    let log: Value = serde_json::from_str(text).expect("JSON");
    let wrong = schema()
        .iter_errors(&log)
        .map(|wrong| format!("{}: {wrong}", wrong.instance_path()))
        .collect::<Vec<_>>();
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(log["version"], "2.1.0");
    let run = log["runs"][0].clone();
    assert_eq!(log["runs"].as_array().map(Vec::len), Some(1));
    assert_rules(&run);
    let mut known = BTreeSet::new();
    for result in list(&run["results"]) {
        assert_result(&run, result);
        let line = &result["partialFingerprints"]["primaryLocationLineHash"];
        let identity = (result["ruleId"].to_string(), uri(result).to_owned(), line.to_string());
        assert!(known.insert(identity), "two results are one to a host: {result}");
    }
    run
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

fn number(value: &Value) -> usize {
    usize::try_from(value.as_u64().expect("a number")).expect("small")
}

fn uri(result: &Value) -> &str {
    text(&result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"])
}

fn assert_rules(run: &Value) {
    let driver = &run["tool"]["driver"];
    let mut ids = BTreeSet::new();
    for rule in list(&driver["rules"]) {
        assert!(ids.insert(text(&rule["id"])), "{} is given twice", rule["id"]);
        for key in ["shortDescription", "fullDescription", "help"] {
            let said = text(&rule[key]["text"]);
            assert!(
                !said.trim().is_empty() && (key == "help" || said.chars().count() <= 1024),
                "{}: {key}",
                rule["id"]
            );
        }
        assert!(rule["help"]["markdown"].is_string() && list(&rule["properties"]["tags"]).len() <= 10);
        assert!(["very-high", "high"].contains(&text(&rule["properties"]["precision"])));
    }
    for check in loadworthy_checks::list::CHECKS {
        assert!(ids.contains(check.about().name), "{} is no rule", check.about().name);
    }
    assert!(text(&run["automationDetails"]["id"]).ends_with('/'));
    assert_eq!(run["columnKind"], "unicodeCodePoints");
}

fn assert_result(run: &Value, result: &Value) {
    let rule = &run["tool"]["driver"]["rules"][number(&result["ruleIndex"])];
    assert_eq!(rule["id"], result["ruleId"]);
    assert!(result.get("kind").is_none(), "hosts drop what does not fail");
    let message = text(&result["message"]["text"]);
    let title = message.lines().next().expect("a line");
    assert!(title.chars().count() <= 120 && title.ends_with('.'), "{title}");
    assert_eq!(loadworthy_source::escape_text(&message.replace('\n', "")), message.replace('\n', ""));
    assert!(result["suppressions"].is_array(), "where one result has them all must");
    let related = list(&result["relatedLocations"]);
    for (place, location) in related.iter().enumerate() {
        assert_eq!(number(&location["id"]), place + 1);
        assert!(message.contains(&format!("]({})", place + 1)), "{message}");
        let is_it = |other: &Value| other["physicalLocation"] == location["physicalLocation"];
        assert_eq!(related.iter().filter(|other| is_it(other)).count(), 1, "one place twice: {location}");
    }
    assert_eq!(message.matches("](").count() - message.matches("\\](").count(), related.len(), "{message}");
    for location in list(&result["locations"]).iter().chain(related) {
        let place = &location["physicalLocation"];
        let uri = text(&place["artifactLocation"]["uri"]);
        let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~/%".contains(&byte);
        assert!(uri.bytes().all(plain) && !uri.starts_with('/') && !uri.contains(".."), "{uri}");
        assert!(run["originalUriBaseIds"].get(text(&place["artifactLocation"]["uriBaseId"])).is_some());
        let at = |key: &str| number(&place["region"][key]);
        assert!((at("startLine"), at("startColumn")) < (at("endLine"), at("endColumn")), "{place}");
    }
}

/// What a region covers, by lines and characters of the file.
fn covered(source: &str, region: &Value) -> String {
    let lines = source.strip_prefix('\u{FEFF}').unwrap_or(source).lines().collect::<Vec<_>>();
    let at = |key: &str| number(&region[key]) - 1;
    let part = |line: usize, from: usize, to: usize| {
        lines[line].chars().skip(from).take(to - from).collect::<String>()
    };
    if at("startLine") == at("endLine") {
        return part(at("startLine"), at("startColumn"), at("endColumn"));
    }
    let mut all = vec![part(at("startLine"), at("startColumn"), usize::MAX)];
    all.extend((at("startLine") + 1..at("endLine")).map(|line| lines[line].to_owned()));
    all.push(part(at("endLine"), 0, at("endColumn")));
    all.join("\n")
}

#[test]
fn a_small_unit() {
    let folder = Folder::new();
    folder.put("unit.yaml", template("Track drive", "60"));
    let ran = run_in(&folder, &["review", "unit.yaml", "--format", "sarif"]);
    assert_eq!(ran.code, Some(1));
    let mut run = run_of(&ran.out);
    // The rules are the pages of the checks.
    run["tool"]["driver"]["rules"] = "…".into();
    assert_shown!("sarif", serde_json::to_string_pretty(&run).expect("JSON"));
}

#[test]
fn findings_are_those_of_the_other_form() {
    for example in EXAMPLES {
        let log = run_of(&run(&["review", example, "--format", "sarif"]).out);
        let json: Value =
            serde_json::from_str(&run(&["review", example, "--format", "json"]).out).expect("JSON");
        let findings = list(&json["reviews"][0]["findings"]);
        let results = list(&log["results"]);
        assert_eq!(findings.len(), results.len(), "{example}");
        assert_eq!(log["invocations"][0]["exitCode"], json["exit"]);
        for (finding, result) in findings.iter().zip(results) {
            assert_eq!(finding["check"], result["ruleId"]);
            assert_eq!(finding["fingerprint"], result["partialFingerprints"]["loadworthyFinding/v1"]);
            let level = match text(&finding["grade"]) {
                "major" => "error",
                "minor" => "warning",
                _ => "note",
            };
            assert_eq!(result["level"], level);
            assert_eq!(
                finding["comparison"]["headroom"],
                result["properties"].get("headroom").cloned().unwrap_or_default()
            );
            assert_eq!(uri(result), example);
            let places = std::iter::once(&finding["at"]).chain(list(&finding["because"]));
            let marked = list(&result["locations"]).iter().chain(list(&result["relatedLocations"]));
            for (place, location) in places.zip(marked) {
                let source = text_of(text(&place["file"]));
                let span = &source[number(&place["start"])..number(&place["end"])];
                let found = covered(&source, &location["physicalLocation"]["region"]);
                if span.lines().count() <= 10 {
                    assert_eq!(found, span.trim_end());
                } else {
                    assert!(span.starts_with(&found));
                }
            }
        }
    }
}

#[test]
fn an_edit_that_is_offered_holds() {
    let mut edits = 0;
    for example in EXAMPLES {
        let log = run_of(&run(&["review", example, "--format", "sarif"]).out);
        for result in list(&log["results"]) {
            for fix in list(&result["fixes"]) {
                let folder = Folder::new();
                for parts in std::fs::read_dir(project().join("examples/parts")).expect("the folder") {
                    let name = parts.expect("an entry").file_name().into_string().expect("UTF-8");
                    folder.put(&format!("parts/{name}"), text_of(&format!("examples/parts/{name}")));
                }
                folder
                    .put("unit.yaml", edited(&text_of(example), &fix["artifactChanges"][0]["replacements"]));
                let ran = run_in(&folder, &["review", "unit.yaml", "--format", "json"]);
                let json: Value = serde_json::from_str(&ran.out).expect("JSON");
                assert_eq!(list(&json["reviews"][0]["problems"]).len(), 0, "{fix}");
                let own = &result["partialFingerprints"]["loadworthyFinding/v1"];
                let left = list(&json["reviews"][0]["findings"])
                    .iter()
                    .any(|finding| finding["fingerprint"] == *own);
                assert!(!left, "{example}: {fix}");
                edits += 1;
            }
        }
    }
    assert!(edits >= 6, "{edits}");
}

/// A text with the replacements of a fix made, the last one first.
fn edited(source: &str, replacements: &Value) -> String {
    let mut text_now = source.to_owned();
    for replacement in list(replacements).iter().rev() {
        let region = &replacement["deletedRegion"];
        let offset = |line: &str, column: &str| {
            let before: usize =
                source.split_inclusive('\n').take(number(&region[line]) - 1).map(str::len).sum();
            let here = &source[before..];
            before + here.chars().take(number(&region[column]) - 1).map(char::len_utf8).sum::<usize>()
        };
        let (start, end) = (offset("startLine", "startColumn"), offset("endLine", "endColumn"));
        text_now.replace_range(start..end, text(&replacement["insertedContent"]["text"]));
    }
    text_now
}

#[test]
fn what_is_accepted_is_suppressed_with_its_reason() {
    let line = ["review", "examples/peat-harvester.yaml", "--format", "sarif", "--with", PERMIT, "--on"];
    let log = run_of(&run(&[&line[..], &["2027-01-01"]].concat()).out);
    let reach =
        list(&log["results"]).iter().find(|result| result["ruleId"] == "output-reach").expect("it is shown");
    let suppression = &reach["suppressions"][0];
    assert_eq!(suppression["status"], "accepted");
    let justification =
        "ends \\[the\\](1) shift slowly (accepted up to 108 % by the drive team until 2027-03-31)";
    assert_eq!(suppression["justification"], justification);
    assert_eq!(log["properties"]["permitsHeldAgainst"], "2027-01-01");
    assert_eq!(log["invocations"][0]["exitCode"], 0);
    let expired = run_of(&run(&[&line[..], &["2027-04-01"]].concat()).out);
    let reach = list(&expired["results"])
        .iter()
        .find(|result| result["ruleId"] == "output-reach")
        .expect("it is shown");
    assert_eq!(reach["suppressions"], serde_json::json!([]));
    assert!(text(&reach["message"]["text"]).contains("\nPermit, expired: up to 108 %"), "{reach}");
}

#[test]
fn what_cannot_be_read_or_judged_is_not_silent() {
    let folder = Folder::new();
    let whole = template("x", "60");
    folder.put("a b/broken.yaml", whole.replace("feeds: track_motor", "feeds: trak_motor"));
    folder.put("lacks.yaml", whole.replace("buses: { link: 300 V }", "buses: { link: }"));
    folder.put("empty.yaml", "\n# nothing\n");
    let ran = run_in(
        &folder,
        &["review", "--format=sarif", "a b/broken.yaml", "lacks.yaml", "empty.yaml", "missing.yaml"],
    );
    assert_eq!(ran.code, Some(2));
    let log = run_of(&ran.out);
    let results = list(&log["results"]);
    let of = |rule: &str| {
        results
            .iter()
            .find(|result| result["ruleId"] == rule)
            .unwrap_or_else(|| panic!("{rule}: {results:#?}"))
    };
    let misspelt = of("reading/unknown-name");
    assert_eq!((uri(misspelt), &misspelt["level"]), ("a%20b/broken.yaml", &"error".into()));
    assert!(text(&misspelt["message"]["text"]).contains("write `track_motor`"), "{misspelt}");
    let lacking = of("not-judged");
    assert_eq!(lacking["level"], "warning");
    let empty = results.iter().find(|result| uri(result) == "empty.yaml").expect("it is told");
    assert_eq!(covered("\n# nothing\n", &empty["locations"][0]["physicalLocation"]["region"]), "# nothing");
    let invocation = &log["invocations"][0];
    assert_eq!((&invocation["exitCode"], &invocation["executionSuccessful"]), (&2.into(), &false.into()));
    let told = text(&invocation["toolExecutionNotifications"][0]["message"]["text"]);
    assert_eq!(told, "Cannot read missing.yaml: there is no such file.");
}

#[test]
fn hostile_text_stays_text() {
    let names = ["](1) [x](2)", "a. b! c? d", "\\e[31m\\u202e\\0", "@a #1 <script>", "\\\\", "𝔘🔋µ"];
    let folder = Folder::new();
    for (place, name) in names.iter().enumerate() {
        let whole = template(name, "60").replace("track_bridge", "brücke_🔋");
        folder.put(&format!("{place} ü#.yaml"), whole);
    }
    let files = (0..names.len()).map(|place| format!("{place} ü#.yaml")).collect::<Vec<_>>();
    let line = ["review", "--format", "sarif"]
        .into_iter()
        .chain(files.iter().map(String::as_str))
        .collect::<Vec<_>>();
    let ran = run_in(&folder, &line);
    let log = run_of(&ran.out);
    let mut by_file: BTreeMap<&str, usize> = BTreeMap::new();
    for result in list(&log["results"]) {
        *by_file.entry(uri(result)).or_default() += 1;
    }
    assert_eq!(by_file.len(), names.len(), "{by_file:?}");
    assert!(by_file.contains_key("0%20%C3%BC%23.yaml"));
    assert!(!ran.out.contains(folder.path().to_str().expect("UTF-8")), "no path of the machine is told");
}

#[test]
fn findings_on_one_line_stay_apart_and_moved_lines_keep_their_hash() {
    let folder = Folder::new();
    let fails = text_of("checks/src/back_emf/fails.yaml");
    folder.put("unit.yaml", &fails);
    folder.put("moved.yaml", format!("# a line more\n\n{fails}"));
    let hashes = |name: &str| {
        let log = run_of(&run_in(&folder, &["review", "--format=sarif", name]).out);
        let results = list(&log["results"]).iter();
        results.map(|result| result["partialFingerprints"].to_string()).collect::<Vec<_>>()
    };
    let before = hashes("unit.yaml");
    assert!(!before.is_empty());
    assert_eq!(before, hashes("moved.yaml"));
}
