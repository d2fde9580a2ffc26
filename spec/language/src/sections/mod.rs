//! The sections of a description, one file each.
//!
//! Everything that may be missing is optional here; what is missing is named where it is needed.

pub mod buses;
pub mod cooling;
pub mod devices;
pub mod duty;
pub mod header;
pub mod machines;
pub mod policy;
pub mod sources;
pub mod stages;
