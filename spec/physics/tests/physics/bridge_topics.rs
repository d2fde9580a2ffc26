//! How each topic of the bridge reference cases is computed with this crate.

use std::f64::consts::SQRT_2;

use loadworthy_physics::converters::boost;
use loadworthy_physics::link_voltage::{Across, BridgePulses};
use loadworthy_physics::modulation::{self, SIX_STEP_LIMIT};
use loadworthy_physics::stall::{self, Leg};
use loadworthy_physics::{
    Capacitance, Current, Energy, Frequency, Inductance, Modulation, Power, Resistance, Temperature,
    ThermalResistance, Time, Voltage, bridge_currents, capacitor_bank, junction_ripple, link_ripple,
    on_state, phase_current, phase_ripple, pole_voltage, switching,
};

use crate::reference_cases::{Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("inverter_voltage_limit", inverter_voltage_limit),
    ("inverter_currents_igbt_diode", inverter_currents_igbt_diode),
    ("inverter_operating_point", inverter_operating_point),
    ("inverter_currents_mosfet", inverter_currents_mosfet),
    ("inverter_losses", inverter_losses),
    ("inverter_stall", inverter_stall),
    ("inverter_phase_ripple", inverter_phase_ripple),
    ("junction_ripple_low_frequency", junction_ripple_low_frequency),
    ("link_capacitor_multi_stage", link_capacitor_multi_stage),
    ("link_voltage_ripple", link_voltage_ripple),
    ("capacitor_hot_spot", capacitor_hot_spot),
];

