//! How each topic of the reference cases on conductors, fuses and turn-off is computed with this crate.

use loadworthy_physics::conductors::copper::{growth, section_resistance, skin_depth};
use loadworthy_physics::conductors::free_air::{Air, Bar, Position, leaving, settled};
use loadworthy_physics::conductors::{cable, foil, skin};
use loadworthy_physics::{
    Area, Capacitance, Current, Frequency, Inductance, Length, Resistance, Temperature,
    TemperatureDifference, Time, Voltage, fuse, turn_off,
};

use crate::reference_cases::{Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("skin_effect", skin_effect),
    ("busbar_temperature", busbar_temperature),
    ("printed_foil", printed_foil),
    ("fuse_capacitor_energy", fuse_capacitor_energy),
    ("fuse_short_circuit", fuse_short_circuit),
    ("cable_resistance", cable_resistance),
    ("cable_short_circuit", cable_short_circuit),
    ("turn_off_overshoot", turn_off_overshoot),
];

fn skin_effect(case: &Inputs) -> Figures {
    let copper = Temperature::celsius(case.number("copper_temperature_degC"));
    let depth = skin_depth(Frequency::new(case.number("frequency_Hz")), copper);
    let diameter = Length::new(case.number_if_stated("wire_diameter_m").unwrap_or(f64::NAN));
    numbers([("skin_depth_m", depth.si()), ("round_wire_ac_dc_ratio_1", skin::round(diameter, depth))])
}

fn busbar_temperature(case: &Inputs) -> Figures {
    let air = Temperature::celsius(case.number("ambient_temperature_degC"));
    let (width, thickness) = (case.number("bar_width_m"), case.number("bar_thickness_m"));
    let position = match case.text("orientation_kind") {
        "on_edge" => Position::OnEdge,
        _ => Position::Flat,
    };
    let bar = Bar {
        width: Length::new(width),
        thickness: Length::new(thickness),
        length: Length::new(1.0),
        position,
        emissivity: case.number("emissivity_1"),
    };
    let amps = Current::new(case.number("current_A"));
    let more = case.number_if_stated("skin_ratio_1").unwrap_or(1.0)
        / case.number_if_stated("conductivity_fraction_iacs_1").unwrap_or(1.0);
    let section = Area::new(width * thickness);
    let cold = section_resistance(section, bar.length, Temperature::celsius(20.0));
    let into = |copper: Temperature| amps * amps * cold * (more * growth(copper));
    let still = Air { temperature: air, pressure_share: 1.0 };
    let copper = settled(air, into, |copper| leaving(&bar, &still, copper));
    numbers([
        ("bar_temperature_rise_K", (copper - air).si()),
        ("current_density_Aperm2", amps.si() / section.si()),
        ("loss_per_length_Wperm", into(copper).si()),
    ])
}

fn printed_foil(case: &Inputs) -> Figures {
    let amps = Current::new(case.number("current_A"));
    let rise = TemperatureDifference::new(case.number("temperature_rise_K"));
    let is_outer = case.text("layer_kind") == "external";
    let thickness = Length::new(case.number("foil_thickness_m"));
    let width = foil::area(amps, rise, is_outer).si() / thickness.si();
    let available = Length::new(case.number("available_width_m"));
    let here = foil::rise(amps, available, thickness, is_outer);
    let is_known = amps.si() <= foil::MOST_CURRENT.si() && width <= foil::MOST_WIDTH.si();
    numbers([
        ("required_width_m", width),
        ("foil_sufficient_1", f64::from(u8::from(here.si() <= rise.si()))),
        ("inside_formula_range_1", f64::from(u8::from(is_known))),
    ])
}

fn fuse_capacitor_energy(case: &Inputs) -> Figures {
    let (farads, volts) = (case.number("capacitance_F"), case.number("capacitor_voltage_V"));
    let (ohms, henries) = (case.number("loop_resistance_ohm"), case.number("loop_inductance_H"));
    let through =
        fuse::capacitor_let_through(Capacitance::new(farads), Voltage::new(volts), Resistance::new(ohms));
    let melts = f64::from(u8::from(through >= case.number("fuse_melting_i2t_A2s")));
    // The crest depends on the inductance, which the crate leaves out: stepped here, to show that the circuit is the same.
    let (mut charge, mut amps, mut crest, step) = (farads * volts, 0.0_f64, 0.0_f64, 1e-9);
    for _ in 0..40_000 {
        amps += step * (charge / farads - ohms * amps) / henries;
        charge -= step * amps;
        crest = crest.max(amps);
    }
    numbers([
        ("capacitor_i2t_A2s", through),
        ("fuse_melts_from_capacitor_1", melts),
        ("peak_current_A", crest),
    ])
}

fn fuse_short_circuit(case: &Inputs) -> Figures {
    let ohms = case.number("source_resistance_ohm") + case.number("wire_resistance_ohm");
    let end = fuse::prospective(Voltage::new(case.number("source_voltage_V")), Resistance::new(ohms));
    let constant = Time::new(case.number("loop_inductance_H") / ohms);
    let melts = fuse::melting_time(end, constant, case.number("fuse_melting_i2t_A2s"));
    let there = end * (1.0 - libm::exp(-melts.si() / constant.si()));
    assert!((case.number("fuse_reference_temperature_degC") - 25.0).abs() < 1e-12);
    let derated = fuse::derated(
        Current::new(case.number("fuse_nominal_current_A")),
        Temperature::celsius(case.number("ambient_temperature_degC")),
        Temperature::celsius(case.number("fuse_max_element_temperature_degC")),
        1.0,
    );
    numbers([
        ("prospective_current_A", end.si()),
        ("time_constant_s", constant.si()),
        ("melting_time_s", melts.si()),
        ("current_at_melting_A", there.si()),
        ("derated_continuous_current_A", derated.si()),
    ])
}

fn cable_resistance(case: &Inputs) -> Figures {
    assert_eq!(case.text("conductor_kind"), "class5_plain_copper");
    let copper = Temperature::celsius(case.number("conductor_temperature_degC"));
    let area = Area::new(case.number("nominal_area_m2"));
    numbers([("resistance_per_length_ohmperm", cable::resistance(area, Length::new(1.0), copper).si())])
}

fn cable_short_circuit(case: &Inputs) -> Figures {
    let celsius = |key| Temperature::celsius(case.number(key));
    let constant =
        fuse::adiabatic_constant(celsius("initial_temperature_degC"), celsius("final_temperature_degC"));
    numbers([("adiabatic_k_SI", constant)])
}

fn turn_off_overshoot(case: &Inputs) -> Figures {
    let henry = Inductance::new(case.number("loop_inductance_H"));
    let amps = Current::new(case.number("turn_off_current_A"));
    let fall = Time::new(case.number("current_fall_time_90_10_s"));
    let farad = Capacitance::new(case.number("output_capacitance_F"));
    let volts = case.number("link_voltage_V");
    let added = turn_off::plateau(henry, amps, fall).si();
    let undamped = volts + turn_off::undamped(henry, farad, amps, fall).si();
    numbers([
        ("current_slope_Apers", added / henry.si()),
        ("peak_voltage_gate_controlled_V", volts + added),
        ("peak_voltage_undamped_V", undamped),
        ("rating_ok_undamped_1", f64::from(u8::from(undamped <= case.number("device_voltage_rating_V")))),
    ])
}
