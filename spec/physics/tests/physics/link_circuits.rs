//! Ripple of a link voltage against circuits that are stepped through time: carrier and references compared at each step, the
//! current of each branch and the charge of its capacitors integrated. Nothing here knows of a line or of a mean.

use std::f64::consts::TAU;

use loadworthy_physics::link_lines::LINES;
use loadworthy_physics::link_ring::{Edges, RINGS, Ring};
use loadworthy_physics::link_voltage::{self, Across, BridgePulses};
use loadworthy_physics::{Capacitance, Current, Frequency, Modulation, Resistance};

/// Ohms, henries, farads.
type Branch = (f64, f64, f64);

const CARRIER: f64 = 16e3;
const TURN: f64 = 100.0;
const AMPS: f64 = 150.0;
/// Steps in a carrier period.
const STEPS: usize = 1500;

/// Current that a bridge with centred references takes.
fn pulses(time: f64, m: f64, lag: f64) -> f64 {
    let angle = |leg: usize| TAU * (TURN * time - leg as f64 / 3.0);
    let sines: [f64; 3] = [0, 1, 2].map(|leg| m * libm::cos(angle(leg)));
    let middle = 0.5
        * (sines.iter().copied().fold(f64::MIN, f64::max) + sines.iter().copied().fold(f64::MAX, f64::min));
    let place = CARRIER * time;
    let carrier = 4.0 * (place - place.floor() - 0.5).abs() - 1.0;
    (0..3).filter(|&leg| sines[leg] - middle > carrier).map(|leg| AMPS * libm::cos(angle(leg) - lag)).sum()
}

/// Voltage from crest to crest over a turn that has settled, without what an edge makes of the inductance of both branches
/// side by side.
fn stepped(m: f64, lag: f64, branches: [Branch; 2]) -> f64 {
    let step = 1.0 / (CARRIER * STEPS as f64);
    let turn = (STEPS as f64 * CARRIER / TURN) as usize;
    let mean = (0..turn).map(|k| pulses((k as f64 + 0.5) * step, m, lag)).sum::<f64>() / turn as f64;
    settled(|k| mean - pulses((k as f64 + 0.5) * step, m, lag), turn, branches)
}

/// The same of any current that repeats after so many steps.
fn settled(into: impl Fn(usize) -> f64, turn: usize, [one, other]: [Branch; 2]) -> f64 {
    let step = 1.0 / (CARRIER * STEPS as f64);
    let loop_henries = one.1 + other.1;
    let (mut through_one, mut volts_one, mut volts_other, mut before) = (0.0, 0.0, 0.0, 0.0);
    let (mut low, mut high) = (f64::MAX, f64::MIN);
    for k in 0..2 * turn {
        let amps = into(k);
        // A jump divides by the inductances.
        through_one += (amps - before) * other.1 / loop_henries;
        before = amps;
        let through_other = amps - through_one;
        let across = volts_other + other.0 * through_other - volts_one - one.0 * through_one;
        let rise = across / loop_henries;
        let volts = volts_one + one.0 * through_one + one.1 * rise;
        through_one += rise * step;
        volts_one += through_one * step / one.2;
        volts_other += (amps - through_one) * step / other.2;
        if k >= turn {
            (low, high) = (low.min(volts), high.max(volts));
        }
    }
    high - low
}

/// The same of one branch.
fn alone(m: f64, lag: f64, (ohms, _, farads): Branch) -> f64 {
    let step = 1.0 / (CARRIER * STEPS as f64);
    let turn = (STEPS as f64 * CARRIER / TURN) as usize;
    let mean = (0..turn).map(|k| pulses((k as f64 + 0.5) * step, m, lag)).sum::<f64>() / turn as f64;
    let (mut charged, mut low, mut high) = (0.0, f64::MAX, f64::MIN);
    for k in 0..turn {
        let amps = mean - pulses((k as f64 + 0.5) * step, m, lag);
        charged += amps * step / farads;
        let volts = charged + ohms * amps;
        (low, high) = (low.min(volts), high.max(volts));
    }
    high - low
}

