//! A bus whose sink opens while a machine recovers, against an own simulation of the circuit.

use loadworthy_unit::{FigureId, Solved};

use crate::descriptions::{changed, defects, failing, finding, holding, reviewed, trencher, unit};

const DEFECT: &str = "bus-rise";

/// A figure in the duty point of that name.
fn figure(text: &str, path: &str, duty: &str) -> Option<f64> {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = variant.lane_ids().find(|&lane| variant.duty_of(lane).name == duty).expect(duty);
    let mut all = (0..variant.tables.figures().len()).map(FigureId::new);
    let id = all.find(|&id| variant.tables.figure_path(id) == path).expect(path);
    solved.figure(id, lane)
}

fn missing(text: &str) -> Vec<String> {
    let own = |one: &&loadworthy_checks::review::NotJudged| one.checks.contains(&"loss-of-load");
    reviewed(text).not_judged.iter().filter(own).map(|one| one.missing.clone()).collect()
}

/// A machine behind a bridge of diodes, each a resistance of a milliohm forward and of 5 kΩ backward, in steps of 20 ns;
/// the highest voltage of the bank, the worst of four angles.
fn simulated(farad: f64, start: f64, (emf, hertz): (f64, f64), henry: f64, crest: f64) -> f64 {
    let (open, closed, step) = (5e3, 1e-3, 2e-8);
    let third = core::f64::consts::TAU / 3.0;
    let mut highest = start;
    for quarter in 0..4 {
        let angle = third / 2.0 * f64::from(quarter) / 4.0;
        let mut amps = [0.0, third, 2.0 * third].map(|phase| crest * libm::cos(angle - phase));
        let (mut volts, mut time) = (start, 0.0);
        while time < 1e-3 {
            let mut into = 0.0;
            let poles = amps.map(|amps| {
                let with = |up: f64, down: f64| (amps + volts / up) / (1.0 / up + 1.0 / down);
                let (high, low) = (with(closed, open), with(open, closed));
                let (pole, up) = if high > volts {
                    (high, closed)
                } else if low < 0.0 {
                    (low, open)
                } else {
                    (with(open, open), open)
                };
                into += (pole - volts) / up;
                pole
            });
            let turned = angle + core::f64::consts::TAU * hertz * time;
            let emf = [0.0, third, 2.0 * third].map(|phase| emf * libm::cos(turned - phase));
            let neutral = (poles.iter().sum::<f64>() - emf.iter().sum::<f64>()) / 3.0;
            for k in 0..3 {
                amps[k] += (emf[k] + neutral - poles[k]) * step / henry;
            }
            volts += into * step / farad;
            highest = f64::max(highest, volts);
            time += step;
        }
    }
    highest
}

#[test]
fn the_bus_comes_to_what_a_simulation_of_its_circuit_says() {
    for (text, parts) in [(holding("loss-of-load"), 12.0), (failing("loss-of-load"), 4.0)] {
        let farad = parts * 90e-6 * 0.9;
        let watts = figure(text, "link.recovered_power", "downhill").expect("a power");
        // 35 kW at the machine, less what the bridge loses.
        assert!((33e3..35e3).contains(&watts), "{watts}");
        let (mut volts, mut time) = (320.0, 0.0);
        let step = 1e-8;
        let mut off = f64::INFINITY;
        while time < off {
            volts += watts / volts * step / farad;
            time += step;
            if volts >= 1.02 * 370.0 && off.is_infinite() {
                off = time + 60e-6;
            }
        }
        let close = |path: &str, expected: f64, share: f64| {
            let got = figure(text, path, "downhill").expect(path);
            assert!((got / expected - 1.0).abs() < share, "{path}: {got} instead of {expected}");
        };
        close("link.time_to_gates_off", time, 1e-3);
        close("link.gates_off_voltage", volts, 1e-5);
        let crest = 2f64.sqrt() * 35e3 / (3f64.sqrt() * 182.0 * 0.9);
        let emf = core::f64::consts::TAU * 220.0 * 0.11;
        close("link.loss_of_load_voltage", simulated(farad, volts, (emf, 220.0), 380e-6, crest), 5e-3);
    }
}

#[test]
fn a_bus_that_is_drawn_from_is_not_asked() {
    let text = failing("loss-of-load");
    assert_eq!(figure(text, "link.recovered_power", "road_speed"), Some(0.0));
    assert_eq!(figure(text, "link.loss_of_load_voltage", "road_speed"), None);
    let driving = changed(text, "electrical_power: -35 kW", "electrical_power: 35 kW");
    let review = reviewed(&driving);
    assert!(review.verdicts.iter().flatten().all(|verdict| verdict.check != "loss-of-load"));
}

