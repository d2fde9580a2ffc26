//! Machines that turn on while their bridge stands: what they bring to their bus, and what takes it there.

use loadworthy_unit::plan::{ChopperKind, Coasting, Topology};
use loadworthy_unit::{Dimension, LaneId};

use super::Effect;
use super::fallen::Fallen;
use super::held_off::HeldOff;
use super::left::Bench;
use crate::figure_text::value;

/// Machines whose crest at highest speed lies above what their bus may reach, once their bridge stands and does not short them. Where nothing takes
/// what they give, the bus comes to that crest. How much they give while something does is not reckoned, and left open.
pub(super) fn coasting(bench: &Bench<'_>, fallen: &Fallen, held: &HeldOff, effect: &mut Effect) {
    let variant = bench.solved.variant;
    for bus in &variant.plan.coasting {
        let own = &variant.plan.buses[bus.bus];
        let takers = takers(bench, fallen, bus.bus);
        let coasts = |machine: &&Coasting| {
            fallen.stages.contains(&machine.stage) && !held.lets_short(variant, fallen, machine)
        };
        for machine in bus.machines.iter().filter(coasts) {
            let crest = bench.solved.figure(machine.line_crest, LaneId::new(0));
            let highest = bench.solved.figure(own.highest_voltage, LaneId::new(0));
            let Some((crest, highest)) = crest.zip(highest).filter(|(crest, highest)| highest < crest) else {
                continue;
            };
            if machine.short.is_some() {
                let [stage, machine] =
                    [variant.plan.stages[machine.stage].part, machine.machine].map(|part| variant.path(part));
                effect.says.push(format!(
                    "{stage} no longer shorts {machine}: on neither side have its gates both power and a controller for certain"
                ));
            }
            let [machine, bus] = [machine.machine, own.part].map(|part| variant.path(part));
            let [crest, highest] = [crest, highest].map(|volts| value(volts, Dimension::Voltage));
            effect.is_open |= !takers.is_empty();
            effect.says.push(if takers.is_empty() {
                format!("{machine} at highest speed brings {bus} to {crest} through the diodes, above its {highest}")
            } else {
                let takers = takers.join(", ");
                format!(
                    "{machine} at highest speed feeds {bus} through the diodes with a crest of {crest}, above its {highest}; how much comes, and whether {takers} can take it, is not reckoned"
                )
            });
        }
    }
}

/// What takes power from a bus: its own sources that take some back, and boosts at work that lead it to such sources. At rest
/// the diodes of a boost let nothing back.
fn takers<'u>(bench: &Bench<'u>, fallen: &Fallen, bus: usize) -> Vec<&'u str> {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    let absorbs = |source: usize| {
        let absorbs = bench.solved.input(plan.sources[source].absorbs, LaneId::new(0));
        !fallen.sources.contains(&source) && absorbs.is_some_and(|absorbs| 0.0 < absorbs)
    };
    let at = |bus: usize| {
        let sources = plan.buses[bus].sources.iter().filter(move |_| !fallen.dead.contains(&bus));
        sources.copied().filter(|&source| absorbs(source))
    };
    let own = at(bus).map(|source| variant.path(plan.sources[source].part));
    let through = plan.stages.iter().enumerate().filter(|(place, stage)| {
        let Topology::Chopper(chopper) = &stage.topology else { return false };
        let [low, high] = stage.ports.as_slice() else { return false };
        let leads_back = chopper.kind == ChopperKind::Boost
            && chopper.diode_side.is_none()
            && high.bus == Some(bus)
            && !fallen.stages.contains(place);
        leads_back && low.bus.is_some_and(|low| at(low).next().is_some())
    });
    own.chain(through.map(|(_, stage)| variant.path(stage.part))).collect()
}
