//! How far every headroom may shrink within the tolerances that are known.
//!
//! Each varied value is moved to either end by itself, everything solved and judged again; what each takes from a headroom is
//! summed for the worst case, and as the root of the sum of squares. Then the worst case is solved as it is, all values at
//! their bad ends at once, and says whether the sum may be believed.

mod varied;

use std::collections::BTreeMap;

use loadworthy_unit::{DutyId, Edit, PartId, Solved, Unit, Variant};

pub use varied::{By, Varied, varied};

use crate::check::Check;
use crate::list::CHECKS;
use crate::review::{BrokenCheck, compared, said_once};
use crate::verdict::{Outcome, Verdict};

/// Corners that are solved at once.
const TOGETHER: usize = 16;
/// Share of what was summed by which the solved worst case may differ and the sum still counts as right.
const LINEAR_WITHIN: f64 = 0.1;
/// Headroom on its own scale below which a shift is none: a share, or kelvins.
const NONE: f64 = 1e-6;

/// A comparison apart from its numbers.
type Identity = (&'static str, PartId, &'static str, Option<DutyId>);

/// How the headrooms of one variant move.
#[derive(Clone, Debug, Default)]
pub struct Tolerance {
    /// What was varied.
    pub varied: Vec<Varied>,
    headrooms: BTreeMap<Identity, Shifts>,
    /// Checks that broke down over a variation.
    pub broken: Vec<BrokenCheck>,
}

/// How one headroom moves.
#[derive(Clone, Debug, PartialEq)]
pub struct Shifts {
    /// Headroom as described: a share of allowed, or kelvins.
    pub headroom: f64,
    /// What each value takes from it at its bad end, as its place in [`Tolerance::varied`], the largest first; nothing above
    /// zero is taken by a value that helps at either end.
    pub takes: Vec<Taken>,
    /// Headroom less the sum of what is taken.
    pub summed: f64,
    /// Headroom less the root of the sum of squares.
    pub root_sum_square: f64,
    /// With all values at their bad ends at once, solved again.
    pub solved: Left,
    /// Values at an end of which it cannot be judged, such as one with which a curve ends; which end is the bad one is not
    /// known of them.
    pub unknown: Vec<Unknown>,
}

/// What is left of a comparison with other values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Left {
    /// Its headroom.
    Headroom(f64),
    /// What is asked has no solution.
    Unsolved,
    /// It cannot be judged.
    NotJudged,
    /// Nothing is compared any more, such as a gain that is none.
    Nothing,
}

impl Left {
    fn of(verdict: &Verdict) -> Self {
        match (&verdict.outcome, verdict.comparison()) {
            (Outcome::NotJudged(_), _) => Self::NotJudged,
            (_, Some(compared)) => Self::Headroom(compared.headroom),
            (Outcome::Fails { .. }, None) => Self::Unsolved,
            (Outcome::Holds(_), None) => Self::Nothing,
        }
    }

    /// The headroom, where there is one.
    #[must_use]
    pub const fn headroom(self) -> Option<f64> {
        match self {
            Self::Headroom(headroom) => Some(headroom),
            Self::Unsolved | Self::NotJudged | Self::Nothing => None,
        }
    }

    /// Whether it fails.
    #[must_use]
    pub fn fails(self) -> bool {
        self == Self::Unsolved || self.headroom().is_some_and(|headroom| headroom < 0.0)
    }
}

/// An end of a value at which something cannot be judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unknown {
    /// Place of the value in [`Tolerance::varied`].
    pub varied: usize,
    /// Whether it is the high end.
    pub at_high: bool,
}

/// What one value takes from a headroom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Place of the value.
    pub varied: usize,
    /// What it takes at the end that takes more; infinite where what is asked has no solution there.
    pub takes: f64,
    /// Whether that end is the high one.
    pub at_high: bool,
}

impl Shifts {
    /// Whether the solved worst case is what the sum says.
    #[must_use]
    pub fn is_linear(&self) -> bool {
        let sum = self.headroom - self.summed;
        let is_near = |solved: f64| (solved - self.summed).abs() <= LINEAR_WITHIN * sum.abs() + NONE;
        self.solved.headroom().is_some_and(is_near)
    }
}

impl Tolerance {
    /// How the headroom of a verdict moves.
    #[must_use]
    pub fn of(&self, verdict: &Verdict) -> Option<&Shifts> {
        self.headrooms.get(&identity(verdict))
    }
}

const fn identity(verdict: &Verdict) -> Identity {
    (verdict.check, verdict.part, verdict.defect, verdict.duty())
}

/// How every headroom of a variant moves, with its verdicts as described.
#[must_use]
pub fn tolerance(unit: &Unit, variant: usize, verdicts: &[Verdict]) -> Tolerance {
    let variant = &unit.variants[variant];
    let mut bench = Bench {
        variant,
        checks: CHECKS.iter().copied().filter(|c| c.compares()).collect(),
        broken: Vec::new(),
    };
    let varied = varied(variant, verdicts);
    let trials: Vec<Vec<Edit>> = varied.iter().flat_map(|one| one.edits.iter().cloned()).collect();
    let ends = bench.headrooms(&trials);
    let (varied, ends) = without_idle(varied, ends, verdicts);
    let mut headrooms = BTreeMap::new();
    let mut corners: BTreeMap<Vec<(usize, bool)>, Vec<Identity>> = BTreeMap::new();
    for verdict in verdicts {
        let Some(compared) = verdict.comparison().filter(|compared| compared.headroom.is_finite()) else {
            continue;
        };
        let own = identity(verdict);
        let (mut takes, unknown) = taken(&varied, &ends, own, compared.headroom);
        let corner: Vec<(usize, bool)> = takes.iter().map(|one| (one.varied, one.at_high)).collect();
        takes.sort_by(|one, other| other.takes.total_cmp(&one.takes));
        let sum: f64 = takes.iter().map(|one| one.takes).sum();
        let squares: f64 = takes.iter().map(|one| one.takes * one.takes).sum();
        // With nothing to take from it, it stays; else it is solved below.
        let headroom = compared.headroom;
        let shifts = Shifts {
            headroom,
            takes,
            summed: headroom - sum,
            root_sum_square: headroom - squares.sqrt(),
            solved: Left::Headroom(headroom),
            unknown,
        };
        headrooms.insert(own, shifts);
        if !corner.is_empty() {
            corners.entry(corner).or_default().push(own);
        }
    }
    bench.corners(&varied, &corners, &mut headrooms);
    Tolerance { varied, headrooms, broken: bench.broken }
}

