//! Voltages of two outputs, and resistors or lock-outs of two drivers, each of which suits the gates of the other: what the data sheets
//! of the devices are stated at says so.

use loadworthy_language::Description;
use loadworthy_language::quantity::Given;
use loadworthy_language::sections::devices::{Gate, Transistor};
use loadworthy_language::sections::drivers::Driver;
use loadworthy_language::sections::gate_supplies::GateSupply;
use loadworthy_physics::{Resistance, Voltage};
use loadworthy_source::NodeId;

use super::{Draft, MOST_STRANGE, Seen};
use crate::slip::Move;

/// How far a value may lie from that of a data sheet, as a share of it.
const NEAR: f64 = 0.1;
/// The same of a voltage, in V: some sheets are stated at 0 V.
const NEAR_VOLTS: f64 = 0.5;

/// How a key of an entry is read and written.
type Key<T, Q> = (fn(&T) -> Option<Given<Q>>, fn(&mut T, Given<Q>));
/// What a data sheet says of it, in its unit.
type Sheet = fn(&Gate) -> Option<f64>;

/// A value of an entry, and what the data sheets of its devices say that it should be.
struct Level<'s> {
    name: &'s str,
    at: NodeId,
    si: f64,
    suits: Box<dyn Fn(f64) -> bool + 's>,
}

pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let volts = |value: f64| format!("{value} V");
    let ohms = |value: f64| format!("{value} ohm");
    let voltages: [(&str, Key<GateSupply, Voltage>, Sheet); 2] = [
        ("drive_on", (|one| one.on, |one, to| one.on = Some(to)), on),
        ("drive_off", (|one| one.off, |one, to| one.off = Some(to)), off),
    ];
    for (key, (of, set), sheet) in voltages {
        let all = seen.description.gate_supplies.readable().filter_map(|(name, _, one)| {
            let own = of(one)?;
            let gates = fed(seen, name);
            let suits = move |volts: f64| all_near(&gates, sheet, |said| (volts - said).abs() <= NEAR_VOLTS);
            Some(Level { name, at: own.at, si: own.si(), suits: Box::new(suits) })
        });
        pairs(seen, ("gate_supplies", key), all.collect(), volts, out, |all, name, (at, value)| {
            let to = Given { value: Voltage::new(value), at };
            all.gate_supplies.change(name, |one| set(one, to));
        });
    }
    let resistors: [(&str, Key<Driver, Resistance>); 2] = [
        ("turn_on_resistor", (|one| one.turn_on_resistor, |one, to| one.turn_on_resistor = Some(to))),
        ("turn_off_resistor", (|one| one.turn_off_resistor, |one, to| one.turn_off_resistor = Some(to))),
    ];
    for (key, (of, set)) in resistors {
        let all = seen.description.drivers.readable().filter_map(|(name, _, one)| {
            let own = of(one)?;
            let gates = driven(seen, name);
            let suits = move |ohms: f64| all_near(&gates, outside, |said| (ohms - said).abs() <= NEAR * said);
            Some(Level { name, at: own.at, si: own.si(), suits: Box::new(suits) })
        });
        pairs(seen, ("drivers", key), all.collect(), ohms, out, |all, name, (at, value)| {
            let to = Given { value: Resistance::new(value), at };
            all.drivers.change(name, |one| set(one, to));
        });
    }
    // A gate is driven well above where it is locked out.
    let all = seen.description.drivers.readable().filter_map(|(name, _, one)| {
        let own = one.undervoltage?;
        let gates = driven(seen, name);
        let suits = move |volts: f64| all_near(&gates, on, |said| (0.5..0.95).contains(&(volts / said)));
        Some(Level { name, at: own.at, si: own.si(), suits: Box::new(suits) })
    });
    pairs(seen, ("drivers", "undervoltage"), all.collect(), volts, out, |all, name, (at, value)| {
        let to = Given { value: Voltage::new(value), at };
        all.drivers.change(name, |one| one.undervoltage = Some(to));
    });
}

/// A draft for each two of which neither suits its own devices, and each those of the other.
fn pairs(
    seen: &Seen<'_>,
    (section, key): (&str, &str),
    mut all: Vec<Level<'_>>,
    written: impl Fn(f64) -> String,
    out: &mut Vec<Draft>,
    change: impl Fn(&mut Description, &str, (NodeId, f64)),
) {
    all.retain(|one| !(one.suits)(one.si));
    if all.len() > MOST_STRANGE {
        return;
    }
    for (place, one) in all.iter().enumerate() {
        for other in all[place + 1..].iter().filter(|other| (one.suits)(other.si) && (other.suits)(one.si)) {
            let word = |from: &Level<'_>, to: &Level<'_>| Move {
                path: format!("{section}.{}.{key}", from.name),
                entry: from.name.to_owned(),
                key: key.to_owned(),
                now: written(from.si),
                then: written(to.si),
                at: from.at,
                word: written(from.si),
                meant: written(to.si),
                word_at: from.at,
            };
            out.push(seen.draft(vec![word(one, other), word(other, one)], |all| {
                change(all, one.name, (one.at, other.si));
                change(all, other.name, (other.at, one.si));
            }));
        }
    }
}

/// Whether all sheets say something, and it is near.
fn all_near(gates: &[&Gate], of: Sheet, near: impl Fn(f64) -> bool) -> bool {
    !gates.is_empty() && gates.iter().all(|gate| of(gate).is_some_and(&near))
}

fn on(gate: &Gate) -> Option<f64> {
    Some(gate.on?.si())
}

fn off(gate: &Gate) -> Option<f64> {
    Some(gate.off?.si())
}

/// What stands outside of the device of the resistance that its sheet is stated with.
fn outside(gate: &Gate) -> Option<f64> {
    Some(gate.resistance?.si() - gate.internal_resistance.map_or(0.0, |ohms| ohms.si()))
}

/// Sheets of the gates that an output feeds.
fn fed<'s>(seen: &Seen<'s>, output: &str) -> Vec<&'s Gate> {
    let own = seen.variant.plan.gate_supplies.iter().filter(|one| seen.path(one.part) == output);
    sheets(seen, own.flat_map(|one| &one.feeds).map(|feeds| (feeds.0, feeds.1)))
}

/// Sheets of the gates that a driver drives.
fn driven<'s>(seen: &Seen<'s>, driver: &str) -> Vec<&'s Gate> {
    let all = seen.variant.plan.control.iter().flat_map(|control| &control.drivers);
    let own = all.filter(|one| seen.path(one.part) == driver);
    sheets(seen, own.flat_map(|one| &one.drives).map(|drives| (drives.0, drives.1)))
}

fn sheets<'s>(seen: &Seen<'s>, positions: impl Iterator<Item = (usize, usize)>) -> Vec<&'s Gate> {
    let stages = &seen.variant.plan.stages;
    let mut names: Vec<&str> = Vec::new();
    for (stage, position) in positions {
        let seat = &stages[stage].seats[stages[stage].positions[position].seat];
        names.extend(seat.fitted.as_deref().filter(|name| !names.contains(name)));
    }
    let gate = |name: &str| match seen.description.devices.entry(name)?.transistor.as_ref()? {
        Transistor::Igbt(igbt) => igbt.gate.as_ref(),
        Transistor::Mosfet(mosfet) => mosfet.gate.as_ref(),
    };
    names.into_iter().filter_map(gate).collect()
}
