//! Sources with an open-circuit voltage and a resistance, in parallel on one bus.

use crate::{Current, Law, Resistance, Voltage};

const SOURCE: &str = "theorem of Thévenin";

/// Law of [`equivalent`].
pub static EQUIVALENT: Law = Law {
    name: "parallel sources as one",
    formula: "V = Σ(V_k/R_k)/Σ(1/R_k), R = 1/Σ(1/R_k)",
    validity: "constant open-circuit voltages and resistances; no diode between source and bus, a lower source is charged by a higher one",
    source: SOURCE,
};

/// Law of [`current`].
pub static CURRENT: Law = Law {
    name: "current of a source at a bus voltage",
    formula: "I_k = (V_k − V)/R_k",
    validity: "resistance above zero; negative while the bus charges the source",
    source: SOURCE,
};

/// A source as its terminals show it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Voltage without current.
    pub open_circuit: Voltage,
    /// Resistance up to the bus, cables included.
    pub resistance: Resistance,
}

impl Source {
    const UNDECIDED: Self =
        Self { open_circuit: Voltage::new(f64::NAN), resistance: Resistance::new(f64::NAN) };
}

/// The one source that all of them together are.
///
/// A single source without resistance sets the voltage alone. Several of them, no source at all or a missing
/// figure come out as not a number. See [`EQUIVALENT`].
pub fn equivalent(sources: &[Source]) -> Source {
    let known = |source: &Source| source.open_circuit.si().is_finite() && !source.resistance.si().is_nan();
    if sources.is_empty() || !sources.iter().all(known) {
        return Source::UNDECIDED;
    }
    let mut stiff = sources.iter().filter(|source| source.resistance == Resistance::ZERO);
    match (stiff.next(), stiff.next()) {
        (Some(&alone), None) => return alone,
        (Some(_), Some(_)) => return Source::UNDECIDED,
        (None, _) => {}
    }
    let Some(&first) = sources.first() else { return Source::UNDECIDED };
    // Counted from the first, so that equal sources keep their voltage to the last digit.
    let (mut held, mut conductance) = (0.0, 0.0);
    for source in sources {
        held += (source.open_circuit - first.open_circuit) / Voltage::new(1.0) / source.resistance.si();
        conductance += 1.0 / source.resistance.si();
    }
    Source {
        open_circuit: first.open_circuit + Voltage::new(held / conductance),
        resistance: Resistance::new(1.0 / conductance),
    }
}

/// Current that a source gives to a bus of a voltage; negative while it is charged. See [`CURRENT`].
#[inline]
pub fn current(source: Source, bus: Voltage) -> Current {
    (source.open_circuit - bus) / source.resistance
}

/// Currents of all sources while they give `total` together; fills `currents` and gives the bus voltage.
///
/// A single source without resistance gives what the others do not. `currents` must be as long as
/// `sources`; all are not a number where it is not and where [`equivalent`] is none.
pub fn currents(sources: &[Source], total: Current, currents: &mut [Current]) -> Voltage {
    currents.fill(Current::new(f64::NAN));
    let whole = equivalent(sources);
    let bus = whole.open_circuit - total * whole.resistance;
    if sources.len() != currents.len() || bus.si().is_nan() {
        return Voltage::new(f64::NAN);
    }
    let mut rest = total;
    for (&source, own) in sources.iter().zip(currents.iter_mut()) {
        if source.resistance != Resistance::ZERO {
            *own = current(source, bus);
            rest = rest - *own;
        }
    }
    for (source, own) in sources.iter().zip(currents.iter_mut()) {
        if source.resistance == Resistance::ZERO {
            *own = rest;
        }
    }
    bus
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(volts: f64, ohms: f64) -> Source {
        Source { open_circuit: Voltage::new(volts), resistance: Resistance::new(ohms) }
    }

    #[test]
    fn all_currents_make_up_the_total() {
        let sources = [source(346.0, 0.05), source(352.0, 0.12), source(340.0, 0.2)];
        for total in [-200.0, 0.0, 300.0] {
            let mut own = [Current::ZERO; 3];
            let bus = currents(&sources, Current::new(total), &mut own);
            assert!((own.iter().copied().sum::<Current>().si() - total).abs() < 1e-9);
            for (source, own) in sources.iter().zip(own) {
                assert!((source.open_circuit - own * source.resistance - bus).si().abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_stiff_source_sets_the_bus() {
        let sources = [source(346.0, 0.05), source(350.0, 0.0)];
        let mut own = [Current::ZERO; 2];
        assert_eq!(currents(&sources, Current::new(100.0), &mut own), Voltage::new(350.0));
        assert!((own[0].si() + 80.0).abs() < 1e-9 && (own[1].si() - 180.0).abs() < 1e-9);
        assert!(equivalent(&[source(350.0, 0.0); 2]).open_circuit.si().is_nan());
    }

    #[test]
    fn equal_sources_keep_their_voltage() {
        let whole = equivalent(&[source(346.7, 0.06); 3]);
        assert_eq!(whole.open_circuit, Voltage::new(346.7));
        assert!((whole.resistance.si() - 0.02).abs() < 1e-15);
        assert!(equivalent(&[]).resistance.si().is_nan());
        assert!(equivalent(&[source(346.0, 0.05), source(f64::NAN, 0.1)]).open_circuit.si().is_nan());
    }
}
