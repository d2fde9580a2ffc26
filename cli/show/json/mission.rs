//! A mission as JSON: the worst of every verdict, worst first, and where the energy went.

use schemars::JsonSchema;
use serde::Serialize;

use loadworthy_checks::mission::{Energies, Kinds, Lost as LostRow, Swings, Through, Wear};
use loadworthy_unit::mission::BANDS;
use loadworthy_unit::{PartId, Variant};

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
    /// How junctions came and went, of each kind of position the chip whose life that uses most, transistor and diode apart, of a
    /// mission that is driven again and again.
    cycles: Vec<SwingsShown<'d>>,
    /// Rows that are left out of that, as no temperature is known in them for sure.
    rows_not_counted: usize,
    /// What the mission uses of the life of capacitors, of each bank whose capacitors state an endurance or that has to last.
    capacitors: Vec<WearShown<'d>>,
    /// The day that permits are held against; absent without permits, so that no day stands in the table.
    #[serde(skip_serializing_if = "Option::is_none")]
    permits: Option<HeldAgainst>,
    /// For each comparison of each part the worst, the worst first.
    worst: Vec<Row>,
}

/// Cycles of a junction, counted as rainflow.
#[derive(Serialize, JsonSchema)]
struct SwingsShown<'d> {
    /// The chip.
    chip: &'d str,
    /// In K.
    largest_swing: f64,
    /// How many cycles swing how far.
    bands: Vec<Band>,
    /// Share of its life that they use, by the sum of n/N; null where its package states no `power_cycling`, or cycles go beyond it.
    life_used: Option<f64>,
    /// How many times the mission may be driven until that life is used up; null where that is not known, or nothing is used.
    runs: Option<f64>,
    /// Cycles that swing less than the curve begins with: they are not counted against that life.
    below_curve: u64,
    /// Cycles that swing more than the curve ends with, or go hotter than it holds.
    beyond_curve: u64,
}

/// Wear of the capacitors of a bank.
#[derive(Serialize, JsonSchema)]
struct WearShown<'d> {
    /// The bank.
    bank: &'d str,
    /// Share of their life that is used, by the sum of each row's time over their life in it; null where that is not known in every
    /// row.
    life_used: Option<f64>,
    /// How many times the mission may be driven until that life is used up; null where that is not known.
    runs: Option<f64>,
    /// Rows in which their life is not known.
    rows_not_known: usize,
}

/// Cycles of one size.
#[derive(Serialize, JsonSchema)]
struct Band {
    /// Least swing in K.
    from: f64,
    /// The swing in K that it ends before; null for the last.
    to: Option<f64>,
    /// How many.
    cycles: u64,
}

/// In J.
#[derive(Serialize, JsonSchema)]
struct Energy<'d> {
    /// What each source gave and took.
    sources: Vec<Source<'d>>,
    /// What entered from each bus that no source in the description feeds and no stage holds.
    feeds: Vec<Crossed<'d>>,
    /// What each machine took and gave back; one without an entry of its own goes by its stage.
    machines: Vec<Crossed<'d>>,
    /// What each load took and gave back.
    loads: Vec<Crossed<'d>>,
    /// What each stage lost.
    stage_losses: Vec<Lost<'d>>,
    /// What each conductor lost that carries something in service.
    conductor_losses: Vec<LostIn<'d>>,
    /// What conductors lost beyond that, of ripple, skin effect and copper warmer than the air, as far as it is known; in neither
    /// of the sums, since no source gives it in the solution.
    conductors_beyond_drawn: f64,
    /// What all stages lost, by kind.
    losses_by_kind: ByKind,
    /// What entered the unit, at the terminals of its sources and from machines and loads that gave something back; null where a
    /// term of it is not known, as in the three that follow.
    entered: Option<f64>,
    /// What left it, to machines and loads and to sources that took something back.
    left: Option<f64>,
    /// What stages and conductors lost.
    lost: Option<f64>,
    /// What entered and neither left nor was lost, as a share of what entered. What charges a capacitor from one row to the next is in
    /// no row.
    open_share: Option<f64>,
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