fn flag(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

fn modulation_of(case: &Inputs) -> Modulation {
    match case.text("modulation_kind") {
        "sinusoidal" => Modulation::Sinusoidal,
        "third_harmonic_one_sixth" => Modulation::ThirdHarmonic,
        "space_vector" => Modulation::SpaceVector,
        other => panic!("unknown modulation `{other}`"),
    }
}

fn inverter_voltage_limit(case: &Inputs) -> Figures {
    let dc = Voltage::new(case.number("dc_link_voltage_V"));
    if let Some(m) = case.number_if_stated("modulation_index_1") {
        return numbers([("line_voltage_rms_V", modulation::line_voltage(m, dc).si())]);
    }
    let line = Voltage::new(case.number("line_voltage_rms_V"));
    let m = modulation::modulation_index(line, dc);
    let space_vector = Modulation::SpaceVector.linear_limit();
    numbers([
        ("modulation_index_1", m),
        ("sinusoidal_linear_ok_1", flag(m <= Modulation::Sinusoidal.linear_limit())),
        ("space_vector_linear_ok_1", flag(m <= space_vector)),
        ("six_step_reachable_1", flag(m <= SIX_STEP_LIMIT)),
        ("min_dc_link_voltage_space_vector_V", modulation::least_dc_voltage(line, space_vector).si()),
        ("max_line_voltage_rms_space_vector_V", modulation::line_voltage(space_vector, dc).si()),
    ])
}

fn inverter_currents_igbt_diode(case: &Inputs) -> Figures {
    let dc = Voltage::new(case.number("dc_link_voltage_V"));
    let line = Voltage::new(case.number("line_voltage_rms_V"));
    let rms = Current::new(case.number("phase_current_rms_A"));
    let (cos_phi, kind) = (case.number("power_factor_1"), modulation_of(case));
    let (m, peak) = (modulation::modulation_index(line, dc), rms * SQRT_2);
    numbers([
        ("modulation_index_1", m),
        ("active_power_W", phase_current::active_power(line, rms, cos_phi).si()),
        ("dc_link_current_avg_A", phase_current::dc_current(m, peak, cos_phi).si()),
        ("transistor_current_avg_A", bridge_currents::transistor_average(peak, m, cos_phi).si()),
        ("transistor_current_rms_A", bridge_currents::transistor_rms(peak, m, cos_phi, kind).si()),
        ("diode_current_avg_A", bridge_currents::diode_average(peak, m, cos_phi).si()),
        ("diode_current_rms_A", bridge_currents::diode_rms(peak, m, cos_phi, kind).si()),
        ("capacitor_ripple_rms_A", link_ripple::capacitor_rms(rms, m, cos_phi).si()),
    ])
}

fn inverter_operating_point(case: &Inputs) -> Figures {
    let dc = Voltage::new(case.number("dc_link_voltage_V"));
    let line = Voltage::new(case.number("line_voltage_rms_V"));
    let cos_phi = case.number("power_factor_1");
    let rms = phase_current::phase_current(Power::new(case.number("active_power_W")), line, cos_phi);
    let (m, peak) = (modulation::modulation_index(line, dc), rms * SQRT_2);
    numbers([
        ("modulation_index_1", m),
        ("phase_current_rms_A", rms.si()),
        ("phase_current_peak_A", peak.si()),
        ("dc_link_current_avg_A", phase_current::dc_current(m, peak, cos_phi).si()),
        ("reactive_power_abs_var", phase_current::reactive_power_abs(line, rms, cos_phi).si()),
    ])
}

fn inverter_currents_mosfet(case: &Inputs) -> Figures {
    let dc = Voltage::new(case.number("dc_link_voltage_V"));
    let peak = Current::new(case.number("phase_current_peak_A"));
    let dead_time = Time::new(case.number("dead_time_s"));
    let carrier = Frequency::new(case.number("switching_frequency_Hz"));
    let (m, cos_phi) = (case.number("commanded_modulation_index_1"), case.number("power_factor_1"));
    let drop = pole_voltage::dead_time_drop(dc, dead_time, carrier);
    numbers([
        ("channel_current_rms_A", bridge_currents::channel_rms(peak, dead_time, carrier).si()),
        ("body_diode_current_avg_A", bridge_currents::body_diode_average(peak, dead_time, carrier).si()),
        ("body_diode_current_rms_A", bridge_currents::body_diode_rms(peak, dead_time, carrier).si()),
        ("phase_voltage_peak_V", pole_voltage::delivered_phase_voltage(m, dc, drop, cos_phi).si()),
    ])
}

/// One device's on-state line at the case's junction temperature.
fn line_at_junction(case: &Inputs, device: &str) -> (Voltage, Resistance) {
    let (cold, hot) = (Temperature::celsius(25.0), Temperature::celsius(150.0));
    let junction = Temperature::celsius(case.number("junction_temperature_degC"));
    let knee = |at: &str| Voltage::new(case.number(&format!("{device}_v0_{at}_V")));
    let slope = |at: &str| Resistance::new(case.number(&format!("{device}_r_{at}_ohm")));
    (
        on_state::at_temperature(knee("25C"), cold, knee("150C"), hot, junction),
        on_state::at_temperature(slope("25C"), cold, slope("150C"), hot, junction),
    )
}

/// One device's switching loss: an energy at 150 °C, stretched to the case's current, voltage and junction.
fn switching_loss(case: &Inputs, device: &str, at_150: f64) -> Power {
    let exponent = |of: &str| case.number(&format!("{device}_{of}_exponent_1"));
    let average = switching::power_law_average(
        Energy::new(at_150),
        Current::new(case.number("energy_reference_current_A")),
        Current::new(case.number("phase_current_peak_A")),
        exponent("current"),
    );
    let by_voltage = switching::scale_voltage(
        Voltage::new(case.number("dc_link_voltage_V")),
        Voltage::new(case.number("energy_reference_voltage_V")),
        exponent("voltage"),
    );
    let by_temperature = switching::scale_temperature(
        Temperature::celsius(case.number("junction_temperature_degC")),
        Temperature::celsius(150.0),
        case.number(&format!("{device}_energy_temp_coeff_perK")),
    );
    switching::loss(
        average * by_voltage * by_temperature,
        Frequency::new(case.number("switching_frequency_Hz")),
    )
}

fn inverter_losses(case: &Inputs) -> Figures {
    let (m, cos_phi, kind) =
        (case.number("modulation_index_1"), case.number("power_factor_1"), modulation_of(case));
    let peak = Current::new(case.number("phase_current_peak_A"));
    let (knee, slope) = line_at_junction(case, "transistor");
    let transistor = on_state::conduction_loss(
        knee,
        slope,
        bridge_currents::transistor_average(peak, m, cos_phi),
        bridge_currents::transistor_rms(peak, m, cos_phi, kind),
    );
    let (knee, slope) = line_at_junction(case, "diode");
    let diode = on_state::conduction_loss(
        knee,
        slope,
        bridge_currents::diode_average(peak, m, cos_phi),
        bridge_currents::diode_rms(peak, m, cos_phi, kind),
    );
    let switched =
        switching_loss(case, "transistor", case.number("e_on_150C_J") + case.number("e_off_150C_J"));
    let recovered = switching_loss(case, "diode", case.number("e_rr_150C_J"));
    numbers([
        ("transistor_conduction_loss_W", transistor.si()),
        ("diode_conduction_loss_W", diode.si()),
        ("transistor_switching_loss_W", switched.si()),
        ("diode_recovery_loss_W", recovered.si()),
        ("total_bridge_loss_W", ((transistor + diode + switched + recovered) * 6.0).si()),
    ])
}

fn inverter_stall(case: &Inputs) -> Figures {
    // The closed form knows the crest only; a case at another angle would need more.
    assert!(case.number("electrical_angle_rad").abs() < 1e-12 && case.number("power_factor_1") > 0.999_999);
    let (m, kind) = (case.number("modulation_index_1"), modulation_of(case));
    let peak = Current::new(case.number("phase_current_peak_A"));
    let carrier = Frequency::new(case.number("switching_frequency_Hz"));
    let reference = Current::new(case.number("energy_reference_current_A"));
    let (knee, slope) =
        (Voltage::new(case.number("transistor_v0_V")), Resistance::new(case.number("transistor_r_ohm")));
    let (diode_knee, diode_slope) =
        (Voltage::new(case.number("diode_v0_V")), Resistance::new(case.number("diode_r_ohm")));
    let event = Energy::new(case.number("e_on_J") + case.number("e_off_J"));
    let recovery = Energy::new(case.number("e_rr_J"));

    let share = stall::transistor_share(m, kind.frozen_zero_sequence(m), Leg::Crest);
    let current = Leg::Crest.current(peak);
    let of = |share| (stall::share_average(share, current), stall::share_rms(share, current));
    let ((average, rms), (diode_average, diode_rms)) = (of(share), of(1.0 - share));
    let exponent = case.number("diode_current_exponent_1");
    let transistor = on_state::conduction_loss(knee, slope, average, rms)
        + switching::loss(switching::power_law_at(event, reference, current, 1.0), carrier);
    let diode = on_state::conduction_loss(diode_knee, diode_slope, diode_average, diode_rms)
        + switching::loss(switching::power_law_at(recovery, reference, current, exponent), carrier);
    let rotating = on_state::conduction_loss(
        knee,
        slope,
        bridge_currents::transistor_average(peak, m, 1.0),
        bridge_currents::transistor_rms(peak, m, 1.0, kind),
    ) + switching::loss(switching::power_law_average(event, reference, peak, 1.0), carrier);
    numbers([
        ("phase_a_current_A", current.si()),
        ("transistor_current_avg_A", average.si()),
        ("transistor_current_rms_A", rms.si()),
        ("diode_current_avg_A", diode_average.si()),
        ("transistor_loss_W", transistor.si()),
        ("diode_loss_W", diode.si()),
        ("transistor_loss_rotating_average_W", rotating.si()),
    ])
}

fn inverter_phase_ripple(case: &Inputs) -> Figures {
    let (m, cos_phi, kind) =
        (case.number("modulation_index_1"), case.number("power_factor_1"), modulation_of(case));
    let peak = Current::new(case.number("phase_current_peak_A"));
    let rms = peak / SQRT_2;
    let ripple = phase_ripple::ripple_rms(
        Voltage::new(case.number("dc_link_voltage_V")),
        Inductance::new(case.number("phase_inductance_H")),
        Frequency::new(case.number("switching_frequency_Hz")),
        m,
        kind,
    );
    let transistor = bridge_currents::transistor_rms(peak, m, cos_phi, kind);
    let capacitor = link_ripple::capacitor_rms(rms, m, cos_phi);
    numbers([
        ("phase_ripple_current_rms_A", ripple.si()),
        ("transistor_current_rms_A", (transistor * bridge_currents::ripple_factor(ripple, rms)).si()),
        ("capacitor_ripple_rms_A", link_ripple::with_phase_ripple(capacitor, m, ripple).si()),
    ])
}

fn junction_ripple_low_frequency(case: &Inputs) -> Figures {
    let network = [(
        ThermalResistance::new(case.number("thermal_resistance_KperW")),
        Time::new(case.number("thermal_time_constant_s")),
    )];
    let average = Power::new(case.number("average_loss_W"));
    let output = Frequency::new(case.number("output_frequency_Hz"));
    numbers([
        ("peak_temperature_rise_K", junction_ripple::peak_rise(average, &network, output).si()),
        ("average_temperature_rise_K", junction_ripple::mean_rise(average, &network).si()),
    ])
}

fn link_capacitor_multi_stage(case: &Inputs) -> Figures {
    let bridge = |which: &str| {
        let of = |key: &str| case.number(&format!("{which}_{key}"));
        let rms = Current::new(of("phase_current_rms_A"));
        link_ripple::capacitor_rms(rms, of("modulation_index_1"), of("power_factor_1")).si()
    };
    let (one, other) = (bridge("inverter1"), bridge("inverter2"));
    let boost = case.number_if_stated("boost_legs_1").map_or(0.0, |legs| {
        let of = |key: &str| case.number(&format!("boost_{key}"));
        let leg = Current::new(of("low_side_current_A") / legs);
        let high = Voltage::new(of("link_voltage_V"));
        let duty = boost::duty(Voltage::new(of("low_side_voltage_V")), high, leg, Resistance::new(0.0));
        let inductance = Inductance::new(of("leg_inductance_H"));
        let ripple = boost::ripple(high, duty, inductance, Frequency::new(of("switching_frequency_Hz")));
        boost::high_side_ripple_rms(legs, leg, duty, ripple).si()
    });
    numbers([
        ("inverter1_ripple_rms_A", one),
        ("inverter2_ripple_rms_A", other),
        ("boost_ripple_rms_A", boost),
        ("capacitor_ripple_rms_A", (one * one + other * other + boost * boost).sqrt()),
        ("capacitor_ripple_rms_correlated_worst_A", one + other + boost),
    ])
}

fn link_voltage_ripple(case: &Inputs) -> Figures {
    let farads = Capacitance::new(case.number("link_capacitance_F"));
    let across = Across::in_series(farads, Resistance::ZERO);
    let (index, cos_phi) = (case.number("modulation_index_1"), case.number("power_factor_1"));
    let mut pulses = BridgePulses::default();
    pulses.take(index, cos_phi, modulation_of(case), core::slice::from_ref(&across));
    let peak = Current::new(case.number("phase_current_peak_A"));
    let volts = pulses.ripple(peak, &across, Frequency::new(case.number("switching_frequency_Hz")));
    numbers([("link_voltage_ripple_pp_V", volts.si())])
}

fn capacitor_hot_spot(case: &Inputs) -> Figures {
    let amps = Current::new(case.number("capacitor_ripple_rms_A"));
    let loss = capacitor_bank::loss(Resistance::new(case.number("esr_ohm")), amps);
    let warms = ThermalResistance::new(case.number("thermal_resistance_hotspot_ambient_KperW"));
    let air = Temperature::celsius(case.number("ambient_temperature_degC"));
    numbers([
        ("esr_loss_W", loss.si()),
        ("hot_spot_temperature_degC", capacitor_bank::hot_spot(air, warms, loss).in_celsius()),
    ])
}
