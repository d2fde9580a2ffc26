//! A chain of stages by hand: powers from load to pack, coolant from plate to plate, and chains of which nobody could
//! say what flows.

use loadworthy_unit::missing::Cause;
use loadworthy_unit::{Edit, FigureId, LaneId, Solved};

use crate::bench::{CHAIN, changed, close, figure, input, is_solved, lane, unit, unit_and_problems, value};

/// Resistance of copper at 80 °C: length over section, in mm.
fn copper(length: f64, width: f64, thickness: f64) -> f64 {
    1.7241e-8 * (1.0 + 0.003_93 * 60.0) * length * 1e-3 / (width * thickness * 1e-6)
}

#[test]
fn the_powers_of_a_climb_from_the_loads_to_the_pack() {
    let unit = unit(CHAIN);
    let solved = Solved::new(&unit.variants[0]);
    let of = |path: &str| value(&solved, lane(solved.variant, "climb"), path);
    let near = |path: &str, expected: f64| close(of(path), expected, 1e-9, path);

    // The board net: 1.4 kW at 28 V are 50 A, which the bar lets drop.
    let board = copper(300.0, 18.0, 2.0);
    near("board_net.current", 50.0);
    near("auxiliary.output_current", 50.0);
    near("auxiliary.output_voltage", 28.0 + 50.0 * board);
    near("auxiliary.output_power", 1400.0 + 2500.0 * board);
    near("board_bar.loss", 2500.0 * board);
    near("auxiliary.input_power", 1400.0 + 2500.0 * board + of("auxiliary.loss"));

    // The link: two bridges with what they lose.
    let link = 45e3 + of("traction_bridge.loss") + 15e3 + of("pump_bridge.loss");
    near("link.power", link);
    near("link.current", link / 620.0);
    near("step_up.high_power", link);
    near("step_up.low_power", link + of("step_up.loss"));
    near("step_up.efficiency", link / (link + of("step_up.loss")));

    // The pack: 330 V behind 65 mΩ, a fuse and a bar.
    let feed = 0.3e-3 + copper(400.0, 25.0, 3.0);
    let drawn = of("step_up.low_power") + of("auxiliary.input_power");
    near("pack_bus.power", drawn);
    let volts = 165.0 + (165.0_f64 * 165.0 - (0.065 + feed) * drawn).sqrt();
    near("pack_bus.voltage", volts);
    near("pack.current", drawn / volts);
    near("pack.terminal_voltage", volts + feed * drawn / volts);
    near("pack.power", drawn + feed * (drawn / volts) * (drawn / volts));
    near("pack.loss", 0.065 * (drawn / volts) * (drawn / volts));
    near("pack_fuse.loss", 0.3e-3 * (drawn / volts) * (drawn / volts));
}

/// Sum of a figure of several parts in a lane.
fn sum(solved: &Solved<'_>, lane: LaneId, parts: &[&str], end: &str) -> f64 {
    parts.iter().map(|part| value(solved, lane, &format!("{part}.{end}"))).sum()
}

#[test]
fn what_the_pack_gives_is_what_is_put_out_and_what_is_lost() {
    let unit = unit(CHAIN);
    let solved = Solved::new(&unit.variants[0]);
    let stages = ["step_up", "traction_bridge", "pump_bridge", "auxiliary"];
    for lane in solved.variant.lane_ids() {
        let duty = &solved.variant.duty_of(lane).name;
        let out = sum(&solved, lane, &["traction_bridge", "pump_bridge"], "output_power")
            + value(&solved, lane, "cab_supply.power");
        let lost = sum(&solved, lane, &stages, "loss")
            + sum(&solved, lane, &["pack_fuse", "pack_bar", "board_bar"], "loss");
        close(value(&solved, lane, "pack.power"), out + lost, 1e-9, duty);
        let carried = sum(&solved, lane, &stages, "loss");
        close(value(&solved, lane, "cooling.heat"), carried, 1e-9, "heat into the coolant");
        if duty == "downhill" {
            assert!(value(&solved, lane, "pack.power") < 0.0, "the pack is charged");
            assert!(value(&solved, lane, "step_up.leg_current") < 0.0, "the boost passes power back");
            let (low, high) =
                (value(&solved, lane, "step_up.low_power"), value(&solved, lane, "step_up.high_power"));
            close(value(&solved, lane, "step_up.efficiency"), low / high, 1e-12, "efficiency backward");
        }
    }
}

