//! The description language as its users meet it.

#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a test fails by panicking, and compares what it wrote"
)]

mod agreement;
mod overrides;
mod parts;
mod problems;
mod quantities;
mod reading;
mod schema;
mod variants;
mod workshop;
