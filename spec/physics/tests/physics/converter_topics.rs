//! How each topic of the converter reference cases is computed with this crate.

use loadworthy_physics::converters::forward::{self, Forward};
use loadworthy_physics::converters::full_bridge::{self, FullBridge, FullBridgePoint, Rectifier};
use loadworthy_physics::converters::loss_line::LossLine;
use loadworthy_physics::converters::rectifier::{self, SynchronousRectifier};
use loadworthy_physics::converters::{boost, buck, discontinuous};
use loadworthy_physics::core_loss::Steinmetz;
use loadworthy_physics::{
    Charge, Current, FluxDensity, Frequency, Inductance, Power, Resistance, Time, Voltage,
};

use crate::reference_cases::{Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("boost_interleaved", interleaved_boost),
    ("boost_resistive", interleaved_boost),
    ("boost_discontinuous", discontinuous_boost),
    ("buck_interleaved", interleaved_buck),
    ("active_clamp_forward", active_clamp_forward),
    ("phase_shifted_full_bridge", phase_shifted_full_bridge),
    ("diode_vs_synchronous", diode_vs_synchronous),
    ("core_loss_igse", core_loss),
    ("power_chain", power_chain),
];

fn volts(case: &Inputs, key: &str) -> Voltage {
    Voltage::new(case.number(key))
}

fn henries(case: &Inputs, key: &str) -> Inductance {
    Inductance::new(case.number(key))
}

fn frequency(case: &Inputs) -> Frequency {
    Frequency::new(case.number("switching_frequency_Hz"))
}

fn interleaved_boost(case: &Inputs) -> Figures {
    let (low, high) = (volts(case, "low_side_voltage_V"), volts(case, "link_voltage_V"));
    let legs = case.number("legs_1");
    let leg = Current::new(case.number("low_side_current_A")) / legs;
    let resistance = Resistance::new(case.number_if_stated("leg_resistance_ohm").unwrap_or(0.0));
    let duty = boost::duty(low, high, leg, resistance);
    let ripple = boost::ripple(high, duty, henries(case, "leg_inductance_H"), frequency(case));
    let rms = boost::leg_rms(leg, ripple);
    let lower = boost::split(leg, ripple) * duty;
    let upper = (boost::split(leg, ripple) * (1.0 - duty)).reversed();
    numbers([
        ("lower_switch_duty_1", duty),
        ("leg_current_avg_A", leg.si()),
        ("leg_current_rms_A", rms.si()),
        ("leg_current_peak_A", boost::peak(leg, ripple).si()),
        ("leg_ripple_pp_A", ripple.si()),
        ("lower_position_current_rms_A", boost::position_rms(duty, rms).si()),
        ("upper_position_current_rms_A", boost::position_rms(1.0 - duty, rms).si()),
        ("low_side_capacitor_rms_A", boost::low_side_ripple_rms(legs, duty, ripple).si()),
        ("link_capacitor_rms_A", boost::high_side_ripple_rms(legs, leg, duty, ripple).si()),
        ("lower_transistor_current_avg_A", lower.forward_mean.si()),
        ("lower_transistor_current_rms_A", lower.forward_rms().si()),
        ("lower_diode_current_avg_A", lower.backward_mean.si()),
        ("lower_diode_current_rms_A", lower.backward_rms().si()),
        ("upper_transistor_current_avg_A", upper.forward_mean.si()),
        ("upper_transistor_current_rms_A", upper.forward_rms().si()),
        ("upper_diode_current_avg_A", upper.backward_mean.si()),
        ("upper_diode_current_rms_A", upper.backward_rms().si()),
    ])
}

