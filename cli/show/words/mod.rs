//! What is said of a review in every form that people read, without lines, margins or escapes, which belong to the form.

pub(crate) mod fault;
pub(crate) mod finding;
pub(crate) mod permit;
pub(crate) mod review;
