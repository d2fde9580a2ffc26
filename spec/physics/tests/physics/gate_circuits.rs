//! Gate circuits stepped through time against their closed forms, and what a missing input does to them.

use loadworthy_physics::gates::bootstrap::{self, Recharge, Taken};
use loadworthy_physics::gates::dead_time::{self, Delays};
use loadworthy_physics::gates::held_off::{self, HeldOff};
use loadworthy_physics::gates::shared_return;
use loadworthy_physics::gates::short_circuit::{self, Reaction};
use loadworthy_physics::gates::supply_power::{self, Driven};
use loadworthy_physics::insulation::common_mode;
use loadworthy_physics::insulation::isolation_resistance::{self, Joined};
use loadworthy_physics::insulation::pole_capacitors::{self, Counted};
use loadworthy_physics::{
    Capacitance, Charge, Current, CurrentSlope, Frequency, Inductance, Power, Resistance, SlewRate, Time,
    Voltage,
};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;
use crate::missing_inputs::each_missing;

fn gate([off, ohms, to_drain, to_source]: [f64; 4]) -> HeldOff {
    HeldOff {
        off: Voltage::new(off),
        resistance: Resistance::new(ohms),
        to_drain: Capacitance::new(to_drain),
        to_source: Capacitance::new(to_source),
    }
}

/// Crest of the gate, stepped by Runge's and Kutta's rule through the edge and three time constants beyond it.
fn stepped([off, ohms, to_drain, to_source]: [f64; 4], edge: f64, bus: f64) -> f64 {
    let rises = bus / edge;
    // Current through the gate-drain capacitance less that through the resistor charges both capacitances.
    let slope = |gate: f64, rising: bool| {
        let drawn = (gate - off) / ohms;
        ((if rising { to_drain * edge } else { 0.0 }) - drawn) / (to_drain + to_source)
    };
    let (mut gate, mut crest) = (off, off);
    for (lasts, rising) in [(rises, true), (3.0 * ohms * (to_drain + to_source), false)] {
        let steps = 4000;
        let dt = lasts / f64::from(steps);
        for _ in 0..steps {
            let k1 = slope(gate, rising);
            let k2 = slope(gate + 0.5 * dt * k1, rising);
            let k3 = slope(gate + 0.5 * dt * k2, rising);
            let k4 = slope(gate + dt * k3, rising);
            gate += dt / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
            crest = f64::max(crest, gate);
        }
    }
    crest
}

/// Lowest voltage of a bootstrap capacitor, stepped over many periods from a full one.
fn lowest_stepped(recharge: &Recharge, farad: f64, taken: f64, on: f64) -> f64 {
    let (mut volts, mut lowest) = (recharge.towards.si(), f64::MAX);
    for _ in 0..400 {
        lowest = f64::MAX;
        let steps = 200;
        let dt = on / f64::from(steps);
        for _ in 0..steps {
            volts -= taken / on * dt / farad;
            lowest = lowest.min(volts);
        }
        let (steps, lasts) = (400, recharge.time.si());
        let dt = lasts / f64::from(steps);
        for _ in 0..steps {
            // The midpoint rule.
            let into = |volts: f64| (recharge.towards.si() - volts) / (recharge.resistance.si() * farad);
            let half = volts + 0.5 * dt * into(volts);
            volts += dt * into(half);
        }
    }
    lowest
}

proptest! {
    #![proptest_config(repeatable(60))]

    #[test]
    fn a_gate_that_is_held_off_rises_as_its_circuit_does(
        off in -10.0..0.0_f64,
        ohms in 0.5..15.0_f64,
        to_drain in 5e-12..200e-12_f64,
        to_source in 0.3e-9..20e-9_f64,
        edge in 2e9..100e9_f64,
        bus in 100.0..1200.0_f64,
    ) {
        let parts = [off, ohms, to_drain, to_source];
        let (held, slope) = (gate(parts), SlewRate::new(edge));
        let told = held_off::crest(&held, slope, Voltage::new(bus));
        let expected = stepped(parts, edge, bus);
        prop_assert!((told.si() - expected).abs() < 1e-6 * (1.0 + expected.abs()), "{} for {}", told, expected);
        prop_assert!(told <= held_off::bound_by_resistance(&held, slope));
        prop_assert!(told <= held_off::bound_by_divider(&held, Voltage::new(bus)));
    }

    #[test]
    fn a_bootstrap_capacitor_comes_down_to_its_lowest_voltage(
        towards in 10.0..20.0_f64,
        ohms in 1.0..20.0_f64,
        farad in 0.1e-6..4.7e-6_f64,
        gate in 20e-9..200e-9_f64,
        leakage in 1e-5..1e-3_f64,
        on in 1e-5..2e-4_f64,
        constants in 0.2..5.0_f64,
    ) {
        let recharge = Recharge {
            towards: Voltage::new(towards),
            resistance: Resistance::new(ohms),
            time: Time::new(constants * ohms * farad),
        };
        let taken = Taken { gate: Charge::new(gate), shift: Charge::new(5e-9), leakage: Current::new(leakage) };
        let droop = bootstrap::droop(&taken, Time::new(on), Capacitance::new(farad));
        let told = bootstrap::lowest_voltage(&recharge, Capacitance::new(farad), droop);
        let expected = lowest_stepped(&recharge, farad, gate + 5e-9 + leakage * on, on);
        let close = 1e-4 * (1.0 + (towards - expected).abs());
        prop_assert!((told.si() - expected).abs() < close, "{} for {}", told, expected);
    }
}

