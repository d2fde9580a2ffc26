//! The deserializer of one node.

use serde::de::{DeserializeSeed, Deserializer, Error, Visitor};

use crate::located::{LOCATED, LOCATED_TEXT};
use crate::scalar::{Scalar, ScalarKind};
use crate::span::NodeId;
use crate::tree::{Content, Tree};

use super::children::{Entries, Items, LocatedParts, TextParts};
use super::choice::Choice;
use super::failure::Failure;
use super::gaps::{Gaps, UNREAD};

#[derive(Copy, Clone)]
pub(crate) struct Reader<'t> {
    tree: &'t Tree,
    node: NodeId,
    /// What cannot be read below it, and is passed over.
    gaps: &'t Gaps,
    /// A key is text even where it would mean a number.
    is_key: bool,
    /// A key that is left out of the map, because it was read before.
    without: Option<&'static str>,
}

impl<'t> Reader<'t> {
    pub(crate) fn of(tree: &'t Tree, node: NodeId, gaps: &'t Gaps) -> Self {
        Self { tree, node, gaps, is_key: false, without: None }
    }

    /// A node below this one.
    pub(crate) fn below(self, node: NodeId) -> Self {
        Self::of(self.tree, node, self.gaps)
    }

    /// A key below this one.
    pub(crate) fn key_below(self, node: NodeId) -> Self {
        Self { is_key: true, ..self.below(node) }
    }

    /// Whether a key of this map is left out.
    pub(crate) fn leaves_out(self, key: NodeId) -> bool {
        self.without.is_some_and(|tag| self.tree.key_text(key) == tag) || self.gaps.leaves_out(key)
    }

    /// Whether the value cannot be read.
    fn is_gap(self) -> bool {
        self.gaps.holds(self.node)
    }

    pub(crate) fn without(self, key: &'static str) -> Self {
        Self { without: Some(key), ..self }
    }

    pub(crate) fn tree(self) -> &'t Tree {
        self.tree
    }

    pub(crate) fn node(self) -> NodeId {
        self.node
    }

    /// Gives the node to a seed; a failure that names no other node is about this one.
    pub(crate) fn give<S: DeserializeSeed<'t>>(self, seed: S) -> Result<S::Value, Failure> {
        seed.deserialize(self).map_err(|failure| failure.at(self.node))
    }

    /// That something else was expected than what is there.
    pub(crate) fn expected(self, what: &str) -> Failure {
        let found = self.tree.describe(self.node);
        Failure::new("wrong-type", format!("expected {what}, found {found}"), "another type").at(self.node)
    }

    /// For a variant that holds nothing: only nothing may stand there.
    pub(crate) fn refuse_content(self) -> Result<(), Failure> {
        let extra =
            self.tree.entries(self.node).iter().map(|entry| entry.key).find(|&key| !self.leaves_out(key));
        match self.tree.content(self.node) {
            Content::Scalar(scalar) if scalar.is_null() => Ok(()),
            Content::Map(_) => match extra {
                None => Ok(()),
                Some(key) => Err(Failure::unknown_field(self.tree.key_text(key), &[]).at(key)),
            },
            _ => Err(self.expected("nothing")),
        }
    }

    fn scalar(self, what: &str) -> Result<Scalar<'t>, Failure> {
        match self.tree.content(self.node) {
            Content::Scalar(scalar) => Ok(scalar),
            _ => Err(self.expected(what)),
        }
    }

    fn text(self) -> Result<&'t str, Failure> {
        if let Some(meant) = self.gaps.meant(self.node).filter(|_| self.is_key) {
            return Ok(meant);
        }
        let scalar = self.scalar("a text")?;
        if self.is_key || scalar.kind() == ScalarKind::Text {
            return Ok(scalar.text);
        }
        let quoted =
            (!scalar.is_null()).then(|| format!("write `\"{}\"`", crate::escape::shown(scalar.text)));
        Err(self.expected("a text").with_way_out(quoted))
    }

    /// A whole number; `2.0` is one, as in a schema.
    fn whole(self) -> Result<i64, Failure> {
        // Below this, every whole number has a place of its own among the floating-point numbers.
        const EXACT: f64 = 9_007_199_254_740_992.0;
        let scalar = self.scalar("a whole number")?;
        if let Some(whole) = scalar.as_i64() {
            return Ok(whole);
        }
        match scalar.as_f64() {
            Some(number) if number.trunc().total_cmp(&number).is_eq() && number.abs() < EXACT => {
                Ok(number as i64)
            }
            _ => Err(self.expected("a whole number")),
        }
    }

    fn number(self) -> Result<f64, Failure> {
        if self.is_gap() {
            return Ok(f64::NAN);
        }
        match self.scalar("a number")?.as_f64() {
            Some(number) if number.is_finite() => Ok(number),
            Some(_) => Err(self.expected("a finite number")),
            None => Err(self.expected("a number")),
        }
    }

    fn truth(self) -> Result<bool, Failure> {
        let what = "`true` or `false`";
        self.scalar(what)?.as_bool().ok_or_else(|| self.expected(what))
    }

    fn bytes(self) -> Result<&'t [u8], Failure> {
        self.text().map(str::as_bytes)
    }

    fn items(self) -> Result<&'t [NodeId], Failure> {
        match self.tree.content(self.node) {
            Content::List(items) => Ok(items),
            _ => Err(self.expected("a list")),
        }
    }
}

