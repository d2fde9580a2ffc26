//! Whole units against their time-stepped doubles: currents, losses, temperatures, link current and sag.

use loadworthy_unit::{LaneId, Solved};

use crate::bench::{IGBT, MOSFET, TWO_FACES, changed, close, held, lane, unit, value};
use crate::settling::{Heat, glycol, settle};
use crate::waveform::{Share, Sheet, Task, Turn, Zero, crest_rise};

/// The module of the bench descriptions.
pub(crate) const MODULE: Sheet = Sheet {
    is_mosfet: false,
    forward: &[(25.0, &[(100.0, 1.05), (450.0, 1.65)]), (150.0, &[(100.0, 1.10), (450.0, 1.90)])],
    diode: &[(25.0, &[(100.0, 1.20), (450.0, 1.75)]), (150.0, &[(100.0, 1.00), (450.0, 1.60)])],
    turn_on: &[(150.0, 13e-3), (450.0, 36e-3)],
    turn_off: &[(150.0, 17e-3), (450.0, 45e-3)],
    recovery: &[(150.0, 11e-3), (450.0, 21e-3)],
    measured: (600.0, 150.0),
    scale: [(1.35, 0.003), (0.6, 0.006)],
};
const TRANSISTOR: [(f64, f64); 2] = [(0.020, 5e-3), (0.046, 80e-3)];
const DIODE: [(f64, f64); 2] = [(0.035, 5e-3), (0.075, 80e-3)];

/// The MOSFET of the bench descriptions.
pub(crate) const CHIP: Sheet = Sheet {
    is_mosfet: true,
    forward: &[
        (25.0, &[(0.0, 0.0), (1.0, 9e-3)]),
        (100.0, &[(0.0, 0.0), (1.0, 11e-3)]),
        (175.0, &[(0.0, 0.0), (1.0, 15e-3)]),
    ],
    diode: &[(25.0, &[(20.0, 3.1), (120.0, 4.2)]), (175.0, &[(20.0, 2.7), (120.0, 3.9)])],
    turn_on: &[(20.0, 0.35e-3), (60.0, 0.80e-3), (120.0, 1.90e-3)],
    turn_off: &[(0.0, 0.0), (20.0, 0.10e-3), (60.0, 0.35e-3), (120.0, 0.95e-3)],
    recovery: &[(20.0, 0.06e-3), (120.0, 0.20e-3)],
    measured: (500.0, 25.0),
    scale: [(1.2, 0.0005), (0.6, 0.006)],
};

/// A device of a position, as the mean of the three legs.
fn of_legs(turn: &Turn, side: usize, chip: usize) -> Share {
    let mut mean = Share::default();
    for leg in 0..3 {
        let share = turn.shares[2 * leg + side][chip];
        mean.average += share.average / 3.0;
        mean.mean_square += share.mean_square / 3.0;
        mean.conduction += share.conduction / 3.0;
        mean.switching += share.switching / 3.0;
    }
    mean
}

/// Compares figures of a lane with what the double made of them.
struct Comparison<'s, 'u> {
    solved: &'s Solved<'u>,
    lane: LaneId,
    stage: &'static str,
}

impl Comparison<'_, '_> {
    fn of(&self, name: &str) -> f64 {
        value(self.solved, self.lane, &format!("{}.{name}", self.stage))
    }

    #[track_caller]
    fn within(&self, name: &str, expected: f64, tolerance: f64) {
        let found = self.of(name);
        assert!((found - expected).abs() <= tolerance, "{name}: {found} against {expected}");
    }

    #[track_caller]
    fn chip(&self, path: &str, share: Share, junction: f64, current: f64) {
        self.within(&format!("{path}.average_current"), share.average, 0.002 * current);
        self.within(&format!("{path}.rms_current"), share.rms(), 0.005 * current);
        self.within(&format!("{path}.conduction_loss"), share.conduction, 0.008 * share.loss());
        self.within(&format!("{path}.switching_loss"), share.switching, 0.012 * share.loss());
        self.within(&format!("{path}.mean_junction_temperature"), junction, 1.0);
    }
}
/// The task of the bench drive, from line voltage, power and power factor.
fn task(sheet: Sheet, power: f64, line: f64, cosine: f64, frequency: f64) -> Task {
    let cosine = cosine * power.signum();
    Task {
        sheet,
        parallel: 1.0,
        zero: Zero::Centred,
        carrier: 8000.0,
        dead_time: 2e-6,
        voltage: line * (2.0_f64 / 3.0).sqrt(),
        current: 2.0_f64.sqrt() * power / (3.0_f64.sqrt() * line * cosine),
        lag: libm::acos(cosine),
        frequency,
    }
}

