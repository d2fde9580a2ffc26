//! Losses of chokes and transformers in a block of lanes: windings as straight lines
//! over their temperature, drawn anew in each pass where the pass before left them; cores.

use loadworthy_physics::converters::wave::{ABOVE, HARMONICS, OCTAVES, Wave};
use loadworthy_physics::core_flux;
use loadworthy_physics::core_loss::{self, RampFit, Steinmetz};
use loadworthy_physics::winding_loss::{self, Excess, KNOWN_AT, Sheets};
use loadworthy_physics::{
    Area, Current, FluxDensity, Frequency, Inductance, Law, Length, LossDensity, Resistance, SquaredCurrent,
    Temperature,
};

use crate::ids::FigureId;
use crate::plan::{
    Core, IsolatedKind, Magnetic, MagneticRole, Material, Plan, Stage, Topology, Winding, WoundForm, WoundOf,
};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

/// The temperature in °C at which a winding is taken where its resistance is that of service, and where nothing is known of it.
pub(super) const WARM: f64 = KNOWN_AT[1];
/// Temperatures in °C within which the line of a winding touches its loss.
const TOUCHES: (f64, f64) = (0.0, 200.0);

static SWING: Law = Law {
    name: "swing of the flux density",
    formula: "ΔB = L·ΔI/(N·A), of a softening choke ∫ L di/(N·A) over the ripple",
    validity: "peak to peak, of the current that magnetises the core",
    source: loadworthy_physics::core_flux::LINKED_PEAK.source,
};
static CORE_LOSS: Law = Law {
    name: "loss of a core",
    formula: "P = V·k_i·f^α·ΔB^β·Σ x_k^(1 − α) over its ramps, k from the stated point; below the reach of the flux as at its lower end",
    validity: "frequency and crest within the reach of the stated point; no direct bias, which can double it; no relaxation while the flux rests",
    source: core_loss::RAMPS.source,
};

static DIRECT: Law = Law {
    name: "direct flux density of a core",
    formula: "B_0 = L·(Î − ΔI/2)/(N·A), of a softening choke ∫ L di/(N·A) to there; of a transformer 0",
    validity: "the middle of the swing; without the tolerance of the inductance",
    source: loadworthy_physics::core_flux::LINKED_PEAK.source,
};
static BIASED_LOSS: Law = Law {
    name: "loss of a core beside direct flux",
    formula: "P = V·k_i·f^α·ΔB^β·Σ x_k^(1 − α)·b(B_0), b along its stated points",
    validity: "as without direct flux; between the points of b",
    source: core_loss::BESIDE_DIRECT.source,
};

/// Loss of a winding: a straight line over its temperature in °C, which touches the loss where the winding is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct WindingLine<const L: usize> {
    /// Loss at 0 °C.
    pub(crate) constant: [f64; L],
    /// Growth for each kelvin.
    pub(crate) per_kelvin: [f64; L],
    /// The part of it that direct current of the same RMS value would lose: at 0 °C, and its growth.
    pub(crate) direct: ([f64; L], [f64; L]),
}

impl<const L: usize> Default for WindingLine<L> {
    fn default() -> Self {
        let zero = [0.0; L];
        Self { constant: zero, per_kelvin: zero, direct: (zero, zero) }
    }
}

/// Excess of a winding over its stated resistance for each harmonic, at the temperatures of [`KNOWN_AT`].
#[derive(Clone, Copy, Debug)]
pub(crate) struct Factors<const L: usize> {
    known: [[[f64; L]; HARMONICS + ABOVE]; 3],
    /// What they were reckoned from in each lane, bit by bit: most lanes and trials share it.
    of: [Option<[u64; NUMBERS]>; L],
    /// The wave that was last weighed with them in each lane, and its mean square with all excess.
    weighed: [Option<(Wave, Excess)>; L],
}

/// Numbers that the factors of a winding follow from.
const NUMBERS: usize = 6;

impl<const L: usize> Default for Factors<L> {
    fn default() -> Self {
        let unknown = [[f64::NAN; L]; HARMONICS + ABOVE];
        Self { known: [unknown; 3], of: [None; L], weighed: [None; L] }
    }
}

impl<const L: usize> Factors<L> {
    /// Mean square of a wave, each harmonic times its excess. A lane that is done, or like the first, is not reckoned again.
    fn weigh(&mut self, wave: &Wave, l: usize) -> Excess {
        let known = |from: usize| {
            let (same, excess) = self.weighed[from]?;
            (self.of[from] == self.of[l] && same == *wave).then_some(excess)
        };
        let excess = known(l).or_else(|| known(0)).unwrap_or_else(|| self.weighed_anew(wave, l));
        self.weighed[l] = Some((*wave, excess));
        excess
    }

