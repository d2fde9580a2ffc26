//! Isolation: which domains there are, what stands in which, and what makes two of them one.

mod barriers;
mod crossings;
mod gate_side;
mod jumping;
mod leakage;
mod on_metal;
mod sensing;
mod stands;
mod unread;

use std::collections::BTreeMap;

use loadworthy_language::Description;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::header::Application;
use loadworthy_language::sections::isolation::{
    Domain as Written, DomainKind, Earthing, Isolation as Section, OvervoltageCategory as Category,
};
use loadworthy_physics::insulation::protection::Bonding;
use loadworthy_physics::insulation::rated_impulse::OvervoltageCategory;
use loadworthy_source::NodeId;
use petgraph::graph::UnGraph;
use petgraph::unionfind::UnionFind;

pub(crate) use barriers::insulation;
pub(super) use unread::domain_of;

use crate::build::cooling::has_no_path;
use crate::build::{Build, broken};
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{BuiltInto, Domain, Form, Impulse, Isolation, Lifted, Merged, Role, Stress, Topology};
use crate::table::Stated;

/// Reads the isolation of a description that states any.
pub(crate) fn join(build: &mut Build<'_>) {
    let section = &build.description.isolation;
    let Some(at) = section.at() else {
        build.plan.isolation_left_out = names_domains(build.description);
        return;
    };
    let part = build.tables.part("isolation".to_owned(), at, None);
    let stated = match section.read() {
        Some(_) => Stated { value: 0.0, origin: build.written(at) },
        None => broken(at),
    };
    let read = build.tables.input("isolation".to_owned(), Dimension::Ratio, stated);
    let mut isolation = Isolation {
        part,
        read,
        built_into: built_into(build),
        graph: UnGraph::default(),
        barriers: Vec::new(),
        capacitors: Vec::new(),
        crossings: Vec::new(),
        pairs: Vec::new(),
        unsaid: Vec::new(),
        is_whole: is_whole(build.description),
        unread: unread::entries(build, at),
        merged: Vec::new(),
        without_metal: Vec::new(),
        jumping: Vec::new(),
        riders: Vec::new(),
        within: Vec::new(),
        poles: Vec::new(),
        dividers: Vec::new(),
    };
    if let Some(section) = section.read() {
        let mut seen = Standing::of(build, section, at, &mut isolation);
        unread::unsaid_of_stages(build, &mut isolation);
        barriers::barriers(build, &mut seen, section, at, &mut isolation);
        barriers::capacitors(build, &seen, &mut isolation);
        barriers::carried(&mut isolation);
        crossings::crossings(build, &seen, section, &mut isolation);
        leakage::leakages(build, &seen, section, &mut isolation);
    }
    build.plan.isolation = Some(isolation);
}

/// Whether everything that may lie between two domains, or say in which one it stands, could be read.
fn is_whole(description: &Description) -> bool {
    description.buses.is_whole()
        && description.stages.is_whole()
        && description.magnetics.is_whole()
        && description.gate_supplies.is_whole()
        && description.drivers.is_whole()
        && description.controllers.is_whole()
        && description.sensors.is_whole()
        && description.signals.is_whole()
        && description.capacitors.is_whole()
        && !description.cooling.is_void()
        && !has_no_path(description)
}

/// Whether anything says in which domain it stands, or a controller what feeds it.
fn names_domains(description: &Description) -> bool {
    description.buses.readable().any(|(.., bus)| bus.domain.is_some())
        || description
            .controllers
            .readable()
            .any(|(.., one)| one.domain.is_some() || one.from.is_some() || one.also_from.is_some())
        || description.sensors.readable().any(|(.., sensor)| sensor.domain.is_some())
}

fn built_into(build: &Build<'_>) -> Option<BuiltInto> {
    let application = build.description.surroundings.read()?.application.as_ref()?;
    Some(match application.value {
        Application::Road => BuiltInto::Road,
        Application::MobileMachinery => BuiltInto::Machinery,
        Application::Industrial | Application::Marine => BuiltInto::Other,
    })
}

