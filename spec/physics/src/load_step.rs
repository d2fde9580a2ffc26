//! How far a bus dips as a load comes at once: until a converter that holds it follows, or behind the resistance and the
//! inductance of what feeds it.

use crate::bus_damping::{Banks, Feed};
use crate::{Current, Law, Time, Voltage};

/// Law of [`held_dip`].
pub static HELD_DIP: Law = Law {
    name: "dip of a bus that a converter holds, as a load comes at once",
    formula: "ΔV = ΔI·(t/(2·C) + r²·C/(2·t)) while r·C < t, else ΔI·r",
    validity: "what holds the bus brings its current up in a straight line over the time t and has the current to spare; banks as one C and r; what recovers beyond the new load is left out",
    source: "charge balance of the banks",
};

/// Law of [`fed_dip`].
pub static FED_DIP: Law = Law {
    name: "dip of a bus behind a resistance and an inductance, as a load comes at once",
    formula: "largest of ΔI·R, ΔI·r and the crests of u(t), L·C·u'' + (R + r)·C·u' + u = ΔI·R, u(0) = ΔI·r, u'(0) = ΔI·(1/C − r²/L)",
    validity: "source as one R and L, banks as one C and r, a load that takes its current whatever the voltage is",
    source: "second-order circuit, closed form",
};

/// Dip below the voltage that a converter holds. See [`HELD_DIP`].
#[must_use]
pub fn held_dip(step: Current, banks: Banks, response: Time) -> Voltage {
    let (amps, time) = (step.si(), response.si());
    let (farad, ohms) = (banks.capacitance.si(), banks.resistance.si());
    // While its resistance alone decides the dip is deepest as the load comes.
    if ohms * farad >= time {
        return Voltage::new(amps * ohms + 0.0 * time);
    }
    Voltage::new(amps * (time / (2.0 * farad) + ohms * ohms * farad / (2.0 * time)))
}

/// Share of ω₀² within which both roots count as one: a swing so slow that it is none.
const CRITICAL: f64 = 1e-9;

