//! Loss of a magnetic core under the waveforms of converters, from the parameters of its sine measurement.

use core::f64::consts::PI;

use crate::bounds::power;
use crate::{FluxDensity, Frequency, Law, LossDensity};

const SOURCE: &str =
    "Li, Abdallah, Sullivan, IEEE IAS, 2001; Venkatachalam, Sullivan, Abdallah, Tacca, COMPEL, 2002";
const LIMITS: &str = "k, α, β of the core's temperature; no direct bias, which can double the loss, no relaxation in flat intervals, one loop a period";

/// Law of [`Steinmetz::ramps`].
pub static RAMPS: Law = Law {
    name: "core loss under straight ramps",
    formula: "P_v = k_i·f^α·ΔB^β·Σ x_k^(1 − α) over the ramps of the whole swing that last the shares x_k of the period, k_i as under a triangle",
    validity: LIMITS,
    source: SOURCE,
};

/// Law of [`beside_direct`].
pub static BESIDE_DIRECT: Law = Law {
    name: "growth of a core's loss beside direct flux",
    formula: "P(B_0)/P(0) along straight lines between stated points",
    validity: "between the points, at a swing and a frequency like those of the measurement",
    source: "data sheet; Mühlethaler, Biela, Kolar, Ecklebe, IEEE Transactions on Power Electronics 27(2), 2012",
};

/// Loss beside direct flux over that without any, from points of rising flux density in T; missing beyond them. See
/// [`BESIDE_DIRECT`].
pub fn beside_direct(points: &[(f64, f64)], direct: FluxDensity) -> f64 {
    let at = direct.si().abs();
    for pair in points.windows(2) {
        let [(low, less), (high, more)] = [pair[0], pair[1]];
        if low <= at && at <= high {
            return less + (more - less) * (at - low) / (high - low);
        }
    }
    f64::NAN
}

/// What a core's sine measurement is described by: P_v = k·f^α·B̂^β in W/m³, Hz and T, with the *crest* B̂.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steinmetz {
    /// k, in SI.
    pub factor: f64,
    /// α, exponent of the frequency.
    pub frequency_exponent: f64,
    /// β, exponent of the flux density.
    pub flux_exponent: f64,
}

impl Steinmetz {
    /// Loss density under a sine of the crest `peak`.
    ///
    /// `P_v = k·f^α·B̂^β`. Valid: sine within the measured range; for a triangle up to 17 % too high at D = 0.5 and 45
    /// % too low at D = 0.1. Source: Steinmetz, as fitted by core data sheets.
    #[inline]
    pub fn sine(self, frequency: Frequency, peak: FluxDensity) -> LossDensity {
        let by_frequency = power(frequency.si(), self.frequency_exponent);
        LossDensity::new(self.factor * by_frequency * power(peak.si(), self.flux_exponent))
    }

    /// The fit through a measured point: its loss density at a frequency and the crest of a sine, and the exponents.
    #[inline]
    pub fn through(
        density: LossDensity,
        frequency: Frequency,
        peak: FluxDensity,
        (frequency_exponent, flux_exponent): (f64, f64),
    ) -> Self {
        let unit = Self { factor: 1.0, frequency_exponent, flux_exponent };
        Self { factor: density / unit.sine(frequency, peak), ..unit }
    }

    /// k_i of k_i·f^α·ΔB^β: hangs on the fit alone.
    fn ramp_factor(self) -> f64 {
        let (alpha, beta) = (self.frequency_exponent, self.flux_exponent);
        // Mean of |cos|^α over a turn, times 2·π.
        let mean = 2.0 * PI.sqrt() * libm::tgamma(0.5 * (alpha + 1.0)) / libm::tgamma(0.5 * alpha + 1.0);
        self.factor / (power(2.0 * PI, alpha - 1.0) * mean * power(2.0, beta - alpha))
    }

    /// The fit for straight ramps at one frequency, to be used for many of them.
    #[must_use]
    pub fn of_ramps(self, frequency: Frequency) -> RampFit {
        let factor = self.ramp_factor() * power(frequency.si(), self.frequency_exponent);
        RampFit { factor, of: self }
    }

    /// Loss density under a triangle of the swing `swing`, peak to peak, that rises for the share `duty` of the period.
    /// Endless at the ends of the duty.
    ///
    /// `P_v = k_i·f^α·ΔB^β·(D^(1 − α) + (1 − D)^(1 − α)), k_i = k/((2·π)^(α − 1)·2·√π·Γ((α + 1)/2)/Γ(α/2 + 1)·2^(β −
    /// α))`. Valid: k, α, β of the core's temperature; no direct bias, which can double the loss, no relaxation in flat
    /// intervals, one loop a period. Source: Li, Abdallah, Sullivan, IEEE IAS, 2001; Venkatachalam, Sullivan, Abdallah,
    /// Tacca, COMPEL, 2002.
    #[inline]
    pub fn triangle(self, frequency: Frequency, swing: FluxDensity, duty: f64) -> LossDensity {
        let exponent = 1.0 - self.frequency_exponent;
        let edges = power(duty, exponent) + power(1.0 - duty, exponent);
        LossDensity::new(self.of_ramps(frequency).scale(swing) * edges)
    }

