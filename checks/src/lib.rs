//! The checks, and the review that runs them.
//!
//! A check reads a solved variant and returns verdicts, nothing else. The review solves, lets every check judge, groups
//! failures by cause, tries what would hold, and names the inputs and defaults that the verdicts rest on. Nothing here
//! opens a file or prints.

pub mod cause;
pub mod check;
pub mod collect;
pub mod corner;
mod current_headroom;
pub mod figure_text;
mod junction_temperature;
pub mod list;
mod output_reach;
pub mod remarks;
pub mod review;
mod seats;
mod steps;
mod tell;
pub mod verdict;

pub use check::{About, Check};
pub use collect::Verdicts;
pub use review::{Review, review};
