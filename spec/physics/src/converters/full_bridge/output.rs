//! Duties of a full bridge and the currents of its output inductors.
//!
//! The reversal of the primary current takes a share of the half period that depends on the output currents,
//! and they depend on it.

use super::{FullBridge, Rectifier};
use crate::converters::ramp;
use crate::converters::wave::Wave;
use crate::{Current, SquaredCurrent};

/// Corners of a current that rises while driven, falls while the primary freewheels and falls on for a rest.
#[derive(Clone, Copy)]
pub(super) struct Corners {
    pub(super) valley: Current,
    pub(super) peak: Current,
    /// After the freewheel.
    pub(super) freed: Current,
    /// Shares of a half period that the three pieces last.
    shares: [f64; 3],
}

impl Corners {
    /// Corners about a mean, from what the current falls by in the freewheel and in the rest.
    fn about(mean: Current, shares: [f64; 3], first_fall: Current, second_fall: Current) -> Self {
        let [driven, free, rest] = shares;
        let ripple = first_fall + second_fall;
        // Mean height above the valley.
        let area = ripple * driven + (ripple + second_fall) * free + second_fall * rest;
        let valley = mean - area / (2.0 * (driven + free + rest));
        Self { valley, peak: valley + ripple, freed: valley + second_fall, shares }
    }

    pub(super) fn ripple(&self) -> Current {
        self.peak - self.valley
    }

    /// Over the three pieces.
    pub(super) fn wave(&self) -> Wave {
        let [driven, free, rest] = self.shares;
        let whole = driven + free + rest;
        Wave::NONE
            .then(driven / whole, self.valley, self.peak)
            .then(free / whole, self.peak, self.freed)
            .then(rest / whole, self.freed, self.valley)
    }

    pub(super) fn mean_square(&self) -> SquaredCurrent {
        let [driven, free, rest] = self.shares;
        let whole = ramp::mean_square(self.valley, self.peak) * driven
            + ramp::mean_square(self.peak, self.freed) * free
            + ramp::mean_square(self.freed, self.valley) * rest;
        whole / (driven + free + rest)
    }
}

/// Duties and output currents for a duty loss.
#[derive(Clone, Copy)]
pub(super) struct Output {
    pub(super) effective: f64,
    pub(super) freewheel: f64,
    /// Share of a half period in which nothing flows in the inductor.
    pub(super) rest: f64,
    /// One inductor.
    pub(super) inductor: Corners,
    /// What load and output capacitor get together.
    pub(super) whole: Corners,
}

impl Output {
    pub(super) fn at(kind: Rectifier, stated: &FullBridge, lost: f64) -> Self {
        let &FullBridge { turns, output_inductance, load, .. } = stated;
        let Shares { a, m } = Shares::of(stated);
        let transfer = turns * (stated.output / stated.input);
        // Fall of an inductor's current in a whole half period.
        let fall = stated.output / (2.0 * (output_inductance * stated.frequency));
        // While the primary freewheels, the leakage takes its part of the output voltage.
        let held = (1.0 + m) / (1.0 + m + a);
        let effective = match kind {
            Rectifier::CentreTap => transfer * (1.0 + m + a * lost),
            Rectifier::CurrentDoubler => transfer * (2.0 * (1.0 + m) + a * (1.0 + lost)),
        };
        let freewheel = 1.0 - effective - lost;
        let (inductor, whole) = match kind {
            Rectifier::CentreTap => {
                let only = Corners::about(
                    load,
                    [effective, freewheel, lost],
                    fall * (freewheel * held),
                    fall * lost,
                );
                (only, only)
            }
            Rectifier::CurrentDoubler => {
                let shares = [effective, freewheel, 1.0 + lost];
                let one = Corners::about(load * 0.5, shares, fall * (freewheel * held), fall * (1.0 + lost));
                let shares = [effective, freewheel, lost];
                let both =
                    Corners::about(load, shares, fall * (freewheel * (1.0 + held)), fall * (2.0 * lost));
                (one, both)
            }
        };
        Self { effective, freewheel, rest: 0.0, inductor, whole }
    }

    /// The same behind diodes at a load so small that the inductor of a centre tap runs empty in each half period; none
    /// where it does not. Nothing flows then that would have to be reversed, and no share is lost.
    pub(super) fn resting(kind: Rectifier, stated: &FullBridge) -> Option<Self> {
        if kind != Rectifier::CentreTap {
            return None;
        }
        let &FullBridge { input, output, turns, output_inductance, load, .. } = stated;
        let Shares { a, m } = Shares::of(stated);
        let whole = 1.0 + m + a;
        // Across the inductor while driven, and while the primary freewheels.
        let up = (input / turns + output * a) / whole - output;
        let down = output * ((1.0 + m) / whole);
        let drop = 4.0 * (load * (output_inductance * stated.frequency));
        let effective = ((drop / up) * (down / (up + down))).sqrt();
        let freewheel = effective * (up / down);
        let peak = up * effective / (2.0 * (output_inductance * stated.frequency));
        let rest = 1.0 - effective - freewheel;
        let shares = [effective, freewheel, rest];
        let only = Corners { valley: Current::ZERO, peak, freed: Current::ZERO, shares };
        (rest >= 0.0).then_some(Self { effective, freewheel, rest, inductor: only, whole: only })
    }

    /// Duty loss that these currents cause.
    pub(super) fn lost(&self, stated: &FullBridge) -> f64 {
        let reversed = self.inductor.freed + self.inductor.valley;
        let drop = reversed * (stated.leakage * stated.frequency);
        2.0 * (drop / stated.input) / stated.turns
    }
}

/// Leakage against the reflected output inductor, a, and against the magnetising inductance, m.
pub(super) struct Shares {
    pub(super) a: f64,
    pub(super) m: f64,
}

impl Shares {
    pub(super) fn of(stated: &FullBridge) -> Self {
        let &FullBridge { turns, leakage, magnetising, output_inductance, .. } = stated;
        Self { a: leakage / output_inductance / (turns * turns), m: leakage / magnetising }
    }
}

/// Duty loss that causes itself.
///
/// The loss caused is a parabola c + b·l + a·l² of the loss l assumed: duties and falls of the currents are straight
/// lines of it. Of its two crossings with l the one counts that a vanishing leakage comes from. Above some leakage
/// there is none, each loss causes more than itself: then it is what a reversal of the whole half period causes,
/// which is more than there is.
pub(super) fn own_loss(kind: Rectifier, stated: &FullBridge) -> f64 {
    let caused = |lost: f64| Output::at(kind, stated, lost).lost(stated);
    let (none, half, whole) = (caused(0.0), caused(0.5), caused(1.0));
    let bend = 2.0 * (whole - 2.0 * half + none);
    let gap = 1.0 - (whole - none - bend);
    let under = gap + (gap * gap - 4.0 * bend * none).sqrt();
    if under > 0.0 {
        2.0 * none / under
    } else if whole > 1.0 {
        whole
    } else {
        f64::NAN
    }
}
