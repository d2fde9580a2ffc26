//! A comparison: words that every form of it shares, and one file for each form.

pub(crate) mod said;
pub(crate) mod terminal;
