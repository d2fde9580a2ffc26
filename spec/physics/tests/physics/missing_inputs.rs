//! A missing input, carried as "not a number", must come out as that and never as a figure.

use loadworthy_physics::coolant::{self, Coolant, Place};
use loadworthy_physics::modulation::{least_dc_voltage, line_voltage, modulation_index};
use loadworthy_physics::stall::{self, Leg};
use loadworthy_physics::{
    Current, Energy, Frequency, Inductance, LossSlope, Modulation, Power, Resistance, Temperature,
    ThermalCapacityRate, ThermalResistance, Time, Voltage, VolumeFlow, battery, bridge_currents,
    energy_curve, junction_ripple, layers, link_ripple, on_state, phase_current, phase_ripple, plate,
    pole_voltage, rating, switching, two_faces,
};

/// Calls a function of `N` numbers once as it is, which must give a number, and then with each argument
/// missing in turn.
pub(crate) fn each_missing<const N: usize>(
    name: &str,
    arguments: [f64; N],
    function: impl Fn([f64; N]) -> f64,
) {
    assert!(!function(arguments).is_nan(), "{name} of {arguments:?}");
    for k in 0..N {
        let mut holed = arguments;
        holed[k] = f64::NAN;
        assert!(function(holed).is_nan(), "{name} fills in its argument {k}");
    }
}

const KINDS: [Modulation; 3] = [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector];

#[test]
fn modulation_and_poles() {
    let (v, i) = (Voltage::new, Current::new);
    each_missing("modulation_index", [330.0, 620.0], |[l, d]| modulation_index(v(l), v(d)));
    each_missing("line_voltage", [0.9, 620.0], |[m, d]| line_voltage(m, v(d)).si());
    each_missing("least_dc_voltage", [330.0, 1.15], |[l, m]| least_dc_voltage(v(l), m).si());
    for kind in KINDS {
        each_missing("rms_common_mode", [0.9, 0.8], |[m, c]| kind.rms_common_mode(m, c));
        each_missing("frozen_zero_sequence", [0.9], |[m]| kind.frozen_zero_sequence(m));
    }
    each_missing("pole_index", [330.0, 0.8, 5.0, 620.0], |[l, c, drop, d]| {
        pole_voltage::pole_index(v(l), c, v(drop), v(d))
    });
    each_missing("dead_time_drop", [620.0, 2e-6, 8e3], |[d, t, f]| {
        pole_voltage::dead_time_drop(v(d), Time::new(t), Frequency::new(f)).si()
    });
    each_missing("conduction_drop", [0.9, 2e-3, 200.0], |[k, r, p]| {
        pole_voltage::conduction_drop(v(k), Resistance::new(r), i(p)).si()
    });
    each_missing("delivered_phase_voltage", [0.9, 620.0, 5.0, 0.8], |[m, d, drop, c]| {
        pole_voltage::delivered_phase_voltage(m, v(d), v(drop), c).si()
    });
    each_missing("stall duty", [0.1, -0.025], |[m, z]| stall::duty(m, z, Leg::Crest));
    each_missing("stall share", [0.1, -0.025], |[m, z]| stall::transistor_share(m, z, Leg::Return));
    each_missing("stall rms", [0.5, 300.0], |[d, c]| stall::share_rms(d, i(c)).si());
    each_missing("stall average", [0.5, 300.0], |[d, c]| stall::share_average(d, i(c)).si());
}

