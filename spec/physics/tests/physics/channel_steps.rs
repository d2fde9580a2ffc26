//! The junction of a MOSFET in a bridge, stepped through turns of the phase current with a resistance that rises as it warms:
//! what the closed form of its crest is held against.

use std::f64::consts::TAU;

use libm::{cos, exp, sin};
use loadworthy_physics::{Frequency, LossSlope, Power, ThermalResistance, Time, channel_ripple};

const NETWORK: [(f64, f64); 2] = [(0.15, 2e-3), (0.40, 15e-3)];
const CASE: f64 = 0.30;
const COOLANT: f64 = 80.0;
const PEAK: f64 = 147.0;
/// Edges and recovery at the crest, in W.
const EDGES: f64 = 4.4;
const RECOVERY: f64 = 1.0;

fn ohms(celsius: f64) -> f64 {
    4e-3 + 3.4e-3 * (celsius - 25.0) / 125.0
}

/// Channel, edges and body diode while the current stands at an angle.
fn losses(angle: f64, celsius: f64, index: f64, lag: f64) -> [f64; 3] {
    let amps = PEAK * sin(angle);
    let on = 0.5 * (1.0 + index * sin(angle + lag));
    let half = |watts: f64, share: f64| if share > 0.0 { watts * share } else { 0.0 };
    [ohms(celsius) * amps * amps * on, half(EDGES, sin(angle)), half(RECOVERY, -sin(angle))]
}

/// Largest junction temperature once every turn is like the one before; the case stands at the mean.
fn stepped(hertz: f64, index: f64, lag: f64) -> f64 {
    let steps = 4000;
    let step = 1.0 / (hertz * f64::from(steps));
    let fades = NETWORK.map(|(_, tau)| exp(-step / tau));
    let (mut rises, mut case, mut junction, mut most) = ([0.0; 2], COOLANT + 15.0, COOLANT + 30.0, f64::MIN);
    let turns = if hertz > 10.0 { 40 } else { 12 };
    for turn in 0..4 * turns {
        let mut mean = 0.0;
        most = f64::MIN;
        for k in 0..steps {
            let angle = TAU * (f64::from(k) + 0.5) / f64::from(steps);
            let watts: f64 = losses(angle, junction, index, lag).iter().sum();
            for ((rise, fade), (ohm, _)) in rises.iter_mut().zip(fades).zip(NETWORK) {
                *rise = ohm * watts + (*rise - ohm * watts) * fade;
            }
            junction = case + rises.iter().sum::<f64>();
            most = if junction > most { junction } else { most };
            mean += watts / f64::from(steps);
        }
        if turn + turns < 4 * turns {
            case = COOLANT + CASE * mean;
        }
    }
    most
}

/// The same from the mean losses at the mean junction temperature, as they are solved.
fn closed(hertz: f64, index: f64, lag: f64) -> f64 {
    let (mut junction, mut means) = (COOLANT, [0.0; 3]);
    for _ in 0..200 {
        means = [0.25 * ohms(junction) * PEAK * PEAK, EDGES / (0.5 * TAU), RECOVERY / (0.5 * TAU)];
        junction = COOLANT + (CASE + 0.55) * means.iter().sum::<f64>();
    }
    let losses = channel_ripple::Losses {
        channel: Power::new(means[0]),
        switching: Power::new(means[1]),
        body: Power::new(means[2]),
        per_kelvin: LossSlope::new(0.25 * PEAK * PEAK * 3.4e-3 / 125.0),
        index,
        power_factor: cos(lag),
    };
    let elements = NETWORK.map(|(ohm, tau)| (ThermalResistance::new(ohm), Time::new(tau)));
    junction + channel_ripple::extra_rise(&losses, &elements, Frequency::new(hertz)).si()
}

#[test]
fn the_crest_of_a_channel_is_that_of_a_loss_that_comes_twice_a_turn() {
    for hertz in [0.5, 2.0, 5.0, 20.0, 100.0] {
        let (exact, stated) = (stepped(hertz, 0.03, 0.3) - COOLANT, closed(hertz, 0.03, 0.3) - COOLANT);
        let off = stated / exact - 1.0;
        assert!((-0.012..0.032).contains(&off), "{hertz} Hz: {stated} K against {exact} K");
    }
}

#[test]
fn a_pole_that_forms_a_voltage_loses_more_in_one_half_wave() {
    for (index, lag) in [(0.5, 0.0), (1.0, 0.0), (1.0, 0.8), (0.8, 2.5), (0.9, 1.6)] {
        for hertz in [2.0, 10.0, 50.0, 200.0] {
            let (exact, stated) = (stepped(hertz, index, lag) - COOLANT, closed(hertz, index, lag) - COOLANT);
            let off = stated / exact - 1.0;
            assert!((-0.03..0.30).contains(&off), "{hertz} Hz, {index}, {lag}: {stated} K against {exact} K");
        }
    }
}
