//! What hangs on a bus, the largest of it first.

use loadworthy_unit::plan::{Load, Port, Stage};
use loadworthy_unit::{Dimension, LaneId, PartId, Solved};

use crate::figure_text::value;
use crate::review::Place;
use crate::tell::{demand, place};

/// Something that takes power from a bus or gives it back.
#[derive(Clone, Copy)]
pub(crate) enum Consumer<'v> {
    /// A stage, by the port at the bus.
    Stage(&'v Stage, &'v Port),
    /// A load.
    Load(&'v Load),
}

impl<'v> Consumer<'v> {
    pub(crate) const fn part(&self) -> PartId {
        match self {
            Self::Stage(stage, _) => stage.part,
            Self::Load(load) => load.part,
        }
    }

    const fn port(&self) -> &'v Port {
        match self {
            Self::Stage(_, port) => port,
            Self::Load(load) => &load.port,
        }
    }

    /// Power that it takes from the bus; negative while it gives.
    pub(crate) fn drawn(&self, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
        solved.figure(self.port().drawn, lane)
    }

    /// What the duty point asks of it.
    pub(crate) fn asked(&self, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
        match self {
            Self::Stage(stage, _) => demand(stage, solved, lane),
            Self::Load(load) => {
                let watts = solved.input(load.power, lane).filter(|power| power.abs() > 0.0);
                let (input, text) = match (watts, solved.input(load.current, lane)) {
                    (Some(watts), _) => (load.power, value(watts, Dimension::Power)),
                    (None, Some(amps)) => (load.current, value(amps, Dimension::Current)),
                    (None, None) => return None,
                };
                place(solved, input, lane, format!("{text} asked"))
            }
        }
    }
}

/// All that hangs on each bus, in the same order.
pub(crate) fn consumers_of_all<'v>(solved: &Solved<'v>) -> Vec<Vec<Consumer<'v>>> {
    let plan = &solved.variant.plan;
    let mut all = vec![Vec::new(); plan.buses.len()];
    for stage in &plan.stages {
        for port in &stage.ports {
            if let Some(bus) = port.bus {
                all[bus].push(Consumer::Stage(stage, port));
            }
        }
    }
    for load in &plan.loads {
        if let Some(bus) = load.port.bus {
            all[bus].push(Consumer::Load(load));
        }
    }
    all
}

/// All that hangs on a bus, stages first, in the order of the description.
pub(crate) fn consumers<'v>(solved: &Solved<'v>, bus: usize) -> Vec<Consumer<'v>> {
    let plan = &solved.variant.plan;
    let stages = plan.stages.iter().flat_map(|stage| {
        stage.ports.iter().filter(|port| port.bus == Some(bus)).map(move |port| Consumer::Stage(stage, port))
    });
    let loads = plan.loads.iter().filter(|load| load.port.bus == Some(bus)).map(Consumer::Load);
    stages.chain(loads).collect()
}

/// What weighs most on a bus: while it gives, what takes the most; while it takes, what gives the most. Without figures
/// the first that is asked for anything.
pub(crate) fn heaviest(solved: &Solved<'_>, bus: usize, takes: bool, lane: LaneId) -> Option<Place> {
    let sense = if takes { -1.0 } else { 1.0 };
    let mut all = consumers(solved, bus);
    let weight = |one: &Consumer<'_>| one.drawn(solved, lane).map_or(0.0, |drawn| sense * drawn);
    all.sort_by(|one, other| weight(other).total_cmp(&weight(one)));
    all.iter().find_map(|one| one.asked(solved, lane))
}
