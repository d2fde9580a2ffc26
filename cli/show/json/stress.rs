//! The stress table as JSON: for each comparison of each part the worst verdict, worst first.

use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::stress::Stresses;
use crate::show::terminal::CAUTION;

use super::permit::{HeldAgainst, PermitShown};
use super::review::VerdictShown;
use super::text;

#[derive(Serialize, JsonSchema)]
pub(super) struct Table<'d> {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The program and its version.
    program: &'static str,
    /// The exit code of the run.
    exit: u8,
    /// What no output of this program is.
    caution: &'static str,
    /// The file, by the name that it was asked for.
    file: &'d str,
    /// How many problems the description has; with any, not all of it was read.
    problems: usize,
    /// The day that permits are held against; absent without permits, so that no day stands in the table.
    #[serde(skip_serializing_if = "Option::is_none")]
    permits: Option<HeldAgainst>,
    /// For each comparison of each part its worst verdict, the worst first.
    rows: Vec<Row<'d>>,
    /// Verdicts that could not be given.
    not_judged: Vec<VerdictShown>,
    /// Checks that broke down, which is a defect of the program.
    broken_checks: Vec<&'static str>,
}

#[derive(Serialize, JsonSchema)]
struct Row<'d> {
    /// Every variant in which it is as bad in the same duty point; empty where the unit has no named variants.
    variants: &'d [&'d str],
    #[serde(flatten)]
    verdict: VerdictShown,
    /// The permit that accepts it; absent where none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<PermitShown>,
}

/// The table.
pub(crate) fn table(described: &Described, stresses: &Stresses<'_>, outcome: Outcome) -> String {
    let tree = &described.tree;
    let exit = if described.problems.is_empty() { outcome } else { Outcome::Unreadable };
    text(&Table {
        form: "loadworthy-stress",
        version: 1,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: exit.number(),
        caution: CAUTION,
        file: &described.name,
        problems: described.problems.len(),
        permits: stresses.day.map(HeldAgainst::of),
        rows: stresses
            .worst
            .iter()
            .map(|one| Row {
                variants: &one.variants,
                verdict: VerdictShown::of(tree, one.variant, one.verdict),
                accepted: one.permit.map(|permit| PermitShown::of(tree, permit)),
            })
            .collect(),
        not_judged: stresses
            .not_judged
            .iter()
            .map(|(variant, verdict)| VerdictShown::of(tree, variant, verdict))
            .collect(),
        broken_checks: stresses.broken.iter().map(|one| one.check).collect(),
    })
}
