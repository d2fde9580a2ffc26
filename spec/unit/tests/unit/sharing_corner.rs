//! The unluckiest of several devices in parallel against every corner of their spread: in each corner the current of the
//! position divides by equal voltages at every instant, every device is as warm as its own loss makes it, and the
//! coolant is as warm as all of them make it.

use loadworthy_unit::{LaneId, Solved};

use crate::bench::{changed, lane, unit, value};
use crate::judge::coolant::{Plate, row};
use crate::judge::leg::{Leg, Passes};
use crate::judge::ramps::{Edge, Event, Fitted, Record};
use crate::settling::glycol;
use crate::waveform::{Points, Sheet, along, drop_at};

/// Devices at one place of the coolant.
#[derive(Clone, Copy, Debug)]
struct Place {
    devices: usize,
    /// From each case to the coolant that leaves the place.
    face: f64,
}

/// A boost whose lower positions hold several devices in parallel.
#[derive(Clone, Copy)]
pub(crate) struct Case {
    device: &'static str,
    pub(crate) text: &'static str,
    pub(crate) sheet: Sheet,
    pub(crate) to_case: f64,
    pub(crate) spread: f64,
    places: &'static [Place],
    load: f64,
    dead: f64,
}

const CARRIER: f64 = 16_000.0;
const PERIOD: f64 = 1.0 / CARRIER;
const HENRY: f64 = 200e-6;
const LINK: f64 = 560.0;
const PACK: f64 = 320.0;
const FLOW: f64 = 5.0;
const INLET: f64 = 60.0;

impl Case {
    fn count(&self) -> usize {
        self.places.iter().map(|place| place.devices).sum()
    }

    fn text(&self) -> String {
        let names = ["first", "second"];
        let several = self.places.len() > 1;
        let elements: String = names
            .iter()
            .zip(self.places)
            .map(|(name, place)| {
                let devices = if several { format!(", devices: {}", place.devices) } else { String::new() };
                format!(
                    "    {name}: {{ cools: {{ step.low_side: {{ face_a: {} K/W{devices} }} }} }}\n",
                    place.face
                )
            })
            .collect();
        format!(
            "edition: 2026
sources: {{ pack: {{ kind: battery, bus: near }} }}
buses: {{ near: {{}}, link: {{}} }}
stages:
  step:
    topology: boost
    low_bus: near
    high_bus: link
    inductor: choke
    carrier: {{ frequency: {CARRIER} Hz }}
    dead_time: {} s
    switches:
      high_side: {{ fitted: {}, parallel: {count} }}
      low_side: {{ fitted: {}, parallel: {count} }}
loads: {{ work: {{ bus: link }} }}
magnetics: {{ choke: {{ kind: choke, inductance: {HENRY} H, winding: {{ resistance: 4 mohm }} }} }}
devices:{}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: {FLOW} L/min }}
  path: [{}, far]
  elements:
{elements}    far: {{ cools: {{ step.high_side: {{ face_a: 0.1 K/W }} }} }}
duty:
  work:
    coolant: {{ inlet: {INLET} degC }}
    sources: {{ pack: {{ terminal: {PACK} V }} }}
    buses: {{ link: {LINK} V }}
    loads: {{ work: {{ power: {} W }} }}
",
            self.dead,
            self.device,
            self.device,
            self.text,
            names[..self.places.len()].join(", "),
            self.load,
            count = self.count(),
        )
    }

    /// Current of the position in time, edges included.
    fn record(&self) -> Record {
        let fitted = Fitted::new(self.sheet, self.count() as f64);
        let leg = Leg {
            low_volts: PACK,
            high_volts: LINK,
            henry: HENRY,
            winding: 4e-3,
            carrier: CARRIER,
            dead: self.dead,
            low: Some(fitted),
            high: Some(fitted),
            low_diode: None,
            high_diode: None,
        };
        let mut paid = 0.0;
        let mut turn = leg.settle(Passes::Arrives(self.load / LINK));
        for _ in 0..6 {
            turn = leg.settle(Passes::Arrives((self.load + paid) / LINK));
            let both = [fitted.cost(&turn.low, PERIOD), fitted.cost(&turn.high, PERIOD)];
            paid = both.iter().flatten().map(|chip| chip.share.switching).sum::<f64>() * self.count() as f64;
        }
        turn.low
    }
}

