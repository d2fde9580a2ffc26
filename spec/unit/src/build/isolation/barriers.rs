//! Barriers and capacitors between domains.

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::capacitors::{Capacitor, SuppressionClass};
use loadworthy_language::sections::gate_supplies::GateSupply;
use loadworthy_language::sections::isolation::{
    Barrier as Written, BarrierKind, Isolation as Section, MaterialGroup,
};
use loadworthy_physics::insulation::protection::{Barrier as Protection, Bonding, Insulation};
use loadworthy_source::{Located, NodeId};
use petgraph::graph::NodeIndex;

use super::{Standing, bus_of, key_of, lifted, turn_offs};
use crate::build::bank::shared;
use crate::build::{Build, gates};
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{
    Barrier, BarrierFigures, Domain, Form, GROUPS, GateNode, Isolation, PoleCapacitor, Span, Stress,
};
use crate::table::Stated;

/// A kind as it is written.
pub(crate) const fn insulation(kind: BarrierKind) -> Insulation {
    match kind {
        BarrierKind::Functional => Insulation::Functional,
        BarrierKind::Basic => Insulation::Basic,
        BarrierKind::Supplementary => Insulation::Supplementary,
        BarrierKind::Double => Insulation::Double,
        BarrierKind::Reinforced => Insulation::Reinforced,
    }
}

/// Every barrier, with the gate circuits that it names.
pub(super) fn barriers(
    build: &mut Build<'_>,
    seen: &mut Standing,
    section: &Section,
    at: NodeId,
    isolation: &mut Isolation,
) {
    let (degree, altitude) = around(build, at);
    for (place, (name, written)) in section.barriers.iter().flatten().enumerate() {
        let near = key_of(build, at, "barriers", name);
        let ends = written.between.as_ref().map(|between| &between.value);
        let ends: Vec<Option<usize>> =
            ends.into_iter().flatten().map(|end| node(build, seen, end, isolation)).collect();
        let between = match ends.as_slice() {
            [Some(one), Some(other)] => Some((*one, *other)),
            _ => None,
        };
        let mut barrier = barrier(build, (name, written), near, between, (degree, altitude), isolation);
        let rails = ends_on_rails(build, written);
        barrier.is_one_potential = rails.first().is_some_and(|first| rails.iter().all(|rail| rail == first));
        isolation.barriers.push(barrier);
        if let Some((one, other)) = between {
            isolation.graph.add_edge(NodeIndex::new(one), NodeIndex::new(other), Span::Barrier(place));
        }
    }
    // Parts that are bonded to the chassis are joined by it.
    let bonded: Vec<usize> = isolation
        .domains()
        .filter(|(_, domain)| domain.bonding >= Bonding::Stated)
        .map(|(place, _)| place)
        .collect();
    let metal = bonded.iter().copied().find(|&place| isolation.domain(place).form == Form::Metal);
    if let Some(metal) = metal {
        for &other in bonded.iter().filter(|&&other| other != metal) {
            isolation.graph.add_edge(NodeIndex::new(metal), NodeIndex::new(other), Span::Bonding);
        }
    }
}

/// Pollution degree and altitude of the surroundings.
fn around(build: &mut Build<'_>, at: NodeId) -> (InputId, InputId) {
    let surroundings = &build.description.surroundings;
    let degree = match surroundings.read().and_then(|air| air.pollution_degree.as_ref()) {
        Some(degree) => Stated { value: f64::from(degree.value), origin: build.written(degree.at) },
        None => build.no_surrounding(Some(at)),
    };
    let altitude = build.surrounding(|air| air.altitude.as_ref(), Some(at), |metres| metres.si());
    (
        shared(
            build,
            "surroundings.pollution_degree",
            "surroundings.pollution_degree",
            Dimension::Ratio,
            degree,
        ),
        shared(
            build,
            "surroundings.altitude of barriers",
            "surroundings.altitude",
            Dimension::Length,
            altitude,
        ),
    )
}

/// The domain or gate circuit of that name; a gate circuit is added where it is named first.
fn node(
    build: &mut Build<'_>,
    seen: &mut Standing,
    end: &Located<String>,
    isolation: &mut Isolation,
) -> Option<usize> {
    if let Some(&known) = seen.places.get(&end.value) {
        return Some(known);
    }
    let gates = gates::gates(build);
    let positions = gates.get(end.value.as_str())?;
    let &first = positions.first()?;
    let own = seen.of_position(build, first)?;
    let buses: Vec<usize> = bus_of(build, first).into_iter().collect();
    let (stage, position) = first;
    let potential = &build.plan.stages[stage].positions[position].gate;
    let part = build.tables.part(format!("isolation.gates of {}", end.value), end.at, None);
    let of = isolation.domain(own);
    let domain = Domain {
        part,
        name: end.value.clone(),
        form: Form::Gates,
        says_who_touches: true,
        is_inside: false,
        bonding: Bonding::None,
        is_earthed: false,
        system: of.system,
        stress: Stress {
            turn_offs: turn_offs(build, &buses),
            is_still: matches!(potential, Some(GateNode::Rail(_))),
            // What another stage lifts is nothing to this gate.
            lifted: lifted(build, &buses, Some(stage)),
            buses,
            ..of.stress.clone()
        },
        voltage: build.tables.figure_if_asked(part, "largest_voltage", Dimension::Voltage),
        leakage: None,
        bonding_resistance: None,
    };
    let place = isolation.graph.add_node(domain).index();
    isolation.graph.add_edge(NodeIndex::new(own), NodeIndex::new(place), Span::OwnStage);
    seen.places.insert(end.value.clone(), place);
    Some(place)
}

