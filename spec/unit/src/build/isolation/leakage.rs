//! What conducts between a circuit and the chassis, and what the capacitors of its poles hold.

use std::collections::BTreeMap;

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::capacitors::Capacitor;
use loadworthy_language::sections::isolation::{Earthing, Isolation as Section};
use loadworthy_language::sections::sensors::Measured;
use loadworthy_physics::insulation::protection::Bonding;
use petgraph::graph::NodeIndex;

use super::Standing;
use crate::build::bank::shared;
use crate::build::{Build, assumed};
use crate::ids::InputId;
use crate::plan::{Form, Isolation, Leakage, Pole};

/// Resistances of every circuit that floats, and poles of all.
pub(super) fn leakages(build: &mut Build<'_>, seen: &Standing, section: &Section, isolation: &mut Isolation) {
    for (place, (name, written)) in section.domains.iter().flatten().enumerate() {
        let domain = isolation.domain(place);
        let (part, form) = (domain.part, domain.form);
        let is_joined = domain.bonding > Bonding::None;
        let near = build.tables.part_of(part).at;
        let said = format!("isolation.domains.{name}");
        let floats = written.earthing.as_ref().is_none_or(|word| word.value == Earthing::Floating);
        let has_bus = !domain.stress.buses.is_empty();
        if matches!(form, Form::Circuit { .. }) && floats && has_bus && !is_joined {
            let own = build.stated(written.isolation_resistance.as_ref(), Some(near), |ohms| ohms.si());
            let own = build.tables.input(format!("{said}.isolation_resistance"), Dimension::Resistance, own);
            if written.earthing.is_none() {
                let floating = assumed(&defaults::EARTHING, near);
                build.tables.input(format!("{said}.earthing"), Dimension::Ratio, floating);
            }
            if written.beside.is_none() {
                let alone = assumed(&defaults::BESIDE, near);
                build.tables.input(format!("{said}.beside"), Dimension::Ratio, alone);
            }
            let mut resistances = vec![own];
            for (k, beside) in written.beside.iter().flat_map(|beside| &beside.value).enumerate() {
                let stated = build.stated(Some(beside), None, |ohms| ohms.si());
                let path = format!("{said}.beside.{}", k + 1);
                resistances.push(build.tables.input(path, Dimension::Resistance, stated));
            }
            resistances.extend(dividers(build, seen, place));
            let is_watched = is_watched(build, seen, place);
            let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Resistance);
            let leakage = Leakage {
                resistances,
                together: figure("isolation_resistance"),
                least: figure("least_isolation_resistance"),
                is_watched,
            };
            isolation.graph[NodeIndex::new(place)].leakage = Some(leakage);
        }
    }
    poles(build, seen, section, isolation);
}

/// The bus, if it is one, that a sensor measures.
fn bus_of(build: &Build<'_>, name: &str) -> Option<usize> {
    let of_source = || build.plan.sources[*build.places.sources.get(name)?].bus;
    build.places.buses.get(name).copied().or_else(of_source)
}

/// Dividers from a rail of the domain to another one.
fn dividers(build: &mut Build<'_>, seen: &Standing, domain: usize) -> Vec<InputId> {
    let mut found = Vec::new();
    for (name, _, sensor) in build.description.sensors.readable() {
        let Some(resistance) = &sensor.resistance else { continue };
        let measured = sensor.of.iter().flat_map(|of| &of.value);
        let here = measured
            .filter(|name| bus_of(build, &name.value).is_some_and(|bus| seen.of_bus[bus] == Some(domain)));
        let stated = build.stated(Some(resistance), None, |ohms| ohms.si());
        let count = here.count();
        if count > 0 {
            let path = format!("sensors.{name}.resistance");
            let input = shared(build, &path, &path, Dimension::Resistance, stated);
            let redundant = sensor.redundant.map_or(1, |count| count.value);
            found.extend(core::iter::repeat_n(input, count * redundant as usize));
        }
    }
    found
}