    fn weighed_anew(&self, wave: &Wave, l: usize) -> Excess {
        let mut known = [0.0; 3];
        let mean = wave.mean();
        let mut left = wave.square() - mean * mean;
        for (n, square) in wave.harmonics().into_iter().enumerate() {
            left = left - square;
            for (sum, of) in known.iter_mut().zip(&self.known) {
                *sum += square.si() * of[n][l];
            }
        }
        if left > SquaredCurrent::ZERO {
            for (place, share) in wave.above().into_iter().enumerate() {
                for (sum, of) in known.iter_mut().zip(&self.known) {
                    *sum += left.si() * share * of[HARMONICS + place][l];
                }
            }
        }
        Excess { known }
    }
}

/// What drives a component in a block of lanes.
pub(crate) struct Drive<'d, const L: usize> {
    /// Carrier periods over those of its current.
    pub(crate) times: f64,
    /// Largest current of a choke, ripple included; none of a transformer, which carries no direct flux.
    pub(crate) peak: Option<FigureId>,
    /// Ripple of the current that magnetises its core, and the duty that its ramps follow.
    pub(crate) ripple: FigureId,
    pub(crate) duty: FigureId,
    /// Shares of its period in which the flux rises and falls.
    pub(crate) ramps: &'d dyn Fn(usize) -> (f64, f64),
    /// The current of a winding in a lane, times what it is multiplied by.
    pub(crate) wave: &'d dyn Fn(usize, usize) -> (Wave, f64),
}

/// Reckons the factors of every winding of which it is known what it is wound of, and the fit of every core of a known
/// material; they depend on nothing that is sought.
pub(crate) fn start<const L: usize>(plan: &Plan, inputs: &[[f64; L]], scratch: &mut Scratch<L>) {
    scratch.windings_before.fill([WARM; L]);
    for stage in &plan.stages {
        for &own in &stage.magnetics {
            let magnetic = &plan.magnetics[own];
            let times = times(stage, magnetic);
            if let Some(material) = &magnetic.core.material {
                scratch.cores[own] = fits(material, &inputs[stage.carrier.index()], times, inputs);
            }
            for winding in &magnetic.windings {
                let Some(wound) = &winding.conductor else { continue };
                let out = &mut scratch.factors[wound.factors];
                for l in 0..L {
                    factors(winding, wound, inputs[stage.carrier.index()][l] * times, inputs, out, l);
                }
            }
        }
    }
}

/// Periods of a component's current in a carrier period.
pub(crate) fn times(stage: &Stage, magnetic: &Magnetic) -> f64 {
    let is_centre_tap = match &stage.topology {
        Topology::Isolated(isolated) => isolated.kind == IsolatedKind::CentreTap,
        _ => false,
    };
    if is_centre_tap && magnetic.role == MagneticRole::OutputChoke { 2.0 } else { 1.0 }
}

/// The fit of a core in each lane; most lanes share the material and the frequency of the first.
fn fits<const L: usize>(
    material: &Material,
    carrier: &[f64; L],
    times: f64,
    inputs: &[[f64; L]],
) -> [RampFit; L] {
    let stated = |l: usize| {
        let input = |id: crate::ids::InputId| inputs[id.index()][l];
        let (alpha, beta) = material.exponents;
        [
            carrier[l],
            input(material.density),
            input(material.frequency),
            input(material.flux_density),
            input(alpha),
            input(beta),
        ]
    };
    let fit = |[carrier, density, at, flux, alpha, beta]: [f64; 6]| {
        let (density, at, flux) = (LossDensity::new(density), Frequency::new(at), FluxDensity::new(flux));
        Steinmetz::through(density, at, flux, (alpha, beta)).of_ramps(Frequency::new(carrier * times))
    };
    let (first, bits) = (stated(0), stated(0).map(f64::to_bits));
    let of_first = fit(first);
    core::array::from_fn(|l| if stated(l).map(f64::to_bits) == bits { of_first } else { fit(stated(l)) })
}

