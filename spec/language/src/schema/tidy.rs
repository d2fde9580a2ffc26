//! Turns a generated schema into one that editors show well.
//!
//! - A field that may be missing is absent, never `null`: the null branch and `"default": null` go; the second
//!   makes a widely used editor server fail inside completion.
//! - Documented words become `enum` with `markdownEnumDescriptions`; as `oneOf` of `const` their hover would hide
//!   the text of the field.
//! - Everything described carries `markdownDescription`, on one line a paragraph.
//! - Named entries are held to the rule for names.

use serde_json::{Map, Value, json};

pub(super) fn tidy(schema: &mut Map<String, Value>) {
    drop_null(schema);
    schema.shift_remove("format");
    words(schema);
    tag(schema);
    something(schema);
    if let Some(text) = schema.get("description").and_then(Value::as_str).map(one_line) {
        super::document(schema, &text);
    }
    let named = schema.get("additionalProperties").is_some_and(Value::is_object);
    if named && !schema.contains_key("propertyNames") {
        schema.insert(
            "propertyNames".to_owned(),
            json!({ "pattern": super::NAME_PATTERN, "maxLength": super::LONGEST_NAME }),
        );
    }
    below(schema, tidy);
}

/// Takes all texts out, for who reads none.
#[cfg(test)]
pub(super) fn undocumented(schema: &mut Map<String, Value>) {
    schema.shift_remove("description");
    below(schema, undocumented);
}

/// Calls `change` on every schema directly inside this one.
pub(super) fn below(schema: &mut Map<String, Value>, change: impl Fn(&mut Map<String, Value>)) {
    for (key, value) in schema.iter_mut() {
        match (key.as_str(), value) {
            ("properties" | "$defs", Value::Object(named)) => {
                named.values_mut().filter_map(Value::as_object_mut).for_each(&change);
            }
            ("items" | "additionalProperties", Value::Object(one)) => change(one),
            ("oneOf" | "anyOf" | "prefixItems", Value::Array(list)) => {
                list.iter_mut().filter_map(Value::as_object_mut).for_each(&change);
            }
            _ => {}
        }
    }
}

fn drop_null(schema: &mut Map<String, Value>) {
    if schema.get("default").is_some_and(Value::is_null) {
        schema.shift_remove("default");
    }
    if let Some(Value::Array(types)) = schema.get_mut("type") {
        types.retain(|one| one != "null");
        if let [one] = types.as_slice() {
            let one = one.clone();
            schema.insert("type".to_owned(), one);
        }
    }
    if let Some(Value::Array(words)) = schema.get_mut("enum") {
        words.retain(|word| !word.is_null());
    }
    let Some(Value::Array(branches)) = schema.get_mut("anyOf") else { return };
    branches.retain(|branch| branch.get("type") != Some(&json!("null")));
    if let [Value::Object(only)] = branches.as_mut_slice() {
        let only = std::mem::take(only);
        schema.shift_remove("anyOf");
        for (key, value) in only {
            // The text of the field stands before that of its type.
            schema.entry(key).or_insert(value);
        }
    }
}

/// `oneOf` of documented constants to `enum`.
fn words(schema: &mut Map<String, Value>) {
    let Some(Value::Array(branches)) = schema.get("oneOf") else { return };
    let constant = |branch: &Value| {
        let word = branch.get("const")?.as_str()?.to_owned();
        let text = branch.get("description").and_then(Value::as_str).map(one_line).unwrap_or_default();
        Some((word, text))
    };
    let Some(words) = branches.iter().map(constant).collect::<Option<Vec<_>>>() else { return };
    let (words, texts): (Vec<_>, Vec<_>) = words.into_iter().unzip();
    schema.shift_remove("oneOf");
    schema.insert("type".to_owned(), json!("string"));
    schema.insert("enum".to_owned(), json!(words));
    schema.insert("markdownEnumDescriptions".to_owned(), json!(texts));
}

/// A text and a list hold something: absence is the one way to be missing.
fn something(schema: &mut Map<String, Value>) {
    let is = |name: &str| schema.get("type").is_some_and(|own| own == name);
    if is("string") && !["enum", "const", "pattern"].iter().any(|key| schema.contains_key(*key)) {
        schema.insert("minLength".to_owned(), json!(1));
    } else if is("array") && !schema.contains_key("minItems") {
        schema.insert("minItems".to_owned(), json!(1));
    }
}

/// The tag of a branch carries the branch's text, which is what a person wants to know there.
fn tag(schema: &mut Map<String, Value>) {
    let Some(text) = schema.get("description").and_then(Value::as_str).map(one_line) else { return };
    let Some(Value::Object(properties)) = schema.get_mut("properties") else { return };
    let tags =
        properties.values_mut().filter_map(Value::as_object_mut).filter(|own| own.contains_key("const"));
    tags.for_each(|tag| super::document(tag, &text));
}

/// Joins the lines of a paragraph, which are broken for readers of the code.
pub(super) fn one_line(text: &str) -> String {
    let paragraphs =
        text.split("\n\n").map(|paragraph| paragraph.split_whitespace().collect::<Vec<_>>().join(" "));
    paragraphs.collect::<Vec<_>>().join("\n\n")
}
