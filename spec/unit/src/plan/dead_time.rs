//! Legs whose two switches must not conduct together.

use crate::ids::{FigureId, InputId};

/// A stage with two switches in series between the rails of a bus, or two that must not overlap.
#[derive(Clone, Debug)]
pub struct DeadTime {
    /// The stage, in the plan.
    pub stage: usize,
    /// What follows one another: each way of every pair, those that are alike once.
    pub handovers: Vec<Handover>,
    /// Whether its legs switch hard, so that a dead time costs voltage and buys nothing.
    pub is_hard: bool,
    /// Dead time that it needs, without a margin.
    pub needed: FigureId,
    /// Share of the carrier period that the dead time takes.
    pub share: FigureId,
}

/// One switch turns off, then the other on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Handover {
    /// The gate that turns off, in the plan.
    pub off: usize,
    /// The gate that turns on, in the plan.
    pub on: usize,
    /// Longest delay of turning off, with the resistor that is fitted.
    pub turn_off_delay: FigureId,
    /// Fall of the current.
    pub fall: InputId,
    /// Shortest delay of the other's turn-on, with the resistor that is fitted.
    pub turn_on_delay: FigureId,
    /// Largest difference between channels of the driver of the one that turns on.
    pub skew: InputId,
    /// Longest delays of both drivers, off and on, where these are of two kinds.
    pub delays: Option<(InputId, InputId)>,
}