#[test]
fn a_machine_that_is_shorted_keeps_what_it_holds() {
    let text = changed(failing("loss-of-load"), "on_fault: gates_off", "on_fault: three_phase_short");
    let off = figure(&text, "link.gates_off_voltage", "downhill");
    assert!(off.is_some() && figure(&text, "link.loss_of_load_voltage", "downhill") == off);
    assert!(!defects(&reviewed(&text)).contains(&("loss-of-load", DEFECT)));
    // A bridge that says nothing turns its gates off.
    let silent = changed(failing("loss-of-load"), "    on_fault: gates_off\n", "");
    assert_eq!(
        figure(&silent, "link.loss_of_load_voltage", "downhill"),
        figure(failing("loss-of-load"), "link.loss_of_load_voltage", "downhill")
    );
}

#[test]
fn a_late_trip_lifts_the_bus_above_what_is_stated_for_it() {
    let late = changed(holding("loss-of-load"), "delay: 60 us", "delay: 900 us");
    let review = reviewed(&late);
    let found = finding(&review, DEFECT);
    assert_eq!((found.part.as_str(), found.duty.as_deref()), ("link", Some("downhill")));
    // Sooner, lower or with a larger bank; what is proposed was solved with all checks.
    assert!(
        found.proposals.iter().any(|one| one.say.starts_with("delay of the trip")),
        "{:#?}",
        found.proposals
    );
}

#[test]
fn a_driver_that_alone_takes_longer_than_the_trip_counts() {
    let drives = "drives: [wheel_bridge.high_side, wheel_bridge.low_side]";
    let driven = |delay: &str| {
        format!("{}\ndrivers:\n  wheel_driver: {{ {drives}, delay: {delay} }}\n", holding("loss-of-load"))
    };
    let volts = |text: &str| figure(text, "link.loss_of_load_voltage", "downhill");
    assert_eq!(volts(&driven("200 ns")), volts(holding("loss-of-load")));
    let sooner = |text: &str| changed(text, "delay: 60 us", "delay: 5 us");
    let late = changed(holding("loss-of-load"), "delay: 60 us", "delay: 45 us");
    assert_eq!(volts(&sooner(&driven("45 us"))), volts(&late));
    // With less of a bank that is too long.
    let less = |text: &str| changed(text, "parts: 12", "parts: 4");
    let review = reviewed(&less(&sooner(&driven("45 us"))));
    assert!(!finding(&review, DEFECT).proposals.is_empty());
}

#[test]
fn the_smallest_bank_that_holds_is_proposed() {
    let review = reviewed(failing("loss-of-load"));
    let found = finding(&review, DEFECT);
    assert!(found.proposals[0].say.starts_with("capacitors of link_bank: 4 -> 10"), "{:#?}", found.proposals);
    let with = |parts: &str| changed(failing("loss-of-load"), "parts: 4,", parts);
    assert!(defects(&reviewed(&with("parts: 9,"))).contains(&("loss-of-load", DEFECT)));
    assert!(!defects(&reviewed(&with("parts: 10,"))).contains(&("loss-of-load", DEFECT)));
}

#[test]
fn what_is_missing_is_named_and_is_no_pass() {
    let whole =
        "    overvoltage_trip: { voltage: 370 V, tolerance: 2 %, delay: 60 us, sensor_range: 500 V }\n";
    let said = missing(&changed(holding("loss-of-load"), whole, ""));
    assert_eq!(said, ["buses.link: overvoltage_trip.voltage and overvoltage_trip.delay are not stated"]);
    let said = missing(&changed(holding("loss-of-load"), " delay: 60 us,", ""));
    assert_eq!(said, ["buses.link.overvoltage_trip.delay is not stated"]);
    let said = missing(&changed(holding("loss-of-load"), ", flux_linkage: 0.11 V s", ""));
    assert_eq!(said, ["machines.wheel_motor.flux_linkage is not stated"]);
    let said = missing(&changed(holding("loss-of-load"), "d: 240 uH, q: 380 uH", "d: 240 uH"));
    assert_eq!(said, ["machines.wheel_motor.inductance.q is not stated"]);
    let text = holding("loss-of-load");
    let bank = text.find("capacitors:").expect("a bank");
    let types = text.find("capacitor_types:").expect("its type");
    let bare = format!("{}{}", &text[..bank], &text[types..]);
    // Where a bus is discharged, that it has no bank is found, and this is told with it.
    let discharge = "    discharge: { resistor: 47 kohm, resistor_power: 10 W, passively_within: 120 s }\n";
    let bare = changed(&bare, discharge, "");
    assert!(missing(&bare).iter().any(|one| one.contains("a bank on link")), "{:?}", missing(&bare));
}