#[test]
fn a_missing_input_of_a_gate_stays_missing() {
    let (t, v) = (Time::new, Voltage::new);
    each_missing("held off", [-4.0, 4.0, 40e-12, 3e-9, 20e9, 800.0], |[off, r, d, s, edge, bus]| {
        held_off::crest(&gate([off, r, d, s]), SlewRate::new(edge), v(bus)).si()
    });
    each_missing("bound by resistance", [-4.0, 4.0, 40e-12, 20e9], |[off, r, d, edge]| {
        held_off::bound_by_resistance(&gate([off, r, d, 3e-9]), SlewRate::new(edge)).si()
    });
    each_missing("bound by divider", [-4.0, 40e-12, 3e-9, 800.0], |[off, d, s, bus]| {
        held_off::bound_by_divider(&gate([off, 4.0, d, s]), v(bus)).si()
    });
    let taken = |gate, shift, leakage| Taken {
        gate: Charge::new(gate),
        shift: Charge::new(shift),
        leakage: Current::new(leakage),
    };
    each_missing("droop", [120e-9, 10e-9, 2e-4, 1e-4, 1e-6], |[g, s, l, on, c]| {
        bootstrap::droop(&taken(g, s, l), t(on), Capacitance::new(c)).si()
    });
    each_missing("hold time", [120e-9, 10e-9, 2e-4, 1e-6, 0.5], |[g, s, l, c, dv]| {
        bootstrap::hold_time(&taken(g, s, l), Capacitance::new(c), v(dv)).si()
    });
    each_missing("lowest voltage", [15.0, 5.0, 2e-6, 1e-6, 0.2], |[to, r, time, c, dv]| {
        let recharge = Recharge { towards: v(to), resistance: Resistance::new(r), time: t(time) };
        bootstrap::lowest_voltage(&recharge, Capacitance::new(c), v(dv)).si()
    });
    each_missing("largest duty", [2e-6, 1e-6, 2e4], |[low, dead, f]| {
        bootstrap::largest_duty(t(low), t(dead), Frequency::new(f))
    });
    each_missing("dead time", [250e-9, 60e-9, 40e-9, 50e-9, 1.2], |[off, fall, on, skew, k]| {
        dead_time::needed(&Delays { off: t(off), fall: t(fall), on: t(on), skew: t(skew) }, k).si()
    });
    each_missing("reaction", [8e-7, 2e-7, 1e-7, 6e-7], |[blanking, filter, propagation, turn_off]| {
        let [blanking, filter, propagation, turn_off] = [blanking, filter, propagation, turn_off].map(t);
        short_circuit::reaction(&Reaction { blanking, filter, propagation, turn_off }).si()
    });
    each_missing("allowed", [2e-6, 0.8], |[withstand, share]| {
        short_circuit::allowed(t(withstand), share).si()
    });
}

#[test]
fn a_missing_input_of_a_supply_or_of_insulation_stays_missing() {
    let v = Voltage::new;
    each_missing("gate power", [6e-7, 20.0, 16e3, 2.0, 0.15, 0.8], |[q, swing, f, n, rest, share]| {
        supply_power::power(&Driven {
            charge: Charge::new(q),
            swing: v(swing),
            frequency: Frequency::new(f),
            count: n,
            quiescent: Power::new(rest),
            efficiency: share,
        })
        .si()
    });
    each_missing("charge at", [23.0, 6e-7, 20.0], |[to, q, from]| {
        supply_power::charge_at(v(to), Charge::new(q), v(from)).si()
    });
    each_missing("peak current", [20.0, 3.0, 1.0], |[swing, out, inside]| {
        supply_power::peak_current(v(swing), Resistance::new(out), Resistance::new(inside)).si()
    });
    each_missing("shared return", [8e-9, 2e9], |[l, slope]| {
        shared_return::voltage(Inductance::new(l), CurrentSlope::new(slope)).si()
    });
    each_missing("common mode", [15e-12, 50e9], |[c, slope]| {
        common_mode::current(Capacitance::new(c), SlewRate::new(slope)).si()
    });
    each_missing("least resistance", [800.0], |[volts]| {
        isolation_resistance::least(Joined::WithAlternating, v(volts)).si()
    });
    for counted in [Counted::All, Counted::AboveHarmless] {
        for volts in [40.0, 800.0] {
            each_missing("pole energy", [0.6e-6, volts], |[c, volts]| {
                pole_capacitors::energy(Capacitance::new(c), v(volts), counted).si()
            });
        }
    }
}
