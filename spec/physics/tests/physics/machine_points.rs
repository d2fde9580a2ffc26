//! Machine currents against energy, against the torque asked for and against sampled currents.

use loadworthy_physics::machine::{self, Machine, Reached, RotorCurrent};
use loadworthy_physics::{
    AngularSpeed, Current, FluxLinkage, Inductance, Power, Resistance, Torque, Voltage,
};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

fn machines() -> impl Strategy<Value = Machine> {
    (
        2..8_u8,
        0.03..0.3f64,
        2e-3..50e-3f64,
        0.08e-3..0.8e-3f64,
        prop::sample::select(vec![0.4, 0.8, 1.0, 1.5, 3.0]),
    )
        .prop_map(|(pairs, linked, resistance, direct, ratio)| Machine {
            pole_pairs: f64::from(pairs),
            flux_linkage: FluxLinkage::new(linked),
            resistance: Resistance::new(resistance),
            direct_inductance: Inductance::new(direct),
            quadrature_inductance: Inductance::new(direct * ratio),
        })
}

/// The quadrature current that makes a torque with a direct current, as long as the magnets prevail.
fn quadrature(machine: &Machine, torque: f64, direct: f64) -> Option<f64> {
    let saliency = machine.direct_inductance.si() - machine.quadrature_inductance.si();
    let linked = machine.flux_linkage.si() + saliency * direct;
    (linked > 0.0).then(|| torque / (1.5 * machine.pole_pairs * linked))
}

proptest! {
    #![proptest_config(repeatable(400))]

    #[test]
    fn a_point_is_the_best_of_its_torque(
        machine in machines(), per_ampere in -400.0..400.0f64, speed in -900.0..900.0f64, volts in 30.0..450.0f64,
    ) {
        // A torque that takes so many amperes of a round rotor.
        let asked = 1.5 * machine.pole_pairs * machine.flux_linkage.si() * per_ampere;
        let turning = AngularSpeed::new(speed);
        let point = machine::solve(&machine, Torque::new(asked), turning, Voltage::new(volts));
        prop_assert!(point.reached != Reached::NotJudged);

        let torque = machine.torque(point.rotor);
        prop_assert!((torque.si() - asked * point.torque_share).abs() <= 1e-9 * asked.abs());
        let copper = machine.resistance * (point.current * point.current) * 1.5;
        let balance: Power = point.power - torque * turning - copper;
        let scale = point.power.si().abs() + copper.si() + (torque * turning).si().abs();
        prop_assert!(balance.si().abs() <= 1e-9 * scale, "{balance} of {scale}");
        let apparent = 1.5 * point.voltage.si() * point.current.si();
        prop_assert!((apparent * point.cos_phi - point.power.si()).abs() <= 1e-9 * apparent);
        let electrical = machine.pole_pairs * speed.abs() / std::f64::consts::TAU;
        prop_assert!((point.frequency.si() - electrical).abs() < 1e-9);
        if point.torque_share > 0.0 {
            prop_assert!(point.voltage.si() <= volts * (1.0 + 1e-9));
        }

        // No sampled current does with less what this one does, and none reaches a torque out of reach.
        let span = 3.0 * (machine.flux_linkage / machine.direct_inductance).si() + 4.0 * per_ampere.abs();
        let easily = point.reached == Reached::MostTorquePerAmpere;
        for sample in 0..1000 {
            let direct = span * (f64::from(sample) / 500.0 - 1.0);
            let Some(other) = quadrature(&machine, asked, direct) else { continue };
            let rotor = RotorCurrent { direct: Current::new(direct), quadrature: Current::new(other) };
            if machine.voltage(rotor, turning).si() <= volts {
                prop_assert!(point.reached != Reached::OutOfReach, "{rotor:?} makes it");
                prop_assert!(point.current.si() <= rotor.crest().si() * (1.0 + 1e-9), "{rotor:?} is less");
            } else if easily {
                prop_assert!(point.current.si() <= rotor.crest().si() * (1.0 + 1e-9));
            }
        }
        if point.reached == Reached::FieldWeakened {
            prop_assert!(point.voltage.si() >= volts * (1.0 - 1e-6), "weakened without need");
        }
    }

    #[test]
    fn the_share_out_of_reach_is_the_largest(
        machine in machines(), amperes in 300.0..3000.0f64, speed in 200.0..900.0f64, volts in 30.0..300.0f64,
        generating: bool,
    ) {
        let sign = if generating { -1.0 } else { 1.0 };
        let asked = sign * 1.5 * machine.pole_pairs * machine.flux_linkage.si() * amperes;
        let (turning, available) = (AngularSpeed::new(speed), Voltage::new(volts));
        let point = machine::solve(&machine, Torque::new(asked), turning, available);
        if point.reached == Reached::OutOfReach && point.torque_share > 0.0 {
            let slightly = |factor: f64| {
                let torque = Torque::new(asked * point.torque_share * factor);
                machine::solve(&machine, torque, turning, available).reached
            };
            prop_assert_eq!(slightly(1.0001), Reached::OutOfReach);
            prop_assert!(slightly(0.999) != Reached::OutOfReach);
            // On the whole plane no current within the voltage makes more.
            for sample in 0..1000 {
                let (angle, share) = (f64::from(sample % 50) / 50.0, f64::from(sample / 50) / 20.0);
                let crest = share * 4.0 * amperes;
                let (sin, cos) = libm::sincos(std::f64::consts::TAU * angle);
                let rotor = RotorCurrent { direct: Current::new(crest * cos), quadrature: Current::new(crest * sin) };
                let torque = machine.torque(rotor).si() * sign;
                let best = asked.abs() * point.torque_share;
                prop_assert!(
                    machine.voltage(rotor, turning) > available || torque <= best * (1.0 + 1e-6),
                    "{rotor:?} makes {torque} of {best}"
                );
            }
        }
    }
}

#[test]
fn field_weakening_follows_the_voltage_circle() {
    // A lossless round rotor: (L·i_d + ψ)² + (L·i_q)² = (V/ω)².
    let machine = Machine {
        pole_pairs: 4.0,
        flux_linkage: FluxLinkage::new(0.1),
        resistance: Resistance::ZERO,
        direct_inductance: Inductance::new(0.3e-3),
        quadrature_inductance: Inductance::new(0.3e-3),
    };
    let (torque, speed, volts) = (90.0, 800.0, 250.0);
    let point = machine::solve(&machine, Torque::new(torque), AngularSpeed::new(speed), Voltage::new(volts));
    assert_eq!(point.reached, Reached::FieldWeakened);
    let across = torque / (1.5 * 4.0 * 0.1);
    let linked = volts / (speed * 4.0);
    let along = ((linked * linked - (0.3e-3 * across) * (0.3e-3 * across)).sqrt() - 0.1) / 0.3e-3;
    assert!((point.rotor.direct.si() - along).abs() < 1e-6 * along.abs());
    assert!((point.rotor.quadrature.si() - across).abs() < 1e-9);
}
