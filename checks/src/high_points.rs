//! Where along the coolant air gathers: passages whose neighbours on every side are lower.
//!
//! Each place has two ends with a height. Air climbs to a neighbour that is higher, whichever way the coolant flows, and
//! leaves through the inlet, the outlet or a vent. What is a summit for it and none of these is a trap, unless the coolant
//! carries air down from there.

use std::collections::BTreeSet;

use loadworthy_unit::plan::{CoolantLeg, CoolantPath, CoolantRow};
use loadworthy_unit::{InputId, LaneId, Solved};

/// Metres by which two heights may differ and still count as level.
const LEVEL: f64 = 1e-3;

/// A summit from which air cannot climb on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Summit {
    /// The place that it belongs to, the first along the flow, and which end of it: 0 in, 1 out.
    pub(crate) at: (usize, usize),
    /// Places whose passage, or the hose behind it, leads the coolant down from there.
    pub(crate) falls: Vec<usize>,
    /// Heights beside it that are not stated: with them it may be none.
    pub(crate) unknown: Vec<InputId>,
}

/// Heights and vents of every place, as a lane has them.
pub(crate) struct Profile {
    heights: Vec<Option<f64>>,
    vented: Vec<bool>,
    /// Ends that follow each end along the flow, and those before it.
    after: Vec<Vec<usize>>,
    before: Vec<Vec<usize>>,
    /// Ends at the inlet or the outlet of the unit.
    is_open: Vec<bool>,
}

impl Profile {
    /// The profile of a path whose rows are visited as `legs_of` says.
    pub(crate) fn of(
        solved: &Solved<'_>,
        path: &CoolantPath,
        lane: Option<LaneId>,
        legs_of: &dyn Fn(CoolantRow) -> Vec<CoolantLeg>,
    ) -> Self {
        let ends = path.places.iter().flat_map(|place| place.elevation);
        let mut this = Self {
            heights: ends.map(|end| stated(solved, end, lane)).collect(),
            vented: path
                .places
                .iter()
                .map(|place| stated(solved, place.vented, lane).is_some_and(|vented| vented > 0.5))
                .collect(),
            after: vec![Vec::new(); 2 * path.places.len()],
            before: vec![Vec::new(); 2 * path.places.len()],
            is_open: vec![false; 2 * path.places.len()],
        };
        let exits = this.row(path, CoolantRow::Path, &[], legs_of);
        for exit in exits {
            this.is_open[exit] = true;
        }
        this
    }

    /// Lays a row behind some ends, none of which are the inlet of the unit; gives the ends that it leaves.
    fn row(
        &mut self,
        path: &CoolantPath,
        row: CoolantRow,
        behind: &[usize],
        legs_of: &dyn Fn(CoolantRow) -> Vec<CoolantLeg>,
    ) -> Vec<usize> {
        let mut ends = behind.to_vec();
        for leg in legs_of(row) {
            ends = match leg {
                CoolantLeg::Place(place) => {
                    self.is_open[2 * place] |= ends.is_empty();
                    for end in ends {
                        self.join(end, 2 * place);
                    }
                    self.join(2 * place, 2 * place + 1);
                    vec![2 * place + 1]
                }
                CoolantLeg::Split(split) => {
                    let branches = path.splits.get(split).map_or(0, |split| split.branches.len());
                    let branches = 0..branches;
                    branches
                        .flat_map(|branch| self.row(path, CoolantRow::Branch(split, branch), &ends, legs_of))
                        .collect()
                }
            };
        }
        ends
    }

    fn join(&mut self, from: usize, to: usize) {
        self.after[from].push(to);
        self.before[to].push(from);
    }

    /// Every summit without a vent, in the order of the places.
    pub(crate) fn summits(&self, path: &CoolantPath) -> Vec<Summit> {
        // The plateau that each end belongs to, by where that starts.
        let mut of: Vec<Option<usize>> = vec![None; self.heights.len()];
        let mut summits = Vec::new();
        for start in 0..self.heights.len() {
            let Some(height) = self.heights[start].filter(|_| of[start].is_none()) else { continue };
            let plateau = self.plateau(start, height, &mut of);
            let vents = |end: &usize| {
                let other = self.heights[end ^ 1].is_none_or(|other| other <= height + LEVEL);
                self.vented[end / 2] && other
            };
            if plateau.iter().any(|&end| self.is_open[end]) || plateau.iter().any(vents) {
                continue;
            }
            let beside: Vec<usize> = plateau
                .iter()
                .flat_map(|&end| self.beside(end))
                .filter(|&end| of[end] != Some(start))
                .collect();
            if beside.iter().any(|&end| self.heights[end].is_some_and(|other| other > height)) {
                continue;
            }
            let open = beside.iter().filter(|&&end| self.heights[end].is_none());
            let mut unknown: Vec<InputId> =
                open.map(|&end| path.places[end / 2].elevation[end % 2]).collect();
            let falls = self.falls(&plateau, path, &mut unknown);
            summits.push(Summit { at: (start / 2, start % 2), falls, unknown });
        }
        summits
    }

