//! Machines, banks and converters that stand where others should, or the other way round.

use core::f64::consts::TAU;

use loadworthy_language::sections::capacitors::{Bank, Capacitor};
use loadworthy_language::sections::machines::Machine;
use loadworthy_language::sections::sensors::{Measured, Measurement};
use loadworthy_language::sections::stages::{Stage, ThreePhaseBridge};
use loadworthy_physics::{AngularSpeed, FluxLinkage, back_emf};
use loadworthy_source::Located;

use super::sensors::owners;
use super::{Draft, MOST_STRANGE, Seen, word};

/// Bridges that feed one another's machines: what reads the positions of their rotors says so, or what they bring to the bus.
pub(super) fn machines(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let bridges = seen.description.stages.readable().filter_map(|(name, _, stage)| match stage {
        Stage::ThreePhaseBridge(bridge) => Some((name, bridge)),
        _ => None,
    });
    let bridges: Vec<(&str, &ThreePhaseBridge)> = bridges.collect();
    let is_strange = |(name, bridge): (&str, &ThreePhaseBridge), machine: &str| {
        is_read_elsewhere(seen, name, machine) || crests_beyond(seen, bridge, machine)
    };
    for (place, &own) in bridges.iter().enumerate() {
        for &far in &bridges[place + 1..] {
            let (Some(feeds), Some(others)) = (&own.1.feeds, &far.1.feeds) else { continue };
            let is_odd = is_strange(own, &feeds.value) || is_strange(far, &others.value);
            if !is_odd || is_strange(own, &others.value) || is_strange(far, &feeds.value) {
                continue;
            }
            let moves = vec![
                word(("stages", own.0, "feeds"), feeds, &others.value),
                word(("stages", far.0, "feeds"), others, &feeds.value),
            ];
            let feed = |stage: &mut Stage, machine: &Located<String>| {
                if let Stage::ThreePhaseBridge(bridge) = stage {
                    bridge.feeds = Some(machine.clone());
                }
            };
            out.push(seen.draft(moves, |all| {
                all.stages.change(own.0, |stage| feed(stage, others));
                all.stages.change(far.0, |stage| feed(stage, feeds));
            }));
        }
    }
}

/// Bridges on another bus than all that is beside them stands on, and two that were exchanged.
pub(super) fn moved_bridges(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let strange = seen.description.stages.readable().filter_map(|(name, _, stage)| match stage {
        Stage::ThreePhaseBridge(bridge) if is_astray(seen, name, bridge) => {
            Some((name, bridge.dc_bus.as_ref()?, crests(seen, bridge)))
        }
        _ => None,
    });
    let strange: Vec<(&str, &Located<String>, bool)> = strange.collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    let stand = |stage: &mut Stage, bus: &Located<String>| {
        if let Stage::ThreePhaseBridge(bridge) = stage {
            bridge.dc_bus = Some(bus.clone());
        }
    };
    for (place, &(name, own, crests)) in strange.iter().enumerate() {
        for &(far, theirs, _) in strange[place + 1..].iter().filter(|other| other.1.value != own.value) {
            let pair = [(name, own), (far, theirs)];
            out.push(seen.exchanged(("stages", "dc_bus"), pair, |all, name, named| {
                all.stages.change(name, |stage| stand(stage, named));
            }));
        }
        // A machine that crests beyond its bus does so beyond one for less voltage all the more.
        let is_no_way_out = |bus: &str| crests && seen.highest(bus) <= seen.highest(&own.value);
        let others = seen.description.buses.readable().map(|(bus, ..)| bus);
        let others = others.filter(|bus| *bus != own.value && !is_no_way_out(bus));
        for bus in others.take(MOST_STRANGE) {
            let moves = vec![word(("stages", name, "dc_bus"), own, bus)];
            let there = Located { value: bus.to_owned(), at: own.at };
            out.push(seen.draft(moves, |all| all.stages.change(name, |stage| stand(stage, &there))));
        }
    }
}

