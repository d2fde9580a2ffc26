//! Gates that a fault itself holds off, and bridges that short the phases of their machine on a fault with those that are left.

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{Coasting, Side};

use super::fallen::Fallen;
use crate::dependence::Need;

/// Sides of stages on which a fault itself leaves no gate that turns on for certain.
#[derive(Default)]
pub(super) struct HeldOff(Vec<(usize, Side)>);

impl HeldOff {
    /// A side of a stage.
    pub(super) fn side(stage: usize, side: Side) -> Self {
        Self(vec![(stage, side)])
    }

    /// What is fed by an output, or by any output of a transformer, that is lost. What a bus feeds is seen by the bus.
    pub(super) fn without(variant: &Variant, need: Need<'_>) -> Self {
        let plan = &variant.plan;
        let is_its = |output: usize| match need {
            Need::Output(name) => variant.path(plan.gate_supplies[output].part) == name,
            Need::Transformer(name) => plan.gate_transformers.iter().any(|transformer| {
                variant.path(transformer.part) == name
                    && transformer.outputs.iter().any(|(own, _)| *own == output)
            }),
            Need::Controller(_) | Need::Named(_) | Need::Bus(_) => false,
        };
        let outputs = (0..plan.gate_supplies.len()).filter(|&output| is_its(output));
        Self::of(variant, outputs.flat_map(|output| &plan.gate_supplies[output].feeds))
    }

    /// What a list of gates stands for, each with its stage and position.
    pub(super) fn of<'g, A: 'g>(
        variant: &Variant,
        gates: impl Iterator<Item = &'g (usize, usize, A)>,
    ) -> Self {
        let side = |&(stage, position, _): &(usize, usize, A)| {
            (stage, variant.plan.stages[stage].positions[position].role.side())
        };
        Self(gates.map(side).collect())
    }

    /// Whether a bridge that stops shorts all phases of its machine, which then gives its bus nothing. One side is enough, and which
    /// of them it is, is the choice of its control.
    pub(super) fn lets_short(&self, variant: &Variant, fallen: &Fallen, machine: &Coasting) -> bool {
        let stage = machine.stage;
        let turns_on = |side| !self.0.contains(&(stage, side)) && is_powered(variant, fallen, stage, side);
        machine.short.is_some() && [Side::Low, Side::High].into_iter().any(turns_on)
    }
}

/// Whether every gate of a side keeps its power: from a bus that lives, or from that of the bridge, which the machine itself
/// keeps up. What is charged through a diode while the other side conducts does not last.
fn is_powered(variant: &Variant, fallen: &Fallen, stage: usize, side: Side) -> bool {
    let plan = &variant.plan;
    let own = plan.stages[stage].ports.first().and_then(|port| port.bus);
    let lives = |name: &str| {
        let bus = plan.buses.iter().position(|bus| variant.path(bus.part) == name);
        bus.is_some_and(|bus| Some(bus) == own || !fallen.dead.contains(&bus))
    };
    let feeds = |output: &usize| {
        let mut gates = plan.gate_supplies[*output].feeds.iter();
        gates.any(|&(of, position, _)| of == stage && plan.stages[of].positions[position].role.side() == side)
    };
    let lasts = |output: usize| {
        let control = plan.control.as_ref();
        let from = control.and_then(|control| control.supplied_from.get(output)?.as_ref());
        let also = control.and_then(|control| control.supplied_also.get(output)?.as_ref());
        plan.gate_supplies[output].bootstrap_from.is_none()
            && from.into_iter().chain(also).any(|from| lives(&from.value))
    };
    let mut outputs = (0..plan.gate_supplies.len()).filter(feeds).peekable();
    outputs.peek().is_some() && outputs.all(lasts)
}
