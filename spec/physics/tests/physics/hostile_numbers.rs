//! Any number at all may be written into a description: nothing may panic, and nothing may call itself
//! steady that is not a temperature.

use loadworthy_physics::loss_feedback::{self, Feedback, QuadraticResistance};
use loadworthy_physics::{
    Current, Energy, Frequency, Modulation, Power, Resistance, Temperature, TemperatureDifference,
    ThermalResistance, Time, Voltage, VolumeFlow, battery, bridge_currents, energy_curve, junction_ripple,
    plate, rating, switching,
};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// Every pattern of bits that is a float, and often the ones that people write.
pub(crate) fn number() -> impl Strategy<Value = f64> {
    let plain =
        prop::sample::select(vec![0.0, -0.0, 1.0, -1.0, 25.0, 1e-300, 1e300, f64::INFINITY, f64::NAN]);
    prop_oneof![any::<f64>(), plain]
}

fn told_honestly(outcome: Feedback) -> Result<(), TestCaseError> {
    match outcome {
        Feedback::Steady { temperature, loop_gain } => {
            prop_assert!(!temperature.in_celsius().is_nan() && loop_gain <= 1.0);
        }
        Feedback::NoSteadyState { loop_gain } => prop_assert!(loop_gain >= 1.0),
        Feedback::NotJudged => {}
    }
    Ok(())
}

proptest! {
    #![proptest_config(repeatable(2000))]

    #[test]
    fn feedback(n in prop::array::uniform6(number())) {
        let (coolant, path) = (Temperature::celsius(n[0]), ThermalResistance::new(n[1]));
        let reference = Temperature::celsius(n[4]);
        told_honestly(loss_feedback::linear(coolant, path, Power::new(n[2]), n[3], reference))?;
        told_honestly(loss_feedback::leakage(
            coolant,
            path,
            Power::new(n[2]),
            Power::new(n[3]),
            reference,
            TemperatureDifference::new(n[5]),
        ))?;
        let at_25 = Resistance::new(n[3]);
        let resistance = QuadraticResistance { at_25, per_kelvin: n[4], per_square_kelvin: n[5] };
        told_honestly(loss_feedback::quadratic_resistance(coolant, path, Current::new(n[2]), resistance))?;
    }

    #[test]
    fn curves(points in prop::collection::vec((number(), number()), 0..5), peak in number()) {
        let points: Vec<_> = points.into_iter().map(|(i, e)| (Current::new(i), Energy::new(e))).collect();
        let here = energy_curve::polyline_at(&points, Current::new(peak)).si();
        let mean = energy_curve::polyline_average(&points, Current::new(peak)).si();
        let holed = points.iter().any(|(i, e)| i.si().is_nan() || e.si().is_nan());
        if points.is_empty() || holed || peak.is_nan() || peak < 0.0 {
            prop_assert!(here.is_nan() && mean.is_nan());
        }
    }

    #[test]
    fn bounded_figures_stay_in_their_bounds(n in prop::array::uniform6(number())) {
        let rated = Current::new(n[0].abs());
        let [at, limit, case] = [n[1], n[2], n[3]].map(Temperature::celsius);
        let (knee, slope) = (Voltage::new(n[4].abs()), Resistance::new(n[5].abs()));
        let current = rating::rating_at_case(rated, at, limit, case, knee, slope);
        let bound = rated.si() * (1.0 + 1e-9);
        prop_assert!(current.si().is_nan() || (0.0..=bound).contains(&current.si()));
        for kind in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
            let rms = bridge_currents::diode_rms(rated, n[1], n[2], kind).si();
            prop_assert!(rms.is_nan() || rms >= 0.0);
        }
        let factor = junction_ripple::peak_factor(Time::new(n[0].abs()), Frequency::new(n[1].abs()));
        prop_assert!(factor.is_nan() || (1.0..=std::f64::consts::PI).contains(&factor));
        let average = switching::half_wave_factor(n[0]);
        prop_assert!(average.is_nan() || average >= 0.0);
        let (open, inside) = (Voltage::new(n[0].abs()), Resistance::new(n[1].abs()));
        let v = battery::terminal_voltage(open, inside, Power::new(n[2].abs()));
        prop_assert!(v.si().is_nan() || v.si() <= n[0].abs());
        let (stated, flow) = (VolumeFlow::new(n[0]), VolumeFlow::new(n[1]));
        let plate = plate::at_flow(ThermalResistance::new(n[2].abs()), stated, flow);
        prop_assert!(plate.si().is_nan() || flow / stated >= 0.5);
    }
}