#[test]
fn chokes_empty_into_the_bus_that_their_current_flows_to() {
    let text = changed(
        trencher(),
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V }",
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V, overvoltage_trip: { voltage: 420 V, delay: 0 us } }",
    );
    let text = changed(&text, "torque: 100 N m", "torque: -100 N m");
    let text = format!(
        "{text}
capacitors:
  pack_bank: {{ kind: bank, bus: pack_bus, parts: 2, each: film }}
capacitor_types:
  film: {{ capacitance: 100 uF, tolerance: 10 %, voltage: 900 V, ripple_current: 60 A, series_resistance: 1 mohm,
          thermal_resistance: 3 K/W, hottest: 105 degC }}
"
    );
    let duty = "trenching";
    let amps = figure(&text, "step_up.leg_current", duty).expect("a current");
    assert!(amps < 0.0, "{amps}");
    // At the latest 2 % above the level; nothing flows meanwhile but what two chokes hold.
    let start = 1.02 * 420.0;
    let henry = 220e-6;
    let expected = (start * start + 2.0 * henry * amps * amps / (2.0 * 100e-6 * 0.9)).sqrt();
    let got = figure(&text, "pack_bus.loss_of_load_voltage", duty).expect("a voltage");
    assert!((got / expected - 1.0).abs() < 1e-3, "{got} instead of {expected}");
}

/// A machine whose phases are shorted before it lifts its bus, and a generator, ask for a trip though nothing recovers.
#[test]
fn what_lifts_a_bus_by_itself_asks_for_a_trip() {
    let trip =
        "    overvoltage_trip: { voltage: 430 V, tolerance: 1.5 %, delay: 25 us, sensor_range: 550 V }\n";
    let text = changed(holding("back-emf"), trip, "");
    let keys = ["buses.link.overvoltage_trip.voltage", "buses.link.overvoltage_trip.delay"];
    let asks = |text: &str| {
        let missing = missing(text);
        keys.iter().all(|key| missing.iter().any(|one| one.contains(key) || one.contains("overvoltage_trip")))
    };
    assert!(asks(&text), "{:?}", missing(&text));
    assert_eq!(missing(holding("back-emf")), [""; 0]);
    // 479 V of the machine are less than the bus may reach, or its gates go off and the diodes do as they do.
    assert!(!asks(&changed(&text, "highest: 450 V", "highest: 500 V")));
    assert!(!asks(&changed(&text, "on_fault: three_phase_short", "on_fault: gates_off")));
    // A battery lifts its bus no further than its open-circuit voltage.
    let generator = "sources:
  set: { kind: generator, bus: link, short_circuit: { lowest: 900 A, highest: 2 kA }, discharge: { continuous: 200 A } }

stages:\n";
    let off = changed(&text, "on_fault: three_phase_short", "on_fault: gates_off");
    let off = changed(&off, "buses: { link: 300 V }", "sources: { set: { terminal: 300 V } }");
    assert!(asks(&changed(&off, "stages:\n", generator)));
}

/// The lamps of the carrier hang on a buck, and no battery takes what it brings.
#[test]
fn a_bus_that_a_buck_feeds_rises_by_what_its_choke_holds() {
    const CARRIER: &str = include_str!("../../../examples/vineyard-carrier.yaml");
    let duty = "loaded_between_rows";
    let of = |path: &str| figure(CARRIER, path, duty).expect(path);
    // 400 W of lamps, and what the copper on the way takes.
    let watts = of("lamp_net.recovered_power");
    assert!((400.0..410.0).contains(&watts), "{watts}");
    // Three capacitors of 2.2 mF at the low end of their tolerance, from the latest trip until 5 µs after it.
    let farad = of("lamp_net.gates_off_voltage");
    let start = 1.02 * 14.0;
    assert!(start < farad && farad < start + 0.05, "{farad}");
    let amps = of("lamp_buck.leg_current").abs();
    let (highest, off) = (of("lamp_net.loss_of_load_voltage"), farad);
    // The choke gives all that it holds: the square of the voltage tells how much went into the bank.
    let bank = (highest * highest - off * off) / (8.2e-6 * amps * amps);
    let bank = 1.0 / bank;
    assert!((3.0 * 2.2e-3 * 0.7..3.0 * 2.2e-3).contains(&bank), "{bank} F");
    let trip =
        ",\n      overvoltage_trip: { voltage: 14 V, tolerance: 2 %, delay: 5 us, sensor_range: 20 V }";
    let without = changed(CARRIER, trip, "");
    assert_eq!(missing(&without), Vec::<String>::new());
    assert_eq!(finding(&reviewed(&without), "no-trip").part, "lamp_net");
}
