//! What a chip loses at its solved junction temperature.

use loadworthy_physics::{Current, Energy, Frequency, Resistance, Voltage, on_state, switching};

use crate::device::{self, EnergyCurve};
use crate::plan::{Chip, Stage};
use crate::solver::chip::growth;
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::scratch::LossLine;
use crate::trace::{Operand, Trace};

/// Losses of a chip at its solved junction temperature.
pub(crate) fn losses<const L: usize, T: Trace>(
    stage: &Stage,
    chip: &Chip,
    line: &LossLine<L>,
    junction: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let figures = &chip.figures;
    let hot: Operand = figures.mean_junction_temperature.into();
    let from: &[Operand] = &[chip.conduction.id.into(), figures.peak_current.into(), hot];
    let knee = pass
        .put(figures.knee, &device::ON_STATE_LINE, from, |l| line.knee.0[l] + line.knee.1[l] * junction[l]);
    let slope = pass.put(figures.slope, &device::ON_STATE_LINE, from, |l| {
        line.slope.0[l] + line.slope.1[l] * junction[l]
    });
    let average = pass.figure(figures.average_current);
    let rms = pass.figure(figures.rms_current);
    let from: &[Operand] = &[
        figures.knee.into(),
        figures.slope.into(),
        figures.average_current.into(),
        figures.rms_current.into(),
    ];
    pass.put(figures.conduction_loss, &laws::CONDUCTION, from, |l| {
        on_state::conduction_loss(
            Voltage::new(knee[l]),
            Resistance::new(slope[l]),
            Current::new(average[l]),
            Current::new(rms[l]),
        )
        .si()
    });
    switching_loss(stage, figures.energy, figures.switching_loss, &chip.energy, hot, junction, pass);
    let mut terms: [Operand; 4] = [figures.conduction_loss.into(); 4];
    terms[1] = figures.switching_loss.into();
    let mut count = 2;
    if let Some(body) = &chip.body_diode {
        let from: &[Operand] =
            &[body.conduction.id.into(), body.average_current.into(), body.rms_current.into(), hot];
        pass.put(body.loss, &laws::CONDUCTION, from, |l| line.body.0[l] + line.body.1[l] * junction[l]);
        switching_loss(stage, body.recovery_energy, body.recovery_loss, &body.energy, hot, junction, pass);
        terms[2] = body.loss.into();
        terms[3] = body.recovery_loss.into();
        count = 4;
    }
    pass.put_sum(figures.loss, &laws::CHIP_LOSS, &terms[..count]);
    pass.put(figures.loss_per_kelvin, &laws::LOSS_GROWTH, &terms[..count], |l| line.per_kelvin[l]);
}

fn switching_loss<const L: usize, T: Trace>(
    stage: &Stage,
    energy: crate::ids::FigureId,
    out: crate::ids::FigureId,
    curve: &EnergyCurve,
    hot: Operand,
    junction: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    let joules = pass.figure(energy);
    let carrier = pass.input(stage.carrier);
    let growth = growth(curve, pass);
    let coefficient: Operand = curve.scale.map_or(curve.id.into(), |scale| scale.per_kelvin.into());
    let from: &[Operand] = &[energy.into(), stage.carrier.into(), hot, coefficient, curve.id.into()];
    pass.put(out, &laws::SWITCHING, from, |l| {
        // Where no edge is hard there is nothing that a curve or a temperature could change.
        if joules[l] == 0.0 {
            return 0.0;
        }
        let (at_zero, per_kelvin) = curve.around(junction[l], growth[l]);
        let factor = at_zero + per_kelvin * junction[l];
        switching::loss(Energy::new(joules[l] * factor), Frequency::new(carrier[l])).si()
    });
}
