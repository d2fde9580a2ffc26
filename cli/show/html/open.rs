//! What was not judged, what was assumed, and what is stated and judged by nothing.

use loadworthy_checks::review::{Assumed, Counts, NotJudged};

use crate::described::Described;
use crate::reviewed::Made;
use crate::show::{places, words};

use super::markup::Markup;

/// Missing inputs with what waits for them, and what broke down; never left out.
pub(crate) fn not_judged(made: &Made) -> Markup {
    let mut out = Markup::new();
    let (described, review) = (&made.described, &made.review);
    let mut lines: Vec<String> = Vec::new();
    lines.extend(review.unsolved.iter().filter(|one| one.largest.is_none()).map(words::review::undecided));
    lines.extend(review.not_judged.iter().map(|one| missing(described, one)));
    lines.extend(words::review::nothing_judged(described, review));
    lines.extend(review.broken_checks.iter().map(words::review::broken_check));
    if lines.is_empty() {
        out.raw("<p>Nothing that a check asked for is missing.</p>\n");
        return out;
    }
    out.raw("<p>What could not be judged is no pass. Each line names what is missing and what waits for it.</p>\n<ul>");
    for line in &lines {
        out.element("<li>? ", line, "</li>\n");
    }
    out.raw("</ul>\n");
    out
}

/// What is missing, what waits for it, and near what it would stand.
pub(crate) fn missing(described: &Described, one: &NotJudged) -> String {
    let near = one.near.map(|near| format!("; {}", places::in_short(&described.tree, near)));
    words::review::not_judged(described, one) + &near.unwrap_or_default()
}

/// Defaults that are in use, those that decide a verdict first.
pub(crate) fn assumed(made: &Made) -> Markup {
    let mut out = Markup::new();
    let review = &made.review;
    if review.counts == Counts::default() {
        return out;
    }
    let (deciding, silent): (Vec<&Assumed>, Vec<&Assumed>) =
        review.assumed.iter().partition(|one| !one.decides.is_empty());
    if review.assumed.is_empty() {
        out.raw("<p>No default of the edition is in use.</p>\n");
    }
    if !deciding.is_empty() {
        out.raw("<p>These defaults decide a verdict within their usual range: state them.</p>\n");
        out.join(&assumptions(&deciding));
    }
    if !silent.is_empty() {
        out.raw("<details><summary>").count(silent.len());
        let untried = silent.iter().any(|one| one.usual.is_some() && !one.tried);
        out.raw(if untried {
            " more that decide nothing here, or were not tried"
        } else {
            " more that decide nothing here"
        });
        out.raw("</summary>\n").join(&assumptions(&silent));
        out.raw("</details>\n");
    }
    out
}

fn assumptions(all: &[&Assumed]) -> Markup {
    let mut out = Markup::new();
    out.raw("<ul>");
    for one in all {
        out.element("<li><code>", &one.value, "</code>");
        if let Some(usual) = &one.usual {
            out.element(" (usual ", usual, ")");
        }
        out.element(": ", one.why.trim_end_matches('.'), "");
        if let [first, more @ ..] = one.paths.as_slice() {
            out.element("; at <code>", first, "</code>");
            if !more.is_empty() {
                out.raw(" and ").count(more.len()).raw(" more");
            }
        }
        out.raw(match (&one.usual, one.tried) {
            (None, _) => "; without a usual range to be tried over",
            (Some(_), false) => "; not tried over its usual range",
            (Some(_), true) => "",
        });
        if !one.decides.is_empty() {
            out.raw("<ul>");
            for decided in &one.decides {
                out.element("<li>decides: ", decided, "</li>");
            }
            out.raw("</ul>");
        }
        out.raw("</li>\n");
    }
    out.raw("</ul>\n");
    out
}

/// Sections that a unit with high voltage does not state.
pub(crate) fn left_out(made: &Made) -> Markup {
    let mut out = Markup::new();
    if let Some(one) = &made.review.left_out {
        out.element("<p>", &words::review::left_out(one), "</p>\n");
    }
    out
}

/// What is stated and judged by nothing yet, so that nobody takes silence for a pass.
pub(crate) fn unjudged(made: &Made) -> Markup {
    let mut out = Markup::new();
    let stated = &made.described.unit.unjudged;
    if stated.is_empty() {
        return out;
    }
    out.raw("<ul>");
    for one in stated {
        out.element("<li>", one, "</li>");
    }
    out.raw("</ul>\n");
    out
}
