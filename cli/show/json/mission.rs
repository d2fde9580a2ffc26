//! A mission as JSON: the worst of every verdict, worst first, and where the energy went.

use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::mission::Course;
use crate::show::terminal::CAUTION;

use super::review::VerdictShown;
use super::text;

#[derive(Serialize)]
struct Shown<'d> {
    form: &'static str,
    version: u32,
    program: &'static str,
    exit: u8,
    caution: &'static str,
    file: &'d str,
    problems: usize,
    mission: &'d str,
    variant: Option<&'d str>,
    rows: usize,
    /// In s.
    lasts: f64,
    rows_without_solution: usize,
    rows_not_followed: usize,
    energy: Energy<'d>,
    worst: Vec<Row>,
}

/// In J.
#[derive(Serialize)]
struct Energy<'d> {
    sources: Vec<Source<'d>>,
    stage_losses: Vec<Lost<'d>>,
    coolant: f64,
}

#[derive(Serialize)]
struct Source<'d> {
    source: &'d str,
    gives: f64,
    takes_back: f64,
    lost: f64,
}

#[derive(Serialize)]
struct Lost<'d> {
    stage: &'d str,
    lost: f64,
}

#[derive(Serialize)]
struct Row {
    /// From 1.
    row: usize,
    /// In s from the beginning.
    begins: f64,
    fails_for: f64,
    rows_not_judged: usize,
    #[serde(flatten)]
    verdict: VerdictShown,
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
        },
        worst: course
            .worst()
            .iter()
            .map(|worst| Row {
                row: worst.row + 1,
                begins: worst.begins,
                fails_for: worst.fails_for,
                rows_not_judged: worst.not_judged,
                verdict: VerdictShown::of(&described.tree, variant, &worst.verdict),
            })
            .collect(),
    })
}
