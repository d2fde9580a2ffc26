//! Why a value could not be read, and which node it is about.

use std::fmt;

use serde::de::{Error, Expected, Unexpected};

use crate::escape::shown;
use crate::nearest::nearest;
use crate::problem::Problem;
use crate::span::NodeId;
use crate::tree::Tree;

/// Boxed, because it travels through every return on the way up.
#[derive(Debug)]
pub(crate) struct Failure(Box<Parts>);

#[derive(Debug)]
struct Parts {
    kind: &'static str,
    message: String,
    label: &'static str,
    way_out: Option<String>,
    at: Option<NodeId>,
}

impl Failure {
    pub(crate) fn new(kind: &'static str, message: impl Into<String>, label: &'static str) -> Self {
        Self(Box::new(Parts { kind, message: message.into(), label, way_out: None, at: None }))
    }

    pub(crate) fn with_way_out(mut self, way_out: Option<String>) -> Self {
        self.0.way_out = way_out;
        self
    }

    /// Says which node it is about, unless that is known from further down.
    pub(crate) fn at(mut self, node: NodeId) -> Self {
        self.0.at.get_or_insert(node);
        self
    }

    pub(crate) fn into_problem(self, tree: &Tree, root: NodeId) -> Problem {
        let Parts { kind, message, label, way_out, at } = *self.0;
        let mut problem = Problem::new(kind, tree.span(at.unwrap_or(root)), message, label);
        problem.way_out = way_out;
        problem
    }
}

/// "write `x`" for the nearest of the words, else the words themselves.
fn way_out(found: &str, words: &'static [&'static str]) -> Option<String> {
    if words.is_empty() {
        return None;
    }
    let list = || format!("write one of `{}`", words.join("`, `"));
    Some(nearest(found, words.iter().copied()).map_or_else(list, |meant| format!("write `{meant}`")))
}

impl fmt::Display for Failure {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0.message)
    }
}

impl std::error::Error for Failure {}

impl Error for Failure {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self::new("bad-value", message.to_string(), "this value")
    }

    fn invalid_type(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::new("wrong-type", format!("expected {expected}, found {}", words(found)), "another type")
    }

    fn invalid_value(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::new("bad-value", format!("expected {expected}, found {}", words(found)), "this value")
    }

    fn invalid_length(length: usize, expected: &dyn Expected) -> Self {
        Self::new("wrong-length", format!("expected {expected}, found {length}"), "another number of items")
    }

    fn unknown_variant(found: &str, expected: &'static [&'static str]) -> Self {
        Self::new("unknown-word", format!("`{}` is not known here", shown(found)), "not known")
            .with_way_out(way_out(found, expected))
    }

    fn unknown_field(found: &str, expected: &'static [&'static str]) -> Self {
        Self::new("unknown-key", format!("the key `{}` is not known here", shown(found)), "not known")
            .with_way_out(way_out(found, expected))
    }

    fn missing_field(field: &'static str) -> Self {
        Self::new("missing-key", format!("the key `{field}` is missing"), "belongs here")
            .with_way_out(Some(format!("write `{field}:` with a value")))
    }

    fn duplicate_field(field: &'static str) -> Self {
        Self::new("duplicate-key", format!("the key `{field}` stands twice"), "one of them")
    }
}

fn words(found: Unexpected<'_>) -> String {
    match found {
        Unexpected::Bool(value) => format!("the truth value `{value}`"),
        Unexpected::Unsigned(value) => format!("the number `{value}`"),
        Unexpected::Signed(value) => format!("the number `{value}`"),
        Unexpected::Float(value) => format!("the number `{value}`"),
        Unexpected::Char(value) => format!("the text `{}`", shown(&value.to_string())),
        Unexpected::Str(value) => format!("the text `{}`", shown(value)),
        Unexpected::Unit | Unexpected::Option => "nothing".to_owned(),
        Unexpected::Seq => "a list".to_owned(),
        Unexpected::Map => "a map".to_owned(),
        other => other.to_string(),
    }
}
