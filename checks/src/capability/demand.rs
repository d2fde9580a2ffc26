//! The load of a stage: what a duty point asks of it, or of what it feeds.

use loadworthy_unit::plan::{Load, Plan, Stage};
use loadworthy_unit::{Dimension, DutyId, InputId, Variant};

/// What is scaled: numbers that a duty point asks for, with their values.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// The numbers, each with what is asked.
    pub asked: Vec<(InputId, f64)>,
    /// What they come to, where they are of one kind.
    pub sum: Option<(f64, Dimension)>,
}

/// Why a stage has no load to scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unasked {
    /// There is no stage or load of that name.
    Unknown,
    /// The duty point asks nothing of it.
    Rests,
}

/// The stages and loads that may be asked about.
pub fn names(variant: &Variant) -> impl Iterator<Item = &str> + Clone {
    let plan = &variant.plan;
    let stages = plan.stages.iter().map(|stage| stage.part);
    stages.chain(plan.loads.iter().map(|load| load.part)).map(|part| variant.path(part))
}

/// What a duty point asks of a stage or a load.
///
/// # Errors
/// Says that there is none of that name, or that nothing is asked of it.
pub fn demand(variant: &Variant, duty: DutyId, name: &str) -> Result<Demand, Unasked> {
    let plan = &variant.plan;
    let mut inputs = Vec::new();
    if let Some(place) = plan.stages.iter().position(|stage| variant.path(stage.part) == name) {
        inputs = of_stage(plan, place);
    } else if let Some(load) = plan.loads.iter().find(|load| variant.path(load.part) == name) {
        inputs.extend(of_load(load));
    } else {
        return Err(Unasked::Unknown);
    }
    let stated = |id: InputId| (id, variant.tables.stated(id, duty).value);
    let mut asked: Vec<(InputId, f64)> = inputs.into_iter().map(stated).collect();
    asked.retain(|(id, value)| {
        variant.tables.input_of(*id).is_demand && value.is_finite() && value.abs() > 0.0
    });
    let dimension = |id: InputId| variant.tables.input_of(id).dimension;
    let kind = asked.first().map(|&(id, _)| dimension(id)).ok_or(Unasked::Rests)?;
    let is_one_kind = asked.iter().all(|&(id, _)| dimension(id) == kind);
    let sum = is_one_kind.then(|| (asked.iter().map(|(_, value)| value).sum(), kind));
    Ok(Demand { asked, sum })
}

/// What is asked of a bridge at its machine; of a converter what hangs on the bus that it leads to, and beyond.
fn of_stage(plan: &Plan, place: usize) -> Vec<InputId> {
    let mut inputs = Vec::new();
    let mut seen = vec![false; plan.stages.len()];
    let mut left = vec![place];
    while let Some(place) = left.pop() {
        if std::mem::replace(&mut seen[place], true) {
            continue;
        }
        let stage = &plan.stages[place];
        if let Some(bridge) = stage.bridge() {
            let own = &bridge.inputs;
            inputs.extend([own.power, own.phase_current]);
            inputs.extend(own.constants.iter().flat_map(|shaft| [shaft.torque, shaft.shaft_power]));
            continue;
        }
        let Some(bus) = stage.led_by.and_then(|port| stage.ports[port].bus) else { continue };
        inputs.extend(plan.loads.iter().filter(|load| load.port.bus == Some(bus)).flat_map(of_load));
        let beyond = plan
            .stages
            .iter()
            .enumerate()
            .filter(|&(other, beyond)| other != place && draws_from(beyond, bus));
        // The first comes off the stack first.
        left.extend(beyond.map(|(other, _)| other).rev());
    }
    inputs
}

/// Whether a stage meets a bus with another port than the one that says how much it passes.
fn draws_from(stage: &Stage, bus: usize) -> bool {
    let ports = stage.ports.iter().enumerate();
    ports.filter(|&(port, _)| stage.led_by != Some(port)).any(|(_, port)| port.bus == Some(bus))
}

const fn of_load(load: &Load) -> [InputId; 2] {
    [load.power, load.current]
}
