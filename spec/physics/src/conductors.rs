//! Conductors: what their copper resists, how alternating current crowds in it, and how hot it gets.
//!
//! Long bodies: what stands at their ends neither cools nor heats them. Takes currents as given.

pub mod cable;
pub mod copper;
pub mod foil;
pub mod free_air;
pub mod skin;
pub mod warming;
