//! Bridges in whole units against their doubles in time: a torque at a speed with a weakened field, and two packs that
//! share a bus.

use loadworthy_unit::{LaneId, Solved};

use crate::bench::{IGBT, changed, close, lane, unit, value};
use crate::judge::agreement::Agreement;
use crate::judge::ramps::Chip;
use crate::settling::{Heat, Settled, glycol, settle};
use crate::waveform::{Share, Task, Zero};
use crate::whole_unit::MODULE;

/// Modules of two positions on one stack, referred to the coolant that arrives.
pub(crate) fn stack(inlet: f64) -> Heat {
    Heat {
        inlet,
        rate: glycol(8.0, inlet),
        to_case: [0.066, 0.110],
        packages: vec![vec![0, 1], vec![2, 3], vec![4, 5]],
        count: 1.0,
        faces: vec![(0.06, 0)],
        places: vec![(1.0, 0.0, 0.0)],
    }
}

/// Compares the chips of a bridge whose legs are alike, and what it takes.
fn bridge(solved: &Solved<'_>, lane: LaneId, task: &Task, double: &Settled) {
    let mut here = Agreement::new(solved, lane);
    for (side, name) in ["high_side", "low_side"].into_iter().enumerate() {
        let both: f64 = double.turn.shares[side].iter().map(Share::loss).sum();
        for (chip, what) in ["transistor", "diode"].into_iter().enumerate() {
            // The three legs are a third of a turn apart; their mean leaves out where the carrier met them.
            let mut share = Share::default();
            for leg in 0..3 {
                let own = double.turn.shares[2 * leg + side][chip];
                share.average += own.average / 3.0;
                share.mean_square += own.mean_square / 3.0;
                share.conduction += own.conduction / 3.0;
                share.switching += own.switching / 3.0;
            }
            let chip_of = Chip { share, crest: task.current };
            let junction = double.junctions[side][chip];
            here.chip(&format!("drive.{name}.u.{what}"), &chip_of, junction, task.current, both);
        }
    }
    let lost: f64 = double.turn.shares.iter().flatten().map(Share::loss).sum();
    here.share("drive.loss", lost, 0.01);
    here.share("drive.dc_power", task.output() + lost, 0.005);
    here.within("drive.modulation_index", double.index, 0.015);
    here.share("link.voltage", double.link, 0.001);
    here.within("cooling.outlet", double.outlet, 0.3);
    here.done("bridge");
}

const PAIRS: f64 = 4.0;
const FLUX: f64 = 0.11;
const OHMS: f64 = 14e-3;
const HENRY: [f64; 2] = [210e-6, 480e-6];

/// Of all currents along the magnet, in steps of 5 mA, the one that gives the torque with the least crest of phase
/// current and no more than a crest of phase voltage: currents, then voltages along and across.
fn least(torque: f64, speed: f64, most: f64) -> ([f64; 2], [f64; 2]) {
    let turning = core::f64::consts::TAU * speed / 60.0 * PAIRS;
    let at = |along: f64| {
        let across = torque / (1.5 * PAIRS * (FLUX + (HENRY[0] - HENRY[1]) * along));
        let volts =
            [OHMS * along - turning * HENRY[1] * across, OHMS * across + turning * (HENRY[0] * along + FLUX)];
        ([along, across], volts)
    };
    let size = |[along, across]: [f64; 2]| libm::hypot(along, across);
    (0..200_000)
        .map(|step| at(-0.005 * f64::from(step)))
        .filter(|(_, volts)| size(*volts) <= most)
        .min_by(|a, b| size(a.0).total_cmp(&size(b.0)))
        .unwrap_or_else(|| panic!("{torque} N m is out of reach at {speed} 1/min"))
}

