//! What a mission uses of the life of capacitors: the sum of each row's time over the life that they have in it.

use loadworthy_unit::mission::{Chunk, Rows};
use loadworthy_unit::plan::Bank;
use loadworthy_unit::{FigureId, PartId, Variant};

/// What the capacitors of a bank went through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wear {
    /// The bank.
    pub part: PartId,
    /// Share of their life that the rows use in which it is known.
    pub of_known: f64,
    /// How many rows there are in which it is not.
    pub unknown: usize,
}

impl Wear {
    /// Share of their life that is used; none where it is not known in every row.
    #[must_use]
    pub fn used(&self) -> Option<f64> {
        (self.unknown == 0).then_some(self.of_known)
    }

    /// How many times the mission may be driven until that life is used up.
    #[must_use]
    pub fn runs(&self) -> Option<f64> {
        self.used().filter(|&used| used > 0.0).map(|used| 1.0 / used)
    }
}

/// The banks whose capacitors state an endurance, or that have to last.
fn lasting(variant: &Variant) -> impl Iterator<Item = (&Bank, FigureId)> {
    variant.plan.banks.iter().filter_map(|bank| Some((bank, bank.life?.lasts)))
}

/// None yet.
pub(super) fn none(variant: &Variant) -> Vec<Wear> {
    lasting(variant).map(|(bank, _)| Wear { part: bank.part, of_known: 0.0, unknown: 0 }).collect()
}

/// What a chunk adds. Rows are steady states: no hot spot warms more slowly than that.
pub(super) fn of(variant: &Variant, chunk: &Chunk<'_>, rows: &Rows) -> Vec<Wear> {
    let mut all = none(variant);
    for (wear, (_, lasts)) in all.iter_mut().zip(lasting(variant)) {
        for (row, time) in rows.lasts.iter().enumerate() {
            let life = chunk.raw(lasts, row);
            if chunk.is_solved(row) && life > 0.0 {
                wear.of_known += time / life;
            } else {
                wear.unknown += 1;
            }
        }
    }
    all
}

/// Adds what came later.
pub(super) fn then(all: &mut [Wear], later: &[Wear]) {
    for (own, its) in all.iter_mut().zip(later) {
        own.of_known += its.of_known;
        own.unknown += its.unknown;
    }
}
