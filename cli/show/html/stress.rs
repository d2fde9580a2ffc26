//! Everything that is compared, worst first, with bars; a script may sort and filter it, and none is needed to read it.

use loadworthy_checks::verdict::Grade;

use crate::permits::Accepted;
use crate::reviewed::Made;
use crate::show::stress::Stresses;
use crate::show::stress::rows::{Row, rows};

use super::markup::Markup;
use super::table::{cell, head, region};

/// The share of what is allowed above which little is left.
const LITTLE: f64 = 0.9;

/// Rows that are shown, worst first; more than these nobody reads on a page.
const MOST: usize = 2000;

/// The table; nothing where nothing is compared.
pub(crate) fn table(made: &Made, sheet: usize) -> Markup {
    let mut out = Markup::new();
    let unit = &made.described.unit;
    let all: Vec<usize> = (0..unit.variants.len()).collect();
    let rows = rows(&Stresses::of(
        unit,
        &made.review,
        &all,
        None,
        &Accepted::on(unit, &made.review, made.besides.day),
    ));
    if rows.is_empty() {
        return out;
    }
    out.raw("<p>Each comparison of each part where it is worst, over all duty points and variants; parts that read ");
    out.raw("alike share a row. A bar is full where everything that is allowed is used; for temperatures it shows ");
    out.raw("the last 100 K.</p>\n");
    out.raw("<div class=\"tall\">");
    region(&mut out, "Everything that is compared", sheet);
    out.raw("<table class=\"stack sortable\" role=\"table\">\n");
    head(&mut out, &["Part", "Used", "What is compared", "Carried", "Allowed", "Limit", "Where"]);
    for one in rows.iter().take(MOST) {
        row(&mut out, one);
    }
    out.raw("</tbody></table></div></div>\n");
    if let Some(more @ 1..) = rows.len().checked_sub(MOST) {
        out.raw("<p>")
            .count(more)
            .raw(" more rows, with more headroom: <code>loadworthy stress --all</code></p>\n");
    }
    out
}

fn row(out: &mut Markup, row: &Row) {
    let is_little = row.share.is_some_and(|share| share > LITTLE);
    let (class, mark) = match (row.grade, is_little) {
        (Some(_), _) if row.is_accepted => ("is-little", "△ accepted: "),
        (Some(Grade::Note), _) => ("is-little", "△ note: "),
        (Some(_), _) => ("is-over", "✕ "),
        (None, true) => ("is-little", "△ "),
        (None, false) => ("", "○ "),
    };
    out.raw("<tr role=\"row\" class=\"").raw(class);
    out.raw("\"><th scope=\"row\" role=\"rowheader\">").path(&row.parts).raw("</th>");
    // What fails without a figure stands before everything else, unless it is merely worth knowing.
    let fails = row.grade.is_some_and(|grade| grade != Grade::Note);
    let used = row.share.map_or(if fails { 1e6 } else { 0.0 }, |share| 100.0 * share);
    out.raw("<td role=\"cell\" data-l=\"Used\" data-v=\"").at(used).raw("\">");
    if let Some(share) = row.share {
        out.raw("<span class=\"used\" aria-hidden=\"true\"><i style=\"--u:");
        out.at(100.0 * share.clamp(0.0, 1.0)).raw("%\"></i></span>");
    }
    out.raw("<span class=\"says\">").raw(mark).text(&says(row)).raw("</span></td>");
    cell(out, "What is compared", &row.what);
    let [carried, limit, allowed] = &row.numbers;
    for (name, number) in [("Carried", carried), ("Allowed", allowed), ("Limit", limit)] {
        let class = if number.is_empty() { "num blank" } else { "num" };
        out.raw("<td role=\"cell\" class=\"").raw(class).raw("\" data-l=\"").raw(name).raw("\">");
        out.raw("<span>").text(if number.is_empty() { "–" } else { number }).raw("</span></td>");
    }
    cell(out, "Where", &row.place);
    out.raw("</tr>\n");
}

/// Headroom as a sentence needs it.
fn says(row: &Row) -> String {
    match (row.share, row.headroom.strip_prefix('-')) {
        (Some(_), Some(over)) => format!("{over} over"),
        (Some(_), None) => format!("{} left", row.headroom),
        (None, _) => row.headroom.clone(),
    }
}