fn factors<const L: usize>(
    winding: &Winding,
    wound: &WoundOf,
    frequency: f64,
    inputs: &[[f64; L]],
    out: &mut Factors<L>,
    l: usize,
) {
    let input = |id: crate::ids::InputId| inputs[id.index()][l];
    let (layers, filling) = (input(wound.layers), input(wound.filling));
    let (size, strands) = (input(wound.size), input(wound.strands));
    let at = winding.stated_at.map_or(0.0, input);
    let of = Some([frequency, layers, filling, size, strands, at].map(f64::to_bits));
    if out.of[l] == of {
        return;
    }
    let alike = out.of[..l].iter().position(|other| *other == of);
    (out.of[l], out.weighed[l]) = (of, None);
    if let Some(alike) = alike {
        for each in out.known.iter_mut().flatten() {
            each[l] = each[alike];
        }
        return;
    }
    let size = Length::new(size);
    let sheets = match wound.form {
        WoundForm::Foil => Sheets::of_foil(size, layers, filling),
        WoundForm::Round => Sheets::of_strands(size, strands, layers, filling),
    };
    let excess = |n: f64, celsius: f64| {
        let now = Temperature::celsius(celsius);
        let warmed = if winding.stated_at.is_some() {
            winding_loss::warmed(Resistance::new(1.0), Temperature::celsius(at), now).si()
        } else {
            1.0
        };
        warmed * (sheets.ratio(Frequency::new(frequency * n), now) - 1.0)
    };
    let at = if winding.stated_at.is_some() { KNOWN_AT } else { [WARM; 3] };
    for (known, celsius) in out.known.iter_mut().zip(at) {
        for (place, of) in known.iter_mut().enumerate() {
            let above = || OCTAVES[place - HARMONICS];
            let n = if place < HARMONICS { (place + 1) as f64 } else { above() };
            of[l] = excess(n, celsius);
        }
    }
}

/// What a winding takes at a usual temperature of service, for the voltages of its stage.
pub(crate) fn in_service<const L: usize, T: Trace>(winding: &Winding, pass: &Pass<'_, L, T>) -> [f64; L] {
    let ohms = pass.input(winding.resistance);
    let Some(at) = winding.stated_at else { return ohms };
    let at = pass.input(at);
    core::array::from_fn(|l| {
        let (at, now) = (Temperature::celsius(at[l]), Temperature::celsius(WARM));
        winding_loss::warmed(Resistance::new(ohms[l]), at, now).si()
    })
}

/// Reckons the loss lines of the windings of a component, and puts what its core loses.
pub(crate) fn losses<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    own: usize,
    drive: &Drive<'_, L>,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let magnetic = &plan.magnetics[own];
    for (place, winding) in magnetic.windings.iter().enumerate() {
        let factors = winding.conductor.as_ref().map(|wound| &mut scratch.factors[wound.factors]);
        let before = scratch.windings_before[winding.line];
        let line = line(winding, factors, &|l| (drive.wave)(place, l), &before, pass);
        scratch.windings[winding.line] = line;
    }
    match (&magnetic.core.material, magnetic.core.figures.swing) {
        (Some(material), Some(swing)) => {
            core(stage, &magnetic.core, (material, swing), &scratch.cores[own], drive, pass);
        }
        _ => {
            let stated = magnetic.core.stated_loss;
            let loss = pass.input(stated);
            pass.put(magnetic.core.figures.loss, &laws::STATED, &[stated.into()], |l| loss[l]);
        }
    }
}

fn line<const L: usize, T: Trace>(
    winding: &Winding,
    mut factors: Option<&mut Factors<L>>,
    wave: &dyn Fn(usize) -> (Wave, f64),
    before: &[f64; L],
    pass: &Pass<'_, L, T>,
) -> WindingLine<L> {
    let (amps, ohms) = (pass.figure(winding.rms), pass.input(winding.resistance));
    let at = winding.stated_at.map(|at| pass.input(at));
    let mut out = WindingLine::default();
    for l in 0..L {
        let direct = ohms[l] * amps[l] * amps[l];
        let slope = at.map_or(0.0, |at| direct * winding_loss::growth_at(Temperature::celsius(at[l])));
        out.direct.0[l] = direct - at.map_or(0.0, |at| slope * at[l]);
        out.direct.1[l] = slope;
        (out.constant[l], out.per_kelvin[l]) = (out.direct.0[l], out.direct.1[l]);
        let Some(factors) = &mut factors else { continue };
        let (wave, times) = wave(l);
        let excess = factors.weigh(&wave, l);
        let each = ohms[l] * times * times;
        if at.is_none() {
            out.constant[l] += each * excess.known[1];
            continue;
        }
        let celsius = before[l].clamp(TOUCHES.0, TOUCHES.1);
        let (value, slope) = excess.at(Temperature::celsius(celsius));
        out.constant[l] += each * (value - slope * celsius);
        out.per_kelvin[l] += each * slope;
    }
    out
}