/// The heat path of the bench drive: modules of two positions on one stack.
fn stack() -> Heat {
    Heat {
        inlet: 65.0,
        rate: glycol(8.0, 65.0),
        to_case: [0.066, 0.110],
        packages: vec![vec![0, 1], vec![2, 3], vec![4, 5]],
        count: 1.0,
        faces: vec![(0.06, 0)],
        places: vec![(1.0, 0.0, 0.0)],
    }
}

/// The bench drive without its ripple, which the doubles do not know.
fn smooth(changes: &[(&str, &str)]) -> String {
    changed(&changed(IGBT, &[(", inductance: { d: 210 uH, q: 480 uH }", "")]), changes)
}

#[test]
fn igbt_motoring_and_recovering_behind_a_battery() {
    let text = smooth(&[("frequency: 140 Hz", "frequency: 125 Hz"), ("      fan: { power: 1.4 kW }\n", "")]);
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    for (duty, power, cosine, frequency) in [("sagging", 70e3, 0.88, 160.0), ("recovery", -60e3, 0.86, 125.0)]
    {
        let task = task(MODULE, power, 330.0, cosine, frequency);
        let double = settle(&task, &stack(), 620.0, 0.080);
        let here = Comparison { solved: &solved, lane: lane(solved.variant, duty), stage: "drive" };
        here.within("modulation_index", double.index, 0.01);
        for (side, place) in [("high_side", 0), ("low_side", 1)] {
            let hot = double.junctions[place];
            here.chip(&format!("{side}.u.transistor"), of_legs(&double.turn, place, 0), hot[0], task.current);
            here.chip(&format!("{side}.u.diode"), of_legs(&double.turn, place, 1), hot[1], task.current);
        }
        here.within("package.u.case_temperature", double.cases[0][0], 1.0);
        let lost = double.turn.shares.iter().flatten().map(Share::loss).sum::<f64>();
        here.within("loss", lost, 0.005 * lost);
        here.within("dc_power", task.output() + lost, 0.005 * lost);
        // The double counts the current that its upper switches pass, and pays for the edges from the same link.
        let edges: f64 = double.turn.shares.iter().flatten().map(|share| share.switching).sum();
        here.within("dc_current", double.turn.dc + edges / double.link, 0.1);
        close(value(&solved, here.lane, "link.voltage"), double.link, 1e-4, "link");
        close(value(&solved, here.lane, "cooling.outlet"), double.outlet, 1e-3, "outlet");
    }
}

#[test]
fn igbt_at_standstill() {
    let unit = unit(&smooth(&[]));
    let solved = Solved::new(&unit.variants[0]);
    let current = 200.0 * 2.0_f64.sqrt();
    let task = Task { voltage: 14e-3 * current, current, lag: 0.0, ..task(MODULE, 70e3, 330.0, 1.0, 0.0) };
    let double = settle(&task, &stack(), 600.0, 0.0);
    let here = Comparison { solved: &solved, lane: held(solved.variant, "hold", 1), stage: "drive" };
    for (leg, name) in ["u", "v"].into_iter().enumerate() {
        for (side, at) in ["high_side", "low_side"].into_iter().enumerate() {
            let position = 2 * leg + side;
            for (chip, what) in ["transistor", "diode"].into_iter().enumerate() {
                let path = format!("{at}.{name}.{what}");
                let share = double.turn.shares[position][chip];
                here.chip(&path, share, double.junctions[position][chip], current);
            }
        }
    }
    here.within("loss", double.turn.shares.iter().flatten().map(Share::loss).sum(), 20.0);
}

