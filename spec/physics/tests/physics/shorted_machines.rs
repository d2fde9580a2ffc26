//! A machine whose phases are shorted, against time stepping of its fluxes.

use loadworthy_physics::machine::{Machine, RotorCurrent};
use loadworthy_physics::{AngularSpeed, Current, FluxLinkage, Inductance, Resistance};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// Largest phase current, current against the magnets and torque in the first turn, and the currents after many: the
/// fluxes of the three windings are stepped where they stand, and seen from the rotor only to find the currents.
fn stepped(machine: &Machine, from: (f64, f64), turning: f64, turns: f64) -> ([f64; 3], (f64, f64)) {
    let (ohms, linked) = (machine.resistance.si(), machine.flux_linkage.si());
    let (d, q) = (machine.direct_inductance.si(), machine.quadrature_inductance.si());
    let steps = 4000.0;
    let step = core::f64::consts::TAU / turning / steps;
    // Flux in stator coordinates: without voltage its rate is −R·i.
    let mut flux = (linked + d * from.0, q * from.1);
    let currents = |flux: (f64, f64), angle: f64| {
        let (sin, cos) = libm::sincos(angle);
        let (along, across) = (cos * flux.0 + sin * flux.1, cos * flux.1 - sin * flux.0);
        ((along - linked) / d, across / q)
    };
    let slope = |flux: (f64, f64), angle: f64| {
        let (along, across) = currents(flux, angle);
        let (sin, cos) = libm::sincos(angle);
        (-ohms * (cos * along - sin * across), -ohms * (sin * along + cos * across))
    };
    let mut largest = [0.0f64; 3];
    let mut angle = 0.0;
    for k in 0..(turns * steps) as usize {
        let (along, across) = currents(flux, angle);
        if k as f64 <= steps {
            let torque = 1.5 * machine.pole_pairs * (linked + (d - q) * along) * across;
            for (most, value) in largest.iter_mut().zip([libm::hypot(along, across), -along, torque.abs()]) {
                *most = most.max(value);
            }
        }
        let first = slope(flux, angle);
        let middle = (flux.0 + 0.5 * step * first.0, flux.1 + 0.5 * step * first.1);
        let second = slope(middle, angle + 0.5 * step * turning);
        flux = (flux.0 + step * second.0, flux.1 + step * second.1);
        angle += step * turning;
    }
    (largest, currents(flux, angle))
}

proptest! {
    #![proptest_config(repeatable(60))]

    #[test]
    fn the_first_swing_and_the_end_are_those_of_time_stepping(
        pairs in 2..8_u8, linked in 0.02..0.3f64, ohms in 2e-3..60e-3f64, direct in 0.05e-3..0.8e-3f64,
        ratio in prop::sample::select(vec![0.6, 1.0, 1.7, 3.0]), turning in 60.0..4000.0f64,
        from in (-300.0..100.0f64, -400.0..400.0f64), is_off in any::<bool>(),
    ) {
        let machine = Machine {
            pole_pairs: f64::from(pairs),
            flux_linkage: FluxLinkage::new(linked),
            resistance: Resistance::new(ohms),
            direct_inductance: Inductance::new(direct),
            quadrature_inductance: Inductance::new(direct * ratio),
        };
        let from = if is_off { (0.0, 0.0) } else { from };
        let speed = AngularSpeed::new(turning / f64::from(pairs));
        let start = RotorCurrent { direct: Current::new(from.0), quadrature: Current::new(from.1) };
        let swing = machine.shorting(start, speed);
        // Long enough for what was left over to fade to 1e-4 of it, unless it takes too long to step.
        let fading = 0.5 * ohms / direct * (1.0 + 1.0 / ratio);
        let turns = (10.0 / fading * turning / core::f64::consts::TAU).max(1.5);
        let is_followed = turns < 60.0;
        let (largest, end) = stepped(&machine, from, turning, if is_followed { turns } else { 1.5 });
        let got = [swing.crest.si(), swing.against_magnets.si(), swing.torque.si()];
        for (got, stepped) in got.into_iter().zip(largest) {
            prop_assert!((got - stepped).abs() < 1e-3 * stepped.abs().max(1.0), "{got} {stepped} {machine:?}");
        }
        if is_followed {
            let steady = machine.shorted(speed);
            let scale = linked / direct + libm::hypot(from.0, from.1);
            prop_assert!((steady.direct.si() - end.0).abs() < 2e-3 * scale, "{steady:?} {end:?}");
            prop_assert!((steady.quadrature.si() - end.1).abs() < 2e-3 * scale, "{steady:?} {end:?}");
        }
        // No speed up to the highest brakes more than the largest, and one of them brakes as much.
        let most = machine.largest_shorted_torque(speed).si();
        let sampled = (1..=3000).map(|k| {
            let share = f64::from(k) / 3000.0;
            machine.torque(machine.shorted(AngularSpeed::new(speed.si() * share * share))).si().abs()
        });
        let sampled = sampled.fold(0.0, f64::max);
        prop_assert!(sampled <= most * (1.0 + 1e-9) && most <= sampled * 1.001, "{most} {sampled}");
    }
}
