//! How many swings of a junction packages stand.

use crate::build::Build;
use crate::plan::PowerCycling;

/// What the package of a device stands; none where nobody says so.
pub(crate) fn of(build: &Build<'_>, device: &str) -> Option<PowerCycling> {
    let written = build.description.devices.entry(device)?.package.as_ref()?.power_cycling.as_ref()?;
    let points = written.swing.iter().zip(&written.cycles.value);
    let points = points.map(|(swing, cycles)| (swing.value.si(), cycles.value)).collect();
    let up_to = written.up_to.as_ref().map_or(f64::INFINITY, |up_to| up_to.value.in_celsius());
    Some(PowerCycling { points, up_to })
}