/// The rails that the gate circuits on both sides of a barrier are driven from; nothing where one side is no such circuit.
fn ends_on_rails(build: &Build<'_>, written: &Written) -> Vec<String> {
    let gates = gates::gates(build);
    let ends = written.between.iter().flat_map(|between| &between.value);
    let rails: Option<Vec<String>> = ends
        .map(|end| {
            let &(stage, position) = gates.get(end.value.as_str())?.first()?;
            match &build.plan.stages[stage].positions[position].gate {
                Some(GateNode::Rail(rail)) => Some(rail.clone()),
                _ => None,
            }
        })
        .collect();
    rails.unwrap_or_default()
}

fn barrier(
    build: &mut Build<'_>,
    (name, written): (&str, &Written),
    near: NodeId,
    between: Option<(usize, usize)>,
    (degree_around, altitude): (InputId, InputId),
    isolation: &Isolation,
) -> Barrier {
    let part = build.tables.part(format!("isolation.barriers.{name}"), near, None);
    let said = format!("isolation.barriers.{name}");
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
    let kind = written.kind.as_ref().map(|kind| insulation(kind.value));
    let kind_stated = written.kind.as_ref().zip(kind).map_or(absent, |(word, kind)| Stated {
        value: f64::from(kind as u8),
        origin: build.written(word.at),
    });
    let group = written.material_group.as_ref().map_or(absent, |word| {
        use loadworthy_physics::insulation::material::MaterialGroup as Group;
        let group = match word.value {
            MaterialGroup::I => Group::I,
            MaterialGroup::II => Group::II,
            MaterialGroup::IIIa => Group::IIIa,
            MaterialGroup::IIIb => Group::IIIb,
        };
        let place = GROUPS.iter().position(|one| *one == group).and_then(|place| u8::try_from(place).ok());
        Stated { value: place.map_or(f64::NAN, f64::from), origin: build.written(word.at) }
    });
    let own_degree = written
        .pollution_degree
        .as_ref()
        .map(|degree| Stated { value: f64::from(degree.value), origin: build.written(degree.at) });
    let length = |build: &mut Build<'_>, key: &str, given: Option<&Given<loadworthy_physics::Length>>| {
        let stated = build.stated(given, Some(near), |metres| metres.si());
        build.tables.limit(format!("{said}.{key}"), Dimension::Length, stated)
    };
    let clearance = length(build, "clearance", written.clearance.as_ref());
    let creepage = length(build, "creepage", written.creepage.as_ref());
    let rated_peak = written.recurring_peak.as_ref().map(|given| {
        let stated = build.stated(Some(given), None, |volts| volts.peak().si());
        build.tables.limit(format!("{said}.recurring_peak"), Dimension::Voltage, stated)
    });
    let rated_impulse = written.impulse.as_ref().map(|given| {
        let stated = build.stated(Some(given), None, |volts| volts.si());
        build.tables.limit(format!("{said}.impulse"), Dimension::Voltage, stated)
    });
    let rated = written.working_voltage.as_ref().map(|given| {
        let stated = build.stated(Some(given), None, |volts| volts.rms().si());
        build.tables.limit(format!("{said}.working_voltage"), Dimension::Voltage, stated)
    });
    let proven = written.frequency.as_ref().map(|given| {
        let stated = build.stated(Some(given), None, |hertz| hertz.si());
        build.tables.limit(format!("{said}.frequency"), Dimension::Frequency, stated)
    });
    let kind_stated = build.tables.input(format!("{said}.kind"), Dimension::Ratio, kind_stated);
    let group = build.tables.input(format!("{said}.material_group"), Dimension::Ratio, group);
    let has_own_degree = own_degree.is_some();
    let degree = own_degree.map_or(degree_around, |stated| {
        build.tables.input(format!("{said}.pollution_degree"), Dimension::Ratio, stated)
    });
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = BarrierFigures {
        rms: figure("working_voltage", Dimension::Voltage),
        peak: figure("recurring_peak", Dimension::Voltage),
        impulse: figure("largest_impulse", Dimension::Voltage),
        withstand: figure("impulse_to_stand", Dimension::Voltage),
        clearance: figure("required_clearance", Dimension::Length),
        creepage: figure("required_creepage", Dimension::Length),
    };
    let listed = written.spanned_by.iter().flat_map(|names| &names.value);
    Barrier {
        part,
        name: name.to_owned(),
        between,
        between_at: written.between.as_ref().map(|between| between.at),
        carries: Vec::new(),
        is_one_potential: false,
        kind,
        kind_stated,
        group,
        degree,
        has_own_degree,
        degree_around,
        altitude,
        printed: written.printed.as_ref().is_some_and(|printed| printed.value),
        is_within: between
            .is_some_and(|(one, other)| isolation.domain(one).system == isolation.domain(other).system),
        clearance,
        creepage,
        rated,
        rated_peak,
        proven,
        rated_impulse,
        spanned_by: listed.map(|name| (name.value.clone(), name.at, is_known(build, &name.value))).collect(),
        figures,
    }
}

