//! Every permit that the description has, whether or not it accepts anything.

use crate::reviewed::Made;
use crate::show::layout::{free_text, reason_text};
use crate::show::places;
use crate::show::words::permit::{held_against, kind, only};

use super::finding::linked;
use super::markup::Markup;
use super::numbers::numbered;
use super::table::{cell, filled, head, region};

/// The table; nothing where there is no permit.
pub(crate) fn table(made: &Made, sheet: usize) -> Markup {
    let mut out = Markup::new();
    let permits = &made.described.unit.permits;
    let Some(day) = made.besides.day.filter(|_| !permits.is_empty()) else { return out };
    out.element("<p>", &held_against(day), ".</p>\n");
    region(&mut out, "Permits", sheet);
    out.raw("<table class=\"stack\" role=\"table\">\n");
    head(&mut out, &["Check and part", "Accepts", "Bound", "Reason", "Accepted by", "Until", "Written at"]);
    for (place, permit) in permits.iter().enumerate() {
        out.raw("<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">");
        out.text(&format!("{} {}", free_text(&permit.check.value), free_text(&permit.part.value)))
            .raw("</th>");
        let mut accepts = Markup::new();
        for (number, finding) in numbered(&made.review) {
            let is_beside = finding.permits_beside.contains(&place);
            if let Some(of) = finding.permit.filter(|of| of.permit == place || is_beside) {
                linked(&mut accepts, sheet, number);
                accepts.raw(" ").raw(of.standing.word()).raw(" ");
            }
        }
        if accepts.is_empty() {
            accepts.raw("nothing");
        }
        filled(&mut out, "Accepts", &accepts);
        let bound = permit
            .up_to
            .as_ref()
            .map(|up_to| up_to.written.clone())
            .or_else(|| only(permit))
            .or_else(|| kind(permit));
        cell(&mut out, "Bound", bound.as_deref().unwrap_or("–"));
        cell(&mut out, "Reason", &reason_text(&permit.reason));
        cell(&mut out, "Accepted by", &free_text(&permit.accepted_by));
        cell(&mut out, "Until", &permit.until.to_string());
        cell(&mut out, "Written at", &places::in_short(&made.described.tree, permit.at));
        out.raw("</tr>\n");
    }
    out.raw("</tbody></table></div>\n");
    out
}
