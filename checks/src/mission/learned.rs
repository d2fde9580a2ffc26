//! Comparisons as the checks made them in a regime, to be made again in rows like it.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::mission::Chunk;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, FigureId, InputId, PolicyItem, Variant};

use super::tally::Key;
use crate::collect::allowed;
use crate::verdict::{Comparison, Outcome, Verdict};

/// What the checks say in one regime.
#[derive(Clone, Debug, Default)]
pub(super) struct Learned {
    /// What is compared.
    pub(super) compared: Vec<Compared>,
    /// What could not be judged.
    pub(super) not_judged: Vec<Key>,
    /// Checks with a verdict that is no plain comparison of figures and inputs: they must judge every row.
    pub(super) opaque: Vec<&'static str>,
}

/// A comparison.
#[derive(Clone, Debug)]
pub(super) struct Compared {
    pub(super) key: Key,
    /// Where the least headroom of it stands; see `Least`.
    pub(super) place: usize,
    carried: FigureId,
    limit: Limit,
    left: Option<(&'static PolicyItem, f64)>,
    dimension: Dimension,
}

#[derive(Clone, Copy, Debug)]
enum Limit {
    Figure(FigureId),
    Input(InputId),
    Always(f64),
}

impl Learned {
    /// Takes the verdicts of one row.
    pub(super) fn of(variant: &Variant, chunk: &Chunk<'_>, row: usize, verdicts: &[&Verdict]) -> Self {
        let mut learned = Self::default();
        for verdict in verdicts {
            let key = Key::of(verdict);
            match (&verdict.outcome, verdict.comparison()) {
                (Outcome::NotJudged(_), _) => learned.not_judged.push(key),
                (_, Some(comparison)) => {
                    let compared = Compared::of(variant, key, comparison);
                    let again = compared.as_ref().map(|compared| compared.again(chunk, row).headroom);
                    if again.map(f64::to_bits) != Some(comparison.headroom.to_bits()) {
                        learned.opaque.push(key.check);
                    }
                    learned.compared.extend(compared);
                }
                (_, None) => learned.opaque.push(key.check),
            }
        }
        learned
    }

    /// Leaves out what some checks say.
    pub(super) fn leave(&mut self, checks: &BTreeSet<&'static str>) {
        self.compared.retain(|compared| !checks.contains(compared.key.check));
        self.not_judged.retain(|key| !checks.contains(key.check));
    }
}

/// The least headroom of each comparison so far, in places that rows find without a search.
#[derive(Debug, Default)]
pub(super) struct Least {
    places: BTreeMap<Key, usize>,
    headrooms: Vec<f64>,
}

impl Least {
    /// Of the comparison at a place.
    pub(super) fn at(&self, place: usize) -> f64 {
        self.headrooms[place]
    }

    /// The place of a comparison.
    pub(super) fn place(&mut self, key: Key) -> usize {
        *self.places.entry(key).or_insert_with(|| {
            self.headrooms.push(f64::INFINITY);
            self.headrooms.len() - 1
        })
    }

    /// Notes what is the least from now on.
    pub(super) fn note(&mut self, key: Key, headroom: f64) {
        let place = self.place(key);
        self.headrooms[place] = headroom;
    }
}

impl Compared {
    /// None where the limit is a law's own that may be another in another row.
    fn of(variant: &Variant, key: Key, comparison: &Comparison) -> Option<Self> {
        let limit = match comparison.limit_from {
            Some(Operand::Figure(id)) => Limit::Figure(id),
            Some(Operand::Input(id)) => Limit::Input(id),
            None if comparison.is_lasting => Limit::Always(comparison.limit),
            Some(Operand::Curve(_)) | None => return None,
        };
        let left = comparison
            .policy
            .map(|item| (item, variant.policy(item).map_or(f64::NAN, |value| value.stated.value)));
        Some(Self {
            key,
            place: 0,
            carried: comparison.carried,
            limit,
            left,
            dimension: comparison.dimension,
        })
    }

    /// The comparison in another row.
    pub(super) fn again(&self, chunk: &Chunk<'_>, row: usize) -> Comparison {
        let (limit, from) = match self.limit {
            Limit::Figure(id) => (chunk.raw(id, row), Some(Operand::Figure(id))),
            Limit::Input(id) => (chunk.input(id, row), Some(Operand::Input(id))),
            Limit::Always(limit) => (limit, None),
        };
        let (permitted, policy) = match self.left {
            Some((item, left)) => (allowed(item, limit, left), Some(item)),
            None => (limit, None),
        };
        let carried = (self.carried, chunk.raw(self.carried, row));
        Comparison::new(carried, (limit, from), (permitted, policy), self.dimension)
    }
}