fn discontinuous_boost(case: &Inputs) -> Figures {
    assert_eq!(case.text("rectifier_kind"), "diode");
    let (low, high) = (volts(case, "low_side_voltage_V"), volts(case, "link_voltage_V"));
    let (inductance, frequency) = (henries(case, "leg_inductance_H"), frequency(case));
    let triangle =
        discontinuous::boost_at_duty(low, high, case.number("lower_switch_duty_1"), inductance, frequency);
    assert!(triangle.runs_empty());
    let by_current = discontinuous::boost_at_current(low, high, triangle.mean(), inductance, frequency);
    assert!((by_current.rise - triangle.rise).abs() < 1e-12);
    numbers([
        ("leg_current_peak_A", triangle.peak.si()),
        ("low_side_current_avg_A", triangle.mean().si()),
        ("link_current_avg_A", triangle.diode_mean().si()),
        ("leg_current_rms_A", triangle.rms().si()),
        ("transistor_current_rms_A", triangle.switch_rms().si()),
        ("diode_current_rms_A", triangle.diode_rms().si()),
        ("continuous_conduction_limit_duty_1", boost::duty(low, high, Current::ZERO, Resistance::ZERO)),
    ])
}

fn interleaved_buck(case: &Inputs) -> Figures {
    let (input, output) = (volts(case, "input_voltage_V"), volts(case, "output_voltage_V"));
    let phases = case.number("phases_1");
    let phase = Current::new(case.number("output_current_A")) / phases;
    let duty = buck::duty(input, output, phase, Resistance::ZERO);
    let ripple = buck::ripple(input, duty, henries(case, "leg_inductance_H"), frequency(case));
    let rms = buck::phase_rms(phase, ripple);
    numbers([
        ("high_side_duty_1", duty),
        ("leg_ripple_pp_A", ripple.si()),
        ("leg_current_rms_A", rms.si()),
        ("high_side_current_rms_A", boost::position_rms(duty, rms).si()),
        ("low_side_current_rms_A", boost::position_rms(1.0 - duty, rms).si()),
        ("input_capacitor_rms_A", buck::input_ripple_rms(phases, phase, duty, ripple).si()),
        ("output_capacitor_rms_A", buck::output_ripple_rms(phases, duty, ripple).si()),
    ])
}

fn active_clamp_forward(case: &Inputs) -> Figures {
    let point = forward::solve(&Forward {
        input: volts(case, "input_voltage_V"),
        output: volts(case, "output_voltage_V"),
        load: Current::new(case.number("output_current_A")),
        turns: case.number("turns_ratio_np_ns_1"),
        leakage: henries(case, "leakage_inductance_primary_H"),
        magnetising: henries(case, "magnetising_inductance_H"),
        output_inductance: henries(case, "output_inductance_H"),
        frequency: frequency(case),
    });
    assert!(point.reachable());
    numbers([
        ("main_duty_1", point.duty),
        ("main_switch_voltage_V", point.switch_voltage.si()),
        ("clamp_capacitor_voltage_highside_V", point.clamp_voltage.si()),
        ("forward_rectifier_voltage_V", point.forward_voltage.si()),
        ("freewheel_rectifier_voltage_V", point.freewheel_voltage.si()),
        ("magnetising_current_avg_A", point.magnetising_mean.si()),
        ("magnetising_ripple_pp_A", point.magnetising_ripple.si()),
        ("output_inductor_ripple_pp_A", point.inductor_ripple.si()),
        ("main_switch_current_rms_A", point.main.rms().si()),
        ("main_switch_current_peak_A", point.main_peak.si()),
        ("clamp_switch_current_rms_A", point.clamp.rms().si()),
        ("forward_rectifier_current_rms_A", point.forward_rms.si()),
        ("freewheel_rectifier_current_rms_A", point.freewheel_rms.si()),
        ("output_inductor_current_rms_A", point.inductor_rms.si()),
        ("input_capacitor_rms_A", point.input_capacitor_rms.si()),
        ("output_capacitor_rms_A", point.output_capacitor_rms.si()),
    ])
}

fn full_bridge_of(case: &Inputs) -> FullBridgePoint {
    let kind = match case.text("rectifier_kind") {
        "centre_tap" => Rectifier::CentreTap,
        "current_doubler" => Rectifier::CurrentDoubler,
        other => panic!("unknown rectifier `{other}`"),
    };
    full_bridge::solve(
        kind,
        &FullBridge {
            input: volts(case, "input_voltage_V"),
            output: volts(case, "output_voltage_V"),
            load: Current::new(case.number("output_current_A")),
            turns: case.number("turns_ratio_np_ns_1"),
            leakage: henries(case, "leakage_inductance_primary_H"),
            magnetising: henries(case, "magnetising_inductance_H"),
            output_inductance: henries(case, "output_inductance_H"),
            frequency: frequency(case),
            switch_capacitance: None,
        },
    )
}

