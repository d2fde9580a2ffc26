//! Closed forms of a bridge against its waveforms, at random operating conditions in both directions of
//! power.

use std::f64::consts::{PI, SQRT_2, TAU};

use libm::{cos, sin};
use loadworthy_physics::stall::{self, Leg};
use loadworthy_physics::{
    Current, Energy, Frequency, Inductance, Modulation, Time, Voltage, bridge_currents, energy_curve,
    link_ripple, modulation, phase_current, phase_ripple, pole_voltage, switching,
};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::pwm::{Drive, integral};

/// The same cases on every machine; a failure must be one that anybody can repeat.
pub(crate) fn repeatable(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    }
}

fn drives(ratio: u32) -> impl Strategy<Value = Drive> {
    (prop::sample::select(KINDS.to_vec()), 0.1..1.0f64, 0.0..PI, 0.0..1.0f64).prop_map(
        move |(modulation, share, phi, offset)| Drive {
            modulation,
            index: share * modulation.linear_limit(),
            phi,
            ratio,
            offset,
        },
    )
}

const KINDS: [Modulation; 3] = [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector];
const ONE: Current = Current::new(1.0);

proptest! {
    #![proptest_config(repeatable(150))]

    #[test]
    fn device_and_link_currents(drive in drives(201)) {
        let Drive { modulation: kind, index: m, phi, .. } = drive;
        let cos_phi = cos(phi);
        let [fundamental, t_avg, t_sq, d_avg, d_sq, dc, dc_sq] = drive.means(|angle, upper| {
            let i = drive.currents(angle);
            let link: f64 = i.iter().zip(upper).filter(|(_, on)| *on).map(|(i, _)| i).sum();
            let (forth, back) = match (upper[0], i[0] > 0.0) {
                (true, true) => (i[0], 0.0),
                (true, false) => (0.0, -i[0]),
                (false, _) => (0.0, 0.0),
            };
            let pole = if upper[0] { 2.0 } else { -2.0 };
            [pole * cos(angle), forth, forth * forth, back, back * back, link, link * link]
        });
        // Means and roots in shares of the crest; capacitor current relative.
        let near = |closed: f64, measured: f64, tolerance: f64| (closed - measured).abs() <= tolerance;
        prop_assert!(near(m, fundamental, 1e-3), "index {fundamental}");
        let average = bridge_currents::transistor_average(ONE, m, cos_phi).si();
        prop_assert!(near(average, t_avg, 2e-4), "T mean {average} against {t_avg}");
        let average = bridge_currents::diode_average(ONE, m, cos_phi).si();
        prop_assert!(near(average, d_avg, 2e-4), "D mean {average} against {d_avg}");
        let t_rms = bridge_currents::transistor_rms(ONE, m, cos_phi, kind).si();
        prop_assert!(near(t_rms, t_sq.sqrt(), 2e-4), "T rms {t_rms} against {}", t_sq.sqrt());
        let d_rms = bridge_currents::diode_rms(ONE, m, cos_phi, kind).si();
        prop_assert!(near(d_rms, d_sq.sqrt(), 2e-4), "D rms {d_rms} against {}", d_sq.sqrt());
        prop_assert!(near(phase_current::dc_current(m, ONE, cos_phi).si(), dc, 5e-4), "link {dc}");
        let capacitor = link_ripple::capacitor_rms(ONE / SQRT_2, m, cos_phi).si();
        let measured = (dc_sq - dc * dc).sqrt();
        prop_assert!(near(capacitor / measured, 1.0, 5e-3), "capacitor {capacitor} against {measured}");
    }

    #[test]
    fn switching_energy_by_counting_edges(
        drive in drives(201), exponent in 0.5..2.0f64, peak in 20.0..600.0f64,
    ) {
        let points = [(50.0, 4e-3), (150.0, 11e-3), (300.0, 17e-3), (450.0, 21e-3)]
            .map(|(i, e)| (Current::new(i), Energy::new(e)));
        let (mut by_power, mut by_curve) = (0.0, 0.0);
        for edge in drive.edges_of_first_leg() {
            let i = peak * drive.currents(edge.angle)[0];
            if i > 0.0 {
                // Upper transistor: it turns on at the one edge and off at the other.
                by_power += 0.5 * libm::pow(i / 300.0, exponent);
                by_curve += 0.5 * energy_curve::polyline_at(&points, Current::new(i)).si();
            }
        }
        let events = f64::from(drive.ratio);
        let (by_power, by_curve) = (by_power / events, by_curve / events);
        let (one, reference) = (Energy::new(1.0), Current::new(300.0));
        let law = switching::power_law_average(one, reference, Current::new(peak), exponent);
        prop_assert!((law.si() / by_power - 1.0).abs() < 3e-3, "{} against {by_power}", law.si());
        let curve = energy_curve::polyline_average(&points, Current::new(peak)).si();
        // An event more or less at zero current, where the curve still has energy, is a 200th of it.
        prop_assert!((curve / by_curve - 1.0).abs() < 6e-3, "{curve} against {by_curve}");
    }

    #[test]
    fn channel_body_diode_and_voltage_with_dead_time(
        drive in drives(201).prop_map(|drive| Drive { index: 0.85 * drive.index, ..drive }),
        blank in 0.005..0.03f64,
    ) {
        // Blanking as an angle; one carrier period is τ/201.
        let width = blank * TAU / f64::from(drive.ratio);
        let (mut channel, mut diode_avg, mut diode_sq) = (0.0, 0.0, 0.0);
        let [on, re, im] = drive.means(|angle, upper| {
            let i = drive.currents(angle)[0];
            let pole = if upper[0] { 2.0 } else { -2.0 };
            [if upper[0] { i * i } else { 0.0 }, pole * cos(angle), pole * sin(angle)]
        });
        let (mut re, mut im) = (re, im);
        channel += on;
        for edge in drive.edges_of_first_leg() {
            let [sq, c, s] = integral(edge.angle, edge.angle + width, |angle| {
                let i = drive.currents(angle)[0];
                [i * i, cos(angle), sin(angle)]
            });
            let [flow] = integral(edge.angle, edge.angle + width, |angle| [drive.currents(angle)[0]]);
            if edge.rising {
                channel -= sq / TAU;
            }
            if flow < 0.0 {
                // Current towards the bridge takes the upper diode in every dead time.
                diode_avg -= flow / TAU;
                diode_sq += sq / TAU;
            }
            // The pole follows the current: late to rise while it leaves, late to fall while it enters.
            if edge.rising && flow > 0.0 {
                re -= 4.0 * c / TAU;
                im -= 4.0 * s / TAU;
            }
            if !edge.rising && flow < 0.0 {
                re += 4.0 * c / TAU;
                im += 4.0 * s / TAU;
            }
        }
        let (dead_time, carrier) = (Time::new(blank), Frequency::new(1.0));
        let near = |closed: f64, measured: f64, tolerance: f64| (closed - measured).abs() <= tolerance;
        let closed = bridge_currents::channel_rms(ONE, dead_time, carrier).si();
        prop_assert!(near(closed, channel.sqrt(), 1e-3), "channel {closed} against {}", channel.sqrt());
        let closed = bridge_currents::body_diode_average(ONE, dead_time, carrier).si();
        prop_assert!(near(closed, diode_avg, 2e-4), "diode mean {closed} against {diode_avg}");
        let closed = bridge_currents::body_diode_rms(ONE, dead_time, carrier).si();
        prop_assert!(near(closed, diode_sq.sqrt(), 1e-3), "diode rms {closed} against {}", diode_sq.sqrt());
        // With a link of two volts an index is a crest.
        let dc = Voltage::new(2.0);
        let drop = pole_voltage::dead_time_drop(dc, dead_time, carrier);
        let closed = pole_voltage::delivered_phase_voltage(drive.index, dc, drop, cos(drive.phi)).si();
        let measured = libm::hypot(re, im);
        prop_assert!(near(closed, measured, 2e-3), "voltage {closed} against {measured}");
    }

    #[test]
    fn phase_current_ripple(drive in drives(201)) {
        // Link of one volt, one henry, one turn a second.
        let ripples = drive.ripple();
        let [square] = drive.means_with(&ripples, |_, _, ripple| [ripple[0] * ripple[0]]);
        let closed = phase_ripple::ripple_rms(
            Voltage::new(1.0),
            Inductance::new(1.0),
            Frequency::new(f64::from(drive.ratio)),
            drive.index,
            drive.modulation,
        );
        prop_assert!((closed.si() / square.sqrt() - 1.0).abs() < 2e-3, "{closed} against {}", square.sqrt());
    }

    #[test]
    fn currents_with_phase_ripple_on_them(
        drive in drives(51).prop_filter("as the errors are stated", |drive| drive.index > 0.2 && drive.index < 1.0),
        level in prop::sample::select(vec![(0.1, 1.5e-3, 0.015), (0.2, 6e-3, 0.045)]),
    ) {
        let (share, device, capacitor) = level;
        let Drive { modulation: kind, index: m, .. } = drive;
        let ripples = drive.ripple();
        let [square] = drive.means_with(&ripples, |_, _, ripple| [ripple[0] * ripple[0]]);
        // Scaled to the wanted share of a phase current of crest one.
        let scale = share / SQRT_2 / square.sqrt();
        let [t_sq, d_sq, dc, dc_sq] = drive.means_with(&ripples, |angle, upper, ripple| {
            let smooth = drive.currents(angle);
            let i = [0, 1, 2].map(|k| smooth[k] + scale * ripple[k]);
            let link: f64 = i.iter().zip(upper).filter(|(_, on)| *on).map(|(i, _)| i).sum();
            let on = if upper[0] { i[0] * i[0] } else { 0.0 };
            let (forth, back) = if i[0] > 0.0 { (on, 0.0) } else { (0.0, on) };
            [forth, back, link, link * link]
        });
        let (rms, ripple) = (ONE / SQRT_2, ONE * (share / SQRT_2));
        let factor = bridge_currents::ripple_factor(ripple, rms);
        let t_rms = (bridge_currents::transistor_rms(ONE, m, cos(drive.phi), kind) * factor).si();
        let d_rms = (bridge_currents::diode_rms(ONE, m, cos(drive.phi), kind) * factor).si();
        prop_assert!((t_rms - t_sq.sqrt()).abs() < device, "T rms {t_rms} against {}", t_sq.sqrt());
        prop_assert!((d_rms - d_sq.sqrt()).abs() < device, "D rms {d_rms} against {}", d_sq.sqrt());
        let without = link_ripple::capacitor_rms(rms, m, cos(drive.phi));
        let closed = link_ripple::with_phase_ripple(without, m, ripple).si();
        let measured = (dc_sq - dc * dc).sqrt();
        prop_assert!((closed / measured - 1.0).abs() < capacitor, "capacitor {closed} against {measured}");
    }

    #[test]
    fn standstill_at_a_crest(
        kind in prop::sample::select(KINDS.to_vec()),
        m in 0.0..1.0f64,
    ) {
        // References of a frozen angle against a ramp that is sampled, each leg by itself.
        let sines = [m, -0.5 * m, -0.5 * m];
        let zero = match kind {
            Modulation::Sinusoidal => 0.0,
            Modulation::ThirdHarmonic => -m / 6.0,
            Modulation::SpaceVector => -0.5 * (sines[0] + sines[1]),
        };
        let samples = 4000;
        let on = |reference: f64| {
            let ramp = |k| (2.0 * f64::from(k) + 1.0) / f64::from(samples) - 1.0;
            (0..samples).filter(|&k| reference > ramp(k)).count() as f64 / f64::from(samples)
        };
        let z = kind.frozen_zero_sequence(m);
        for (leg, sine) in [(Leg::Crest, sines[0]), (Leg::Return, sines[1])] {
            let (closed, measured) = (stall::duty(m, z, leg), on(sine + zero));
            prop_assert!((closed - measured).abs() < 1e-3, "{leg:?}: {closed} against {measured}");
            let share = stall::transistor_share(m, z, leg);
            let current = leg.current(Current::new(300.0));
            let (mean, rms) = (stall::share_average(share, current), stall::share_rms(share, current));
            prop_assert!((rms * rms - current * mean).si().abs() < 1e-9);
        }
    }

    #[test]
    fn link_power_is_phase_power_at_any_index(m in 0.05..1.15f64, cos_phi in -1.0..1.0f64) {
        let (dc, peak) = (Voltage::new(620.0), Current::new(250.0));
        let line = modulation::line_voltage(m, dc);
        let phase = phase_current::active_power(line, peak / SQRT_2, cos_phi);
        let link = dc * phase_current::dc_current(m, peak, cos_phi);
        prop_assert!((phase - link).si().abs() < 1e-6);
    }
}
