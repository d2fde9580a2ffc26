//! Lanes that have no solution, and lanes that only just have one.

use loadworthy_unit::{Edit, LaneState, Solved};

use crate::bench::{
    IGBT, MOSFET, TWIN_PACK, TWO_FACES, changed, close, figure, input, is_solved, lane, unit, value,
};

/// The bench drive with devices that lose next to nothing, so that what limits it is the battery alone.
fn lossless(resistance: &str) -> String {
    changed(
        IGBT,
        &[
            ("voltage: [1.05 V, 1.65 V]", "voltage: [50 mV, 50 mV]"),
            ("voltage: [1.10 V, 1.90 V]", "voltage: [50 mV, 50 mV]"),
            ("voltage: [1.20 V, 1.75 V]", "voltage: [50 mV, 50 mV]"),
            ("voltage: [1.00 V, 1.60 V]", "voltage: [50 mV, 50 mV]"),
            ("[13 mJ, 36 mJ]", "[0.1 mJ, 0.3 mJ]"),
            ("[17 mJ, 45 mJ]", "[0.1 mJ, 0.3 mJ]"),
            ("[11 mJ, 21 mJ]", "[0.1 mJ, 0.3 mJ]"),
            ("highest: 80 mohm", &format!("highest: {resistance}")),
        ],
    )
}

#[test]
fn more_than_a_battery_can_give_fails_at_the_battery_with_the_share_it_could() {
    // 620² V²/(4·R) against 70 kW and 1.4 kW.
    for (resistance, ohms) in [("1.35 ohm", 1.35), ("1.5 ohm", 1.5), ("4 ohm", 4.0)] {
        let unit = unit(&lossless(resistance));
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        let LaneState::NoSolution { at, largest } = solved.state(lane(variant, "sagging")) else {
            panic!("{ohms} ohm gives {:?}", solved.state(lane(variant, "sagging")));
        };
        assert_eq!(variant.path(at), "pack");
        let closed = 620.0 * 620.0 / (4.0 * ohms) / 71_400.0;
        // What the devices lose is some 15 W.
        assert!((0.0..4e-4).contains(&(closed - largest)), "{largest} against {closed}");
        assert_eq!(solved.figure(figure(variant, "link.voltage"), lane(variant, "sagging")), None);
        assert!(is_solved(&solved, lane(variant, "climb")), "another duty point is none of its business");
    }
}

#[test]
fn just_below_the_limit_of_the_battery_there_is_a_solution() {
    let unit = unit(&lossless("1.345 ohm"));
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = lane(variant, "sagging");
    // What passes the resistance there is what is asked and some 15 W that devices lose, on the side of the higher voltage.
    let volts = value(&solved, lane, "link.voltage");
    let watts = volts * (620.0 - volts) / 1.345;
    assert!(volts > 310.0 && (0.0..40.0).contains(&(watts - 71_400.0)), "{volts} V pass {watts} W");
}

/// The MOSFET bench with a loss that grows with one slope only, each position with a coolant of its own in effect.
fn one_slope() -> String {
    changed(
        MOSFET,
        &[
            ("        - { junction: 100 degC, resistance: 11 mohm }\n", ""),
            ("        - { junction: 175 degC, current: [20 A, 120 A], voltage: [2.7 V, 3.9 V] }\n", ""),
            (
                "turn_off: [0.10 mJ, 0.35 mJ, 0.95 mJ]",
                "turn_off: [0.10 mJ, 0.35 mJ, 0.95 mJ], temperature_coefficient: 0 1/K",
            ),
            ("recovery: [0.06 mJ, 0.20 mJ]", "recovery: [0.06 mJ, 0.20 mJ], temperature_coefficient: 0 1/K"),
            (
                "      referred_to: mean\n      resistance: { value: 0.004 K/W, flow: 6 L/min }\n",
                "      referred_to: inlet\n",
            ),
        ],
    )
}

