//! The graph of a description's power: what hangs on which bus, which stages join two, and from where each is balanced.
//!
//! It holds names and order only; the plan is built from it once, and the solver never sees it.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::Description;
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::Stage;
use loadworthy_source::Located;
use petgraph::graph::{EdgeIndex, NodeIndex, UnGraph};
use petgraph::visit::EdgeRef;

/// How buses hang together: an edge for each stage between two of them.
#[derive(Clone, Debug, Default)]
pub struct PowerGraph<'d> {
    buses: UnGraph<&'d str, &'d str>,
    places: BTreeMap<&'d str, NodeIndex>,
    machines: BTreeMap<&'d str, &'d str>,
    sources: BTreeMap<&'d str, Vec<&'d str>>,
    branches: BTreeMap<&'d str, (&'d str, &'d str)>,
    /// The bus that a branch leads to from each node.
    led: BTreeMap<&'d str, &'d str>,
    /// Sources that hold the voltage of their island.
    balancing: BTreeSet<&'d str>,
}

/// A bus as it is reached from where its island is balanced.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Reached<'d> {
    /// The bus.
    pub bus: &'d str,
    /// The stage that it is reached through; none where the island is balanced.
    pub through: Option<&'d str>,
}

/// Buses that hang together, and what joins them.
#[derive(Clone, Debug, Default)]
pub struct Island<'d> {
    /// Its buses, from where it is balanced outward.
    pub buses: Vec<Reached<'d>>,
    /// Stages that close a loop, each with the stages that it closes one with.
    pub loops: Vec<(&'d str, Vec<&'d str>)>,
    /// Whether it holds any source.
    pub has_source: bool,
}

/// The one bus of a load, a bridge or a stage with a transformer whose current comes back by a negative rail. Of a boost or a buck
/// the rail takes what its two buses leave of one another.
fn back<'d>(description: &'d Description, node: &str, rail: &str) -> Option<&'d str> {
    let of_load = description.loads.entry(node).and_then(|load| load.bus.as_ref());
    let of_stage = match description.stages.entry(node) {
        Some(Stage::Boost(_) | Stage::Buck(_)) | None => Vec::new(),
        Some(stage) => stage.buses().into_iter().filter_map(|(_, bus)| bus).collect(),
    };
    let on_rail = |bus: &&Located<String>| {
        let named = description.buses.entry(&bus.value).and_then(|bus| bus.negative_rail.as_ref());
        named.is_some_and(|named| named.value == rail)
    };
    let mut buses = of_load.into_iter().chain(of_stage).filter(on_rail);
    let bus = buses.next()?;
    buses.next().is_none().then_some(bus.value.as_str())
}

impl<'d> PowerGraph<'d> {
    /// Draws the graph of a description. A reference to nothing was reported when it was read and draws no edge.
    #[must_use]
    pub fn of(description: &'d Description) -> Self {
        let mut this = Self::default();
        for name in description.buses.keys() {
            let node = this.buses.add_node(name);
            this.places.insert(name, node);
        }
        this.draw_branches(description);
        for (name, _, source) in description.sources.readable() {
            if let Some(bus) = this.bus_of(name, source.bus()) {
                this.sources.entry(bus).or_default().push(name);
            }
        }
        for (name, _, stage) in description.stages.readable() {
            if let Stage::ThreePhaseBridge(bridge) = stage {
                if let Some(machine) = &bridge.feeds {
                    this.machines.insert(name, &machine.value);
                }
                continue;
            }
            let ends: Vec<_> = stage.buses().into_iter().filter_map(|(_, bus)| this.node_of(bus?)).collect();
            if let [one, other] = ends.as_slice() {
                this.buses.add_edge(*one, *other, name);
            }
        }
        this.choose(description);
        this
    }

    fn node_of(&self, bus: &Located<String>) -> Option<NodeIndex> {
        self.places.get(bus.value.as_str()).copied()
    }