/// What stands in which domain.
pub(super) struct Standing {
    /// Domains and gate circuits by name.
    pub(super) places: BTreeMap<String, usize>,
    /// The domain of each bus of the plan.
    pub(super) of_bus: Vec<Option<usize>>,
    /// The system that each bus belongs to.
    pub(super) systems: Vec<u32>,
    /// A bus that could not be read and says of no domain that it stands there.
    unread: Option<InputId>,
}

impl Standing {
    fn of(build: &mut Build<'_>, section: &Section, at: NodeId, isolation: &mut Isolation) -> Self {
        let written = section.domains.iter().flatten();
        let places: BTreeMap<String, usize> =
            written.enumerate().map(|(place, (name, _))| (name.clone(), place)).collect();
        let of_bus: Vec<Option<usize>> = build
            .plan
            .buses
            .iter()
            .map(|bus| places.get(unread::domain_of(build, &build.tables.part_of(bus.part).path)?).copied())
            .collect();
        for (bus, domain) in build.plan.buses.iter().zip(&of_bus) {
            let is_read = build.description.buses.entry(&build.tables.part_of(bus.part).path).is_some();
            if domain.is_none() && is_read {
                isolation.unsaid.push((bus.part, "domain"));
            }
        }
        let joins = joins(build);
        let mut known = UnionFind::<usize>::new(build.plan.buses.len());
        for join in &joins {
            known.union(join.buses.0, join.buses.1);
        }
        let systems =
            (0..of_bus.len()).map(|bus| u32::try_from(known.find(bus)).unwrap_or(u32::MAX)).collect();
        let unread = unread::bus(build, &places);
        let this = Self { places, of_bus, systems, unread };
        for (place, (name, domain)) in section.domains.iter().flatten().enumerate() {
            let node = this.domain(build, name, domain, (place, at));
            isolation.graph.add_node(node);
        }
        this.merge(build, joins, isolation);
        this
    }

    /// A domain with what stands on it.
    fn domain(
        &self,
        build: &mut Build<'_>,
        name: &str,
        written: &Written,
        (place, at): (usize, NodeId),
    ) -> Domain {
        let near = key_of(build, at, "domains", name);
        let part = build.tables.part(format!("isolation.domains.{name}"), near, None);
        let said = format!("isolation.domains.{name}");
        let is = |word: Option<&loadworthy_source::Located<bool>>| word.is_some_and(|word| word.value);
        let is_bonded = is(written.bonded.as_ref());
        let form = match written.kind.as_ref().map(|kind| kind.value) {
            Some(DomainKind::Metal) => Form::Metal,
            Some(DomainKind::Surface) => Form::Surface,
            Some(DomainKind::Circuit) => Form::Circuit { touchable: is(written.touchable.as_ref()) },
            // What is bonded, carries no bus and holds no controller is metal.
            None if written.bonded.is_some()
                && !self.of_bus.contains(&Some(place))
                && !holds_a_controller(build, name)
                // A bus that says no domain may stand here.
                && self.of_bus.iter().all(Option::is_some)
                && build.description.buses.is_whole() =>
            {
                Form::Metal
            }
            None => Form::Circuit { touchable: is(written.touchable.as_ref()) },
        };
        let bonding = match (is_bonded, is(written.bonding_route.as_ref())) {
            (false, _) => Bonding::None,
            (true, false) => Bonding::Stated,
            (true, true) => Bonding::ByRoute,
        };
        let buses: Vec<usize> =
            (0..self.of_bus.len()).filter(|&bus| self.of_bus[bus] == Some(place)).collect();
        let impulse = build.stated(written.impulse.as_ref(), Some(near), |volts| volts.si());
        let is_unread = matches!(impulse.origin, Origin::Broken(_));
        let impulse = build.tables.input(format!("{said}.impulse"), Dimension::Voltage, impulse);
        let mains = written.mains.as_ref().map(|mains| {
            let volts = build.stated(mains.line_to_neutral.as_ref(), Some(near), |volts| volts.rms().si());
            build.tables.input(format!("{said}.mains.line_to_neutral"), Dimension::Voltage, volts)
        });
        let category = written.mains.as_ref().and_then(|mains| mains.overvoltage_category.as_ref());
        let lacks = (written.mains.is_some() && category.is_none()).then(|| {
            let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
            build.tables.input(format!("{said}.mains.overvoltage_category"), Dimension::Ratio, stated)
        });
        let is_earthed =
            written.earthing.as_ref().is_some_and(|earthing| earthing.value != Earthing::Floating);
        let share = match written.earthing.as_ref().map(|earthing| earthing.value) {
            // Of several buses nobody says whose midpoint it is; the highest may stand whole above that of another at rest.
            Some(Earthing::Midpoint) if buses.len() < 2 => 0.5,
            Some(Earthing::Midpoint | Earthing::Floating | Earthing::NegativeRail) | None => 1.0,
        };
        let stress = Stress {
            unread: self.unread.filter(|_| matches!(form, Form::Circuit { .. })),
            turn_offs: turn_offs(build, &buses),
            lifted: lifted(build, &buses, None),
            alternating: alternating(build, &buses),
            mains,
            share,
            is_still: false,
            impulse: Impulse {
                stated: impulse,
                is_unread,
                lacks,
                category: category.map(|category| match category.value {
                    Category::I => OvervoltageCategory::I,
                    Category::II => OvervoltageCategory::II,
                    Category::III => OvervoltageCategory::III,
                    Category::IV => OvervoltageCategory::IV,
                }),
            },
            buses,
        };
        // A domain without a bus is a system of its own.
        let system = stress
            .buses
            .first()
            .map_or_else(|| u32::MAX - u32::try_from(place).unwrap_or(0), |&bus| self.systems[bus]);
        let voltage = build.tables.figure_if_asked(part, "largest_voltage", Dimension::Voltage);
        // A circuit that is bonded on a route that is kept has its bonding as a second means, as metal has.
        let is_means = bonding == Bonding::ByRoute || form == Form::Metal && is_bonded;
        let bonding_resistance = is_means.then(|| {
            let ohms = build.stated(written.bonding_resistance.as_ref(), Some(near), |ohms| ohms.si());
            (
                build.tables.input(format!("{said}.bonding_resistance"), Dimension::Resistance, ohms),
                build.tables.figure_if_asked(part, "bonding_resistance", Dimension::Resistance),
            )
        });
        Domain {
            part,
            name: name.to_owned(),
            form,
            says_who_touches: !matches!(form, Form::Circuit { .. }) || written.touchable.is_some(),
            is_inside: form == Form::Metal && written.touchable.as_ref().is_some_and(|word| !word.value),
            bonding,
            is_earthed: matches!(form, Form::Circuit { .. }) && (is_bonded || is_earthed),
            system,
            stress,
            voltage,
            leakage: None,
            bonding_resistance,
        }
    }