fn core<const L: usize, T: Trace>(
    stage: &Stage,
    core: &Core,
    (material, out): (&Material, FigureId),
    fits: &[RampFit; L],
    drive: &Drive<'_, L>,
    pass: &mut Pass<'_, L, T>,
) {
    let (henry, turns, area) = (pass.input(core.inductance), pass.input(core.turns), pass.input(core.area));
    let ripple = pass.figure(drive.ripple);
    let linked = linked(core, drive, pass);
    let (inductance, peak) = inductance_of(core, drive);
    let from: [Operand; 5] = [inductance, drive.ripple.into(), core.turns.into(), core.area.into(), peak];
    let from = if core.softening.is_some() { &from[..] } else { &from[..4] };
    let swing = pass.put(out, &SWING, from, |l| {
        let linkage = linked.as_ref().map_or(henry[l] * ripple[l], |linked| linked[l]);
        linkage / (turns[l] * area[l])
    });
    let input = |id| pass.input(id);
    let (carrier, reach, volume) = (input(stage.carrier), input(material.reach), input(material.volume));
    let (at, flux) = (input(material.frequency), input(material.flux_density));
    let (direct, curve): (Operand, Operand) = match (core.figures.direct_flux, &core.bias) {
        (Some(direct), Some((curve, _))) => (direct.into(), (*curve).into()),
        _ => (out.into(), out.into()),
    };
    let from: [Operand; 12] = [
        out.into(),
        drive.duty.into(),
        stage.carrier.into(),
        material.density.into(),
        material.frequency.into(),
        material.flux_density.into(),
        material.exponents.0.into(),
        material.exponents.1.into(),
        material.reach.into(),
        material.volume.into(),
        direct,
        curve,
    ];
    let factor = beside_direct(core, drive, pass);
    let law = if core.bias.is_some() { &BIASED_LOSS } else { &CORE_LOSS };
    let count = if core.bias.is_some() { from.len() } else { from.len() - 2 };
    pass.put(core.figures.loss, law, &from[..count], |l| {
        let (frequency, crest) = (carrier[l] * drive.times, 0.5 * swing[l]);
        let in_frequency = at[l] / reach[l] <= frequency && frequency <= at[l] * reach[l];
        let is_within = in_frequency && crest <= flux[l] * reach[l];
        if !is_within {
            return f64::NAN;
        }
        // Flux that does not move loses nothing, and has no ramps.
        if swing[l] == 0.0 {
            return 0.0 * volume[l];
        }
        let least = 2.0 * flux[l] / reach[l];
        let swing = if swing[l] < least { least } else { swing[l] };
        let (rising, falling) = (drive.ramps)(l);
        volume[l] * fits[l].ramps(FluxDensity::new(swing), rising, falling).si() * factor[l]
    });
}

/// What the flux of a core follows from: its inductance or the curve of it, and the crest of its current.
fn inductance_of<const L: usize>(core: &Core, drive: &Drive<'_, L>) -> (Operand, Operand) {
    let curve = core.softening.as_ref().map(|(curve, _)| Operand::from(*curve));
    (curve.unwrap_or(core.inductance.into()), drive.peak.unwrap_or(drive.ripple).into())
}

/// Swing of the flux linkage of a softening choke over its ripple.
fn linked<const L: usize, T: Trace>(
    core: &Core,
    drive: &Drive<'_, L>,
    pass: &Pass<'_, L, T>,
) -> Option<[f64; L]> {
    let ((_, points), peak) = (core.softening.as_ref()?, pass.figure(drive.peak?));
    let ripple = pass.figure(drive.ripple);
    let at = |amps: f64| core_flux::softened_linkage(points, Current::new(amps));
    Some(core::array::from_fn(|l| (at(peak[l]) - at(peak[l] - ripple[l])).si()))
}

/// Puts the direct flux of a core whose loss is stated over it, and gives its loss over that without any.
fn beside_direct<const L: usize, T: Trace>(
    core: &Core,
    drive: &Drive<'_, L>,
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let (Some((_, points)), Some(out)) = (&core.bias, core.figures.direct_flux) else { return [1.0; L] };
    let (henry, turns, area) = (pass.input(core.inductance), pass.input(core.turns), pass.input(core.area));
    let ripple = pass.figure(drive.ripple);
    let peak = drive.peak.map(|peak| pass.figure(peak));
    let (inductance, crest) = inductance_of(core, drive);
    let all: [Operand; 5] = [inductance, crest, drive.ripple.into(), core.turns.into(), core.area.into()];
    let from = if peak.is_some() { &all[..] } else { &[] };
    let direct = pass.put(out, &DIRECT, from, |l| {
        let Some(peak) = &peak else { return 0.0 };
        let middle = Current::new(peak[l] - 0.5 * ripple[l]);
        let linkage = match &core.softening {
            Some((_, points)) => core_flux::softened(points, middle).1,
            None => Inductance::new(henry[l]) * middle,
        };
        core_flux::linked_peak(linkage, turns[l], Area::new(area[l])).si()
    });
    direct.map(|direct| core_loss::beside_direct(points, FluxDensity::new(direct)))
}
