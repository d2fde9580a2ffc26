//! What a result looks like: one file for each form.

pub(crate) mod balance;
pub(crate) mod besides;
pub(crate) mod capability;
pub(crate) mod cautions;
pub(crate) mod check_page;
pub(crate) mod compare;
pub(crate) mod csv;
pub(crate) mod figures;
pub(crate) mod html;
pub(crate) mod json;
pub(crate) mod layout;
pub(crate) mod lines;
pub(crate) mod markdown;
pub(crate) mod mission;
pub(crate) mod outline;
pub(crate) mod patch;
pub(crate) mod places;
pub(crate) mod resolved;
pub(crate) mod sarif;
pub(crate) mod size;
pub(crate) mod stress;
pub(crate) mod terminal;
pub(crate) mod tolerance;
pub(crate) mod tree;
pub(crate) mod why;
pub(crate) mod words;
pub(crate) mod yaml;

#[cfg(test)]
mod structure_tests;
