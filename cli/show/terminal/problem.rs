//! Problems of a description: what was expected, what was found, what to write.

use loadworthy_source::{Problem, Tree};

use crate::described::MORE_PROBLEMS;
use crate::show::layout::{counted, hanging};

use super::paint::Paint;
use super::snippet::{Mark, snippet};

/// Problems that the first screen shows.
const FIRST: usize = 8;
const MARGIN: usize = 9;

/// All problems, or the first of them and how many more there are.
pub(crate) fn problems(tree: &Tree, problems: &[Problem], all: bool, paint: Paint) -> String {
    let shown_count = if all || problems.len() <= FIRST { problems.len() } else { FIRST };
    let mut text = String::new();
    for problem in problems.iter().take(shown_count) {
        if problem.kind == MORE_PROBLEMS {
            text.push_str(&hanging("", MARGIN, &problem.message));
            text.push('\n');
            continue;
        }
        text.push_str(&one(tree, problem, paint));
        text.push('\n');
    }
    if shown_count < problems.len() {
        let more = counted(problems.len() - shown_count, "more problem", "more problems");
        text.push_str(&format!("+{more}, `--all`\n\n"));
    }
    text
}

fn one(tree: &Tree, problem: &Problem, paint: Paint) -> String {
    let mut text = paint.wrong("problem", &hanging("problem", MARGIN, &problem.message));
    if !problem.variants.is_empty() {
        let noun = if problem.variants.len() == 1 { "variant" } else { "variants" };
        text.push_str(&hanging("", MARGIN, &format!("in {noun} {}", problem.variants.join(", "))));
    }
    let mut marks = vec![Mark { span: problem.at, label: problem.label.clone() }];
    marks.extend(problem.also.iter().map(|(span, label)| Mark { span: *span, label: label.clone() }));
    text.push_str(&snippet(tree, &marks, paint.colored));
    if let Some(way_out) = &problem.way_out {
        text.push_str(&hanging("", MARGIN, way_out));
    }
    text
}
