//! Values that know which node they were read from.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::ops::Deref;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Visitor};

use crate::span::NodeId;

/// The name by which the deserializer of the tree recognises [`Located`].
pub(crate) const LOCATED: &str = "$located";
/// The name by which the deserializer of the tree recognises [`LocatedText`].
pub(crate) const LOCATED_TEXT: &str = "$located-text";

/// A value together with the node that it was read from.
///
/// It can be read by [`Tree::deserialize`](crate::Tree::deserialize) only, since nothing else has nodes. Its
/// schema is that of the value.
#[derive(Copy, Clone, Eq, PartialEq, Hash, Debug)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// The node.
    pub at: NodeId,
}

impl<T> Located<T> {
    /// The same place with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Located<U> {
        Located { value: change(self.value), at: self.at }
    }
}

impl<T> Deref for Located<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Located<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pair<T>(PhantomData<T>);

        impl<'de, T: Deserialize<'de>> Visitor<'de> for Pair<T> {
            type Value = Located<T>;

            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str("a value of a located tree")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut pair: A) -> Result<Located<T>, A::Error> {
                let at = node(pair.next_element()?)?;
                let value = pair.next_element()?.ok_or_else(|| A::Error::custom("expected a value"))?;
                Ok(Located { value, at })
            }
        }

        deserializer.deserialize_newtype_struct(LOCATED, Pair(PhantomData))
    }
}

impl<T: JsonSchema> JsonSchema for Located<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }

    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

/// The text of a scalar as it is written, whatever it would mean, together with its node.
///
/// For values that are parsed from their text elsewhere: `Located<String>` refuses `0.80`, because that is a
/// number, while here it is the text `0.80`. It can be read by [`Tree::deserialize`](crate::Tree::deserialize)
/// only; an empty value, a map or a list is refused.
#[derive(Copy, Clone, Eq, PartialEq, Hash, Debug)]
pub struct LocatedText<'t> {
    /// The text.
    pub text: &'t str,
    /// Whether it was written without quotes.
    pub plain: bool,
    /// The node.
    pub at: NodeId,
}

impl<'de: 't, 't> Deserialize<'de> for LocatedText<'t> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Parts;

        impl<'de> Visitor<'de> for Parts {
            type Value = LocatedText<'de>;

            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str("a value of a located tree")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<LocatedText<'de>, A::Error> {
                let at = node(parts.next_element()?)?;
                let plain = parts.next_element()?.ok_or_else(|| A::Error::custom("expected a text"))?;
                let text = parts.next_element()?.ok_or_else(|| A::Error::custom("expected a text"))?;
                Ok(LocatedText { text, plain, at })
            }
        }

        deserializer.deserialize_newtype_struct(LOCATED_TEXT, Parts)
    }
}

fn node<E: Error>(index: Option<u32>) -> Result<NodeId, E> {
    index.map(|index| NodeId::new(index as usize)).ok_or_else(|| E::custom("expected the number of a node"))
}