    /// The domain that the devices and gates of a position stand in.
    pub(super) fn of_position(&self, build: &Build<'_>, (stage, position): (usize, usize)) -> Option<usize> {
        self.of_bus[bus_of(build, (stage, position))?]
    }

    /// Pairs of domains that something makes one; the first that does speaks for it.
    fn merge(&self, build: &mut Build<'_>, joins: Vec<Join>, isolation: &mut Isolation) {
        for Join { buses, by } in joins {
            let (Some(one), Some(other)) = (self.of_bus[buses.0], self.of_bus[buses.1]) else { continue };
            let between = (one.min(other), one.max(other));
            if one == other || isolation.merged.iter().any(|known| known.between == between) {
                continue;
            }
            let part = pair_part(build, isolation, between);
            isolation.merged.push(Merged { part, between, by, buses });
        }
    }
}

/// The bus that the devices of a position stand on: of a stage with a transformer that of their side.
pub(super) fn bus_of(build: &Build<'_>, (stage, position): (usize, usize)) -> Option<usize> {
    let stage = &build.plan.stages[stage];
    let role = stage.positions.get(position)?.role;
    let is_behind = matches!(role, Role::Rectifier | Role::Forward | Role::Freewheel);
    let port = match &stage.topology {
        Topology::Bridge(_) => 0,
        // Both its buses are one system; its poles reach up to the high one.
        Topology::Chopper(_) => 1,
        Topology::Isolated(_) => usize::from(is_behind),
    };
    stage.ports.get(port)?.bus
}

/// Whether a controller says that it stands in a domain.
fn holds_a_controller(build: &Build<'_>, name: &str) -> bool {
    let mut all = build.description.controllers.readable();
    all.any(|(.., one)| one.domain.as_ref().is_some_and(|domain| domain.value == name))
}

