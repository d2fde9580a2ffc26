//! Which bank of a solved lane resonates, and with what.

use super::{Solved, WIDTH};
use crate::ids::LaneId;
use crate::plan::Bus;
use crate::solver::branches::Branches;
use crate::solver::{Resonant, resonant};

impl Solved<'_> {
    /// The bank of a bus that carries most of a line of a stage, with what it swings against; none where no stage sends anything, or
    /// nothing stands beside a bank.
    #[must_use]
    pub fn resonant(&self, bus: &Bus, lane: LaneId) -> Option<Resonant> {
        let (block, l) = self.place(lane);
        let sends = bus.ripple.terms.iter().filter(|term| self.figure(term.current, lane) > Some(0.0));
        let lines: Vec<_> = sends.map(|term| (*term, self.ripple_lines(term, lane))).collect();
        resonant(&Branches::<WIDTH> { plan: &self.variant.plan, bus, inputs: &block.inputs, l }, &lines)
    }
}
