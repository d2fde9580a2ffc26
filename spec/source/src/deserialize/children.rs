//! The entries of a map, the items of a list, and the parts of a located value, as serde asks for them.

use std::slice::Iter;

use serde::de::value::{BoolDeserializer, BorrowedStrDeserializer, U32Deserializer};
use serde::de::{DeserializeSeed, IntoDeserializer, MapAccess, SeqAccess};

use crate::span::NodeId;
use crate::tree::Entry;

use super::failure::Failure;
use super::reader::Reader;

pub(crate) struct Items<'t> {
    /// The list.
    pub(crate) reader: Reader<'t>,
    pub(crate) left: Iter<'t, NodeId>,
}

impl<'t> SeqAccess<'t> for Items<'t> {
    type Error = Failure;

    fn next_element_seed<S: DeserializeSeed<'t>>(&mut self, seed: S) -> Result<Option<S::Value>, Failure> {
        let Some(&item) = self.left.next() else { return Ok(None) };
        self.reader.below(item).give(seed).map(Some)
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left.len())
    }
}

pub(crate) struct Entries<'t> {
    /// The map.
    pub(crate) reader: Reader<'t>,
    pub(crate) left: Iter<'t, Entry>,
    pub(crate) value: Option<NodeId>,
}

impl<'t> MapAccess<'t> for Entries<'t> {
    type Error = Failure;

    fn next_key_seed<S: DeserializeSeed<'t>>(&mut self, seed: S) -> Result<Option<S::Value>, Failure> {
        for entry in self.left.by_ref() {
            if self.reader.leaves_out(entry.key) {
                continue;
            }
            self.value = Some(entry.value);
            return self.reader.key_below(entry.key).give(seed).map(Some);
        }
        Ok(None)
    }

    fn next_value_seed<S: DeserializeSeed<'t>>(&mut self, seed: S) -> Result<S::Value, Failure> {
        match self.value.take() {
            Some(value) => self.reader.below(value).give(seed),
            None => Err(Failure::new("bad-value", "a value was asked for before its key", "this map")),
        }
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left.len())
    }
}

/// First the number of the node, then its value.
pub(crate) struct LocatedParts<'t> {
    pub(crate) reader: Reader<'t>,
    pub(crate) part: u8,
}

impl<'t> SeqAccess<'t> for LocatedParts<'t> {
    type Error = Failure;

    fn next_element_seed<S: DeserializeSeed<'t>>(&mut self, seed: S) -> Result<Option<S::Value>, Failure> {
        self.part += 1;
        match self.part {
            1 => seed.deserialize(number(self.reader.node())).map(Some),
            2 => self.reader.give(seed).map(Some),
            _ => Ok(None),
        }
    }
}

/// First the number of the node, then whether it is without quotes, then its text.
pub(crate) struct TextParts<'t> {
    pub(crate) node: NodeId,
    pub(crate) plain: bool,
    pub(crate) text: &'t str,
    pub(crate) part: u8,
}

impl<'t> SeqAccess<'t> for TextParts<'t> {
    type Error = Failure;

    fn next_element_seed<S: DeserializeSeed<'t>>(&mut self, seed: S) -> Result<Option<S::Value>, Failure> {
        self.part += 1;
        match self.part {
            1 => seed.deserialize(number(self.node)).map(Some),
            2 => {
                let plain: BoolDeserializer<Failure> = self.plain.into_deserializer();
                seed.deserialize(plain).map(Some)
            }
            3 => seed.deserialize(BorrowedStrDeserializer::new(self.text)).map(Some),
            _ => Ok(None),
        }
    }
}

fn number(node: NodeId) -> U32Deserializer<Failure> {
    crate::span::small(node.index()).into_deserializer()
}
