//! Inputs and figures that several solutions have in common until one of them writes its own.

use core::ops::{Deref, DerefMut};
use std::sync::Arc;

use super::spare;

/// The inputs or the figures of a block. A copy of them costs nothing while nobody writes: most trials of what figures are
/// only held against leave all figures as they are, and several may look at one solution.
#[derive(Clone, Debug)]
pub struct Shared<const L: usize>(Arc<[f64]>);

impl<const L: usize> Shared<L> {
    /// So many, none known yet.
    #[must_use]
    pub fn unknown(many: usize) -> Self {
        Self(spare::filled(many * L))
    }

    /// Whether both are one and the same, so that none needs to be looked at.
    #[must_use]
    pub fn are_those_of(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl<const L: usize> Deref for Shared<L> {
    type Target = [[f64; L]];

    fn deref(&self) -> &Self::Target {
        self.0.as_chunks().0
    }
}

impl<const L: usize> DerefMut for Shared<L> {
    fn deref_mut(&mut self) -> &mut Self::Target {
        if Arc::get_mut(&mut self.0).is_none() {
            self.0 = spare::copied(&self.0);
        }
        Arc::make_mut(&mut self.0).as_chunks_mut().0
    }
}

impl<const L: usize> Drop for Shared<L> {
    fn drop(&mut self) {
        spare::take_back(core::mem::take(&mut self.0));
    }
}
