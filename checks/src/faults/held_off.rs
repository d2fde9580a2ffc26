//! Gates that a fault itself holds off, and bridges that short the phases of their machine on a fault with those that are left.

use std::collections::BTreeSet;

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{Coasting, Side};

use super::fallen::Fallen;
use crate::dependence::Need;

/// What a fault itself takes from gates.
#[derive(Default)]
pub(super) struct HeldOff {
    /// Sides of stages on which it leaves no gate that turns on for certain.
    sides: Vec<(usize, Side)>,
    /// A controller, or what controllers depend on, that is lost.
    lost: Option<String>,
}

impl HeldOff {
    /// A side of a stage.
    pub(super) fn side(stage: usize, side: Side) -> Self {
        Self { sides: vec![(stage, side)], lost: None }
    }

    /// What is fed by an output, or by any output of a transformer, that is lost, or commanded by a controller that is. What a
    /// bus feeds is seen by the bus.
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
        let held = Self::of(variant, outputs.flat_map(|output| &plan.gate_supplies[output].feeds));
        let lost = match need {
            Need::Controller(name) | Need::Named(name) => Some(name.to_owned()),
            Need::Output(_) | Need::Transformer(_) | Need::Bus(_) => None,
        };
        Self { lost, ..held }
    }

    /// What a list of gates stands for, each with its stage and position.
    pub(super) fn of<'g, A: 'g>(
        variant: &Variant,
        gates: impl Iterator<Item = &'g (usize, usize, A)>,
    ) -> Self {
        let side = |&(stage, position, _): &(usize, usize, A)| {
            (stage, variant.plan.stages[stage].positions[position].role.side())
        };
        Self { sides: gates.map(side).collect(), lost: None }
    }

    /// Whether a bridge that stops shorts all phases of its machine, which then gives its bus nothing. One side is enough, and which
    /// of them it is, is the choice of its control.
    pub(super) fn lets_short(&self, variant: &Variant, fallen: &Fallen, machine: &Coasting) -> bool {
        let stage = machine.stage;
        let turns_on = |side| {
            !self.sides.contains(&(stage, side))
                && is_powered(variant, fallen, stage, side)
                && self.is_commanded(variant, fallen, stage, side)
        };
        machine.short.is_some() && [Side::Low, Side::High].into_iter().any(turns_on)
    }

    /// Whether whoever commands the gates of a side still works: the controller that their drivers name, else that of the
    /// stage. Where none is named nothing is known against it.
    fn is_commanded(&self, variant: &Variant, fallen: &Fallen, stage: usize, side: Side) -> bool {
        let plan = &variant.plan;
        let Some(control) = &plan.control else { return true };
        let is_its = |&(of, position, _): &(usize, usize, _)| {
            of == stage && plan.stages[of].positions[position].role.side() == side
        };
        let own = control.stages.get(stage).and_then(|stage| stage.controller.as_ref());
        let drivers = control.drivers.iter().filter(|driver| driver.drives.iter().any(is_its));
        let mut named: Vec<_> = drivers.map(|driver| driver.controller.as_ref().or(own)).collect();
        if named.is_empty() {
            named.push(own);
        }
        named.into_iter().flatten().all(|name| self.works(variant, fallen, stage, &name.value))
    }

    /// Whether a controller still works, and everything that it depends on, however long the chain is.
    fn works(&self, variant: &Variant, fallen: &Fallen, stage: usize, name: &str) -> bool {
        let mut known = BTreeSet::new();
        let mut left = vec![name];
        while let Some(name) = left.pop() {
            if self.lost.as_deref() == Some(name) {
                return false;
            }
            let mut controllers = variant.plan.control.iter().flat_map(|control| &control.controllers);
            let Some(own) = controllers.find(|one| one.name == name) else { continue };
            let mut feeds = own.from.iter().chain(&own.also);
            if own.from.is_some() && !feeds.any(|from| lives(variant, fallen, stage, &from.value)) {
                return false;
            }
            if known.insert(name) {
                left.extend(own.depends_on.iter().map(|on| on.value.as_str()));
            }
        }
        true
    }
}

/// Whether a bus lives, or is that of the bridge, which the machine itself keeps up.
fn lives(variant: &Variant, fallen: &Fallen, stage: usize, name: &str) -> bool {
    let plan = &variant.plan;
    let own = plan.stages[stage].ports.first().and_then(|port| port.bus);
    let bus = plan.buses.iter().position(|bus| variant.path(bus.part) == name);
    bus.is_some_and(|bus| Some(bus) == own || !fallen.dead.contains(&bus))
}

/// Whether every gate of a side keeps its power: from a bus that lives, or from that of the bridge, which the machine itself
/// keeps up. What is charged through a diode while the other side conducts does not last.
fn is_powered(variant: &Variant, fallen: &Fallen, stage: usize, side: Side) -> bool {
    let plan = &variant.plan;
    let feeds = |output: &usize| {
        let mut gates = plan.gate_supplies[*output].feeds.iter();
        gates.any(|&(of, position, _)| of == stage && plan.stages[of].positions[position].role.side() == side)
    };
    let lasts = |output: usize| {
        let control = plan.control.as_ref();
        let from = control.and_then(|control| control.supplied_from.get(output)?.as_ref());
        let also = control.and_then(|control| control.supplied_also.get(output)?.as_ref());
        plan.gate_supplies[output].bootstrap_from.is_none()
            && from.into_iter().chain(also).any(|from| lives(variant, fallen, stage, &from.value))
    };
    let mut outputs = (0..plan.gate_supplies.len()).filter(feeds).peekable();
    outputs.peek().is_some() && outputs.all(lasts)
}
