//! Everything that is compared, worst first, with bars; a script may sort and filter it, and none is needed to read it.

use crate::reviewed::Made;
use crate::show::stress::Stresses;
use crate::show::stress::rows::{Row, rows};

use super::markup::Markup;

/// The share of what is allowed above which little is left.
const LITTLE: f64 = 0.9;

/// The table; nothing where nothing is compared.
pub(crate) fn table(made: &Made, sheet: usize) -> Markup {
    let mut out = Markup::new();
    let unit = &made.described.unit;
    let all: Vec<usize> = (0..unit.variants.len()).collect();
    let rows = rows(&Stresses::of(unit, &made.review, &all, None));
    if rows.is_empty() {
        return out;
    }
    out.raw("<h2 id=\"u").count(sheet).raw("-stress\">What every part carries of what it may</h2>\n");
    out.raw("<p>Each comparison of each part where it is worst, over all duty points and variants; parts that read alike share ");
    out.raw("a row. A bar is full where everything that is allowed is used; for temperatures it shows the last 100 K.</p>\n");
    out.raw("<div class=\"scroll tall\" tabindex=\"0\" role=\"region\" aria-labelledby=\"u").count(sheet);
    out.raw("-stress\"><table class=\"sortable\">\n<thead><tr><th scope=\"col\">Part</th>");
    out.raw(
        "<th scope=\"col\">Used</th><th scope=\"col\">What is compared</th><th scope=\"col\">Carried</th>",
    );
    out.raw("<th scope=\"col\">Allowed</th><th scope=\"col\">Limit</th><th scope=\"col\">Where</th></tr></thead>\n<tbody>\n");
    for one in &rows {
        row(&mut out, one);
    }
    out.raw("</tbody></table></div>\n");
    out
}

fn row(out: &mut Markup, row: &Row) {
    let is_little = row.share.is_some_and(|share| share > LITTLE);
    let class = match (row.fails, is_little) {
        (true, _) => "over",
        (false, true) => "little",
        (false, false) => "enough",
    };
    out.raw("<tr class=\"").raw(class).element("\"><th scope=\"row\">", &row.parts, "</th><td data-v=\"");
    // What fails without a figure stands before everything else.
    let used = row.share.map_or(if row.fails { 1e6 } else { 0.0 }, |share| 100.0 * share);
    out.at(used).raw("\">");
    if let Some(share) = row.share {
        out.raw("<span class=\"used\" aria-hidden=\"true\"><i style=\"--u:")
            .at(100.0 * share.clamp(0.0, 1.0));
        out.raw("%\"></i></span>");
    }
    let mark = match class {
        "over" => "✕ fails",
        "little" => "△",
        _ => "○",
    };
    out.raw("<span class=\"says\">")
        .raw(mark)
        .raw(" ")
        .text(&says(row))
        .raw("</span></td><td>")
        .text(&row.what);
    let [carried, limit, allowed] = &row.numbers;
    for number in [carried, allowed, limit] {
        out.element("</td><td class=\"num\">", if number.is_empty() { "–" } else { number }, "");
    }
    out.element("</td><td>", &row.place, "</td></tr>\n");
}

/// Headroom as a sentence needs it.
fn says(row: &Row) -> String {
    match (row.share, row.headroom.strip_prefix('-')) {
        (Some(_), Some(over)) => format!("{over} over"),
        (Some(_), None) => format!("{} left", row.headroom),
        (None, _) => row.headroom.clone(),
    }
}
