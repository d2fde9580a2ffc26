//! How ripple divides among banks that stand side by side, and how hot that makes their capacitors.

use crate::{
    Capacitance, Current, Frequency, Inductance, Law, Power, Resistance, Temperature, ThermalResistance,
};
use core::f64::consts::TAU;

/// Law of [`share`].
pub static SHARE: Law = Law {
    name: "share of a ripple current that one of several branches takes",
    formula: "|Z_all/Z_k|, Z = R_path + R_part/n + j·ω·(L_path + L_part/n) + 1/(j·ω·n·C), Z_all all branches side by side",
    validity: "one frequency; of a stage line by line; beyond 1 a branch resonates with another",
    source: "current divider; any textbook on circuits",
};

/// Law of [`loss`].
pub static LOSS: Law = Law {
    name: "loss of one capacitor",
    formula: "P = R·I²",
    validity: "series resistance as stated at the ripple frequency; of film constant to some tens of kilohertz",
    source: "Joule heat",
};

/// Law of [`hot_spot`].
pub static HOT_SPOT: Law = Law {
    name: "hot spot of a capacitor",
    formula: "T = T_air + R_th·P",
    validity: "steady; thermal resistance from hot spot to the air around it",
    source: "series of thermal resistances; Wang, Blaabjerg, IEEE Trans. Industry Applications 50(5), 2014",
};

/// A branch across a bus, as seen from there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch {
    /// Resistance in series.
    pub resistance: Resistance,
    /// Inductance in series.
    pub inductance: Inductance,
    /// Capacitance; none for a source.
    pub capacitance: Option<Capacitance>,
}

impl Branch {
    /// Frequency at which it has no reactance; none, which is zero, of a source.
    #[must_use]
    pub fn own(&self) -> Frequency {
        let farads = self.capacitance.map_or(f64::INFINITY, |farad| farad.si());
        Frequency::new(1.0 / (TAU * (self.inductance.si() * farads).sqrt()))
    }

    /// Real and imaginary part of one over its impedance.
    #[inline]
    #[must_use]
    pub fn admittance(&self, frequency: Frequency) -> (f64, f64) {
        let turn = TAU * frequency.si();
        let real = self.resistance.si();
        let imaginary =
            turn * self.inductance.si() - self.capacitance.map_or(0.0, |farad| 1.0 / (turn * farad.si()));
        let square = real * real + imaginary * imaginary;
        (real / square, -imaginary / square)
    }
}

/// Share of a ripple current that a branch takes beside others; beyond 1 where it resonates with one of them. See
/// [`SHARE`].
#[must_use]
pub fn share(own: &Branch, others: impl IntoIterator<Item = Branch>, frequency: Frequency) -> f64 {
    let (real, imaginary) = own.admittance(frequency);
    let all = others.into_iter().fold((real, imaginary), |all, other| {
        let (real, imaginary) = other.admittance(frequency);
        (all.0 + real, all.1 + imaginary)
    });
    libm::hypot(real, imaginary) / libm::hypot(all.0, all.1)
}

/// Loss of one capacitor. See [`LOSS`].
#[inline]
#[must_use]
pub fn loss(resistance: Resistance, ripple_rms: Current) -> Power {
    ripple_rms * ripple_rms * resistance
}

/// Hot spot of a capacitor. See [`HOT_SPOT`].
#[inline]
#[must_use]
pub fn hot_spot(air: Temperature, resistance: ThermalResistance, loss: Power) -> Temperature {
    air + loss * resistance
}

#[cfg(test)]
mod tests {
    use super::*;

    fn branch(milliohms: f64, nanohenries: f64, microfarads: f64) -> Branch {
        Branch {
            resistance: Resistance::new(1e-3 * milliohms),
            inductance: Inductance::new(1e-9 * nanohenries),
            capacitance: Some(Capacitance::new(1e-6 * microfarads)),
        }
    }

    #[test]
    fn far_from_resonance_capacitance_divides_and_a_bank_alone_takes_all() {
        let (large, small) = (branch(0.5, 5.0, 600.0), branch(0.5, 5.0, 200.0));
        let share_of = share(&large, [small], Frequency::new(1e3));
        assert!((share_of - 0.75).abs() < 1e-3, "{share_of}");
        assert!((share(&large, [], Frequency::new(2e4)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn two_banks_resonate_where_their_loop_does() {
        // 20 µF and 600 µF around 200 nH: 1/(2π·√(200 nH·19.35 µF)) = 80.9 kHz.
        let (large, small) = (branch(0.5, 100.0, 600.0), branch(0.5, 100.0, 20.0));
        assert!(share(&small, [large], Frequency::new(80.9e3)) > 10.0);
        assert!(share(&small, [large], Frequency::new(4e3)) < 0.1);
    }

    #[test]
    fn a_source_inductance_raises_what_the_capacitors_carry() {
        // 1/(1 − (f_0/f)²) with f_0 = 1/(2π·√(5 µH·60 µF)) = 9.19 kHz at 40 kHz.
        let source =
            Branch { resistance: Resistance::ZERO, inductance: Inductance::new(5e-6), capacitance: None };
        let bank =
            Branch { resistance: Resistance::ZERO, inductance: Inductance::ZERO, ..branch(0.0, 0.0, 60.0) };
        let raised = share(&bank, [source], Frequency::new(4e4));
        let ratio = 9.1888e3 / 4e4;
        assert!((raised - 1.0 / (1.0 - ratio * ratio)).abs() < 1e-4, "{raised}");
    }

    #[test]
    fn a_hot_spot_stands_above_its_air() {
        let watts = loss(Resistance::new(0.8e-3), Current::new(95.0));
        let hot = hot_spot(Temperature::celsius(85.0), ThermalResistance::new(1.9), watts);
        assert!((hot.in_celsius() - 98.718).abs() < 1e-9);
    }
}
