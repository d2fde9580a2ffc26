//! Chokes and transformers as a stage uses them.

use loadworthy_physics::{Current, FluxDensity, Inductance, Temperature};

use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::plan::{AtFlow, Density};
use crate::trace::Operand;

/// A choke or a transformer of a stage.
#[derive(Clone, Debug)]
pub struct Magnetic {
    /// The component.
    pub part: PartId,
    /// How many of it the stage has.
    pub count: InputId,
    /// What it is to its stage.
    pub role: MagneticRole,
    /// Its windings; the first one links the flux that its core is judged by.
    pub windings: Vec<Winding>,
    /// Its core.
    pub core: Core,
    /// Where its heat goes.
    pub heat: MagneticHeat,
    /// The leg that carries most, of a stage with several.
    pub uneven: Option<UnevenLeg>,
    /// Loss of one component.
    pub loss: FigureId,
    /// Place of the coolant element that takes its heat, if one does.
    pub place: Option<usize>,
    /// What is summed for its loss.
    pub(crate) losses: Vec<Operand>,
}

/// The leg that carries most of several.
#[derive(Clone, Copy, Debug)]
pub struct UnevenLeg {
    /// Share by which its mean current may stand above that of all.
    pub share: InputId,
    /// Its RMS current.
    pub rms: FigureId,
    /// Its largest current, ripple included.
    pub peak: FigureId,
}

/// What a magnetic component is to its stage.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum MagneticRole {
    /// The choke of a leg of a boost or a buck.
    Choke,
    /// A transformer.
    Transformer,
    /// The choke behind a transformer.
    OutputChoke,
}

/// A winding.
#[derive(Clone, Debug)]
pub struct Winding {
    /// Its own part where the component has several, else the component. The halves of a centre tap are one.
    pub part: PartId,
    /// Its key in the description.
    pub key: &'static str,
    /// RMS current.
    pub rms: FigureId,
    /// Which it is among the windings of the plan.
    pub(crate) line: usize,
    /// Rated RMS current, where stated.
    pub rated: Option<InputId>,
    /// Resistance for direct current, as stated.
    pub resistance: InputId,
    /// Temperature that it is stated for; none where it is that of service.
    pub stated_at: Option<InputId>,
    /// What it is wound of, where that is stated.
    pub conductor: Option<WoundOf>,
    /// From the winding to the case.
    pub to_case: InputId,
    /// Kelvins by which its hottest place lies above its mean.
    pub hot_spot: InputId,
    /// Highest temperature of its insulation.
    pub hottest: InputId,
    /// Alternating over direct resistance, of all its current together; where it is known what it is wound of.
    pub ratio: Option<FigureId>,
    /// Loss.
    pub loss: FigureId,
    /// Mean temperature.
    pub mean_temperature: FigureId,
    /// Temperature of its hottest place.
    pub temperature: FigureId,
    /// How it warms, where a duty point is followed over time.
    pub warms: Option<WindingWarms>,
    /// The density of its current, where its section is stated or follows from its wire.
    pub density: Option<Density>,
}

/// How a winding warms over time.
#[derive(Clone, Copy, Debug)]
pub struct WindingWarms {
    /// What its heat capacity follows from; none where that is not known.
    pub capacity: Option<WindingCapacity>,
    /// What each kelvin adds to its loss.
    pub loss_per_kelvin: FigureId,
    /// Highest temperature of its hottest place while a duty point lasts.
    pub hottest: FigureId,
}

/// What the heat capacity of a winding follows from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WindingCapacity {
    /// It is stated.
    Stated(InputId),
    /// Copper of a section, as long as its resistance says.
    Section(InputId),
}

/// What the heat capacity of a core follows from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CoreCapacity {
    /// It is stated.
    Stated(InputId),
    /// Its volume.
    Volume(InputId),
}

impl Winding {
    /// The temperature that it is judged by.
    #[must_use]
    pub fn highest(&self) -> FigureId {
        self.warms.map_or(self.temperature, |warms| warms.hottest)
    }

    /// Whether it is known how much heat it holds.
    #[must_use]
    pub fn holds_heat(&self) -> bool {
        self.warms.is_some_and(|warms| warms.capacity.is_some())
    }
}

/// What a winding is wound of.
#[derive(Clone, Copy, Debug)]
pub struct WoundOf {
    /// Its form.
    pub form: WoundForm,
    /// Thickness of a foil, diameter of a wire or of a strand.
    pub size: InputId,
    /// Strands of a bundle; one elsewhere.
    pub strands: InputId,
    /// Layers from where no field passes to where all of it does.
    pub layers: InputId,
    /// Share of the window's breadth that a layer fills.
    pub filling: InputId,
    /// Place of its first factor in the scratch of the solver.
    pub(crate) factors: usize,
}