macro_rules! read_by {
    ($read:ident, $visit:ident: $($function:ident)*) => {$(
        fn $function<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
            visitor.$visit(self.$read()?)
        }
    )*};
}

impl<'t> Deserializer<'t> for Reader<'t> {
    type Error = Failure;

    read_by! { whole, visit_i64: deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64 }
    read_by! { whole, visit_i64: deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64 }
    read_by! { number, visit_f64: deserialize_f32 deserialize_f64 }
    read_by! { truth, visit_bool: deserialize_bool }
    read_by! { text, visit_borrowed_str: deserialize_char deserialize_str deserialize_string deserialize_identifier }
    read_by! { bytes, visit_borrowed_bytes: deserialize_bytes deserialize_byte_buf }

    fn deserialize_any<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
        if self.is_gap() {
            return visitor.visit_borrowed_str(UNREAD);
        }
        if let Some(meant) = self.gaps.meant(self.node).filter(|_| self.is_key) {
            return visitor.visit_borrowed_str(meant);
        }
        let scalar = match self.tree.content(self.node) {
            Content::Map(_) => return self.deserialize_map(visitor),
            Content::List(_) => return self.deserialize_seq(visitor),
            Content::Scalar(scalar) if self.is_key => return visitor.visit_borrowed_str(scalar.text),
            Content::Scalar(scalar) => scalar,
        };
        match scalar.kind() {
            ScalarKind::Null => visitor.visit_unit(),
            ScalarKind::Truth => visitor.visit_bool(self.truth()?),
            ScalarKind::Text => visitor.visit_borrowed_str(scalar.text),
            ScalarKind::Whole | ScalarKind::Fraction => match scalar.as_i64() {
                Some(whole) => visitor.visit_i64(whole),
                None => visitor.visit_f64(self.number()?),
            },
        }
    }

    fn deserialize_option<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
        match self.tree.content(self.node) {
            Content::Scalar(scalar) if scalar.is_null() && !self.is_key && !self.is_gap() => {
                visitor.visit_none()
            }
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_unit<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
        self.refuse_content()?;
        visitor.visit_unit()
    }

    fn deserialize_unit_struct<V: Visitor<'t>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Failure> {
        self.deserialize_unit(visitor)
    }

    fn deserialize_newtype_struct<V: Visitor<'t>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Failure> {
        match name {
            LOCATED => visitor.visit_seq(LocatedParts { reader: self, part: 0 }),
            LOCATED_TEXT if self.is_gap() => {
                visitor.visit_seq(TextParts { node: self.node, plain: true, text: UNREAD, part: 0 })
            }
            LOCATED_TEXT => {
                let scalar = self.scalar("a value")?;
                if scalar.is_null() && !self.is_key {
                    return Err(self.expected("a value"));
                }
                let Scalar { text, plain } = scalar;
                visitor.visit_seq(TextParts { node: self.node, plain, text, part: 0 })
            }
            _ => visitor.visit_newtype_struct(self),
        }
    }

    fn deserialize_seq<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
        visitor.visit_seq(Items { reader: self, left: self.items()?.iter() })
    }

    fn deserialize_tuple<V: Visitor<'t>>(self, length: usize, visitor: V) -> Result<V::Value, Failure> {
        let items = self.items()?;
        if items.len() != length {
            let message = format!("expected a list of {length}, found one of {}", items.len());
            return Err(Failure::new("wrong-length", message, "another number of items").at(self.node));
        }
        visitor.visit_seq(Items { reader: self, left: items.iter() })
    }

    fn deserialize_tuple_struct<V: Visitor<'t>>(
        self,
        _: &'static str,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, Failure> {
        self.deserialize_tuple(length, visitor)
    }

    fn deserialize_map<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
        let Content::Map(entries) = self.tree.content(self.node) else { return Err(self.expected("a map")) };
        visitor.visit_map(Entries { reader: self, left: entries.iter(), value: None })
    }

    fn deserialize_struct<V: Visitor<'t>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Failure> {
        self.deserialize_map(visitor)
    }

    fn deserialize_enum<V: Visitor<'t>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Failure> {
        visitor.visit_enum(Choice::of(self, name, variants)?)
    }

    /// What nobody asks for is not visited.
    fn deserialize_ignored_any<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Failure> {
        visitor.visit_unit()
    }
}
