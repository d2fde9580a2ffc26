//! What is published beside the program, and kept in step with it: schemas of the JSON forms.

use jsonschema::Validator;
use serde_json::Value;

use super::program::{Folder, project, run, run_in, template, text_of};

/// Each form with runs that print it.
const FORMS: &[(&str, &[&[&str]])] = &[
    (
        "review",
        &[
            &["review", "--format=json", "examples", "no-such.yaml"],
            &["review", "--format=json", "--faults", "examples/snow-groomer.yaml"],
            &["review", "--format=json", "README.md", "Cargo.toml"],
        ],
    ),
    (
        "compare",
        &[
            &["compare", "--format=json", "examples/peat-harvester.yaml", "--variants", "standard", "wide"],
            &["compare", "--format=json", "examples/snow-groomer.yaml", "examples/harbour-shuttle.yaml"],
            &["compare", "--format=json", "README.md", "no-such.yaml"],
        ],
    ),
    ("stress", &[&["stress", "--format=json", "examples/timber-forwarder.yaml"]]),
    ("tolerance", &[&["stress", "--tolerance", "--format=json", "examples/vineyard-carrier.yaml"]]),
    (
        "capability",
        &[&[
            "capability",
            "--format=json",
            "examples/vineyard-carrier.yaml",
            "--stage=track_bridge",
            "--duty=loaded_between_rows",
            "--over=coolant.inlet=20degC..75degC",
        ]],
    ),
    (
        "size",
        &[
            &["size", "--format=json", "examples/timber-forwarder.yaml"],
            &["size", "--format=json", "examples/peat-harvester.yaml"],
        ],
    ),
    (
        "balance",
        &[
            &["balance", "--format=json", "examples/snow-groomer.yaml"],
            &["balance", "--format=json", "examples/timber-forwarder.yaml"],
        ],
    ),
    ("mission", &[&["mission", "--format=json", "examples/harbour-shuttle.yaml"]]),
    ("figures", &[&["derive", "--format=json", "examples/vineyard-carrier.yaml"]]),
    ("derivation", &[&["derive", "--format=json", "examples/vineyard-carrier.yaml", "link.voltage"]]),
    ("resolved", &[&["resolve", "--format=json", "examples/peat-harvester.yaml", "--variant=wide"]]),
];

fn schema(form: &str) -> Value {
    let ran = run(&["schema", "--of", form]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{form}");
    serde_json::from_str(&ran.out).expect("a schema is JSON")
}

fn validator(form: &str) -> Validator {
    jsonschema::validator_for(&schema(form)).unwrap_or_else(|why| panic!("{form}: {why}"))
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|why| panic!("{why}: {text}"))
}

#[track_caller]
fn accepted(validator: &Validator, document: &Value, what: &str) {
    let wrong = validator.iter_errors(document).map(|wrong| format!("{}: {wrong}", wrong.instance_path()));
    let wrong = wrong.take(5).collect::<Vec<_>>();
    assert!(wrong.is_empty(), "{what}: {wrong:#?}");
}

/// `LOADWORTHY_ACCEPT=1` writes them anew.
#[test]
fn the_schemas_of_the_forms_are_those_of_the_program() {
    for (form, _) in FORMS {
        let name = format!("spec/loadworthy-{form}.schema.json");
        let printed = run(&["schema", "--of", form]).out;
        if std::env::var_os("LOADWORTHY_ACCEPT").is_some() {
            std::fs::write(project().join(&name), &printed).expect("it can be written");
        }
        let published = std::fs::read_to_string(project().join(&name)).unwrap_or_default();
        assert!(printed == published, "{name} is out of step: run with LOADWORTHY_ACCEPT=1");
    }
}

#[test]
fn every_key_of_a_form_is_described() {
    fn look(form: &str, value: &Value, bare: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                for (name, property) in map.get("properties").and_then(Value::as_object).into_iter().flatten()
                {
                    if property.get("description").is_none() {
                        bare.push(format!("{form}: {name}"));
                    }
                }
                map.values().for_each(|below| look(form, below, bare));
            }
            Value::Array(list) => list.iter().for_each(|below| look(form, below, bare)),
            _ => {}
        }
    }
    let mut bare = Vec::new();
    for (form, _) in FORMS {
        look(form, &schema(form), &mut bare);
    }
    assert_eq!(bare, [""; 0]);
}

#[test]
fn what_is_printed_is_what_the_schemas_say() {
    for (form, runs) in FORMS {
        let validator = validator(form);
        for arguments in *runs {
            let ran = run(arguments);
            let document = json(&ran.out);
            assert_eq!(document["form"], format!("loadworthy-{form}"), "{arguments:?}");
            accepted(&validator, &document, &format!("{arguments:?}"));
            // A schema that lets everything pass would prove nothing.
            for key in document.as_object().expect("an object").keys() {
                let mut less = document.clone();
                less.as_object_mut().expect("an object").remove(key);
                let is_optional = ["left_out"].contains(&key.as_str());
                assert_eq!(validator.is_valid(&less), is_optional, "{form} without {key}");
            }
        }
    }
}

#[test]
fn so_are_reviews_of_what_is_broken_missing_or_accepted() {
    let validator = validator("review");
    let folder = Folder::new();
    folder.put("units/hostile.yaml", template("a\u{202e}b | <b> `c`", "60"));
    folder.put("units/missing.yaml", template("x", "60").replace("frequency: 8 kHz", ""));
    folder.put("units/broken.yaml", "edition: 2026\nstages: [\n");
    folder.put("units/other.yaml", "jobs: {}\n");
    let ran = run_in(&folder, &["review", "--format=json", "units", "none"]);
    accepted(&validator, &json(&ran.out), "a folder");
    for check in loadworthy_checks::list::CHECKS {
        folder.put("fails.yaml", check.about().fails);
        let ran = run_in(&folder, &["review", "--format=json", "fails.yaml"]);
        accepted(&validator, &json(&ran.out), check.about().name);
    }
    let permit = "permits:\n  - { check: output-reach, part: track_bridge, up_to: 120 %, reason: slow, accepted_by: them, until: 2027-03-31 }\n";
    let text = text_of("examples/peat-harvester.yaml").replace("parts/", "../parts/") + permit;
    folder.put("with/permit.yaml", text.replace("../parts/", "parts/"));
    folder.put("with/parts/semiconductors.yaml", text_of("examples/parts/semiconductors.yaml"));
    folder.put("with/parts/capacitors.yaml", text_of("examples/parts/capacitors.yaml"));
    let ran = run_in(&folder, &["review", "--format=json", "--on=2027-01-01", "with/permit.yaml"]);
    let document = json(&ran.out);
    assert_eq!(
        document["reviews"][0]["accepted"]["findings"][0]["permit"]["standing"], "accepted",
        "{}",
        ran.out
    );
    accepted(&validator, &document, "a permit");
}
