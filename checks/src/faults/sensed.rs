//! What is no longer measured, and what stops for want of it.
//!
//! A loop without its current, and a stage without the voltage that it works from or holds, cannot be controlled and is taken
//! to stop. Of a temperature or an isolation that nobody sees nothing stops: what would have been noticed is said.

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{Quantity, Sensor};

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
            Some(Quantity::Current | Quantity::Voltage) => {
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

/// Whether a stage cannot be controlled without a sensor: its own current, or the voltage of a bus that it stands on, where one
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
        of.ports
            .iter()
            .filter_map(|port| port.bus)
            .any(|bus| variant.path(variant.plan.buses[bus].part) == what)
    };
    is_read
        && sensor.of.iter().any(|what| match sensor.measures {
            Some(Quantity::Current) => is_own(&what.value),
            _ => stands_on(&what.value),
        })
}

/// What nobody notices any more.
fn unseen(sensor: &Sensor) -> Effect {
    let of: Vec<String> = sensor.of.iter().map(|what| in_line(&what.value)).collect();
    let what = match sensor.measures {
        Some(Quantity::Current) => "a current",
        Some(Quantity::Voltage) => "a voltage",
        Some(Quantity::Temperature) => "a temperature",
        _ => "what it measures",
    };
    Effect {
        says: vec![format!("{what} of {} is seen by nobody; nothing stops for it", of.join(", "))],
        ..Effect::default()
    }
}
