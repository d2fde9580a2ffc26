//! Sources that are lost, and fuses, contactors and other conductors that are open: what hangs behind each is cut off.

use loadworthy_unit::plan::Circuit;
use loadworthy_unit::{Dimension, LaneId, Variant};

use super::fallen::{Taken, fallen_with};
use super::found::{after, fault};
use super::left::Bench;
use super::{Effect, Fault, Kind};
use crate::dependence::Needs;
use crate::figure_text::value;

/// Every source that feeds a bus, every fuse and contactor of a branch, and every branch that leads through anything else.
pub(super) fn all(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    for (place, source) in plan.sources.iter().enumerate().filter(|(_, source)| source.bus.is_some()) {
        let taken = Taken { sources: vec![place], ..Taken::default() };
        let effect = after(bench, &fallen_with(variant, needs, taken));
        let part = variant.tables.part_of(source.part);
        faults.push(fault(Kind::Source, &part.path, part.at, effect));
    }
    for opening in &plan.openings {
        let part = variant.tables.part_of(plan.conductors[opening.conductor].part);
        let kind = if opening.is_contactor { Kind::ContactorOpen } else { Kind::Fuse };
        let effect = cut_off(bench, needs, opening.around, opening.of);
        faults.push(fault(kind, &part.path, part.at, effect));
    }
    for lead in &plan.leads {
        let part = variant.tables.part_of(lead.branch);
        let effect = cut_off(bench, needs, lead.around, lead.of);
        faults.push(fault(Kind::Lead, &part.path, part.at, effect));
    }
}

/// What comes of a way that is open.
fn cut_off(bench: &mut Bench<'_>, needs: &Needs<'_>, around: Option<usize>, of: Circuit) -> Effect {
    let mut taken = Taken::default();
    match (of, around) {
        (_, Some(around)) => return uncharged(bench, around, of),
        (Circuit::Source(source), None) => taken.sources.push(source),
        (Circuit::Stage(stage), None) => taken.stages.push(stage),
        (Circuit::Load(load), None) => taken.loads.push(load),
    }
    after(bench, &fallen_with(bench.solved.variant, needs, taken))
}

/// A pre-charge that does not come about.
fn uncharged(bench: &Bench<'_>, around: usize, of: Circuit) -> Effect {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    let mut effect = Effect::default();
    let Circuit::Source(source) = of else { return effect };
    let Some(bus) = plan.sources[source].bus else { return effect };
    let parts = [plan.conductors[around].part, plan.buses[bus].part, plan.sources[source].part];
    let [main, bus_name, source_name] = parts.map(|part| variant.path(part));
    effect.says.push(format!("{bus_name} is not pre-charged from {source_name}"));
    effect.says.extend(
        bare(bench, source, bus).map(|amps| {
            format!("{main} closing all the same charges the bank of {bus_name} with up to {amps}")
        }),
    );
    effect
}

/// What a source drives into the empty bank of its bus with nothing but its own resistance and that of its line. A fuel cell or
/// a generator states no resistance: it drives its short circuit at most, and where that is not stated, nobody knows what.
pub(super) fn bare(bench: &Bench<'_>, source: usize, bus: usize) -> Option<String> {
    let plan = &bench.solved.variant.plan;
    let has_bank = !plan.buses[bus].ripple.banks.is_empty();
    let of = &plan.sources[source];
    let input = |input| bench.solved.input(input, LaneId::new(0));
    let line = of.line.iter().map(|&ohms| input(ohms)).sum::<Option<f64>>();
    let through = |ohms: f64| Some(highest(bench, source)? / ohms).filter(|amps| amps.is_finite());
    let amps = if of.is_battery {
        through(input(of.lowest_resistance)? + line?)?
    } else {
        let most = of.short_circuit?;
        line.and_then(through).map_or(most, |amps| amps.min(most))
    };
    has_bank.then(|| value(amps, Dimension::Current))
}

/// Highest voltage of a source without a load.
pub(super) fn highest(bench: &Bench<'_>, source: usize) -> Option<f64> {
    let variant: &Variant = bench.solved.variant;
    let of = &variant.plan.sources[source];
    let asked = variant.lane_ids().filter_map(|lane| bench.solved.input(of.open_circuit, lane));
    of.without_load.into_iter().chain(asked).reduce(f64::max)
}