/// One device in a corner.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Device {
    /// Its on-state voltage over that of the middle device.
    pub(crate) side: f64,
    pub(crate) junction: f64,
    pub(crate) loss: f64,
    pub(crate) square: f64,
}

/// Currents of devices that carry a current together: straight curves, each at its own temperature and side.
pub(crate) fn divide(devices: &[Device], current: f64, curve: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    let lines: Vec<(f64, f64)> = devices
        .iter()
        .map(|device| {
            let at = |amps: f64| device.side * curve(amps, device.junction);
            // Curves of two points are straight; of a resistance any two places will do.
            let (knee, slope) = (2.0 * at(60.0) - at(120.0), (at(120.0) - at(60.0)) / 60.0);
            (knee, slope)
        })
        .collect();
    let (mut conducts, mut held) = (0.0, 0.0);
    for &(knee, slope) in &lines {
        conducts += 1.0 / slope;
        held += knee / slope;
    }
    let volts = (current + held) / conducts;
    lines.iter().map(|&(knee, slope)| (volts - knee) / slope).collect()
}

/// A corner that has settled; `low` has a bit for each device at the low end.
fn settle(case: &Case, record: &Record, low: usize) -> Vec<Device> {
    let count = case.count();
    let sheet = &case.sheet;
    let mut devices: Vec<Device> = (0..count)
        .map(|k| {
            let side = if low >> k & 1 == 1 { 1.0 - case.spread } else { 1.0 + case.spread };
            Device { side, junction: 100.0, ..Device::default() }
        })
        .collect();
    let curve = |amps: f64, hot: f64| drop_at(sheet.forward, amps, hot);
    let energy = |joules: Points, amps: f64, hot: f64, edge: &Edge| {
        let factor = libm::pow(edge.volts / sheet.measured.0, sheet.scale[0].0);
        along(joules, amps) * factor * (1.0 + sheet.scale[0].1 * (hot - sheet.measured.1))
    };
    for _ in 0..60 {
        for device in &mut devices {
            (device.loss, device.square) = (0.0, 0.0);
        }
        for piece in record.pieces.iter().filter(|piece| piece.from > 0.0 && piece.to > 0.0) {
            let shares = divide(&devices, 0.5 * (piece.from + piece.to), curve);
            for (device, amps) in devices.iter_mut().zip(shares) {
                let volts = device.side * curve(amps, device.junction);
                device.loss += piece.lasts / PERIOD * volts * amps;
                device.square += piece.lasts / PERIOD * amps * amps;
            }
        }
        for edge in record.edges.iter().filter(|edge| edge.current > 0.0) {
            let joules = match edge.event {
                Event::TurnOn => sheet.turn_on,
                Event::TurnOff => sheet.turn_off,
                Event::Recovery => continue,
            };
            for (k, amps) in divide(&devices, edge.current, curve).into_iter().enumerate() {
                devices[k].loss += energy(joules, amps, devices[k].junction, edge) / PERIOD;
            }
        }
        let mut from = 0;
        let mut coolant = INLET;
        for place in case.places {
            let here = &mut devices[from..from + place.devices];
            let heat: f64 = here.iter().map(|device| device.loss).sum();
            let ([offered], out) =
                row(coolant, glycol(FLOW, INLET), [Plate { share: 1.0, resistance: 0.0, heat }]);
            coolant = out;
            for device in here {
                device.junction = offered + (place.face + case.to_case) * device.loss;
            }
            from += place.devices;
        }
    }
    devices
}

