//! The worst of every verdict so far.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::{Cause, DutyId, PartId};

use super::cycles::Swings;
use super::energy::Energies;
use super::wear::Wear;
use crate::verdict::{Outcome, Verdict};

/// A comparison of one part, over all rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// The check.
    pub check: &'static str,
    /// The part.
    pub part: PartId,
    /// What is, or would be, wrong with it.
    pub defect: &'static str,
}

impl Key {
    pub(super) fn of(verdict: &Verdict) -> Self {
        Self { check: verdict.check, part: verdict.part, defect: verdict.defect }
    }
}

/// What a mission came to.
#[derive(Clone, Debug)]
pub struct Tally {
    /// Rows.
    pub rows: usize,
    /// How long they last together, in s.
    pub lasts: f64,
    /// The worst of every verdict.
    pub worst: BTreeMap<Key, Worst>,
    /// Rows without a solution.
    pub unsolved: usize,
    /// Rows whose heat could not be followed in full.
    pub not_followed: usize,
    /// The first of these that have a solution, and why.
    pub lost: Vec<Lost>,
    /// Where the energy went.
    pub energies: Energies,
    /// Rows that the checks themselves judged.
    pub judged: usize,
    /// How junctions came and went, once the mission has ended.
    pub swings: Vec<Swings>,
    /// Rows that are left out of that.
    pub uncounted: usize,
    /// What capacitors went through, of each bank that states an endurance or has to last.
    pub wear: Vec<Wear>,
}

/// A row whose heat could not be followed.
#[derive(Clone, Debug)]
pub struct Lost {
    /// The row, from 0.
    pub row: usize,
    /// The duty point that it is made of.
    pub duty: DutyId,
    /// What it waits for.
    pub causes: Vec<Cause>,
}

/// The worst verdict on a part, and where it happened.
#[derive(Clone, Debug)]
pub struct Worst {
    /// The verdict.
    pub verdict: Verdict,
    /// Its row, from 0.
    pub row: usize,
    /// When the row begins, in s.
    pub begins: f64,
    /// The duty point that the row is made of.
    pub duty: DutyId,
    /// Whether a rotor stands in it.
    pub stands: bool,
    /// How long it fails over the whole mission, in s.
    pub fails_for: f64,
    /// The duty points of the rows in which it fails.
    pub fails_in: BTreeSet<DutyId>,
    /// The most that is carried in any of them.
    pub most: f64,
    /// In how many rows it could not be judged.
    pub not_judged: usize,
}

impl Worst {
    /// Headroom of the worst; of what compares nothing, and fails, none at all.
    pub(super) fn headroom(&self) -> f64 {
        match (&self.verdict.outcome, self.verdict.comparison()) {
            (_, Some(comparison)) => comparison.headroom,
            (Outcome::Fails { .. }, None) => f64::NEG_INFINITY,
            _ => f64::INFINITY,
        }
    }
}