fn phase_shifted_full_bridge(case: &Inputs) -> Figures {
    let point = full_bridge_of(case);
    numbers([
        ("phase_shift_duty_1", point.phase_shift),
        ("effective_duty_1", point.effective_duty),
        ("primary_current_rms_A", point.primary_rms.si()),
        ("primary_current_peak_A", point.primary_peak.si()),
        ("primary_switch_current_rms_A", point.switch_rms.si()),
        ("rectifier_current_avg_A", point.rectifier_mean.si()),
        ("rectifier_current_rms_A", point.rectifier_rms.si()),
        ("inductor_ripple_pp_A", point.inductor_ripple.si()),
        ("inductor_current_rms_A", point.inductor_rms.si()),
        ("output_capacitor_rms_A", point.output_capacitor_rms.si()),
        ("rectifier_voltage_V", point.rectifier_voltage.si()),
    ])
}

fn diode_vs_synchronous(case: &Inputs) -> Figures {
    let point = full_bridge_of(case);
    let knee = volts(case, "diode_v0_V");
    let slope = Resistance::new(case.number("diode_r_ohm"));
    let by_diode = rectifier::diode(knee, slope, point.rectifier_mean, point.rectifier_rms);
    let device = SynchronousRectifier {
        on_resistance: Resistance::new(case.number("sync_on_resistance_ohm")),
        gate_charge: Charge::new(case.number("sync_gate_charge_C")),
        gate_voltage: volts(case, "sync_gate_voltage_V"),
        body_diode: knee,
        dead_time: Time::new(case.number("sync_dead_time_s")),
    };
    let load = Current::new(case.number("output_current_A"));
    let by_switch = rectifier::synchronous(device, point.rectifier_rms, load, frequency(case));
    numbers([
        ("diode_rectifier_loss_total_W", 2.0 * by_diode.si()),
        ("sync_rectifier_loss_total_W", 2.0 * by_switch.total().si()),
    ])
}

fn core_loss(case: &Inputs) -> Figures {
    let core = Steinmetz {
        factor: case.number("steinmetz_k_SI"),
        frequency_exponent: case.number("steinmetz_alpha_1"),
        flux_exponent: case.number("steinmetz_beta_1"),
    };
    let frequency = Frequency::new(case.number("frequency_Hz"));
    let swing = FluxDensity::new(case.number("flux_density_pp_T"));
    let duty = case.number("duty_1");
    let loss = match case.text("waveform_kind") {
        "triangle" => core.triangle(frequency, swing, duty),
        "trapezoid" => core.trapezoid(frequency, swing, duty),
        other => panic!("unknown waveform `{other}`"),
    };
    numbers([
        ("core_loss_density_Wperm3", loss.si()),
        ("sine_steinmetz_density_Wperm3", core.sine(frequency, swing * 0.5).si()),
    ])
}

fn power_chain(case: &Inputs) -> Figures {
    let stage = |name: &str| LossLine {
        constant: Power::new(case.number(&format!("{name}_loss_const_W"))),
        linear: volts(case, &format!("{name}_loss_per_input_current_V")),
        square: Resistance::new(case.number(&format!("{name}_loss_quadratic_ohm"))),
    };
    let (boost, inverter) = (stage("boost"), stage("inverter"));
    let (open, link) = (volts(case, "source_open_circuit_voltage_V"), volts(case, "boost_link_voltage_V"));
    let inside = Resistance::new(case.number("source_resistance_ohm") + case.number("cable_resistance_ohm"));
    let load = Power::new(case.number("load_power_W"));
    let on_link = inverter.input_current(load, link, Resistance::ZERO) * link;
    let source = boost.input_current(on_link, open, inside);
    let found = f64::from(u8::from(!source.si().is_nan()));
    let given = open * source;
    numbers([
        ("converged_1", found),
        ("source_current_A", source.si()),
        ("source_power_W", given.si()),
        ("converter_input_voltage_V", (open - source * inside).si()),
        ("total_loss_W", (given - load).si()),
    ])
}