fn judged(case: &Case) {
    let unit = unit(&case.text());
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "work");
    let record = case.record();
    let (mut most, mut hottest) = (0.0_f64, f64::MIN);
    let mut hottest_there = vec![f64::MIN; case.places.len()];
    let of_device = case.places.iter().enumerate().flat_map(|(k, place)| vec![k; place.devices]);
    let of_device: Vec<usize> = of_device.collect();
    for low in 0..1 << case.count() {
        for (device, &place) in settle(case, &record, low).iter().zip(&of_device) {
            most = most.max(device.square.sqrt());
            hottest = hottest.max(device.junction);
            hottest_there[place] = hottest_there[place].max(device.junction);
        }
    }
    let places: &[&str] = if case.places.len() > 1 { &["first.", "second."] } else { &[""] };
    for (place, exact) in places.iter().zip(hottest_there) {
        let path = format!("step.low_side.1.{place}transistor.unluckiest.junction_temperature");
        let stated = value(&solved, lane, &path);
        assert!((stated - exact).abs() <= 1.5, "{} {place} {stated} °C against {exact} °C", case.device);
    }
    let of = |end: &str| {
        let all = places.iter().map(|place| {
            value(&solved, lane, &format!("step.low_side.1.{place}transistor.unluckiest.{end}"))
        });
        all.fold(f64::MIN, f64::max)
    };
    let (current, junction) = (of("rms_current"), of("junction_temperature"));
    assert!((current - most).abs() <= 0.01 * most, "{}: {current} A against {most} A", case.device);
    assert!((junction - hottest).abs() <= 1.0, "{}: {junction} °C against {hottest} °C", case.device);
}

const CHANNELS: Case = Case {
    device: "chip",
    text: "
  chip:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: mosfet
      junction_limit: 175 degC
      on_resistance:
        - { junction: 25 degC, resistance: 9 mohm }
        - { junction: 175 degC, resistance: 15 mohm }
      energies: { voltage: 500 V, junction: 25 degC, current: [20 A, 60 A, 120 A], turn_on: [0.35 mJ, 0.80 mJ, 1.90 mJ], turn_off: [0.10 mJ, 0.35 mJ, 0.95 mJ] }
      thermal_impedance: [[0.09 K/W, 2 ms], [0.13 K/W, 30 ms]]
      spread: { on_voltage: 12 % }
    diode:
      on_state: [{ junction: 25 degC, current: [20 A, 120 A], voltage: [3.1 V, 4.2 V] }]
      energies: { voltage: 500 V, junction: 25 degC, current: [20 A, 120 A], recovery: [0.06 mJ, 0.20 mJ] }",
    sheet: Sheet {
        forward: &[(25.0, &[(0.0, 0.0), (1.0, 9e-3)]), (175.0, &[(0.0, 0.0), (1.0, 15e-3)])],
        ..crate::whole_unit::CHIP
    },
    to_case: 0.22,
    spread: 0.12,
    places: &[Place { devices: 4, face: 0.15 }],
    load: 100e3,
    dead: 300e-9,
};

/// IGBTs whose voltage falls with temperature up to twice what they carry here.
pub(crate) const FALLING: Case = Case {
    device: "falling",
    text: "
  falling:
    package: { circuit: single, cooled_faces: 1 }
    transistor:
      kind: igbt
      junction_limit: 175 degC
      on_state:
        - { junction: 25 degC, current: [20 A, 200 A], voltage: [1.30 V, 2.05 V] }
        - { junction: 150 degC, current: [20 A, 200 A], voltage: [1.05 V, 2.00 V] }
      energies: { voltage: 600 V, junction: 150 degC, current: [40 A, 160 A], turn_on: [2 mJ, 8 mJ], turn_off: [3 mJ, 10 mJ] }
      thermal_impedance: [[0.06 K/W, 2 ms], [0.12 K/W, 30 ms]]
      spread: { on_voltage: 5 % }
    diode:
      on_state: [{ junction: 25 degC, current: [20 A, 200 A], voltage: [1.2 V, 2.0 V] }]
      energies: { voltage: 600 V, junction: 150 degC, current: [40 A, 160 A], recovery: [1 mJ, 3 mJ] }
      thermal_impedance: [[0.10 K/W, 2 ms], [0.20 K/W, 30 ms]]
      spread: { on_voltage: 5 % }",
    sheet: Sheet {
        is_mosfet: false,
        forward: &[(25.0, &[(20.0, 1.30), (200.0, 2.05)]), (150.0, &[(20.0, 1.05), (200.0, 2.00)])],
        diode: &[(25.0, &[(20.0, 1.2), (200.0, 2.0)]), (150.0, &[(20.0, 1.2), (200.0, 2.0)])],
        turn_on: &[(40.0, 2e-3), (160.0, 8e-3)],
        turn_off: &[(40.0, 3e-3), (160.0, 10e-3)],
        recovery: &[(40.0, 1e-3), (160.0, 3e-3)],
        measured: (600.0, 150.0),
        scale: [(1.35, 0.003), (0.6, 0.006)],
    },
    to_case: 0.18,
    spread: 0.05,
    places: &[Place { devices: 3, face: 0.08 }],
    load: 75e3,
    dead: 1e-6,
};

