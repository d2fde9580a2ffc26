//! How each topic of the heat and coolant reference cases is computed with this crate.

use loadworthy_physics::coolant::{self, Coolant, Passage, Place};
use loadworthy_physics::layers::{Layer, junction_temperature, series_resistance};
use loadworthy_physics::loss_feedback::{self, Feedback, QuadraticResistance};
use loadworthy_physics::{
    Area, Conductivity, Current, Density, FilmCoefficient, Length, Power, Pressure, Resistance,
    SpecificContactResistance, SpecificHeat, Temperature, TemperatureDifference, ThermalCapacityRate,
    ThermalResistance, Time, VolumeFlow, air_clearing, duct, junction_ripple, plate, transient, two_faces,
};

use crate::half_sine;
use crate::reference_cases::{Figure, Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("series_chain", series_chain),
    ("double_sided", double_sided),
    ("low_frequency_ripple", low_frequency_ripple),
    ("foster_single_pulse", foster_single_pulse),
    ("foster_repetitive_pulses", foster_repetitive_pulses),
    ("loss_feedback_linear", loss_feedback_linear),
    ("loss_feedback_leakage", loss_feedback_leakage),
    ("loss_feedback_quadratic_resistance", loss_feedback_quadratic_resistance),
    ("critical_coolant_temperature", critical_coolant_temperature),
    ("coolant_properties", coolant_properties),
    ("coolant_limits", coolant_limits),
    ("laminar_duct", laminar_duct),
    ("duct_nusselt", duct_nusselt),
    ("bubble_velocity", bubble_velocity),
    ("path_coolant_temperature", path_coolant_temperature),
    ("resistance_reference", resistance_reference),
];

fn series_chain(case: &Inputs) -> Figures {
    let columns = [
        case.list("layer_thickness_m"),
        case.list("layer_conductivity_W_per_mK"),
        case.list("contact_below_layer_m2K_per_W"),
    ];
    let layers: Vec<Layer> = (0..columns[0].len())
        .map(|k| Layer {
            thickness: Length::new(columns[0][k]),
            conductivity: Conductivity::new(columns[1][k]),
            contact_below: SpecificContactResistance::new(columns[2][k]),
        })
        .collect();
    let film = FilmCoefficient::new(case.number("film_coefficient_W_per_m2K"));
    let path = series_resistance(&layers, Area::new(case.number("area_m2")), film);
    let coolant = Temperature::celsius(case.number("coolant_degC"));
    let junction = junction_temperature(coolant, Power::new(case.number("power_W")), path);
    numbers([("thermal_resistance_K_per_W", path.si()), ("junction_temperature_degC", junction.in_celsius())])
}

fn double_sided(case: &Inputs) -> Figures {
    let path = |side: &str| ThermalResistance::new(case.number(&format!("resistance_{side}_K_per_W")));
    let coolant = |side: &str| Temperature::celsius(case.number(&format!("coolant_{side}_degC")));
    let power = Power::new(case.number("power_W"));
    let chip = two_faces::junction(power, path("a"), coolant("a"), path("b"), coolant("b"));
    numbers([
        ("junction_temperature_degC", chip.junction.in_celsius()),
        ("heat_a_W", chip.heat_a.si()),
        ("heat_b_W", chip.heat_b.si()),
    ])
}

fn low_frequency_ripple(case: &Inputs) -> Figures {
    assert_eq!(case.text("loss_shape"), "half_sine");
    let resistances = case.list("foster_resistance_K_per_W");
    let network: Vec<_> = resistances.into_iter().zip(case.list("foster_time_constant_s")).collect();
    let (peak, output) = (case.number("peak_power_W"), case.number("electrical_frequency_Hz"));
    let typed: Vec<_> = network.iter().map(|&(r, tau)| (ThermalResistance::new(r), Time::new(tau))).collect();
    let mean = junction_ripple::mean_rise(Power::new(peak / std::f64::consts::PI), &typed);
    numbers([
        ("peak_rise_K", half_sine::peak_rise(peak, &network, output)),
        ("rise_from_mean_loss_K", mean.si()),
    ])
}