/// In J.
#[derive(Serialize, JsonSchema)]
struct Crossed<'d> {
    /// The bus, machine or load.
    part: &'d str,
    /// What it took from the unit.
    takes: f64,
    /// What it gave to the unit.
    gives: f64,
}

/// In J.
#[derive(Serialize, JsonSchema)]
struct LostIn<'d> {
    /// The conductor.
    conductor: &'d str,
    /// What was lost in it.
    lost: f64,
}

/// In J.
#[derive(Serialize, JsonSchema)]
struct ByKind {
    /// On-state of transistors and diodes, dead times of body diodes included.
    conduction: f64,
    /// Edges, recovery included.
    switching: f64,
    /// Windings of chokes and transformers.
    windings: f64,
    /// Their cores.
    cores: f64,
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

fn energy<'d>(variant: &'d Variant, energies: &Energies) -> Energy<'d> {
    let known = |joules: f64| Some(joules).filter(|joules| joules.is_finite() && energies.rows > 0);
    let crossed = |through: &Through| Crossed {
        part: variant.path(through.part),
        takes: through.taken,
        gives: through.given,
    };
    let sources = energies.sources.iter().zip(&energies.source_losses);
    let source = |(through, &(_, lost)): (&Through, &(PartId, f64))| Source {
        source: variant.path(through.part),
        gives: through.given,
        takes_back: through.taken,
        lost,
    };
    let Kinds { conduction, switching, windings, cores } = energies.kinds;
    let stages = energies.stage_losses.iter();
    let conductors = energies.conductor_losses.iter();
    Energy {
        sources: sources.map(source).collect(),
        feeds: energies.feeds.iter().map(crossed).collect(),
        machines: energies.machines.iter().map(crossed).collect(),
        loads: energies.loads.iter().map(crossed).collect(),
        stage_losses: stages.map(|&(part, lost)| Lost { stage: variant.path(part), lost }).collect(),
        conductor_losses: conductors
            .map(|&(part, lost)| LostIn { conductor: variant.path(part), lost })
            .collect(),
        conductors_beyond_drawn: energies.beyond_drawn,
        losses_by_kind: ByKind { conduction, switching, windings, cores },
        entered: known(energies.entered()),
        left: known(energies.left()),
        lost: known(energies.lost()),
        open_share: known(energies.open()),
        coolant: energies.coolant,
        rows: energies.rows,
    }
}

fn swings<'d>(variant: &'d Variant, swings: &Swings) -> SwingsShown<'d> {
    let counted = &swings.counted;
    let bands = BANDS.iter().zip(counted.bands).enumerate();
    SwingsShown {
        chip: variant.path(swings.part),
        largest_swing: counted.largest,
        bands: bands
            .map(|(band, (&from, cycles))| Band { from, to: BANDS.get(band + 1).copied(), cycles })
            .collect(),
        life_used: swings.used(),
        runs: swings.runs(),
        below_curve: counted.below,
        beyond_curve: counted.beyond,
    }
}

fn wear<'d>(variant: &'d Variant, wear: &Wear) -> WearShown<'d> {
    WearShown {
        bank: variant.path(wear.part),
        life_used: wear.used(),
        runs: wear.runs(),
        rows_not_known: wear.unknown,
    }
}

/// What a mission came to.
pub(crate) fn shown(described: &Described, course: &Course<'_>, outcome: Outcome) -> String {
    let (variant, tally) = (course.variant, course.tally);
    let exit = if described.problems.is_empty() { outcome } else { Outcome::Unreadable };
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
        energy: energy(variant, &tally.energies),
        cycles: tally.swings.iter().map(|one| swings(variant, one)).collect(),
        rows_not_counted: tally.uncounted,
        capacitors: tally.wear.iter().map(|one| wear(variant, one)).collect(),
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
