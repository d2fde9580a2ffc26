//! What the capacitors between a pole of the bus and the chassis hold, which a hand that bridges them takes.

use crate::stored_energy::{self, HARMLESS};
use crate::{Capacitance, Energy, Law, Voltage};

/// Law of [`energy`].
pub static ENERGY: Law = Law {
    name: "energy of the capacitors between a pole and the chassis",
    formula: "E = C·V²/2; above the harmless voltage C·(V² − (60 V)²)/2",
    validity: "all capacitance of one pole: filters, machines and cables; the filter alone understates it",
    source: "ISO 6469-3; UN Regulations No. 94 and 95 for the form above 60 V",
};

/// Most energy of the capacitors of a pole (ISO 6469-3; UN Regulations No. 94 and 95).
pub const MOST: Energy = Energy::new(0.2);

/// Which energy counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// All of it.
    All,
    /// What is above 60 V.
    AboveHarmless,
}

/// Energy of the capacitors of one pole at its voltage to the chassis; nothing counts above 60 V where the voltage is
/// not above. See [`ENERGY`].
#[must_use]
pub fn energy(capacitance: Capacitance, voltage: Voltage, counted: Counted) -> Energy {
    let all = stored_energy::energy(capacitance, voltage);
    match counted {
        Counted::All => all,
        Counted::AboveHarmless if voltage.abs() <= HARMLESS => all * 0.0,
        Counted::AboveHarmless => all - stored_energy::energy(capacitance, HARMLESS),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_tenths_of_a_microfarad_at_800_volts_come_close_to_the_limit() {
        let at = |volts, counted| energy(Capacitance::new(0.6e-6), Voltage::new(volts), counted).si();
        assert!((at(800.0, Counted::All) - 0.192).abs() < 1e-12);
        assert!((at(800.0, Counted::AboveHarmless) - 0.19092).abs() < 1e-12);
        assert!(at(820.0, Counted::All) > MOST.si());
        assert!(
            at(60.0, Counted::AboveHarmless).abs() < 1e-15 && at(48.0, Counted::AboveHarmless).abs() < 1e-15
        );
        assert!(at(f64::NAN, Counted::AboveHarmless).is_nan());
    }
}
