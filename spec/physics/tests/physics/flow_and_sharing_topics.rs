//! How each topic of the reference cases about coolant networks, orders and parallel devices is computed
//! with this crate.

use loadworthy_physics::coolant::Place;
use loadworthy_physics::hydraulics::{self, Drop, Node};
use loadworthy_physics::path_order::{self, GrowingSource, HeatSource};
use loadworthy_physics::sharing::{self, Corner, OnStateLine, Stability, WarmDevice};
use loadworthy_physics::{
    Capacitance, Current, Inductance, LinearFlowResistance, LossSlope, Power, Pressure, Resistance,
    SquareFlowResistance, Temperature, ThermalCapacityRate, ThermalResistance, Time, Transconductance,
    Voltage, VolumeFlow,
};

use crate::reference_cases::{Figure, Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("parallel_flow_split", parallel_flow_split),
    ("flow_network", flow_network),
    ("pump_operating_point", pump_operating_point),
    ("path_order", path_order),
    ("path_order_weighted", path_order_weighted),
    ("path_order_loss_feedback", path_order_loss_feedback),
    ("derating", derating),
    ("static_sharing", static_sharing),
    ("minimum_device_count", minimum_device_count),
    ("electrothermal_sharing", electrothermal_sharing),
    ("minimum_device_count_thermal", minimum_device_count_thermal),
    ("hogging_stability", hogging_stability),
    ("rail_ladder", rail_ladder),
    ("inductive_sharing", inductive_sharing),
    ("dynamic_sharing_threshold", dynamic_sharing_threshold),
];

fn passage(linear: f64, square: f64) -> Drop {
    Drop { linear: LinearFlowResistance::new(linear), square: SquareFlowResistance::new(square) }
}

fn passages(case: &Inputs) -> Vec<Drop> {
    let squares = case.list("k2_Pa_s2_per_m6");
    case.list("k1_Pa_s_per_m3").into_iter().zip(squares).map(|(k1, k2)| passage(k1, k2)).collect()
}

fn total_flow(case: &Inputs) -> VolumeFlow {
    VolumeFlow::new(case.number("total_flow_m3_per_s"))
}

fn parallel_flow_split(case: &Inputs) -> Figures {
    let branches = passages(case);
    let mut flows = vec![VolumeFlow::ZERO; branches.len()];
    let pressure = hydraulics::split(&branches, total_flow(case), &mut flows);
    vec![
        ("pressure_drop_Pa", Figure::Number(pressure.si())),
        ("branch_flow_m3_per_s", Figure::List(flows.iter().map(|flow| flow.si()).collect())),
    ]
}

fn flow_network(case: &Inputs) -> Figures {
    // One edge, then two in a row beside a third, then one more.
    assert_eq!(case.list("edge_from"), [0.0, 1.0, 2.0, 1.0, 3.0]);
    assert_eq!(case.list("edge_to"), [1.0, 2.0, 3.0, 3.0, 4.0]);
    let edges: Vec<Node> = passages(case).into_iter().map(Node::Element).collect();
    let tree = [
        edges[0],
        edges[1],
        edges[2],
        Node::Series(2),
        edges[3],
        Node::Parallel(2),
        edges[4],
        Node::Series(3),
    ];
    let mut flows = [VolumeFlow::ZERO; 8];
    let pressure = hydraulics::distribute(&tree, total_flow(case), &mut flows);
    let of_edges = [0, 1, 2, 4, 6].map(|entry| flows[entry].si());
    vec![
        ("edge_flow_m3_per_s", Figure::List(of_edges.to_vec())),
        ("pressure_drop_Pa", Figure::Number(pressure.si())),
    ]
}

fn pump_operating_point(case: &Inputs) -> Figures {
    let point = hydraulics::pump_point(
        Pressure::new(case.number("shutoff_pressure_Pa")),
        LinearFlowResistance::new(case.number("pump_a_Pa_s_per_m3")),
        SquareFlowResistance::new(case.number("pump_b_Pa_s2_per_m6")),
        passage(case.number("k1_Pa_s_per_m3"), case.number("k2_Pa_s2_per_m6")),
    );
    numbers([("flow_m3_per_s", point.flow.si()), ("pressure_Pa", point.pressure.si())])
}

