//! Heat over time: what warms in a duty point that does not last until everything has settled.
//!
//! Currents are those of the solved lane, and the loss of a chip or a winding is the straight line over its temperature
//! that the solver found there. What is followed is heat: the elements of each chip's thermal impedance, plates whose heat
//! capacity is stated, and conductors, windings and cores of which it is known how much heat they hold. Coolant, air, cases
//! and whatever else states no capacity follow at once, which is the cautious side while they warm.

#![expect(
    clippy::needless_range_loop,
    reason = "a lane is one place in several arrays, and its number says so"
)]

mod bodies;
mod course;
mod cycles;
mod doubt;
mod driven;
pub(crate) mod fuses;
mod layout;
pub mod mission;
mod state;
mod step;
mod stretch;
mod tell;

pub(crate) use course::{Courses, Followed, before, fill, follow};
pub(crate) use doubt::is_in_doubt;
pub use tell::BEGINS_UNKNOWN;
pub(crate) use tell::{Which, tell};
