//! A chip whose current repeats with the carrier: choppers and stages with a transformer.

use loadworthy_physics::Law;
use loadworthy_physics::converters::ramp::Split;

use crate::device::{self, EnergyCurve};
use crate::ids::FigureId;
use crate::plan::{BodyDiode, Chip, ChipKind, Stage};
use crate::solver::chip::{Line, exponents, growth};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::LossLine;
use crate::trace::{Operand, Trace};

/// Currents at which an edge happens once in each carrier period; none where it is soft in this circuit.
pub(crate) type Edge<const L: usize> = Option<[f64; L]>;

/// What one position carries, all its devices together.
pub(crate) struct Pulse<'a, const L: usize> {
    /// Over the whole period: forward through a transistor, backward through the diode beside it.
    pub(crate) over_period: [Split; L],
    /// Largest forward and largest backward current.
    pub(crate) peaks: ([f64; L], [f64; L]),
    /// Mean and mean square of the part of the backward current that falls into dead times.
    pub(crate) dead: ([f64; L], [f64; L]),
    pub(crate) turn_on: Edge<L>,
    pub(crate) turn_off: Edge<L>,
    pub(crate) recovery: Edge<L>,
    /// Energy in each period that the turn-on takes from the node, all devices together.
    pub(crate) burnt: [f64; L],
    /// Voltage that is switched.
    pub(crate) voltage: [f64; L],
    pub(crate) voltage_from: Operand,
    /// What the currents follow from.
    pub(crate) laws: &'static PulseLaws,
    pub(crate) from: &'a [Operand],
}

/// Laws of a position's currents.
pub(crate) struct PulseLaws {
    pub(crate) average: Law,
    pub(crate) rms: Law,
    pub(crate) peak: Law,
}

/// Currents, energies and the loss line of one chip.
pub(crate) fn currents<const L: usize, T: Trace>(
    stage: &Stage,
    chip: &Chip,
    parallel: &[f64; L],
    pulse: &Pulse<'_, L>,
    junction: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) -> LossLine<L> {
    let figures = &chip.figures;
    let n = parallel;
    let crest: [f64; L] = core::array::from_fn(|l| {
        let (forward, backward) = (pulse.peaks.0[l], pulse.peaks.1[l]);
        let amps = match chip.kind {
            ChipKind::Igbt => forward,
            ChipKind::Diode => backward,
            ChipKind::Mosfet if forward < backward => backward,
            ChipKind::Mosfet => forward + 0.0 * backward,
        };
        amps / n[l]
    });
    pass.put(figures.peak_current, &pulse.laws.peak, pulse.from, |l| crest[l]);
    let average = pass.put(figures.average_current, &pulse.laws.average, pulse.from, |l| {
        let split = &pulse.over_period[l];
        let (forward, backward) = (split.forward_mean.si(), split.backward_mean.si());
        match chip.kind {
            ChipKind::Igbt => forward / n[l],
            ChipKind::Diode => backward / n[l],
            ChipKind::Mosfet => (forward - backward + pulse.dead.0[l]) / n[l],
        }
    });
    let rms = pass.put(figures.rms_current, &pulse.laws.rms, pulse.from, |l| {
        let split = &pulse.over_period[l];
        let (forward, backward) = (split.forward_square.si(), split.backward_square.si());
        let square = match chip.kind {
            ChipKind::Igbt => forward,
            ChipKind::Diode => backward,
            ChipKind::Mosfet => forward + backward - pulse.dead.1[l],
        };
        if square < 0.0 { 0.0 } else { square.sqrt() / n[l] }
    });
    let energy = if chip.kind == ChipKind::Diode {
        energy(figures.energy, &chip.energy, &[(&chip.energy, &pulse.recovery)], None, n, pulse, pass)
    } else if let Some(edges) = &chip.edges {
        let both = [(&edges.turn_on, &pulse.turn_on), (&edges.turn_off, &pulse.turn_off)];
        energy(figures.energy, &chip.energy, &both, Some(&pulse.burnt), n, pulse, pass)
    } else {
        energy(figures.energy, &chip.energy, &[], None, n, pulse, pass)
    };
    let carrier = pass.input(stage.carrier);
    let growth = growth(&chip.energy, pass);
    let mut line = LossLine::default();
    for l in 0..L {
        let conduction = Line::through(&chip.conduction, crest[l], junction[l]);
        (line.knee.0[l], line.knee.1[l]) = conduction.knee;
        (line.slope.0[l], line.slope.1[l]) = conduction.slope;
        let squared = rms[l] * rms[l];
        line.constant[l] = conduction.knee.0 * average[l] + conduction.slope.0 * squared;
        line.per_kelvin[l] = conduction.knee.1 * average[l] + conduction.slope.1 * squared;
    }
    add_switching(&mut line, &chip.energy, &energy, &carrier, &growth, junction);
    if let Some(body) = &chip.body_diode {
        body_diode(stage, body, n, pulse, junction, &mut line, pass);
    }
    line
}