/// Where a pair of domains is spoken of.
pub(super) fn pair_part(
    build: &mut Build<'_>,
    isolation: &Isolation,
    (one, other): (usize, usize),
) -> PartId {
    let name = |place: usize| isolation.domain(place).name.clone();
    let path = format!("isolation.{} to {}", name(one), name(other));
    let at = build.tables.part_of(isolation.domain(one).part).at;
    build.tables.part(path, at, None)
}

/// Where an entry of the section is named.
pub(super) fn key_of(build: &Build<'_>, at: NodeId, map: &str, name: &str) -> NodeId {
    let entries = build.tree.value_at(at, &[map]);
    entries.and_then(|entries| build.tree.entry(entries, name)).map_or(at, |entry| entry.key)
}

/// Turn-offs between the rails of some buses.
pub(super) fn turn_offs(build: &Build<'_>, buses: &[usize]) -> Vec<usize> {
    let plan = &build.plan;
    let stands = |one: &crate::plan::TurnOff| {
        let bus = plan.stages[one.stage].withstands[one.withstand].bus;
        bus.is_some_and(|bus| buses.contains(&bus))
    };
    (0..plan.turn_offs.len()).filter(|&one| stands(&plan.turn_offs[one])).collect()
}

/// Nodes that swing beyond the rails of some buses, of one stage or of all.
pub(super) fn lifted(build: &Build<'_>, buses: &[usize], stage: Option<usize>) -> Vec<Lifted> {
    let mut all = Vec::new();
    let stages =
        build.plan.stages.iter().enumerate().filter(|(place, _)| stage.is_none_or(|own| own == *place));
    for (_, stage) in stages {
        let [from, to] = stage.ports.as_slice() else { continue };
        let free = stage.withstands.iter().find(|one| one.role == Role::Freewheel);
        for one in &stage.withstands {
            let port = match one.role {
                Role::Main => from,
                Role::Rectifier | Role::Forward | Role::Freewheel => to,
                _ => continue,
            };
            if port.bus.is_some_and(|bus| buses.contains(&bus)) {
                let against = free.filter(|_| one.role == Role::Forward).map(|free| free.blocked);
                all.push(Lifted { blocked: one.blocked, overshoot: one.overshoot, against });
            }
        }
    }
    all
}

/// Those of some buses from which a bridge feeds a machine.
fn alternating(build: &Build<'_>, buses: &[usize]) -> Vec<usize> {
    let feeds = |bus: &usize| {
        build.plan.stages.iter().any(|stage| {
            stage.bridge().is_some_and(|bridge| bridge.machine.is_some())
                && stage.ports.iter().any(|port| port.bus == Some(*bus))
        })
    };
    buses.iter().copied().filter(feeds).collect()
}

/// Two buses that a conductor joins.
struct Join {
    buses: (usize, usize),
    by: (String, NodeId),
}

/// What a bus calls its negative rail.
fn named<'b>(build: &'b Build<'_>, bus: usize) -> Option<&'b str> {
    let entry = build.description.buses.entry(&build.tables.part_of(build.plan.buses[bus].part).path)?;
    entry.negative_rail.as_ref().map(|rail| rail.value.as_str())
}

/// Whether a stage without a transformer lies between two buses whose rails have two names.
fn has_two_names(build: &Build<'_>, (one, other): (usize, usize)) -> bool {
    build.plan.stages.iter().any(|stage| {
        let name = &build.tables.part_of(stage.part).path;
        let ends = |bus: usize| stage.ports.iter().any(|port| port.bus == Some(bus));
        ends(one) && ends(other) && build.rails.through().iter().any(|(through, _)| through == name)
    })
}

