//! A finding: what, where, by how much, at which lines, why, and what would hold.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::{Finding, Held, JudgedBy};

use crate::described::Described;
use crate::permits::Day;
use crate::show::layout::{free_text, reason_text};
use crate::show::places;
use crate::show::words;
use crate::show::words::finding::{carried_figure, derive_command, whereabouts};

use super::gauge::gauge;
use super::lines::{Marked, lines};
use super::markup::{self, Markup};
use super::numbers::Number;

/// The anchor of a finding.
pub(crate) fn anchor(out: &mut Markup, sheet: usize, number: Number) {
    out.raw("u").count(sheet).raw("-f").count(number.0);
}

/// Its number in a ring, which leads to it.
pub(crate) fn linked(out: &mut Markup, sheet: usize, number: Number) {
    out.raw("<a class=\"no\" href=\"#");
    anchor(out, sheet, number);
    out.raw("\" aria-label=\"finding ").count(number.0).raw("\">").count(number.0).raw("</a>");
}

/// A finding in full.
pub(crate) fn block(
    described: &Described,
    finding: &Finding,
    number: Number,
    day: Option<Day>,
    sheet: usize,
) -> Markup {
    let mut out = Markup::new();
    let is_accepted = finding.is_accepted();
    out.raw("<article class=\"finding ").raw(if is_accepted { "accepted" } else { finding.grade.word() });
    out.raw("\" id=\"");
    anchor(&mut out, sheet, number);
    out.raw("\">\n<h3><span class=\"no\">").count(number.0).raw("</span> <span class=\"grade\">");
    out.raw(if is_accepted { "accepted, " } else { "" }).raw(finding.grade.word());
    out.element("</span> <code>", &finding.part, "</code> <span class=\"check\">").raw(finding.check);
    out.raw("</span></h3>\n");
    out.raw("<p class=\"says\">").join(&markup::prose(&finding.saying)).raw("</p>\n");
    let whereabouts = whereabouts(finding);
    if !whereabouts.is_empty() {
        out.raw("<p class=\"where\">").join(&markup::lines(&whereabouts)).raw("</p>\n");
    }
    comparison(&mut out, described, finding);
    if !finding.facts.is_empty() {
        out.raw("<ul class=\"facts\">");
        for fact in &finding.facts {
            out.raw("<li>").join(&markup::prose(fact)).raw("</li>");
        }
        out.raw("</ul>\n");
    }
    record(&mut out, described, finding, day);
    let places = std::iter::once(&finding.at).chain(&finding.because);
    let marks: Vec<Marked> = places
        .map(|place| Marked { span: described.tree.span(place.node), label: place.label.clone() })
        .collect();
    out.join(&lines(&described.tree, &marks));
    out.join(&ways_out(finding));
    if !finding.estimate.is_empty() {
        out.raw("<h4>Bear in mind</h4><ul>");
        for remark in &finding.estimate {
            out.element("<li>", remark, "</li>");
        }
        out.raw("</ul>\n");
    }
    worked(&mut out, described, finding);
    out.raw("</article>\n");
    out
}

fn comparison(out: &mut Markup, described: &Described, finding: &Finding) {
    let Some(compared) = &finding.comparison else { return };
    let text = figure_text::comparison(compared);
    let allowed = match &text.policy {
        Some(policy) => format!("{} ({policy})", text.allowed),
        None => text.allowed,
    };
    let carried = format!("{}{}", text.carried, carried_figure(described, finding, compared));
    out.raw("<dl class=\"numbers\">");
    for (name, said) in
        [("carried", &carried), ("limit", &text.limit), ("allowed", &allowed), ("headroom", &text.headroom)]
    {
        out.raw("<div><dt>").raw(name).element("</dt><dd>", said, "</dd></div>");
    }
    out.raw("</dl>\n").join(&gauge(compared));
}

/// The permit that accepts it, or how one stands to it.
fn record(out: &mut Markup, described: &Described, finding: &Finding, day: Option<Day>) {
    let Some((permit, standing)) = words::permit::of(described, finding) else { return };
    out.raw("<dl class=\"permit\"><div><dt>permit</dt><dd>").text(standing).raw(": ");
    out.text(&words::permit::terms(permit, Some(finding.defect), day))
        .raw("</dd></div><div><dt>reason</dt><dd>");
    out.text(&reason_text(&permit.reason)).raw("</dd></div><div><dt>accepted by</dt><dd>");
    out.text(&free_text(&permit.accepted_by)).raw("</dd></div><div><dt>until</dt><dd>");
    out.text(&permit.until.to_string()).raw("</dd></div><div><dt>written at</dt><dd><code>");
    out.text(&places::in_short(&described.tree, permit.at)).raw("</code></dd></div></dl>\n");
}

/// What would hold, with what else it changes; or why nothing is proposed.
pub(crate) fn ways_out(finding: &Finding) -> Markup {
    let mut out = Markup::new();
    if !finding.proposals.is_empty() {
        out.raw("<h4>What would hold</h4>\n<ol class=\"ways\">");
        for held in &finding.proposals {
            way_out(&mut out, held);
        }
        out.raw("</ol>\n");
    }
    if let Some(why) = &finding.no_proposal {
        out.raw("<h4>No proposal</h4>\n").element("<p>", why, "</p>\n");
    }
    out
}

fn way_out(out: &mut Markup, held: &Held) {
    out.element("<li><strong>", &held.say, "</strong>").element(" leaves ", &held.leaves, "");
    if held.judged_by != JudgedBy::AllChecks {
        out.raw(" <span class=\"aside\">Judged by ").raw(held.judged_by.words()).raw(".</span>");
    }
    if !held.side_effects.is_empty() {
        out.raw("<ul class=\"effects\" aria-label=\"side effects\">");
        for effect in &held.side_effects {
            out.element("<li>", effect, "</li>");
        }
        out.raw("</ul>");
    }
    out.raw("</li>\n");
}

fn worked(out: &mut Markup, described: &Described, finding: &Finding) {
    let command = derive_command(described, finding);
    if finding.worked.is_empty() && command.is_none() {
        return;
    }
    out.raw("<details><summary>Worked calculation</summary>\n");
    if !finding.worked.is_empty() {
        out.raw("<ol class=\"worked\">");
        for line in &finding.worked {
            out.element("<li>", line, "</li>");
        }
        out.raw("</ol>\n");
    }
    if let Some(words) = command {
        out.raw("<p class=\"aside\">All of it: <code>").text(&words.join(" ")).raw("</code></p>\n");
    }
    out.raw("</details>\n");
}