#[test]
fn a_torque_at_a_speed_with_and_without_a_weakened_field() {
    let constants = "pole_pairs: 4, flux_linkage: 0.11 V s, phase_resistance: 14 mohm, inductance: { d: 210 uH, q: 480 uH }";
    for (torque, speed, is_weakened) in [(90.0, 2400.0, false), (45.0, 7500.0, true), (-45.0, 7500.0, true)] {
        let demand = format!("torque: {torque} N m, speed: {speed} 1/min");
        let text = changed(
            IGBT,
            &[
                ("phase_resistance: 14 mohm, inductance: { d: 210 uH, q: 480 uH }", constants),
                ("dead_time: 2 us\n", "dead_time: 2 us\n    field_weakening: 92 %\n"),
                (
                    "electrical_power: 70 kW, line_voltage: 330 V rms, power_factor: 0.88, frequency: 160 Hz",
                    &demand,
                ),
            ],
        );
        let unit = unit(&text);
        let solved = Solved::new(&unit.variants[0]);
        let lane = lane(solved.variant, "climb");
        let link = 600.0;
        // Linear up to 1/√3 of the link, of which 92 % are used; the dead times take theirs.
        let most = 0.92 * link / 3.0_f64.sqrt() - 4.0 / core::f64::consts::PI * 2e-6 * 8000.0 * link;
        let (amps, volts) = least(torque, speed, most);
        let free = least(torque, speed, f64::INFINITY);
        assert_eq!((amps[0] - free.0[0]).abs() > 1.0, is_weakened, "{torque} N m");
        close(value(&solved, lane, "drive.d_current"), amps[0], 2e-3, "current along the magnet");
        close(value(&solved, lane, "drive.q_current"), amps[1], 2e-3, "current across it");
        let angle = |[along, across]: [f64; 2]| libm::atan2(across, along);
        let task = Task {
            sheet: MODULE,
            parallel: 1.0,
            zero: Zero::Centred,
            carrier: 8000.0,
            dead_time: 2e-6,
            voltage: libm::hypot(volts[0], volts[1]),
            current: libm::hypot(amps[0], amps[1]),
            lag: angle(volts) - angle(amps),
            // The nearest whole number of carrier periods in a turn, so that the turns repeat.
            frequency: 8000.0 / (8000.0 / (speed / 60.0 * PAIRS)).round(),
        };
        let double = settle(&task, &stack(65.0), link, 0.0);
        bridge(&solved, lane, &task, &double);
    }
}

#[test]
fn two_packs_of_different_voltage_on_one_bus() {
    let second = "    internal_resistance: { lowest: 40 mohm, highest: 80 mohm }\n  weak:\n    kind: battery\n    internal_resistance: { lowest: 60 mohm, highest: 118 mohm }\n";
    let text = changed(
        IGBT,
        &[
            ("    internal_resistance: { lowest: 40 mohm, highest: 80 mohm }\n", second),
            (
                "buses: { link: {} }\n",
                "buses: { link: {} }\nbranches: { tie: { from: weak, to: link, through: [tie_fuse] } }\nconductors: { tie_fuse: { kind: fuse, resistance: 2 mohm } }\n",
            ),
            (", inductance: { d: 210 uH, q: 480 uH }", ""),
            (
                "{ pack: { open_circuit: 620 V } }",
                "{ pack: { open_circuit: 620 V }, weak: { open_circuit: 606 V } }",
            ),
            (
                "{ pack: { terminal: 600 V } }",
                "{ pack: { open_circuit: 620 V }, weak: { open_circuit: 606 V } }",
            ),
            ("frequency: 140 Hz", "frequency: 125 Hz"),
            ("      fan: { power: 1.4 kW }\n", ""),
        ],
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    // 620 V behind 80 mΩ beside 606 V behind 118 mΩ and a fuse of 2 mΩ: without load one charges the other.
    let packs = [("pack", 620.0, 0.080), ("weak", 606.0, 0.120)];
    let meets = packs.iter().map(|(_, volts, ohms)| volts / ohms).sum::<f64>();
    let inner = 1.0 / packs.iter().map(|(_, _, ohms)| 1.0 / ohms).sum::<f64>();
    for (duty, power, cosine, frequency) in [("sagging", 70e3, 0.88, 160.0), ("recovery", -60e3, 0.86, 125.0)]
    {
        let task = Task {
            sheet: MODULE,
            parallel: 1.0,
            zero: Zero::Centred,
            carrier: 8000.0,
            dead_time: 2e-6,
            voltage: 330.0 * (2.0_f64 / 3.0).sqrt(),
            current: 2.0_f64.sqrt() * f64::abs(power) / (3.0_f64.sqrt() * 330.0 * cosine),
            lag: libm::acos(cosine * f64::signum(power)),
            frequency,
        };
        let double = settle(&task, &stack(65.0), meets * inner, inner);
        let here = lane(solved.variant, duty);
        bridge(&solved, here, &task, &double);
        for (name, volts, ohms) in packs {
            let amps = (volts - double.link) / ohms;
            let found = value(&solved, here, &format!("{name}.current"));
            assert!((found - amps).abs() < 0.01 * 100.0, "{name} in {duty}: {found} A against {amps} A");
        }
    }
    let rest = lane(solved.variant, "rest");
    let around = (620.0 - 606.0) / 0.200;
    close(value(&solved, rest, "pack.current"), around, 1e-9, "what one pack gives the other");
    close(value(&solved, rest, "weak.current"), -around, 1e-9, "what the other takes");
    close(value(&solved, rest, "link.voltage"), 620.0 - 0.080 * around, 1e-12, "where they meet");
    // The terminals of the weak pack lie before its fuse.
    let terminal = 606.0 + 0.118 * around;
    close(value(&solved, rest, "weak.terminal_voltage"), terminal, 1e-12, "terminals of the weak pack");
    close(value(&solved, rest, "tie_fuse.loss"), 2e-3 * around * around, 1e-9, "loss of the fuse");
}
