//! Converters, networks, groups of devices and machines never fill in what is missing: each argument in turn
//! is "not a number", and the result is too.

use loadworthy_physics::converters::forward::{self, Forward};
use loadworthy_physics::converters::full_bridge::{self, FullBridge, Rectifier};
use loadworthy_physics::converters::loss_line::LossLine;
use loadworthy_physics::converters::rectifier::{self, SynchronousRectifier};
use loadworthy_physics::converters::{boost, buck, discontinuous};
use loadworthy_physics::core_loss::Steinmetz;
use loadworthy_physics::hydraulics::{self, Drop, Node};
use loadworthy_physics::machine::{self, Machine};
use loadworthy_physics::sharing::{self, Corner, OnStateLine};
use loadworthy_physics::{
    AngularSpeed, Charge, Current, FluxDensity, FluxLinkage, Frequency, Inductance, LinearFlowResistance,
    LossSlope, Power, Pressure, Resistance, SquareFlowResistance, Temperature, ThermalResistance, Time,
    Torque, Transconductance, Voltage, VolumeFlow, fuel_cell,
};

use crate::missing_inputs::each_missing;

const V: fn(f64) -> Voltage = Voltage::new;
const A: fn(f64) -> Current = Current::new;
const OHM: fn(f64) -> Resistance = Resistance::new;
const H: fn(f64) -> Inductance = Inductance::new;
const HZ: fn(f64) -> Frequency = Frequency::new;

#[test]
fn legs() {
    each_missing("boost duty", [250.0, 600.0, 80.0, 5e-3], |[l, h, i, r]| {
        boost::duty(V(l), V(h), A(i), OHM(r))
    });
    each_missing("boost ripple", [600.0, 0.5, 1e-4, 2e4], |[h, d, l, f]| {
        boost::ripple(V(h), d, H(l), HZ(f)).si()
    });
    for current in [80.0, 5.0, -80.0] {
        each_missing("leg RMS", [current, 30.0], |[i, r]| boost::leg_rms(A(i), A(r)).si());
        each_missing("peak", [current, 30.0], |[i, r]| boost::peak(A(i), A(r)).si());
        each_missing("valley", [current, 30.0], |[i, r]| boost::valley(A(i), A(r)).si());
        each_missing("split", [current, 30.0], |[i, r]| {
            let split = boost::split(A(i), A(r));
            split.forward_rms().si() + split.backward_rms().si() + split.mean().si() + split.rms().si()
        });
        each_missing("switching currents", [current, 30.0], |[i, r]| {
            let edges = boost::switching_currents(A(i), A(r));
            (edges.lower_transistor.turn_off + edges.upper_transistor.turn_on).si()
        });
        each_missing("high-side ripple", [3.0, current, 0.4, 30.0], |[n, i, d, r]| {
            boost::high_side_ripple_rms(n, A(i), d, A(r)).si()
        });
        each_missing("input ripple", [3.0, current, 0.4, 30.0], |[n, i, d, r]| {
            buck::input_ripple_rms(n, A(i), d, A(r)).si()
        });
    }
    // Without switching there is nothing to switch, but what is missing is missing all the same.
    for duty in [0.0, 0.4, 1.0] {
        each_missing("low-side ripple", [3.0, duty, 30.0], |[n, d, r]| {
            boost::low_side_ripple_rms(n, d, A(r)).si()
        });
        each_missing("high-side ripple", [3.0, 80.0, duty, 0.0], |[n, i, d, r]| {
            boost::high_side_ripple_rms(n, A(i), d, A(r)).si()
        });
    }
    each_missing("buck duty", [48.0, 14.0, 80.0, 5e-3], |[h, l, i, r]| buck::duty(V(h), V(l), A(i), OHM(r)));
    each_missing("empty boost", [250.0, 600.0, 4.0, 1e-4, 2e4, 3.0], |[l, h, i, henry, f, n]| {
        let triangle = discontinuous::boost_at_current(V(l), V(h), A(i), H(henry), HZ(f));
        (triangle.rms() + triangle.leg_ripple_rms(n) + triangle.diode_ripple_rms(n)).si()
    });
    each_missing("empty buck", [600.0, 250.0, 4.0, 1e-4, 2e4, 3.0], |[h, l, i, henry, f, n]| {
        let triangle = discontinuous::buck_at_current(V(h), V(l), A(i), H(henry), HZ(f));
        (triangle.rms() + triangle.switch_ripple_rms(n)).si()
    });
}

