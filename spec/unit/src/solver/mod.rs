//! Solves a plan for a block of lanes.
//!
//! Lanes stand side by side in arrays and do not touch one another: a lane solved alone gives the same bits. A pass
//! goes once through voltages, currents, heat and power. One is enough where every bus voltage is stated and bridges
//! alone draw from it; it is repeated where a stage passes power on to another bus, where a bus voltage is sought behind
//! a resistance, where a package is cooled at two places of the path, or where a chip has more than two curves. No
//! allocation, no hashing and no names in here.

#![expect(
    clippy::needless_range_loop,
    reason = "a lane is one place in several arrays, and its number says so"
)]

mod acting;
mod arriving;
mod asked_for;
mod balance;
mod bootstrap;
pub(crate) mod branches;
pub mod bridge;
mod carried;
mod chip;
mod chopper;
mod coasting;
mod conductor_heat;
mod conductor_loss;
mod damping;
mod division;
mod expected;
mod flow;
mod frame;
mod fuse;
mod gate_drive;
mod heat;
mod isolated;
mod isolation;
mod largest;
pub(crate) mod late;
pub(crate) mod laws;
mod let_through;
mod loop_state;
mod losses;
mod magnetic;
mod magnetic_flux;
mod magnetic_heat;
mod operating_point;
mod outcome;
mod overload;
mod paralleling;
mod pass;
mod places;
mod pulsed;
mod reach;
mod reduce;
mod resonant;
mod resting;
mod ripple;
mod ripple_lines;
mod ripple_voltage;
mod scratch;
mod shaft;
mod shared;
mod shared_return;
mod sharing;
mod side_currents;
mod spare;
mod stored;
mod supply;
mod trips;
mod turn_off;
mod uneven;
mod uneven_heat;
mod withstand;

pub use chopper::ONE_WAY;
pub(crate) use conductor_loss::{lose_where_hottest, tell_losses};
pub use isolated::RECTIFIES;
pub use isolation::IMPULSE;
pub use late::Late;
pub(crate) use let_through::{stands_where_hottest, tell_what_stands};
pub(crate) use magnetic::times;
pub use outcome::LaneState;
pub(crate) use overload::UNMELTED;
pub use reach::{BRIDGE_CURRENTS, CURRENTS};
pub(crate) use reduce::two_faces;
pub use resonant::Resonant;
pub(crate) use resonant::find as resonant;
pub use ripple_lines::RippleLines;
pub(crate) use scratch::Reduced;
pub use scratch::Scratch;
pub use shared::Shared;
pub use supply::UNHELD;
pub(crate) use supply::{bus_behind, holder};
pub(crate) use uneven::rise as uneven_rise;

use expected::drives_itself;
use outcome::Trouble;
use pass::Pass;
use scratch::Unsettled;

use crate::ids::PartId;
use crate::plan::{Plan, Reckoned, Stage, Topology};
use crate::trace::{Silent, Trace};

/// Passes after which a lane counts as undecided.
const MOST_PASSES: usize = 400;

/// A block of lanes: what they are given, and what is solved.
#[derive(Clone, Debug)]
pub struct Block<const L: usize> {
    /// Inputs of the plan in each lane; not a number where one is missing.
    pub inputs: Shared<L>,
    /// Where each lane holds the rotor: 0 turns, ±1, ±2, ±3 hold the crest of the current in u, v, w.
    pub crest: [i8; L],
    /// Solved figures; not a number where an input is missing.
    pub figures: Shared<L>,
    /// How each lane ended.
    pub state: [LaneState; L],
}

impl<const L: usize> Block<L> {
    /// An empty block for a plan with so many inputs and figures.
    #[must_use]
    pub fn new(inputs: usize, figures: usize) -> Self {
        Self {
            inputs: Shared::unknown(inputs),
            crest: [0; L],
            figures: Shared::unknown(figures),
            state: [LaneState::Undecided { at: PartId::new(0) }; L],
        }
    }
}