/// Whether what drives or feeds the gates of a bridge passes no barrier where it stands, its machine crests beyond its bus, or its
/// controller reads the voltages of other buses and not of this.
fn is_astray(seen: &Seen<'_>, name: &str, bridge: &ThreePhaseBridge) -> bool {
    let Some(bus) = bridge.dc_bus.as_ref().map(|bus| bus.value.as_str()) else { return false };
    let plan = &seen.variant.plan;
    let place = plan.stages.iter().position(|stage| seen.path(stage.part) == name);
    let is_bare = place.is_some_and(|place| {
        let mut supplies = plan.gate_supplies.iter();
        let mut drivers = plan.control.iter().flat_map(|control| &control.drivers);
        supplies
            .any(|one| one.feeds.iter().any(|feeds| feeds.0 == place) && seen.is_bare(seen.path(one.part)))
            || drivers
                .any(|one| one.drives.iter().any(|of| of.0 == place) && seen.is_bare(seen.path(one.part)))
    });
    let voltages = seen.description.sensors.readable().map(|(.., sensor)| sensor);
    let is_voltage =
        |sensor: &&Measurement| sensor.measures.as_ref().is_some_and(|what| what.value == Measured::Voltage);
    let voltages: Vec<&Measurement> = voltages.filter(is_voltage).collect();
    let reads = |of_bus: &dyn Fn(&str) -> bool, by: &str| {
        voltages.iter().any(|sensor| {
            let is_of = sensor.of.iter().flat_map(|of| &of.value).any(|of| of_bus(&of.value));
            is_of && sensor.read_by.iter().flat_map(|by| &by.value).any(|reader| reader.value == by)
        })
    };
    let reads_others = bridge
        .controller
        .as_ref()
        .is_some_and(|by| !reads(&|of| of == bus, &by.value) && reads(&|of| of != bus, &by.value));
    is_bare || reads_others || crests(seen, bridge)
}

/// Whether the machine of a bridge crests beyond its bus.
fn crests(seen: &Seen<'_>, bridge: &ThreePhaseBridge) -> bool {
    bridge.feeds.as_ref().is_some_and(|machine| crests_beyond(seen, bridge, &machine.value))
}

/// Whether the position of a rotor is measured, and the controller of a stage does not read it.
fn is_read_elsewhere(seen: &Seen<'_>, stage: &str, machine: &str) -> bool {
    let sensors = seen.description.sensors.readable().map(|(.., sensor)| sensor);
    let of_machine = sensors.filter(|sensor| {
        let is_position = sensor.measures.as_ref().is_some_and(|what| what.value == Measured::Position);
        is_position && sensor.of.iter().flat_map(|of| &of.value).any(|of| of.value == machine)
    });
    let mut readers = of_machine.flat_map(|sensor| &sensor.read_by).flat_map(|by| &by.value).peekable();
    let own = owners(seen, stage);
    readers.peek().is_some() && !own.is_empty() && readers.all(|by| !own.contains(&by.value.as_str()))
}

/// Whether a machine with magnets crests beyond the highest voltage of the bus of a bridge as fast as it may turn.
fn crests_beyond(seen: &Seen<'_>, bridge: &ThreePhaseBridge, machine: &str) -> bool {
    let crest = || {
        let Machine::PermanentMagnet(machine) = seen.description.machines.entry(machine)? else {
            return None;
        };
        let pairs = f64::from(machine.pole_pairs.as_ref()?.value);
        let speed = AngularSpeed::new(TAU * machine.highest_speed.as_ref()?.si());
        let flux = FluxLinkage::new(machine.flux_linkage.as_ref()?.si());
        Some(back_emf::line_crest(pairs, flux, speed).si())
    };
    let highest = bridge.dc_bus.as_ref().and_then(|bus| seen.highest(&bus.value));
    highest.zip(crest()).is_some_and(|(highest, crest)| highest < crest)
}

