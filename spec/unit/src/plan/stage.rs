//! Converters: where they stand, what their lanes are given, what is solved for them.

use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{GateNode, Port, Synchronised, Withstand};
use crate::trace::Operand;

/// A converter.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The stage.
    pub part: PartId,
    /// What it is.
    pub topology: Topology,
    /// Carrier frequency.
    pub carrier: InputId,
    /// The carrier that it follows, where it follows one.
    pub synchronised: Option<Synchronised>,
    /// Dead time.
    pub dead_time: InputId,
    /// Its ports: that of a bridge; low then high of a chopper; from then to of an isolated stage.
    pub ports: Vec<Port>,
    /// The port whose bus says how much it passes; none for a bridge, and where nothing says so.
    pub led_by: Option<usize>,
    /// What would have to state how much it passes, where nothing says so.
    pub unsaid: Option<InputId>,
    /// The kinds of its positions, with the device fitted and their count in parallel.
    pub seats: Vec<Seat>,
    /// Its switch positions.
    pub positions: Vec<Position>,
    /// What its kinds of position block.
    pub withstands: Vec<Withstand>,
    /// The packages that its chips are in, a range of the plan's.
    pub packages: core::ops::Range<usize>,
    /// Its chokes and transformer in the plan, with their currents.
    pub magnetics: Vec<usize>,
    /// What is solved for every stage.
    pub figures: StageFigures,
    /// What is summed for the stage's loss, in pairs that are multiplied.
    pub(crate) losses: Vec<Operand>,
}

/// What a converter is.
#[derive(Clone, Debug)]
pub enum Topology {
    /// A three-phase bridge.
    Bridge(Bridge),
    /// A half bridge with a choke, in one leg or several.
    Chopper(Chopper),
    /// A stage with a transformer.
    Isolated(Isolated),
}

/// Figures of every stage.
#[derive(Clone, Copy, Debug)]
pub struct StageFigures {
    /// Loss of all its devices and magnetic components.
    pub loss: FigureId,
    /// Power out over power in, in the direction of flow.
    pub efficiency: FigureId,
}

/// A kind of switch position, as the description names it.
#[derive(Clone, Debug)]
pub struct Seat {
    /// Its key, such as `high_side`.
    pub key: &'static str,
    /// Name of the device fitted, where one is named.
    pub fitted: Option<String>,
    /// Devices in parallel at each position.
    pub parallel: InputId,
    /// How many swings of a junction its package stands, where that is stated.
    pub power_cycling: Option<PowerCycling>,
}

/// Cycles of a junction that a package stands.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerCycling {
    /// Swings in K, rising, with how many of each are stood.
    pub points: Vec<(f64, f64)>,
    /// Highest junction temperature that they hold up to in °C; without a bound where none is stated.
    pub up_to: f64,
}

/// A switch position.
#[derive(Clone, Debug)]
pub struct Position {
    /// The position.
    pub part: PartId,
    /// Its kind: a place in `seats`.
    pub seat: usize,
    /// What it does.
    pub role: Role,
    /// Which of its kind: 0, 1, 2 for u, v, w; the leg of a chopper.
    pub leg: usize,
    /// Its chips: for each place of its devices the transistor, then for an IGBT the diode.
    pub chips: core::ops::Range<usize>,
    /// The potential that its gate is driven from; none where nothing is switched.
    pub gate: Option<GateNode>,
}

/// What a switch position does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// High side of a leg.
    HighSide,
    /// Low side of a leg.
    LowSide,
    /// High side of a full bridge.
    BridgeHigh,
    /// Low side of a full bridge.
    BridgeLow,
    /// Rectifier of a full bridge.
    Rectifier,
    /// Main switch of a forward converter.
    Main,
    /// Clamp switch of a forward converter.
    Clamp,
    /// Rectifier that conducts with the main switch.
    Forward,
    /// Rectifier that conducts without it.
    Freewheel,
}

impl Role {
    /// Whether it stands in a leg between the rails of a bus.
    #[must_use]
    pub const fn is_of_leg(self) -> bool {
        matches!(self, Self::HighSide | Self::LowSide)
    }

