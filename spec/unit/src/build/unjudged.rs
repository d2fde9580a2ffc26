//! What a description states and nothing judges yet, so that nobody takes silence for a pass.

use loadworthy_language::Description;
use loadworthy_language::sections::devices::Transistor;

/// Words for everything that is stated and judged by nothing yet, in the order of the sections.
pub(crate) fn stated(description: &Description) -> Vec<&'static str> {
    let surroundings = description.surroundings.read();
    let buses = || description.buses.readable().map(|(_, _, bus)| bus);
    let blocking = description.devices.readable().any(|(_, _, device)| match &device.transistor {
        Some(Transistor::Igbt(igbt)) => igbt.blocking_voltage.is_some(),
        Some(Transistor::Mosfet(mosfet)) => mosfet.blocking_voltage.is_some(),
        None => false,
    });
    [
        (
            surroundings.is_some_and(|air| air.altitude.is_some() || air.pollution_degree.is_some()),
            "pollution_degree, and altitude beyond the boiling of the coolant",
        ),
        (buses().any(|bus| bus.highest.is_some()), "highest of a bus"),
        (buses().any(|bus| bus.loop_inductance.is_some()), "loop_inductance of a bus"),
        (buses().any(|bus| bus.discharge.is_some()), "discharge of a bus"),
        (description.isolation.read().is_some(), "isolation"),
        (!description.capacitors.is_empty(), "capacitors"),
        (!description.controllers.is_empty(), "controllers"),
        (
            !description.magnetics.is_empty(),
            "cores and windings of magnetics beyond their stated loss and resistance",
        ),
        (!description.conductors.is_empty(), "fuses, bars, cables and foil beyond a stated current"),
        (!description.gate_supplies.is_empty(), "power of gate supplies"),
        (blocking, "blocking_voltage"),
        (!description.permits.is_empty(), "permits"),
    ]
    .into_iter()
    .filter_map(|(is_stated, word)| is_stated.then_some(word))
    .collect()
}