/// The stream of a case: inlet, where resistances count from, capacity.
fn stream(case: &Inputs) -> (Temperature, Place, ThermalCapacityRate) {
    let place = match case.text("resistance_refers_to") {
        "inlet" => Place::Inlet,
        "mean" => Place::Mean,
        "outlet" => Place::Outlet,
        other => panic!("unknown reference `{other}`"),
    };
    let rate = ThermalCapacityRate::new(case.number("heat_capacity_rate_W_per_K"));
    (Temperature::celsius(case.number("coolant_inlet_degC")), place, rate)
}

fn heat_sources(case: &Inputs) -> Vec<HeatSource> {
    let (paths, limits) = (case.list("resistance_K_per_W"), case.list("limit_degC"));
    let source = |(k, heat): (usize, f64)| HeatSource {
        heat: Power::new(heat),
        path: ThermalResistance::new(paths[k]),
        limit: Temperature::celsius(limits[k]),
    };
    case.list("power_W").into_iter().enumerate().map(source).collect()
}

fn path_order(case: &Inputs) -> Figures {
    let (sources, (inlet, place, rate)) = (heat_sources(case), stream(case));
    let allowed: Vec<f64> =
        sources.iter().map(|source| source.allowable_outlet(place, rate).in_celsius()).collect();
    let mut order: Vec<usize> = (0..sources.len()).collect();
    let margin =
        |order: &[usize]| path_order::least_margin(&sources, order.iter().copied(), inlet, place, rate).si();
    let given = margin(&order);
    path_order::sort_by_allowable_outlet(&sources, &mut order, place, rate);
    vec![
        ("allowable_outlet_degC", Figure::List(allowed)),
        ("given_order_min_margin_K", Figure::Number(given)),
        ("best_min_margin_K", Figure::Number(margin(&order))),
    ]
}

fn path_order_weighted(case: &Inputs) -> Figures {
    let (sources, (inlet, place, rate)) = (heat_sources(case), stream(case));
    let mut order: Vec<usize> = (0..sources.len()).collect();
    let weights = case.list("weight");
    let margin = path_order::best_weighted(&sources, &weights, &mut order, inlet, place, rate);
    numbers([("best_min_weighted_margin_K", margin.si())])
}

fn path_order_loss_feedback(case: &Inputs) -> Figures {
    let (inlet, place, rate) = stream(case);
    let (paths, limits) = (case.list("resistance_K_per_W"), case.list("limit_degC"));
    let growth = case.list("alpha_per_K");
    let source = |(k, loss): (usize, f64)| GrowingSource {
        at_25: Power::new(loss),
        per_kelvin: growth[k],
        path: ThermalResistance::new(paths[k]),
        limit: Temperature::celsius(limits[k]),
    };
    let sources: Vec<GrowingSource> =
        case.list("loss_at_25C_W").into_iter().enumerate().map(source).collect();
    let mut order: Vec<usize> = (0..sources.len()).collect();
    let margin = path_order::best_with_feedback(&sources, &mut order, inlet, place, rate);
    numbers([("best_min_margin_K", margin.si())])
}

fn derating(case: &Inputs) -> Figures {
    let (devices, spread) = (case.number("device_count"), case.number("resistance_spread_fraction"));
    let limit = Current::new(case.number("device_current_limit_A"));
    numbers([
        ("worst_share_over_average", sharing::worst_share(devices, spread)),
        ("group_current_A", sharing::group_current(limit, devices, spread).si()),
        ("derating_fraction", sharing::derating(devices, spread)),
    ])
}

