//! How each topic of the reference cases of insulation and gate drives is computed with this crate.

use loadworthy_physics::gates::bootstrap::{self, Taken};
use loadworthy_physics::gates::dead_time::{self, Delays};
use loadworthy_physics::gates::held_off::{self, HeldOff};
use loadworthy_physics::gates::shared_return;
use loadworthy_physics::gates::short_circuit::{self, Reaction};
use loadworthy_physics::gates::supply_power::{self, Driven};
use loadworthy_physics::insulation::altitude::altitude_factor;
use loadworthy_physics::insulation::clearance::{ClearanceAsked, clearance};
use loadworthy_physics::insulation::creepage::{CreepageAsked, creepage};
use loadworthy_physics::insulation::isolation_resistance::{self, Joined};
use loadworthy_physics::insulation::material::{MaterialGroup, material_group};
use loadworthy_physics::insulation::pole_capacitors::{self, Counted};
use loadworthy_physics::insulation::protection::{
    Barrier, Bonding, Domain, DomainKind, Insulation, Needed, required,
};
use loadworthy_physics::insulation::rated_impulse::{OvervoltageCategory, rated_impulse};
use loadworthy_physics::insulation::voltage_class::{VoltageClass, voltage_class};
use loadworthy_physics::insulation::weakest_path::{Edge, weakest_path};
use loadworthy_physics::insulation::working_voltage::{Earthing, Pair, working_voltage};
use loadworthy_physics::insulation::{Between, PollutionDegree, common_mode};
use loadworthy_physics::{
    Capacitance, Charge, Current, CurrentSlope, Frequency, Inductance, Length, Power, Resistance, SlewRate,
    Temperature, Time, Voltage, cosmic_rays, fuse, stored_energy,
};

use crate::reference_cases::{Figure, Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("clearance", through_air),
    ("rated_impulse", impulse),
    ("creepage", along_a_surface),
    ("material_group", group),
    ("altitude_factor", altitude),
    ("voltage_class", class),
    ("working_voltage", working),
    ("insulation_pair", pair),
    ("barrier_path", path),
    ("gate_power", gate_power),
    ("bootstrap", bootstrap),
    ("miller", held_off_gate),
    ("shared_return", shared),
    ("common_mode", edge_current),
    ("dead_time", dead),
    ("short_circuit", short),
    ("discharge", discharge),
    ("y_energy", pole_energy),
    ("isolation_resistance", isolation),
    ("precharge", precharge),
    ("fuse", fuse_in_branch),
    ("cosmic", cosmic),
];

/// The topics that are of the checks: which gates share a potential.
pub(crate) const OF_THE_CHECKS: &[&str] = &["gate_supplies", "share_class", "supply_groups"];

fn volts(case: &Inputs, key: &str) -> Voltage {
    Voltage::new(case.number(key))
}

fn seconds(case: &Inputs, key: &str) -> Time {
    Time::new(case.number(key))
}

fn flag(case: &Inputs, key: &str) -> bool {
    case.number(key) > 0.5
}

