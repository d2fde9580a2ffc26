//! The description language as its users meet it.

#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a test fails by panicking, and compares what it wrote"
)]

mod agreement;
mod circuit;
mod cooling;
mod credible;
mod credible_between;
mod credible_parts;
mod difference;
mod gates_and_isolation;
mod meant;
mod merges;
mod mutations;
mod overrides;
mod parts;
mod problems;
mod quantities;
mod reading;
mod schema;
mod variants;
mod workshop;
