//! Dividers between two isolation domains.

use crate::ids::{InputId, PartId};

/// Resistors of a sensor that lead from a rail to another domain.
#[derive(Clone, Copy, Debug)]
pub struct Divider {
    /// The sensor.
    pub part: PartId,
    /// The domain that it measures in.
    pub domain: usize,
    /// The two domains, the smaller first.
    pub between: (usize, usize),
    /// All of its resistance.
    pub resistance: InputId,
    /// How many resistors make it up.
    pub resistors: InputId,
    /// Largest current that may pass with one of them shorted.
    pub allowed: InputId,
}
