//! Duties of a forward converter and the current of its output inductor.

use super::Forward;
use crate::Current;
use crate::Voltage;
use crate::converters::discontinuous;

/// How the period divides, and what the output inductor carries in it.
pub(super) struct Duties {
    pub(super) secondary: Voltage,
    pub(super) effective: f64,
    pub(super) ripple: Current,
    pub(super) lost: f64,
    pub(super) duty: f64,
    pub(super) peak: Current,
    pub(super) valley: Current,
    /// Share of the period in which nothing flows in the output inductor.
    pub(super) rest: f64,
}

pub(super) fn duties(inputs: &Forward) -> Duties {
    let &Forward { input, output, load, turns, leakage, magnetising, output_inductance, frequency } = inputs;
    let a = leakage / output_inductance / (turns * turns);
    let secondary = (input / turns + output * a) / (1.0 + a + leakage / magnetising);
    let effective = output / secondary;
    let ripple = output * (1.0 - effective) / (output_inductance * frequency);
    let (peak, valley) = (load + ripple * 0.5, load - ripple * 0.5);
    let lost = valley * (leakage * frequency) / input / turns;
    Duties { secondary, effective, ripple, lost, duty: effective + lost, peak, valley, rest: 0.0 }
}

/// The same behind a diode that lets the output inductor run empty in each period; none where it does not, or where the
/// current trapped in the leakage takes longer to decay than that.
pub(super) fn resting(inputs: &Forward) -> Option<Duties> {
    let &Forward { input, output, load, turns, leakage, output_inductance, frequency, .. } = inputs;
    let continuous = duties(inputs);
    let secondary = continuous.secondary;
    let triangle = discontinuous::buck_at_current(secondary, output, load, output_inductance, frequency);
    let (effective, peak) = (triangle.rise, triangle.peak);
    let decaying = peak / turns * (leakage * frequency) / (input * (effective / (1.0 - effective)));
    let rests = continuous.valley < Current::ZERO && triangle.runs_empty() && decaying <= triangle.fall;
    let rest = 1.0 - effective - triangle.fall;
    let (ripple, lost, valley) = (peak, 0.0, Current::ZERO);
    rests.then_some(Duties { secondary, effective, ripple, lost, duty: effective, peak, valley, rest })
}
