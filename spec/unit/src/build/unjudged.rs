//! What a description states and nothing judges yet, so that nobody takes silence for a pass.

use loadworthy_language::Description;
use loadworthy_language::sections::capacitors::Capacitor;

/// Words for everything that is stated and judged by nothing yet, in the order of the sections.
pub(crate) fn stated(description: &Description) -> Vec<&'static str> {
    let surroundings = description.surroundings.read();
    let suppressed =
        description.capacitors.readable().any(|(_, _, one)| matches!(one, Capacitor::Suppression(_)));
    let buses = || description.buses.readable().map(|(_, _, bus)| bus);
    [
        (
            surroundings.is_some_and(|air| air.altitude.is_some() || air.pollution_degree.is_some()),
            "altitude and pollution_degree",
        ),
        (buses().any(|bus| bus.loop_inductance.is_some()), "loop_inductance of a bus"),
        (description.isolation.read().is_some(), "isolation"),
        (suppressed, "suppression capacitors"),
        (!description.controllers.is_empty(), "controllers"),
        (
            !description.magnetics.is_empty(),
            "cores and windings of magnetics beyond their stated loss and resistance",
        ),
        (!description.conductors.is_empty(), "fuses, bars, cables and foil beyond a stated current"),
        (!description.gate_supplies.is_empty(), "power of gate supplies"),
        (!description.permits.is_empty(), "permits"),
    ]
    .into_iter()
    .filter_map(|(is_stated, word)| is_stated.then_some(word))
    .collect()
}