/// Whether anything but its own word says that a bus has the rail that it names: an output tied to it at gates of that bus, a branch from
/// it to what stands there, or another bus of the same domain.
fn suits_its_rail(build: &Build<'_>, bus: usize) -> bool {
    let plan = &build.plan;
    let rail = &plan.buses[bus].negative_rail;
    let feeds_there = plan.gate_supplies.iter().any(|supply| {
        supply.rail.as_ref().is_some_and(|own| build.rails.stands_for(own) == *rail)
            && supply.feeds.iter().any(|&(stage, position, _)| bus_of(build, (stage, position)) == Some(bus))
    });
    let domain = |place: usize| {
        let path = &build.tables.part_of(plan.buses[place].part).path;
        build.description.buses.entry(path)?.domain.as_ref().map(|domain| domain.value.as_str())
    };
    let mut others = (0..plan.buses.len()).filter(|&other| other != bus);
    let is_common =
        others.any(|other| plan.buses[other].negative_rail == *rail && domain(other) == domain(bus));
    let path = &build.tables.part_of(plan.buses[bus].part).path;
    let returns = build.description.branches.readable().any(|(.., branch)| {
        let Some((from, to)) = branch.from.as_ref().zip(branch.to.as_ref()) else { return false };
        let leads = |rail_end: &str, end: &str| {
            named(build, bus) == Some(rail_end)
                && plan.sources.iter().any(|source| {
                    build.tables.part_of(source.part).path == end
                        && source
                            .bus
                            .is_some_and(|of| build.tables.part_of(plan.buses[of].part).path == *path)
                })
        };
        leads(&from.value, &to.value) || leads(&to.value, &from.value)
    });
    feeds_there || is_common || returns
}

/// What joins buses: a rail that they share, a stage without a transformer, a branch between them.
fn joins(build: &Build<'_>) -> Vec<Join> {
    let plan = &build.plan;
    let mut joins = Vec::new();
    for (place, bus) in plan.buses.iter().enumerate() {
        // One that calls its rail alike goes before one whose rail something joins to it.
        let alike = |other: &usize| plan.buses[*other].negative_rail == bus.negative_rail;
        let same = |other: &usize| alike(other) && named(build, *other) == named(build, place);
        let first = (0..place).find(same).or_else(|| (0..place).find(alike)).unwrap_or(place);
        // Where a stage makes one of rails with two names, it is the stage that joins them, below.
        if first != place && !has_two_names(build, (first, place)) {
            let said =
                if suits_its_rail(build, place) && !suits_its_rail(build, first) { first } else { place };
            let said = build.tables.part_of(build.plan.buses[said].part);
            let entry = build.description.buses.entry(&said.path);
            let at = entry.and_then(|entry| entry.negative_rail.as_ref()).map_or(said.at, |rail| rail.at);
            joins.push(Join { buses: (first, place), by: (bus.negative_rail.clone(), at) });
        }
    }
    for stage in &plan.stages {
        if let (Topology::Chopper(_), [low, high]) = (&stage.topology, stage.ports.as_slice())
            && let (Some(low), Some(high)) = (low.bus, high.bus)
        {
            let part = build.tables.part_of(stage.part);
            joins.push(Join { buses: (low, high), by: (part.path.clone(), part.at) });
        }
    }
    for (name, entry, branch) in build.description.branches.readable() {
        let bus = |end: Option<&loadworthy_source::Located<String>>| stands_on(build, end?.value.as_str());
        if let (Some(from), Some(to)) = (bus(branch.from.as_ref()), bus(branch.to.as_ref()))
            && from != to
        {
            joins.push(Join { buses: (from, to), by: (name.to_owned(), entry.key) });
        }
    }
    joins
}

/// The bus on whose potentials an end of a branch stands: itself, that of a source, a load or a stage without a
/// transformer, or one whose negative rail it is. Whatever conducts makes one domain of both ends: a fuse, a resistor, a
/// choke, and a contactor as soon as it closes.
fn stands_on(build: &Build<'_>, end: &str) -> Option<usize> {
    let plan = &build.plan;
    let of_source = || plan.sources[*build.places.sources.get(end)?].bus;
    let of_load =
        || build.places.buses.get(&build.description.loads.entry(end)?.bus.as_ref()?.value).copied();
    let of_stage = || {
        let stage = &plan.stages[*build.places.stages.get(end)?];
        if matches!(stage.topology, Topology::Isolated(_)) { None } else { stage.ports.first()?.bus }
    };
    let of_rail = || plan.buses.iter().position(|bus| bus.negative_rail == build.rails.stands_for(end));
    let own = build.places.buses.get(end).copied();
    own.or_else(of_source).or_else(of_load).or_else(of_stage).or_else(of_rail)
}
