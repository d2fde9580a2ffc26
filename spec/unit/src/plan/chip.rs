//! Chips and the packages they are in.

use crate::device::{ConductionCurves, EnergyCurve};
use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::plan::AtFlow;
use crate::trace::Operand;

/// A chip of a position, standing for one of the devices in parallel.
#[derive(Clone, Debug)]
pub struct Chip {
    /// The chip.
    pub part: PartId,
    /// What it is.
    pub kind: ChipKind,
    /// How it conducts, at several junction temperatures.
    pub(crate) conduction: ConductionCurves,
    /// What it loses in each carrier period: of a transistor one turn-on and one turn-off, of a diode one recovery.
    pub(crate) energy: EnergyCurve,
    /// Of a transistor: the same apart, for stages whose edges switch different currents.
    pub(crate) edges: Option<Energies>,
    /// For a MOSFET: its body diode.
    pub body_diode: Option<BodyDiode>,
    /// Elements of its thermal impedance: resistance in K/W, time constant in s.
    pub(crate) foster: Vec<(loadworthy_physics::ThermalResistance, loadworthy_physics::Time)>,
    /// What its lanes are given.
    pub inputs: ChipInputs,
    /// What is solved for it.
    pub figures: ChipFigures,
    /// What says how devices in parallel lie apart.
    pub sharing_inputs: SharingInputs,
    /// What the unluckiest of its devices in parallel carries.
    pub sharing: SharingFigures,
}

/// Energies of a transistor's two edges.
#[derive(Clone, Debug)]
pub struct Energies {
    /// Of one turn-on.
    pub(crate) turn_on: EnergyCurve,
    /// Of one turn-off.
    pub(crate) turn_off: EnergyCurve,
}

/// What says how devices in parallel lie apart.
#[derive(Clone, Copy, Debug)]
pub struct SharingInputs {
    /// Spread of the on-state voltage, to either side, as a share.
    pub on_voltage: InputId,
    /// Spread of the gate threshold, to either side; a diode has none.
    pub threshold: Option<ThresholdInputs>,
}

/// What makes up the resistance that drives a gate to be on.
#[derive(Clone, Copy, Debug)]
pub struct GateResistors {
    /// The resistor of the driver.
    pub outside: InputId,
    /// Whether each device has its own: above zero if so.
    pub for_each: InputId,
    /// Resistance within the device.
    pub internal: InputId,
}

/// What says how far a threshold skew unbalances an edge; missing where the data sheet states none.
#[derive(Clone, Copy, Debug)]
pub struct ThresholdInputs {
    /// Spread of the gate threshold, to either side.
    pub spread: InputId,
    /// Change of current by gate voltage.
    pub transconductance: InputId,
    /// Gate resistance.
    pub resistance: InputId,
    /// What is fitted, where the data sheet states no gate resistance and a driver is described.
    pub fitted: Option<GateResistors>,
    /// Input capacitance.
    pub capacitance: InputId,
    /// Inductance that source and gate loop share.
    pub common_inductance: InputId,
}

/// What the unluckiest of devices in parallel carries: one at the low end of its spread, the others at the high end.
#[derive(Clone, Copy, Debug)]
pub struct SharingFigures {
    /// Its current over the mean of all.
    pub factor: FigureId,
    /// Its RMS current.
    pub rms_current: FigureId,
    /// Crest of its current.
    pub peak_current: FigureId,
    /// Its loss.
    pub loss: FigureId,
    /// Crest of its junction temperature.
    pub junction_temperature: FigureId,
    /// Share by which a threshold skew raises the energy of its edges.
    pub edge_skew: FigureId,
    /// Gain from a deviation of its current over its temperature back to the deviation; 1 would run away.
    pub hogging_gain: FigureId,
    /// The same factor with three standard deviations of independent devices.
    pub likely_factor: FigureId,
    /// RMS current at three standard deviations.
    pub likely_rms_current: FigureId,
    /// Crest of the current at three standard deviations.
    pub likely_peak_current: FigureId,
    /// Crest of the junction temperature at three standard deviations.
    pub likely_junction_temperature: FigureId,
}

/// What a chip carries in the leg that carries most of several.
#[derive(Clone, Copy, Debug)]
pub struct UnevenChip {
    /// RMS current.
    pub rms_current: FigureId,
    /// Crest of its current.
    pub largest_current: FigureId,
    /// Its loss.
    pub loss: FigureId,
    /// Its junction temperature, once everything has settled.
    pub junction_temperature: FigureId,
    /// The highest while the duty point lasts, where a duty point says what it starts from.
    pub hottest_junction: Option<FigureId>,
    /// Continuous current that the data sheet leaves at its case.
    pub rated_current: FigureId,
}

impl ChipFigures {
    /// The RMS current that ratings are held against.
    #[must_use]
    pub fn judged_rms(&self) -> FigureId {
        self.uneven.map_or(self.rms_current, |uneven| uneven.rms_current)
    }