/// Banks of which one at least is made for less than its bus: exchanged with another, or moved from a bus that has none.
pub(super) fn banks(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let banks = seen.description.capacitors.readable().filter_map(|(name, _, one)| match one {
        Capacitor::Bank(bank) => Some((name, bank, bank.bus.as_ref()?)),
        Capacitor::Suppression(_) => None,
    });
    let banks: Vec<_> = banks.collect();
    let is_low = |bank: &Bank, bus: &str| {
        let each = bank.each.as_ref().and_then(|each| seen.description.capacitor_types.entry(&each.value));
        let rated = each.and_then(|each| each.voltage.as_ref()).map(|volts| volts.si());
        rated.zip(seen.highest(bus)).is_some_and(|(rated, highest)| rated < highest)
    };
    let stand = |one: &mut Capacitor, bus: &Located<String>| {
        if let Capacitor::Bank(bank) = one {
            bank.bus = Some(bus.clone());
        }
    };
    let built_of = |one: &mut Capacitor, each: &Located<String>| {
        if let Capacitor::Bank(bank) = one {
            bank.each = Some(each.clone());
        }
    };
    for (place, &(name, bank, own)) in banks.iter().enumerate() {
        for &(far, other, theirs) in &banks[place + 1..] {
            let is_odd = is_low(bank, &own.value) || is_low(other, &theirs.value);
            if !is_odd || is_low(bank, &theirs.value) || is_low(other, &own.value) {
                continue;
            }
            let pair = [(name, own), (far, theirs)];
            out.push(seen.exchanged(("capacitors", "bus"), pair, |all, name, named| {
                all.capacitors.change(name, |one| stand(one, named));
            }));
            let (Some(each), Some(others)) = (&bank.each, &other.each) else { continue };
            out.push(seen.exchanged(
                ("capacitors", "each"),
                [(name, each), (far, others)],
                |all, name, named| {
                    all.capacitors.change(name, |one| built_of(one, named));
                },
            ));
        }
        let has_none = |bus: &str| banks.iter().all(|(.., at)| at.value != bus);
        for (bus, ..) in seen.description.buses.readable().filter(|(bus, ..)| has_none(bus)) {
            if is_low(bank, &own.value) && !is_low(bank, bus) {
                let moves = vec![word(("capacitors", name, "bus"), own, bus)];
                let there = Located { value: bus.to_owned(), at: own.at };
                out.push(seen.draft(moves, |all| {
                    all.capacitors.change(name, |one| stand(one, &there));
                }));
            }
        }
    }
}

/// Converters that stand the other way round between their two buses.
pub(super) fn converters(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, stage) in seen.description.stages.readable() {
        let buses = stage.buses();
        let [(near, Some(own)), (far, Some(theirs))] = buses.as_slice() else { continue };
        let (own, theirs) = (*own, *theirs);
        if !is_reversed(seen, name, stage, [&own.value, &theirs.value]) {
            continue;
        }
        let moves = vec![
            word(("stages", name, near), own, &theirs.value),
            word(("stages", name, far), theirs, &own.value),
        ];
        out.push(seen.draft(moves, |all| all.stages.change(name, turn_round)));
    }
}

fn turn_round(stage: &mut Stage) {
    let (one, other) = match stage {
        Stage::ThreePhaseBridge(_) => return,
        Stage::Boost(boost) => (&mut boost.low_bus, &mut boost.high_bus),
        Stage::Buck(buck) => (&mut buck.from, &mut buck.to),
        Stage::PhaseShiftedFullBridge(bridge) => (&mut bridge.from, &mut bridge.to),
        Stage::ActiveClampForward(forward) => (&mut forward.from, &mut forward.to),
    };
    core::mem::swap(one, other);
}

/// Whether the voltages of its buses speak against where a stage stands, or what feeds and drives its gates does.
fn is_reversed(seen: &Seen<'_>, name: &str, stage: &Stage, [one, other]: [&str; 2]) -> bool {
    let highest = seen.highest(one).zip(seen.highest(other));
    match stage {
        Stage::ThreePhaseBridge(_) => false,
        Stage::Boost(_) => highest.is_some_and(|(low, high)| high < low),
        Stage::Buck(_) => highest.is_some_and(|(from, to)| from < to),
        Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_) => {
            let plan = &seen.variant.plan;
            let Some(place) = plan.stages.iter().position(|stage| seen.path(stage.part) == name) else {
                return false;
            };
            let feeds =
                plan.gate_supplies.iter().filter(|one| one.feeds.iter().any(|feeds| feeds.0 == place));
            let mut bare = feeds.filter(|one| one.exchanged.is_some() || seen.is_bare(seen.path(one.part)));
            let drivers = plan.control.iter().flat_map(|control| &control.drivers);
            let mut own = drivers.filter(|one| one.drives.iter().any(|drives| drives.0 == place));
            bare.next().is_some()
                || own.any(|driver| seen.is_bare(seen.path(driver.part)))
                || highest.is_some_and(|(from, to)| from < to)
        }
    }
}