/// Dip below the voltage behind the source, with what stays of it for good. See [`FED_DIP`].
#[must_use]
pub fn fed_dip(step: Current, feed: Feed, banks: Banks) -> Voltage {
    let (ohms, henry) = (feed.resistance.si(), feed.inductance.si());
    let (farad, series) = (banks.capacitance.si(), banks.resistance.si());
    let most = |deepest: f64, next: f64| if next > deepest { next } else { deepest };
    // Without an inductance the source takes its part at once.
    if henry == 0.0 {
        return step * crate::Resistance::new(ohms + 0.0 * (farad + series));
    }
    let known = 0.0 * (ohms + henry + farad + series);
    let (fades, square) = ((ohms + series) / (2.0 * henry), 1.0 / (henry * farad));
    let mut apart = fades * fades - square;
    if apart.abs() < CRITICAL * square {
        apart = -CRITICAL * square;
    }
    // z = u − R − r·C·z', for a step of 1 A, begins at −R with the slope 1/C.
    let mut deepest = most(ohms, series);
    if apart < 0.0 {
        let pace = (-apart).sqrt();
        let (a, b) = (-ohms, (1.0 / farad - fades * ohms) / pace);
        let slope = (1.0 / farad, -(pace * a + fades * b));
        let bend = (pace * slope.1 - fades * slope.0, -(pace * slope.0 + fades * slope.1));
        let turns = (slope.0 + series * farad * bend.0, slope.1 + series * farad * bend.1);
        let mut angle = libm::atan2(-turns.0, turns.1);
        if angle <= 0.0 {
            angle += core::f64::consts::PI;
        }
        for angle in [angle, angle + core::f64::consts::PI] {
            let (sine, cosine) = libm::sincos(angle);
            let left = libm::exp(-fades * angle / pace);
            let swing = a * cosine + b * sine + series * farad * (slope.0 * cosine + slope.1 * sine);
            deepest = most(deepest, ohms + left * swing);
        }
    } else {
        let root = apart.sqrt();
        let (slow, fast) = (-square / (fades + root), -fades - root);
        let first = (1.0 / farad + ohms * fast) / (slow - fast);
        let parts = [(first, slow), (-ohms - first, fast)];
        let rate = |(part, pace): (f64, f64)| part * pace * (1.0 + series * farad * pace);
        let time = libm::log(-rate(parts[1]) / rate(parts[0])) / (slow - fast);
        if time > 0.0 {
            let swing =
                |(part, pace): (f64, f64)| part * (1.0 + series * farad * pace) * libm::exp(pace * time);
            deepest = most(deepest, ohms + swing(parts[0]) + swing(parts[1]));
        }
    }
    Voltage::new(step.si() * (deepest + known))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Capacitance, Inductance, Resistance};

    fn banks(farad: f64, ohms: f64) -> Banks {
        Banks { capacitance: Capacitance::new(farad), resistance: Resistance::new(ohms) }
    }

    /// Charge of the bank and current of the source in small steps; the source brings its current as `rate` says of the time,
    /// the dip and its current.
    fn stepped(amps: f64, (farad, ohms): (f64, f64), lasts: f64, rate: impl Fn(f64, f64, f64) -> f64) -> f64 {
        let steps = 400_000;
        let step = lasts / f64::from(steps);
        let (mut charge, mut given, mut deepest) = (0.0, 0.0, 0.0_f64);
        for k in 0..steps {
            let dip = charge / farad + ohms * (amps - given);
            deepest = deepest.max(dip);
            let slope = rate(f64::from(k) * step, dip, given);
            charge += step * (amps - given - 0.5 * step * slope);
            given += step * slope;
        }
        deepest
    }

    #[test]
    fn a_bus_that_is_held_dips_until_what_holds_it_follows() {
        for (amps, farad, ohms, time) in
            [(40.0, 6.6e-3, 1e-3, 200e-6), (40.0, 1e-3, 20e-3, 100e-6), (10.0, 2e-3, 80e-3, 100e-6)]
        {
            let told = held_dip(Current::new(amps), banks(farad, ohms), Time::new(time)).si();
            let in_time = stepped(amps, (farad, ohms), time, |_, _, _| amps / time);
            assert!((told / in_time - 1.0).abs() < 1e-4, "{told} against {in_time}");
        }
        // 40 A for half of 200 µs from 6.6 mF are 0.606 V.
        let told = held_dip(Current::new(40.0), banks(6.6e-3, 0.0), Time::new(200e-6)).si();
        assert!((told - 0.606).abs() < 1e-3, "{told}");
        assert!(held_dip(Current::new(40.0), banks(6.6e-3, 0.0), Time::new(f64::NAN)).si().is_nan());
    }

    #[test]
    fn a_bus_behind_a_source_dips_as_far_as_in_time() {
        // Swinging, critical and creeping; a bank of much resistance of its own as well.
        for (ohms, henry, farad, series) in [
            (50e-3, 4e-6, 360e-6, 1e-3),
            (9e-3, 2e-6, 32e-3, 0.5e-3),
            (20e-3, 1e-6, 1e-2, 0.0),
            (0.4, 4e-6, 360e-6, 1e-3),
            (20e-3, 4e-6, 360e-6, 60e-3),
            (5e-3, 40e-6, 200e-6, 200e-3),
            (1e-3, 40e-6, 1e-3, 0.5),
        ] {
            let feed = Feed { resistance: Resistance::new(ohms), inductance: Inductance::new(henry) };
            let told = fed_dip(Current::new(100.0), feed, banks(farad, series)).si();
            let period = core::f64::consts::TAU * (henry * farad).sqrt();
            let lasts = 4.0 * period + 8.0 * (ohms + series) * farad + 20.0 * henry / (ohms + series);
            let in_time =
                stepped(100.0, (farad, series), lasts, |_, dip, given| (dip - ohms * given) / henry);
            assert!(
                (told / in_time - 1.0).abs() < 3e-3,
                "{ohms} {henry} {farad} {series}: {told} against {in_time}"
            );
        }
        let feed = Feed { resistance: Resistance::new(0.1), inductance: Inductance::new(0.0) };
        assert!((fed_dip(Current::new(10.0), feed, banks(1e-3, 1e-3)).si() - 1.0).abs() < 1e-12);
        let unknown = Feed { inductance: Inductance::new(f64::NAN), ..feed };
        assert!(fed_dip(Current::new(10.0), unknown, banks(1e-3, 1e-3)).si().is_nan());
    }
}
