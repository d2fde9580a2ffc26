//! Windings that no longer hold a current back: the choke of a leg, a transformer, and two phases of a machine that are shorted.

use loadworthy_unit::plan::{MagneticRole, Stage};

use super::fallen::{Taken, fallen_with};
use super::found::{after, fault};
use super::left::Bench;
use super::shorted::{Short, choke, phases, winding};
use super::{Fault, Kind};
use crate::dependence::Needs;

/// The choke of every boost and buck, the transformer of every stage with one, and the phases of every machine: their stage is taken
/// to stop.
pub(super) fn all(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    for (place, stage) in plan.stages.iter().enumerate() {
        if let Some(short) = choke(&bench.solved, stage) {
            let part = stage.magnetics.first().map(|&magnetic| plan.magnetics[magnetic].part);
            let part = part.unwrap_or(stage.part);
            stopped(bench, needs, (Kind::Choke, part), (place, short), faults);
        }
        let transformer = stage.magnetics.iter().map(|&magnetic| &plan.magnetics[magnetic]);
        let transformer = transformer.into_iter().find(|one| one.role == MagneticRole::Transformer);
        if let (Some(short), Some(transformer)) = (winding(&bench.solved, stage), transformer) {
            stopped(bench, needs, (Kind::Winding, transformer.part), (place, short), faults);
        }
        if let (Some(short), Some(machine)) = (phases(&bench.solved, stage), machine(stage)) {
            stopped(bench, needs, (Kind::Phases, machine), (place, short), faults);
        }
    }
}

fn machine(stage: &Stage) -> Option<loadworthy_unit::PartId> {
    stage.bridge()?.machine
}

fn stopped(
    bench: &mut Bench<'_>,
    needs: &Needs<'_>,
    (kind, part): (Kind, loadworthy_unit::PartId),
    (stage, short): (usize, Short),
    faults: &mut Vec<Fault>,
) {
    let variant = bench.solved.variant;
    let taken = Taken { stages: vec![stage], sources: short.cut_off, ..Taken::default() };
    let mut effect = after(bench, &fallen_with(variant, needs, taken));
    effect.says.splice(0..0, short.says);
    let part = variant.tables.part_of(part);
    faults.push(fault(kind, &part.path, part.at, effect));
}