    /// The bus of a source or load: as it says, or where a branch leads from it.
    fn bus_of(&self, name: &str, said: Option<&'d Located<String>>) -> Option<&'d str> {
        let said = said.map(|bus| bus.value.as_str());
        said.or_else(|| self.led.get(name).copied())
    }

    /// Which node and which bus each branch joins, by either pole; branches around a conductor and between rails join none.
    fn draw_branches(&mut self, description: &'d Description) {
        let mut returned = BTreeSet::new();
        for (name, _, branch) in description.branches.readable() {
            let (Some(from), Some(to)) = (&branch.from, &branch.to) else { continue };
            let (from, to) = (from.value.as_str(), to.value.as_str());
            let is_node = |name: &str| {
                description.sources.contains_key(name)
                    || description.stages.contains_key(name)
                    || description.loads.contains_key(name)
            };
            match (self.places.contains_key(from), self.places.contains_key(to)) {
                (true, false) if is_node(to) => self.branches.insert(name, (to, from)),
                (false, true) if is_node(from) => self.branches.insert(name, (from, to)),
                // What a node takes from its bus goes back to the rail of that bus; the first way back counts as all of it.
                (false, false) => {
                    let ends = back(description, from, to).map(|bus| (from, bus));
                    let ends = ends.or_else(|| back(description, to, from).map(|bus| (to, bus)));
                    let ends = ends.filter(|(_, bus)| self.places.contains_key(bus));
                    ends.filter(|&ends| returned.insert(ends))
                        .and_then(|ends| self.branches.insert(name, ends))
                }
                _ => None,
            };
        }
        for &(node, bus) in self.branches.values() {
            self.led.entry(node).or_insert(bus);
        }
    }

    /// In each island the sources of one bus hold the voltage: batteries before others, the first in the file first.
    fn choose(&mut self, description: &'d Description) {
        let shares = |source: &str| {
            let points = description.duty.readable();
            let states = points.filter_map(|(_, _, point)| point.sources.as_ref()?.get(source));
            states.filter(|state| state.power.is_some() || state.current.is_some()).count()
        };
        let points = description.duty.readable().count();
        let mut seen = BTreeSet::new();
        for start in self.buses.node_indices() {
            if seen.contains(&start) {
                continue;
            }
            let members = self.reachable(start);
            seen.extend(members.iter().copied());
            let candidates = members.iter().flat_map(|&node| {
                let bus = self.buses[node];
                self.sources.get(bus).into_iter().flatten().map(move |&source| (bus, source))
            });
            let rank = |source: &str| {
                let is_battery = matches!(description.sources.entry(source), Some(Source::Battery(_)));
                // A source that states its share in every duty point balances in none.
                let always_shares = points > 0 && shares(source) == points;
                (always_shares, !is_battery)
            };
            let best = candidates.min_by_key(|(_, source)| rank(source));
            let Some((bus, best)) = best.filter(|(_, source)| !rank(source).0) else { continue };
            let level = rank(best);
            let own = self.sources.get(bus).into_iter().flatten().copied();
            self.balancing.extend(own.filter(|source| rank(source) == level));
        }
    }

    fn reachable(&self, start: NodeIndex) -> Vec<NodeIndex> {
        let mut walk = petgraph::visit::Bfs::new(&self.buses, start);
        let mut all = Vec::new();
        while let Some(node) = walk.next(&self.buses) {
            all.push(node);
        }
        all.sort();
        all
    }

    /// Buses in the order of the description.
    pub fn buses(&self) -> impl Iterator<Item = &'d str> {
        self.buses.node_weights().copied()
    }

    /// Sources at a bus, in the order of the description.
    #[must_use]
    pub fn sources_of(&self, bus: &str) -> &[&'d str] {
        self.sources.get(bus).map_or(&[], Vec::as_slice)
    }

    /// Whether a source may hold the voltage of its island.
    #[must_use]
    pub fn balances(&self, source: &str) -> bool {
        self.balancing.contains(source)
    }

