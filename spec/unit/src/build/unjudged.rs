//! What a description states and nothing judges yet, so that nobody takes silence for a pass.

use loadworthy_language::Description;
use loadworthy_language::sections::devices::Transistor;
use loadworthy_language::sections::sources::Source;

/// Words for everything that is stated and judged by nothing yet, in the order of the sections.
pub(crate) fn stated(description: &Description) -> Vec<&'static str> {
    let surroundings = description.surroundings.read();
    let batteries = || description.sources.readable().map(|(_, _, Source::Battery(battery))| battery);
    let buses = || description.buses.readable().map(|(_, _, bus)| bus);
    let blocking = description.devices.readable().any(|(_, _, device)| match &device.transistor {
        Some(Transistor::Igbt(igbt)) => igbt.blocking_voltage.is_some(),
        Some(Transistor::Mosfet(mosfet)) => mosfet.blocking_voltage.is_some(),
        None => false,
    });
    let points = || description.duty.readable().map(|(_, _, point)| point);
    [
        (surroundings.is_some(), "surroundings"),
        (batteries().any(|battery| battery.open_circuit.is_some()), "open_circuit of a source"),
        (batteries().any(|battery| battery.discharge.is_some()), "discharge of a source"),
        (batteries().any(|battery| battery.charge.is_some()), "charge of a source"),
        (buses().any(|bus| bus.highest.is_some()), "highest of a bus"),
        (buses().any(|bus| bus.domain.is_some() || bus.negative_rail.is_some()), "domain and rail of a bus"),
        (blocking, "blocking_voltage"),
        (points().any(|point| point.every.is_some()), "every"),
        (points().any(|point| point.starts_from.is_some()), "starts_from"),
        (!description.permits.is_empty(), "permits"),
    ]
    .into_iter()
    .filter_map(|(is_stated, word)| is_stated.then_some(word))
    .collect()
}