#[test]
fn the_loop_gain_of_a_single_chip_is_its_slope_times_its_way_to_the_coolant() {
    let unit = unit(&one_slope());
    let variant = &unit.variants[0];
    let lane = lane(variant, "press");
    let face = input(variant, "cooling.elements.plate.cools.drive.face_a");
    let solved = Solved::new(variant);
    let rms = value(&solved, lane, "drive.high_side.u.transistor.rms_current");
    let slope = (15e-3 - 9e-3) / 150.0 * rms * rms;
    let LaneState::Solved { loop_gain } = solved.state(lane) else { panic!("has a solution") };
    close(loop_gain, slope * (0.22 + 0.24), 1e-9, "loop gain");

    // So much coolant that it stays liquid however hot the junctions get.
    let flood = Edit { input: input(variant, "cooling.pump.flow"), value: 1e3 };
    let at = |gain: f64| Edit { input: face, value: gain / slope - 0.22 };
    let below = &Solved::with(variant, &[vec![at(0.98), flood]])[0];
    let LaneState::Solved { loop_gain } = below.state(lane) else { panic!("has a solution") };
    close(loop_gain, 0.98, 1e-9, "loop gain near one");

    // At a gain of one the loss rises as fast as the heat can leave. The gain goes with the square of the current.
    let above = &Solved::with(variant, &[vec![at(1.1), flood]])[0];
    let LaneState::NoSolution { at, largest } = above.state(lane) else { panic!("runs away") };
    assert_eq!(variant.path(at), "drive.high_side.u.package");
    close(largest, (1.0 / 1.1_f64).sqrt(), 1e-4, "largest share");
}

#[test]
fn a_junction_whose_loss_outruns_its_own_resistance_is_named_itself() {
    let text = changed(&one_slope(), &[("[0.13 K/W, 30 ms]", "[130 K/W, 30 ms]")]);
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let LaneState::NoSolution { at, .. } = solved.state(lane(variant, "press")) else { panic!("runs away") };
    assert_eq!(variant.path(at), "drive.high_side.u.transistor");
}

#[test]
fn two_packs_sag_by_their_own_currents_along_one_coolant_path() {
    let unit = unit(TWIN_PACK);
    let variant = &unit.variants[0];
    let resistances = ["left_pack", "right_pack"]
        .map(|pack| input(variant, &format!("sources.{pack}.internal_resistance.highest")));
    // From stiff packs to packs that have hardly anything left to give.
    for ohms in [[0.0, 0.0], [0.08, 0.12], [0.5, 0.9], [1.2, 0.3], [0.4, 1.25]] {
        let edits = [0, 1].map(|k| Edit { input: resistances[k], value: ohms[k] }).to_vec();
        let solved = &Solved::with(variant, &[edits])[0];
        for duty in ["both", "lowering"] {
            let lane = lane(variant, duty);
            assert!(is_solved(solved, lane), "{ohms:?} {duty}: {:?}", solved.state(lane));
            for (k, (pack, bus, open)) in
                [("left_pack", "left", 620.0), ("right_pack", "right", 640.0)].into_iter().enumerate()
            {
                let current = value(solved, lane, &format!("{pack}.current"));
                let volts = value(solved, lane, &format!("{bus}.voltage"));
                close(volts, open - ohms[k] * current, 1e-9, &format!("{pack} at {ohms:?} in {duty}"));
                assert!(volts > 0.5 * open, "the solution near the open-circuit voltage is the stable one");
            }
        }
    }
}

#[test]
fn a_gain_through_two_faces_is_seen_before_it_runs_away() {
    let unit = unit(TWO_FACES);
    let variant = &unit.variants[0];
    let lane = lane(variant, "climb");
    let faces = ["upper.cools.drive.face_a", "lower.cools.drive.face_b"]
        .map(|end| input(variant, &format!("cooling.elements.{end}")));
    let mut before = 0.0;
    let mut ended = false;
    for step in 0..60 {
        let value = 0.05 * libm::pow(1.1, f64::from(step));
        let solved = &Solved::with(variant, &[faces.map(|input| Edit { input, value }).to_vec()])[0];
        match solved.state(lane) {
            LaneState::Solved { loop_gain } => {
                assert!(!ended && loop_gain >= before, "{loop_gain} after {before}");
                before = loop_gain;
            }
            _ => ended = true,
        }
    }
    assert!(ended && before > 0.8, "the last gain before there was no solution is {before}");
}
