//! A judge of whole units: circuits switched in time, devices on their drawn curves, heat and coolant, power balance.
//!
//! Nothing in here knows a closed form of the solver, and nothing is shared with it but the numbers of the description.

pub(crate) mod agreement;
pub(crate) mod coolant;
pub(crate) mod forward;
pub(crate) mod full_bridge;
pub(crate) mod leg;
pub(crate) mod ramps;
pub(crate) mod search;
pub(crate) mod sheets;
