//! How parallel devices share a current.
//!
//! Answers what the worst placed device of a group carries: by the spread of its on-state figures alone, with
//! the temperatures that follow from it, by the layout and while it switches. One device at its low limit
//! and all others at their high limit is the worst that can be built; it is rare, and [`three_sigma_spread`]
//! says which spread stands for independent parts.

mod corner;
mod layout;
mod skew;
mod spread;
mod warm;

pub use corner::{CORNER, Corner, CornerPoint, HOGGING_GAIN, OnStateLine, Stability, corner, hogging_gain};
pub use layout::{INDUCTIVE_SHARE, RAIL_SHARES, inductive_share, rail_shares};
pub use skew::{ENERGY_SKEW, SKEW, Skew, energy_skew, skew};
pub use spread::{
    DERATING, GROUP_CURRENT, MINIMUM_COUNT, STATIC_SPLIT, THREE_SIGMA_SPREAD, WORST_SHARE, derating,
    group_current, minimum_count, static_split, three_sigma_spread, worst_share,
};
pub use warm::{WARM_SPLIT, WarmDevice, warm_split};