    /// The side of a leg that it stands on.
    #[must_use]
    pub const fn side(self) -> Side {
        match self {
            Self::HighSide | Self::BridgeHigh | Self::Clamp => Side::High,
            Self::LowSide
            | Self::BridgeLow
            | Self::Rectifier
            | Self::Main
            | Self::Forward
            | Self::Freewheel => Side::Low,
        }
    }
}

/// A side of a leg.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    /// Between the positive rail and the middle of the leg.
    High,
    /// Between the middle of the leg and the negative rail.
    Low,
}

impl Side {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::High => Self::Low,
            Self::Low => Self::High,
        }
    }
}

/// A three-phase bridge.
#[derive(Clone, Debug)]
pub struct Bridge {
    /// Whether overmodulation is excluded by the description.
    pub overmodulation_excluded: bool,
    /// Whether its machine has no flux but what its bridge excites: an induction machine.
    pub is_excited: bool,
    /// The machine that it feeds.
    pub machine: Option<PartId>,
    /// What its lanes are given.
    pub inputs: BridgeInputs,
    /// What is solved for it.
    pub figures: BridgeFigures,
}

/// Inputs of a bridge.
#[derive(Clone, Copy, Debug)]
pub struct BridgeInputs {
    /// 1 where a duty point asks something of it, 0 where it rests.
    pub active: InputId,
    /// Power at the machine.
    pub power: InputId,
    /// Phase current, RMS.
    pub phase_current: InputId,
    /// Voltage between lines, RMS.
    pub line_voltage: InputId,
    /// Cosine of the angle from voltage to current.
    pub power_factor: InputId,
    /// Output frequency; 0 is standstill.
    pub frequency: InputId,
    /// Resistance of a phase of the machine.
    pub phase_resistance: InputId,
    /// Smaller of the machine's two inductances, where stated.
    pub inductance: Option<InputId>,
    /// The same, or what would have to state it.
    pub ripple_inductance: InputId,
    /// Constants of the machine, where a duty point states torque or shaft power.
    pub constants: Option<MachineConstants>,
    /// Modulation as a number; see [`crate::solver::bridge::modulation`].
    pub modulation: InputId,
}

/// Constants of a permanent-magnet machine, and what a duty point asks of its shaft.
#[derive(Clone, Copy, Debug)]
pub struct MachineConstants {
    /// Torque at the shaft; missing where a duty point states none.
    pub torque: InputId,
    /// Power at the shaft in place of a torque.
    pub shaft_power: InputId,
    /// Turns of the shaft a second.
    pub speed: InputId,
    /// Pairs of poles.
    pub pole_pairs: InputId,
    /// Crest of the magnet flux.
    pub flux_linkage: InputId,
    /// Inductance along the magnet flux.
    pub d: InputId,
    /// Inductance across it.
    pub q: InputId,
    /// Share of the linear limit at which the field is weakened.
    pub field_weakening: InputId,
    /// Current along the magnet flux.
    pub d_current: FigureId,
    /// Current across it.
    pub q_current: FigureId,
    /// Torque that is asked.
    pub torque_asked: FigureId,
    /// Crest of the phase voltage that the bus leaves.
    pub available_voltage: FigureId,
}

/// Figures of a bridge.
#[derive(Clone, Copy, Debug)]
pub struct BridgeFigures {
    /// Output frequency.
    pub frequency: FigureId,
    /// Voltage between lines at the machine, RMS.
    pub line_voltage: FigureId,
    /// Power factor with the sign of the power.
    pub power_factor: FigureId,
    /// Phase current, RMS.
    pub phase_current: FigureId,
    /// Crest of the phase current.
    pub phase_current_peak: FigureId,
    /// Largest phase current, its ripple included.
    pub largest_current: FigureId,
    /// Power at the machine.
    pub output_power: FigureId,
    /// Crest of the voltage that the conducting devices take, along the current.
    pub device_drop: FigureId,
    /// Crest of the voltage that the devices and the dead time take, along the current.
    pub voltage_drop: FigureId,
    /// Modulation index that is commanded, dead time included; limits are about it.
    pub modulation_index: FigureId,
    /// Modulation index that the poles form once the dead time has taken its part; currents follow from it.
    pub formed_index: FigureId,
    /// Carrier periods in a turn of the output; where it turns.
    pub carrier_ratio: FigureId,
    /// Ripple of the phase current at the carrier, RMS; where the inductance is known.
    pub phase_ripple: Option<FigureId>,
    /// What that ripple makes of RMS currents; where the inductance is known.
    pub ripple_factor: Option<FigureId>,
    /// Ripple current that the link capacitors carry for this bridge, RMS.
    pub link_ripple: FigureId,
}