    /// The crest that ratings are held against, all ripple included.
    #[must_use]
    pub fn judged_crest(&self) -> FigureId {
        self.uneven.map_or(self.largest_current, |uneven| uneven.largest_current)
    }

    /// The continuous rating that the RMS current is held against.
    #[must_use]
    pub fn judged_rating(&self) -> FigureId {
        self.uneven.map_or(self.rated_current, |uneven| uneven.rated_current)
    }

    /// The junction temperature that counts: the highest while the duty point lasts, or the settled one, and of several
    /// legs that in the one that carries most.
    #[must_use]
    pub fn hottest(&self) -> FigureId {
        match self.uneven {
            Some(uneven) => uneven.hottest_junction.unwrap_or(uneven.junction_temperature),
            None => self.hottest_junction.unwrap_or(self.junction_temperature),
        }
    }

    /// Where the junction settles, of several legs in the one that carries most.
    #[must_use]
    pub fn settled_junction(&self) -> FigureId {
        self.uneven.map_or(self.junction_temperature, |uneven| uneven.junction_temperature)
    }

    /// The loss that brings about the junction temperature that counts.
    #[must_use]
    pub fn judged_loss(&self) -> FigureId {
        self.uneven.map_or(self.loss, |uneven| uneven.loss)
    }
}

impl Chip {
    /// Lowest and highest junction temperature of its on-state curves in °C; none where it has no curves, or one that
    /// is taken at every temperature.
    #[must_use]
    pub fn curve_span(&self) -> Option<(f64, f64)> {
        self.conduction.span().filter(|(low, high)| low < high)
    }

    /// The on-state curve and its junction temperature in °C, where one alone is stated.
    #[must_use]
    pub fn only_curve(&self) -> Option<(CurveId, f64)> {
        let (low, high) = self.conduction.span()?;
        (low >= high).then_some((self.conduction.id, high))
    }

    /// The highest junction temperature in °C that an on-state curve is stated at.
    #[must_use]
    pub fn known_up_to(&self) -> Option<f64> {
        self.conduction.span().map(|(_, high)| high)
    }

    /// Losses at edges, each with the voltage that its energies are stated at.
    pub fn edges_stated_at(&self) -> impl Iterator<Item = (FigureId, f64)> {
        let own = (self.figures.switching_loss, self.energy.voltage);
        let body = self.body_diode.as_ref().map(|body| (body.recovery_loss, body.energy.voltage));
        core::iter::once(own).chain(body)
    }

    /// Whether the choice of its curves depends on the temperature that is sought. `coldest` is what no junction is colder
    /// than in °C, `input` the value of an input.
    pub(crate) fn bends(&self, coldest: f64, input: impl Fn(InputId) -> f64) -> bool {
        let chooses = |conduction: &ConductionCurves, energy: &EnergyCurve| {
            let growth = energy.scale.map(|scale| input(scale.per_kelvin));
            conduction.bends() || growth.is_some_and(|growth| energy.bends(coldest, growth))
        };
        chooses(&self.conduction, &self.energy)
            || self.body_diode.as_ref().is_some_and(|body| chooses(&body.conduction, &body.energy))
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
    /// Crest of its current; in a bridge that of the sine, which its on-state line and energies follow from.
    pub peak_current: FigureId,
    /// Crest of its current with all ripple; the same figure where the crest holds it already.
    pub largest_current: FigureId,
    /// The same in the leg that carries most, of a boost or a buck with several.
    pub uneven: Option<UnevenChip>,
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
    /// Growth of its loss for each kelvin of its junction.
    pub loss_per_kelvin: FigureId,
    /// Mean junction temperature.
    pub mean_junction_temperature: FigureId,
    /// Crest of the junction temperature over its mean, from the output frequency.
    pub junction_ripple: FigureId,
    /// Crest of the junction temperature, once everything has settled.
    pub junction_temperature: FigureId,
    /// Highest crest while the duty point lasts, where a duty point says what it starts from.
    pub hottest_junction: Option<FigureId>,
    /// Continuous current that the data sheet leaves at the solved case temperature.
    pub rated_current: FigureId,
}

/// A package: chips that share a case, with one or two cooled faces.
#[derive(Clone, Debug)]
pub struct Package {
    /// The package.
    pub part: PartId,
    /// Its stage in the plan.
    pub stage: usize,
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
    /// Resistance from the case to the coolant or to the plate, as stated.
    pub resistance: InputId,
    /// What it follows, of one that states the flow it was measured at.
    pub at_flow: Option<AtFlow>,
    /// Case temperature at this face.
    pub case_temperature: FigureId,
    /// Heat that leaves through this face of one package.
    pub heat: FigureId,
}

impl Face {
    /// The resistance from the case at the flow at hand.
    #[must_use]
    pub fn resistance_here(&self) -> Operand {
        self.at_flow.map_or(self.resistance.into(), |at| at.here.into())
    }
}
