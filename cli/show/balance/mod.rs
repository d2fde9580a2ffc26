//! Where the power of a duty point goes: from the sources down to machines and loads, what each stage loses on the way,
//! and what the coolant makes of it.

mod account;
mod coolant;
pub(crate) mod csv;
mod scale;
mod table;
pub(crate) mod terminal;
mod walk;

pub(crate) use account::{Account, Sum, accounts};
pub(crate) use coolant::{Passed, passed};
pub(crate) use walk::{Line, Manner};