/// A half bridge with a choke between a low and a high bus.
#[derive(Clone, Debug)]
pub struct Chopper {
    /// Which way it is named; the circuit is the same.
    pub kind: ChopperKind,
    /// The position that is a diode alone, so that power passes one way only.
    pub diode_side: Option<Side>,
    /// What its lanes are given.
    pub inputs: ChopperInputs,
    /// What is solved for it.
    pub figures: ChopperFigures,
}

/// Which way a chopper is named.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ChopperKind {
    /// From the low to the high bus, and back.
    Boost,
    /// From the high to the low bus.
    Buck,
}

/// Inputs of a chopper.
#[derive(Clone, Copy, Debug)]
pub struct ChopperInputs {
    /// Interleaved legs.
    pub legs: InputId,
    /// Inductance of the choke of each leg.
    pub inductance: InputId,
    /// Resistance of its winding.
    pub winding: InputId,
}

/// Figures of a chopper.
#[derive(Clone, Copy, Debug)]
pub struct ChopperFigures {
    /// Mean current of each leg's choke, from the low to the high bus.
    pub leg_current: FigureId,
    /// Voltage that choke and conducting device take, in the direction of the leg current.
    pub drop: FigureId,
    /// Share of the period that the low side conducts.
    pub duty: FigureId,
    /// Share of the period that the switch conducts that its limit is about: low side of a boost, high side of a buck.
    pub limited_duty: FigureId,
    /// Ripple of the choke current, peak to peak.
    pub ripple: FigureId,
    /// The same over the mean of the leg.
    pub ripple_share: FigureId,
    /// RMS current of the choke.
    pub leg_rms: FigureId,
    /// Largest magnitude of the choke current.
    pub leg_peak: FigureId,
    /// Ripple current of the capacitors at the low bus, RMS.
    pub low_ripple: FigureId,
    /// Ripple current of the capacitors at the high bus, RMS.
    pub high_ripple: FigureId,
}

/// A stage with a transformer.
#[derive(Clone, Debug)]
pub struct Isolated {
    /// The circuit.
    pub kind: IsolatedKind,
    /// What its lanes are given.
    pub inputs: IsolatedInputs,
    /// What is solved for it.
    pub figures: IsolatedFigures,
}

/// The circuit of a stage with a transformer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum IsolatedKind {
    /// Phase-shifted full bridge with a centre tap.
    CentreTap,
    /// Phase-shifted full bridge with a current doubler.
    CurrentDoubler,
    /// Active-clamp forward converter.
    Forward,
    /// Full bridge whose rectifier circuit is not stated.
    UnknownRectifier,
}

/// Inputs of a stage with a transformer.
#[derive(Clone, Copy, Debug)]
pub struct IsolatedInputs {
    /// Turns of the primary over those of the secondary.
    pub turns_ratio: InputId,
    /// Magnetising inductance.
    pub magnetising: InputId,
    /// Leakage inductance.
    pub leakage: InputId,
    /// Inductance of the output choke.
    pub inductance: InputId,
    /// Output capacitance of one device at the first primary kind of position, and at the second: high and low side of
    /// a full bridge, main and clamp switch of a forward converter.
    pub output_capacitance: [InputId; 2],
    /// Largest duty of a forward converter; 1 for the phase shift of a full bridge.
    pub largest_duty: InputId,
    /// The rectifier circuit as a number: 0 where it is stated.
    pub circuit: InputId,
}

