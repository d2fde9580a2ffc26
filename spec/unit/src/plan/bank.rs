//! Capacitor banks, and the ripple that stages send into them.

use crate::ids::{FigureId, InputId, PartId};

/// A bank across a bus.
#[derive(Clone, Debug)]
pub struct Bank {
    /// The bank.
    pub part: PartId,
    /// Capacitors in parallel.
    pub parts: InputId,
    /// What the data sheet says of each of them.
    pub each: CapacitorInputs,
    /// Inductance between the bank and its bus.
    pub path_inductance: InputId,
    /// Resistance between the bank and its bus.
    pub path_resistance: InputId,
    /// Temperature of the air around it.
    pub air: InputId,
    /// What is known of its life, and asked of it; none where nobody says anything.
    pub life: Option<Life>,
    /// What is solved for it.
    pub figures: BankFigures,
}

/// Life of the capacitors of a bank.
#[derive(Clone, Copy, Debug)]
pub struct Life {
    /// How long one lasts by its data sheet.
    pub endurance: InputId,
    /// Hot spot at which it does.
    pub hot_spot: InputId,
    /// Voltage at which it does.
    pub voltage: InputId,
    /// Kelvins more that halve it.
    pub halved_by: InputId,
    /// How long it lasts as it is used.
    pub lasts: FigureId,
    /// How long it has to last, where that is stated, and how much of its endurance that wears.
    pub asked: Option<(InputId, FigureId)>,
}

/// What the data sheet says of a capacitor.
#[derive(Clone, Copy, Debug)]
pub struct CapacitorInputs {
    /// Capacitance.
    pub capacitance: InputId,
    /// Tolerance of the capacitance, to either side.
    pub tolerance: InputId,
    /// Rated direct voltage.
    pub voltage: InputId,
    /// RMS ripple current that it stands.
    pub ripple_current: InputId,
    /// Series resistance at the ripple frequency.
    pub series_resistance: InputId,
    /// Inductance of its own.
    pub inductance: InputId,
    /// Hot spot to the air.
    pub thermal_resistance: InputId,
    /// Highest temperature of its hot spot.
    pub hottest: InputId,
}

/// Figures of a bank.
#[derive(Clone, Copy, Debug)]
pub struct BankFigures {
    /// Ripple current of the bank, RMS.
    pub ripple_current: FigureId,
    /// Ripple current of one of its capacitors, RMS.
    pub each_ripple: FigureId,
    /// Loss of one of its capacitors.
    pub loss: FigureId,
    /// Temperature of its hot spot.
    pub hot_spot: FigureId,
    /// Highest voltage across it, half the ripple included.
    pub peak_voltage: FigureId,
}

/// Ripple on a bus, and what shares it.
#[derive(Clone, Debug, Default)]
pub struct Ripple {
    /// Banks on the bus, in the plan.
    pub banks: Vec<usize>,
    /// Stages that send ripple into them, at one of their ports.
    pub terms: Vec<RippleTerm>,
    /// Figures; none where no bank stands here.
    pub figures: Option<RippleFigures>,
}

/// Ripple of one stage at one of its ports.
#[derive(Clone, Copy, Debug)]
pub struct RippleTerm {
    /// The stage, in the plan.
    pub stage: usize,
    /// The port, among those of the stage.
    pub port: usize,
    /// Its ripple current there, RMS.
    pub current: FigureId,
}

/// Figures of the ripple on a bus.
#[derive(Clone, Copy, Debug)]
pub struct RippleFigures {
    /// Ripple current of all stages together, RMS.
    pub current: FigureId,
    /// Ripple of the voltage, peak to peak; of several stages the sum.
    pub voltage: FigureId,
    /// Largest share of a line of a stage that one bank carries, of lines that matter beside the whole; above 1 it
    /// resonates with what stands beside it.
    pub largest_share: FigureId,
}

/// The carrier that a stage follows.
#[derive(Clone, Copy, Debug)]
pub struct Synchronised {
    /// The stage whose carrier it follows, in the plan.
    pub with: usize,
    /// How far it lags behind, in rad; missing where it is not stated.
    pub shift: InputId,
}

impl super::Plan {
    /// The stage whose carrier that of a stage follows in the end; itself where it follows none.
    #[must_use]
    pub fn followed_by(&self, stage: usize) -> usize {
        let mut at = stage;
        // No chain of carriers is longer than there are stages; one that leads back to itself ends somewhere on it.
        for _ in 0..self.stages.len() {
            let Some(next) = self.stages[at].synchronised else { break };
            at = next.with;
        }
        at
    }
}
