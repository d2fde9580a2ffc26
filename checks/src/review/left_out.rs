//! What a description with high voltage leaves out altogether, so that nobody takes silence for a pass.
//!
//! A concept may well say nothing yet of its isolation, its gate drives or its control. Then no check is about them, nothing is
//! missing that a verdict waits for, and none of it counts. Outputs for gates are asked for wherever there are gates.

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::{PartId, Solved};

use super::not_judged::NotJudged;
use crate::control_cover::is_broken;

/// Sections that are not stated, and the bus that they matter for most.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// The sections.
    pub sections: Vec<&'static str>,
    /// The bus with the highest voltage.
    pub bus: String,
    /// How high it comes, V.
    pub voltage: f64,
}

/// What is left out of a unit, where a bus of it hurts. What verdicts wait for is told there.
pub(super) fn left_out(all: &[Solved<'_>], waiting: &[NotJudged]) -> Option<LeftOut> {
    let plan = &all.first()?.variant.plan;
    let has_gates = plan.stages.iter().flat_map(|stage| &stage.positions).any(|one| one.gate.is_some());
    let controls = plan.control.as_ref();
    // What could not be read is not left out.
    let variant = all.first()?.variant;
    let is_commanded = controls.is_some_and(|control| {
        !control.controllers.is_empty() || is_broken(variant, control.controllers_stated)
    });
    let is_driven = is_commanded
        || controls
            .is_some_and(|control| !control.drivers.is_empty() || is_broken(variant, control.drivers_stated));
    let mut missing = waiting.iter().flat_map(|one| &one.paths);
    let is_waited_for = missing.any(|path| path.starts_with("drivers"));
    let silent = [
        ("isolation", plan.isolation.is_none() && !plan.isolation_left_out),
        ("drivers", has_gates && !is_driven && !is_waited_for),
        ("controllers", has_gates && !is_commanded),
    ];
    let sections: Vec<&'static str> =
        silent.iter().filter(|(_, is_silent)| *is_silent).map(|(name, _)| *name).collect();
    let highest = all.iter().flat_map(|solved| buses(solved)).max_by(|one, other| one.1.total_cmp(&other.1));
    let ((bus, solved), voltage) = highest.filter(|_| !sections.is_empty())?;
    let hurts = voltage > HARMLESS.si();
    hurts.then(|| LeftOut { sections, bus: solved.variant.path(bus).to_owned(), voltage })
}

/// The highest voltage of each bus of a variant.
fn buses<'s, 'u>(solved: &'s Solved<'u>) -> impl Iterator<Item = ((PartId, &'s Solved<'u>), f64)> {
    solved.variant.plan.buses.iter().filter_map(move |bus| {
        let volts = solved.variant.lane_ids().filter_map(|lane| solved.figure(bus.highest_voltage, lane));
        Some(((bus.part, solved), volts.reduce(f64::max)?))
    })
}