#[test]
fn currents() {
    let (v, i) = (Voltage::new, Current::new);
    each_missing("phase_current", [70e3, 330.0, 0.8], |[p, l, c]| {
        phase_current::phase_current(Power::new(p), v(l), c).si()
    });
    each_missing("active_power", [330.0, 140.0, 0.8], |[l, r, c]| {
        phase_current::active_power(v(l), i(r), c).si()
    });
    each_missing("reactive_power_abs", [330.0, 140.0, 0.8], |[l, r, c]| {
        phase_current::reactive_power_abs(v(l), i(r), c).si()
    });
    each_missing("dc_current", [0.9, 200.0, 0.8], |[m, p, c]| phase_current::dc_current(m, i(p), c).si());
    each_missing("transistor_average", [200.0, 0.9, 0.8], |[p, m, c]| {
        bridge_currents::transistor_average(i(p), m, c).si()
    });
    each_missing("diode_average", [200.0, 0.9, 0.8], |[p, m, c]| {
        bridge_currents::diode_average(i(p), m, c).si()
    });
    for kind in KINDS {
        each_missing("transistor_rms", [200.0, 0.9, 0.8], |[p, m, c]| {
            bridge_currents::transistor_rms(i(p), m, c, kind).si()
        });
        each_missing("diode_rms", [200.0, 0.9, 0.8], |[p, m, c]| {
            bridge_currents::diode_rms(i(p), m, c, kind).si()
        });
        each_missing("ripple_rms", [620.0, 3e-4, 8e3, 0.9], |[d, l, f, m]| {
            phase_ripple::ripple_rms(v(d), Inductance::new(l), Frequency::new(f), m, kind).si()
        });
    }
    let blanked = |function: fn(Current, Time, Frequency) -> Current| {
        move |[p, t, f]: [f64; 3]| function(Current::new(p), Time::new(t), Frequency::new(f)).si()
    };
    each_missing("channel_rms", [200.0, 2e-6, 8e3], blanked(bridge_currents::channel_rms));
    each_missing("body_diode_average", [200.0, 2e-6, 8e3], blanked(bridge_currents::body_diode_average));
    each_missing("body_diode_rms", [200.0, 2e-6, 8e3], blanked(bridge_currents::body_diode_rms));
    each_missing("ripple_factor", [10.0, 140.0], |[r, p]| bridge_currents::ripple_factor(i(r), i(p)));
    each_missing("capacitor_rms", [140.0, 0.9, 0.8], |[r, m, c]| link_ripple::capacitor_rms(i(r), m, c).si());
    each_missing("with_phase_ripple", [90.0, 0.9, 10.0], |[c, m, r]| {
        link_ripple::with_phase_ripple(i(c), m, i(r)).si()
    });
    each_missing("battery voltage", [346.0, 0.05, 60e3], |[o, r, p]| {
        battery::terminal_voltage(v(o), Resistance::new(r), Power::new(p)).si()
    });
    each_missing("transferable power", [346.0, 0.05], |[o, r]| {
        battery::transferable_power(v(o), Resistance::new(r)).si()
    });
}

#[test]
fn losses() {
    let (v, i, r, e) = (Voltage::new, Current::new, Resistance::new, Energy::new);
    let celsius = Temperature::celsius;
    for part in [0, 1] {
        each_missing("chord", [1.1, 1.9, 225.0, 450.0], |[low, high, half, peak]| {
            let (knee, slope) = on_state::chord(v(low), v(high), i(half), i(peak));
            if part == 0 { knee.si() } else { slope.si() }
        });
    }
    each_missing("conduction_loss", [0.9, 2e-3, 60.0, 100.0], |[k, s, a, q]| {
        on_state::conduction_loss(v(k), r(s), i(a), i(q)).si()
    });
    each_missing("at_temperature", [1.6, 25.0, 1.9, 150.0, 100.0], |[a, ta, b, tb, t]| {
        on_state::at_temperature(a, celsius(ta), b, celsius(tb), celsius(t))
    });
    each_missing("half_wave_factor", [0.6], |[k]| switching::half_wave_factor(k));
    for exponent in [0.0, 0.6, 1.0] {
        each_missing("power_law_average", [0.03, 400.0, 400.0, exponent], |[at, reference, peak, k]| {
            switching::power_law_average(e(at), i(reference), i(peak), k).si()
        });
        each_missing("power_law_at", [0.03, 400.0, 400.0, exponent], |[at, reference, now, k]| {
            switching::power_law_at(e(at), i(reference), i(now), k).si()
        });
        each_missing("scale_voltage", [600.0, 600.0, exponent], |[now, reference, k]| {
            switching::scale_voltage(v(now), v(reference), k)
        });
    }
    each_missing("scale_temperature", [100.0, 150.0, 0.003], |[t, reference, c]| {
        switching::scale_temperature(celsius(t), celsius(reference), c)
    });
    each_missing("switching loss", [0.03, 8e3], |[at, f]| switching::loss(e(at), Frequency::new(f)).si());
    for peak in [0.0, 60.0, 200.0, 500.0] {
        each_missing("polyline", [100.0, 5e-3, 300.0, 11e-3, peak], |[i0, e0, i1, e1, now]| {
            let points = [(i(i0), e(e0)), (i(i1), e(e1))];
            energy_curve::polyline_average(&points, i(now)).si()
                + energy_curve::polyline_at(&points, i(now)).si()
        });
    }
}

