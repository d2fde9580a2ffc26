//! The published schema.

use loadworthy_language::{schema, schema_text};
use serde_json::Value;

use crate::workshop::{VOCABULARY, reading, told};

const PUBLISHED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../loadworthy.schema.json");

/// Both places of the policy, whose names belong to the checks and not to the language.
const POLICY: [&str; 2] = ["/properties/policy/properties", "/$defs/Variant/properties/policy/properties"];

/// The checks that a permit may name belong to the checks as well.
const CHECK: &str = "/$defs/Permit/properties/check";

/// The published file is in step with the types, save for the names of the policy and of the checks; those are compared where the
/// checks are known. `LOADWORTHY_ACCEPT=1` writes it anew and keeps the names that it has.
#[test]
fn the_published_schema_is_that_of_the_types() {
    let published = std::fs::read_to_string(PUBLISHED).unwrap_or_default();
    let known: Value = serde_json::from_str(&published).unwrap_or_default();
    let mut current = schema(&[], &[]);
    let pattern = current.pointer(CHECK).expect("the check of a permit")["pattern"].clone();
    assert!(pattern.is_string(), "{pattern}");
    if let Some(check) = known.pointer(CHECK) {
        *current.pointer_mut(CHECK).unwrap() = check.clone();
    }
    for place in POLICY {
        let names = known.pointer(place).cloned().unwrap_or_else(|| Value::Object(serde_json::Map::new()));
        *current.pointer_mut(place).unwrap() = names;
    }
    let current = serde_json::to_string_pretty(&current).unwrap() + "\n";
    if std::env::var_os("LOADWORTHY_ACCEPT").is_some() {
        std::fs::write(PUBLISHED, &current).unwrap();
    } else {
        assert!(
            published == current,
            "spec/loadworthy.schema.json is out of step: run with LOADWORTHY_ACCEPT=1"
        );
    }
}

#[test]
fn the_text_of_the_schema_ends_with_a_line() {
    let text = schema_text(VOCABULARY, &[]);
    assert!(text.ends_with("}\n"));
    assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), schema(VOCABULARY, &[]));
}

fn each<'s>(value: &'s Value, path: &mut Vec<String>, visit: &mut dyn FnMut(&[String], &'s Value)) {
    visit(path, value);
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                path.push(key.clone());
                each(value, path, visit);
                path.pop();
            }
        }
        Value::Array(list) => {
            for (place, value) in list.iter().enumerate() {
                path.push(place.to_string());
                each(value, path, visit);
                path.pop();
            }
        }
        _ => {}
    }
}

#[test]
fn every_key_is_described_for_both_kinds_of_reader() {
    let schema = schema(VOCABULARY, &[]);
    let mut keys = 0;
    each(&schema, &mut Vec::new(), &mut |path, value| {
        let in_snippet = path.iter().any(|step| step == "defaultSnippets");
        if path.len() >= 2 && path[path.len() - 2] == "properties" && !in_snippet && value.is_object() {
            keys += 1;
            for text in ["description", "markdownDescription"] {
                let text = value.get(text).and_then(Value::as_str).unwrap_or_default();
                assert!(text.ends_with(['.', '!', '?']), "{}: {text:?}", path.join("/"));
                assert!(!text.contains('\n') || text.contains("\n\n"), "{}", path.join("/"));
            }
            assert!(!value["description"].as_str().unwrap().contains('`'));
        }
    });
    assert!(keys > 200, "{keys}");
}

#[test]
fn nothing_is_null_outside_patches_and_everything_may_be_null_inside() {
    let schema = schema(VOCABULARY, &[]);
    let mut nullable = 0;
    each(&schema, &mut Vec::new(), &mut |path, value| {
        let patch = path.iter().any(|step| step.ends_with("Patch") || step == "Variant");
        let is_null = value == "null" || value.is_null();
        assert!(!is_null || patch, "{}", path.join("/"));
        nullable += usize::from(is_null);
        assert!(path.last().is_none_or(|last| last != "default"), "{}", path.join("/"));
    });
    assert!(nullable > 100);
}

/// What a snippet writes when nobody changes its placeholders.
fn filled(body: &Value) -> String {
    let body = body.to_string();
    let mut filled = String::new();
    let mut rest = body.as_str();
    while let Some((before, after)) = rest.split_once("${") {
        let (placeholder, after) = after.split_once('}').unwrap();
        filled += before;
        filled += placeholder.split_once(':').unwrap().1;
        rest = after;
    }
    filled + rest
}

#[test]
fn the_minimal_unit_has_no_problems() {
    let schema = schema(VOCABULARY, &[]);
    let body = schema.pointer("/defaultSnippets/0/body").unwrap();
    assert_eq!(told(&reading(&filled(body))), "");
}

#[test]
fn snippets_of_sections_lack_nothing_but_what_they_name() {
    let schema = schema(VOCABULARY, &[]);
    let mut seen = 0;
    for (section, value) in schema["properties"].as_object().unwrap() {
        for snippet in value["defaultSnippets"].as_array().into_iter().flatten() {
            let text = format!("{{ edition: 2026, {section}: {} }}", filled(&snippet["body"]));
            let reading = reading(&text);
            let others = reading.problems.iter().filter(|problem| problem.kind != "unknown-name");
            assert_eq!(others.count(), 0, "{}", told(&reading));
            seen += 1;
        }
    }
    assert!(seen > 8, "{seen}");
}

/// A variant may exchange one topology for another, so its schema knows the keys of both, in maps below as well.
#[test]
fn a_patch_has_the_keys_of_every_kind() {
    let schema = schema(VOCABULARY, &[]);
    let stage = &schema["$defs"]["StagePatch"]["properties"];
    for position in ["high_side", "bridge_low", "clamp", "freewheel"] {
        assert!(stage["switches"]["properties"][position].is_object(), "{position}");
    }
    assert_eq!(stage["topology"]["enum"].as_array().unwrap().len(), 6);
    let current = &schema["$defs"]["ConductorPatch"]["properties"]["current"];
    assert_eq!(current["anyOf"].as_array().unwrap().len(), 2);
    assert!(current["description"].is_string());
}
