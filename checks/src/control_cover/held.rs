//! Who holds a contactor closed, and whether he knows what stands behind it.
//!
//! The main contactor of a source closes once its pre-charge has brought the bus near enough, and opens before the bus runs away. Who commands
//! it without knowing the voltage there closes by a clock.

use loadworthy_unit::plan::{Circuit, Coil, Quantity, Sensor};

use super::measured::{knows, readers, sensors};
use super::{Addition, BLIND_CONTACTOR, Found, View, listed, place};
use crate::check::Told;
use crate::verdict::Grade;

/// Every coil in the way of a source whose controller could be read, where the voltage of the bus behind it is measured at all.
pub(super) fn contactors(view: &View<'_, '_>, all: &mut Vec<Found>) {
    all.extend(view.control.coils.iter().filter_map(|coil| contactor(view, coil)));
}

fn contactor(view: &View<'_, '_>, coil: &Coil) -> Option<Found> {
    let by = coil.controller.as_ref().filter(|by| view.is_controller(&by.value))?;
    let opening = view.plan.openings.iter().find(|one| one.conductor == coil.conductor)?;
    let (Circuit::Source(source), None) = (opening.of, opening.around) else { return None };
    let bus = view.variant.path(view.plan.buses[view.plan.sources[source].bus?].part);
    let of_bus = |sensor: &&Sensor| sensor.of.iter().any(|of| of.value == bus);
    let own: Vec<&Sensor> = sensors(view, Quantity::Voltage).filter(of_bus).collect();
    if own.is_empty() {
        return None;
    }
    let is_known = own.iter().any(|sensor| knows(view, sensor, &by.value));
    let part = view.plan.conductors[coil.conductor].part;
    let told = (!is_known).then(|| {
        let name = view.variant.path(part);
        let saying = format!(
            "`{name}` is held by {}, which does not read the voltage of `{bus}`: it closes and opens without knowing what stands behind it",
            by.value
        );
        let mut told = Told::new(saying, place(by.at, "knows nothing of that bus"));
        told.facts = vec![format!("voltage of {bus} read by: {}", listed(&readers(own.iter().copied())))];
        told.because = own.iter().take(1).map(|sensor| view.at(sensor.part, "is read by others")).collect();
        let say = format!("add {} to `read_by` of {}", by.value, view.variant.path(own[0].part));
        (told, Some(Addition { say, leaves: "a contactor that is held by whoever knows its bus" }))
    });
    Some(Found {
        part,
        defect: BLIND_CONTACTOR,
        in_order: Ok(is_known),
        grade: Grade::Minor,
        names: Vec::new(),
        told,
    })
}