#[test]
fn isolated_converters() {
    let stated = [400.0, 14.0, 180.0, 13.0, 8e-6, 1.5e-3, 2.5e-6, 1e5];
    for kind in [Rectifier::CentreTap, Rectifier::CurrentDoubler] {
        let solve = |[input, output, load, turns, leakage, magnetising, inductance, frequency]: [f64; 8]| {
            full_bridge::solve(
                kind,
                &FullBridge {
                    input: V(input),
                    output: V(output),
                    load: A(load),
                    turns,
                    leakage: H(leakage),
                    magnetising: H(magnetising),
                    output_inductance: H(inductance),
                    frequency: HZ(frequency),
                    switch_capacitance: None,
                },
            )
        };
        each_missing("full bridge primary", stated, |n| solve(n).primary_rms.si());
        each_missing("full bridge rectifier", stated, |n| solve(n).rectifier_rms.si());
        each_missing("full bridge input capacitor", stated, |n| solve(n).input_capacitor_rms.si());
        each_missing("full bridge phase shift", stated, |n| solve(n).phase_shift);
    }
    let stated = [300.0, 14.0, 120.0, 8.0, 2.5e-6, 1e-3, 2.2e-6, 1.5e5];
    let solve = |[input, output, load, turns, leakage, magnetising, inductance, frequency]: [f64; 8]| {
        forward::solve(&Forward {
            input: V(input),
            output: V(output),
            load: A(load),
            turns,
            leakage: H(leakage),
            magnetising: H(magnetising),
            output_inductance: H(inductance),
            frequency: HZ(frequency),
        })
    };
    each_missing("forward main", stated, |n| solve(n).main.rms().si());
    each_missing("forward clamp", stated, |n| solve(n).clamp.rms().si());
    each_missing("forward freewheel", stated, |n| solve(n).freewheel_rms.si());
    each_missing("forward duty", stated, |n| solve(n).duty);
}

#[test]
fn losses() {
    each_missing("rectifier", [1e-3, 2e-7, 10.0, 0.8, 6e-8, 90.0, 120.0, 1e5], |n| {
        let device = SynchronousRectifier {
            on_resistance: OHM(n[0]),
            gate_charge: Charge::new(n[1]),
            gate_voltage: V(n[2]),
            body_diode: V(n[3]),
            dead_time: Time::new(n[4]),
        };
        rectifier::synchronous(device, A(n[5]), A(n[6]), HZ(n[7])).total().si()
    });
    each_missing("loss line", [80.0, 1.2, 0.01, 5e4, 300.0, 0.05], |[a, b, c, p, v, r]| {
        let line = LossLine { constant: Power::new(a), linear: V(b), square: OHM(c) };
        let current = line.input_current(Power::new(p), V(v), OHM(r));
        current.si() + line.loss(current).si()
    });
    let core = |k, alpha, beta| Steinmetz { factor: k, frequency_exponent: alpha, flux_exponent: beta };
    each_missing("core loss", [0.4, 1.5, 2.6, 1e5, 0.2, 0.3], |[k, a, b, f, s, d]| {
        core(k, a, b).triangle(HZ(f), FluxDensity::new(s), d).si()
    });
    each_missing("core loss, flat tops", [0.4, 1.0, 2.0, 1e5, 0.2, 1.0], |[k, a, b, f, s, d]| {
        core(k, a, b).trapezoid(HZ(f), FluxDensity::new(s), d).si()
    });
    each_missing("core loss, sine", [0.4, 0.0, 0.0, 1e5, 0.2], |[k, a, b, f, s]| {
        core(k, a, b).sine(HZ(f), FluxDensity::new(s)).si()
    });
}

