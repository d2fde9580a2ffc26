//! The rows of a mission: steps of the description, or a file of comma-separated rows.

mod accepted;
mod header;
mod rows;

pub(crate) use accepted::accepted;
pub(crate) use rows::{Mistakes, Reader};