#[test]
fn coolant_in_the_order_of_the_path_divided_by_equal_pressure() {
    let unit = unit(CHAIN);
    let solved = Solved::new(&unit.variants[0]);
    let of = |path: &str| value(&solved, lane(solved.variant, "climb"), path);
    close(of("cooling.lower_plate.inlet"), 65.0, 1e-12, "inlet");
    close(of("cooling.riser.inlet"), of("cooling.lower_plate.outlet"), 1e-12, "after the plate");
    close(of("cooling.riser.outlet"), of("cooling.riser.inlet"), 1e-12, "a pipe warms nothing");
    for stack in ["traction_stack", "pump_stack"] {
        close(of(&format!("cooling.{stack}.inlet")), of("cooling.riser.outlet"), 1e-12, stack);
    }
    // 1.9 kPa at 2 L/min and 6 kPa at 4 L/min: a straight and a square part. 7 kPa at 4 L/min alone: a square.
    let (left, right) =
        (60_000.0 * of("cooling.stacks.left.flow"), 60_000.0 * of("cooling.stacks.right.flow"));
    close(left + right, 8.0, 1e-12, "all that flows");
    let square = (6.0 / 4.0 - 1.9 / 2.0) / 2.0;
    let drop = (1.9 / 2.0 - 2.0 * square) * left + square * left * left;
    close(drop, 7.0 * (right / 4.0) * (right / 4.0), 1e-9, "equal drops");
    close(of("cooling.traction_stack.pressure_drop"), 1e3 * drop, 1e-9, "drop in kPa");
    let mixed = (left * of("cooling.traction_stack.outlet") + right * of("cooling.pump_stack.outlet")) / 8.0;
    close(of("cooling.outlet"), mixed, 1e-12, "mixed");
    // The stack's resistances are referred to the mean of what enters and leaves, those of the plate to what leaves.
    let stack = 0.5 * (of("cooling.traction_stack.inlet") + of("cooling.traction_stack.outlet"));
    let lost: f64 = ["high_side", "low_side"]
        .iter()
        .flat_map(|side| {
            ["transistor", "diode"].map(|chip| of(&format!("traction_bridge.{side}.v.{chip}.loss")))
        })
        .sum();
    close(of("traction_bridge.package.v.case_temperature"), stack + 0.05 * lost, 1e-9, "case on the stack");
    let plate = of("cooling.lower_plate.outlet") + 0.01 * of("cooling.lower_plate.heat");
    close(of("cooling.lower_plate.plate_temperature"), plate, 1e-9, "plate");
    let rectifier = of("auxiliary.rectifier.1.transistor.loss");
    close(
        of("auxiliary.rectifier.1.package.case_temperature"),
        plate + 0.9 * rectifier,
        1e-9,
        "case on the plate",
    );
}

#[test]
fn a_weaker_pack_moves_what_stands_before_the_link_and_nothing_behind() {
    let unit = unit(CHAIN);
    let variant = &unit.variants[0];
    let ohms = input(variant, "sources.pack.internal_resistance.highest");
    let all = Solved::with(variant, &[vec![], vec![Edit { input: ohms, value: 0.25 }]]);
    let climb = lane(variant, "climb");
    let firm = |path: &str| value(&all[0], climb, path);
    let weak = |path: &str| value(&all[1], climb, path);
    assert!(weak("pack_bus.voltage") < firm("pack_bus.voltage") - 20.0);
    for path in [
        "pack.current",
        "step_up.leg_current",
        "step_up.low_side_duty",
        "step_up.loss",
        "auxiliary.phase_shift",
    ] {
        assert!(weak(path) > firm(path), "{path}");
    }
    // Whatever the boost has to do, it holds the link; behind it only temperatures move, and what follows from them.
    close(weak("link.voltage"), firm("link.voltage"), 1e-15, "link");
    for (k, _) in variant.tables.figures().iter().enumerate() {
        let id = FigureId::new(k);
        let path = variant.tables.figure_path(id);
        if path.starts_with("pump_bridge.")
            && path.ends_with("current")
            && !path.starts_with("pump_bridge.dc")
        {
            let is_shared = path.contains("unluckiest");
            close(weak(&path), firm(&path), if is_shared { 1e-3 } else { 1e-15 }, &path);
        }
    }
    assert!(weak("cooling.outlet") > firm("cooling.outlet"), "what the boost loses more warms the coolant");
}

/// Why a figure is missing, by name.
fn why(solved: &Solved<'_>, lane: LaneId, path: &str) -> Vec<String> {
    let tables = &solved.variant.tables;
    assert!(solved.figure(figure(solved.variant, path), lane).is_none(), "`{path}` is judged");
    let name = |cause: &Cause| match *cause {
        Cause::Input(id) => tables.input_path(id, &solved.variant.duty_of(lane).name),
        other => format!("{other:?}"),
    };
    solved.missing(figure(solved.variant, path), lane).iter().map(name).collect()
}

