//! What flows as a battery is closed on others beside it.

use crate::{Current, Law, Resistance, Voltage};

/// Law of [`current`].
pub static EQUALISING: Law = Law {
    name: "current that equalises a battery with others as it is closed on them",
    formula: "I = ΔV/(R_k + 1/Σ(1/R_j)), each R the lowest internal resistance with the conductors to the bus",
    validity: "the instant of closing, nothing drawn; inductance left out; falls as states of charge meet, within minutes to hours",
    source: "Ohm's law, Kirchhoff's laws",
};

/// Law of [`difference`].
pub static DIFFERENCE: Law = Law {
    name: "largest difference of open-circuit voltages at which a battery is closed on others",
    formula: "ΔV = the highest of one side less the lowest of the other, at most what its control closes at",
    validity: "any state of charge of each",
    source: "definition",
};

/// What two sides may differ by as one of them is closed on the other: that of any states of charge, but no more than its control
/// lets it close at, where that is stated. See [`DIFFERENCE`].
pub fn difference(highest: Voltage, lowest: Voltage, closes_at: Option<Voltage>) -> Voltage {
    let apart = (highest - lowest).si();
    let apart = if apart < 0.0 { 0.0 } else { apart };
    // What the control closes at is known to hold, whatever states of charge there are.
    let known = closes_at.map_or(apart, |most| if apart < most.si() { apart } else { most.si() });
    Voltage::new(known)
}

/// The current through a battery of one resistance, closed on others of theirs. See [`EQUALISING`].
pub fn current(difference: Voltage, own: Resistance, others: impl Iterator<Item = Resistance>) -> Current {
    let conducts: f64 = others.map(|other| 1.0 / other.si()).sum();
    difference / (own + Resistance::new(1.0 / conducts))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_current_is_that_of_a_network_stepped_until_it_stands() {
        // One pack at 300 V behind 50 mΩ on two at 360 V behind 40 and 70 mΩ; a capacitor of 1 mF holds the bus in between.
        let (low, packs) = ((300.0, 0.05), [(360.0, 0.04), (360.0, 0.07)]);
        let (mut bus, step) = (300.0_f64, 1e-7);
        for _ in 0..200_000 {
            let into: f64 = packs.iter().map(|(volts, ohms)| (volts - bus) / ohms).sum();
            bus += step * (into - (bus - low.0) / low.1) / 1e-3;
        }
        let stepped = (bus - low.0) / low.1;
        let others = packs.iter().map(|&(_, ohms)| Resistance::new(ohms));
        let closed = current(Voltage::new(60.0), Resistance::new(low.1), others).si();
        assert!((closed / stepped - 1.0).abs() < 1e-6, "{closed} A, stepped {stepped} A");
    }

    #[test]
    fn a_control_bounds_the_difference_and_nothing_lies_below_none() {
        let volts = Voltage::new;
        assert!((difference(volts(360.0), volts(280.0), None).si() - 80.0).abs() < 1e-9);
        assert!((difference(volts(360.0), volts(280.0), Some(volts(3.0))).si() - 3.0).abs() < 1e-9);
        assert!((difference(volts(360.0), volts(358.0), Some(volts(3.0))).si() - 2.0).abs() < 1e-9);
        assert!(difference(volts(280.0), volts(360.0), None).si().abs() < 1e-9);
        // What is stated of the control is enough; what could not be read of it is missing.
        assert!((difference(volts(f64::NAN), volts(280.0), Some(volts(3.0))).si() - 3.0).abs() < 1e-9);
        assert!(difference(volts(360.0), volts(280.0), Some(volts(f64::NAN))).si().is_nan());
    }
}