/// Figures of a stage with a transformer.
#[derive(Clone, Copy, Debug)]
pub struct IsolatedFigures {
    /// Output voltage with what the rectifiers take.
    pub driven_voltage: FigureId,
    /// Effective duty: share of the period (of a half one in a full bridge) that the secondary is driven.
    pub effective_duty: FigureId,
    /// Duty of the main switch, or phase shift over half a period; what the limit is about.
    pub duty: FigureId,
    /// RMS current of the primary winding.
    pub primary_rms: FigureId,
    /// Largest primary current.
    pub primary_peak: FigureId,
    /// RMS current of a secondary winding; of one half with a centre tap.
    pub secondary_rms: FigureId,
    /// Ripple of the output choke's current, peak to peak.
    pub ripple: FigureId,
    /// RMS current of the output choke; of each of the two of a current doubler.
    pub choke_rms: FigureId,
    /// Largest current of the output choke.
    pub choke_peak: FigureId,
    /// Ripple of the magnetising current, peak to peak.
    pub magnetising_ripple: FigureId,
    /// Largest magnitude of the magnetising current.
    pub magnetising_peak: FigureId,
    /// Ripple current of the capacitors at the input, RMS.
    pub input_ripple: FigureId,
    /// Ripple current of the capacitors at the output, RMS.
    pub output_ripple: FigureId,
    /// Voltage that a rectifier blocks, ringing left out; of a forward converter the one in series.
    pub rectifier_voltage: FigureId,
    /// Voltage that the freewheel of a forward converter blocks, ringing left out.
    pub freewheel_voltage: Option<FigureId>,
    /// Voltage that a primary switch blocks.
    pub switch_voltage: FigureId,
    /// 1 where the lagging leg of a full bridge turns on softly.
    pub soft: FigureId,
}

impl IsolatedFigures {
    /// The voltage that a position of a role switches.
    pub(crate) fn switched(&self, role: Role) -> FigureId {
        match role {
            Role::Freewheel => self.freewheel_voltage.unwrap_or(self.rectifier_voltage),
            Role::Rectifier | Role::Forward => self.rectifier_voltage,
            _ => self.switch_voltage,
        }
    }
}

impl Stage {
    /// Whether a port carries pulses: that of a bridge, the higher one of a chopper, and that on the side of the legs of a stage
    /// with a transformer. At the other ports stands a choke.
    #[must_use]
    pub const fn chops(&self, port: usize) -> bool {
        match self.topology {
            Topology::Bridge(_) => true,
            Topology::Chopper(_) => port == 1,
            Topology::Isolated(_) => port == 0,
        }
    }

    /// Its bridge, where it is one.
    #[must_use]
    pub fn bridge(&self) -> Option<&Bridge> {
        match &self.topology {
            Topology::Bridge(bridge) => Some(bridge),
            Topology::Chopper(_) | Topology::Isolated(_) => None,
        }
    }

    /// The port that leads a stage between two buses: what hangs on its bus says how much the stage passes.
    pub(crate) fn lead(&self) -> Option<&Port> {
        self.between()?.get(self.led_by?)
    }

    /// The port across from the one that leads.
    pub(crate) fn other(&self) -> Option<&Port> {
        self.between()?.get(1 - self.led_by?)
    }

    fn between(&self) -> Option<&[Port; 2]> {
        self.ports.as_slice().try_into().ok()
    }

    /// The voltage that a position switches; none where a port lacks.
    #[must_use]
    pub fn switched(&self, position: &Position) -> Option<FigureId> {
        match &self.topology {
            Topology::Bridge(_) => self.ports.first().map(|port| port.voltage),
            Topology::Chopper(_) => self.ports.get(1).map(|high| high.voltage),
            Topology::Isolated(own) => Some(own.figures.switched(position.role)),
        }
    }

    /// The count in parallel at a position.
    #[must_use]
    pub fn parallel(&self, position: &Position) -> InputId {
        self.seats[position.seat].parallel
    }
}
