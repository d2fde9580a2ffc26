//! A review as a page: one file that whoever judges a unit can read without having anything installed.

pub(crate) mod change;
mod coolant;
mod faults;
mod finding;
mod frame;
mod gauge;
mod isolation;
mod lines;
mod markup;
mod numbers;
mod open;
mod permits;
mod points;
mod power;
mod problem;
mod sheet;
mod stress;
mod svg;
mod table;
mod used;
mod verdict;

use loadworthy_checks::verdict::Grade;

use crate::reviewed::FileReview;
use crate::show::layout::counted;
use crate::show::terminal::{CAUTION, summary};

use markup::{Markup, prose};

/// The page of all files: of several a summary first, then a sheet for each.
pub(crate) fn page(files: &[FileReview]) -> String {
    let (mut rules, mut body, mut foot) = (Markup::new(), Markup::new(), Markup::new());
    let title = match files {
        [one] => format!("Review of {}", one.name),
        _ => format!("Review of {}", counted(files.len(), "description", "descriptions")),
    };
    if files.len() != 1 {
        body.join(&all(files, &title));
    }
    for (place, file) in files.iter().enumerate() {
        match &file.made {
            Ok(made) => {
                let sheet = sheet::sheet(made, file.ends, place);
                body.join(&sheet.body);
                rules.join(&sheet.rules);
            }
            Err(why) => {
                body.raw("<article class=\"sheet\" id=\"u").count(place).raw("\">\n<h1>").text(&file.name);
                body.raw("</h1>\n<p class=\"over\">✕ Cannot be read: ").text(why).raw("</p>\n</article>\n");
            }
        }
    }
    foot.raw("<p>").raw(CAUTION).raw("</p>\n");
    frame::page(&title, &rules, &body, &foot)
}

/// A line for each file.
fn all(files: &[FileReview], title: &str) -> Markup {
    let mut out = Markup::new();
    out.raw("<section class=\"sheet\">\n<h1 id=\"all\">").text(title).raw("</h1>\n");
    out.raw(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-labelledby=\"all\"><table>\n<thead><tr>",
    );
    out.raw("<th scope=\"col\">Description</th><th scope=\"col\">Verdict</th><th scope=\"col\">Counts</th>");
    out.raw("<th scope=\"col\">Weakest point</th></tr></thead>\n<tbody>\n");
    for (place, file) in files.iter().enumerate() {
        out.raw("<tr><th scope=\"row\"><a href=\"#u").count(place).raw("\">").text(&file.name);
        out.raw("</a></th><td>").raw(verdict::mark(file.ends.outcome())).raw(" ");
        let findings = file.made.as_ref().map_or(&[][..], |made| &made.review.findings);
        out.text(&verdict::headline(file.ends, findings));
        out.raw("</td><td>");
        match &file.made {
            Ok(made) => {
                // In a table a gap is a comma.
                out.text(&summary(&made.described, &made.review).replace("   ", "; ")).raw("</td><td>");
                let weakest = made.review.findings.first().filter(|finding| finding.grade != Grade::Note);
                match weakest {
                    Some(finding) => out.join(&prose(&finding.saying)),
                    None => out.raw("–"),
                };
            }
            Err(why) => {
                out.text(why).raw("</td><td>");
            }
        }
        out.raw("</td></tr>\n");
    }
    out.raw("</tbody></table></div>\n</section>\n");
    out
}