/// Admittance of branches side by side.
fn admittance(branches: &[Branch], hertz: f64) -> (f64, f64) {
    let turn = TAU * hertz;
    branches.iter().fold((0.0, 0.0), |(real, imaginary), &(ohms, henry, farad)| {
        let reactance = turn * henry - 1.0 / (turn * farad);
        let square = ohms * ohms + reactance * reactance;
        (real + ohms / square, imaginary - reactance / square)
    })
}

/// Where branches side by side turn from inductive to capacitive above eight times the carrier, tried in small steps.
fn rings(branches: &[Branch]) -> [Option<Ring>; RINGS] {
    let mut rings = [None; RINGS];
    let steps = (0..200_000).map(|step| CARRIER * (8.0 + 1e-3 * f64::from(step)));
    let mut places = rings.iter_mut();
    for hertz in steps {
        let susceptance = |hertz| admittance(branches, hertz).1;
        if susceptance(hertz) < 0.0 && susceptance(hertz + 1e-3 * CARRIER) >= 0.0 {
            let ring =
                Ring::at(Frequency::new(hertz), Frequency::new(CARRIER), |at| admittance(branches, at.si()));
            *places.next().expect("no more rings than there is room for") = Some(ring);
        }
    }
    rings
}

/// What stands across the bus, by complex impedances.
fn across(branches: &[Branch]) -> Across {
    let farads: f64 = branches.iter().map(|branch| branch.2).sum();
    let henries = 1.0 / branches.iter().map(|branch| 1.0 / branch.1).sum::<f64>();
    let mut besides = [(0.0, 0.0); LINES];
    let rings = if branches.len() > 1 { rings(branches) } else { [None; RINGS] };
    for (line, besides) in besides.iter_mut().enumerate() {
        let turn = TAU * CARRIER * (line as f64 + 1.0);
        let (real, imaginary) = admittance(branches, turn / TAU);
        let square = real * real + imaginary * imaginary;
        *besides = (real / square, -imaginary / square + 1.0 / (turn * farads) - turn * henries);
        for ring in rings.iter().flatten() {
            let own = ring.impedance(line as f64 + 1.0);
            *besides = (besides.0 - own.0, besides.1 - own.1);
        }
    }
    let ohms = besides[LINES - 1].0;
    besides.iter_mut().for_each(|besides| besides.0 -= ohms);
    let besides = (branches.len() > 1).then_some(besides);
    let ohms = if branches.len() > 1 { ohms } else { branches[0].0 };
    Across { capacitance: Capacitance::new(farads), resistance: Resistance::new(ohms), besides, rings }
}

fn told(m: f64, lag: f64, branches: &[Branch]) -> f64 {
    let (amps, carrier) = (Current::new(AMPS), Frequency::new(CARRIER));
    let (cos_phi, across) = (libm::cos(lag), across(branches));
    let mut pulses = BridgePulses::default();
    pulses.take(m, cos_phi, Modulation::SpaceVector, core::slice::from_ref(&across));
    pulses.ripple(amps, &across, carrier).si()
}

const NO_EDGES: Edges = Edges { jumps: Current::ZERO, bends: Current::ZERO };

const POINTS: [(f64, f64); 4] = [(0.9, 0.4), (0.5, 0.4), (0.9, 1.5), (0.3, 2.8)];

#[test]
fn cans_alone_swing_by_their_resistance() {
    let cans = (24.5e-3, 10e-9, 11.3e-3);
    for (m, lag) in POINTS {
        let (told, stepped) = (told(m, lag, &[cans]), alone(m, lag, cans));
        assert!((told / stepped - 1.0).abs() < 0.015, "{m} {lag}: {told} against {stepped}");
        // Forty times what the capacitance alone would tell.
        assert!(told > 3.6, "{told}");
    }
}