#[test]
fn flows_and_sources() {
    let passage =
        |k1, k2| Drop { linear: LinearFlowResistance::new(k1), square: SquareFlowResistance::new(k2) };
    for pressure in [0.0, 1e4] {
        each_missing("flow", [1e7, 1e11, pressure], |[k1, k2, p]| {
            passage(k1, k2).flow(Pressure::new(p)).si()
        });
    }
    each_missing("pressure", [1e7, 1e11, 1e-4], |[k1, k2, q]| {
        passage(k1, k2).pressure(VolumeFlow::new(q)).si()
    });
    each_missing("pump", [6e4, 3e7, 6e11, 5e7, 1e12], |[p0, a, b, k1, k2]| {
        let (a, b) = (LinearFlowResistance::new(a), SquareFlowResistance::new(b));
        let point = hydraulics::pump_point(Pressure::new(p0), a, b, passage(k1, k2));
        point.flow.si() + point.pressure.si()
    });
    for flow in [0.0, 1e-4] {
        each_missing("tree", [1e7, 1e11, 2e7, 2e11, flow], |[a, b, c, d, q]| {
            let tree = [Node::Element(passage(a, b)), Node::Element(passage(c, d)), Node::Parallel(2)];
            hydraulics::pressure_across(&tree, VolumeFlow::new(q)).si()
        });
    }
    each_missing("two points", [1e-4, 4e3, 2e-4, 13e3], |[q1, p1, q2, p2]| {
        let drop = Drop::from_two_points(
            (VolumeFlow::new(q1), Pressure::new(p1)),
            (VolumeFlow::new(q2), Pressure::new(p2)),
        );
        drop.linear.si() + drop.square.si()
    });
    each_missing("fuel cell", [0.0, 400.0, 300.0, 260.0, 120.0], |[i1, v1, i2, v2, i]| {
        fuel_cell::voltage(&[(A(i1), V(v1)), (A(i2), V(v2))], A(i)).si()
    });
}

#[test]
fn devices_and_machines() {
    each_missing("worst share", [4.0, 0.1], |[n, s]| sharing::worst_share(n, s));
    each_missing("derating", [4.0, 0.1], |[n, s]| sharing::derating(n, s));
    each_missing("minimum count", [520.0, 0.15, 120.0, 0.1], |[i, h, d, s]| {
        sharing::minimum_count(A(i), h, A(d), s)
    });
    each_missing("minimum count of one", [50.0, 0.15, 120.0, 0.1], |[i, h, d, s]| {
        sharing::minimum_count(A(i), h, A(d), s)
    });
    each_missing("three sigma", [0.1, 4.0], |[s, n]| sharing::three_sigma_spread(s, n));
    for inductance in [0.0, 1e-9] {
        each_missing("skew", [60.0, 0.3, 40e-9, inductance], |[g, v, t, l]| {
            let skew = sharing::skew(Transconductance::new(g), V(v), Time::new(t), H(l));
            skew.least.si() + skew.most.si()
        });
    }
    each_missing("energy skew", [18.0, 100.0, 0.3], |[d, i, w]| sharing::energy_skew(A(d), A(i), w));
    each_missing("hogging gain", [0.3, 0.05, 1.1, -2e-3, 3e-3], |[own, mutual, v, k, r]| {
        sharing::hogging_gain(ThermalResistance::new(own), ThermalResistance::new(mutual), V(v), V(k), OHM(r))
    });
    let stated = [0.1, 0.8, -1e-3, 2e-3, 1e-5, 50.0, 80.0, 160.0, 0.1, 0.05, 30.0, 65.0, 70.0, 15.0, 0.02];
    each_missing("corner", stated, |n| {
        let corner = Corner {
            low_edges: 1.0,
            beside: (Power::new(n[13]), LossSlope::new(n[14])),
            devices: 3,
            spread: n[0],
            line: OnStateLine {
                knee: V(n[1]),
                knee_per_kelvin: V(n[2]),
                slope: OHM(n[3]),
                slope_per_kelvin: OHM(n[4]),
            },
            mean: A(n[5]),
            rms: A(n[6]),
            crest: A(n[7]),
            to_case: ThermalResistance::new(n[8]),
            case_to_reference: ThermalResistance::new(n[9]),
            other_heat: Power::new(n[10]),
            low_reference: Temperature::celsius(n[11]),
            others_reference: Temperature::celsius(n[12]),
        };
        let point = sharing::corner(&corner, |factor| (Power::new(20.0 * factor), LossSlope::ZERO));
        point.factor + point.low_junction.in_celsius() + point.others_loss.si()
    });
    for speed in [0.0, 300.0, 900.0] {
        each_missing("machine", [4.0, 0.11, 0.012, 2e-4, 4.5e-4, 60.0, speed, 250.0], |n| {
            let machine = Machine {
                pole_pairs: n[0],
                flux_linkage: FluxLinkage::new(n[1]),
                resistance: OHM(n[2]),
                direct_inductance: H(n[3]),
                quadrature_inductance: H(n[4]),
            };
            let point = machine::solve(&machine, Torque::new(n[5]), AngularSpeed::new(n[6]), V(n[7]));
            point.current.si() + point.voltage.si() + point.power.si() + point.cos_phi + point.torque_share
        });
    }
}
