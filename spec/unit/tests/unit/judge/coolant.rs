//! Coolant from plate to plate, and its division by equal pressure drops.

use crate::judge::search;

/// A plate in the flow.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plate {
    /// Share of its own warming at which its resistances are referred.
    pub(crate) share: f64,
    /// Its own resistance, which all heat on it passes.
    pub(crate) resistance: f64,
    pub(crate) heat: f64,
}

/// What each of several plates in a row offers to what stands on it, and what leaves the last.
pub(crate) fn row<const N: usize>(inlet: f64, rate: f64, plates: [Plate; N]) -> ([f64; N], f64) {
    let mut coolant = inlet;
    let offered = plates.map(|plate| {
        let warming = plate.heat / rate;
        let here = coolant + plate.share * warming + plate.resistance * plate.heat;
        coolant += warming;
        here
    });
    (offered, coolant)
}

/// Flows of two branches that drop the same pressure and make up the whole. Each drop rises with its flow.
pub(crate) fn split(whole: f64, drops: [&dyn Fn(f64) -> f64; 2]) -> [f64; 2] {
    let left = search::halve(0.0, whole, |flow| drops[0](flow) - drops[1](whole - flow));
    [left, whole - left]
}
