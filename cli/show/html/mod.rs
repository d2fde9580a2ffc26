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
use sheet::Sheet;

/// What the page has of one file: made where that was reviewed, so that nothing else of it is kept.
pub(crate) struct Reviewed {
    name: String,
    /// Its line among all files.
    line: Markup,
    sheet: Sheet,
}

impl Reviewed {
    /// Draws a file; `place` is how many stand before it, and makes its anchors its own.
    pub(crate) fn of(file: &FileReview, place: usize) -> Self {
        let sheet = match &file.made {
            Ok(made) => sheet::sheet(made, file.ends, place),
            Err(why) => Sheet { body: unreadable(&file.name, why, place), rules: Markup::new() },
        };
        Self { name: file.name.clone(), line: line(file, place), sheet }
    }
}

fn unreadable(name: &str, why: &str, place: usize) -> Markup {
    let mut out = Markup::new();
    out.raw("<article class=\"sheet\" id=\"u").count(place).raw("\">\n<h1>").text(name);
    out.raw("</h1>\n<p class=\"over\">✕ Cannot be read: ").text(why).raw("</p>\n</article>\n");
    out
}

/// The page of all files: of several a summary first, then a sheet for each.
pub(crate) fn page(files: &[Reviewed]) -> String {
    let (mut rules, mut body, mut foot) = (Markup::new(), Markup::new(), Markup::new());
    let title = match files {
        [one] => format!("Review of {}", one.name),
        _ => format!("Review of {}", counted(files.len(), "description", "descriptions")),
    };
    if files.len() != 1 {
        body.join(&all(files, &title));
    }
    for file in files {
        body.join(&file.sheet.body);
        rules.join(&file.sheet.rules);
    }
    foot.raw("<p>").raw(CAUTION).raw("</p>\n");
    frame::page(&title, &rules, &body, &foot)
}

/// A line for each file.
fn all(files: &[Reviewed], title: &str) -> Markup {
    let mut out = Markup::new();
    out.raw("<section class=\"sheet\">\n<h1 id=\"all\">").text(title).raw("</h1>\n");
    out.raw(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-labelledby=\"all\"><table>\n<thead><tr>",
    );
    out.raw("<th scope=\"col\">Description</th><th scope=\"col\">Verdict</th><th scope=\"col\">Counts</th>");
    out.raw("<th scope=\"col\">Weakest point</th></tr></thead>\n<tbody>\n");
    for file in files {
        out.join(&file.line);
    }
    out.raw("</tbody></table></div>\n</section>\n");
    out
}

fn line(file: &FileReview, place: usize) -> Markup {
    let mut out = Markup::new();
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
    out
}
