//! A mission as JSON: the worst of every verdict, worst first, and where the energy went.

use schemars::JsonSchema;
use serde::Serialize;

use loadworthy_checks::mission::Lost as LostRow;
use loadworthy_unit::Variant;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::mission::{Course, why};
use crate::show::terminal::CAUTION;

use super::permit::{HeldAgainst, PermitShown};
use super::review::VerdictShown;
use super::text;

#[derive(Serialize, JsonSchema)]
pub(super) struct Shown<'d> {
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
    /// The mission.
    mission: &'d str,
    /// The variant; null where the unit has no named variants.
    variant: Option<&'d str>,
    /// How many rows it has.
    rows: usize,
    /// In s.
    lasts: f64,
    /// Rows without a solution.
    rows_without_solution: usize,
    /// Rows through which heat could not be followed in full, for want of a solution or a value there or in a row before.
    rows_not_followed: usize,
    /// The first of these that have a solution, with what each waits for.
    not_followed: Vec<NotFollowed>,
    /// Where the energy went.
    energy: Energy<'d>,
    /// The day that permits are held against; absent without permits, so that no day stands in the table.
    #[serde(skip_serializing_if = "Option::is_none")]
    permits: Option<HeldAgainst>,
    /// For each comparison of each part the worst, the worst first.
    worst: Vec<Row>,
}

/// In J.
#[derive(Serialize, JsonSchema)]
struct Energy<'d> {
    /// What each source gave and took.
    sources: Vec<Source<'d>>,
    /// What each stage lost.
    stage_losses: Vec<Lost<'d>>,
    /// What was lost in everything that the coolant takes heat from, with what that stores on the way.
    coolant: f64,
    /// Rows that the sums are over; of the others it is not known what flows.
    rows: usize,
}

/// A row through which heat could not be followed.
#[derive(Serialize, JsonSchema)]
struct NotFollowed {
    /// From 1.
    row: usize,
    /// What it waits for, each a sentence.
    causes: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct Source<'d> {
    /// The source.
    source: &'d str,
    /// What it gave.
    gives: f64,
    /// What it took back.
    takes_back: f64,
    /// What was lost in it.
    lost: f64,
}

#[derive(Serialize, JsonSchema)]
struct Lost<'d> {
    /// The stage.
    stage: &'d str,
    /// What was lost in it.
    lost: f64,
}

#[derive(Serialize, JsonSchema)]
struct Row {
    /// From 1.
    row: usize,
    /// In s from the beginning.
    begins: f64,
    /// How long the comparison fails over the whole mission, in s.
    fails_for: f64,
    /// Rows in which it could not be judged.
    rows_not_judged: usize,
    #[serde(flatten)]
    verdict: VerdictShown,
    /// The permit that accepts it in every row; absent where none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<PermitShown>,
}

fn not_followed(variant: &Variant, lost: &LostRow) -> NotFollowed {
    NotFollowed { row: lost.row + 1, causes: why(variant, lost) }
}

/// What a mission came to.
pub(crate) fn shown(described: &Described, course: &Course<'_>, outcome: Outcome) -> String {
    let (variant, tally) = (course.variant, course.tally);
    let exit = if described.problems.is_empty() { outcome } else { Outcome::Unreadable };
    let energies = &tally.energies;
    let sources = energies.sources.iter().zip(&energies.source_losses);
    text(&Shown {
        form: "loadworthy-mission",
        version: 1,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: exit.number(),
        caution: CAUTION,
        file: &described.name,
        problems: described.problems.len(),
        mission: &course.mission.name,
        variant: variant.name.as_deref(),
        rows: tally.rows,
        lasts: tally.lasts,
        rows_without_solution: tally.unsolved,
        rows_not_followed: tally.not_followed,
        not_followed: tally.lost.iter().map(|lost| not_followed(variant, lost)).collect(),
        energy: Energy {
            sources: sources
                .map(|(&(part, gives, takes_back), &(_, lost))| Source {
                    source: variant.path(part),
                    gives,
                    takes_back,
                    lost,
                })
                .collect(),
            stage_losses: energies
                .stage_losses
                .iter()
                .map(|&(part, lost)| Lost { stage: variant.path(part), lost })
                .collect(),
            coolant: energies.coolant,
            rows: energies.rows,
        },
        permits: course.day.map(HeldAgainst::of),
        worst: course
            .worst
            .iter()
            .zip(&course.accepted)
            .map(|(worst, permit)| Row {
                row: worst.row + 1,
                begins: worst.begins,
                fails_for: worst.fails_for,
                rows_not_judged: worst.not_judged,
                verdict: VerdictShown::of(&described.tree, variant, &worst.verdict),
                accepted: permit.map(|permit| PermitShown::of(&described.tree, permit)),
            })
            .collect(),
    })
}
