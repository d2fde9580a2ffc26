//! Any number at all may be written into a description: nothing may panic or search for ever, and nothing may
//! call itself reached or stable that is not a number.

use loadworthy_physics::converters::forward::{self, Forward};
use loadworthy_physics::converters::full_bridge::{self, FullBridge, Rectifier};
use loadworthy_physics::converters::loss_line::LossLine;
use loadworthy_physics::converters::{boost, discontinuous};
use loadworthy_physics::hydraulics::{self, Drop, Node};
use loadworthy_physics::machine::{self, Machine, Reached};
use loadworthy_physics::sharing::{self, Corner, OnStateLine, Stability, WarmDevice};
use loadworthy_physics::{
    AngularSpeed, Capacitance, Current, FluxLinkage, Frequency, Inductance, LinearFlowResistance, LossSlope,
    Power, Pressure, Resistance, SquareFlowResistance, Temperature, ThermalResistance, Torque, Voltage,
    VolumeFlow,
};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;
use crate::hostile_numbers::number;

proptest! {
    #![proptest_config(repeatable(2000))]

    #[test]
    fn converters(n in prop::array::uniform9(number())) {
        let stated = FullBridge {
            input: Voltage::new(n[0]),
            output: Voltage::new(n[1]),
            load: Current::new(n[2]),
            turns: n[3],
            leakage: Inductance::new(n[4]),
            magnetising: Inductance::new(n[5]),
            output_inductance: Inductance::new(n[6]),
            frequency: Frequency::new(n[7]),
            switch_capacitance: Some(Capacitance::new(n[8])),
        };
        for kind in [Rectifier::CentreTap, Rectifier::CurrentDoubler] {
            let point = full_bridge::solve(kind, &stated);
            prop_assert!(!point.reachable() || !point.phase_shift.is_nan());
            prop_assert!(point.primary_rms.si().is_nan() || point.primary_rms >= Current::ZERO);
            prop_assert!(!n[8].is_nan() || point.lagging.switches_softly().is_none());
        }
        let point = forward::solve(&Forward {
            input: stated.input,
            output: stated.output,
            load: stated.load,
            turns: stated.turns,
            leakage: stated.leakage,
            magnetising: stated.magnetising,
            output_inductance: stated.output_inductance,
            frequency: stated.frequency,
        });
        prop_assert!(!point.reachable() || !point.duty.is_nan());
        let (leg, ripple) = (Current::new(n[1]), Current::new(n[2]));
        for rms in [
            boost::low_side_ripple_rms(n[0], n[3], ripple),
            boost::high_side_ripple_rms(n[0], leg, n[3], ripple),
        ] {
            prop_assert!(rms.si().is_nan() || (0.0..=1.0).contains(&n[3]));
        }
        let triangle = discontinuous::boost_at_current(
            stated.input, stated.output, leg, stated.leakage, stated.frequency,
        );
        let rms = triangle.leg_ripple_rms(n[3]);
        prop_assert!(rms.si().is_nan() || !triangle.rise.is_nan());
        let line = LossLine {
            constant: Power::new(n[0]),
            linear: Voltage::new(n[1]),
            square: Resistance::new(n[2]),
        };
        let current = line.input_current(Power::new(n[3]), Voltage::new(n[4]), Resistance::new(n[5]));
        prop_assert!(current.si().is_nan() || !n[3].is_nan());
    }

    #[test]
    fn networks(
        drops in prop::collection::vec((number(), number(), 0..4_u8, 0..4_usize), 0..12), flow in number(),
    ) {
        let mut tree = Vec::new();
        for &(linear, square, kind, parts) in &drops {
            let drop = Drop {
                linear: LinearFlowResistance::new(linear),
                square: SquareFlowResistance::new(square),
            };
            tree.push(match kind {
                0 => Node::Series(parts),
                1 => Node::Parallel(parts),
                _ => Node::Element(drop),
            });
        }
        let elements: Vec<Drop> = tree
            .iter()
            .filter_map(|node| if let Node::Element(drop) = node { Some(*drop) } else { None })
            .collect();
        let mut flows = vec![VolumeFlow::ZERO; tree.len()];
        let across = hydraulics::distribute(&tree, VolumeFlow::new(flow), &mut flows);
        prop_assert!(across.si().is_nan() || hydraulics::check_tree(&tree));
        let through = hydraulics::flow_through(&tree, Pressure::new(flow));
        prop_assert!(through.si().is_nan() || hydraulics::check_tree(&tree));
        let mut flows = vec![VolumeFlow::ZERO; elements.len()];
        let across = hydraulics::split(&elements, VolumeFlow::new(flow), &mut flows);
        let unknown = elements.iter().any(|drop| drop.linear.si().is_nan() || drop.square.si().is_nan());
        prop_assert!(across.si().is_nan() || !(unknown || flow.is_nan()));
    }

    #[test]
    fn groups(n in prop::array::uniform16(number()), devices in 0..5_u32) {
        let line = OnStateLine {
            knee: Voltage::new(n[0]),
            knee_per_kelvin: Voltage::new(n[1]),
            slope: Resistance::new(n[2]),
            slope_per_kelvin: Resistance::new(n[3]),
        };
        let corner = Corner {
            low_edges: 1.0,
            beside: (Power::new(n[13]), LossSlope::new(n[15])),
            devices,
            spread: n[4],
            line,
            mean: Current::new(n[5]),
            rms: Current::new(n[6]),
            crest: Current::new(n[7]),
            to_case: ThermalResistance::new(n[8]),
            case_to_reference: ThermalResistance::new(n[9]),
            other_heat: Power::new(n[10]),
            low_reference: Temperature::celsius(n[11]),
            others_reference: Temperature::celsius(n[12]),
        };
        let switched = (Power::new(n[13]), LossSlope::new(n[14]));
        let point = sharing::corner(&corner, |_| switched);
        let figures = [point.factor, point.others_factor, point.low_junction.in_celsius(), point.voltage.si()];
        if point.stability == Stability::Stable {
            prop_assert!(figures.iter().all(|figure| figure.is_finite()), "{point:?} of {corner:?}");
            prop_assert!(point.hogging_gain < 1.0 && point.thermal_gain < 1.0);
        } else {
            prop_assert!(figures.iter().all(|figure| figure.is_nan()), "{point:?}");
        }
        let warm = [WarmDevice {
            line,
            path: ThermalResistance::new(n[8]),
            reference: Temperature::celsius(n[11]),
            other_heat: Power::new(n[10]),
        }; 2];
        let mut rest = [(Current::ZERO, Temperature::celsius(0.0)); 2];
        let voltage = sharing::warm_split(&warm, Current::new(n[15]), &mut rest);
        prop_assert!(voltage.si().is_nan() || !n[15].is_nan());
    }

    #[test]
    fn machines(n in prop::array::uniform8(number())) {
        let machine = Machine {
            pole_pairs: n[0],
            flux_linkage: FluxLinkage::new(n[1]),
            resistance: Resistance::new(n[2]),
            direct_inductance: Inductance::new(n[3]),
            quadrature_inductance: Inductance::new(n[4]),
        };
        let available = Voltage::new(n[7]);
        let point = machine::solve(&machine, Torque::new(n[5]), AngularSpeed::new(n[6]), available);
        match point.reached {
            Reached::MostTorquePerAmpere | Reached::FieldWeakened => {
                prop_assert!(point.voltage <= available, "{point:?}");
                prop_assert!((point.torque_share - 1.0).abs() < 1e-15);
            }
            Reached::OutOfReach => prop_assert!(point.torque_share < 1.0),
            Reached::NotJudged => prop_assert!(point.torque_share.is_nan() && point.current.si().is_nan()),
        }
    }
}