#[test]
fn mosfet_both_ways_and_at_standstill() {
    let text = changed(
        MOSFET,
        &[("frequency: 280 Hz", "frequency: 250 Hz"), ("frequency: 300 Hz", "frequency: 400 Hz")],
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let heat = Heat {
        inlet: 60.0,
        rate: glycol(6.0, 60.0),
        to_case: [0.22, 0.22],
        packages: (0..6).map(|position| vec![position]).collect(),
        count: 2.0,
        faces: vec![(0.24, 0)],
        places: vec![(0.5, 0.004, 0.0)],
    };
    let base = Task {
        parallel: 2.0,
        zero: Zero::Third,
        carrier: 20_000.0,
        dead_time: 400e-9,
        ..task(CHIP, 62e3, 280.0, 0.9, 400.0)
    };
    let recovery = task(CHIP, -55e3, 280.0, 0.88, 250.0);
    let standing = 90.0 * 2.0_f64.sqrt();
    for (duty, crest, open, inner, task) in [
        ("press", 0, 480.0, 0.0, base),
        ("sagging", 0, 500.0, 0.07, base),
        (
            "recovery",
            0,
            500.0,
            0.07,
            Task { current: recovery.current, lag: recovery.lag, frequency: 250.0, ..base },
        ),
        (
            "hold",
            1,
            480.0,
            0.0,
            Task { voltage: 25e-3 * standing, current: standing, lag: 0.0, frequency: 0.0, ..base },
        ),
    ] {
        let double = settle(&task, &heat, open, inner);
        let here = Comparison { solved: &solved, lane: held(solved.variant, duty, crest), stage: "drive" };
        let positions = if crest == 0 { 0..1 } else { 0..4 };
        for position in positions {
            let (leg, side) = (["u", "v"][position / 2], ["high_side", "low_side"][position % 2]);
            let (channel, body) = if crest == 0 {
                (of_legs(&double.turn, 0, 0), of_legs(&double.turn, 0, 1))
            } else {
                (double.turn.shares[position][0], double.turn.shares[position][1])
            };
            let hot = double.junctions[position][0];
            here.chip(&format!("{side}.{leg}.transistor"), channel, hot, task.current);
            here.within(
                &format!("{side}.{leg}.body_diode.average_current"),
                body.average,
                0.002 * task.current,
            );
            here.within(
                &format!("{side}.{leg}.body_diode.conduction_loss"),
                body.conduction,
                0.02 * channel.loss(),
            );
            here.within(
                &format!("{side}.{leg}.body_diode.recovery_loss"),
                body.switching,
                0.02 * channel.loss(),
            );
        }
        let lost = 2.0 * double.turn.shares.iter().flatten().map(Share::loss).sum::<f64>();
        here.within("loss", lost, 0.02 * lost);
        close(value(&solved, here.lane, "link.voltage"), double.link, 1e-4, "link");
        close(value(&solved, here.lane, "cooling.outlet"), double.outlet, 1e-3, "outlet");
    }
}

#[test]
fn two_faces_at_two_places_and_packages_of_one_and_of_six() {
    // The second bridge rests here, so that the double has the coolant for itself.
    let rest = (
        "\n      pump_motor: { electrical_power: 30 kW, line_voltage: 300 V rms, power_factor: 0.85, frequency: 120 Hz }",
        "",
    );
    for (circuit, faces, packages) in [
        ("half_bridge", 2, vec![vec![0, 1], vec![2, 3], vec![4, 5]]),
        ("single", 2, (0..6).map(|position| vec![position]).collect()),
        ("six_pack", 2, vec![(0..6).collect()]),
        ("six_pack", 1, vec![(0..6).collect::<Vec<usize>>()]),
    ] {
        let package = format!("module:\n    package: {{ circuit: {circuit}, cooled_faces: {faces} }}");
        let mut changes = vec![
            rest,
            ("module:\n    package: { circuit: half_bridge, cooled_faces: 2 }", package.as_str()),
            (", inductance: { d: 210 uH, q: 480 uH }", ""),
        ];
        if faces == 1 {
            changes.push((", face_b: 0.08 K/W", ""));
            changes.push(("cools: { drive: { face_b: 0.08 K/W } }", "cools: {}"));
        }
        changes.retain(|(from, _)| TWO_FACES.contains(from));
        let unit = unit(&changed(TWO_FACES, &changes));
        let solved = Solved::new(&unit.variants[0]);
        let heat = Heat {
            faces: [(0.06, 0), (0.08, 1)][..faces].to_vec(),
            // Eight of nine litres a minute.
            places: vec![(0.0, 0.0, 0.0), (1.0, 0.006 * libm::pow(8.0 / 9.0, -1.1), 0.0)],
            packages: packages.clone(),
            ..stack()
        };
        let task = task(MODULE, 70e3, 330.0, 0.88, 160.0);
        let double = settle(&task, &heat, 600.0, 0.0);
        let here = Comparison { solved: &solved, lane: lane(solved.variant, "climb"), stage: "drive" };
        let hot = double.junctions[0];
        here.chip("high_side.u.transistor", of_legs(&double.turn, 0, 0), hot[0], task.current);
        here.chip("low_side.w.diode", of_legs(&double.turn, 1, 1), double.junctions[5][1], task.current);
        let name = match packages.len() {
            6 => "high_side.u.package",
            3 => "package.u",
            _ => "package",
        };
        for (face, case) in double.cases[0].iter().enumerate() {
            let face = match (faces, face) {
                (1, _) => "",
                (_, 0) => "_a",
                _ => "_b",
            };
            here.within(&format!("{name}.case{face}_temperature"), *case, 1.0);
        }
        close(value(&solved, here.lane, "cooling.outlet"), double.outlet, 1e-3, "outlet");
    }
}

/// Crest of the junction rise over its case that the solver states, and that of the double: transistor, then diode.
fn crests(carrier: f64, frequency: f64, line: f64, rms: f64, cosine: f64) -> [(f64, f64); 2] {
    let demand = format!(
        "phase_current: {rms} A rms, line_voltage: {line} V rms, power_factor: {cosine}, frequency: {frequency} Hz"
    );
    let unit = unit(&smooth(&[
        ("electrical_power: 70 kW, line_voltage: 330 V rms, power_factor: 0.88, frequency: 160 Hz", &demand),
        ("8 kHz", &format!("{carrier} Hz")),
    ]));
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "climb");
    let power = 3.0_f64.sqrt() * line * rms * cosine;
    let task = Task { carrier, ..task(MODULE, power, line, cosine, frequency) };
    let double = settle(&task, &stack(), 600.0, 0.0);
    [(0, "transistor", TRANSISTOR), (1, "diode", DIODE)].map(|(chip, name, elements)| {
        let energies: Vec<f64> = double.turn.by_period.iter().map(|both| both[chip]).collect();
        let mean = double.turn.shares[0][chip].loss() * (elements[0].0 + elements[1].0);
        let path = format!("drive.high_side.u.{name}.junction_ripple");
        (mean + value(&solved, lane, &path), crest_rise(&energies, carrier, &elements))
    })
}

