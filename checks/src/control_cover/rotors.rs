//! The position of a rotor with magnets: the currents of its stator have to stand across the flux that turns with it.

use loadworthy_unit::plan::Quantity;

use super::measured::{Lack, barrier, knows, read_by, readers, sensors};
use super::{View, listed};

/// The position that a controller of a stage must know, where its machine has magnets and anything at all is measured of it.
pub(super) fn position(view: &View<'_, '_>, stage: usize, commanders: &[&str]) -> Option<Lack> {
    let rotor = view.control.stages.get(stage)?.rotor?;
    let (machine, name) = (view.variant.path(rotor), view.stage(stage));
    let is_of_stage =
        |of: &str| of.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    let mut all = view.control.sensors.iter().flat_map(|sensor| &sensor.of);
    if !all.any(|of| is_of_stage(&of.value)) {
        return None;
    }
    let own =
        || sensors(view, Quantity::Position).filter(|sensor| sensor.of.iter().any(|of| of.value == machine));
    let is_measured = own().next().is_some();
    let is_known = commanders.is_empty() || commanders.iter().any(|by| own().any(|one| knows(view, one, by)));
    (!is_measured || !is_known).then(|| Lack {
        quantity: Quantity::Position,
        is_bare: !is_measured,
        strangers: readers(own()),
        what: if is_measured {
            format!("{} does not read the position of the rotor of {machine}", listed(commanders))
        } else {
            format!("nothing measures the position of the rotor of {machine}")
        },
        entry: format!(
            "{machine}_position: {{ measures: position, of: [{machine}]{} }}",
            read_by(commanders)
        ),
        barrier: barrier(view, &[stage]),
    })
}
