//! What each stage cannot do without: who commands it, what feeds its gates, and what these depend on in turn.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::plan::Plan;
use loadworthy_unit::{NodeId, Variant};

/// Something that stages stop with.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Need<'u> {
    /// A controller.
    Controller(&'u str),
    /// Something that controllers say they depend on, by a name of its own.
    Named(&'u str),
    /// A bus that feeds controllers or gate supplies.
    Bus(&'u str),
    /// A transformer with several gate supplies on it.
    Transformer(&'u str),
    /// An output that feeds gates.
    Output(&'u str),
}

impl<'u> Need<'u> {
    pub(crate) const fn name(self) -> &'u str {
        match self {
            Self::Controller(name)
            | Self::Named(name)
            | Self::Bus(name)
            | Self::Transformer(name)
            | Self::Output(name) => name,
        }
    }

    /// What it is, in a word or two.
    pub(crate) const fn what(self) -> &'static str {
        match self {
            Self::Controller(_) => "controller",
            Self::Named(_) => "dependence",
            Self::Bus(_) => "bus",
            Self::Transformer(_) => "transformer",
            Self::Output(_) => "gate supply",
        }
    }
}

/// What all stages need, and where the description says so.
#[derive(Default)]
pub(crate) struct Needs<'u> {
    needs: BTreeMap<Need<'u>, BTreeMap<usize, NodeId>>,
    /// Stages with an output or a controller that either of two buses keeps alive.
    either: Vec<(usize, [&'u str; 2])>,
}

impl<'u> Needs<'u> {
    /// Walks everything that the stages of a variant name.
    pub(crate) fn of(variant: &'u Variant) -> Self {
        let mut this = Self::default();
        let plan = &variant.plan;
        for stage in 0..plan.stages.len() {
            for (name, at) in commanders(plan, stage) {
                this.controller(plan, stage, name, at);
            }
        }
        for (output, supply) in plan.gate_supplies.iter().enumerate() {
            // Of what two outputs feed nobody knows which it lives on.
            let alone: BTreeSet<(usize, usize)> = supply.alone().collect();
            for &(stage, _, at) in supply.feeds.iter().filter(|of| alone.contains(&(of.0, of.1))) {
                this.output(variant, stage, output, at);
            }
        }
        this
    }

    /// Everything that is needed, with the stages that need it, each once.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (Need<'u>, Vec<usize>)> + '_ {
        self.needs.iter().map(|(need, stages)| (*need, stages.keys().copied().collect()))
    }

    /// The stages that need something, each once.
    pub(crate) fn stages(&self, need: Need<'u>) -> impl Iterator<Item = usize> + '_ {
        self.needs.get(&need).into_iter().flat_map(|stages| stages.keys().copied())
    }

    /// Where the description says that a stage needs something.
    pub(crate) fn place(&self, need: Need<'u>, stage: usize) -> Option<NodeId> {
        self.needs.get(&need)?.get(&stage).copied()
    }

    /// Stages that stop once two buses are lost, of which either alone keeps an output or a controller of theirs alive.
    pub(crate) fn either(&self) -> impl Iterator<Item = (usize, [&'u str; 2])> + '_ {
        self.either.iter().copied()
    }

    /// What two stages both need.
    pub(crate) fn shared(&self, one: usize, other: usize) -> Vec<Need<'u>> {
        let both =
            self.needs.iter().filter(|(_, stages)| stages.contains_key(&one) && stages.contains_key(&other));
        both.map(|(need, _)| *need).collect()
    }

    fn note(&mut self, need: Need<'u>, stage: usize, at: NodeId) -> bool {
        let stages = self.needs.entry(need).or_default();
        let is_new = !stages.contains_key(&stage);
        stages.entry(stage).or_insert(at);
        is_new
    }

    fn controller(&mut self, plan: &'u Plan, stage: usize, name: &'u str, at: NodeId) {
        if !self.note(Need::Controller(name), stage, at) {
            return;
        }
        let controllers = plan.control.iter().flat_map(|control| &control.controllers);
        let Some(own) = controllers.into_iter().find(|one| one.name == name) else { return };
        let from = own.from.as_ref().map(|from| (from.value.as_str(), from.at));
        self.fed(stage, from, own.also.as_ref().map(|also| also.value.as_str()));
        for on in &own.depends_on {
            let is_controller =
                plan.control.iter().flat_map(|control| &control.controllers).any(|one| one.name == on.value);
            if is_controller {
                self.controller(plan, stage, &on.value, on.at);
            } else {
                self.note(Need::Named(&on.value), stage, on.at);
            }
        }
    }

    /// What lives on a bus, or on either of two.
    fn fed(&mut self, stage: usize, from: Option<(&'u str, NodeId)>, also: Option<&'u str>) {
        match (from, also) {
            (Some((from, _)), Some(also)) if from != also => self.either.push((stage, [from, also])),
            (Some((from, at)), _) => {
                self.note(Need::Bus(from), stage, at);
            }
            (None, _) => {}
        }
    }

    fn output(&mut self, variant: &'u Variant, stage: usize, output: usize, at: NodeId) {
        let plan = &variant.plan;
        let supply = &plan.gate_supplies[output];
        if !self.note(Need::Output(variant.path(supply.part)), stage, at) {
            return;
        }
        let from = plan.control.as_ref().and_then(|control| control.supplied_from.get(output)?.as_ref());
        let also = plan.control.as_ref().and_then(|control| control.supplied_also.get(output)?.as_ref());
        let from = from.map(|from| (from.value.as_str(), from.at));
        self.fed(stage, from, also.map(|also| also.value.as_str()));
        for transformer in &plan.gate_transformers {
            if let Some((_, at)) = transformer.outputs.iter().find(|(own, _)| *own == output) {
                self.note(Need::Transformer(variant.path(transformer.part)), stage, *at);
            }
        }
        if let Some(from) = supply.bootstrap_from {
            self.output(variant, stage, from, at);
        }
    }
}

/// Controllers that a stage obeys, its own and those that its drivers name, and where each is named.
pub(crate) fn commanders(plan: &Plan, stage: usize) -> Vec<(&str, NodeId)> {
    let Some(control) = &plan.control else { return Vec::new() };
    let own = control.stages.get(stage).and_then(|stage| stage.controller.as_ref());
    let drivers = control.drivers.iter().filter(|driver| driver.drives.iter().any(|gate| gate.0 == stage));
    let named = own.into_iter().chain(drivers.filter_map(|driver| driver.controller.as_ref()));
    let mut names: Vec<(&str, NodeId)> = Vec::new();
    for name in named {
        if !names.iter().any(|(known, _)| *known == name.value) {
            names.push((&name.value, name.at));
        }
    }
    names
}
