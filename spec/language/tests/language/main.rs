//! The description language as its users meet it.

mod agreement;
mod overrides;
mod parts;
mod problems;
mod quantities;
mod reading;
mod schema;
mod variants;
mod workshop;
