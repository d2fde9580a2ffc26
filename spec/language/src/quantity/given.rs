//! A quantity and the place where it was written.

use std::borrow::Cow;
use std::ops::Deref;

use loadworthy_source::{Located, LocatedText, NodeId, UNREAD};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::{self, Deserialize, Deserializer};
use serde_json::{Value, json};

use super::kind::{Amount, QuantityKind};
use super::pattern::schema_of;
use super::readable::Readable;

/// A value that a person gave, and the node it was given at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given<T> {
    /// The value, in its own unit-safe type.
    pub value: T,
    /// Where it stands.
    pub at: NodeId,
}

impl<T> Deref for Given<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

/// One value or a list of them, as data sheets state a point or a curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Points<T> {
    /// The values in the order written; one where a single value stands.
    pub values: Vec<Given<T>>,
    /// Where the value or the list stands.
    pub at: NodeId,
}

impl<T> Deref for Points<T> {
    type Target = [Given<T>];

    fn deref(&self) -> &[Given<T>] {
        &self.values
    }
}

fn value_of<T: Readable, E: de::Error>(text: &str) -> Result<T, E> {
    // The walker has refused what cannot be read; what depends on it must not take it for a number.
    if text == UNREAD {
        let none = T::KIND.dimension().and_then(|dimension| T::from_amount(Amount::Of(dimension, f64::NAN)));
        return none.ok_or_else(|| E::custom(format_args!("expected {}", T::KIND.expected())));
    }
    let amount = T::KIND
        .read(text)
        .map_err(|fault| E::custom(format_args!("expected {}, found {}", fault.expected, fault.found)))?;
    T::from_amount(amount).ok_or_else(|| E::custom(format_args!("expected {}", T::KIND.expected())))
}

impl<'de, T: Readable> Deserialize<'de> for Given<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let written = LocatedText::deserialize(deserializer)?;
        Ok(Self { value: value_of(written.text)?, at: written.at })
    }
}

impl<'de, T: Readable> Deserialize<'de> for Points<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let Located { value, at } = Located::<OneOrMore<T>>::deserialize(deserializer)?;
        let values = match value {
            OneOrMore::One(value) => vec![Given { value, at }],
            OneOrMore::More(values) => values,
        };
        Ok(Self { values, at })
    }
}

enum OneOrMore<T> {
    One(T),
    More(Vec<Given<T>>),
}

impl<'de, T: Readable> Deserialize<'de> for OneOrMore<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor<T>(std::marker::PhantomData<T>);

        impl<'de, T: Readable> de::Visitor<'de> for Visitor<T> {
            type Value = OneOrMore<T>;

            fn expecting(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(out, "{} or a list of them", T::KIND.expected())
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
                value_of(text).map(OneOrMore::One)
            }

            fn visit_seq<A: de::SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
                let mut values = Vec::new();
                while let Some(value) = list.next_element()? {
                    values.push(value);
                }
                Ok(OneOrMore::More(values))
            }
        }

        deserializer.deserialize_any(Visitor(std::marker::PhantomData))
    }
}

impl<T: Readable> JsonSchema for Given<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        Cow::Owned(T::KIND.name())
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        Schema::from(schema_of(T::KIND))
    }
}

impl<T: Readable> JsonSchema for Points<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        Cow::Owned(format!("points-of-{}", T::KIND.name()))
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let each = schema_of(T::KIND);
        let mut schema = each.clone();
        schema.insert("type".to_owned(), points_type(T::KIND));
        schema.insert("items".to_owned(), Value::Object(each));
        schema.insert("minItems".to_owned(), json!(1));
        Schema::from(schema)
    }
}

fn points_type(kind: QuantityKind) -> Value {
    if kind.is_dimensionless() { json!(["number", "string", "array"]) } else { json!(["string", "array"]) }
}