fn static_sharing(case: &Inputs) -> Figures {
    let knees = case.list("threshold_voltage_V").into_iter().map(Voltage::new);
    let slopes = case.list("on_state_resistance_ohm").into_iter().map(Resistance::new);
    let devices: Vec<_> = knees.zip(slopes).collect();
    let mut currents = vec![Current::ZERO; devices.len()];
    sharing::static_split(&devices, Current::new(case.number("total_current_A")), &mut currents);
    vec![("device_current_A", Figure::List(currents.iter().map(|current| current.si()).collect()))]
}

fn minimum_device_count(case: &Inputs) -> Figures {
    let count = sharing::minimum_count(
        Current::new(case.number("total_current_A")),
        case.number("headroom_fraction"),
        Current::new(case.number("device_current_limit_A")),
        case.number("resistance_spread_fraction"),
    );
    numbers([("device_count", count)])
}

/// On-state line from figures at 25 °C, a drift of the knee and a relative growth of the slope.
fn line_from_25(knee: f64, drift: f64, slope: f64, growth: f64) -> OnStateLine {
    let at = |celsius: f64| {
        (
            Temperature::celsius(celsius),
            Voltage::new(knee + drift * (celsius - 25.0)),
            Resistance::new(slope * (1.0 + growth * (celsius - 25.0))),
        )
    };
    OnStateLine::through(at(25.0), at(125.0))
}

fn electrothermal_sharing(case: &Inputs) -> Figures {
    let slopes = case.list("resistance_25C_ohm");
    let column = |key: &str| case.list(key);
    let (knees, drifts) = (column("threshold_25C_V"), column("threshold_drift_V_per_K"));
    let (growths, paths) = (column("resistance_alpha_per_K"), column("thermal_resistance_K_per_W"));
    let coolants = column("local_coolant_degC");
    let devices: Vec<WarmDevice> = (0..slopes.len())
        .map(|k| WarmDevice {
            line: line_from_25(knees[k], drifts[k], slopes[k], growths[k]),
            path: ThermalResistance::new(paths[k]),
            reference: Temperature::celsius(coolants[k]),
            other_heat: Power::ZERO,
        })
        .collect();
    let total = Current::new(case.number("total_current_A"));
    let mut rest = vec![(Current::ZERO, Temperature::celsius(0.0)); devices.len()];
    let voltage = sharing::warm_split(&devices, total, &mut rest);

    // Where the case is one low device among equal high ones, the corner has to say the same.
    if slopes[0] < slopes[1] && slopes[1..].windows(2).all(|pair| pair[0].to_bits() == pair[1].to_bits()) {
        let middle = 0.5 * (slopes[0] + slopes[1]);
        let count = u32::try_from(slopes.len()).expect("a few devices");
        let share = total / f64::from(count);
        let inputs = Corner {
            low_edges: 1.0,
            beside: (Power::ZERO, LossSlope::ZERO),
            devices: count,
            spread: 1.0 - slopes[0] / middle,
            line: line_from_25(knees[0], drifts[0], middle, growths[0]),
            mean: share,
            rms: share,
            crest: share,
            to_case: ThermalResistance::new(paths[0]),
            case_to_reference: ThermalResistance::ZERO,
            other_heat: Power::ZERO,
            low_reference: Temperature::celsius(coolants[0]),
            others_reference: Temperature::celsius(coolants[1]),
        };
        let point = sharing::corner(&inputs, |_| (Power::ZERO, LossSlope::ZERO));
        assert_eq!(point.stability, Stability::Stable);
        assert!((share * point.factor - rest[0].0).si().abs() < 1e-8);
        assert!((point.others_junction - rest[1].1).si().abs() < 1e-8);
        assert!((point.voltage - voltage).si().abs() < 1e-12);
    }
    vec![
        ("voltage_V", Figure::Number(voltage.si())),
        ("device_current_A", Figure::List(rest.iter().map(|(current, _)| current.si()).collect())),
        (
            "junction_temperature_degC",
            Figure::List(rest.iter().map(|(_, junction)| junction.in_celsius()).collect()),
        ),
    ]
}

