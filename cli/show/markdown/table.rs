//! Tables, and the row of a finding.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::Finding;

use crate::described::Described;
use crate::show::layout::cut;
use crate::show::places;

use super::escape::{code, text};

/// Characters of a name in a cell.
const LONGEST: usize = 90;
/// The columns of a table of findings.
pub(super) const FINDINGS: [&str; 8] =
    ["grade", "check", "part", "duty point", "carried", "allowed", "headroom", "where"];

/// The first two lines of a table.
pub(super) fn head(columns: &[&str]) -> String {
    let names = columns.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
    format!("{}|{}\n", row(&names), "---|".repeat(columns.len()))
}

/// A row; its cells are escaped already.
pub(super) fn row(cells: &[String]) -> String {
    format!("| {} |\n", cells.join(" | "))
}

/// A name as it may stand in a cell.
pub(super) fn name(name: &str) -> String {
    code(&cut(name, LONGEST))
}

/// A finding as a row under [`FINDINGS`].
pub(super) fn finding(described: &Described, finding: &Finding) -> String {
    let none = || "–".to_owned();
    let compared = finding.comparison.as_ref().map(figure_text::comparison);
    let mut part = name(&finding.part);
    if finding.also_parts > 0 {
        part.push_str(&format!(", +{} more", finding.also_parts));
    }
    let mut when = finding.duty.as_deref().map(name).into_iter().collect::<Vec<_>>();
    when.extend(finding.variant_name.as_deref().map(name));
    let mut when = if when.is_empty() { "always".to_owned() } else { when.join(", ") };
    if !finding.also_in.is_empty() {
        when.push_str(&format!(", +{} more", finding.also_in.len()));
    }
    let (carried, allowed, headroom) = compared.map_or_else(
        || (none(), none(), amiss(finding)),
        |compared| (text(&compared.carried), text(&compared.allowed), text(&compared.headroom)),
    );
    let at = places::of_node(&described.tree, finding.at.node);
    row(&[
        finding.grade.word().to_owned(),
        code(finding.check),
        part,
        when,
        carried,
        allowed,
        headroom,
        name(&format!("{}:{}", at.file, at.line)),
    ])
}

/// What is wrong where no figure says by how much.
fn amiss(finding: &Finding) -> String {
    match finding.largest_share {
        Some(share) if share.is_finite() => {
            text(&format!("at most {} of it has a solution", figure_text::percent(share)))
        }
        _ => text(&finding.defect.replace('-', " ")),
    }
}
