//! What a result looks like: one file for each form.

pub(crate) mod csv;
pub(crate) mod figures;
pub(crate) mod json;
pub(crate) mod layout;
pub(crate) mod patch;
pub(crate) mod places;
pub(crate) mod terminal;
pub(crate) mod tree;
