//! Solves a plan for a block of lanes.
//!
//! Lanes stand side by side in arrays and do not touch one another: a lane solved alone gives the same bits. A pass
//! goes once through currents, heat and power; nearly every lane needs one. It is repeated where a bus voltage is
//! sought behind a resistance, where a package is cooled at two places of the path, or where a chip has more than two
//! curves. No allocation, no hashing and no names in here.

#![expect(
    clippy::needless_range_loop,
    reason = "a lane is one place in several arrays, and its number says so"
)]

pub mod bridge;
mod chip;
mod heat;
mod laws;
mod losses;
mod outcome;
mod pass;
mod power;
mod reduce;
mod scratch;

pub use outcome::LaneState;
pub use scratch::Scratch;

use outcome::Trouble;
use pass::Pass;
use scratch::Unsettled;

use crate::ids::PartId;
use crate::plan::Plan;
use crate::trace::{Silent, Trace};

/// Passes after which a lane counts as undecided.
const MOST_PASSES: usize = 400;
/// Temperatures that a pass hands to the next are settled within this many kelvin.
const SETTLED: f64 = 1e-9;

/// A block of lanes: what they are given, and what is solved.
#[derive(Clone, Debug)]
pub struct Block<const L: usize> {
    /// Inputs of the plan in each lane; not a number where one is missing.
    pub inputs: Vec<[f64; L]>,
    /// Where each lane holds the rotor: 0 turns, ±1, ±2, ±3 hold the crest of the current in u, v, w.
    pub crest: [i8; L],
    /// Solved figures; not a number where an input is missing.
    pub figures: Vec<[f64; L]>,
    /// How each lane ended.
    pub state: [LaneState; L],
}

impl<const L: usize> Block<L> {
    /// An empty block for a plan with so many inputs and figures.
    #[must_use]
    pub fn new(inputs: usize, figures: usize) -> Self {
        Self {
            inputs: vec![[f64::NAN; L]; inputs],
            crest: [0; L],
            figures: vec![[f64::NAN; L]; figures],
            state: [LaneState::Undecided { at: PartId::new(0) }; L],
        }
    }
}

/// Solves the lanes of a block; tells `trace` every step of lane 0 in the pass that gave its figures.
///
/// What a pass hands to the next is taken over lane by lane and only while the lane is open. A finished lane therefore
/// gives the same figures in every later pass, whatever its neighbours still need.
pub fn solve<const L: usize, T: Trace>(
    plan: &Plan,
    block: &mut Block<L>,
    scratch: &mut Scratch<L>,
    trace: &mut T,
) {
    power::start(plan, &block.inputs, scratch);
    heat::start(plan, &block.inputs, scratch);
    let mut open = [true; L];
    let mut trouble = Trouble::new();
    let mut moving = [None; L];
    for _ in 0..MOST_PASSES {
        trouble.forget(&open);
        pass(plan, block, scratch, &mut trouble, &mut Silent);
        for l in 0..L {
            if open[l] {
                let found = power::narrow(plan, l, &block.inputs, &block.figures, scratch, &mut trouble);
                let moves = scratch.unsettled(l, SETTLED);
                open[l] = trouble.at[l].is_none() && !(found && moves.is_none());
                moving[l] = moves.map(|moves| part_of(plan, moves));
            }
            if open[l] {
                scratch.hand_over(l);
            }
        }
        if open == [false; L] {
            break;
        }
    }
    for l in 0..L {
        block.state[l] = match trouble.at[l] {
            Some(at) => LaneState::NoSolution { at, largest: f64::NAN },
            None if open[l] => LaneState::Undecided { at: moving[l].unwrap_or(first_part(plan)) },
            None => LaneState::Solved { loop_gain: 1.0 - trouble.stiffness[l] },
        };
    }
    if T::LISTENS {
        pass(plan, block, scratch, &mut trouble, trace);
    }
}

/// Once through currents, heat and power.
fn pass<const L: usize, T: Trace>(
    plan: &Plan,
    block: &mut Block<L>,
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
    trace: &mut T,
) {
    let mut pass = Pass { inputs: &block.inputs, figures: &mut block.figures, trace };
    power::voltages(plan, &mut pass, scratch);
    heat::flow(plan, &mut pass, trouble);
    for bridge in &plan.bridges {
        bridge::currents(plan, bridge, &block.crest, &mut pass, scratch);
    }
    heat::sweep(plan, &mut pass, scratch, trouble);
    power::balance(plan, &mut pass);
}

/// The part that still moves.
fn part_of(plan: &Plan, moving: Unsettled) -> PartId {
    match moving {
        Unsettled::Chip(chip) => plan.chips[chip].part,
        Unsettled::Place(place) => {
            let place = plan.coolant.as_ref().and_then(|path| path.places.get(place));
            place.map_or(first_part(plan), |place| place.part)
        }
    }
}

/// The part to name where nothing more is known: the first source, or the first bridge.
fn first_part(plan: &Plan) -> PartId {
    let source = plan.buses.iter().find_map(|bus| bus.source.as_ref().map(|source| source.part));
    source.or_else(|| plan.bridges.first().map(|bridge| bridge.part)).unwrap_or(PartId::new(0))
}
