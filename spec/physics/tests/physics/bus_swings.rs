//! Swings of a bus under a load that holds its power, stepped through time.

use loadworthy_physics::bus_damping::{Banks, Feed, largest_power};
use loadworthy_physics::{Capacitance, Inductance, Resistance, Voltage};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

/// Whether a small swing grows: the circuit with the load P/v, not its straight line, over many turns.
fn grows(volts: f64, feed: Feed, banks: Banks, watts: f64) -> bool {
    let (ohms, henry) = (feed.resistance.si(), feed.inductance.si());
    let (series, farad) = (banks.resistance.si(), banks.capacitance.si());
    let turn = core::f64::consts::TAU * (henry * farad).sqrt();
    let (turns, steps) = (60, 400);
    let step = turn / f64::from(steps);
    let source = volts + ohms * watts / volts;
    // The voltage at the bus solves v = u + r·(i − P/v).
    let bus = |stored: f64, amps: f64| {
        let open = stored + series * amps;
        0.5 * (open + (open * open - 4.0 * series * watts).sqrt())
    };
    let slope = |(stored, amps): (f64, f64)| {
        let v = bus(stored, amps);
        ((amps - watts / v) / farad, (source - ohms * amps - v) / henry)
    };
    let mut state = (volts * (1.0 + 1e-5), watts / volts);
    let (mut first, mut last) = (0.0f64, 0.0f64);
    for k in 0..turns * steps {
        let along = |by: (f64, f64), time: f64| (state.0 + by.0 * time, state.1 + by.1 * time);
        let a = slope(state);
        let b = slope(along(a, 0.5 * step));
        let c = slope(along(b, 0.5 * step));
        let d = slope(along(c, step));
        state.0 += step / 6.0 * (a.0 + 2.0 * b.0 + 2.0 * c.0 + d.0);
        state.1 += step / 6.0 * (a.1 + 2.0 * b.1 + 2.0 * c.1 + d.1);
        let away = (state.0 - volts).abs();
        if k < 2 * steps {
            first = first.max(away);
        } else if (turns - 2) * steps <= k {
            last = last.max(away);
        }
        if !away.is_finite() || away > 0.01 * volts {
            return true;
        }
    }
    last > first
}

proptest! {
    #![proptest_config(repeatable(60))]

    #[test]
    fn a_swing_fades_below_the_largest_power_and_grows_above(
        volts in 60.0..800.0f64, ohms in 2e-3..80e-3f64, henry in 1e-6..30e-6f64, farad in 100e-6..2000e-6f64,
        series in 0.2e-3..4e-3f64,
    ) {
        let feed = Feed { resistance: Resistance::new(ohms), inductance: Inductance::new(henry) };
        let banks = Banks { capacitance: Capacitance::new(farad), resistance: Resistance::new(series) };
        let most = largest_power(Voltage::new(volts), feed, banks).si();
        prop_assert!(!grows(volts, feed, banks, 0.93 * most), "{feed:?} {banks:?} {most}");
        // Beyond what the source can pass at all there is no voltage to swing about.
        if 1.07 * most < 0.9 * volts * volts / ohms {
            prop_assert!(grows(volts, feed, banks, 1.07 * most), "{feed:?} {banks:?} {most}");
        }
    }
}
