//! Fuses and turn-offs stepped through time, against their closed forms.

use loadworthy_physics::{Capacitance, Current, Inductance, Resistance, Time, Voltage, fuse, turn_off};

/// Melting time of a fuse in a loop of R and L at a step of voltage, by the trapezoidal rule.
fn melts_after(volts: f64, ohms: f64, henry: f64, melting: f64) -> f64 {
    let step = henry / ohms / 2000.0;
    let (mut amps, mut reached, mut seconds) = (0.0_f64, 0.0_f64, 0.0_f64);
    while reached < melting {
        // L di/dt = V − R i, with the mean of both ends.
        let next = (amps * (henry / step - 0.5 * ohms) + volts) / (henry / step + 0.5 * ohms);
        reached += 0.5 * (amps * amps + next * next) * step;
        seconds += step;
        amps = next;
    }
    seconds
}

#[test]
fn a_rising_current_melts_a_fuse_when_its_integral_is_reached() {
    for (volts, ohms, henry, melting) in [
        (700.0, 0.13, 12e-6, 25e3),
        (756.0, 0.042, 4.5e-6, 95e3),
        (345.0, 0.3, 60e-6, 4e3),
        (88.0, 0.0055, 2e-6, 170e3),
    ] {
        let stepped = melts_after(volts, ohms, henry, melting);
        let closed = fuse::melting_time(Current::new(volts / ohms), Time::new(henry / ohms), melting).si();
        assert!((closed / stepped - 1.0).abs() < 1e-3, "{volts} V: {closed} s, stepped {stepped} s");
    }
}

/// Highest voltage that a ramp of current adds, by stepping the loop and the capacitance with leapfrog.
///
/// The loop carries `i`; the switch takes less and less of it, and the rest charges the capacitance.
fn added(henry: f64, farad: f64, amps: f64, fall: f64) -> f64 {
    let ramp = fall / 0.8;
    let ring = 2.0 * core::f64::consts::PI * (henry * farad).sqrt();
    let step = ramp.min(ring) / 20_000.0;
    let (mut through, mut volts, mut highest, mut seconds) = (amps, 0.0_f64, 0.0_f64, 0.0_f64);
    while seconds < ramp + 2.0 * ring {
        let switch = amps * (1.0 - (seconds + 0.5 * step) / ramp).max(0.0);
        volts += (through - switch) / farad * step;
        through -= volts / henry * step;
        highest = highest.max(volts);
        seconds += step;
    }
    highest
}

#[test]
fn the_undamped_bound_is_what_the_circuit_does() {
    for farad in [0.2e-9, 0.9e-9, 5e-9, 20e-9] {
        for fall in [5e-9, 28e-9, 90e-9, 200e-9] {
            for henry in [3e-9, 15e-9, 40e-9] {
                let stepped = added(henry, farad, 290.0, fall);
                let (henry, farad) = (Inductance::new(henry), Capacitance::new(farad));
                let bound = turn_off::undamped(henry, farad, Current::new(290.0), Time::new(fall)).si();
                assert!(
                    stepped <= bound * 1.001 && stepped >= bound * 0.99,
                    "{henry:?}, {farad:?}, {fall} s: {bound} V, stepped {stepped} V"
                );
            }
        }
    }
}

/// Mean voltage over the ramp of the same circuit with a resistor across the capacitance that damps it well.
fn damped_mean(henry: f64, farad: f64, amps: f64, fall: f64) -> f64 {
    let ramp = fall / 0.8;
    let ohms = 0.5 * (henry / farad).sqrt();
    let step = (henry * farad).sqrt() / 500.0;
    let (mut through, mut volts, mut seconds, mut sum, mut count) = (amps, 0.0_f64, 0.0_f64, 0.0_f64, 0.0);
    while seconds < ramp {
        let switch = amps * (1.0 - (seconds + 0.5 * step) / ramp).max(0.0);
        volts += (through - switch - volts / ohms) / farad * step;
        through -= volts / henry * step;
        seconds += step;
        if seconds > 0.5 * ramp {
            (sum, count) = (sum + volts, count + 1.0);
        }
    }
    sum / count
}

#[test]
fn a_damped_loop_settles_on_the_plateau_while_the_current_falls() {
    for (henry, amps, fall) in [(47e-9, 450.0, 90e-9), (28.7e-9, 340.0, 85e-9)] {
        let stepped = damped_mean(henry, 5e-12, amps, fall);
        let plateau: Voltage = turn_off::plateau(Inductance::new(henry), Current::new(amps), Time::new(fall));
        assert!((plateau.si() / stepped - 1.0).abs() < 5e-3, "{plateau:?}, stepped {stepped} V");
    }
}

/// I²t of banks that discharge together through a shared resistance, by stepping each charge.
fn discharged(banks: &[(f64, f64)], volts: f64, path: f64) -> f64 {
    let mut charged: Vec<f64> = banks.iter().map(|_| volts).collect();
    let fastest = banks.iter().map(|(farad, ohms)| farad * ohms).fold(f64::MAX, f64::min);
    let slowest: f64 = banks.iter().map(|(farad, ohms)| farad * (ohms + path)).sum();
    let step = fastest / 200.0;
    let (mut sum, mut seconds) = (0.0, 0.0);
    while seconds < 12.0 * slowest {
        // The node before the path, by the conductances around it.
        let sent: f64 = banks.iter().zip(&charged).map(|((_, ohms), volts)| volts / ohms).sum();
        let node = sent / (banks.iter().map(|(_, ohms)| 1.0 / ohms).sum::<f64>() + 1.0 / path);
        for ((farad, ohms), volts) in banks.iter().zip(&mut charged) {
            *volts -= (*volts - node) / ohms * step / farad;
        }
        sum += (node / path) * (node / path) * step;
        seconds += step;
    }
    sum
}

#[test]
fn unlike_banks_send_less_than_all_of_their_charge_through_the_least_resistance() {
    // Film beside cans, and banks that are nearly alike.
    for (banks, path) in [
        ([(8e-3, 2.3e-3), (160e-6, 0.7e-3)], 0.2e-3),
        ([(8e-3, 2.3e-3), (160e-6, 0.7e-3)], 4e-3),
        ([(480e-6, 0.5e-3), (360e-6, 0.8e-3)], 1e-3),
        ([(400e-6, 0.5e-3), (400e-6, 0.5e-3)], 1e-3),
    ] {
        let each = banks.iter().map(|&(farad, ohms)| (Capacitance::new(farad), Resistance::new(ohms)));
        let bound = fuse::banks_let_through(each, Voltage::new(119.0), Resistance::new(path));
        let stepped = discharged(&banks, 119.0, path);
        assert!(
            bound > 0.99 * stepped && bound < 1.4 * stepped,
            "{banks:?} {path}: {bound}, stepped {stepped}"
        );
    }
}