#[test]
fn film_beside_electrolytic_rings_after_each_edge() {
    // Their loop resonates at six times the carrier.
    let (cans, film) = ((2.333e-3, 11.33e-9, 6.53e-3), (0.7e-3, 6e-9, 144e-6));
    // Where it resonates at three times the carrier, and hardly at all.
    let (far, near) = ((1e-3, 70e-9, 360e-6), (0.3e-3, 5e-9, 480e-6));
    let (damped, small) = ((10e-3, 20e-9, 4e-3), (1e-3, 10e-9, 200e-6));
    for branches in [[cans, film], [far, near], [damped, small]] {
        for (m, lag) in POINTS {
            let (told, stepped) = (told(m, lag, &branches), stepped(m, lag, branches));
            let off = told / stepped - 1.0;
            assert!(off.abs() < 0.08, "{branches:?} {m} {lag}: {told} against {stepped}");
        }
    }
}

#[test]
fn a_small_bank_rings_far_above_the_carrier() {
    // At 9.4, 11.8, 20, 27.6 and 42 times the carrier, and how much of it may read high: the third hardly fades until the
    // next period, and is taken to meet it in step.
    let main = (1e-3, 20e-9, 500e-6);
    let small = [
        ((2e-3, 30e-9, 22e-6), 0.35),
        ((2e-3, 15e-9, 20e-6), 0.15),
        ((0.3e-3, 15e-9, 7e-6), 0.45),
        ((20e-3, 15e-9, 4e-6), 0.2),
        ((4e-3, 10e-9, 1.9e-6), 0.05),
    ];
    for (small, high) in small {
        for (m, lag) in POINTS {
            let (told, stepped) = (told(m, lag, &[main, small]), stepped(m, lag, [main, small]));
            let off = told / stepped - 1.0;
            assert!(off > -0.05 && off < high, "{small:?} {m} {lag}: {told} against {stepped}");
        }
    }
}

#[test]
fn what_rings_after_the_pulses_of_other_stages_stays_below_its_bound() {
    // 40 A for 30 % of the period, on two branches that ring at 11.8 and at 42 times the carrier.
    let (share, amps, main) = (0.3, 40.0, (1e-3, 20e-9, 500e-6));
    let into = |k: usize| amps * share - if ((k % STEPS) as f64) < share * STEPS as f64 { amps } else { 0.0 };
    let rms = Current::new(amps * (share * (1.0f64 - share)).sqrt());
    let edges = Edges { jumps: Current::new(2.0 * amps), bends: Current::ZERO };
    for small in [(2e-3, 15e-9, 20e-6), (4e-3, 10e-9, 1.9e-6)] {
        let stepped = settled(into, 40 * STEPS, [main, small]);
        let across = across(&[main, small]);
        // Lines of the pulses: √2·I·sin(π·h·d)/(π·h).
        let lines = core::array::from_fn(|place| {
            let h = place as f64 + 1.0;
            let crest = 2f64.sqrt() * amps * libm::sin(0.5 * TAU * h * share) / (0.5 * TAU * h);
            crest * crest / (rms.si() * rms.si())
        });
        let first = Frequency::new(CARRIER);
        let told = link_voltage::bound(rms, Current::new(amps), &lines, &across, first, edges).si();
        assert!(told > stepped && told < 2.3 * stepped, "{small:?}: {told} against {stepped}");
    }
}

#[test]
fn other_stages_stay_below_their_bound() {
    // Pulses of a half-bridge, stepped on cans: 40 A for 30 % of the period.
    let (ohms, farads, share, amps) = (8e-3, 2e-3, 0.3, 40.0);
    let step = 1.0 / (CARRIER * STEPS as f64);
    let (mut gathered, mut low, mut high) = (0.0, f64::MAX, f64::MIN);
    for k in 0..STEPS {
        let on = (k as f64) < share * STEPS as f64;
        let into = amps * share - if on { amps } else { 0.0 };
        let before = gathered;
        gathered += into * step / farads;
        for volts in [before, gathered].map(|volts| volts + ohms * into) {
            (low, high) = (low.min(volts), high.max(volts));
        }
    }
    let rms = amps * (share * (1.0 - share)).sqrt();
    let across = Across::in_series(Capacitance::new(farads), Resistance::new(ohms));
    let first = Frequency::new(CARRIER);
    let bound =
        link_voltage::bound(Current::new(rms), Current::new(amps), &[0.0; LINES], &across, first, NO_EDGES)
            .si();
    assert!(bound >= high - low && bound < 1.1 * (high - low), "{bound} against {}", high - low);
}