/// Whether anything that may lie across a barrier is called so.
fn is_known(build: &Build<'_>, name: &str) -> bool {
    let all = build.description;
    let of_stage = name.split('.').next().is_some_and(|stage| all.stages.contains_key(stage));
    let winds = |(_, _, supply): (&str, _, &GateSupply)| {
        supply.transformer.as_ref().is_some_and(|transformer| transformer.value == name)
    };
    // Of an output that could not be read the text says which transformer it names.
    let of_broken = all.gate_supplies.unread().any(|(_, supply)| {
        let named = build.tree.value_at(supply.value, &["transformer"]);
        named.and_then(|named| build.tree.scalar(named)).is_some_and(|scalar| scalar.text == name)
    });
    let is_unfound = |names: &[String]| {
        names.iter().any(|known| {
            name == known || name.strip_prefix(known.as_str()).is_some_and(|rest| rest.starts_with('.'))
        })
    };
    let of_coil = all.conductors.get(name).is_some_and(|entry| match entry.read() {
        Some(conductor) => conductor.coil().is_some(),
        None => build.tree.value_at(entry.value, &["coil"]).is_some(),
    });
    of_stage
        || of_broken
        || of_coil
        // What is named elsewhere as well and is not there is told already.
        || is_unfound(&all.stages.unfound)
        || is_unfound(&all.magnetics.unfound)
        || all.drivers.contains_key(name)
        || all.gate_supplies.contains_key(name)
        || all.magnetics.contains_key(name)
        || all.sensors.contains_key(name)
        || all.signals.contains_key(name)
        || name.strip_suffix(".discharge").is_some_and(|bus| all.buses.contains_key(bus))
        || all.gate_supplies.readable().any(winds)
        // What a broken section holds is not known.
        || all.conductors.void
        || all.drivers.void
        || all.gate_supplies.void
        || all.magnetics.void
        || all.sensors.void
        || all.signals.void
        || all.stages.void
}

/// What each barrier may have to stand, once it is known what lies beside it.
pub(super) fn carried(isolation: &mut Isolation) {
    for place in 0..isolation.barriers.len() {
        if let Some(between) = isolation.barriers[place].between {
            isolation.barriers[place].carries = isolation.carries(place, between);
        }
    }
}

/// Every suppression capacitor that leads from one domain to another.
pub(super) fn capacitors(build: &mut Build<'_>, seen: &Standing, isolation: &mut Isolation) {
    for (name, entry, capacitor) in build.description.capacitors.readable() {
        let Capacitor::Suppression(written) = capacitor else { continue };
        let part = build.tables.part(name.to_owned(), entry.key, None);
        let bus = written.from.as_ref().and_then(|from| from.value.split('.').next());
        let from = bus.and_then(|bus| build.places.buses.get(bus)).and_then(|&bus| seen.of_bus[bus]);
        let to = written.to.as_ref().and_then(|to| seen.places.get(&to.value).copied());
        match (from, to) {
            (Some(from), Some(to)) if from != to => {
                let (worth, class) = match written.class.as_ref().map(|class| class.value) {
                    Some(SuppressionClass::Y1) => (Some(Protection::Insulation(Insulation::Double)), "Y1"),
                    Some(SuppressionClass::Y2) => (Some(Protection::Insulation(Insulation::Basic)), "Y2"),
                    Some(SuppressionClass::X1 | SuppressionClass::X2) => (Some(Protection::Conductor), "X"),
                    None => (None, ""),
                };
                if worth.is_none() {
                    isolation.unsaid.push((part, "class"));
                }
                let place = isolation.capacitors.len();
                isolation.graph.add_edge(NodeIndex::new(from), NodeIndex::new(to), Span::Capacitor(place));
                let between = (from, to);
                isolation.capacitors.push(PoleCapacitor {
                    part,
                    name: name.to_owned(),
                    between,
                    worth,
                    class,
                });
            }
            (_, None) if written.to.is_none() => isolation.unsaid.push((part, "to")),
            (None, _) if written.from.is_none() => isolation.unsaid.push((part, "from")),
            _ => {}
        }
    }
}
