//! Outputs of one transformer, and the insulation between their windings.

use loadworthy_unit::plan::{Form, GateTransformer, Isolation, Plan};
use loadworthy_unit::{Dimension, Solved};

use super::potentials::{Alike, Gate, alike, fed_alone, path};
use super::propose::{family, reviewed};
use super::tell::drawn;
use super::{MUTUAL, put};
use crate::check::{Family, Told};
use crate::collect::Verdicts;
use crate::figure_text::value;
use crate::tell::part_at;
use crate::verdict::Grade;

/// Pairs of outputs of a transformer that stand on different potentials, and how many of them no barrier is stated for.
pub(super) struct Pairs {
    pub(super) all: usize,
    pub(super) bare: usize,
}

impl Pairs {
    pub(super) fn of(solved: &Solved<'_>, isolation: &Isolation, of: &GateTransformer) -> Self {
        let plan = &solved.variant.plan;
        let fed: Vec<Vec<Gate>> =
            of.outputs.iter().map(|(output, _)| fed_alone(&plan.gate_supplies[*output])).collect();
        let mut pairs = Self { all: 0, bare: 0 };
        for (k, one) in fed.iter().enumerate() {
            for other in &fed[k + 1..] {
                let (Some(&a), Some(&b)) = (one.first(), other.first()) else { continue };
                if alike(plan, a, b) == Alike::No {
                    pairs.all += 1;
                    pairs.bare += usize::from(!is_declared(solved, isolation, one, other));
                }
            }
        }
        pairs
    }
}

/// Whether a barrier is stated between the circuits of some gates and of others.
fn is_declared(solved: &Solved<'_>, isolation: &Isolation, one: &[Gate], other: &[Gate]) -> bool {
    let names = |place: usize, gates: &[Gate]| {
        let domain = isolation.domain(place);
        let is_named = |&gate: &Gate| {
            let rest = path(solved.variant, gate).strip_prefix(domain.name.as_str());
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        domain.form == Form::Gates && gates.iter().any(is_named)
    };
    isolation
        .barriers
        .iter()
        .filter_map(|barrier| barrier.between)
        .any(|(a, b)| (names(a, one) && names(b, other)) || (names(a, other) && names(b, one)))
}

/// Judges all transformers together, once a description states barriers between gate circuits: however many pairs are left
/// out, that is one word on the section. One that states none is told with what fails together.
pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let Some(isolation) = plan.isolation.as_ref().filter(|isolation| states_any(isolation)) else { return };
    let pairs: Vec<Pairs> =
        plan.gate_transformers.iter().map(|one| Pairs::of(solved, isolation, one)).collect();
    if pairs.iter().any(|pairs| pairs.all > 0) {
        let in_order = Ok(pairs.iter().all(|pairs| pairs.bare == 0));
        put(solved, out, isolation.part, MUTUAL, in_order, Grade::Note);
    }
}

/// Whether a barrier stands between two gate circuits.
fn states_any(isolation: &Isolation) -> bool {
    let is_gates = |place: usize| isolation.domain(place).form == Form::Gates;
    let mut between = isolation.barriers.iter().filter_map(|barrier| barrier.between);
    between.any(|(a, b)| is_gates(a) && is_gates(b))
}

/// The largest voltage that the windings of a transformer stand against one another: the highest bus voltage of the stages
/// that it feeds, with what a turn-off adds where that is solved.
fn stands(solved: &Solved<'_>, of: &GateTransformer) -> Option<f64> {
    let plan: &Plan = &solved.variant.plan;
    let mut stages: Vec<usize> = of
        .outputs
        .iter()
        .flat_map(|(output, _)| fed_alone(&plan.gate_supplies[*output]))
        .map(|gate| gate.0)
        .collect();
    stages.sort_unstable();
    stages.dedup();
    let buses = stages
        .iter()
        .flat_map(|&stage| &plan.stages[stage].withstands)
        .filter_map(|withstand| Some(plan.buses[withstand.bus?].highest_voltage));
    let turned_off =
        plan.turn_offs.iter().filter(|turn_off| stages.contains(&turn_off.stage)).map(|turn_off| {
            if turn_off.rings { turn_off.figures.undamped } else { turn_off.figures.plateau }
        });
    let figures: Vec<_> = buses.chain(turned_off).collect();
    let lanes = solved.variant.lane_ids();
    lanes
        .flat_map(|lane| figures.iter().filter_map(move |&figure| solved.figure(figure, lane)))
        .reduce(f64::max)
}

/// A line on the insulation between the windings of a transformer, where some of it is not stated.
pub(super) fn line(solved: &Solved<'_>, of: &GateTransformer) -> Option<String> {
    let pairs = Pairs::of(solved, solved.variant.plan.isolation.as_ref()?, of);
    if pairs.bare == 0 {
        return None;
    }
    let volts = match stands(solved, of) {
        Some(volts) => format!("up to {} between them", value(volts, Dimension::Voltage)),
        None => "for a voltage that is not known".to_owned(),
    };
    Some(format!("no barrier between {} of {} pairs of gate circuits, {volts}", pairs.bare, pairs.all))
}

/// The transformers whose insulation is not stated in full, each with a line on it.
fn lacking<'v>(solved: &Solved<'v>) -> Vec<(&'v GateTransformer, String)> {
    let all = solved.variant.plan.gate_transformers.iter();
    all.filter_map(|one| Some((one, line(solved, one)?))).collect()
}

pub(super) fn told(solved: &Solved<'_>) -> Option<Told> {
    let lacking = lacking(solved);
    let path = |of: &GateTransformer| solved.variant.path(of.part);
    let (first, line) = lacking.first()?;
    let saying = format!("the windings of `{}` keep gate circuits apart: {line}", path(first));
    let windings = first.outputs.len();
    let at = part_at(solved, first.part, format!("one transformer with {windings} outputs"));
    let facts = lacking.iter().map(|(one, line)| format!("`{}`: {line}", path(one))).collect();
    let worked = vec![
        format!(
            "insulations between the windings: {windings}·({windings} − 1)/2 = {}",
            windings * (windings - 1) / 2
        ),
        "each stands the highest bus voltage and what a turn-off adds to it".to_owned(),
    ];
    Some(Told { facts, worked, ..Told::new(saying, at) })
}

pub(super) fn propose(solved: &Solved<'_>) -> Vec<Family> {
    let lacking = lacking(solved);
    let names = lacking.iter().map(|(one, _)| solved.variant.path(one.part).to_owned()).collect();
    let say =
        format!("a functional barrier between the gate circuits of each two windings of {}", drawn(names));
    vec![family(reviewed(say, "an insulation with distances that can be judged", Vec::new()))]
}
