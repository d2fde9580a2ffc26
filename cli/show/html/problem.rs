//! What is wrong with a description: what was expected, what was found, what to write.

use loadworthy_source::{Problem, Tree};

use crate::described::MORE_PROBLEMS;

use super::lines::{Marked, lines};
use super::markup::{Markup, prose};

/// All problems, by place.
pub(crate) fn problems(tree: &Tree, problems: &[Problem]) -> Markup {
    let mut out = Markup::new();
    if problems.is_empty() {
        return out;
    }
    out.raw("<p>What depends on these could not be read; the rest was judged as far as it goes.</p>\n");
    for problem in problems {
        if problem.kind == MORE_PROBLEMS {
            out.element("<p>", &problem.message, "</p>\n");
            continue;
        }
        out.raw("<article class=\"finding major\"><h3>").join(&prose(&problem.message)).raw("</h3>\n");
        if !problem.variants.is_empty() {
            out.element("<p class=\"where\">in ", &problem.variants.join(", "), "</p>\n");
        }
        let mut marks = vec![Marked { span: problem.at, label: problem.label.clone() }];
        marks.extend(problem.also.iter().map(|(span, label)| Marked { span: *span, label: label.clone() }));
        out.join(&lines(tree, &marks));
        if let Some(way_out) = &problem.way_out {
            out.raw("<p class=\"change\">").join(&prose(way_out)).raw("</p>\n");
        }
        out.raw("</article>\n");
    }
    out
}