fn minimum_device_count_thermal(case: &Inputs) -> Figures {
    let total = Current::new(case.number("total_current_A"));
    let limit = Current::new(case.number("device_current_limit_A"));
    let hottest = Temperature::celsius(case.number("junction_limit_degC"));
    let coolant = Temperature::celsius(case.number("local_coolant_degC"));
    let slope = case.number("resistance_25C_ohm");
    let enough = (1..100).find(|&devices| {
        let share = total / f64::from(devices);
        let inputs = Corner {
            low_edges: 1.0,
            beside: (Power::ZERO, LossSlope::ZERO),
            devices,
            spread: case.number("resistance_spread_fraction"),
            line: line_from_25(0.0, 0.0, slope, case.number("resistance_alpha_per_K")),
            mean: share,
            rms: share,
            crest: share,
            to_case: ThermalResistance::new(case.number("thermal_resistance_K_per_W")),
            case_to_reference: ThermalResistance::ZERO,
            other_heat: Power::ZERO,
            low_reference: coolant,
            others_reference: coolant,
        };
        let point = sharing::corner(&inputs, |_| (Power::ZERO, LossSlope::ZERO));
        share * point.factor <= limit && point.low_junction <= hottest
    });
    numbers([("device_count", f64::from(enough.expect("a count that is enough")))])
}

fn hogging_stability(case: &Inputs) -> Figures {
    let current = case.number("device_current_A");
    let (slope, drift) = (case.number("resistance_25C_ohm"), case.number("threshold_drift_V_per_K"));
    let growth = case.number("resistance_alpha_per_K");
    let line = line_from_25(case.number("threshold_25C_V"), drift, slope, growth);
    let junction = Temperature::celsius(case.number("junction_temperature_degC"));
    let current = Current::new(current);
    let gain = sharing::hogging_gain(
        ThermalResistance::new(case.number("self_resistance_K_per_W")),
        ThermalResistance::new(case.number("mutual_resistance_K_per_W")),
        line.voltage(current, junction),
        line.knee_per_kelvin + line.slope_per_kelvin * current,
        line.slope_at(junction),
    );
    vec![("hogging_loop_gain", Figure::Number(gain)), ("stable", Figure::Flag(gain < 1.0))]
}

fn rail_ladder(case: &Inputs) -> Figures {
    let count = case.number("branch_count");
    let mut shares: Vec<f64> = (0..4).map(|_| 0.0).collect();
    assert!((count - 4.0).abs() < f64::EPSILON);
    sharing::rail_shares(
        Resistance::new(case.number("branch_resistance_ohm")),
        Resistance::new(case.number("segment_resistance_both_rails_ohm")),
        &mut shares,
    );
    vec![("share_of_total", Figure::List(shares))]
}

fn inductive_sharing(case: &Inputs) -> Figures {
    let branch = |k: u32| {
        (
            Resistance::new(case.number(&format!("resistance_{k}_ohm"))),
            Inductance::new(case.number(&format!("inductance_{k}_H"))),
        )
    };
    let after = Time::new(case.number("time_s"));
    numbers([("share_of_branch_1", sharing::inductive_share(branch(1), branch(2), after))])
}

fn dynamic_sharing_threshold(case: &Inputs) -> Figures {
    let gate_time = Resistance::new(case.number("gate_resistance_ohm"))
        * Capacitance::new(case.number("input_capacitance_F"));
    let skew = sharing::skew(
        Transconductance::new(case.number("transconductance_A_per_V")),
        Voltage::new(case.number("threshold_difference_V")),
        gate_time,
        Inductance::new(case.number("common_source_inductance_H")),
    );
    let excess = sharing::energy_skew(
        Current::new(case.number("current_difference_for_energy_A")),
        Current::new(case.number("average_device_current_A")),
        case.number("energy_fraction_in_current_rise"),
    );
    numbers([
        ("current_difference_lower_A", skew.least.si()),
        ("current_difference_upper_A", skew.most.si()),
        ("energy_excess_fraction_of_leading_device", excess),
    ])
}