    /// The machine that a bridge feeds.
    #[must_use]
    pub fn machine_of(&self, stage: &str) -> Option<&'d str> {
        self.machines.get(stage).copied()
    }

    /// The source, stage or load at one end of a branch and the bus at the other.
    #[must_use]
    pub fn ends_of(&self, branch: &str) -> Option<(&'d str, &'d str)> {
        self.branches.get(branch).copied()
    }

    /// The source that a branch leads back to from a negative rail, and the bus of that rail.
    pub(crate) fn returned_to(
        &self,
        description: &'d Description,
        branch: &'d Branch,
    ) -> Option<(&'d str, &'d str)> {
        let (from, to) = (branch.from.as_ref()?.value.as_str(), branch.to.as_ref()?.value.as_str());
        [(from, to), (to, from)].into_iter().find_map(|(node, rail)| {
            let bus = self.bus_of(node, description.sources.entry(node)?.bus())?;
            let named = description.buses.entry(bus)?.negative_rail.as_ref()?;
            (named.value == rail && self.places.contains_key(bus)).then_some((node, bus))
        })
    }

    /// The bus of a load.
    #[must_use]
    pub fn bus_of_load(&self, load: &str, said: Option<&'d Located<String>>) -> Option<&'d str> {
        self.bus_of(load, said)
    }

    /// Islands of buses, each walked from where it is balanced.
    #[must_use]
    pub fn islands(&self) -> Vec<Island<'d>> {
        let mut islands = Vec::new();
        let mut seen = BTreeSet::new();
        for start in self.buses.node_indices() {
            if seen.contains(&start) {
                continue;
            }
            let members = self.reachable(start);
            seen.extend(members.iter().copied());
            islands.push(self.walk(&members));
        }
        islands
    }

    /// Where an island is walked from: where it is balanced, else where no stage of the island ends.
    fn root(&self, members: &[NodeIndex]) -> NodeIndex {
        let balanced = members.iter().copied().find(|&node| {
            self.sources_of(self.buses[node]).iter().any(|source| self.balancing.contains(source))
        });
        let ends: BTreeSet<_> = self.buses.edge_references().map(|edge| edge.target()).collect();
        let unfed = members.iter().copied().find(|node| !ends.contains(node));
        balanced.or(unfed).unwrap_or(members[0])
    }

    fn walk(&self, members: &[NodeIndex]) -> Island<'d> {
        let root = self.root(members);
        let has_source = members.iter().any(|&node| !self.sources_of(self.buses[node]).is_empty());
        let mut island = Island { has_source, ..Island::default() };
        let mut came: BTreeMap<NodeIndex, Option<EdgeIndex>> = BTreeMap::from([(root, None)]);
        let mut used = BTreeSet::new();
        let mut next = std::collections::VecDeque::from([root]);
        while let Some(node) = next.pop_front() {
            let through = came[&node].map(|edge| self.buses[edge]);
            island.buses.push(Reached { bus: self.buses[node], through });
            let mut edges: Vec<_> =
                self.buses.edges(node).map(|edge| (edge.id(), edge.source(), edge.target())).collect();
            edges.sort();
            for (edge, from, to) in edges {
                if !used.insert(edge) {
                    continue;
                }
                let other = if from == node { to } else { from };
                let first = came.len();
                came.entry(other).or_insert(Some(edge));
                if came.len() == first {
                    island.loops.push((self.buses[edge], self.closed(&came, node, other)));
                } else {
                    next.push_back(other);
                }
            }
        }
        island
    }

    /// The stages on the two ways back from the ends of a stage to where they meet.
    fn closed(
        &self,
        came: &BTreeMap<NodeIndex, Option<EdgeIndex>>,
        one: NodeIndex,
        other: NodeIndex,
    ) -> Vec<&'d str> {
        let way = |start: NodeIndex| {
            let mut edges = Vec::new();
            let mut node = start;
            while let Some(Some(edge)) = came.get(&node) {
                edges.push(*edge);
                let Some((a, b)) = self.buses.edge_endpoints(*edge) else { break };
                node = if a == node { b } else { a };
            }
            edges
        };
        let (left, right) = (way(one), way(other));
        let shared = |edge: &EdgeIndex, in_other: &[EdgeIndex]| in_other.contains(edge);
        let own = left.iter().filter(|edge| !shared(edge, &right));
        let others = right.iter().filter(|edge| !shared(edge, &left));
        own.chain(others).map(|&edge| self.buses[edge]).collect()
    }
}

/// How coolant flows: what the path visits, in order.
#[must_use]
pub fn coolant_order(description: &Description) -> Vec<&Located<String>> {
    let cooling = description.cooling.read();
    cooling.iter().flat_map(|cooling| &cooling.path).flat_map(|path| &path.value).collect()
}
