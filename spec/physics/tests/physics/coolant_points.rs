//! Properties of mixtures at random shares and temperatures, between the rows that the crate carries.
//!
//! The points come from polynomials over share and temperature together that another fit of the ASHRAE tables carries;
//! this crate fits each share by itself and goes straight from one to the next.

use loadworthy_physics::Temperature;
use loadworthy_physics::coolant::{Coolant, freezing};

/// Glycol in per cent of the volume, °C, freezing point in °C, kg/m³, J/(kg·K), W/(m·K), Pa·s.
type Point = (f64, f64, f64, f64, f64, f64, f64);

const POINTS: [Point; 16] = [
    (40.07, -5.34, -24.87, 1068.48, 3381.7, 0.388425, 0.00750669),
    (49.23, -24.37, -36.05, 1086.74, 3125.86, 0.341384, 0.0289165),
    (46.00, 16.67, -31.80, 1069.34, 3344.75, 0.390963, 0.00388666),
    (32.62, 41.96, -17.80, 1039.55, 3665.05, 0.463279, 0.00136371),
    (32.05, 33.68, -17.33, 1042.62, 3650.01, 0.458657, 0.00161078),
    (32.96, -6.56, -18.09, 1058.1, 3514.29, 0.409999, 0.00604157),
    (42.89, 77.18, -28.01, 1032.1, 3615.3, 0.43918, 0.000927069),
    (34.47, 7.81, -19.40, 1056.19, 3529.77, 0.422536, 0.00364324),
    (48.57, 92.05, -35.16, 1027.76, 3581.2, 0.419974, 0.000784597),
    (47.16, 19.79, -33.29, 1069.62, 3334.21, 0.38961, 0.00362641),
    (58.34, -27.80, -49.46, 1100.72, 2912.32, 0.317284, 0.051856),
    (55.04, 4.52, -44.43, 1086.39, 3118.48, 0.353014, 0.00801236),
    (35.04, -5.02, -19.91, 1060.88, 3479.52, 0.405041, 0.00612466),
    (39.64, 76.49, -24.41, 1028.62, 3663.07, 0.452734, 0.000874358),
    (36.06, 49.27, -20.85, 1040.53, 3631.26, 0.453941, 0.00129107),
    (48.89, 15.53, -35.59, 1073.75, 3284.94, 0.38047, 0.00437757),
];

#[test]
fn mixtures_agree_with_another_fit_at_random_points() {
    for (percent, celsius, freezes, density, heat, conductivity, viscosity) in POINTS {
        let mixture = Coolant::WaterGlycol { glycol: percent / 100.0 };
        let at = Temperature::celsius(celsius);
        assert_eq!(mixture.check(at), Ok(()));
        let off = |found: f64, expected: f64| (found / expected - 1.0).abs();
        assert!(off(mixture.density(at).si(), density) < 1e-3, "density at {percent} % and {celsius}");
        assert!(off(mixture.specific_heat(at).si(), heat) < 1e-3, "heat at {percent} % and {celsius}");
        assert!(off(mixture.conductivity(at).si(), conductivity) < 5e-3, "{percent} % and {celsius}");
        // The other fit itself misses the published viscosities by some per cent.
        assert!(off(mixture.viscosity(at).si(), viscosity) < 0.05, "viscosity at {percent} % and {celsius}");
        assert!((freezing(mixture).in_celsius() - freezes).abs() < 0.3, "{percent} %");
    }
}

#[test]
fn a_mixture_is_known_from_freezing_to_100_degrees_and_from_30_to_60_per_cent() {
    let known = |glycol: f64, celsius: f64| {
        Coolant::WaterGlycol { glycol }.check(Temperature::celsius(celsius)).is_ok()
    };
    assert!(known(0.3, -15.6) && !known(0.3, -15.8) && known(0.6, -35.0) && !known(0.6, -36.0));
    assert!(!known(0.29, 20.0) && !known(0.61, 20.0) && !known(f64::NAN, 20.0) && !known(0.5, 101.0));
}
