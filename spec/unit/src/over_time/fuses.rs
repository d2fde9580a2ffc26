//! How warm loads that come and go leave fuses, which contactors have to spare from melting.

use loadworthy_physics::fuse_warmth::{AS_WARM, after_cycle, bodies, body_after};
use loadworthy_physics::{Current, SquaredCurrent, Time};

use crate::ids::{DutyId, LaneId};
use crate::over_time::course::At;
use crate::over_time::mission::Chunk;
use crate::plan::{Apart, Fuse, Melted, Plan};
use crate::solved::{Solved, WIDTH};
use crate::solver::{Block, UNMELTED};
use crate::trace::{Operand, Trace};
use crate::variant::Variant;

/// Fuses of which it counts how warm they are, each with its place among those that melt.
fn warmed(plan: &Plan) -> impl Iterator<Item = (usize, &Melted, &Fuse, &Apart)> {
    plan.melted.iter().enumerate().filter_map(|(place, melted)| {
        let fuse = &plan.fuses[melted.fuse];
        let apart = melted.apart.as_ref().filter(|_| fuse.curve.is_some())?;
        Some((place, melted, fuse, apart))
    })
}

fn points(fuse: &Fuse) -> &[(f64, f64)] {
    fuse.curve.as_ref().map_or(&[], |curve| &curve.points)
}

/// The load that leaves each fuse as warm at the end of a duty point that recurs, in A, with its place among those that melt;
/// none of a lane that does not. What flows in between is the most of the duty points that it starts from.
pub(crate) fn recurring<'b, const L: usize>(
    variant: &Variant,
    plan: &Plan,
    lane: LaneId,
    find: impl Fn(LaneId) -> Option<At<'b, L>>,
) -> Vec<(usize, f64)> {
    let duty = variant.duty_of(lane);
    let (Some(lasts), Some(every), Some((block, l))) = (duty.lasts, duty.every, find(lane)) else {
        return Vec::new();
    };
    let from = super::before(variant, lane);
    let load = |(place, _, fuse, _): (usize, &Melted, &Fuse, &Apart)| {
        let current = plan.conductors[fuse.conductor].current;
        let between = from.iter().fold(0.0, |most: f64, &other| {
            let amps = find(other).map_or(f64::NAN, |(block, l)| block.figures[current.index()][l].abs());
            // What is missing stays missing.
            if most >= amps || most.is_nan() { most } else { amps }
        });
        let on = (Current::new(block.figures[current.index()][l]), Time::new(lasts));
        let off = (Current::new(between), Time::new(every.max(lasts)));
        let melts = block.inputs[fuse.conventional.index()][l];
        // Of what follows upon something unknown, what it comes to if held for good is left.
        let load = after_cycle(on, off, bodies(points(fuse), melts)).si();
        (!between.is_nan()).then_some((place, load))
    };
    warmed(plan).filter_map(load).collect()
}

/// Says of every lane that recurs how warm its cycle leaves fuses.
pub(crate) fn warm(variant: &Variant, plan: &Plan, blocks: &mut [Block<WIDTH>]) {
    if warmed(plan).next().is_none() {
        return;
    }
    for lane in variant.lane_ids() {
        let loads =
            recurring(variant, plan, lane, |id| Some((&blocks[id.index() / WIDTH], id.index() % WIDTH)));
        fill(plan, &mut blocks[lane.index() / WIDTH], lane.index() % WIDTH, &loads);
    }
}

/// Writes such a load, and what does not melt its fuse after it.
pub(crate) fn fill<const L: usize>(plan: &Plan, block: &mut Block<L>, l: usize, loads: &[(usize, f64)]) {
    for &(place, load) in loads {
        let melted = &plan.melted[place];
        let Some(apart) = &melted.apart else { continue };
        let unmelted = melted.unmelted(plan, load, |operand| match operand {
            Operand::Figure(id) => block.figures[id.index()][l],
            Operand::Input(id) => block.inputs[id.index()][l],
            Operand::Curve(_) => f64::NAN,
        });
        block.figures[apart.load.index()][l] = load;
        block.figures[apart.unmelted.index()][l] = unmelted;
    }
}

/// Tells how that came about in a lane that recurs.
pub(crate) fn tell<T: Trace>(plan: &Plan, trace: &mut T) {
    for (_, melted, fuse, apart) in warmed(plan) {
        let current = plan.conductors[fuse.conductor].current;
        let mut from: Vec<Operand> = vec![current.into(), fuse.conventional.into()];
        from.extend(fuse.curve.as_ref().map(|curve| Operand::Curve(curve.curve)));
        from.extend(apart.cycle.map(Operand::from));
        trace.step(apart.load, &AS_WARM, &from);
        from.clear();
        melted.unmelted_from(apart, plan, &mut from);
        trace.step(apart.unmelted, &UNMELTED, &from);
    }
}

/// How warm fuses are from row to row of a mission.
#[derive(Clone, Debug)]
pub(super) struct Notches {
    /// Squares that the bodies of each fuse follow, in A²; none before its first row, or after one that is not known.
    squares: Vec<Option<Vec<SquaredCurrent>>>,
}

impl Notches {
    /// Begins with what a duty point went on with, or with the first row held for good.
    pub(super) fn new(variant: &Variant, from: Option<DutyId>) -> Self {
        let plan = &variant.plan;
        let mut squares = vec![None; plan.melted.len()];
        let lane = from.and_then(|from| variant.lane_ids().find(|&lane| variant.lane(lane).duty == from));
        if let Some(lane) = lane.filter(|_| warmed(plan).next().is_some()) {
            let solved = Solved::new(variant);
            for (place, _, fuse, _) in warmed(plan) {
                let amps = solved.figure(plan.conductors[fuse.conductor].current, lane).map(Current::new);
                squares[place] = amps.map(|amps| vec![amps * amps; points(fuse).len() + 1]);
            }
        }
        Self { squares }
    }

    /// Takes a row in, and writes in it what it leaves fuses to.
    pub(super) fn follow(&mut self, chunk: &mut Chunk<'_>, row: usize, lasts: f64) {
        let plan = &chunk.base.plan;
        for (place, _, fuse, _) in warmed(plan) {
            let squares = &mut self.squares[place];
            let amps = Current::new(chunk.raw(plan.conductors[fuse.conductor].current, row));
            if !(chunk.is_solved(row) && amps.si().is_finite()) {
                *squares = None;
                continue;
            }
            let squares = squares.get_or_insert_with(|| vec![amps * amps; points(fuse).len() + 1]);
            let mut sum = 0.0;
            let of = bodies(points(fuse), chunk.input(fuse.conventional, row));
            for (square, (share, constant)) in squares.iter_mut().zip(of) {
                *square = body_after(*square, amps, Time::new(lasts), constant);
                sum += share * square.si();
            }
            fill(plan, &mut chunk.blocks[row / WIDTH], row % WIDTH, &[(place, sum.sqrt())]);
        }
    }
}