fn one_if(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

fn degree(case: &Inputs) -> PollutionDegree {
    let number = case.number("pollution_degree_1");
    (1..=4).find(|k| (f64::from(*k) - number).abs() < 1e-9).and_then(PollutionDegree::of).expect("a degree")
}

fn insulation(word: &str) -> Insulation {
    match word {
        "functional" => Insulation::Functional,
        "basic" => Insulation::Basic,
        "supplementary" => Insulation::Supplementary,
        "double" => Insulation::Double,
        "reinforced" => Insulation::Reinforced,
        other => panic!("no insulation `{other}`"),
    }
}

fn rows(case: &Inputs) -> Between {
    if flag(case, "interpolate_1") { Between::Interpolate } else { Between::NextRow }
}

fn altitudes(case: &Inputs) -> Between {
    match case.text("altitude_mode") {
        "linear" => Between::Interpolate,
        "next_row" => Between::NextRow,
        other => panic!("no reading `{other}`"),
    }
}

fn through_air(case: &Inputs) -> Figures {
    let asked = ClearanceAsked {
        impulse: volts(case, "impulse_V"),
        degree: degree(case),
        insulation: insulation(case.text("insulation")),
        altitude: Length::new(case.number("altitude_m")),
        printed_wiring: flag(case, "printed_wiring_1"),
        between_rows: rows(case),
        between_altitudes: altitudes(case),
    };
    numbers([("clearance_m", clearance(&asked).expect("within the table").required.si())])
}

fn impulse(case: &Inputs) -> Figures {
    let category = match case.text("overvoltage_category") {
        "I" => OvervoltageCategory::I,
        "II" => OvervoltageCategory::II,
        "III" => OvervoltageCategory::III,
        "IV" => OvervoltageCategory::IV,
        other => panic!("no category `{other}`"),
    };
    let rated = rated_impulse(volts(case, "line_neutral_V"), category).expect("within the table");
    numbers([("impulse_V", rated.voltage.si())])
}

fn along_a_surface(case: &Inputs) -> Figures {
    assert!(case.number("clearance_m").abs() < 1e-12, "a clearance is asked for, not given");
    let asked = CreepageAsked {
        rms: volts(case, "rms_V"),
        degree: degree(case),
        group: match case.text("material_group") {
            "I" => MaterialGroup::I,
            "II" => MaterialGroup::II,
            "III" => MaterialGroup::IIIa,
            other => panic!("no group `{other}`"),
        },
        insulation: insulation(case.text("insulation")),
        printed_wiring: flag(case, "printed_wiring_1"),
        between_rows: rows(case),
    };
    numbers([("creepage_m", creepage(&asked, None).expect("within the table").required.si())])
}

fn group(case: &Inputs) -> Figures {
    let word = match material_group(volts(case, "cti_V")).expect("a group") {
        MaterialGroup::I => "I",
        MaterialGroup::II => "II",
        MaterialGroup::IIIa => "IIIa",
        MaterialGroup::IIIb => "IIIb",
    };
    vec![("group", Figure::Text(word))]
}

fn altitude(case: &Inputs) -> Figures {
    let factor = altitude_factor(Length::new(case.number("altitude_m")), altitudes(case));
    numbers([("factor_1", factor.expect("within the table").factor)])
}

fn class(case: &Inputs) -> Figures {
    let class = voltage_class(volts(case, "dc_max_V"), volts(case, "ac_rms_V")).expect("a class");
    vec![("class", Figure::Text(if class == VoltageClass::A { "A" } else { "B" }))]
}

fn working(case: &Inputs) -> Figures {
    let earthing = match case.text("earthing") {
        "it" => Earthing::Floating,
        other => panic!("no earthing `{other}`"),
    };
    let high = case.number_if_stated("high_duty_mean_1");
    let pair = match case.text("pair") {
        "low_to_high_same_leg" => Pair::LowToHigh { high },
        "high_to_lv" => Pair::HighToController { earthing, high },
        other => panic!("no pair `{other}`"),
    };
    let voltage = working_voltage(pair, volts(case, "link_V"), volts(case, "overshoot_V")).expect("in range");
    numbers([("rms_V", voltage.rms.si()), ("peak_V", voltage.crest.si())])
}

fn domain(case: &Inputs, [kind, class, group]: [&str; 3]) -> Domain {
    Domain {
        kind: match case.text(kind) {
            "hv" => DomainKind::Power,
            "hv_float" => DomainKind::FloatingPower,
            "lv" => DomainKind::LowVoltage,
            "chassis" => DomainKind::Chassis,
            other => panic!("no kind `{other}`"),
        },
        class: if case.text(class) == "A" { VoltageClass::A } else { VoltageClass::B },
        system: match case.text(group) {
            "H1" => Some(1),
            "L1" => Some(2),
            "" => None,
            other => panic!("no group `{other}`"),
        },
        bonding: match (flag(case, "bonded_1"), flag(case, "bonding_route_1")) {
            (true, true) => Bonding::ByRoute,
            (true, false) => Bonding::Stated,
            (false, _) => Bonding::None,
        },
    }
}

fn pair(case: &Inputs) -> Figures {
    let (a, b) = (["a_kind", "a_class", "a_group"], ["b_kind", "b_class", "b_group"]);
    let word = match required(&domain(case, a), &domain(case, b)).insulation {
        Needed::Functional => "functional",
        Needed::Basic => "basic",
        Needed::DoubleOrReinforced => "double_or_reinforced",
    };
    vec![("required", Figure::Text(word))]
}

fn path(case: &Inputs) -> Figures {
    let mut names: Vec<String> = Vec::new();
    let mut node = |name: &str| {
        names.iter().position(|known| known == name).unwrap_or_else(|| {
            names.push(name.to_owned());
            names.len() - 1
        })
    };
    let mut edges = Vec::new();
    for text in case.texts("edges") {
        let parts: Vec<&str> = text.split('|').collect();
        let [one, other, kind] = parts[..] else { panic!("no edge `{text}`") };
        edges.push(Edge { ends: (node(one), node(other)), barrier: Barrier::Insulation(insulation(kind)) });
    }
    let (from, to) = (node(case.text("from")), node(case.text("to")));
    assert!(case.texts("bonded_nodes").is_empty());
    let weakest = weakest_path(&edges, &[], from, to).expect("a way");
    numbers([("means_of_protection_1", f64::from(weakest.means))])
}

fn gate_power(case: &Inputs) -> Figures {
    let driven = Driven {
        charge: Charge::new(case.number("gate_charge_C")),
        swing: volts(case, "swing_V"),
        frequency: Frequency::new(case.number("switching_Hz")),
        count: case.number("parallel_count_1"),
        quiescent: Power::new(case.number("quiescent_W")),
        efficiency: case.number("efficiency_1"),
    };
    numbers([("power_W", supply_power::power(&driven).si())])
}

fn bootstrap(case: &Inputs) -> Figures {
    let taken = Taken {
        gate: Charge::new(case.number("gate_charge_C")),
        shift: Charge::new(case.number("shift_charge_C")),
        leakage: Current::new(case.number("leak_A")),
    };
    let capacitance = Capacitance::new(case.number("cap_F"));
    match case.text("quantity") {
        "droop" => {
            let droop = bootstrap::droop(&taken, seconds(case, "on_time_s"), capacitance);
            numbers([("value_V", droop.si())])
        }
        "hold_time" => {
            let time = bootstrap::hold_time(&taken, capacitance, volts(case, "droop_max_V"));
            numbers([("value_s", time.si())])
        }
        other => panic!("no figure `{other}`"),
    }
}

fn held_off_gate(case: &Inputs) -> Figures {
    let gate = HeldOff {
        off: volts(case, "off_V"),
        resistance: Resistance::new(case.number("gate_resistance_ohm")),
        to_drain: Capacitance::new(case.number("cgd_F")),
        to_source: Capacitance::new(case.number("cgs_F")),
    };
    let edge = SlewRate::new(case.number("dv_dt_V_per_s"));
    let crest = held_off::crest(&gate, edge, volts(case, "link_V"));
    let turns_on = crest >= volts(case, "threshold_min_V");
    numbers([("gate_peak_V", crest.si()), ("turns_on_1", one_if(turns_on))])
}

fn shared(case: &Inputs) -> Figures {
    let inductance = Inductance::new(case.number("common_inductance_H"));
    let voltage = shared_return::voltage(inductance, CurrentSlope::new(case.number("di_dt_A_per_s")));
    numbers([("voltage_V", voltage.si()), ("ok_1", one_if(voltage <= volts(case, "limit_V")))])
}

fn edge_current(case: &Inputs) -> Figures {
    let edge = SlewRate::new(case.number("dv_dt_V_per_s"));
    numbers([("current_A", common_mode::current(Capacitance::new(case.number("coupling_F")), edge).si())])
}

fn dead(case: &Inputs) -> Figures {
    let delays = Delays {
        off: seconds(case, "td_off_max_s"),
        fall: seconds(case, "fall_max_s"),
        on: seconds(case, "td_on_min_s"),
        skew: seconds(case, "driver_skew_s"),
    };
    numbers([("dead_time_s", dead_time::needed(&delays, case.number("factor_1")).si())])
}

fn short(case: &Inputs) -> Figures {
    let reaction = short_circuit::reaction(&Reaction {
        blanking: seconds(case, "blank_s"),
        filter: seconds(case, "filter_s"),
        propagation: seconds(case, "prop_s"),
        turn_off: seconds(case, "turn_off_s"),
    });
    let allowed = short_circuit::allowed(seconds(case, "withstand_s"), case.number("use_max_1"));
    numbers([("total_s", reaction.si()), ("ok_1", one_if(reaction <= allowed))])
}

fn discharge(case: &Inputs) -> Figures {
    let (conductance, power) = match case.text("kind") {
        "resistive" => (1.0 / case.number("resistance_ohm"), 0.0),
        "power" => (0.0, case.number("power_W")),
        other => panic!("no discharge `{other}`"),
    };
    let capacitance = Capacitance::new(case.number("cap_F"));
    let ends = (volts(case, "v0_V"), volts(case, "v1_V"));
    let time = stored_energy::discharge_time(capacitance, ends, conductance, Power::new(power));
    numbers([("time_s", time.si())])
}

fn pole_energy(case: &Inputs) -> Figures {
    let counted = match case.text("form") {
        "full" => Counted::All,
        other => panic!("no form `{other}`"),
    };
    let energy = pole_capacitors::energy(Capacitance::new(case.number("cap_F")), volts(case, "v_V"), counted);
    numbers([("energy_J", energy.si()), ("within_0J2_1", one_if(energy < pole_capacitors::MOST))])
}

fn isolation(case: &Inputs) -> Figures {
    let total = isolation_resistance::in_parallel(case.list("unit_ohm").into_iter().map(Resistance::new));
    let joined = match case.text("kind") {
        "combined" => Joined::WithAlternating,
        other => panic!("nothing joined like `{other}`"),
    };
    let least = isolation_resistance::least(joined, volts(case, "v_max_V"));
    numbers([("total_ohm", total.si()), ("required_ohm", least.si()), ("ok_1", one_if(total >= least))])
}

fn precharge(case: &Inputs) -> Figures {
    let (resistance, capacitance) =
        (Resistance::new(case.number("resistance_ohm")), Capacitance::new(case.number("cap_F")));
    let (source, rest) = (volts(case, "v_V"), volts(case, "delta_V"));
    let until = |rest| stored_energy::Charging {
        capacitance,
        resistance,
        source,
        rest,
        load: Current::ZERO,
        conductance: 0.0,
    };
    numbers([
        ("time_s", stored_energy::charge_time(&until(rest)).si()),
        ("energy_J", stored_energy::charge_loss(&until(Voltage::ZERO)).si()),
        ("peak_A", (source / resistance).si()),
    ])
}

fn fuse_in_branch(case: &Inputs) -> Figures {
    let (rated, carried) = (Current::new(case.number("fuse_A")), Current::new(case.number("cont_A")));
    let at_25 = (Temperature::celsius(25.0), Temperature::celsius(140.0));
    let carries = fuse::derated(rated, at_25.0, at_25.1, case.number("load_max_1"));
    numbers([
        ("voltage_ok_1", one_if(volts(case, "fuse_V") >= volts(case, "battery_max_V"))),
        ("load_ok_1", one_if(carried <= carries)),
        ("conductor_ok_1", one_if(rated <= Current::new(case.number("conductor_A")))),
    ])
}

fn cosmic(case: &Inputs) -> Figures {
    let factor = cosmic_rays::altitude_factor(Length::new(case.number("altitude_m"))).expect("in range");
    numbers([("factor_1", factor)])
}
