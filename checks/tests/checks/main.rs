//! The checks on whole descriptions: their own examples, boundaries, proposals, what is missing.

mod assumptions;
mod boundaries;
mod broken_check;
mod causes;
mod descriptions;
mod missing;
mod no_solution;
mod own_examples;
mod proposals;
