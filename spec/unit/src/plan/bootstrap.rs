//! High gates that live on a capacitor which the low side recharges.

use crate::ids::{FigureId, InputId};

/// A bootstrap.
#[derive(Clone, Debug)]
pub struct Bootstrap {
    /// The output that it is, in the plan.
    pub supply: usize,
    /// The output that charges it, in the plan.
    pub from: usize,
    /// The gates that live on it, in the plan; all in one kind of position of a leg.
    pub drive: usize,
    /// The bus in the plan that its stage works from.
    pub bus: Option<usize>,
    /// What its diode blocks: the highest voltage of that bus, or of a clamp that of its node.
    pub across: Option<FigureId>,
    /// Its capacitor.
    pub capacitance: InputId,
    /// The resistance that it is charged through.
    pub resistance: InputId,
    /// Voltage over its diode.
    pub diode_drop: InputId,
    /// Highest voltage that the diode blocks.
    pub blocking_voltage: InputId,
    /// Current that driver and capacitor take.
    pub leakage: InputId,
    /// Charge that a level shifter takes in each period.
    pub shift_charge: InputId,
    /// Voltage that it is charged from.
    pub charged_from: InputId,
    /// How far that may lie off, as a share.
    pub tolerance: InputId,
    /// What the low side takes of the charging voltage, of stages without a transformer.
    pub low_drop: Option<FigureId>,
    /// How long each duty point lasts; missing where it goes on.
    pub lasts: InputId,
    /// What is solved for it.
    pub figures: BootstrapFigures,
}

/// Figures of a bootstrap.
#[derive(Clone, Copy, Debug)]
pub struct BootstrapFigures {
    /// Longest time from one recharge to the next; infinite where there is none.
    pub on_time: FigureId,
    /// Time of a recharge.
    pub recharge: FigureId,
    /// Current that it gives besides the charge of its gate.
    pub current: FigureId,
    /// Droop from one recharge to the next.
    pub droop: FigureId,
    /// How far its voltage falls below that which it is charged from.
    pub fall: FigureId,
    /// How far it may fall until the driver blocks the gate.
    pub reserve: FigureId,
}
