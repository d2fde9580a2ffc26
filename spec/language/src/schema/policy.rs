//! The `policy` section, composed from the items that the checks declare.

use serde_json::{Map, Value, json};

use super::document;
use crate::policy::{PolicyForm, PolicyItem};
use crate::quantity::{QuantityKind, schema_of};

pub(super) fn compose(properties: &mut Map<String, Value>, vocabulary: &[&PolicyItem]) {
    let Some(Value::Object(policy)) = properties.get_mut("policy") else { return };
    policy.shift_remove("propertyNames");
    let items = vocabulary.iter().map(|item| (item.name.to_owned(), entry(item))).collect::<Map<_, _>>();
    policy.insert("properties".to_owned(), Value::Object(items));
    policy.insert("additionalProperties".to_owned(), json!(false));
}

fn entry(item: &PolicyItem) -> Value {
    let (kind, text, taken) = match item.form {
        PolicyForm::UseAtMost { default, .. } => {
            (QuantityKind::Ratio, "Allowed is the limit times this.", format!("{} %", round(default * 100.0)))
        }
        PolicyForm::Keep { dimension, default, .. } => (
            QuantityKind::Plain(dimension),
            "Allowed is the limit less this.",
            with_unit(default, dimension.unit()),
        ),
    };
    let mut value = schema_of(kind);
    document(&mut value, text);
    value.insert("examples".to_owned(), json!([taken.clone()]));
    let mut schema = Map::new();
    document(&mut schema, &format!("{}. Unless said otherwise: `{taken}`.", item.help));
    let key = item.form.key();
    schema.insert("type".to_owned(), json!("object"));
    schema.insert("properties".to_owned(), json!({ key: value }));
    schema.insert("required".to_owned(), json!([key]));
    schema.insert("additionalProperties".to_owned(), json!(false));
    Value::Object(schema)
}

fn with_unit(value: f64, unit: &str) -> String {
    format!("{} {unit}", round(value)).trim_end().to_owned()
}

/// 0.07 × 100 has a tail in binary arithmetic that nobody wants to read.
fn round(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}
