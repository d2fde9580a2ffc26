//! Whether a load that holds its power can live behind the inductance of its source: it takes more current the lower the
//! voltage, which is a negative resistance to every swing of the bus.

use crate::{Capacitance, Frequency, Inductance, Law, Power, Resistance, Voltage};

const LINEAR: &str = "small swings; source as one R and L, banks as one C and r; load that holds its power at the frequency of the swing, which is the worst that control can do";

/// Law of [`largest_power`].
pub static LARGEST_POWER: Law = Law {
    name: "largest held power at which the swing of a bus still fades",
    formula: "P = V²·C·(R + r)/(L + R·r·C), and below V²/R and V²/r",
    validity: LINEAR,
    source: "Middlebrook, Input filter considerations in design and application of switching regulators, IAS 1976; Routh's criterion of the second-order circuit",
};

/// Law of [`resonance`].
pub static RESONANCE: Law = Law {
    name: "frequency at which a bus swings against its source",
    formula: "f = 1/(2·π·√(L·C))",
    validity: "little damping",
    source: "series resonance of source and banks",
};

/// Inductance and resistance of a source with its cables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Resistance, R.
    pub resistance: Resistance,
    /// Inductance, L.
    pub inductance: Inductance,
}

/// Banks of a bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Banks {
    /// Capacitance, C.
    pub capacitance: Capacitance,
    /// Series resistance, r.
    pub resistance: Resistance,
}

/// Largest power, held whatever the voltage does, at which a swing of the bus still fades. See [`LARGEST_POWER`].
#[must_use]
pub fn largest_power(voltage: Voltage, feed: Feed, banks: Banks) -> Power {
    let (ohms, henry) = (feed.resistance.si(), feed.inductance.si());
    let (series, farad) = (banks.resistance.si(), banks.capacitance.si());
    // With a conductance −G across the bus: (1 − r·G)·L·C·s² + (C·(R + r) − G·(L + R·r·C))·s + 1 − R·G.
    let mut most = farad * (ohms + series) / (henry + ohms * series * farad);
    for resistance in [ohms, series] {
        if most * resistance > 1.0 {
            most = 1.0 / resistance;
        }
    }
    Power::new(voltage.si() * voltage.si() * most)
}

/// Frequency at which the bus swings. See [`RESONANCE`].
#[must_use]
pub fn resonance(feed: Feed, banks: Banks) -> Frequency {
    let square = feed.inductance.si() * banks.capacitance.si();
    Frequency::new(1.0 / (core::f64::consts::TAU * libm::sqrt(square)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FEED: Feed = Feed { resistance: Resistance::new(0.05), inductance: Inductance::new(10e-6) };
    const BANKS: Banks = Banks { capacitance: Capacitance::new(500e-6), resistance: Resistance::new(1e-3) };

    #[test]
    fn damping_decides_before_the_power_of_the_source_does() {
        // 400²·500e-6·0.051/(10e-6 + 25e-9) = 407 kW; V²/R would be 3.2 MW.
        let most = largest_power(Voltage::new(400.0), FEED, BANKS).si();
        assert!((most - 406_982.5).abs() < 1.0, "{most}");
        // 1/(2·π·√(5e-9)).
        assert!((resonance(FEED, BANKS).si() - 2250.79).abs() < 0.01);
        let large = Banks { capacitance: Capacitance::new(1.0), ..BANKS };
        let most = largest_power(Voltage::new(400.0), FEED, large).si();
        assert!((most - 3.2e6).abs() < 1.0, "{most}");
    }

    #[test]
    fn what_is_missing_stays_missing() {
        for hole in 0..4 {
            let of = |place: usize, value: f64| if place == hole { f64::NAN } else { value };
            let feed =
                Feed { resistance: Resistance::new(of(0, 0.1)), inductance: Inductance::new(of(1, 1e-5)) };
            let banks = Banks {
                capacitance: Capacitance::new(of(2, 1e-3)),
                resistance: Resistance::new(of(3, 1e-3)),
            };
            assert!(largest_power(Voltage::new(400.0), feed, banks).si().is_nan(), "{hole}");
        }
        assert!(largest_power(Voltage::new(f64::NAN), FEED, BANKS).si().is_nan());
    }
}
