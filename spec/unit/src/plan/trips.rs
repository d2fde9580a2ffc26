//! What switches stages off, and how high a bus comes before and after it has.

use loadworthy_physics::{Current, Inductance};

use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::plan::Plan;

/// The overvoltage trip of a bus.
#[derive(Clone, Debug)]
pub struct VoltageTrip {
    /// The bus, in the plan.
    pub bus: usize,
    /// Whether the description states one; else its inputs are missing.
    pub is_stated: bool,
    /// Voltage at which it responds.
    pub level: InputId,
    /// How far that level lies apart, to either side.
    pub tolerance: InputId,
    /// From that level until all gates are off.
    pub delay: InputId,
    /// What its gates alone take of that, in the plan, where their drivers say it.
    pub acting: Option<usize>,
    /// Highest voltage that its sensor reads.
    pub sensor_range: InputId,
    /// Highest open-circuit voltage of each battery on the bus; of a trip that is stated also where it is missing.
    pub spans: Vec<InputId>,
    /// Highest voltage in service, half the ripple included.
    pub normal: FigureId,
    /// Level of a unit that trips early.
    pub lowest: FigureId,
    /// Level of a unit that trips late.
    pub highest: FigureId,
}

/// A bus that machines lift once what takes their power opens.
#[derive(Clone, Debug)]
pub struct LossOfLoad {
    /// Its trip, in the plan.
    pub trip: usize,
    /// Whether a trip is asked for: the description tells how the unit is controlled and what is measured.
    pub asks_trip: bool,
    /// Where no bank stands on it: what would have to be stated.
    pub no_bank: Option<InputId>,
    /// Machines whose bridges turn all gates off.
    pub machines: Vec<LeftTurning>,
    /// Chokes that end at it.
    pub chokes: Vec<LeftFlowing>,
    /// Power that its sink takes; none where it gives.
    pub recovered: FigureId,
    /// From the opening until all gates are off.
    pub time: FigureId,
    /// Voltage then.
    pub as_gates_go_off: FigureId,
    /// Highest voltage.
    pub highest: FigureId,
}

/// A trip that states how soon gates are off, with what that takes at least.
#[derive(Clone, Debug)]
pub struct Acting {
    /// The bus or the stage that is tripped.
    pub part: PartId,
    /// The delay that the trip states.
    pub stated: InputId,
    /// Delay of a driver, and turn-off delay of the device at its gate, where that states one.
    pub ways: Vec<(InputId, Option<FigureId>)>,
    /// What would state the delay of drivers that say how they drive, and not this.
    pub unstated: Vec<InputId>,
    /// What the slowest of them takes.
    pub needed: FigureId,
}

/// A machine that turns on with current in it.
#[derive(Clone, Copy, Debug)]
pub struct LeftTurning {
    /// Its bridge, in the plan.
    pub stage: usize,
    /// Crest of the flux of its magnets; none of an induction machine, which shows the voltage of its terminals.
    pub flux_linkage: Option<InputId>,
    /// Inductances of a phase; the larger holds more.
    pub inductances: [InputId; 2],
}

/// Chokes of a stage that end at a bus.
#[derive(Clone, Copy, Debug)]
pub struct LeftFlowing {
    /// The stage, in the plan.
    pub stage: usize,
    /// Whether the bus is its high one.
    pub is_high: bool,
}

/// The overcurrent trip of a stage.
#[derive(Clone, Debug)]
pub struct CurrentTrip {
    /// The stage, in the plan.
    pub stage: usize,
    /// Current at which it responds: a crest in a phase, of a chopper in a choke.
    pub level: InputId,
    /// How far that level lies apart, to either side.
    pub tolerance: InputId,
    /// From that level until the current falls.
    pub delay: InputId,
    /// What its gates alone take of that, in the plan, where their drivers say it.
    pub acting: Option<usize>,
    /// Largest current that its sensors read.
    pub range: InputId,
    /// What holds the current back meanwhile.
    pub inductance: InputId,
    /// Whether the inductance is stated for the fault.
    pub is_fault_stated: bool,
    /// Largest current in service, ripple included.
    pub normal: FigureId,
    /// Level of a unit that trips early.
    pub lowest: FigureId,
    /// Level of a unit that trips late.
    pub highest: FigureId,
    /// Current when its devices turn it off.
    pub turned_off: FigureId,
    /// Kinds of position that turn it off.
    pub seats: Vec<TrippedSeat>,
}

impl CurrentTrip {
    /// What would say how long it takes, of a trip of which a figure counts the level alone: more flows before the current falls.
    #[must_use]
    pub fn lacks_delay(plan: &Plan, counted: FigureId) -> Option<InputId> {
        plan.current_trips.iter().find(|trip| trip.highest == counted).map(|trip| trip.delay)
    }

    /// The curve of the choke that holds the current back, where that softens and no inductance is stated for the fault.
    #[must_use]
    pub fn softening<'p>(&self, plan: &'p Plan) -> Option<&'p (CurveId, Vec<(Current, Inductance)>)> {
        let own = plan.stages[self.stage].magnetics.first().filter(|_| !self.is_fault_stated)?;
        plan.magnetics[*own].core.softening.as_ref()
    }
}

/// A kind of position that turns off what a trip lets through.
#[derive(Clone, Copy, Debug)]
pub struct TrippedSeat {
    /// The kind of position.
    pub part: PartId,
    /// Its place in the seats of the stage.
    pub seat: usize,
    /// Repetitive peak current of one of its transistors.
    pub repetitive_peak: InputId,
    /// Current in one of its devices as it turns off.
    pub each: FigureId,
}