/// Whether a sensor watches the isolation of a domain. One that could not be read may, and so may one of a bus that could not.
fn is_watched(build: &Build<'_>, seen: &Standing, domain: usize) -> bool {
    let (sensors, buses) = (&build.description.sensors, &build.description.buses);
    !sensors.is_whole()
        || !buses.is_whole()
        || sensors.readable().any(|(_, _, sensor)| {
            let watches = sensor.measures.as_ref().is_some_and(|what| what.value == Measured::Isolation);
            let own = sensor.domain.as_ref().and_then(|name| seen.places.get(&name.value).copied());
            let mut of = sensor.of.iter().flat_map(|of| &of.value);
            watches
                && (own == Some(domain)
                    // A bus that says no domain may stand in this one.
                    || of.any(|name| {
                        let bus = bus_of(build, &name.value);
                        bus.is_some_and(|bus| seen.of_bus[bus].is_none_or(|of| of == domain))
                    }))
        })
}

/// What hangs on a pole.
#[derive(Default)]
struct Found {
    buses: Vec<usize>,
    capacitances: Vec<InputId>,
    toward: Vec<usize>,
}

/// Poles with capacitors to another domain.
fn poles(build: &mut Build<'_>, seen: &Standing, section: &Section, isolation: &mut Isolation) {
    // A positive pole belongs to its bus, a negative one to all buses on its rail, whichever of them names it.
    let mut found: BTreeMap<(usize, String), Found> = BTreeMap::new();
    for (name, _, capacitor) in build.description.capacitors.readable() {
        let Capacitor::Suppression(written) = capacitor else { continue };
        let Some((bus, pole)) = written.from.as_ref().and_then(|from| from.value.split_once('.')) else {
            continue;
        };
        let Some(&place) = build.places.buses.get(bus) else { continue };
        let Some(domain) = seen.of_bus[place] else { continue };
        let rail = &build.plan.buses[place].negative_rail;
        let (pole, buses) = if pole == "minus" {
            let on_rail = |one: &usize| &build.plan.buses[*one].negative_rail == rail;
            let buses: Vec<usize> = (0..build.plan.buses.len()).filter(on_rail).collect();
            // Under the name of the one with the highest nominal voltage, of equals the first in the alphabet: whichever
            // stands first in the file is no change of meaning.
            let path = |bus: &usize| build.tables.part_of(build.plan.buses[*bus].part).path.as_str();
            let nominal = |name: &str| {
                let written = build.description.buses.entry(name);
                written.and_then(|bus| bus.nominal.as_ref()).map_or(0.0, |volts| volts.si())
            };
            let named = buses.iter().map(path);
            let first = named
                .max_by(|one, other| nominal(one).total_cmp(&nominal(other)).then_with(|| other.cmp(one)));
            let first = first.unwrap_or(bus);
            (format!("{first}.minus"), buses)
        } else {
            (format!("{bus}.plus"), vec![place])
        };
        let near = build.description.capacitors.get(name).map(|entry| entry.key);
        let stated = build.stated(written.capacitance.as_ref(), near, |farad| farad.si());
        let path = format!("capacitors.{name}.capacitance");
        let input = build.tables.input(path, Dimension::Capacitance, stated);
        let found = found.entry((domain, pole)).or_insert(Found { buses, ..Found::default() });
        found.capacitances.push(input);
        let to = written.to.as_ref().and_then(|to| seen.places.get(to.value.as_str()).copied());
        found.toward.extend(to.filter(|to| !found.toward.contains(to)));
    }
    let mut strays: BTreeMap<usize, InputId> = BTreeMap::new();
    for ((place, pole), Found { buses, mut capacitances, toward }) in found {
        let is_minus = pole.ends_with(".minus");
        let of = isolation.domain(place);
        let (name, near) = (of.name.clone(), build.tables.part_of(of.part).at);
        let written = section.domains.as_ref().and_then(|domains| domains.get(&name));
        let earthing = written.and_then(|domain| domain.earthing.as_ref()).map(|word| word.value);
        let is_earthed = earthing == Some(Earthing::NegativeRail) && is_minus;
        let share = if is_earthed { 0.0 } else { of.stress.share };
        let stray = *strays.entry(place).or_insert_with(|| {
            let given = written.and_then(|domain| domain.stray_capacitance.as_ref());
            let stated = build.stated(given, Some(near), |farad| farad.si());
            let path = format!("isolation.domains.{name}.stray_capacitance");
            build.tables.input(path, Dimension::Capacitance, stated)
        });
        capacitances.push(stray);
        let part = build.tables.part(pole, near, None);
        let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Energy);
        isolation.poles.push(Pole {
            part,
            domain: place,
            toward,
            buses,
            share,
            capacitances,
            energy: figure("energy_to_chassis"),
            above: figure("energy_to_chassis_above_60_v"),
        });
    }
}
