//! The vocabulary of the `policy` section.
//!
//! Each check declares the policy items that it uses; the schema and the reader are composed from them, so that
//! an item nobody reads is an unknown name.

use crate::quantity::Dimension;

/// One name of the `policy` section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PolicyItem {
    /// Its key, e.g. `device_peak_current`.
    pub name: &'static str,
    /// What it limits, in one sentence.
    pub help: &'static str,
    /// How it is stated, and what the edition takes where it is not.
    pub form: PolicyForm,
    /// The edition that introduced it.
    pub since: u32,
}

/// How a policy item leaves a part of a limit unused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PolicyForm {
    /// `use_at_most`: allowed is the limit times a share.
    UseAtMost {
        /// The share that the edition takes.
        default: f64,
        /// The shares that teams usually choose.
        usual: (f64, f64),
    },
    /// `keep`: allowed is the limit less a distance.
    Keep {
        /// What the distance is of.
        dimension: Dimension,
        /// The distance that the edition takes, in the unit of [`Dimension::unit`].
        default: f64,
        /// The distances that teams usually choose.
        usual: (f64, f64),
    },
}

impl PolicyForm {
    /// The key that states it.
    pub const fn key(&self) -> &'static str {
        match self {
            Self::UseAtMost { .. } => "use_at_most",
            Self::Keep { .. } => "keep",
        }
    }
}
