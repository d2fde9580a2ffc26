//! The plan of a variant: what the solver works through, in order, with dense numbers in place of names.
//!
//! Built once from the graphs. Everything that a duty point or a trial may change is an input of a lane; what only
//! another description can change (curves, the order of the coolant path, which chips share a case) stands here.

use loadworthy_physics::coolant::Coolant;

use crate::device::{ConductionCurves, EnergyCurve};
use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::trace::Operand;

/// Everything that the solver works through.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Buses; each is fed by at most one source.
    pub buses: Vec<Bus>,
    /// Three-phase bridges.
    pub bridges: Vec<Bridge>,
    /// Direct-current loads.
    pub loads: Vec<Load>,
    /// The coolant loop, if one is described.
    pub coolant: Option<CoolantPath>,
    /// Packages, in the order of the bridges.
    pub packages: Vec<Package>,
    /// Chips, those of a package side by side.
    pub chips: Vec<Chip>,
}

/// A bus and what sets its voltage.
#[derive(Clone, Debug)]
pub struct Bus {
    /// The bus.
    pub part: PartId,
    /// Voltage that a duty point states, for the bus or for the terminals of its source.
    pub stated: InputId,
    /// The source that feeds it.
    pub source: Option<Source>,
    /// Solved voltage.
    pub voltage: FigureId,
    /// Solved power drawn from it; negative while it takes back.
    pub power: FigureId,
    /// Solved current drawn from it.
    pub current: FigureId,
    /// What is summed for `power`.
    pub(crate) drawn: Vec<Operand>,
}

/// A battery at a bus.
#[derive(Clone, Debug)]
pub struct Source {
    /// The source.
    pub part: PartId,
    /// Voltage behind its resistance, where a duty point states it.
    pub open_circuit: InputId,
    /// Highest internal resistance.
    pub resistance: InputId,
    /// Solved current; negative while it charges.
    pub current: FigureId,
    /// Solved power at its terminals.
    pub power: FigureId,
    /// Solved loss in its resistance.
    pub loss: FigureId,
}

/// A load that takes power from a bus.
#[derive(Clone, Debug)]
pub struct Load {
    /// The load.
    pub part: PartId,
    /// Place of its bus in the plan, if that is known.
    pub bus: Option<usize>,
    /// Power that a duty point states.
    pub power: InputId,
    /// Solved current.
    pub current: FigureId,
}

/// A three-phase bridge.
#[derive(Clone, Debug)]
pub struct Bridge {
    /// The stage.
    pub part: PartId,
    /// Place of its bus in the plan, if that is known.
    pub bus: Option<usize>,
    /// Whether overmodulation is excluded by the description.
    pub overmodulation_excluded: bool,
    /// What its lanes are given.
    pub inputs: BridgeInputs,
    /// What is solved for it.
    pub figures: BridgeFigures,
    /// Its six positions: high and low side of the legs u, v and w in turn.
    pub positions: Vec<Position>,
    /// The packages that its chips are in, a range of the plan's.
    pub packages: core::ops::Range<usize>,
    /// What is summed for the stage's loss.
    pub(crate) losses: Vec<Operand>,
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
    /// Carrier frequency.
    pub carrier: InputId,
    /// Dead time.
    pub dead_time: InputId,
    /// Modulation as a number; see [`crate::solver::bridge::modulation`].
    pub modulation: InputId,
    /// The bus as a number: 0 where it is stated; what hangs on it is missing where it is not.
    pub dc_bus: InputId,
    /// Devices in parallel in each high-side position, then in each low-side position.
    pub parallel: [InputId; 2],
}

