//! The voltage that the poles of a bridge must form so that the machine gets what it needs.
//!
//! Conducting devices and dead time take their share along the *current*, not along the voltage: they are
//! added as phasors. While recovering, the drop helps the bridge and lowers the index.

use core::f64::consts::PI;

use crate::bounds::{at_least_zero, cosine};
use crate::modulation::SQRT_3;
use crate::{Current, Frequency, Law, Resistance, Time, Voltage};

/// Crest of a phase voltage over the RMS line voltage, √(2/3).
const PHASE_CREST: f64 = core::f64::consts::SQRT_2 / SQRT_3;

/// Law of [`pole_index`].
pub static POLE_INDEX: Law = Law {
    name: "modulation index at the poles",
    formula: "M = 2/V_dc·|V̂_ph + V̂_drop·e^(−jφ)|, V̂_ph = √(2/3)·V_LL",
    validity: "fundamental; drops taken in phase with the current",
    source: "phasor sum; dead time part after Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003",
};

/// |a + b·e^(−jφ)| from cos φ.
#[inline]
fn phasor_sum(a: Voltage, b: Voltage, cos_phi: f64) -> Voltage {
    let (a, b) = (a.si(), b.si());
    // Written around (a + b)², which cannot cancel to less than zero except by rounding.
    Voltage::new(at_least_zero(a * a + 2.0 * a * b * cosine(cos_phi) + b * b).sqrt())
}

/// Modulation index that the poles must form (plain number).
///
/// `line_rms` is the line voltage that the machine needs, `cos_phi` its power factor with the sign of the
/// power, `drop` the crest of the fundamental that is lost along the current ([`dead_time_drop`] +
/// [`conduction_drop`]), `dc` the link voltage. With no drop it is [`crate::modulation::modulation_index`].
/// This is the index that device currents, capacitor current and limits depend on.
#[inline]
pub fn pole_index(line_rms: Voltage, cos_phi: f64, drop: Voltage, dc: Voltage) -> f64 {
    phasor_sum(line_rms * PHASE_CREST, drop, cos_phi) * 2.0 / dc
}

/// Crest of the fundamental that dead time takes from a phase voltage, along the current.
///
/// `dc` is the link voltage, `dead_time` the blanking after each edge, `carrier` the carrier frequency. The error
/// voltage is a square wave of height V_dc·t_d·f_s.
///
/// `V̂_dt = 4/π·V_dc·t_d·f_s`. Valid: one dead time after each of two edges a carrier period, current of constant sign
/// in it; 0.04 % against sampled waveforms. Source: Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003.
#[inline]
pub fn dead_time_drop(dc: Voltage, dead_time: Time, carrier: Frequency) -> Voltage {
    dc * (4.0 / PI * (dead_time * carrier))
}

/// Crest of the fundamental that the conducting devices take from a phase voltage, along the current.
///
/// `knee` and `slope` are the on-state line V_0 + r·i, `peak` the current's crest.
///
/// `V̂_on = 4/π·V_0 + r·Î`. Valid: fundamental of V_0·sign(i) + r·i; same knee and slope taken for transistor and
/// diode. Source: Fourier series of a square wave; own statement.
#[inline]
pub fn conduction_drop(knee: Voltage, slope: Resistance, peak: Current) -> Voltage {
    knee * (4.0 / PI) + slope * peak
}

/// Crest of the fundamental phase voltage that reaches the machine.
///
/// `m` is the commanded index, `dc` the link voltage, `drop` the crest lost along the current, `cos_phi` the power
/// factor against the *commanded* voltage.
///
/// `V̂_ph = |M·V_dc/2 − V̂_drop·e^(−jφ)|`. Valid: fundamental; φ between the commanded voltage and the current. Source:
/// phasor sum; dead time part after Holmes, Lipo, Pulse Width Modulation for Power Converters, 2003.
#[inline]
pub fn delivered_phase_voltage(m: f64, dc: Voltage, drop: Voltage, cos_phi: f64) -> Voltage {
    phasor_sum(dc * (m / 2.0), -drop, cos_phi)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::modulation::modulation_index;

    #[test]
    fn no_drop_leaves_the_terminal_index() {
        let (line, dc) = (Voltage::new(330.0), Voltage::new(620.0));
        assert!((pole_index(line, 0.88, Voltage::ZERO, dc) - modulation_index(line, dc)).abs() < 1e-12);
    }

    #[test]
    fn a_drop_raises_the_index_while_motoring_and_lowers_it_while_recovering() {
        let (line, dc, drop) = (Voltage::new(330.0), Voltage::new(620.0), Voltage::new(9.0));
        let plain = modulation_index(line, dc);
        // With cos φ = ±1 the drop adds or subtracts as a plain number.
        assert!((pole_index(line, 1.0, drop, dc) - plain - 18.0 / 620.0).abs() < 1e-12);
        assert!((pole_index(line, -1.0, drop, dc) - plain + 18.0 / 620.0).abs() < 1e-12);
    }

    #[test]
    fn dead_time_of_two_microseconds_at_eight_kilohertz() {
        let lost = dead_time_drop(Voltage::new(620.0), Time::new(2e-6), Frequency::new(8e3));
        assert!((lost.si() - 620.0 * 0.016 * 4.0 / PI).abs() < 1e-12);
    }

    #[test]
    fn a_missing_drop_is_a_missing_index() {
        let index = pole_index(Voltage::new(330.0), 0.9, Voltage::new(f64::NAN), Voltage::new(620.0));
        assert!(index.is_nan());
    }
}