/// What is left of a stage's text when another stage of the same kind stands beside it.
fn beside(name: &str) -> String {
    let start = CHAIN.find("  step_up:\n").unwrap();
    let end = CHAIN.find("  traction_bridge:\n").unwrap();
    CHAIN[start..end].replace("step_up:", &format!("{name}:"))
}

#[test]
fn a_loop_of_stages_divides_by_what_nobody_states() {
    let second = format!("stages:\n{}", beside("second_step_up"));
    let (unit, problems) = unit_and_problems(&changed(
        CHAIN,
        &[
            ("stages:\n", &second),
            (
                "step_up: { face_a: 0.05 K/W }",
                "step_up: { face_a: 0.05 K/W }, second_step_up: { face_a: 0.05 K/W }",
            ),
        ],
    ));
    assert_eq!(problems, Vec::<String>::new());
    let variant = &unit.variants[0];
    let named = |place: usize| variant.path(variant.plan.stages[place].part);
    assert_eq!(variant.plan.loops.len(), 1);
    assert_eq!(named(variant.plan.loops[0].stage), "step_up");
    let solved = Solved::new(variant);
    let climb = lane(variant, "climb");
    for path in ["step_up.leg_current", "pack.current"] {
        assert_eq!(why(&solved, climb, path), ["power that `step_up` passes"], "{path}");
    }
    // What hangs on the link alone is known all the same.
    assert!(value(&solved, climb, "traction_bridge.phase_current") > 0.0);
    assert!(value(&solved, climb, "traction_bridge.modulation_index") > 0.0);
}

#[test]
fn two_batteries_at_the_ends_of_a_boost_leave_open_what_it_passes() {
    let text = changed(
        CHAIN,
        &[
            (
                "    charge: { continuous: 150 A }\n",
                "    charge: { continuous: 150 A }\n  buffer: { kind: battery, bus: link, internal_resistance: { lowest: 20 mohm, highest: 40 mohm } }\n",
            ),
            ("    buses: { link: 620 V }\n", ""),
            ("    buses: { link: 640 V }\n", ""),
            (
                "sources: { pack: { open_circuit: 330 V } }",
                "sources: { pack: { open_circuit: 330 V }, buffer: { open_circuit: 630 V } }",
            ),
        ],
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let climb = lane(solved.variant, "climb");
    for path in ["step_up.leg_current", "pack.current"] {
        assert_eq!(why(&solved, climb, path), ["duty.climb.sources.buffer.power"], "{path}");
    }
}

#[test]
fn a_bus_that_no_source_reaches_is_not_judged() {
    let text = changed(
        CHAIN,
        &[("    low_bus: pack_bus\n", "    low_bus: other\n"), ("  link: {", "  other: {}\n  link: {")],
    );
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let fed: Vec<(String, bool)> =
        variant.plan.buses.iter().map(|bus| (variant.path(bus.part).to_owned(), bus.is_fed)).collect();
    for (bus, is_fed) in fed {
        assert_eq!(is_fed, !["other", "link"].contains(&bus.as_str()), "{bus}");
    }
    let solved = Solved::new(variant);
    let climb = lane(variant, "climb");
    assert_eq!(why(&solved, climb, "step_up.leg_current"), ["duty.climb.buses.other"]);
    // The pack reaches the board net, whose stage stands on one plate with the choke of the boost.
    assert_eq!(why(&solved, climb, "pack.current"), ["duty.climb.buses.other"]);
    assert!(value(&solved, climb, "board_net.current") > 0.0, "what hangs on nothing else is judged");
}

#[test]
fn a_branch_between_two_rails_carries_what_nobody_states_and_changes_nothing_else() {
    let text = changed(
        CHAIN,
        &[
            (
                "  board_feed: {",
                "  tie: { from: minus, to: board_minus, through: [tie_bar] }\n  board_feed: {",
            ),
            ("  board_bar: {", "  tie_bar: { kind: busbar, resistance: 1 mohm }\n  board_bar: {"),
        ],
    );
    let (tied, problems) = unit_and_problems(&text);
    assert_eq!(problems, Vec::<String>::new());
    let plain = unit(CHAIN);
    let (tied, plain) = (Solved::new(&tied.variants[0]), Solved::new(&plain.variants[0]));
    let climb = lane(tied.variant, "climb");
    assert!(is_solved(&tied, climb));
    close(value(&tied, climb, "pack.current"), value(&plain, climb, "pack.current"), 1e-15, "pack");
    assert_eq!(why(&tied, climb, "tie_bar.current"), ["branches.tie"]);
}