/// Figures of a bridge.
#[derive(Clone, Copy, Debug)]
pub struct BridgeFigures {
    /// Voltage between lines at the machine, RMS.
    pub line_voltage: FigureId,
    /// Power factor with the sign of the power.
    pub power_factor: FigureId,
    /// Phase current, RMS.
    pub phase_current: FigureId,
    /// Crest of the phase current.
    pub phase_current_peak: FigureId,
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
    /// Ripple of the phase current at the carrier, RMS; where the inductance is known.
    pub phase_ripple: Option<FigureId>,
    /// What that ripple makes of RMS currents; where the inductance is known.
    pub ripple_factor: Option<FigureId>,
    /// Ripple current that the link capacitors carry for this bridge, RMS.
    pub link_ripple: FigureId,
    /// Loss of all its devices.
    pub loss: FigureId,
    /// Power taken from the bus.
    pub dc_power: FigureId,
    /// Current taken from the bus.
    pub dc_current: FigureId,
    /// Power out over power in, in the direction of flow.
    pub efficiency: FigureId,
}

/// A switch position of one leg.
#[derive(Clone, Debug)]
pub struct Position {
    /// The position.
    pub part: PartId,
    /// Which side of the leg.
    pub side: Side,
    /// Leg: 0, 1, 2 for u, v, w.
    pub leg: usize,
    /// Its chips, of one device: the transistor, then for an IGBT the diode.
    pub chips: core::ops::Range<usize>,
}

/// A side of a leg.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    /// Between the positive rail and the phase.
    High,
    /// Between the phase and the negative rail.
    Low,
}

/// A chip of a position, standing for one of the devices in parallel.
#[derive(Clone, Debug)]
pub struct Chip {
    /// The chip.
    pub part: PartId,
    /// What it is.
    pub kind: ChipKind,
    /// How it conducts, at several junction temperatures.
    pub(crate) conduction: ConductionCurves,
    /// What it loses in each event.
    pub(crate) energy: EnergyCurve,
    /// For a MOSFET: its body diode.
    pub(crate) body_diode: Option<BodyDiode>,
    /// Elements of its thermal impedance: resistance in K/W, time constant in s.
    pub(crate) foster: Vec<(loadworthy_physics::ThermalResistance, loadworthy_physics::Time)>,
    /// What its lanes are given.
    pub inputs: ChipInputs,
    /// What is solved for it.
    pub figures: ChipFigures,
}

impl Chip {
    /// Lowest and highest junction temperature of its on-state curves in °C; none where it has no curves, or one that
    /// is taken at every temperature.
    #[must_use]
    pub fn curve_span(&self) -> Option<(f64, f64)> {
        self.conduction.span().filter(|(low, high)| low < high)
    }

    /// Whether the choice of its curves depends on the temperature that is sought.
    pub(crate) fn bends(&self) -> bool {
        self.conduction.bends() || self.body_diode.as_ref().is_some_and(|body| body.conduction.bends())
    }
}

/// What a chip is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ChipKind {
    /// An insulated-gate bipolar transistor.
    Igbt,
    /// A diode beside one.
    Diode,
    /// A field-effect transistor with its body diode.
    Mosfet,
}

/// The body diode of a MOSFET: the same chip, another way through it.
#[derive(Clone, Debug)]
pub struct BodyDiode {
    pub(crate) conduction: ConductionCurves,
    pub(crate) energy: EnergyCurve,
    /// Average current of the dead times.
    pub average_current: FigureId,
    /// RMS current of the dead times.
    pub rms_current: FigureId,
    /// Loss of the dead times.
    pub loss: FigureId,
    /// Energy of the recoveries for each carrier period.
    pub recovery_energy: FigureId,
    /// Loss of the recoveries.
    pub recovery_loss: FigureId,
}

/// Inputs of a chip.
#[derive(Clone, Copy, Debug)]
pub struct ChipInputs {
    /// Resistance from junction to case, all cooled faces together.
    pub junction_to_case: InputId,
    /// Highest junction temperature.
    pub junction_limit: InputId,
    /// Rated continuous current.
    pub continuous: InputId,
    /// Case temperature of that rating.
    pub at_case: InputId,
    /// Highest current that may recur.
    pub repetitive_peak: InputId,
}

