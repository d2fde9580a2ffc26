//! The current that an edge drives across a barrier.

use crate::{Capacitance, Current, Law, SlewRate};

/// Law of [`current`].
pub static CURRENT: Law = Law {
    name: "current that a switching edge drives across a barrier",
    formula: "I = C·dv/dt",
    validity: "C all capacitance across the barrier of one node: winding, isolator and transducer; while the edge lasts",
    source: "displacement current",
};

/// Current across a barrier during an edge. See [`CURRENT`].
#[inline]
#[must_use]
pub fn current(across: Capacitance, edge: SlewRate) -> Current {
    across * edge
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fifteen_picofarad_pass_three_quarters_of_an_ampere_at_50_kilovolts_a_microsecond() {
        assert!((current(Capacitance::new(15e-12), SlewRate::new(50e9)).si() - 0.75).abs() < 1e-12);
    }
}
