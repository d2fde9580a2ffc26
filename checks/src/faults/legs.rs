//! Interleaved legs of which one is lost: the others carry its current.

use loadworthy_unit::plan::Topology;
use loadworthy_unit::{Edit, LaneId};

use super::found::fault;
use super::left::Bench;
use super::{Fault, Kind};

/// One leg of every stage with several.
pub(super) fn all(bench: &mut Bench<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for stage in &variant.plan.stages {
        let Topology::Chopper(chopper) = &stage.topology else { continue };
        let input = chopper.inputs.legs;
        let Some(legs) = bench.solved.input(input, LaneId::new(0)).filter(|&legs| 1.5 < legs) else {
            continue;
        };
        let mut effect = bench.with(vec![Edit { input, value: legs - 1.0 }]);
        effect.says.insert(
            0,
            format!(
                "with {} of {legs} legs, where its control goes on without the other, which counts as no cooler than they are",
                legs - 1.0
            ),
        );
        let part = variant.tables.part_of(stage.part);
        faults.push(fault(Kind::Leg, &part.path, part.at, effect));
    }
}
