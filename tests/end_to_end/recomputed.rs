//! Figures of the examples, reckoned anew by hand from what their descriptions state and from nothing of the program.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use super::program::run;

/// Every figure of one duty point of the first variant, by path.
fn figures(example: &str, duty: &str) -> BTreeMap<String, f64> {
    let ran = run(&["derive", &format!("examples/{example}.yaml"), "--duty", duty, "--format", "csv"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let mut all = BTreeMap::new();
    for line in ran.out.lines().skip(1) {
        let cells = line.split(',').collect::<Vec<_>>();
        if let [_, _, "", figure, value, ..] = cells[..]
            && let Ok(value) = value.parse()
        {
            all.entry(figure.to_owned()).or_insert(value);
        }
    }
    all
}

fn near(all: &BTreeMap<String, f64>, figure: &str, expected: f64, within: f64) {
    let found = all.get(figure).copied().unwrap_or(f64::NAN);
    assert!((found / expected - 1.0).abs() <= within, "{figure}: {found} is not {expected} within {within}");
}

/// Resistance of copper of a length in metres and a section in square metres.
fn copper(celsius: f64, length: f64, section: f64) -> f64 {
    1.7241e-8 * (1.0 + 0.003_93 * (celsius - 20.0)) * length / section
}

/// Least phase current, as a crest, that gives a torque: searched along the current angle.
fn least_current(torque: f64, pole_pairs: f64, flux: f64, d: f64, q: f64) -> f64 {
    let crest = |angle: f64| {
        let of_square = 1.5 * pole_pairs * (q - d) * angle.sin() * angle.cos();
        let of_first = 1.5 * pole_pairs * flux * angle.cos();
        2.0 * torque / (of_first + (of_first * of_first + 4.0 * of_square * torque).sqrt())
    };
    (0..20_000).map(|step| crest(f64::from(step) * 5e-5)).fold(f64::INFINITY, f64::min)
}

#[test]
fn a_low_voltage_bridge_in_parallel() {
    let all = figures("vineyard-carrier", "loaded_between_rows");
    let current = 20e3 / (3_f64.sqrt() * 37.0 * 0.87);
    near(&all, "track_bridge.phase_current", current, 1e-6);
    near(&all, "lamp_net.current", 400.0 / 12.5, 1e-6);

    // One device, stepped through a period: sine current, references with the middle of the crests taken off.
    let feed = 0.45e-3 + copper(70.0, 1.2, 120e-6);
    let (mut link, mut junction, mut loss, mut drawn) = (77.0, 100.0, 0.0, 0.0);
    for _ in 0..40 {
        let (frequency, dead): (f64, f64) = (16e3, 600e-9);
        let steps = 4000;
        let mut each = 0.0;
        for step in 0..steps {
            let angle = (f64::from(step) + 0.5) / f64::from(steps) * 2.0 * PI;
            let amps = 2_f64.sqrt() * current / 6.0 * angle.cos();
            let index = 37.0 * (2.0_f64 / 3.0).sqrt() / (link / 2.0);
            let reference = |leg: f64| index * (angle + 0.87_f64.acos() - leg * 2.0 * PI / 3.0).cos();
            let legs = [reference(0.0), reference(1.0), reference(2.0)];
            let middle = (legs.iter().fold(f64::MIN, |a, b| a.max(*b))
                + legs.iter().fold(f64::MAX, |a, b| a.min(*b)))
                / 2.0;
            let on = (1.0 + legs[0] - middle) / 2.0;
            let ohms = (4.0 + 3.4 * (junction - 25.0) / 125.0) * 1e-3;
            let back = if amps < 0.0 { (2.0 * dead * frequency).min(on) } else { 0.0 };
            let at = |cold: [f64; 2]| cold[0] + (amps.abs() - 20.0) * (cold[1] - cold[0]) / 100.0;
            let volts = at([0.78, 1.0]) + (at([0.60, 0.88]) - at([0.78, 1.0])) * (junction - 25.0) / 125.0;
            each += (on - back) * amps * amps * ohms + back * amps.abs() * volts.max(0.0);
            let joules = between(amps, &[(0.0, 0.0), (20.0, 63e-6), (60.0, 225e-6), (120.0, 545e-6)]);
            let scale = (link / 75.0_f64).powf(1.2) * (1.0 + 0.0005 * (junction - 125.0));
            let recovered = between(-amps, &[(0.0, 0.0), (20.0, 6e-6), (120.0, 18e-6)]);
            let growth = (link / 75.0_f64).powf(0.6) * (1.0 + 0.006 * (junction - 125.0));
            each += frequency * (joules * scale + recovered * growth);
        }
        each /= f64::from(steps);
        loss = 36.0 * each;
        // The buck's own loss is taken from the program: it is 4 % of what hangs on the link.
        let buck = all["lamp_buck.high_power"];
        drawn = (20e3 + loss + buck) / link;
        link = 77.0 - drawn * (9e-3 + feed);
        let plate = all["lamp_buck.loss"] + loss;
        let coolant = 65.0 + plate / (1e-4 * 1065.0 * 3450.0);
        junction = coolant + 0.012 * plate + each * (3.6 + 0.55);
    }
    near(&all, "link.voltage", link, 1e-4);
    near(&all, "pack.current", drawn, 1e-3);
    near(&all, "track_bridge.loss", loss, 5e-3);
    near(&all, "pack.loss", drawn * drawn * 9e-3, 2e-3);
    near(&all, "track_bridge.high_side.u.transistor.mean_junction_temperature", junction, 5e-3);
}

/// On a line through points; nothing below the first.
fn between(x: f64, points: &[(f64, f64)]) -> f64 {
    let found = points.windows(2).find(|pair| pair[0].0 <= x && x <= pair[1].0);
    found.map_or(0.0, |pair| pair[0].1 + (x - pair[0].0) / (pair[1].0 - pair[0].0) * (pair[1].1 - pair[0].1))
}

#[test]
fn torque_at_speed_and_a_sagging_pack() {
    let ramp = figures("harbour-shuttle", "ramp");
    let crest = least_current(300.0, 4.0, 0.21, 260e-6, 430e-6);
    near(&ramp, "front_bridge.phase_current_peak", crest, 1e-6);
    let shaft = 300.0 * 2900.0 * 2.0 * PI / 60.0;
    near(&ramp, "front_bridge.output_power", shaft + 1.5 * 16e-3 * crest * crest, 1e-6);

    let run = figures("harbour-shuttle", "laden_run");
    let power = run["pack.power"];
    let terminal = (655.0 + (655.0_f64 * 655.0 - 4.0 * power * 80e-3).sqrt()) / 2.0;
    near(&run, "pack.terminal_voltage", terminal, 1e-6);
    let feed = 0.6e-3 + copper(70.0, 0.16, 120e-6);
    near(&run, "link.voltage", terminal - power / terminal * feed, 1e-6);
    near(&run, "board_net.current", 1700.0 / 28.0, 1e-6);
    let bar = copper(70.0, 2.0 * 0.18, 70e-6);
    near(&run, "front_bar.loss", bar * run["front_bridge.dc_current"].powi(2), 1e-4);
    // All that enters leaves again, or is lost.
    let losses = run.iter().filter(|(path, _)| is_a_loss(path)).map(|(_, watts)| watts).sum::<f64>();
    near(&run, "pack.power", 72e3 + 72e3 + 1.7e3 + losses, 1e-3);
}

/// Losses of stages and conductors, which hold those of their chips and windings; those inside a source come before it.
fn is_a_loss(path: &str) -> bool {
    path.ends_with(".loss") && path.matches('.').count() == 1 && !path.starts_with("pack.")
}

#[test]
fn a_boost_between_pack_and_link() {
    let climb = figures("timber-forwarder", "loaded_climb");
    let feed = 0.48e-3 + copper(75.0, 0.22, 140e-6);
    let amps = climb["pack.current"];
    near(&climb, "pack.terminal_voltage", 346.0 - amps * 55e-3, 1e-6);
    near(&climb, "pack_bus.voltage", 346.0 - amps * (55e-3 + feed), 1e-6);
    near(&climb, "traction_bridge.phase_current", 70e3 / (3_f64.sqrt() * 330.0 * 0.88), 1e-6);
    near(&climb, "step_up.leg_current", climb["step_up.low_power"] / climb["pack_bus.voltage"] / 2.0, 1e-6);
    let bar = copper(75.0, 2.0 * 0.24, 160e-6);
    near(&climb, "link_bar.loss", bar * (climb["link.power"] / 620.0).powi(2), 1e-4);
    let losses = climb.iter().filter(|(path, _)| is_a_loss(path)).map(|(_, watts)| watts).sum::<f64>();
    near(&climb, "pack.power", 70e3 + 20e3 + 1.4e3 + losses, 1e-3);
    let recovery = figures("timber-forwarder", "downhill_recovery");
    let crest = least_current(150.0, 4.0, 0.19, 310e-6, 520e-6);
    near(&recovery, "traction_bridge.phase_current_peak", crest, 1e-3);
}

#[test]
fn a_fuel_cell_that_shares_with_a_battery() {
    let uphill = figures("snow-groomer", "grooming_uphill");
    // 62 kW on the curve between 150 A at 275 V and 300 A at 243 V.
    let (mut low, mut high) = (150.0, 300.0);
    for _ in 0..60 {
        let amps: f64 = (low + high) / 2.0;
        if amps * (275.0 - (amps - 150.0) / 150.0 * 32.0) < 62e3 { low = amps } else { high = amps }
    }
    near(&uphill, "cell.current", low, 1e-6);
    near(&uphill, "cell.terminal_voltage", 62e3 / low, 1e-6);
    near(&uphill, "step_up.leg_current", low / 4.0, 1e-6);
    near(&uphill, "left_bridge.phase_current", 50e3 / (3_f64.sqrt() * 350.0 * 0.90), 1e-6);
    let amps = uphill["pack.current"];
    near(&uphill, "pack.loss", amps * amps * 85e-3, 1e-6);
    let losses = uphill.iter().filter(|(path, _)| is_a_loss(path) && !path.starts_with("cell."));
    let losses = losses.map(|(_, watts)| watts).sum::<f64>();
    near(&uphill, "pack.power", 50e3 + 50e3 + 44e3 + 1e3 + losses - 62e3, 1e-3);
}

/// Recovery in the cold: the line of 0.006 1/K would be below nothing, so a quarter of the data sheet is left.
#[test]
fn diodes_recover_in_the_cold_as_well() {
    let figure = |path: &str, inlet: &str| {
        let unit = "examples/timber-forwarder.yaml";
        let with = format!("duty.loaded_climb.coolant.inlet={inlet}");
        let asked = ["derive", unit, path, "--duty", "loaded_climb", "--with", &with, "--format", "csv"];
        let ran = run(&asked);
        let lines: Vec<&str> = ran.out.lines().skip(1).collect();
        let value = lines.first().and_then(|line| line.split(',').nth(4)?.parse::<f64>().ok());
        value.unwrap_or_else(|| panic!("{path}: {} {}", ran.out, ran.err))
    };
    let diode = |name: &str| format!("traction_bridge.high_side.u.diode.{name}");
    let cold = "-33degC";
    let (joules, watts) = (figure(&diode("switching_energy"), cold), figure(&diode("switching_loss"), cold));
    let carrier = 8e3;
    assert!((watts / (0.25 * joules * carrier) - 1.0).abs() < 1e-9, "{watts} W of {joules} J");
    assert!(figure(&diode("junction_temperature"), cold) < 25.0);
    // Warm it is the line.
    let (joules, watts, junction) = (
        figure(&diode("switching_energy"), "60degC"),
        figure(&diode("switching_loss"), "60degC"),
        figure(&diode("mean_junction_temperature"), "60degC"),
    );
    let line = 1.0 + 0.006 * (junction - 150.0);
    assert!((watts / (line * joules * carrier) - 1.0).abs() < 1e-6, "{watts} W at {junction}");
}

/// 3.3 uH choke behind diodes: what its triangle makes across the inductance of the one bank of the board net.
#[test]
fn a_bank_alone_has_its_inductance() {
    let ripple = |path: &str, nano: &str| {
        let with = format!("capacitors.board_bank.path.inductance={nano}");
        let asked = ["derive", "examples/snow-groomer.yaml", path, "--with", &with, "--format", "csv"];
        let ran = run(&asked);
        let line = ran.out.lines().nth(1).unwrap_or_else(|| panic!("{}", ran.err)).to_owned();
        line.split(',').nth(4).and_then(|value| value.parse::<f64>().ok()).unwrap_or(f64::NAN)
    };
    let volts = |nano: &str| ripple("board_net.ripple_voltage", nano);
    let (little, more, much) = (volts("10 nH"), volts("110 nH"), volts("1010 nH"));
    assert!(little < more && more < much, "{little} {more} {much}");
    // A line at a time in proportion to the inductance.
    assert!(((much - more) / (more - little) - 9.0).abs() < 1e-6, "{little} {more} {much}");
}
