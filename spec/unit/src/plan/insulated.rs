//! Domains and the barriers between them, as far as a lost barrier is concerned.

use crate::ids::PartId;

/// Part of the circuit whose potentials belong together.
#[derive(Clone, Debug)]
pub struct Insulated {
    /// Its name.
    pub name: String,
    /// Whether a person can touch it.
    pub is_touchable: bool,
    /// Whether it is bonded to the chassis.
    pub is_bonded: bool,
    /// Its buses, in the plan.
    pub buses: Vec<usize>,
}

/// What isolates two domains.
#[derive(Clone, Debug)]
pub struct Between {
    /// The barrier.
    pub part: PartId,
    /// The domains, by their places.
    pub domains: [usize; 2],
    /// What lies across it, by name.
    pub spanned_by: Vec<String>,
}
