//! What nothing waits for: groups of figures that are reckoned once, after everything is solved, and change nothing of it.
//!
//! How devices in parallel share is a corner of its own, what conductors lose is reckoned at the temperature of the air
//! around them, and the rest only reads. An input that one group alone reads is marked with it, and a trial of such an
//! input reckons that group again beside figures that stay as they are.

use crate::plan::Plan;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::solver::{
    Block, acting, arriving, asked_for, bootstrap, coasting, conductor_heat, damping, frame, fuse,
    gate_drive, heat, isolation, largest, loop_state, magnetic_flux, paralleling, reach, ripple,
    shared_return, sharing, side_currents, stored, trips, turn_off, uneven, withstand,
};
use crate::trace::{Silent, Trace};

/// A group of figures that can be reckoned by itself, in the order in which they are: it reads what is solved and leaves
/// nothing behind but its figures.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Late {
    /// Hottest walls that the coolant wets, and where it would boil.
    Walls,
    /// Currents of the leg that carries most, and how hot its windings and junctions get.
    Uneven,
    /// How hot conductors get.
    Conductors,
    /// What fuses carry, break and let through.
    Fuses,
    /// What positions block.
    Withstand,
    /// Levels of trips, and what flows until they have acted.
    Trips,
    /// Flux in cores, and what they carry.
    Flux,
    /// What stands across a position while it turns off.
    TurnOff,
    /// What gates take, how far edges lift them, what stands along a shared return, how far bootstraps run down.
    Gates,
    /// Machines that turn while nothing controls them.
    Coasting,
    /// Voltages across barriers and windings, and what they ask for.
    Isolation,
    /// Stored charge, and how it is taken away and put there.
    Stored,
}

impl Late {
    /// Whether what it reckons is followed over time beside what it settles at.
    pub(crate) const fn is_followed(self) -> bool {
        matches!(self, Self::Uneven | Self::Conductors)
    }

    /// Later groups that read its figures.
    pub(crate) const fn readers(self) -> &'static [Self] {
        match self {
            Self::Uneven => {
                &[Self::Trips, Self::Flux, Self::TurnOff, Self::Gates, Self::Coasting, Self::Isolation]
            }
            Self::Conductors => &[Self::Fuses],
            Self::Withstand => &[
                Self::Trips,
                Self::Flux,
                Self::TurnOff,
                Self::Gates,
                Self::Coasting,
                Self::Isolation,
                Self::Stored,
            ],
            Self::Trips => &[Self::Flux, Self::TurnOff, Self::Gates, Self::Coasting, Self::Isolation],
            // Gates read the fall of a current as well, and what is turned off.
            Self::TurnOff => &[Self::Gates, Self::Isolation],
            Self::Walls
            | Self::Fuses
            | Self::Flux
            | Self::Gates
            | Self::Coasting
            | Self::Isolation
            | Self::Stored => &[],
        }
    }

    fn reckon<const L: usize, T: Trace>(self, plan: &Plan, pass: &mut Pass<'_, L, T>) {
        match self {
            Self::Walls => loop_state::walls(plan, pass),
            Self::Uneven => uneven::settle(plan, pass),
            Self::Conductors => conductor_heat::settle(plan, pass),
            Self::Fuses => fuse::settle(plan, pass),
            Self::Withstand => withstand::voltages(plan, pass),
            Self::Trips => trips::levels(plan, pass),
            Self::Flux => magnetic_flux::fluxes(plan, pass),
            Self::TurnOff => turn_off::settle(plan, pass),
            Self::Gates => {
                gate_drive::settle(plan, pass);
                bootstrap::settle(plan, pass);
                shared_return::settle(plan, pass);
            }
            Self::Coasting => coasting::coast(plan, pass),
            Self::Isolation => {
                isolation::settle(plan, pass);
                frame::settle(plan, pass);
            }
            Self::Stored => {
                stored::charges(plan, pass);
                paralleling::settle(plan, pass);
            }
        }
    }
}

/// Everything that nothing waits for.
pub(crate) fn reckon<const L: usize, T: Trace>(
    plan: &Plan,
    crest: &[i8; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    heat::crests(plan, pass);
    largest::settle(plan, crest, pass);
    side_currents::settle(plan, pass);
    loop_state::reckon(plan, pass, scratch);
    Late::Walls.reckon(plan, pass);
    Late::Uneven.reckon(plan, pass);
    sharing::corners(plan, pass, scratch);
    // Trips count on these, and they on nothing that follows late.
    gate_drive::times(plan, pass);
    acting::settle(plan, pass);
    for group in
        [Late::Conductors, Late::Fuses, Late::Withstand, Late::Trips, Late::Flux, Late::TurnOff, Late::Gates]
    {
        group.reckon(plan, pass);
    }
    ripple::ripple(plan, pass, scratch);
    trips::rises(plan, pass, scratch);
    Late::Stored.reckon(plan, pass);
    Late::Coasting.reckon(plan, pass);
    damping::damp(plan, pass);
    arriving::settle(plan, pass);
    asked_for::settle(plan, pass);
    Late::Isolation.reckon(plan, pass);
    reach::take_back(plan, pass, scratch);
}

/// One group of a solved block again, after an input changed that it alone reads.
pub(crate) fn again<const L: usize>(plan: &Plan, group: Late, block: &mut Block<L>, scratch: &Scratch<L>) {
    let mut pass = Pass { inputs: &block.inputs, figures: &mut block.figures, trace: &mut Silent };
    group.reckon(plan, &mut pass);
    reach::take_back(plan, &mut pass, scratch);
}
