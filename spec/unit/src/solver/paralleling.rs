//! What flows as a battery is closed on others beside it. Reckoned once after everything is solved: it changes nothing of that.

use loadworthy_physics::equalising::{self, DIFFERENCE, EQUALISING};
use loadworthy_physics::{Resistance, Voltage};

use crate::ids::InputId;
use crate::plan::{Equalising, ParallelPack, Paralleling, Plan};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

/// Puts it for every battery that a contactor closes, and for those that it is closed on.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for paralleling in &plan.parallelings {
        for pack in &paralleling.packs {
            close(plan, paralleling, pack, pass);
        }
    }
}

fn close<const L: usize, T: Trace>(
    plan: &Plan,
    paralleling: &Paralleling,
    pack: &ParallelPack,
    pass: &mut Pass<'_, L, T>,
) {
    let others = || paralleling.packs.iter().filter(|other| other.source != pack.source);
    let span = |pack: &ParallelPack| plan.sources[pack.source].limits.open_circuit;
    let path = |pack: &ParallelPack| {
        let source = &plan.sources[pack.source];
        core::iter::once(source.lowest_resistance).chain(source.line.iter().copied())
    };
    let mut from: Vec<Operand> = Vec::new();
    let mut of_path: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(
            paralleling.packs.iter().filter_map(span).flat_map(|(low, high)| [low, high].map(Operand::Input)),
        );
        from.extend(pack.closes.iter().copied().map(Operand::Input));
        of_path.extend(paralleling.packs.iter().flat_map(path).map(Operand::Input));
    }
    let inputs = pass.inputs;
    for (equalising, takes) in [(pack.taking, true), (pack.giving, false)] {
        let Equalising { difference, current } = equalising;
        let apart = pass.put(difference, &DIFFERENCE, &from, |l| {
            let volts = |input: Option<InputId>| input.map_or(f64::NAN, |input| inputs[input.index()][l]);
            let lowest = |pack: &ParallelPack| volts(span(pack).map(|(low, _)| low));
            let highest = |pack: &ParallelPack| volts(span(pack).map(|(_, high)| high));
            let (high, low) = if takes {
                (others().map(highest).fold(f64::NEG_INFINITY, larger), lowest(pack))
            } else {
                (highest(pack), others().map(lowest).fold(f64::INFINITY, smaller))
            };
            // Of its own contactors the first that closes decides, of those of others the last.
            let decides = if pack.contactors.is_empty() { larger } else { smaller };
            let closes = pack.closes.iter().map(|&below| inputs[below.index()][l]).reduce(decides);
            equalising::difference(Voltage::new(high), Voltage::new(low), closes.map(Voltage::new)).si()
        });
        if T::LISTENS {
            of_path.insert(0, difference.into());
        }
        pass.put(current, &EQUALISING, &of_path, |l| {
            let ohms =
                |pack: &ParallelPack| Resistance::new(path(pack).map(|one| inputs[one.index()][l]).sum());
            equalising::current(Voltage::new(apart[l]), ohms(pack), others().map(ohms)).si()
        });
        if T::LISTENS {
            of_path.remove(0);
        }
    }
}

/// The smaller of two; what is missing stays missing.
fn smaller(one: f64, other: f64) -> f64 {
    if one.is_nan() || one <= other { one } else { other }
}

/// The larger of two; what is missing stays missing.
fn larger(one: f64, other: f64) -> f64 {
    if one.is_nan() || one >= other { one } else { other }
}