/// Figures of a chip.
#[derive(Clone, Copy, Debug)]
pub struct ChipFigures {
    /// Mean current.
    pub average_current: FigureId,
    /// RMS current.
    pub rms_current: FigureId,
    /// Crest of its current.
    pub peak_current: FigureId,
    /// Knee of its on-state line at the solved junction temperature.
    pub knee: FigureId,
    /// Slope of its on-state line at the solved junction temperature.
    pub slope: FigureId,
    /// Switching energy for each carrier period, at the temperature of the data sheet.
    pub energy: FigureId,
    /// Conduction loss.
    pub conduction_loss: FigureId,
    /// Switching loss.
    pub switching_loss: FigureId,
    /// All its loss.
    pub loss: FigureId,
    /// Mean junction temperature.
    pub mean_junction_temperature: FigureId,
    /// Crest of the junction temperature over its mean, from the output frequency.
    pub junction_ripple: FigureId,
    /// Crest of the junction temperature.
    pub junction_temperature: FigureId,
    /// Continuous current that the data sheet leaves at the solved case temperature.
    pub rated_current: FigureId,
}

/// A package: chips that share a case, with one or two cooled faces.
#[derive(Clone, Debug)]
pub struct Package {
    /// The package.
    pub part: PartId,
    /// Its chips in the plan.
    pub chips: Vec<usize>,
    /// How many of it stand in parallel.
    pub count: InputId,
    /// Its cooled faces.
    pub faces: Vec<Face>,
    /// What is summed for the heat of the package.
    pub(crate) losses: Vec<Operand>,
    /// For each of two faces: its case and the junctions behind it.
    pub(crate) junctions_and_case: Vec<Vec<Operand>>,
}

/// A cooled face of a package.
#[derive(Clone, Debug)]
pub struct Face {
    /// Place of the coolant element in the path, if one cools this face.
    pub place: Option<usize>,
    /// Resistance from the case to the coolant or to the plate.
    pub resistance: InputId,
    /// Case temperature at this face.
    pub case_temperature: FigureId,
    /// Heat that leaves through this face of one package.
    pub heat: FigureId,
}

/// The coolant path.
#[derive(Clone, Debug)]
pub struct CoolantPath {
    /// The loop.
    pub part: PartId,
    /// What flows.
    pub coolant: Option<Coolant>,
    /// Where the description says what flows.
    pub(crate) coolant_curve: CurveId,
    /// Temperature at the inlet.
    pub inlet: InputId,
    /// Volume flow at the inlet.
    pub flow: InputId,
    /// Heat-capacity rate of the flow.
    pub capacity_rate: FigureId,
    /// Temperature at the end of the path.
    pub outlet: FigureId,
    /// All heat taken up.
    pub heat: FigureId,
    /// Places in the order of flow.
    pub places: Vec<Place>,
}

/// A place along the coolant path.
#[derive(Clone, Debug)]
pub struct Place {
    /// The element.
    pub part: PartId,
    /// Share of the element's own warming that its resistances are referred to: 0 inlet, ½ mean, 1 outlet.
    pub reference: InputId,
    /// A resistance that all heat of the element passes, and the flow it was measured at.
    pub plate: Option<Plate>,
    /// Coolant entering.
    pub coolant_in: FigureId,
    /// Coolant leaving.
    pub coolant_out: FigureId,
    /// Heat taken up.
    pub heat: FigureId,
    /// Coolant temperature that the resistances are referred to.
    pub reference_temperature: FigureId,
    /// Faces cooled here: package and face.
    pub faces: Vec<(usize, usize)>,
    /// What is summed for `heat`, in pairs that are multiplied.
    pub(crate) heats: Vec<Operand>,
    /// The heat of a stage that could not be read and stands here.
    pub(crate) unknown_heat: Option<InputId>,
}

/// A plate that all heat of an element passes.
#[derive(Clone, Debug)]
pub struct Plate {
    /// Its resistance at the stated flow.
    pub resistance: InputId,
    /// The flow it was measured at.
    pub flow: InputId,
    /// Its resistance at the flow at hand.
    pub resistance_here: FigureId,
    /// Temperature of the plate.
    pub temperature: FigureId,
}