#[test]
fn mosfets_give_back_with_temperature_what_their_spread_takes() {
    judged(&CHANNELS);
    judged(&Case { places: &[Place { devices: 2, face: 0.15 }], load: 45e3, ..CHANNELS });
}

#[test]
fn igbts_below_their_crossing_make_their_spread_larger() {
    judged(&FALLING);
    judged(&Case { places: &[Place { devices: 5, face: 0.08 }], load: 110e3, ..FALLING });
}

#[test]
fn mosfets_at_places_that_are_not_alike() {
    let places = &[Place { devices: 2, face: 0.12 }, Place { devices: 1, face: 0.30 }];
    judged(&Case { places, load: 70e3, ..CHANNELS });
}

#[test]
fn igbts_below_their_crossing_at_places_that_are_not_alike() {
    let places = &[Place { devices: 2, face: 0.06 }, Place { devices: 1, face: 0.12 }];
    judged(&Case { places, load: 70e3, ..FALLING });
}

/// What is told of a lane under a chip, its unluckiest and its mean device.
fn both(solved: &Solved<'_>, lane: LaneId, chip: &str, end: &str) -> [f64; 2] {
    ["unluckiest.", ""].map(|of| value(solved, lane, &format!("{chip}.{of}{end}")))
}

/// The upper position of a boost carries its current backward: dead times and recoveries are in its body diode.
fn upper(spread: &str) -> [[f64; 2]; 4] {
    let text =
        Case { places: &[Place { devices: 2, face: 0.15 }], load: 45e3, dead: 600e-9, ..CHANNELS }.text();
    let unit = unit(&changed(&text, &[("on_voltage: 12 %", spread)]));
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "work");
    let chip = "step.high_side.1.transistor";
    let [loss, junction, current] =
        ["loss", "junction_temperature", "rms_current"].map(|end| both(&solved, lane, chip, end));
    let body = ["conduction_loss", "recovery_loss"]
        .map(|end| value(&solved, lane, &format!("step.high_side.1.body_diode.{end}")));
    [loss, junction, current, body]
}

#[test]
fn without_a_spread_the_unluckiest_is_as_warm_as_the_others_body_diode_included() {
    let [loss, junction, current, body] = upper("on_voltage: 0 %, gate_threshold: 0 V");
    assert!(body[0] + body[1] > 0.1 * loss[1], "a body diode that counts: {body:?} of {loss:?}");
    for [unluckiest, mean] in [loss, junction, current] {
        assert!((unluckiest / mean - 1.0).abs() < 1e-6, "{unluckiest} against {mean}");
    }
}

#[test]
fn what_a_body_diode_loses_goes_with_the_current_of_its_device() {
    let [loss, junction, current, body] = upper("on_voltage: 12 %");
    let factor = current[0] / current[1];
    // Two devices at 1 − s and 1 + s, and a resistance that grows with temperature: somewhat less than 1 + s.
    assert!((1.05..1.12).contains(&factor), "{factor}");
    let channel = loss[1] - body[0] - body[1];
    // The channel at its side and current, a few per cent warmer; the rest in proportion.
    let expected = (1.0 - 0.12) * factor * factor * channel + factor * (body[0] + body[1]);
    assert!((loss[0] / expected - 1.0).abs() < 0.02, "{} W against {expected} W", loss[0]);
    assert!(junction[0] > junction[1] + 0.5 * (factor - 1.0) * 0.37 * loss[1]);
}
