//! Sensors of which each stands where the other should, or is read by whom the other should be.

use loadworthy_language::sections::sensors::{Measured, Measurement};
use loadworthy_language::sections::stages::Stage;
use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list, word};

pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let is_strange = |name: &str, one: &Measurement| {
        seen.is_bare(name) || seen.is_listed_in_vain(name) || is_misread(seen, one)
    };
    let all = seen.description.sensors.readable().map(|(name, _, one)| (name, one));
    let strange: Vec<(&str, &Measurement)> = all.filter(|(name, one)| is_strange(name, one)).collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, one)) in strange.iter().enumerate() {
        for &(far, other) in &strange[place + 1..] {
            let quantity = |of: &Measurement| of.measures.as_ref().map(|measured| measured.value);
            let is_alike = quantity(one) == quantity(other);
            if let (Some(own), Some(theirs), true) = (&one.of, &other.of, is_alike) {
                out.push(elsewhere(seen, (name, own), (far, theirs)));
            }
            if let (Some(own), Some(theirs)) = (&one.read_by, &other.read_by) {
                let moves = vec![
                    list(("sensors", name, "read_by"), own, &theirs.value),
                    list(("sensors", far, "read_by"), theirs, &own.value),
                ];
                out.push(seen.draft(moves, |all| {
                    all.sensors.change(name, |sensor| sensor.read_by = Some(theirs.clone()));
                    all.sensors.change(far, |sensor| sensor.read_by = Some(own.clone()));
                }));
            }
        }
    }
}

/// Two sensors, each where the other stands.
fn elsewhere(
    seen: &Seen<'_>,
    (name, own): (&str, &Located<Vec<Located<String>>>),
    (far, theirs): (&str, &Located<Vec<Located<String>>>),
) -> Draft {
    let moves = vec![
        list(("sensors", name, "of"), own, &theirs.value),
        list(("sensors", far, "of"), theirs, &own.value),
    ];
    seen.draft(moves, |all| {
        all.sensors.change(name, |sensor| sensor.of = Some(theirs.clone()));
        all.sensors.change(far, |sensor| sensor.of = Some(own.clone()));
    })
}

/// Two of which one at least stands where nothing is to be had of what it measures, and each where the other would get it.
pub(super) fn unsuited(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let all = seen.description.sensors.readable().map(|(name, _, one)| (name, one));
    let known = all.filter_map(|(name, one)| Some((name, one.measures.as_ref()?, one.of.as_ref()?)));
    let known: Vec<_> = known.collect();
    let mut pairs = Vec::new();
    for (place, one) in known.iter().enumerate() {
        for other in &known[place + 1..] {
            let [own, theirs] = [one.1.value, other.1.value];
            let is_odd = !suits(seen, own, one.2) || !suits(seen, theirs, other.2);
            if own != theirs && is_odd && suits(seen, own, other.2) && suits(seen, theirs, one.2) {
                pairs.push((*one, *other));
            }
        }
    }
    if pairs.len() > MOST_STRANGE {
        return;
    }
    for ((name, what, own), (far, other, theirs)) in pairs {
        out.push(elsewhere(seen, (name, own), (far, theirs)));
        out.push(of_quantities(seen, (name, what), (far, other)));
    }
}

/// What a description calls it.
const fn called(what: Measured) -> &'static str {
    match what {
        Measured::Current => "current",
        Measured::Voltage => "voltage",
        Measured::Temperature => "temperature",
        Measured::Position => "position",
        Measured::Isolation => "isolation",
        Measured::Flow => "flow",
    }
}

/// Whether all that a sensor is of has what it measures.
fn suits(seen: &Seen<'_>, what: Measured, of: &Located<Vec<Located<String>>>) -> bool {
    let description = seen.description;
    of.value.iter().all(|one| {
        let name = one.value.as_str();
        let is_bus = description.buses.entry(name).is_some();
        let is_machine = description.machines.entry(name).is_some();
        let is_leg = name.contains('.');
        let elements = description.cooling.read().and_then(|cooling| cooling.elements.as_ref());
        let is_coolant = name == "cooling" || elements.is_some_and(|all| all.contains_key(name));
        match what {
            Measured::Voltage | Measured::Isolation => is_bus,
            Measured::Position => is_machine,
            Measured::Temperature => !is_bus && !is_leg,
            Measured::Current => !is_coolant,
            Measured::Flow => is_coolant,
        }
    })
}