fn network(case: &Inputs) -> Vec<(ThermalResistance, Time)> {
    let resistances = case.list("foster_resistance_K_per_W");
    let pairs = resistances.into_iter().zip(case.list("foster_time_constant_s"));
    pairs.map(|(r, tau)| (ThermalResistance::new(r), Time::new(tau))).collect()
}

fn foster_single_pulse(case: &Inputs) -> Figures {
    let lasts = Time::new(case.number("pulse_duration_s"));
    let rise = transient::pulse_rise(Power::new(case.number("pulse_power_W")), &network(case), lasts);
    numbers([("temperature_rise_K", rise.si())])
}

fn foster_repetitive_pulses(case: &Inputs) -> Figures {
    let (on, period) = (Time::new(case.number("on_time_s")), Time::new(case.number("period_s")));
    let (loss, network) = (Power::new(case.number("pulse_power_W")), network(case));
    numbers([
        ("peak_rise_K", transient::train_peak(loss, &network, on, period).si()),
        ("valley_rise_K", transient::train_valley(loss, &network, on, period).si()),
    ])
}

fn feedback(outcome: Feedback) -> Figures {
    match outcome {
        Feedback::Steady { temperature, loop_gain } => vec![
            ("status", Figure::Text("ok")),
            ("junction_temperature_degC", Figure::Number(temperature.in_celsius())),
            ("loop_gain", Figure::Number(loop_gain)),
        ],
        Feedback::NoSteadyState { .. } => vec![("status", Figure::Text("no_steady_state"))],
        Feedback::NotJudged => vec![("status", Figure::Text("not judged"))],
    }
}

fn held(case: &Inputs) -> (Temperature, ThermalResistance) {
    let coolant = Temperature::celsius(case.number("coolant_degC"));
    (coolant, ThermalResistance::new(case.number("thermal_resistance_K_per_W")))
}

fn loss_feedback_linear(case: &Inputs) -> Figures {
    let (coolant, path) = held(case);
    let loss = Power::new(case.number("loss_at_reference_W"));
    let reference = Temperature::celsius(case.number("reference_degC"));
    feedback(loss_feedback::linear(coolant, path, loss, case.number("alpha_per_K"), reference))
}

fn leakage_of(case: &Inputs) -> (Power, Power, Temperature, TemperatureDifference) {
    (
        Power::new(case.number("constant_loss_W")),
        Power::new(case.number("leakage_at_reference_W")),
        Temperature::celsius(case.number("reference_degC")),
        TemperatureDifference::new(case.number("e_fold_K")),
    )
}

fn loss_feedback_leakage(case: &Inputs) -> Figures {
    let (coolant, path) = held(case);
    let (constant, leakage, reference, e_fold) = leakage_of(case);
    feedback(loss_feedback::leakage(coolant, path, constant, leakage, reference, e_fold))
}

fn critical_coolant_temperature(case: &Inputs) -> Figures {
    let path = ThermalResistance::new(case.number("thermal_resistance_K_per_W"));
    let (constant, leakage, reference, e_fold) = leakage_of(case);
    let critical = loss_feedback::critical_coolant_of_leakage(path, constant, leakage, reference, e_fold);
    numbers([("critical_coolant_degC", critical.in_celsius())])
}

fn loss_feedback_quadratic_resistance(case: &Inputs) -> Figures {
    let (coolant, path) = held(case);
    let rms = Current::new(case.number("current_rms_A"));
    let resistance = QuadraticResistance {
        at_25: Resistance::new(case.number("resistance_25C_ohm")),
        per_kelvin: case.number("a_per_K"),
        per_square_kelvin: case.number("b_per_K2"),
    };
    let outcome = loss_feedback::quadratic_resistance(coolant, path, rms, resistance);
    let mut figures = feedback(outcome);
    if let Feedback::Steady { temperature, .. } = outcome {
        let loss = rms * rms * resistance.at(temperature);
        figures.push(("conduction_loss_W", Figure::Number(loss.si())));
    }
    figures
}

