//! What each stage cannot do without: who commands it, what feeds its gates, and what these depend on in turn. And what holds
//! each contactor closed.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::plan::{Controller, Plan, Stage, Topology};
use loadworthy_unit::{NodeId, Variant};

/// Something that stages stop with, or contactors open with.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Need<'u> {
    /// A controller.
    Controller(&'u str),
    /// Something that controllers say they depend on, by a name of its own.
    Named(&'u str),
    /// A bus that feeds controllers, gate supplies or coils.
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

/// Who needs something.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Who {
    /// A stage of the plan.
    Stage(usize),
    /// A contactor, by its conductor in the plan.
    Contactor(usize),
}

impl Who {
    const fn stage(self) -> Option<usize> {
        match self {
            Self::Stage(stage) => Some(stage),
            Self::Contactor(_) => None,
        }
    }
}

/// All controllers, by name.
type Controllers<'u> = BTreeMap<&'u str, &'u Controller>;

/// What all stages and contactors need, and where the description says so.
#[derive(Default)]
pub(crate) struct Needs<'u> {
    needs: BTreeMap<Need<'u>, BTreeMap<Who, NodeId>>,
    /// Who lives on what either of two buses keeps alive.
    either: Vec<(Who, [&'u str; 2])>,
}

impl<'u> Needs<'u> {
    /// Walks everything that the stages and the coils of a variant name.
    pub(crate) fn of(variant: &'u Variant) -> Self {
        let mut this = Self::default();
        let plan = &variant.plan;
        let controllers = by_name(plan);
        for stage in 0..plan.stages.len() {
            for (name, at) in commanders(plan, stage) {
                this.controller(&controllers, Who::Stage(stage), name, at);
            }
        }
        for (output, supply) in plan.gate_supplies.iter().enumerate() {
            // Of what two outputs feed nobody knows which it lives on.
            let alone: BTreeSet<(usize, usize)> = supply.alone().collect();
            for &(stage, _, at) in supply.feeds.iter().filter(|of| alone.contains(&(of.0, of.1))) {
                this.output(variant, stage, output, at);
            }
        }
        for coil in plan.control.iter().flat_map(|control| &control.coils) {
            let who = Who::Contactor(coil.conductor);
            let from = coil.from.as_ref().map(|from| (from.value.as_str(), from.at));
            this.fed(who, from, coil.also.as_ref().map(|also| also.value.as_str()));
            if let Some(controller) = &coil.controller {
                this.controller(&controllers, who, &controller.value, controller.at);
            }
        }
        this
    }

    /// The same with what the converter needs that alone makes a bus: who commands it, and what feeds its gates.
    pub(crate) fn through_converters(variant: &'u Variant) -> Self {
        let mut this = Self::of(variant);
        let controllers = by_name(&variant.plan);
        loop {
            let known: usize = this.needs.values().map(BTreeMap::len).sum();
            let buses: Vec<(&'u str, Vec<(Who, NodeId)>)> = this
                .needs
                .iter()
                .filter_map(|(need, who)| match need {
                    Need::Bus(bus) => Some((*bus, who.iter().map(|(who, at)| (*who, *at)).collect())),
                    _ => None,
                })
                .collect();
            for (bus, all) in buses {
                let Some(stage) = made_by(variant, bus) else { continue };
                for (who, at) in all.into_iter().filter(|(who, _)| who.stage() != Some(stage)) {
                    for (name, _) in commanders(&variant.plan, stage) {
                        this.controller(&controllers, who, name, at);
                    }
                }
            }
            if this.needs.values().map(BTreeMap::len).sum::<usize>() == known {
                return this;
            }
        }
    }

    /// Everything that is needed, with the stages that need it, each once, and where the first of all who need it says so.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (Need<'u>, Vec<usize>, Option<NodeId>)> + '_ {
        self.needs.iter().map(|(need, who)| {
            (*need, who.keys().filter_map(|who| who.stage()).collect(), who.values().next().copied())
        })
    }

    /// Who needs something, each once.
    pub(crate) fn who(&self, need: Need<'u>) -> impl Iterator<Item = Who> + '_ {
        self.needs.get(&need).into_iter().flat_map(|who| who.keys().copied())
    }

    /// The contactors that open with something, as conductors of the plan.
    pub(crate) fn contactors(&self, need: Need<'u>) -> impl Iterator<Item = usize> + '_ {
        self.who(need).filter_map(|who| match who {
            Who::Contactor(conductor) => Some(conductor),
            Who::Stage(_) => None,
        })
    }

    /// Where the description says that a stage needs something.
    pub(crate) fn place(&self, need: Need<'u>, stage: usize) -> Option<NodeId> {
        self.needs.get(&need)?.get(&Who::Stage(stage)).copied()
    }

    /// Who is lost once two buses are, of which either alone keeps alive what that one lives on.
    pub(crate) fn either(&self) -> impl Iterator<Item = (Who, [&'u str; 2])> + '_ {
        self.either.iter().copied()
    }

    /// What two stages both need.
    pub(crate) fn shared(&self, one: usize, other: usize) -> Vec<Need<'u>> {
        let [one, other] = [one, other].map(Who::Stage);
        let both = self.needs.iter().filter(|(_, who)| who.contains_key(&one) && who.contains_key(&other));
        both.map(|(need, _)| *need).collect()
    }

    fn note(&mut self, need: Need<'u>, who: Who, at: NodeId) -> bool {
        let all = self.needs.entry(need).or_default();
        let is_new = !all.contains_key(&who);
        all.entry(who).or_insert(at);
        is_new
    }

    /// What obeys a controller needs what that one depends on as well, however long the chain is.
    fn controller(&mut self, controllers: &Controllers<'u>, who: Who, name: &'u str, at: NodeId) {
        let mut left = vec![(Need::Controller(name), at)];
        while let Some((need, at)) = left.pop() {
            let own = controllers.get(need.name()).copied();
            if !self.note(need, who, at) {
                continue;
            }
            let (Need::Controller(_), Some(own)) = (need, own) else { continue };
            let from = own.from.as_ref().map(|from| (from.value.as_str(), from.at));
            self.fed(who, from, own.also.as_ref().map(|also| also.value.as_str()));
            // The first comes off the stack first.
            left.extend(own.depends_on.iter().rev().map(|on| {
                let is_controller = controllers.contains_key(on.value.as_str());
                (if is_controller { Need::Controller } else { Need::Named }(&on.value), on.at)
            }));
        }
    }

    /// What lives on a bus, or on either of two.
    fn fed(&mut self, who: Who, from: Option<(&'u str, NodeId)>, also: Option<&'u str>) {
        match (from, also) {
            (Some((from, _)), Some(also)) if from != also => self.either.push((who, [from, also])),
            (Some((from, at)), _) => {
                self.note(Need::Bus(from), who, at);
            }
            (None, _) => {}
        }
    }

    /// What an output feeds needs what charges that one as well.
    fn output(&mut self, variant: &'u Variant, stage: usize, output: usize, at: NodeId) {
        let mut next = Some(output);
        while let Some(output) = next {
            next = self.one_output(variant, stage, output, at);
        }
    }

    /// The output that charges this one, where it was not seen before.
    fn one_output(&mut self, variant: &'u Variant, stage: usize, output: usize, at: NodeId) -> Option<usize> {
        let plan = &variant.plan;
        let supply = &plan.gate_supplies[output];
        let who = Who::Stage(stage);
        if !self.note(Need::Output(variant.path(supply.part)), who, at) {
            return None;
        }
        let from = plan.control.as_ref().and_then(|control| control.supplied_from.get(output)?.as_ref());
        let also = plan.control.as_ref().and_then(|control| control.supplied_also.get(output)?.as_ref());
        let from = from.map(|from| (from.value.as_str(), from.at));
        self.fed(who, from, also.map(|also| also.value.as_str()));
        for transformer in &plan.gate_transformers {
            if let Some((_, at)) = transformer.outputs.iter().find(|(own, _)| *own == output) {
                self.note(Need::Transformer(variant.path(transformer.part)), who, *at);
            }
        }
        supply.bootstrap_from
    }
}

fn by_name(plan: &Plan) -> Controllers<'_> {
    let all = plan.control.iter().flat_map(|control| &control.controllers);
    all.map(|one| (one.name.as_str(), one)).collect()
}

/// The one stage with a transformer that makes a bus on which no source stands.
fn made_by(variant: &Variant, bus: &str) -> Option<usize> {
    let plan = &variant.plan;
    let place = plan.buses.iter().position(|one| variant.path(one.part) == bus)?;
    let makes = |stage: &Stage| {
        matches!(stage.topology, Topology::Isolated(_))
            && stage.ports.get(1).is_some_and(|port| port.bus == Some(place))
    };
    let mut stages = (0..plan.stages.len()).filter(|&stage| makes(&plan.stages[stage]));
    let only = stages.next().filter(|_| plan.buses[place].sources.is_empty())?;
    stages.next().is_none().then_some(only)
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