/// What watches the isolation of a bus that hurts nobody, where a bus of another domain hurts and nothing watches it.
pub(super) fn of_isolation(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let hurts = |bus: &str| seen.highest(bus).is_some_and(|volts| HARMLESS.si() < volts);
    let domain = |bus: &str| Some(seen.description.buses.entry(bus)?.domain.as_ref()?.value.as_str());
    let all = seen.description.sensors.readable().map(|(name, _, one)| (name, one));
    let watching =
        all.filter(|(_, one)| one.measures.as_ref().is_some_and(|what| what.value == Measured::Isolation));
    let watching: Vec<(&str, &Located<Vec<Located<String>>>)> =
        watching.filter_map(|(name, one)| Some((name, one.of.as_ref()?))).collect();
    let watched: Vec<Option<&str>> =
        watching.iter().flat_map(|(_, of)| &of.value).map(|of| domain(&of.value)).collect();
    for &(name, of) in &watching {
        let [own] = of.value.as_slice() else { continue };
        if hurts(&own.value) {
            continue;
        }
        exchanged_quantities(seen, name, &|bus: &str| hurts(bus) && !watched.contains(&domain(bus)), out);
        let mut open: Vec<&str> = Vec::new();
        for (bus, ..) in seen.description.buses.readable().filter(|(bus, ..)| hurts(bus)) {
            let is_new = open.iter().all(|known| domain(known) != domain(bus));
            if is_new && domain(bus).is_some() && !watched.contains(&domain(bus)) {
                open.push(bus);
            }
        }
        for bus in open.into_iter().take(MOST_STRANGE) {
            let then = vec![Located { value: bus.to_owned(), at: own.at }];
            let moves = vec![list(("sensors", name, "of"), of, &then)];
            let then = Located { value: then, at: of.at };
            out.push(seen.draft(moves, |all| {
                all.sensors.change(name, |sensor| sensor.of = Some(then));
            }));
        }
    }
}

/// What measures the voltage of a bus that nothing watches, and what watches one that hurts nobody, with one another's quantity.
fn exchanged_quantities(seen: &Seen<'_>, name: &str, is_open: &dyn Fn(&str) -> bool, out: &mut Vec<Draft>) {
    let own = |name: &str| seen.description.sensors.entry(name)?.measures.as_ref();
    let Some(what) = own(name) else { return };
    let all = seen.description.sensors.readable();
    let here = all.filter(|(.., one)| {
        let mut of = one.of.iter().flat_map(|of| &of.value);
        one.measures.as_ref().is_some_and(|what| what.value == Measured::Voltage)
            && of.any(|of| is_open(&of.value))
    });
    for (far, _, other) in here.take(MOST_STRANGE) {
        let Some(theirs) = other.measures.as_ref() else { continue };
        out.push(of_quantities(seen, (name, what), (far, theirs)));
    }
}

/// Two sensors with one another's quantity.
fn of_quantities(
    seen: &Seen<'_>,
    (name, what): (&str, &Located<Measured>),
    (far, other): (&str, &Located<Measured>),
) -> Draft {
    let said = |what: &Located<Measured>| Located { value: called(what.value).to_owned(), at: what.at };
    let [said_here, said_there] = [what, other].map(said);
    let moves = vec![
        word(("sensors", name, "measures"), &said_here, &said_there.value),
        word(("sensors", far, "measures"), &said_there, &said_here.value),
    ];
    seen.draft(moves, |all| {
        all.sensors.change(name, |sensor| sensor.measures = Some(*other));
        all.sensors.change(far, |sensor| sensor.measures = Some(*what));
    })
}

/// Whether none of the controllers of what a sensor stands at reads it.
fn is_misread(seen: &Seen<'_>, sensor: &Measurement) -> bool {
    let of = sensor.of.iter().flat_map(|of| &of.value);
    let owners: Vec<&str> = of.flat_map(|of| owners(seen, &of.value)).collect();
    let readers: Vec<&Located<String>> = sensor.read_by.iter().flat_map(|by| &by.value).collect();
    !owners.is_empty() && !readers.is_empty() && !readers.iter().any(|by| owners.contains(&by.value.as_str()))
}

/// The controllers that work from what is measured of a stage, a machine or a bus.
pub(super) fn owners<'s>(seen: &Seen<'s>, of: &str) -> Vec<&'s str> {
    let name = of.split('.').next().unwrap_or(of);
    let is_its = |stage: &Stage| {
        let feeds = match stage {
            Stage::ThreePhaseBridge(bridge) => bridge.feeds.as_ref(),
            _ => None,
        };
        feeds.is_some_and(|machine| machine.value == name)
            || stage.buses().iter().any(|(_, bus)| bus.is_some_and(|bus| bus.value == name))
    };
    let stages = seen.description.stages.readable();
    let own = stages.filter(|(stage, _, written)| *stage == name || is_its(written));
    own.filter_map(|(.., stage)| stage.controller().map(|by| by.value.as_str())).collect()
}