#[test]
fn a_junction_that_turns_slowly_does_not_swing_above_its_figure() {
    for (frequency, line) in [(2.0, 12.0), (10.0, 30.0), (50.0, 110.0)] {
        for (stated, stepped) in crests(8000.0, frequency, line, 139.4, 0.88) {
            assert!(stated >= stepped, "{frequency} Hz: {stated} K is below {stepped} K");
            // What is stepped does not grow with the swing, and what is stated does.
            assert!(stated <= 1.2 * stepped, "{frequency} Hz: {stated} K is far above {stepped} K");
        }
    }
}

#[test]
fn where_conduction_outweighs_switching_the_crest_is_no_lower_than_stepped() {
    // Half a turn a second, few edges and much current: the square of the current has a sharper crest than half a sine. What is
    // stepped does not grow with the swing, and what is stated does.
    for (stated, stepped) in crests(2000.0, 0.5, 15.0, 318.0, 0.99) {
        assert!((1.0..1.16).contains(&(stated / stepped)), "{stated} K against {stepped} K");
    }
}

#[test]
fn turn_on_and_turn_off_go_below_their_curves_each_in_its_own_way() {
    // 99 A at the crest, held at 600 V: turn-on goes straight on to 1.5 mJ, turn-off from 150 A straight to the origin.
    let changes = [("turn_off: [17 mJ, 45 mJ]", "turn_off: [10 mJ, 45 mJ]"), ("200 A rms", "70 A rms")];
    let unit = unit(&changed(IGBT, &changes));
    let solved = Solved::new(&unit.variants[0]);
    let amps = 70.0 * 2.0_f64.sqrt();
    let expected = 1.5e-3 + 23e-3 * amps / 300.0 + 10e-3 * amps / 150.0;
    let found =
        value(&solved, held(solved.variant, "hold", 1), "drive.high_side.u.transistor.switching_energy");
    close(found, expected, 1e-12, "energy");
}
