//! What is wrong with the description itself.

use loadworthy_source::{Problem, Tree};
use schemars::JsonSchema;
use serde::Serialize;

use crate::show::places;

use super::finding::Marked;

#[derive(Serialize, JsonSchema)]
pub(in crate::show::json) struct ProblemShown {
    /// Which kind of problem it is, in one word.
    kind: &'static str,
    /// What is wrong: expected and found.
    message: String,
    /// Where it stands.
    at: Marked,
    /// Other places that belong to it.
    also: Vec<Marked>,
    /// What to write.
    way_out: Option<String>,
    /// The text that is taken to be meant there, by which alone nothing holds; absent where the place counts as unread.
    #[serde(skip_serializing_if = "Option::is_none")]
    taken_as: Option<String>,
    /// The variants that it belongs to; empty where it belongs to all.
    variants: Vec<String>,
}

impl ProblemShown {
    pub(in crate::show::json) fn of(tree: &Tree, problem: &Problem) -> Self {
        let marked =
            |span, label: &String| Marked { place: places::of_span(tree, span), label: label.clone() };
        Self {
            kind: problem.kind,
            message: problem.message.clone(),
            at: marked(problem.at, &problem.label),
            also: problem.also.iter().map(|(span, label)| marked(*span, label)).collect(),
            way_out: problem.way_out.clone(),
            taken_as: problem.meant.as_ref().filter(|meant| meant.is_taken).map(|meant| meant.text.clone()),
            variants: problem.variants.clone(),
        }
    }
}