    /// Loss density of [`RampFit::ramps`].
    #[inline]
    pub fn ramps(self, frequency: Frequency, swing: FluxDensity, rising: f64, falling: f64) -> LossDensity {
        self.of_ramps(frequency).ramps(swing, rising, falling)
    }

    /// Loss density under a symmetric trapezoid of the swing `swing`, peak to peak, whose ramps fill the share
    /// `ramping` of each half period.
    ///
    /// `P_v = 2·k_i·f^α·ΔB^β·(D/2)^(1 − α), k_i as under a triangle`. Valid: k, α, β of the core's temperature; no
    /// direct bias, which can double the loss, no relaxation in flat intervals, one loop a period. Source: Li,
    /// Abdallah, Sullivan, IEEE IAS, 2001; Venkatachalam, Sullivan, Abdallah, Tacca, COMPEL, 2002.
    #[inline]
    pub fn trapezoid(self, frequency: Frequency, swing: FluxDensity, ramping: f64) -> LossDensity {
        let edges = 2.0 * power(0.5 * ramping, 1.0 - self.frequency_exponent);
        LossDensity::new(self.of_ramps(frequency).scale(swing) * edges)
    }
}

/// A fit at one frequency, with what hangs on both alone reckoned out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RampFit {
    factor: f64,
    of: Steinmetz,
}

impl RampFit {
    /// One of which nothing is known.
    pub const UNKNOWN: Self = Self {
        factor: f64::NAN,
        of: Steinmetz { factor: f64::NAN, frequency_exponent: f64::NAN, flux_exponent: f64::NAN },
    };

    /// k_i·f^α·ΔB^β.
    fn scale(self, swing: FluxDensity) -> f64 {
        self.factor * power(swing.si(), self.of.flux_exponent)
    }

    /// Loss density where the flux rises by `swing`, peak to peak, for the share `rising` of the period, falls by it for
    /// the share `falling` and rests in between. See [`RAMPS`].
    #[inline]
    pub fn ramps(self, swing: FluxDensity, rising: f64, falling: f64) -> LossDensity {
        let exponent = 1.0 - self.of.frequency_exponent;
        let rise = power(rising, exponent);
        // The flux of a transformer falls as fast as it rises.
        let fall = if falling.to_bits() == rising.to_bits() { rise } else { power(falling, exponent) };
        LossDensity::new(self.scale(swing) * (rise + fall))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CORE: Steinmetz = Steinmetz { factor: 0.42, frequency_exponent: 1.55, flux_exponent: 2.6 };

    #[test]
    fn an_even_triangle_is_a_trapezoid_without_flat_parts() {
        let (f, swing) = (Frequency::new(1e5), FluxDensity::new(0.2));
        let triangle = CORE.triangle(f, swing, 0.5).si();
        assert!((triangle / CORE.trapezoid(f, swing, 1.0).si() - 1.0).abs() < 1e-12);
        // Less than the sine of the same crest, by 3 to 17 %.
        let sine = CORE.sine(f, swing * 0.5).si();
        assert!(triangle < 0.97 * sine && triangle > 0.83 * sine);
    }

    #[test]
    fn a_fit_goes_through_its_point() {
        let (density, f, peak) = (LossDensity::new(3.2e5), Frequency::new(1e5), FluxDensity::new(0.2));
        let fit = Steinmetz::through(density, f, peak, (1.45, 2.55));
        assert!((fit.sine(f, peak) / density - 1.0).abs() < 1e-12);
        // Twice the flux, 2^2.55 times the loss.
        assert!((fit.sine(f, peak * 2.0) / density / libm::pow(2.0, 2.55) - 1.0).abs() < 1e-12);
        assert!((fit.ramps(f, peak, 0.3, 0.7) / fit.triangle(f, peak, 0.3) - 1.0).abs() < 1e-12);
        assert!((fit.ramps(f, peak, 0.2, 0.2) / fit.trapezoid(f, peak, 0.4) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn direct_flux_counts_as_far_as_its_points_lead() {
        let points = [(0.0, 1.0), (0.1, 1.2), (0.2, 1.8)];
        let at = |tesla| beside_direct(&points, FluxDensity::new(tesla));
        assert!((at(0.05) - 1.1).abs() < 1e-12 && (at(-0.15) - 1.5).abs() < 1e-12);
        assert!((at(0.0) - 1.0).abs() < 1e-12 && (at(0.2) - 1.8).abs() < 1e-12);
        assert!(at(0.21).is_nan() && at(f64::NAN).is_nan());
    }

    #[test]
    fn a_short_ramp_loses_more() {
        let (f, swing) = (Frequency::new(1e5), FluxDensity::new(0.2));
        assert!(CORE.triangle(f, swing, 0.1) > CORE.triangle(f, swing, 0.3));
        assert!(CORE.triangle(f, swing, f64::NAN).si().is_nan());
    }
}
