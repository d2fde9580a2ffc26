//! The schema of a variant: the same shape with nothing required, where `null` removes.

use serde_json::{Map, Value, json};

use super::tidy::below;
use super::{OUTSIDE_VARIANTS, document, properties};

/// Definitions of patches are named after what they patch.
const SUFFIX: &str = "Patch";

/// Keys that explain a schema to a person.
const TEXTS: [&str; 2] = ["description", "markdownDescription"];

/// Adds the `variants` section, and a patch for every definition.
pub(super) fn add_variants(root: &mut Map<String, Value>) {
    let mut variant = Map::new();
    document(&mut variant, "What this product changes, as a merge patch (RFC 7396): `null` removes a key.");
    let mut patched = root.get("properties").and_then(Value::as_object).cloned().unwrap_or_default();
    patched.retain(|key, _| !OUTSIDE_VARIANTS.contains(&key.as_str()));
    let known = root.get("$defs").and_then(Value::as_object).cloned().unwrap_or_default();
    patched.values_mut().filter_map(Value::as_object_mut).for_each(|schema| loosen(schema, &known));
    variant.insert("type".to_owned(), json!("object"));
    variant.insert("properties".to_owned(), Value::Object(patched));
    variant.insert("additionalProperties".to_owned(), json!(false));

    let mut variants = Map::new();
    document(
        &mut variants,
        "Several products of the same unit, by name, each as a merge patch over this description. Where there are \
         variants, they alone are solved; an empty one, `standard: {}`, is the description as it stands.",
    );
    variants.insert("type".to_owned(), json!("object"));
    variants.insert("additionalProperties".to_owned(), json!({ "$ref": "#/$defs/Variant" }));
    variants.insert(
        "propertyNames".to_owned(),
        json!({ "pattern": super::NAME_PATTERN, "maxLength": super::LONGEST_NAME }),
    );
    if let Some(properties) = properties(root) {
        insert_variants(properties, Value::Object(variants));
    }
    let Some(Value::Object(definitions)) = root.get_mut("$defs") else { return };
    let patches = definitions.iter().filter_map(|(name, definition)| {
        let mut definition = definition.as_object()?.clone();
        loosen(&mut definition, &known);
        Some((format!("{name}{SUFFIX}"), Value::Object(definition)))
    });
    let patches = patches.collect::<Vec<_>>();
    definitions.extend(patches);
    definitions.insert("Variant".to_owned(), Value::Object(variant));
    drop_unused(root);
}

/// Puts the section where it is read: behind what it changes.
pub(super) fn insert_variants(properties: &mut Map<String, Value>, variants: Value) {
    let place = properties.keys().position(|key| key == "policy").unwrap_or(properties.len());
    properties.shift_insert(place, "variants".to_owned(), variants);
}

/// Makes one schema that of its patch.
fn loosen(schema: &mut Map<String, Value>, known: &Map<String, Value>) {
    schema.shift_remove("required");
    schema.shift_remove("defaultSnippets");
    merge_branches(schema, known);
    if let Some(Value::String(target)) = schema.get_mut("$ref") {
        target.push_str(SUFFIX);
        return;
    }
    if schema.contains_key("anyOf") {
        return below(schema, |one| loosen(one, known));
    }
    let types = match schema.get("type") {
        Some(Value::Array(types)) => types.clone(),
        Some(one) => vec![one.clone()],
        None => return,
    };
    if let Some(Value::Array(words)) = schema.get_mut("enum") {
        words.push(Value::Null);
        if let Some(Value::Array(texts)) = schema.get_mut("markdownEnumDescriptions") {
            texts.push(json!("Removes the key."));
        }
    }
    // A list is replaced whole, so what stands in it is what stands in every list.
    let is_map = types.iter().any(|one| one == "object");
    schema.insert("type".to_owned(), types.into_iter().chain([json!("null")]).collect());
    if is_map {
        below(schema, |one| loosen(one, known));
    }
}

/// A patch need not repeat the tag, so it may hold the keys of every branch.
fn merge_branches(schema: &mut Map<String, Value>, known: &Map<String, Value>) {
    let Some(Value::Array(branches)) = schema.shift_remove("oneOf") else { return };
    let text = schema.get("markdownDescription").and_then(Value::as_str).unwrap_or_default().to_owned();
    let mut merged = Map::new();
    for branch in &branches {
        merge_properties(&mut merged, branch.as_object(), &text, known);
    }
    schema.insert("type".to_owned(), json!("object"));
    schema.insert("properties".to_owned(), Value::Object(merged));
    schema.insert("additionalProperties".to_owned(), json!(false));
}

