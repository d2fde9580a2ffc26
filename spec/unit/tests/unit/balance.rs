//! What must add up, whatever a unit is asked.

use loadworthy_unit::missing::Cause;
use loadworthy_unit::{Diagnosis, Edit, FigureId, InputId, LaneId, LaneState, Solved, Variant};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::bench::{ALL, SERIES, close, input, is_solved, lane, unit, value};

/// Fails unless power and heat add up in a lane.
fn balanced(solved: &Solved<'_>, lane: LaneId) -> Result<(), TestCaseError> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let of = |id: FigureId| solved.raw(id, lane);
    let given = |id: InputId| solved.input(id, lane).unwrap_or(f64::NAN);
    let same = |left: f64, right: f64, scale: f64, what: &str| {
        prop_assert!(
            (left - right).abs() <= 1e-9 * scale.abs().max(1.0),
            "{}: {} against {}",
            what,
            left,
            right
        );
        Ok(())
    };
    let mut all_heat = 0.0;
    for stage in &plan.stages {
        let chips = plan.packages[stage.packages.clone()].iter().flat_map(|package| {
            package.chips.iter().map(|&chip| given(package.count) * of(plan.chips[chip].figures.loss))
        });
        let wound = stage.magnetics.iter().map(|&magnetic| &plan.magnetics[magnetic]);
        let wound = wound.map(|magnetic| given(magnetic.count) * of(magnetic.loss));
        let lost = chips.sum::<f64>() + wound.sum::<f64>();
        same(of(stage.figures.loss), lost, lost, "loss of a stage")?;
        let ports: f64 =
            stage.ports.iter().map(|port| if port.outward { -of(port.power) } else { of(port.power) }).sum();
        let out = stage.bridge().map_or(0.0, |bridge| of(bridge.figures.output_power));
        same(ports, out + lost, of(stage.ports[0].power), "power of a stage")?;
        all_heat += lost;
    }
    for (place, bus) in plan.buses.iter().enumerate() {
        let ports =
            plan.stages.iter().flat_map(|stage| &stage.ports).chain(plan.loads.iter().map(|load| &load.port));
        let drawn: f64 = ports.filter(|port| port.bus == Some(place)).map(|port| of(port.drawn)).sum();
        let (mut given_by_sources, mut largest) = (0.0, of(bus.power).abs());
        for &source in &bus.sources {
            let source = &plan.sources[source];
            given_by_sources += of(bus.voltage) * of(source.current);
            largest = largest.max(of(source.power).abs());
            same(
                of(source.power),
                of(source.terminal_voltage) * of(source.current),
                largest,
                "power of a source",
            )?;
            if let (Some(open), Some(ohms)) =
                (solved.input(source.open_circuit, lane), solved.input(source.resistance, lane))
            {
                let terminal = open - ohms * of(source.current);
                same(of(source.terminal_voltage), terminal, terminal, "terminals of a source")?;
            }
        }
        if !bus.sources.is_empty() {
            same(drawn, given_by_sources, largest, "power of a bus")?;
        } else if bus.is_fed {
            same(drawn, 0.0, largest, "power of a bus that a stage holds")?;
        }
    }
    if let Some(path) = &plan.coolant {
        same(of(path.heat), all_heat, all_heat, "heat of the coolant")?;
        let warmer = of(path.outlet) - given(path.inlet);
        prop_assert!((warmer - all_heat / of(path.capacity_rate)).abs() < 1e-9);
        let places: f64 = path.places.iter().map(|place| of(place.heat)).sum();
        same(places, all_heat, all_heat, "heat of the places")?;
    }
    Ok(())
}

#[test]
fn power_and_heat_add_up_in_every_lane_as_described() {
    for text in ALL {
        let unit = unit(text);
        let solved = Solved::new(&unit.variants[0]);
        for lane in solved.variant.lane_ids() {
            assert!(is_solved(&solved, lane));
            balanced(&solved, lane).unwrap();
        }
    }
}

/// Multiplies inputs of every lane at once; an edit holds for all of them, so lanes are taken one by one.
fn scaled(variant: &Variant, lane: LaneId, factors: &[(&str, f64)]) -> Vec<Edit> {
    let all = variant.tables.inputs().iter().enumerate();
    all.filter_map(|(k, input)| {
        let factor = factors.iter().find(|(end, _)| input.path.ends_with(end))?.1;
        let id = InputId::new(k);
        Some(Edit { input: id, value: variant.tables.stated(id, variant.lane(lane).duty).value * factor })
    })
    .collect()
}

