//! Sensors of which each stands where the other should, or is read by whom the other should be.

use loadworthy_language::sections::sensors::Measurement;
use loadworthy_language::sections::stages::Stage;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list};

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
            if quantity(one) != quantity(other) {
                continue;
            }
            if let (Some(own), Some(theirs)) = (&one.of, &other.of) {
                let moves = vec![
                    list(("sensors", name, "of"), own, &theirs.value),
                    list(("sensors", far, "of"), theirs, &own.value),
                ];
                out.push(seen.draft(moves, |all| {
                    all.sensors.change(name, |sensor| sensor.of = Some(theirs.clone()));
                    all.sensors.change(far, |sensor| sensor.of = Some(own.clone()));
                }));
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
