//! What the supply of a gate delivers.

use crate::{Charge, Current, Frequency, Law, Power, Resistance, Voltage};

/// Law of [`charge_at`].
pub static CHARGE_AT: Law = Law {
    name: "gate charge at another swing",
    formula: "Q = Q_0·ΔV/ΔV_0",
    validity: "gate capacitance constant beyond the plateau, near the swing of the data sheet; its curve goes before it",
    source: "charge of a capacitor",
};

/// Law of [`power`].
pub static POWER: Law = Law {
    name: "power that the supply of a gate takes",
    formula: "P = (n·Q·ΔV·f + P_q)/η",
    validity: "one charge and discharge in a period; Q for this very swing and voltage; n devices in parallel on one output",
    source: "energy of charging a gate through resistors; Wintrich, Nicolai, Tursky, Reimann, Application Manual Power Semiconductors, 2nd ed., 2015",
};

/// Law of [`peak_current`].
pub static PEAK_CURRENT: Law = Law {
    name: "crest of a gate's current",
    formula: "I = ΔV/(R_g + R_int)",
    validity: "no inductance in the loop: a bound; the local capacitor delivers it and not the supply",
    source: "Ohm's law",
};

/// Gates on one output of a supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driven {
    /// Charge of one gate for the swing.
    pub charge: Charge,
    /// From off to on voltage.
    pub swing: Voltage,
    /// Switching frequency.
    pub frequency: Frequency,
    /// Devices in parallel.
    pub count: f64,
    /// What the driver takes at rest.
    pub quiescent: Power,
    /// Efficiency of the supply; 1 for what its output delivers.
    pub efficiency: f64,
}

/// Gate charge at another swing than that it is stated for. See [`CHARGE_AT`].
#[inline]
#[must_use]
pub fn charge_at(swing: Voltage, stated: Charge, stated_swing: Voltage) -> Charge {
    stated * (swing / stated_swing)
}

/// Power that the supply of a gate takes. See [`POWER`].
#[inline]
#[must_use]
pub fn power(driven: &Driven) -> Power {
    let Driven { charge, swing, frequency, count, quiescent, efficiency } = *driven;
    ((charge * swing) * frequency * count + quiescent) / efficiency
}

/// Crest of the current of one gate, with the resistances outside and inside of the device. See [`PEAK_CURRENT`].
#[inline]
#[must_use]
pub fn peak_current(swing: Voltage, outside: Resistance, inside: Resistance) -> Current {
    swing / (outside + inside)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_large_gates_take_half_a_watt() {
        let driven = Driven {
            charge: Charge::new(0.6e-6),
            swing: Voltage::new(20.0),
            frequency: Frequency::new(16e3),
            count: 2.0,
            quiescent: Power::new(0.15),
            efficiency: 1.0,
        };
        assert!((power(&driven).si() - 0.534).abs() < 1e-12);
        assert!((power(&Driven { efficiency: 0.75, ..driven }).si() - 0.712).abs() < 1e-12);
        let wider = charge_at(Voltage::new(23.0), driven.charge, driven.swing);
        assert!((wider.si() - 0.69e-6).abs() < 1e-15);
        let crest = peak_current(driven.swing, Resistance::new(3.0), Resistance::new(1.0));
        assert!((crest.si() - 5.0).abs() < 1e-12);
    }
}
