//! What is wrong with the description itself.

use loadworthy_source::{Problem, Tree};
use serde::Serialize;

use crate::show::places;

use super::finding::Marked;

#[derive(Serialize)]
pub(in crate::show::json) struct ProblemShown {
    kind: &'static str,
    message: String,
    at: Marked,
    also: Vec<Marked>,
    way_out: Option<String>,
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
            variants: problem.variants.clone(),
        }
    }
}