/// The form of what a winding is wound of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WoundForm {
    /// Foil.
    Foil,
    /// Round wire, or strands of it.
    Round,
}

/// A core.
#[derive(Clone, Debug)]
pub struct Core {
    /// Turns of the first winding.
    pub turns: InputId,
    /// Narrowest section.
    pub area: InputId,
    /// Inductance of the first winding, of a choke for small changes at its current of service.
    pub inductance: InputId,
    /// Tolerance of the inductance.
    pub tolerance: InputId,
    /// Share of the crest by which the flux may stand off its middle.
    pub walking: InputId,
    /// Current at which the stage is switched off, where one is set.
    pub trip: Option<InputId>,
    /// What would state the trip of a choke that has none, of a stage with a transformer and where the unit's control is described.
    pub unstated_trip: Option<InputId>,
    /// That current of the latest unit and, where the delay is known, what has come of it once the stage is off.
    pub late_trip: Option<(FigureId, Option<FigureId>)>,
    /// Inductance for small changes at rising currents, where it falls with them.
    pub softening: Option<(CurveId, Vec<(Current, Inductance)>)>,
    /// Saturation at rising temperatures.
    pub saturation: (CurveId, Vec<(Temperature, FluxDensity)>),
    /// Share of it that is lost for each kelvin above the only temperature stated.
    pub fall: InputId,
    /// What its loss is computed from, where that is stated.
    pub material: Option<Material>,
    /// Its loss over that without direct flux, at rising direct flux densities in T, where that is stated.
    pub bias: Option<(CurveId, Vec<(f64, f64)>)>,
    /// Its loss as stated, where it is not computed.
    pub stated_loss: InputId,
    /// From the core to the case.
    pub to_case: InputId,
    /// Highest temperature of its material.
    pub hottest: InputId,
    /// What its heat capacity follows from; none where that is not known.
    pub capacity: Option<CoreCapacity>,
    /// Figures.
    pub figures: CoreFigures,
}

impl Core {
    /// The temperature that it is judged by.
    #[must_use]
    pub fn highest(&self) -> FigureId {
        self.figures.hottest.unwrap_or(self.figures.temperature)
    }
}

/// Loss of a core's material at a point, and how it grows.
#[derive(Clone, Copy, Debug)]
pub struct Material {
    /// Loss density at the point.
    pub density: InputId,
    /// Frequency of the point.
    pub frequency: InputId,
    /// Crest of the flux density of the point.
    pub flux_density: InputId,
    /// Exponents of frequency and of flux density.
    pub exponents: (InputId, InputId),
    /// Factor up to which frequency and flux density may lie beside the point.
    pub reach: InputId,
    /// Volume of the core.
    pub volume: InputId,
}

/// Figures of a core.
#[derive(Clone, Copy, Debug)]
pub struct CoreFigures {
    /// Swing of the flux density, peak to peak, where the loss is computed from it.
    pub swing: Option<FigureId>,
    /// Direct flux density that its flux swings about, where its loss is stated over that.
    pub direct_flux: Option<FigureId>,
    /// Loss.
    pub loss: FigureId,
    /// Temperature of the case of the component.
    pub case_temperature: FigureId,
    /// Temperature.
    pub temperature: FigureId,
    /// Highest temperature while a duty point lasts, where one is followed over time.
    pub hottest: Option<FigureId>,
    /// Crest of the flux density, tolerance included.
    pub flux_density: FigureId,
    /// The same at the current at which the stage is switched off.
    pub trip_flux_density: Option<FigureId>,
    /// Energy at the crest of the current, of a choke whose inductance is one number.
    pub energy: Option<FigureId>,
    /// What the material carries at its temperature.
    pub saturation: FigureId,
    /// Share of its inductance that a softening choke has lost at its crest.
    pub softened: Option<FigureId>,
}

/// Where the heat of a magnetic component goes: from its case over a resistance to the plate or coolant of its place, or
/// to the air where no place takes it.
#[derive(Clone, Copy, Debug)]
pub struct MagneticHeat {
    /// From the case on, as stated.
    pub case: InputId,
    /// What it follows, of one that states the flow it was measured at.
    pub at_flow: Option<AtFlow>,
    /// The air around it.
    pub air: InputId,
    /// The temperature that windings are taken at whose resistance is stated for another one, where the path of their heat
    /// is not stated.
    pub usual: Option<InputId>,
}

impl MagneticHeat {
    /// The resistance from the case on at the flow at hand.
    #[must_use]
    pub fn case_here(&self) -> Operand {
        self.at_flow.map_or(self.case.into(), |at| at.here.into())
    }
}
