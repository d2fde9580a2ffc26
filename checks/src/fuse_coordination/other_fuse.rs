//! Other fuses of the same kind: I²t grows with the square of the rating, the lowest breaking current with it.

use loadworthy_unit::plan::Fuse;
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::{BREAKING, LET_THROUGH, NOT_CLEARED, OVERLOADED, SLOW, VOLTAGE, fuse_of};
use crate::check::{Change, Family, Proposal};
use crate::figure_text::{value, written};
use crate::steps::as_written;
use crate::verdict::{EQUAL_WITHIN, Verdict};

/// Rated currents of fuses (IEC 60269-1, with the steps in between that are usual).
const RATINGS: [f64; 34] = [
    2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 35.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0,
    160.0, 200.0, 225.0, 250.0, 300.0, 315.0, 350.0, 400.0, 450.0, 500.0, 550.0, 630.0, 700.0, 800.0, 900.0,
    1000.0, 1250.0,
];
/// Rated direct voltages, in V.
const VOLTAGES: [f64; 11] = [32.0, 58.0, 80.0, 125.0, 250.0, 450.0, 500.0, 700.0, 850.0, 1000.0, 1500.0];
/// Breaking capacities, in A.
const CAPACITIES: [f64; 7] = [2e3, 6e3, 10e3, 15e3, 20e3, 30e3, 50e3];
/// Time constants that breaking capacities are stated for, in s.
const CONSTANTS: [f64; 7] = [1e-3, 2e-3, 3e-3, 5e-3, 10e-3, 15e-3, 30e-3];
/// Other fuses that are tried.
const TRIED: usize = 6;

pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(fuse), Some(lane)) = (fuse_of(&solved.variant.plan, worst), worst.lane()) else {
        return Vec::new();
    };
    let name = solved.variant.path(solved.variant.plan.conductors[fuse.conductor].part);
    let ladder = match worst.defect {
        OVERLOADED => ratings(fuse, solved, lane, name, true),
        LET_THROUGH | NOT_CLEARED => ratings(fuse, solved, lane, name, false),
        VOLTAGE => larger((fuse.voltage, Dimension::Voltage), "voltage", &VOLTAGES, solved, lane, name),
        BREAKING => larger((fuse.breaking, Dimension::Current), "breaking", &CAPACITIES, solved, lane, name),
        SLOW => fuse.time_constant.map_or_else(Vec::new, |constant| {
            larger((constant, Dimension::Time), "time constant", &CONSTANTS, solved, lane, name)
        }),
        _ => Vec::new(),
    };
    let tried = ladder.last().map_or_else(String::new, |last: &Proposal| format!("up to {}", last.say));
    vec![Family { tried, ladder }]
}

/// The branch of what a fuse in another branch lets too much through to.
pub(super) fn branch_beyond<'v>(fuse: &Fuse, worst: &Verdict, solved: &Solved<'v>) -> Option<&'v str> {
    let conductors = &solved.variant.plan.conductors;
    let own = conductors.iter().find(|one| one.part == worst.part)?;
    (own.branch != conductors[fuse.conductor].branch).then(|| solved.variant.path(own.branch))
}

fn larger(
    (input, dimension): (InputId, Dimension),
    key: &str,
    sizes: &[f64],
    solved: &Solved<'_>,
    lane: LaneId,
    name: &str,
) -> Vec<Proposal> {
    let Some(now) = solved.input(input, lane) else { return Vec::new() };
    let sizes = sizes.iter().copied().filter(|&size| size > now * (1.0 + EQUAL_WITHIN)).take(TRIED);
    sizes
        .map(|size| Proposal {
            say: format!("{key} of {name}: {} -> {}", value(now, dimension), value(size, dimension)),
            change: Change::Edit(vec![(Edit { input, value: size }, written(size, dimension))]),
        })
        .collect()
}

/// A smaller fuse of the same kind.
pub(super) fn smaller(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> Family {
    let name = solved.variant.path(solved.variant.plan.conductors[fuse.conductor].part);
    let ladder = ratings(fuse, solved, lane, name, false);
    let tried = ladder.last().map_or_else(String::new, |last| format!("down to {}", last.say));
    Family { tried, ladder }
}

/// A fuse of the same kind with another rating.
fn ratings(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId, name: &str, is_larger: bool) -> Vec<Proposal> {
    let Some(now) = solved.input(fuse.rated, lane) else { return Vec::new() };
    let mut sizes: Vec<f64> = if is_larger {
        RATINGS.iter().copied().filter(|&amps| amps > now * (1.0 + EQUAL_WITHIN)).collect()
    } else {
        RATINGS.iter().rev().copied().filter(|&amps| amps < now * (1.0 - EQUAL_WITHIN)).collect()
    };
    sizes.truncate(TRIED);
    let step = |amps: f64| {
        let share = amps / now;
        let square = Dimension::SquaredCurrentTime;
        let mut edits = vec![(Edit { input: fuse.rated, value: amps }, written(amps, Dimension::Current))];
        for (input, factor, dimension) in [
            (fuse.melting, share * share, square),
            (fuse.clearing, share * share, square),
            (fuse.least_breaking, share, Dimension::Current),
        ] {
            if let Some(stated) = solved.input(input, lane) {
                let to = as_written(stated * factor);
                edits.push((Edit { input, value: to }, written(to, dimension)));
            }
        }
        Proposal {
            say: format!(
                "current of {name}: {} -> {}, a fuse of the same kind (I²t with the square)",
                value(now, Dimension::Current),
                value(amps, Dimension::Current)
            ),
            change: Change::Edit(edits),
        }
    };
    sizes.into_iter().map(step).collect()
}