/// Without the defaults that move no headroom at either end, such as the times of a discharge that a bus has none of: nobody
/// has to know them better. What the description states a tolerance of stays, and is said to be varied.
fn without_idle(
    varied: Vec<Varied>,
    ends: Vec<BTreeMap<Identity, Left>>,
    verdicts: &[Verdict],
) -> (Vec<Varied>, Vec<BTreeMap<Identity, Left>>) {
    let known = |verdict: &Verdict| Some((identity(verdict), verdict.comparison()?.headroom));
    let headrooms: Vec<(Identity, f64)> =
        verdicts.iter().filter_map(known).filter(|(_, headroom)| headroom.is_finite()).collect();
    let moves = |at: &BTreeMap<Identity, Left>| {
        let stays = |at: f64, headroom: f64| (at - headroom).abs() <= NONE;
        headrooms.iter().any(|(own, headroom)| {
            !at.get(own).and_then(|at| at.headroom()).is_some_and(|at| stays(at, *headroom))
        })
    };
    let each = varied.into_iter().zip(ends.chunks_exact(2));
    let kept = each.filter(|(one, ends)| one.by == By::Stated || ends.iter().any(moves));
    kept.map(|(one, ends)| (one, ends.to_vec())).fold(
        (Vec::new(), Vec::new()),
        |(mut all, mut both), (one, ends)| {
            all.push(one);
            both.extend(ends);
            (all, both)
        },
    )
}

/// What each value takes from a headroom, of those that take anything, and those with which it cannot be judged.
fn taken(
    varied: &[Varied],
    ends: &[BTreeMap<Identity, Left>],
    own: Identity,
    headroom: f64,
) -> (Vec<Taken>, Vec<Unknown>) {
    let (mut all, mut unknown) = (Vec::new(), Vec::new());
    for (place, one) in varied.iter().enumerate() {
        let left = [0, 1].map(|end: usize| {
            let as_described = Left::Headroom(headroom);
            let there = || ends[2 * place + end].get(&own).copied().unwrap_or(Left::Nothing);
            if one.edits[end].is_empty() { as_described } else { there() }
        });
        let open = [0, 1].into_iter().filter(|&end: &usize| left[end] == Left::NotJudged);
        unknown.extend(open.map(|end| Unknown { varied: place, at_high: end == 1 }));
        let takes = left.map(|left| match left {
            Left::Headroom(at) => headroom - at,
            Left::Unsolved => f64::INFINITY,
            Left::NotJudged | Left::Nothing => 0.0,
        });
        let at_high = takes[1] > takes[0];
        let most = takes[usize::from(at_high)];
        if most > NONE {
            all.push(Taken { varied: place, takes: most, at_high });
        }
    }
    (all, unknown)
}

/// Solves and judges variations of one variant.
struct Bench<'u> {
    variant: &'u Variant,
    checks: Vec<&'static dyn Check>,
    broken: Vec<BrokenCheck>,
}

impl Bench<'_> {
    /// What each trial leaves of every comparison.
    fn headrooms(&mut self, trials: &[Vec<Edit>]) -> Vec<BTreeMap<Identity, Left>> {
        let mut all = Vec::with_capacity(trials.len());
        for together in trials.chunks(TOGETHER) {
            for solved in &Solved::with(self.variant, together) {
                let (mut verdicts, broken) = compared(&self.checks, solved);
                said_once(&self.checks, solved, &mut verdicts);
                for one in broken {
                    if !self.broken.contains(&one) {
                        self.broken.push(one);
                    }
                }
                all.push(verdicts.iter().map(|one| (identity(one), Left::of(one))).collect());
            }
        }
        all
    }

    /// Solves every corner and notes what is left there of the headrooms that have it as their worst.
    fn corners(
        &mut self,
        varied: &[Varied],
        corners: &BTreeMap<Vec<(usize, bool)>, Vec<Identity>>,
        headrooms: &mut BTreeMap<Identity, Shifts>,
    ) {
        let edits = |corner: &Vec<(usize, bool)>| {
            corner
                .iter()
                .flat_map(|&(place, high)| varied[place].edits[usize::from(high)].iter().copied())
                .collect()
        };
        let all: Vec<_> = corners.iter().collect();
        for some in all.chunks(TOGETHER) {
            let trials: Vec<Vec<Edit>> = some.iter().map(|(corner, _)| edits(corner)).collect();
            for ((_, those), left) in some.iter().zip(self.headrooms(&trials)) {
                for own in *those {
                    if let Some(shifts) = headrooms.get_mut(own) {
                        shifts.solved = left.get(own).copied().unwrap_or(Left::Nothing);
                    }
                }
            }
        }
    }
}
