//! Heat over time: junctions and plates of a duty point that does not last until everything has settled.
//!
//! Currents are those of the solved lane, and the loss of a chip is the straight line over its junction temperature
//! that the solver found there. What is followed is heat: the elements of each chip's thermal impedance, and plates
//! whose heat capacity is stated. Coolant, cases and plates without a capacity follow at once, which is the cautious
//! side while they warm.

#![expect(
    clippy::needless_range_loop,
    reason = "a lane is one place in several arrays, and its number says so"
)]

mod course;
mod driven;
mod layout;
pub mod mission;
mod state;
mod step;

pub(crate) use course::{before, fill, follow, tell};
