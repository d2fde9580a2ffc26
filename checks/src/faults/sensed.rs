//! What is no longer measured, and what stops for want of it.
//!
//! A loop without its current, a stage without the voltage that it works from or holds, and the drive of a synchronous machine
//! without the position of its rotor cannot be controlled and are taken to stop. Of a temperature or an isolation that nobody
//! sees nothing stops: what would have been noticed is said.

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{Quantity, Sensor, Topology};

use super::fallen::fallen;
use super::found::{after, fault};
use super::left::Bench;
use super::{Effect, Fault, Kind};
use crate::dependence::{Needs, commanders};
use crate::free_text::in_line;

/// Every entry of sensors lost of which there is but one.
pub(super) fn all(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for sensor in variant.plan.control.iter().flat_map(|control| &control.sensors) {
        if 2 <= sensor.redundant {
            continue;
        }
        let effect = match sensor.measures {
            None => continue,
            Some(Quantity::Current | Quantity::Voltage | Quantity::Position) => {
                let stages: Vec<usize> = (0..variant.plan.stages.len())
                    .filter(|&stage| needs_it(variant, sensor, stage))
                    .collect();
                if stages.is_empty() {
                    unseen(sensor)
                } else {
                    after(bench, &fallen(variant, needs, stages, None))
                }
            }
            Some(Quantity::Temperature | Quantity::Other) => unseen(sensor),
        };
        let at = variant.tables.part_of(sensor.part).at;
        faults.push(fault(Kind::Sensor, variant.path(sensor.part), at, effect));
    }
}

/// Whether a stage cannot be controlled without a sensor: its own current, or the voltage of a bus that it works from or holds, where one
/// of its own controllers reads it.
fn needs_it(variant: &Variant, sensor: &Sensor, stage: usize) -> bool {
    let of = &variant.plan.stages[stage];
    let own = commanders(&variant.plan, stage);
    let is_read = sensor.read_by.is_empty()
        || sensor.read_by.iter().any(|reader| own.iter().any(|(name, _)| *name == reader.value));
    let name = variant.path(of.part);
    let is_own =
        |what: &str| what.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    let stands_on = |what: &str| {
        // A stage with a transformer holds its output, and does not control by its input.
        let first = usize::from(matches!(of.topology, Topology::Isolated(_)));
        of.ports
            .iter()
            .skip(first)
            .filter_map(|port| port.bus)
            .any(|bus| variant.path(variant.plan.buses[bus].part) == what)
    };
    let turns = |what: &str| {
        let machine = of.bridge().and_then(|bridge| bridge.machine);
        machine.is_some_and(|machine| variant.path(machine) == what) && !is_known_twice(variant, sensor, what)
    };
    is_read
        && sensor.of.iter().any(|what| match sensor.measures {
            Some(Quantity::Current) => is_own(&what.value),
            Some(Quantity::Position) => turns(&what.value),
            _ => stands_on(&what.value),
        })
}

/// Whether another entry measures the position of the same rotor for somebody who reads this one.
fn is_known_twice(variant: &Variant, sensor: &Sensor, machine: &str) -> bool {
    let all = variant.plan.control.iter().flat_map(|control| &control.sensors);
    let mut others = all.filter(|other| other.part != sensor.part && other.measures == sensor.measures);
    others.any(|other| {
        let is_shared =
            sensor.read_by.iter().any(|one| other.read_by.iter().any(|own| own.value == one.value));
        let is_read = other.read_by.is_empty() || sensor.read_by.is_empty() || is_shared;
        is_read && other.of.iter().any(|of| of.value == machine)
    })
}

/// What nobody notices any more.
fn unseen(sensor: &Sensor) -> Effect {
    let of: Vec<String> = sensor.of.iter().map(|what| in_line(&what.value)).collect();
    let what = match sensor.measures {
        Some(Quantity::Current) => "a current",
        Some(Quantity::Voltage) => "a voltage",
        Some(Quantity::Temperature) => "a temperature",
        Some(Quantity::Position) => "the position",
        _ => "what it measures",
    };
    Effect {
        says: vec![format!("{what} of {} is seen by nobody; nothing stops for it", of.join(", "))],
        ..Effect::default()
    }
}
