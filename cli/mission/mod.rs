//! The rows of a mission: steps of the description, or a file of comma-separated rows.

mod header;
mod rows;

pub(crate) use rows::{Mistakes, Reader};
