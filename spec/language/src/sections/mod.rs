//! The sections of a description, one file each.
//!
//! Everything that may be missing is optional here; what is missing is named where it is needed.

pub mod branches;
pub mod buses;
pub mod capacitors;
pub mod conductors;
pub mod cooling;
pub mod devices;
pub mod drivers;
pub mod duty;
pub mod gate_supplies;
pub mod header;
pub mod isolation;
pub mod machines;
pub mod magnetics;
pub mod missions;
pub mod policy;
pub mod sensors;
pub mod sources;
mod stage_parts;
pub mod stages;
