//! Machines with permanent magnets that turn while nothing controls them.

use crate::ids::{FigureId, InputId, PartId};

/// A bus with such machines.
#[derive(Clone, Debug)]
pub struct CoastingBus {
    /// The bus, in the plan.
    pub bus: usize,
    /// The machines that bridges on it feed.
    pub machines: Vec<Coasting>,
    /// Voltage that the fastest of them brings it to where nothing takes the charge.
    pub voltage: FigureId,
    /// Lowest open-circuit voltage of each battery on it that states one.
    pub floors: Vec<InputId>,
    /// Lowest voltage at which it may stand while its sources hold it.
    pub lowest: FigureId,
    /// Voltage at which something takes the charge.
    pub held: FigureId,
    /// Direct current of all of them that no short keeps from the bus, while it stands there.
    pub current: FigureId,
}

/// A machine that turns.
#[derive(Clone, Debug)]
pub struct Coasting {
    /// Its bridge, in the plan.
    pub stage: usize,
    /// The machine.
    pub machine: PartId,
    /// Pairs of poles.
    pub pole_pairs: InputId,
    /// Crest of the magnet flux.
    pub flux_linkage: InputId,
    /// Highest speed; missing where it is not stated.
    pub highest_speed: InputId,
    /// Crest of the current against the magnets that they stand; none where neither it is stated nor a short asks for it.
    pub demagnetising: Option<InputId>,
    /// Torque that shaft and gear stand, where stated.
    pub highest_torque: Option<InputId>,
    /// Speed at which the duty point turns it.
    pub turning: FigureId,
    /// The faster of both.
    pub speed: FigureId,
    /// Crest of its line voltage at that speed.
    pub line_crest: FigureId,
    /// Whether the description leaves open what its bridge does on a fault.
    pub is_left_open: bool,
    /// The short of its phases, where that is what the bridge does on a fault.
    pub short: Option<PhaseShort>,
    /// What it gives to its bus through the diodes, where no short keeps it in the machine.
    pub rectified: Option<Rectified>,
}

/// What a machine gives to a bus that something holds.
#[derive(Clone, Debug)]
pub struct Rectified {
    /// Inductance along the magnets and across them.
    pub axes: [InputId; 2],
    /// Direct current into the bus.
    pub direct: FigureId,
    /// What that comes to.
    pub power: FigureId,
    /// Torque that it brakes with.
    pub torque: FigureId,
    /// RMS current of a phase.
    pub rms: FigureId,
    /// Crest of that current.
    pub crest: FigureId,
    /// The kinds of position with diodes that it passes.
    pub seats: Vec<RectifyingSeat>,
}

/// A kind of position whose diodes a machine feeds its bus through.
#[derive(Clone, Debug)]
pub struct RectifyingSeat {
    /// The kind of position.
    pub part: PartId,
    /// Its place in the seats of the stage.
    pub seat: usize,
    /// The chip, in the plan: a diode, or what has one in its body.
    pub chip: usize,
    /// Continuous current of the diode at the solved case.
    pub rated: FigureId,
    /// RMS current in one of them.
    pub rms: FigureId,
    /// Crest in one of them.
    pub crest: FigureId,
}

/// A short of all phases of a machine.
#[derive(Clone, Debug)]
pub struct PhaseShort {
    /// Inductance along the magnets.
    pub d: InputId,
    /// Inductance across them.
    pub q: InputId,
    /// Resistance of a phase.
    pub resistance: InputId,
    /// Crest of the phase current once it is steady, at its fastest.
    pub steady: FigureId,
    /// Crest of the phase current in the first turn.
    pub crest: FigureId,
    /// Current against the magnets in the first turn.
    pub against_magnets: FigureId,
    /// Torque in the first turn, or steady at a lower speed.
    pub torque: FigureId,
    /// The kinds of position that may close the short.
    pub seats: Vec<ShortedSeat>,
}

/// A kind of position that closes a short of the phases.
#[derive(Clone, Debug)]
pub struct ShortedSeat {
    /// The kind of position.
    pub part: PartId,
    /// Its place in the seats of the stage.
    pub seat: usize,
    /// Repetitive peak currents of its chips, each once.
    pub repetitive_peaks: Vec<InputId>,
    /// Crest of the steady current in one of its devices.
    pub steady: FigureId,
    /// Crest of the first turn in one of its devices.
    pub crest: FigureId,
}
