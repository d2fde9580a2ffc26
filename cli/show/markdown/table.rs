//! Tables, and the row of a finding.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::Finding;
use loadworthy_source::{NodeId, Tree};

use crate::described::Described;
use crate::show::layout::cut;
use crate::show::places;

use super::escape::{code, text};

/// Characters of a name in a cell.
const LONGEST: usize = 90;
/// The columns of a table of findings.
pub(super) const FINDINGS: [&str; 8] =
    ["grade", "check", "part", "duty point", "carried", "allowed", "headroom", "where"];

/// The columns of a table of findings before and after.
pub(super) const TURNED: [&str; 9] =
    ["change", "grade", "check", "part", "duty point", "carried", "allowed", "headroom", "where"];

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
    row(&cells(described, finding, true))
}

/// A finding before and after as a row under [`TURNED`]; where it stands is told of the description after, if it is in it.
pub(super) fn turned(
    turn: &str,
    old: Option<(&Described, &Finding)>,
    new: Option<(&Described, &Finding)>,
    names_variants: bool,
) -> String {
    let cells = |(described, finding): (&Described, &Finding)| cells(described, finding, names_variants);
    let (old, new) = (old.map(cells), new.map(cells));
    let place = FINDINGS.len() - 1;
    let mut row = vec![turn.to_owned()];
    for column in 0..FINDINGS.len() {
        let of = |cells: &Option<[String; 8]>| cells.as_ref().map(|cells| cells[column].clone());
        let old = of(&old).filter(|_| column != place || new.is_none());
        row.push(moved(old, of(&new)));
    }
    self::row(&row)
}

/// A cell before and after, where these differ.
pub(super) fn moved(old: Option<String>, new: Option<String>) -> String {
    match (old, new) {
        (Some(old), Some(new)) if old != new => format!("{old} → {new}"),
        (old, new) => new.or(old).unwrap_or_default(),
    }
}

/// What stands under [`FINDINGS`].
fn cells(described: &Described, finding: &Finding, names_variants: bool) -> [String; 8] {
    let none = || "–".to_owned();
    let compared = finding.comparison.as_ref().map(figure_text::comparison);
    let mut part = name(&finding.part);
    if finding.also_parts > 0 {
        part.push_str(&format!(", +{} more", finding.also_parts));
    }
    let mut when = finding.duty.as_deref().map(name).into_iter().collect::<Vec<_>>();
    when.extend(finding.variant_name.as_deref().filter(|_| names_variants).map(name));
    let mut when = if when.is_empty() { "always".to_owned() } else { when.join(", ") };
    if !finding.also_in.is_empty() {
        when.push_str(&format!(", +{} more", finding.also_in.len()));
    }
    let (carried, allowed, headroom) = compared.map_or_else(
        || (none(), none(), amiss(finding)),
        |compared| (text(&compared.carried), text(&compared.allowed), text(&compared.headroom)),
    );
    let grade = finding.grade.word().to_owned();
    let at = place(&described.tree, finding.at.node);
    [grade, code(finding.check), part, when, carried, allowed, headroom, at]
}

/// File and line of a node, as a cell.
pub(super) fn place(tree: &Tree, node: NodeId) -> String {
    let at = places::of_node(tree, node);
    name(&format!("{}:{}", at.file, at.line))
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
