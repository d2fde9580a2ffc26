//! JSON Schemas of the forms, from the very types that are written.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, generate::SchemaGenerator};
use serde_json::{Map, Value, json};

use crate::arguments::AskedSchema;
use crate::show::resolved;

use super::{balance, capability, compare, figures, mission, review, size, stress, tolerance};

/// The schema of a form; that of the language is not one of them.
pub(crate) fn of(form: AskedSchema) -> Value {
    match form {
        AskedSchema::Language => Value::Bool(true),
        AskedSchema::Review => schema::<review::Run>("review"),
        AskedSchema::Compare => schema::<compare::Form<'static>>("compare"),
        AskedSchema::Stress => schema::<stress::Table<'static>>("stress"),
        AskedSchema::Tolerance => schema::<tolerance::Table<'static>>("tolerance"),
        AskedSchema::Capability => schema::<capability::Curves<'static>>("capability"),
        AskedSchema::Size => schema::<size::Document<'static>>("size"),
        AskedSchema::Balance => schema::<balance::Balance<'static>>("balance"),
        AskedSchema::Mission => schema::<mission::Shown<'static>>("mission"),
        AskedSchema::Figures => schema::<figures::Figures<'static>>("figures"),
        AskedSchema::Derivation => schema::<figures::Derived<'static>>("derivation"),
        AskedSchema::Resolved => schema::<resolved::Form<'static>>("resolved"),
    }
}

/// The schema of what is written. Keys that are always written are required; others may come, since a form grows.
fn schema<T: JsonSchema>(form: &str) -> Value {
    let generator: SchemaGenerator = SchemaSettings::draft2020_12().for_serialize().into_generator();
    let Value::Object(mut rest) = Value::from(generator.into_root_schema_for::<T>()) else {
        return Value::Bool(true);
    };
    let name = format!("loadworthy-{form}");
    let mut root = Map::new();
    for (key, value) in [
        ("$schema", json!("https://json-schema.org/draft/2020-12/schema")),
        ("$id", json!(format!("urn:loadworthy:{form}:1"))),
        ("title", json!(name)),
    ] {
        rest.shift_remove(key);
        root.insert(key.to_owned(), value);
    }
    root.append(&mut rest);
    let mut root = Value::Object(root);
    for (key, value) in [("form", json!(name)), ("version", json!(1))] {
        if let Some(Value::Object(property)) = root.pointer_mut(&format!("/properties/{key}")) {
            property.insert("const".to_owned(), value);
        }
    }
    without_own_formats(&mut root);
    root
}

/// Drops formats of numbers that are Rust's and no validator's: the type and its bounds say as much.
fn without_own_formats(schema: &mut Value) {
    match schema {
        Value::Object(keys) => {
            let is_own =
                |format: &str| ["int", "uint", "float", "double"].iter().any(|own| format.starts_with(own));
            if keys.get("format").and_then(Value::as_str).is_some_and(is_own) {
                keys.shift_remove("format");
            }
            keys.values_mut().for_each(without_own_formats);
        }
        Value::Array(items) => items.iter_mut().for_each(without_own_formats),
        _ => {}
    }
}