    /// Ends that are joined to one at its height.
    fn plateau(&self, start: usize, height: f64, of: &mut [Option<usize>]) -> Vec<usize> {
        let mut plateau = vec![start];
        of[start] = Some(start);
        let mut next = 0;
        while let Some(&end) = plateau.get(next) {
            next += 1;
            for other in self.beside(end).collect::<Vec<_>>() {
                let is_level = self.heights[other].is_some_and(|other| (other - height).abs() <= LEVEL);
                if is_level && of[other].is_none() {
                    of[other] = Some(start);
                    plateau.push(other);
                }
            }
        }
        plateau
    }

    /// Ends that an end is joined to.
    fn beside(&self, end: usize) -> impl Iterator<Item = usize> + '_ {
        self.after[end].iter().chain(&self.before[end]).copied()
    }

    /// Places that lead down from a plateau along the flow, to where the coolant rises again or leaves.
    fn falls(&self, plateau: &[usize], path: &CoolantPath, unknown: &mut Vec<InputId>) -> Vec<usize> {
        let mut reached = plateau.to_vec();
        let mut is_reached: BTreeSet<usize> = plateau.iter().copied().collect();
        let mut falls = Vec::new();
        let mut next = 0;
        while let Some(&end) = reached.get(next) {
            next += 1;
            let Some(height) = self.heights[end] else { continue };
            for &to in &self.after[end] {
                match self.heights[to] {
                    None => {
                        let height = path.places[to / 2].elevation[to % 2];
                        if !unknown.contains(&height) {
                            unknown.push(height);
                        }
                    }
                    Some(other) if other > height + LEVEL => {}
                    Some(other) => {
                        if other < height - LEVEL && falls.last() != Some(&(end / 2)) {
                            falls.push(end / 2);
                        }
                        if is_reached.insert(to) {
                            reached.push(to);
                        }
                    }
                }
            }
        }
        falls.sort_unstable();
        falls.dedup();
        falls
    }

    /// By how much the coolant leaves the unit lower than it enters, where that is known.
    pub(crate) fn drop(&self) -> Option<f64> {
        let entered: Vec<usize> = self.ends(true);
        let left: Vec<usize> = self.ends(false);
        let highest = |ends: &[usize]| {
            let heights = ends.iter().map(|&end| self.heights[end]).collect::<Option<Vec<f64>>>()?;
            heights.into_iter().reduce(f64::max)
        };
        Some(highest(&entered)? - highest(&left)?).filter(|drop| *drop > LEVEL)
    }

    /// Ends at the inlet of the unit, or at its outlet.
    fn ends(&self, inlet: bool) -> Vec<usize> {
        (0..self.heights.len()).filter(|&end| self.is_open[end] && (end % 2 == 0) == inlet).collect()
    }

    /// Whether a place has both of its heights.
    pub(crate) fn is_known(&self, place: usize) -> bool {
        self.heights[2 * place].is_some() && self.heights[2 * place + 1].is_some()
    }
}

/// An input in a lane, or as it is stated where there is no lane.
fn stated(solved: &Solved<'_>, input: InputId, lane: Option<LaneId>) -> Option<f64> {
    match lane {
        Some(lane) => solved.input(input, lane),
        None => {
            let edited = solved.edits().iter().rev().find(|edit| edit.input == input).map(|edit| edit.value);
            let first = solved.variant.tables.input_of(input).values.first().map(|stated| stated.value);
            edited.or(first).filter(|value| value.is_finite())
        }
    }
}

/// A path as it is described.
pub(crate) fn as_described(path: &CoolantPath) -> impl Fn(CoolantRow) -> Vec<CoolantLeg> + '_ {
    |row| path.row(row).to_vec()
}
