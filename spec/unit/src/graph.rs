//! The two graphs of a description: how power flows, and how coolant flows.
//!
//! They hold names and order only; the plan is built from them once, and the solver never sees them.

use loadworthy_language::Description;
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::Stage;
use petgraph::Direction;
use petgraph::algo::toposort;
use petgraph::stable_graph::{NodeIndex, StableDiGraph};
use std::collections::BTreeMap;

/// What stands at a node of the power graph.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PowerNode<'d> {
    /// A source, by name.
    Source(&'d str),
    /// A bus, by name.
    Bus(&'d str),
    /// A stage, by name.
    Stage(&'d str),
    /// A machine, by name.
    Machine(&'d str),
    /// A load, by name.
    Load(&'d str),
}

/// How power flows, from sources over buses and stages to machines and loads.
#[derive(Clone, Debug, Default)]
pub struct PowerGraph<'d> {
    graph: StableDiGraph<PowerNode<'d>, ()>,
    buses: BTreeMap<&'d str, NodeIndex>,
    machines: BTreeMap<&'d str, NodeIndex>,
}

impl<'d> PowerGraph<'d> {
    /// Draws the graph of a description. A reference to nothing was reported when it was read and draws no edge.
    #[must_use]
    pub fn of(description: &'d Description) -> Self {
        let mut this = Self::default();
        for name in description.buses.keys() {
            let node = this.graph.add_node(PowerNode::Bus(name));
            this.buses.insert(name, node);
        }
        for name in description.machines.keys() {
            let node = this.graph.add_node(PowerNode::Machine(name));
            this.machines.insert(name, node);
        }
        for (name, _, Source::Battery(battery)) in description.sources.readable() {
            let bus = battery.bus.as_ref().map(|bus| bus.value.as_str());
            this.hang(PowerNode::Source(name), bus, Direction::Outgoing);
        }
        for (name, _, Stage::ThreePhaseBridge(bridge)) in description.stages.readable() {
            let bus = bridge.dc_bus.as_ref().map(|bus| bus.value.as_str());
            let stage = this.hang(PowerNode::Stage(name), bus, Direction::Incoming);
            let machine = bridge.feeds.as_ref().and_then(|machine| this.machines.get(machine.value.as_str()));
            if let Some(&machine) = machine {
                this.graph.add_edge(stage, machine, ());
            }
        }
        for (name, _, load) in description.loads.readable() {
            let bus = load.bus.as_ref().map(|bus| bus.value.as_str());
            this.hang(PowerNode::Load(name), bus, Direction::Incoming);
        }
        this
    }

    fn hang(&mut self, node: PowerNode<'d>, bus: Option<&str>, direction: Direction) -> NodeIndex {
        let node = self.graph.add_node(node);
        if let Some(&bus) = bus.and_then(|bus| self.buses.get(bus)) {
            match direction {
                Direction::Outgoing => self.graph.add_edge(node, bus, ()),
                Direction::Incoming => self.graph.add_edge(bus, node, ()),
            };
        }
        node
    }

    /// Buses in the order of the description.
    pub fn buses(&self) -> impl Iterator<Item = &'d str> {
        self.graph.node_weights().filter_map(|node| match node {
            PowerNode::Bus(name) => Some(*name),
            _ => None,
        })
    }

    /// Sources that feed a bus, in the order of the description.
    #[must_use]
    pub fn sources_of(&self, bus: &str) -> Vec<&'d str> {
        let Some(&bus) = self.buses.get(bus) else { return Vec::new() };
        let mut nodes: Vec<_> = self.graph.neighbors_directed(bus, Direction::Incoming).collect();
        nodes.sort();
        nodes
            .into_iter()
            .filter_map(|node| match self.graph[node] {
                PowerNode::Source(name) => Some(name),
                _ => None,
            })
            .collect()
    }

    /// The machine that a stage feeds, and the bus that feeds the stage.
    #[must_use]
    pub fn around(&self, stage: &str) -> (Option<&'d str>, Option<&'d str>) {
        let node = self.graph.node_indices().find(|&node| match self.graph[node] {
            PowerNode::Stage(name) | PowerNode::Load(name) => name == stage,
            _ => false,
        });
        let Some(node) = node else { return (None, None) };
        let bus = self.graph.neighbors_directed(node, Direction::Incoming).find_map(|near| {
            match self.graph[near] {
                PowerNode::Bus(name) => Some(name),
                _ => None,
            }
        });
        let machine = self.graph.neighbors_directed(node, Direction::Outgoing).find_map(|near| {
            match self.graph[near] {
                PowerNode::Machine(name) => Some(name),
                _ => None,
            }
        });
        (bus, machine)
    }
}

/// How coolant flows: the named elements of the path, each leading to the next.
#[derive(Clone, Debug, Default)]
pub struct CoolantGraph<'d> {
    graph: StableDiGraph<&'d str, ()>,
}

impl<'d> CoolantGraph<'d> {
    /// Draws the path of a description.
    #[must_use]
    pub fn of(description: &'d Description) -> Self {
        let mut this = Self::default();
        let path = description.cooling.read().and_then(|cooling| cooling.path.as_ref());
        let mut before = None;
        for name in path.iter().flat_map(|path| &path.value) {
            let node = this.graph.add_node(name.value.as_str());
            if let Some(before) = before.replace(node) {
                this.graph.add_edge(before, node, ());
            }
        }
        this
    }

    /// The elements in the order of flow.
    #[must_use]
    pub fn in_order(&self) -> Vec<&'d str> {
        // A path is drawn from a list and cannot close on itself.
        let order = toposort(&self.graph, None).unwrap_or_default();
        order.into_iter().map(|node| self.graph[node]).collect()
    }
}