#[test]
fn heat() {
    let (k, celsius) = (ThermalResistance::new, Temperature::celsius);
    each_missing("peak_factor", [0.05, 5.0], |[tau, f]| {
        junction_ripple::peak_factor(Time::new(tau), Frequency::new(f))
    });
    each_missing("extra_rise", [180.0, 60.0, 0.5, 0.1, 0.05, 5.0], |[p, squared, growth, r, tau, f]| {
        let half_waves = junction_ripple::HalfWaves {
            loss: Power::new(p),
            squared: Power::new(squared),
            per_kelvin: LossSlope::new(growth),
        };
        junction_ripple::extra_rise(&half_waves, &[(k(r), Time::new(tau))], Frequency::new(f)).si()
    });
    for case in [60.0, 110.0, 190.0] {
        each_missing(
            "rating_at_case",
            [450.0, 80.0, 175.0, case, 0.85, 2e-3],
            |[rated, at, limit, now, v, r]| {
                let line = (Voltage::new(v), Resistance::new(r));
                rating::rating_at_case(
                    Current::new(rated),
                    celsius(at),
                    celsius(limit),
                    celsius(now),
                    line.0,
                    line.1,
                )
                .si()
            },
        );
    }
    each_missing("junction_temperature", [65.0, 200.0, 0.1], |[t, p, r]| {
        layers::junction_temperature(celsius(t), Power::new(p), k(r)).in_celsius()
    });
    each_missing("two_faces", [300.0, 0.2, 65.0, 0.3, 70.0], |[p, ra, ta, rb, tb]| {
        let chip = two_faces::junction(Power::new(p), k(ra), celsius(ta), k(rb), celsius(tb));
        chip.junction.in_celsius() + chip.heat_a.si() + chip.heat_b.si()
    });
    each_missing("warming", [0.0, 100.0], |[p, c]| {
        coolant::warming(Power::new(p), ThermalCapacityRate::new(c)).si()
    });
    for fluid in [Coolant::WATER_GLYCOL_50, Coolant::Water] {
        each_missing("heat_capacity_rate", [65.0, 1e-4], |[t, q]| {
            coolant::heat_capacity_rate(fluid, celsius(t), VolumeFlow::new(q)).si()
        });
        each_missing("viscosity", [65.0], |[t]| fluid.viscosity(celsius(t)).si());
        each_missing("conductivity", [65.0], |[t]| fluid.conductivity(celsius(t)).si());
    }
    each_missing("counted_from", [0.02, 120.0], |[r, c]| {
        plate::counted_from(k(r), Place::Inlet, Place::Outlet, ThermalCapacityRate::new(c)).si()
    });
    for flow in [0.7e-4, 1e-4, 2e-4] {
        each_missing("at_flow", [0.02, 1e-4, flow], |[r, stated, now]| {
            plate::at_flow(k(r), VolumeFlow::new(stated), VolumeFlow::new(now)).si()
        });
    }
}
