//! What is not known of how warm everything is when a row of a mission begins.
//!
//! A row without a solution, or without a value that heat follows from, leaves temperatures that nobody knows. They lie
//! between bounds, and two courses from these come together as what began fades. Until they have, nothing that hangs on it
//! is told; from then on it is known again.

use crate::ids::FigureId;
use crate::over_time::bodies::Warmth;
use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
use crate::over_time::state::State;
use crate::plan::Plan;
use crate::solver::{Block, LaneState};

/// Nothing is colder, in °C.
const COLDEST: f64 = -60.0;
/// Nothing that still stands is hotter, in °C: copper melts.
const HOTTEST: f64 = 1083.0;
/// Courses that differ by less, in K, have come together.
const TOGETHER: f64 = 0.1;

/// Bounds what of a state is not known although what drives it is. `hotter` is the other bound, where there is any.
pub(crate) fn bound_state(
    layout: &Layout,
    driven: &Driven<1>,
    state: &mut State<1>,
    hotter: &mut Option<State<1>>,
) {
    for (chip, &seat) in layout.chips.iter().enumerate() {
        let is_driven = (driven.to_case[chip][0] * driven.settled[chip][0]).is_finite();
        for rise in seat.first..seat.first + layout.elements_of(seat).len() {
            if is_driven && state.rises[rise][0].is_nan() {
                hotter.get_or_insert_with(|| state.clone()).rises[rise][0] = HOTTEST;
                state.rises[rise][0] = 0.0;
            }
        }
    }
    for (plate, place) in driven.places.iter().enumerate() {
        if place.settled[0].is_finite() && state.plates[plate][0].is_nan() {
            hotter.get_or_insert_with(|| state.clone()).plates[plate][0] = HOTTEST;
            state.plates[plate][0] = COLDEST;
        }
    }
}

/// The same of conductors, windings and cores in a lane.
pub(crate) fn bound_warmth<const L: usize>(
    plan: &Plan,
    (block, l): (&Block<L>, usize),
    warmth: &mut Warmth,
    hotter: &mut Option<Warmth>,
) {
    let is_known = |figure: FigureId| block.figures[figure.index()][l].is_finite();
    for (k, conductor) in plan.conductors.iter().enumerate() {
        let Some(heat) = &conductor.heat else { continue };
        if warmth.conductors[k].is_nan() && is_known(heat.figures.temperature) {
            hotter.get_or_insert_with(|| warmth.clone()).conductors[k] = HOTTEST;
            warmth.conductors[k] = COLDEST;
        }
    }
    for (k, magnetic) in plan.magnetics.iter().enumerate() {
        let means = magnetic.windings.iter().map(|winding| winding.mean_temperature);
        let bodies = means.chain(core::iter::once(magnetic.core.figures.temperature));
        for (body, figure) in (0..warmth.wound[k].len()).zip(bodies) {
            if warmth.wound[k][body].is_nan() && is_known(figure) {
                hotter.get_or_insert_with(|| warmth.clone()).wound[k][body] = HOTTEST;
                warmth.wound[k][body] = COLDEST;
            }
        }
    }
}

/// Whether something is not known of a lane that was followed although where it settles is: of what it starts from not all is known.
pub(crate) fn is_in_doubt<const L: usize>(plan: &Plan, block: &Block<L>, l: usize) -> bool {
    let is_solved = matches!(block.state[l], LaneState::Solved { .. });
    let is_known = |figure: FigureId| block.figures[figure.index()][l].is_finite();
    let is_lost = |hottest: Option<FigureId>, settles| {
        hottest.is_some_and(|hottest| !is_known(hottest) && is_known(settles))
    };
    let mut chips = plan.chips.iter().map(|chip| &chip.figures);
    let mut conductors = plan.conductors.iter().filter_map(|one| Some(&one.heat.as_ref()?.figures));
    let mut windings = plan.magnetics.iter().flat_map(|magnetic| &magnetic.windings);
    let mut cores = plan.magnetics.iter().map(|magnetic| &magnetic.core.figures);
    is_solved
        && (chips.any(|chip| is_lost(chip.hottest_junction, chip.junction_temperature))
            || conductors.any(|one| is_lost(one.hottest, one.temperature))
            || windings.any(|one| is_lost(one.warms.as_ref().map(|warms| warms.hottest), one.temperature))
            || cores.any(|core| is_lost(core.hottest, core.temperature)))
}

/// Takes the hotter of two courses where they have come together; whether one is still open. What is known of neither is
/// no doubt.
pub(crate) fn close<'t>(
    own: impl Iterator<Item = &'t mut f64>,
    hotter: impl Iterator<Item = &'t f64>,
) -> bool {
    let mut is_open = false;
    for (own, &hotter) in own.zip(hotter) {
        if (hotter - *own).abs() < TOGETHER {
            *own = hotter;
        } else if own.is_finite() || hotter.is_finite() {
            is_open = true;
        }
    }
    is_open
}

/// The highest temperature, from the highest on both courses: not a number where they are still apart.
pub(crate) fn highest(own: f64, hotter: f64) -> f64 {
    if (hotter - own).abs() < TOGETHER { hotter } else { f64::NAN }
}
