//! The variant of an enum, chosen by a word, by a tag key, or by the only key of a map.

use serde::de::{DeserializeSeed, Deserializer, EnumAccess, VariantAccess, Visitor};

use crate::span::NodeId;
use crate::tree::Content;

use super::failure::Failure;
use super::reader::Reader;

/// What the serde name of an enum begins with if a key chooses the variant.
const TAG: &str = "$tag=";

pub(crate) struct Choice<'t> {
    /// What holds the enum.
    reader: Reader<'t>,
    /// The scalar that names the variant.
    word: NodeId,
    /// What the variant holds, if it holds anything.
    held: Option<Reader<'t>>,
}

impl<'t> Choice<'t> {
    pub(crate) fn of(
        reader: Reader<'t>,
        name: &'static str,
        variants: &'static [&'static str],
    ) -> Result<Self, Failure> {
        let tree = reader.tree();
        let node = reader.node();
        if let Some(tag) = name.strip_prefix(TAG) {
            let Content::Map(_) = tree.content(node) else { return Err(reader.expected("a map")) };
            let Some(entry) = tree.entry(node, tag) else {
                let words = variants.join("`, `");
                return Err(Failure::new(
                    "missing-key",
                    format!("the key `{tag}` is missing"),
                    "belongs here",
                )
                .with_way_out(Some(format!("write `{tag}:` with one of `{words}`")))
                .at(node));
            };
            return Ok(Self { reader, word: entry.value, held: Some(reader.without(tag)) });
        }
        match tree.content(node) {
            Content::Scalar(_) => Ok(Self { reader, word: node, held: None }),
            Content::Map([entry]) => {
                Ok(Self { reader, word: entry.key, held: Some(reader.below(entry.value)) })
            }
            _ => Err(reader.expected("a word")),
        }
    }

    fn held(self) -> Result<Reader<'t>, Failure> {
        self.held.ok_or_else(|| {
            Failure::new("wrong-type", "this word needs values of its own", "stands alone").at(self.word)
        })
    }
}

impl<'t> EnumAccess<'t> for Choice<'t> {
    type Error = Failure;
    type Variant = Self;

    fn variant_seed<S: DeserializeSeed<'t>>(self, seed: S) -> Result<(S::Value, Self), Failure> {
        // An unquoted word names a variant even where it would mean something else; a collection does not.
        let variant = self.reader.key_below(self.word).give(seed)?;
        Ok((variant, self))
    }
}

impl<'t> VariantAccess<'t> for Choice<'t> {
    type Error = Failure;

    fn unit_variant(self) -> Result<(), Failure> {
        match self.held {
            None => Ok(()),
            Some(held) => held.refuse_content(),
        }
    }

    fn newtype_variant_seed<S: DeserializeSeed<'t>>(self, seed: S) -> Result<S::Value, Failure> {
        self.held()?.give(seed)
    }

    fn tuple_variant<V: Visitor<'t>>(self, length: usize, visitor: V) -> Result<V::Value, Failure> {
        let held = self.held()?;
        held.deserialize_tuple(length, visitor).map_err(|failure| failure.at(held.node()))
    }

    fn struct_variant<V: Visitor<'t>>(
        self,
        _fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Failure> {
        let held = self.held()?;
        held.deserialize_map(visitor).map_err(|failure| failure.at(held.node()))
    }
}
