//! Conduction loss from a straight line through the on-state curve.

use core::ops::{Add, Mul, Sub};

use crate::{Current, Law, Power, Resistance, Temperature, Voltage};

/// Law of [`chord`].
pub static CHORD: Law = Law {
    name: "on-state line",
    formula: "r = (v(Î) − v(Î/2))/(Î − Î/2), V_0 = v(Î) − r·Î",
    validity: "line through the curve at half and full crest; the curve's bend costs 2 to 5 % of the loss",
    source: "Graovac, Pürschel, IGBT Power Losses Calculation Using the Data-Sheet Parameters, 2009",
};

/// Law of [`conduction_loss`].
pub static CONDUCTION_LOSS: Law = Law {
    name: "conduction loss",
    formula: "P_on = V_0·I_avg + r·I_rms²",
    validity: "exact for the line V_0 + r·i; 0.25 % against sampled waveforms",
    source: "mean of (V_0 + r·i)·i; Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015",
};

/// Line through an on-state curve at half the crest and at the crest: knee voltage V_0 and slope resistance
/// r.
///
/// `v_at_half` and `v_at_peak` are the curve's voltages at the currents `half` and `peak`, which must
/// differ; equal currents have no line and come out as not a number. See [`CHORD`].
#[inline]
pub fn chord(v_at_half: Voltage, v_at_peak: Voltage, half: Current, peak: Current) -> (Voltage, Resistance) {
    let run = peak - half;
    if run == Current::ZERO {
        return (Voltage::new(f64::NAN), Resistance::new(f64::NAN));
    }
    let slope = (v_at_peak - v_at_half) / run;
    (v_at_peak - slope * peak, slope)
}

/// Conduction loss of a device.
///
/// `knee` and `slope` are the on-state line at the junction temperature, `average` and `rms` the device's
/// own currents (not the phase's). See [`CONDUCTION_LOSS`].
#[inline]
pub fn conduction_loss(knee: Voltage, slope: Resistance, average: Current, rms: Current) -> Power {
    knee * average + slope * (rms * rms)
}

/// A figure at a temperature, on the straight line through its values at two temperatures.
///
/// Works for any quantity and for plain numbers. `a` holds at `at_a`, `b` at `at_b`. Both temperatures equal: not a
/// number, because one curve does not say how it moves. Beyond the two it continues the line.
///
/// `x(T) = x_a + (x_b − x_a)·(T − T_a)/(T_b − T_a)`. Valid: straight line between two stated temperatures, continued
/// beyond them. Source: linear interpolation.
#[inline]
pub fn at_temperature<Q>(a: Q, at_a: Temperature, b: Q, at_b: Temperature, temperature: Temperature) -> Q
where
    Q: Copy + Add<Output = Q> + Sub<Output = Q> + Mul<f64, Output = Q>,
{
    let span = (at_b - at_a).si();
    let share = if span == 0.0 { f64::NAN } else { (temperature - at_a).si() / span };
    a + (b - a) * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chord_passes_through_both_points() {
        let (knee, slope) =
            chord(Voltage::new(1.10), Voltage::new(1.90), Current::new(100.0), Current::new(450.0));
        assert!((knee + slope * Current::new(100.0) - Voltage::new(1.10)).si().abs() < 1e-12);
        assert!((knee + slope * Current::new(450.0) - Voltage::new(1.90)).si().abs() < 1e-12);
    }

    #[test]
    fn a_constant_current_loses_its_voltage_times_itself() {
        let loss = conduction_loss(
            Voltage::new(0.85),
            Resistance::new(0.0015),
            Current::new(300.0),
            Current::new(300.0),
        );
        assert!((loss.si() - (0.85 + 0.45) * 300.0).abs() < 1e-9);
    }

    #[test]
    fn interpolation_is_exact_at_its_ends_and_halfway() {
        let at = |celsius| {
            at_temperature(
                Voltage::new(1.65),
                Temperature::celsius(25.0),
                Voltage::new(1.90),
                Temperature::celsius(150.0),
                Temperature::celsius(celsius),
            )
        };
        assert_eq!(at(25.0), Voltage::new(1.65));
        assert_eq!(at(150.0), Voltage::new(1.90));
        assert!((at(87.5).si() - 1.775).abs() < 1e-12);
    }

    #[test]
    fn one_temperature_alone_gives_no_line() {
        let t = Temperature::celsius(150.0);
        assert!(at_temperature(1.0, t, 1.0, t, t).is_nan());
        let (knee, slope) = chord(Voltage::new(1.0), Voltage::new(1.0), Current::new(5.0), Current::new(5.0));
        assert!(knee.si().is_nan() && slope.si().is_nan());
    }
}
