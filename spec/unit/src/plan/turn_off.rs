//! Switch positions between the rails of a bus, and the loop whose inductance a turn-off meets.

use crate::ids::{FigureId, InputId};

/// A kind of switch position that turns a current off between the rails of a bus.
#[derive(Clone, Debug)]
pub struct TurnOff {
    /// The stage, in the plan.
    pub stage: usize,
    /// Its place in what the stage's kinds of position block, which holds bus, device and part.
    pub withstand: usize,
    /// Whether a field-effect transistor turns off, whose loop rings; the gate of an IGBT holds the slope.
    pub rings: bool,
    /// Inductance of the bars between banks and switches.
    pub bars: InputId,
    /// Where no bank stands on the bus: what would have to be stated.
    pub no_bank: Option<InputId>,
    /// Packages in the loop: their inductance, and how many stand in parallel.
    pub packages: Vec<(InputId, InputId)>,
    /// Time that the current takes to fall, from 90 to 10 %.
    pub fall: InputId,
    /// Output capacitance of one device.
    pub capacitance: InputId,
    /// Relative growth of the blocking voltage with temperature.
    pub per_kelvin: InputId,
    /// Lowest temperature of the surroundings.
    pub coldest: InputId,
    /// Current of the position at which protection switches it off, where one is stated.
    pub trip: Option<InputId>,
    /// The current once that has acted late, with what its delay adds where that is stated.
    pub tripped: Option<FigureId>,
    /// What is solved for it.
    pub figures: TurnOffFigures,
}

impl TurnOff {
    /// The voltage that recurs at each turn-off: where the loop rings, its bound without damping.
    #[must_use]
    pub const fn highest(&self) -> FigureId {
        if self.rings { self.figures.undamped } else { self.figures.plateau }
    }
}

/// Figures of a turn-off.
#[derive(Clone, Copy, Debug)]
pub struct TurnOffFigures {
    /// Inductance of the loop.
    pub inductance: FigureId,
    /// Largest current that all devices of a position turn off together.
    pub current: FigureId,
    /// Voltage across the position while the current falls.
    pub plateau: FigureId,
    /// The same where nothing damps the ring of loop and output capacitance.
    pub undamped: FigureId,
    /// What the device blocks in the cold.
    pub blocks: FigureId,
}
