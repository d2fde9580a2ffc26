//! Insulation between circuits: which voltage stands across it, how far apart that asks them to be, and how much
//! protection a barrier is worth.
//!
//! The figures of the tables follow IEC 60664-1 in its second edition (2007), with the numbers of tables of the third
//! (2020). They are copies whose certainty is stated cell by cell ([`Certainty`]); the edition in force, the standard of
//! the machine and a qualified person decide. A distance that meets them raises no objection, which is not the same as
//! being safe. Outside a table nothing is extrapolated: [`NotGiven`] says why there is no figure.

pub mod altitude;
pub mod certainty;
pub mod clearance;
pub mod common_mode;
pub mod creepage;
pub mod frame_peak;
pub mod isolation_resistance;
pub mod material;
pub mod not_given;
pub mod pole_capacitors;
pub mod protection;
pub mod rated_impulse;
mod rows;
mod tables;
pub mod voltage_class;
pub mod weakest_path;
pub mod working_voltage;

pub use certainty::Certainty;
pub use not_given::NotGiven;
pub use rows::{Between, PollutionDegree, Rows};