/// Solves the lanes of a block; tells `trace` every step of lane 0 in the pass that gave its figures, or in every pass where
/// it hears them all.
///
/// What a pass hands to the next is taken over lane by lane and only while the lane is open. A finished lane therefore
/// gives the same figures in every later pass, whatever its neighbours still need.
pub fn solve<const L: usize, T: Trace>(
    plan: &Plan,
    block: &mut Block<L>,
    scratch: &mut Scratch<L>,
    trace: &mut T,
) {
    supply::start(plan, &block.inputs, scratch);
    heat::start(plan, &block.inputs, scratch);
    magnetic::start(plan, &block.inputs, scratch);
    // What flows where depends on nothing that is sought.
    flow::divide(plan, &mut Pass { inputs: &block.inputs, figures: &mut block.figures, trace }, scratch);
    let mut open = [true; L];
    let mut trouble = Trouble::new();
    let mut moving = [None; L];
    for _ in 0..MOST_PASSES {
        trouble.forget(&open);
        if T::EVERY_PASS {
            trace.begin();
            pass(plan, block, scratch, &mut trouble, trace);
        } else {
            pass(plan, block, scratch, &mut trouble, &mut Silent);
        }
        for l in 0..L {
            if open[l] {
                supply::lead(plan, l, &block.inputs, &block.figures, scratch, &mut trouble);
                let moves = scratch.unsettled(plan, &block.figures, l);
                open[l] = trouble.at[l].is_none() && moves.is_some();
                moving[l] = moves.map(|moves| part_of(plan, scratch, moves, &block.inputs, l));
            }
            if open[l] {
                scratch.hand_over(plan, &block.inputs, &block.figures, l);
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
    if T::LISTENS && !T::EVERY_PASS {
        pass(plan, block, scratch, &mut trouble, trace);
    }
    let mut pass = Pass { inputs: &block.inputs, figures: &mut block.figures, trace };
    late::reckon(plan, &block.crest, &mut pass, scratch);
}

/// Once through voltages, currents, heat and power.
fn pass<const L: usize, T: Trace>(
    plan: &Plan,
    block: &mut Block<L>,
    scratch: &mut Scratch<L>,
    trouble: &mut Trouble<L>,
    trace: &mut T,
) {
    let crest = &block.crest;
    let mut pass = Pass { inputs: &block.inputs, figures: &mut block.figures, trace };
    supply::voltages(plan, &mut pass, scratch);
    supply::watch(plan, &pass, trouble);
    flow::watch(plan, &pass, trouble);
    for &item in &plan.order {
        match item {
            Reckoned::Load(load) => pass.passing(|pass| balance::load(&plan.loads[load], pass)),
            Reckoned::Bus(bus) => pass.passing(|pass| balance::bus(plan, &plan.buses[bus], pass)),
            Reckoned::Stage(stage) => currents(plan, stage, crest, &mut pass, scratch),
        }
    }
    balance::padded(plan, scratch, &mut pass);
    heat::sweep(plan, &mut pass, scratch, trouble);
    balance::settle(plan, &scratch.currents_before, &mut pass);
}

/// Currents of a stage, and what it draws with the losses of the pass before.
fn currents<const L: usize, T: Trace>(
    plan: &Plan,
    place: usize,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let stage: &Stage = &plan.stages[place];
    match &stage.topology {
        Topology::Bridge(bridge) => {
            // What a bridge carries follows from its voltage; where that stands, so does everything.
            let volts = stage.ports.first().map_or([f64::NAN; L], |port| pass.figure(port.voltage));
            let same = |l: usize| volts[l].to_bits() == scratch.bridge_volts[place][l].to_bits();
            if T::LISTENS || !(0..L).all(same) || scratch.bends(&chips_of(stage)) {
                bridge::currents(plan, stage, bridge, crest, pass, scratch);
                scratch.bridge_volts[place] = volts;
            }
            pass.passing(|pass| balance::bridge(stage, &scratch.losses_before[place], pass));
        }
        Topology::Chopper(chopper) => {
            pass_on(plan, place, pass, scratch);
            chopper::currents(plan, stage, chopper, pass, scratch);
        }
        Topology::Isolated(isolated) => {
            pass_on(plan, place, pass, scratch);
            isolated::currents(plan, stage, isolated, pass, scratch);
        }
    }
}

/// What a stage between two buses passes on and draws, with the loss that is expected of it.
fn pass_on<const L: usize, T: Trace>(
    plan: &Plan,
    place: usize,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let stage = &plan.stages[place];
    let before = *balance::lead_current(stage, &scratch.currents_before);
    let mut loss = [0.0; L];
    if let Some(passes) = balance::passing(plan, stage, &before, pass) {
        let (drives_itself, expected) = (drives_itself(stage), &mut scratch.expected[place]);
        for l in 0..L {
            (loss[l], expected.driven[l]) = if drives_itself {
                let loss = expected.with_own(l, passes[l]);
                (loss, passes[l] + loss)
            } else {
                (expected.at(l, passes[l]), passes[l])
            };
        }
    }
    scratch.losses_before[place] = loss;
    pass.passing(|pass| balance::between(plan, stage, &loss, &before, pass));
    scratch.reckoned[place] = stage.ports.first().map_or([f64::NAN; L], |port| pass.figure(port.power));
}

/// The chips of a stage.
fn chips_of(stage: &Stage) -> core::ops::Range<usize> {
    let first = stage.positions.first().map_or(0, |position| position.chips.start);
    let last = stage.positions.last().map_or(0, |position| position.chips.end);
    first..last
}

/// The part that still moves.
fn part_of<const L: usize>(
    plan: &Plan,
    scratch: &Scratch<L>,
    moving: Unsettled,
    inputs: &[[f64; L]],
    l: usize,
) -> PartId {
    match moving {
        Unsettled::Pad(pad) => plan.conductors[scratch.pads[pad].0].part,
        Unsettled::Chip(chip) => plan.chips[chip].part,
        Unsettled::Place(place) => {
            let place = plan.coolant.as_ref().and_then(|path| path.places.get(place));
            place.map_or(first_part(plan), |place| place.part)
        }
        Unsettled::Bus(bus) => {
            let bus = &plan.buses[bus];
            holder(plan, bus, inputs, l).map_or(bus.part, |source| source.part)
        }
        Unsettled::Stage(stage) => plan.stages[stage].part,
        Unsettled::Load(load) => plan.loads[load].part,
    }
}

/// The part to name where nothing more is known: the first source, or the first stage.
fn first_part(plan: &Plan) -> PartId {
    let source = plan.sources.first().map(|source| source.part);
    source.or_else(|| plan.stages.first().map(|stage| stage.part)).unwrap_or(PartId::new(0))
}