fn coolant_limits(case: &Inputs) -> Figures {
    let mixture = Coolant::WaterGlycol { glycol: case.number("glycol_volume_percent") / 100.0 };
    let pressure = Pressure::new(case.number("pressure_absolute_Pa"));
    numbers([
        ("freezing_degC", coolant::freezing(mixture).in_celsius()),
        ("boiling_degC", coolant::boiling(mixture, pressure).in_celsius()),
    ])
}

fn laminar_duct(case: &Inputs) -> Figures {
    let a = case.number("aspect_short_over_long");
    numbers([
        ("fanning_f_times_Re", duct::laminar_rectangle_friction(a)),
        ("nusselt_H1", duct::laminar_rectangle_nusselt(a)),
    ])
}

fn duct_nusselt(case: &Inputs) -> Figures {
    let (reynolds, prandtl) = (case.number("reynolds"), case.number("prandtl"));
    numbers([("nusselt", duct::nusselt(reynolds, prandtl, case.number("laminar_nusselt")))])
}

fn bubble_velocity(case: &Inputs) -> Figures {
    let bore = Length::new(case.number("inner_diameter_m"));
    let sine = libm::sin(case.number("downward_slope_deg").to_radians());
    let flow = VolumeFlow::new(case.number("flow_m3_per_s"));
    numbers([
        ("clearing_velocity_m_per_s", air_clearing::clearing_velocity(bore, sine).si()),
        ("mean_velocity_m_per_s", air_clearing::mean_velocity(flow, bore, 1.0).si()),
    ])
}

fn coolant_properties(case: &Inputs) -> Figures {
    let fluid = match case.text("fluid") {
        "ethylene_glycol_water_50_vol_percent" => Coolant::WATER_GLYCOL_50,
        "water" => Coolant::Water,
        other => panic!("unknown coolant `{other}`"),
    };
    let t = Temperature::celsius(case.number("temperature_degC"));
    assert_eq!(fluid.check(t), Ok(()));
    numbers([
        ("density_kg_per_m3", fluid.density(t).si()),
        ("specific_heat_J_per_kgK", fluid.specific_heat(t).si()),
        ("conductivity_W_per_mK", fluid.conductivity(t).si()),
        ("viscosity_Pa_s", fluid.viscosity(t).si()),
    ])
}

fn path_coolant_temperature(case: &Inputs) -> Figures {
    let flow = VolumeFlow::new(case.number("flow_m3_per_s"));
    assert_eq!(coolant::check_flow(flow), Ok(()));
    let rate = Density::new(case.number("density_kg_per_m3"))
        * flow
        * SpecificHeat::new(case.number("specific_heat_J_per_kgK"));
    let mut inlet = Temperature::celsius(case.number("coolant_inlet_degC"));
    let mut passages = Vec::new();
    for power in case.list("power_W") {
        let passage = Passage::new(inlet, Power::new(power), rate);
        inlet = passage.outlet;
        passages.push(passage);
    }
    let at = |place| Figure::List(passages.iter().map(|passage| passage.at(place).in_celsius()).collect());
    vec![
        ("local_inlet_degC", at(Place::Inlet)),
        ("local_mean_degC", at(Place::Mean)),
        ("local_outlet_degC", at(Place::Outlet)),
    ]
}

fn resistance_reference(case: &Inputs) -> Figures {
    let stated = ThermalResistance::new(case.number("resistance_to_inlet_K_per_W"));
    let rate = ThermalCapacityRate::new(case.number("heat_capacity_rate_W_per_K"));
    let to = |place| plate::counted_from(stated, Place::Inlet, place, rate).si();
    numbers([
        ("resistance_to_mean_K_per_W", to(Place::Mean)),
        ("resistance_to_outlet_K_per_W", to(Place::Outlet)),
        ("lowest_plausible_resistance_to_inlet_K_per_W", plate::least_from_inlet(rate).si()),
    ])
}