/// Adds the keys of one map to those of others that may stand in its place.
fn merge_properties(
    merged: &mut Map<String, Value>,
    other: Option<&Map<String, Value>>,
    text: &str,
    known: &Map<String, Value>,
) {
    let own = other.and_then(|other| other.get("properties")).and_then(Value::as_object);
    for (key, value) in own.into_iter().flatten() {
        match merged.get_mut(key) {
            Some(Value::Object(mine)) => join(mine, value.clone(), known),
            _ => {
                merged.insert(key.clone(), as_words(value.clone(), text));
            }
        }
    }
}

/// The same key in two branches: tags are collected, maps have the keys of both, other differences are all allowed.
fn join(mine: &mut Map<String, Value>, other: Value, known: &Map<String, Value>) {
    let other = as_words(other, "");
    if let (Some(Value::Array(_)), Some(Value::Array(_))) = (mine.get("enum"), other.get("enum")) {
        for list in ["enum", "markdownEnumDescriptions"] {
            if let (Some(Value::Array(mine)), Some(Value::Array(more))) =
                (mine.get_mut(list), other.get(list))
            {
                mine.extend(more.iter().cloned());
            }
        }
        return;
    }
    let same = |key: &&str| mine.get(*key) == other.get(*key);
    if !mine.contains_key("anyOf") && ["$ref", "type", "items", "x-quantity"].iter().all(same) {
        return;
    }
    match (as_map(mine, known), other.as_object().and_then(|other| as_map(other, known))) {
        // A patch that changes the kind removes the keys of the one map and states those of the other.
        (Some(mut both), Some(more)) => {
            let mut properties =
                both.get("properties").and_then(Value::as_object).cloned().unwrap_or_default();
            merge_properties(&mut properties, Some(&more), "", known);
            both.insert("properties".to_owned(), Value::Object(properties));
            replace(mine, both);
        }
        _ => {
            let mut all = match mine.get("anyOf") {
                Some(Value::Array(all)) => all.clone(),
                _ => vec![without_text(Value::Object(mine.clone()))],
            };
            let other = without_text(other);
            if !all.contains(&other) {
                all.push(other);
            }
            replace(mine, Map::from_iter([("anyOf".to_owned(), Value::Array(all))]));
        }
    }
}

/// A schema of a map with known keys, looked up where it is only named.
fn as_map(schema: &Map<String, Value>, known: &Map<String, Value>) -> Option<Map<String, Value>> {
    let target =
        schema.get("$ref").and_then(Value::as_str).and_then(|target| target.strip_prefix("#/$defs/"));
    let map = match target {
        Some(name) => known.get(name)?.as_object()?,
        None => schema,
    };
    map.get("properties").is_some_and(Value::is_object).then(|| map.clone())
}

/// What a schema asks for, without what it says about it.
fn without_text(mut schema: Value) -> Value {
    if let Some(map) = schema.as_object_mut() {
        for text in TEXTS {
            map.shift_remove(text);
        }
    }
    schema
}

/// Puts another schema in the place of one, whose text stays.
fn replace(schema: &mut Map<String, Value>, mut other: Map<String, Value>) {
    for text in TEXTS {
        other.shift_remove(text);
        if let Some(own) = schema.get(text) {
            other.insert(text.to_owned(), own.clone());
        }
    }
    *schema = other;
}

/// A tag as the words that it may be, described as the whole.
fn as_words(mut value: Value, whole: &str) -> Value {
    if let Some(schema) = value.as_object_mut()
        && let Some(word) = schema.shift_remove("const")
    {
        let text = schema.get("markdownDescription").cloned().unwrap_or_default();
        schema.insert("enum".to_owned(), json!([word]));
        schema.insert("markdownEnumDescriptions".to_owned(), json!([text]));
        document(schema, whole);
    }
    value
}

/// Drops the definitions that nothing refers to any more.
fn drop_unused(root: &mut Map<String, Value>) {
    loop {
        let mut used = Vec::new();
        root.values().for_each(|value| collect_references(value, &mut used));
        let Some(Value::Object(definitions)) = root.get_mut("$defs") else { return };
        let before = definitions.len();
        definitions.retain(|name, _| used.iter().any(|target| target.strip_prefix("#/$defs/") == Some(name)));
        if definitions.len() == before {
            return;
        }
    }
}

fn collect_references(value: &Value, used: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            used.extend(map.get("$ref").and_then(Value::as_str).map(str::to_owned));
            map.values().for_each(|value| collect_references(value, used));
        }
        Value::Array(list) => list.iter().for_each(|value| collect_references(value, used)),
        _ => {}
    }
}
