//! The unluckiest of IGBTs in parallel in a bridge that turns, against every corner at every angle of the half wave: with
//! a knee the shares differ along the wave, and the crest alone does not tell them.

use loadworthy_unit::Solved;

use crate::bench::{lane, unit, value};
use crate::settling::glycol;
use crate::sharing_corner::{Device, FALLING, divide};
use crate::waveform::{Points, along};

const COUNT: usize = 3;
const CARRIER: f64 = 8000.0;
const LINK: f64 = 600.0;
const FACE: f64 = 0.08;
const INLET: f64 = 60.0;
const FLOW: f64 = 10.0;
/// Of a phase, all devices together, and what the machine takes beside it.
const AMPS: f64 = 240.0;
const LINE: f64 = 300.0;
const COSINE: f64 = 0.9;
const ANGLES: usize = 360;

fn text() -> String {
    format!(
        "edition: 2026
sources: {{ pack: {{ kind: battery, bus: link }} }}
buses: {{ link: {{}} }}
stages:
  drive:
    topology: three_phase_bridge
    dc_bus: link
    feeds: motor
    modulation: sinusoidal
    carrier: {{ frequency: {CARRIER} Hz }}
    dead_time: 1 us
    switches: {{ high_side: {{ fitted: falling, parallel: {COUNT} }}, low_side: {{ fitted: falling, parallel: {COUNT} }} }}
machines: {{ motor: {{ kind: permanent_magnet }} }}
devices:{}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: {FLOW} L/min }}
  path: [plate]
  elements: {{ plate: {{ cools: {{ drive: {{ face_a: {FACE} K/W }} }} }} }}
duty:
  work:
    coolant: {{ inlet: {INLET} degC }}
    sources: {{ pack: {{ terminal: {LINK} V }} }}
    loads: {{ motor: {{ phase_current: {AMPS} A rms, line_voltage: {LINE} V rms, power_factor: {COSINE}, frequency: 150 Hz }} }}
",
        FALLING.text
    )
}

/// Loss and mean square of each device over a turn, at the temperatures at hand. `leads` is the share of the time that the
/// chip leads at an angle.
fn turn(
    devices: &mut [Device],
    curves: [Points; 2],
    events: &[Points],
    scale: (f64, f64),
    leads: impl Fn(f64) -> f64,
) {
    let sheet = crate::waveform::Sheet { forward: &[], ..FALLING.sheet };
    let straight = |amps: f64, hot: f64| {
        let [cool, warm] = curves.map(|curve| along(curve, amps));
        cool + (warm - cool) * (hot - 25.0) / 125.0
    };
    for device in &mut *devices {
        (device.loss, device.square) = (0.0, 0.0);
    }
    for step in 0..ANGLES {
        let angle = core::f64::consts::PI * ((step as f64 + 0.5) / ANGLES as f64 - 0.5);
        let current = AMPS * 2.0_f64.sqrt() * libm::cos(angle);
        // Half of a turn is looked at; in the other half the chip rests.
        let weight = 0.5 / ANGLES as f64;
        let shares = divide(devices, current, straight);
        for (device, amps) in devices.iter_mut().zip(shares) {
            let (amps, on) = (amps.max(0.0), weight * leads(angle));
            device.loss += on * device.side * straight(amps, device.junction) * amps;
            device.square += on * amps * amps;
            let factor = libm::pow(LINK / sheet.measured.0, scale.0)
                * (1.0 + scale.1 * (device.junction - sheet.measured.1));
            device.loss +=
                weight * CARRIER * factor * events.iter().map(|curve| along(curve, amps)).sum::<f64>();
        }
    }
}

#[test]
fn igbts_that_turn_share_worse_where_their_current_is_small() {
    let unit = unit(&text());
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "work");
    let index = 2.0 * (2.0_f64 / 3.0).sqrt() * LINE / LINK;
    let duty = |angle: f64| 0.5 * (1.0 + index * libm::cos(angle + libm::acos(COSINE)));
    let sheet = FALLING.sheet;
    let whole = value(&solved, lane, "drive.loss");
    let coolant = INLET + whole / glycol(FLOW, INLET);
    // The diode beside each transistor carries its even share.
    let mut diodes = vec![Device { side: 1.0, junction: 90.0, ..Device::default() }; COUNT];
    let (mut most, mut hottest) = (0.0_f64, f64::MIN);
    for low in 0..1 << COUNT {
        let side = |k: usize| if low >> k & 1 == 1 { 1.0 - FALLING.spread } else { 1.0 + FALLING.spread };
        let mut devices: Vec<Device> =
            (0..COUNT).map(|k| Device { side: side(k), junction: 100.0, ..Device::default() }).collect();
        for _ in 0..60 {
            turn(
                &mut devices,
                [sheet.forward[0].1, sheet.forward[1].1],
                &[sheet.turn_on, sheet.turn_off],
                sheet.scale[0],
                duty,
            );
            turn(
                &mut diodes,
                [sheet.diode[0].1, sheet.diode[1].1],
                &[sheet.recovery],
                sheet.scale[1],
                |angle| 1.0 - duty(angle),
            );
            for (device, diode) in devices.iter_mut().zip(&mut diodes) {
                let case = coolant + FACE * (device.loss + diode.loss);
                device.junction = case + FALLING.to_case * device.loss;
                diode.junction = case + 0.30 * diode.loss;
            }
        }
        for device in devices {
            most = most.max(device.square.sqrt());
            hottest = hottest.max(device.junction);
        }
    }
    let of = |end: &str| value(&solved, lane, &format!("drive.high_side.u.transistor.unluckiest.{end}"));
    let (current, swing) = (of("rms_current"), of("junction_temperature"));
    let loss = of("loss") / value(&solved, lane, "drive.high_side.u.transistor.loss");
    let junction = swing - loss * value(&solved, lane, "drive.high_side.u.transistor.junction_ripple");
    assert!((current - most).abs() <= 0.01 * most, "{current} A against {most} A");
    assert!((junction - hottest).abs() <= 1.0, "{junction} °C against {hottest} °C");
}