proptest! {
    #![proptest_config(ProptestConfig {cases: 60, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn power_and_heat_add_up_whatever_is_asked(
        text in 0..ALL.len(),
        place in 0..64_usize,
        power in 0.05..1.4_f64,
        carrier in 0.3..1.6_f64,
        flow in 0.95..3.0_f64,
        source in 0.0..4.0_f64,
        face in 0.2..1.6_f64,
        inlet in 0.2..1.2_f64,
        line in 0.85..1.05_f64,
    ) {
        let unit = unit(ALL[text]);
        let variant = &unit.variants[0];
        let lanes: Vec<LaneId> = variant.lane_ids().collect();
        let lane = lanes[place % lanes.len()];
        let edits = scaled(variant, lane, &[
            ("electrical_power", power),
            ("phase_current", power),
            ("carrier.frequency", carrier),
            ("pump.flow", flow),
            ("internal_resistance.highest", source),
            ("face_a", face),
            ("face_b", face),
            ("coolant.inlet", inlet),
            ("line_voltage", line),
        ]);
        let solved = &Solved::with(variant, &[edits])[0];
        match solved.state(lane) {
            LaneState::Solved { loop_gain } => {
                prop_assert!(loop_gain < 1.0);
                let mut why = Diagnosis::of(solved, lane);
                let lost = variant.plan.stages.iter().map(|stage| stage.figures.loss);
                let lost: Vec<_> = lost.filter(|&loss| solved.figure(loss, lane).is_none()).collect();
                if lost.is_empty() {
                    balanced(solved, lane)?;
                }
                // Everything is stated: only a range can be left, and which one is named.
                for cause in lost.into_iter().flat_map(|loss| why.causes(loss)) {
                    prop_assert!(matches!(cause, Cause::Beyond { reach: Some(_), .. }), "{:?}", cause);
                }
            }
            LaneState::NoSolution { largest, .. } => prop_assert!((0.0..1.0).contains(&largest)),
            LaneState::Undecided { at } => prop_assert!(false, "undecided at {}", variant.path(at)),
        }
    }
}

/// The hottest crest of any junction in a lane.
fn hottest(solved: &Solved<'_>, lane: LaneId) -> f64 {
    let chips = solved.variant.plan.chips.iter();
    chips.map(|chip| solved.raw(chip.figures.junction_temperature, lane)).fold(f64::MIN, f64::max)
}

#[test]
fn more_current_is_hotter_and_more_flow_or_more_in_parallel_is_cooler() {
    for text in SERIES {
        let unit = unit(text);
        let variant = &unit.variants[0];
        for lane in variant.lane_ids() {
            let runs = |end: &str, factors: [f64; 4]| -> Vec<f64> {
                let also = |factor| match end {
                    "electrical_power" => vec![(end, factor), ("phase_current", factor)],
                    _ => vec![(end, factor)],
                };
                let trials: Vec<_> = factors.map(|factor| scaled(variant, lane, &also(factor))).to_vec();
                Solved::with(variant, &trials).iter().map(|solved| hottest(solved, lane)).collect()
            };
            if !variant.duty_of(lane).name.starts_with("rest") {
                let current = runs("electrical_power", [0.4, 0.6, 0.8, 1.0]);
                assert!(current.is_sorted_by(|a, b| a < b), "{current:?}");
                let flow = runs("pump.flow", [1.0, 1.3, 2.0, 4.0]);
                assert!(flow.is_sorted_by(|a, b| a > b), "{flow:?}");
                let parallel = runs("parallel", [1.0, 2.0, 3.0, 4.0]);
                assert!(parallel.is_sorted_by(|a, b| a > b), "{parallel:?}");
            }
        }
    }
}

#[test]
fn a_battery_without_resistance_holds_its_voltage_and_one_that_charges_rises() {
    let unit = unit(crate::bench::IGBT);
    let variant = &unit.variants[0];
    let none = Edit { input: input(variant, "sources.pack.internal_resistance.highest"), value: 0.0 };
    let stiff = &Solved::with(variant, &[vec![none]])[0];
    close(value(stiff, lane(variant, "sagging"), "link.voltage"), 620.0, 1e-15, "voltage");
    let solved = Solved::new(variant);
    let charging = lane(variant, "recovery");
    assert!(value(&solved, charging, "pack.current") < 0.0);
    assert!(value(&solved, charging, "link.voltage") > 620.0);
    assert!(value(&solved, charging, "pack.loss") > 0.0);
}