/// Takes over what another leg carries: legs are alike, and only their temperatures differ.
pub(crate) fn repeat<const L: usize, T: Trace>(first: &Chip, chip: &Chip, pass: &mut Pass<'_, L, T>) {
    let mut copy = |from: FigureId, to: FigureId| pass.figures[to.index()] = pass.figures[from.index()];
    copy(first.figures.average_current, chip.figures.average_current);
    copy(first.figures.rms_current, chip.figures.rms_current);
    copy(first.figures.peak_current, chip.figures.peak_current);
    copy(first.figures.energy, chip.figures.energy);
    if let (Some(first), Some(body)) = (&first.body_diode, &chip.body_diode) {
        copy(first.average_current, body.average_current);
        copy(first.rms_current, body.rms_current);
        copy(first.recovery_energy, body.recovery_energy);
    }
}

/// Adds a loss that is an energy in each carrier period.
fn add_switching<const L: usize>(
    line: &mut LossLine<L>,
    curve: &EnergyCurve,
    energy: &[f64; L],
    carrier: &[f64; L],
    growth: &[f64; L],
    junction: &[f64; L],
) {
    for l in 0..L {
        let switched = carrier[l] * energy[l];
        // Without an edge there is nothing that a temperature could change.
        if energy[l] != 0.0 {
            let (at_zero, growth) = curve.around(junction[l], growth[l]);
            line.constant[l] += switched * at_zero;
            line.per_kelvin[l] += switched * growth;
        }
    }
}

/// Energy of one edge. A soft edge costs nothing, whatever its curve would say; next to it the curve goes down to
/// nothing, so that a loss does not leap where an edge turns soft and each power has one loss.
#[inline]
pub(crate) fn of_edge(curve: &EnergyCurve, current: f64, exponent: f64) -> f64 {
    if current <= 0.0 {
        return 0.0;
    }
    let near = device::SOFT_BELOW * curve.points.first().map_or(0.0, |(first, _)| first.si());
    if current < near { curve.at(near, exponent) * current / near } else { curve.at(current, exponent) }
}

/// Energy of the edges of one period, at the temperature of the data sheet and the voltage at hand. All edges of a chip
/// scale alike.
fn energy<const L: usize, T: Trace>(
    out: FigureId,
    scale: &EnergyCurve,
    edges: &[(&EnergyCurve, &Edge<L>)],
    burnt: Option<&[f64; L]>,
    parallel: &[f64; L],
    pulse: &Pulse<'_, L>,
    pass: &mut Pass<'_, L, T>,
) -> [f64; L] {
    let hard = edges.iter().any(|(_, edge)| edge.is_some());
    if !hard {
        return pass.put(out, &laws::SOFT_EDGES, &[], |_| 0.0);
    }
    let [of_voltage, of_current] = exponents(scale, pass);
    let mut sum = [0.0; L];
    for l in 0..L {
        for (curve, edge) in edges {
            let Some(current) = edge else { continue };
            let share = current[l] / parallel[l];
            sum[l] += of_edge(curve, share, of_current[l]);
        }
        if sum[l] != 0.0 {
            sum[l] *= scale.voltage_factor(pulse.voltage[l], of_voltage[l]);
        }
        if let Some(burnt) = burnt {
            sum[l] += burnt[l] / parallel[l];
        }
    }
    let of_scale: Operand = scale.scale.map_or(scale.id.into(), |scale| scale.voltage_exponent.into());
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([pulse.voltage_from, scale.id.into(), of_scale]);
        from.extend(pulse.from);
    }
    pass.put(out, &device::EDGE_ENERGY, &from, |l| sum[l])
}

/// What the body diode of a MOSFET conducts in the dead times and recovers, added to the chip's line.
fn body_diode<const L: usize, T: Trace>(
    stage: &Stage,
    body: &BodyDiode,
    parallel: &[f64; L],
    pulse: &Pulse<'_, L>,
    junction: &[f64; L],
    line: &mut LossLine<L>,
    pass: &mut Pass<'_, L, T>,
) {
    let average =
        pass.put(body.average_current, &laws::DEAD_AVERAGE, pulse.from, |l| pulse.dead.0[l] / parallel[l]);
    let rms =
        pass.put(body.rms_current, &laws::DEAD_RMS, pulse.from, |l| pulse.dead.1[l].sqrt() / parallel[l]);
    let recovery = energy(
        body.recovery_energy,
        &body.energy,
        &[(&body.energy, &pulse.recovery)],
        None,
        parallel,
        pulse,
        pass,
    );
    let carrier = pass.input(stage.carrier);
    let growth = growth(&body.energy, pass);
    for l in 0..L {
        let crest = if pulse.peaks.0[l] < pulse.peaks.1[l] { pulse.peaks.1[l] } else { pulse.peaks.0[l] };
        let way = Line::through(&body.conduction, crest / parallel[l], junction[l]);
        let squared = rms[l] * rms[l];
        // A diode that never conducts needs no curve.
        if average[l] != 0.0 {
            line.body.0[l] = way.knee.0 * average[l] + way.slope.0 * squared;
            line.body.1[l] = way.knee.1 * average[l] + way.slope.1 * squared;
        }
        line.constant[l] += line.body.0[l];
        line.per_kelvin[l] += line.body.1[l];
    }
    add_switching(line, &body.energy, &recovery, &carrier, &growth, junction);
}
