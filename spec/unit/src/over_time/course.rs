//! A duty point followed from what went before it to its end.

use crate::ids::LaneId;
use crate::over_time::driven::Driven;
use crate::over_time::state::State;
use crate::over_time::step::Stepper;
use crate::plan::Plan;
use crate::solver::{Block, LaneState, laws};
use crate::trace::{Operand, Trace};
use crate::variant::Variant;

/// Steps in which a duty point is followed; they begin short, where junctions move fast.
const STEPS: usize = 32;
/// Steps of each part of a cycle while it is repeated until it settles.
const STEPS_OF_CYCLE: usize = 6;
/// A cycle is settled when it returns within this many kelvin.
const RETURNED: f64 = 0.01;
/// Cycles after which the last one is taken.
const MOST_CYCLES: usize = 200;

/// Where the solution of a lane stands.
pub(crate) type At<'b, const L: usize> = (&'b Block<L>, usize);

/// The lanes that a lane starts from; of several that hold a rotor, those that hold it as this one does.
pub(crate) fn before(variant: &Variant, lane: LaneId) -> Vec<LaneId> {
    let duty = variant.duty_of(lane);
    let Some(from) = duty.starts_from.filter(|_| duty.lasts.is_some()) else { return Vec::new() };
    let all: Vec<LaneId> = variant.lane_ids().filter(|&other| variant.lane(other).duty == from).collect();
    let alike = all.iter().find(|&&other| variant.lane(other).crest == variant.lane(lane).crest);
    alike.map_or(all.clone(), |&alike| vec![alike])
}

/// Follows lanes of a variant, whose solutions are found by their numbers.
struct Follower<'v, F> {
    variant: &'v Variant,
    stepper: Stepper<'v>,
    find: F,
}

/// How a lane went.
struct Course {
    /// Highest mean junction temperature of each chip, in °C.
    hottest: Vec<f64>,
    /// How warm everything is at the end.
    end: State,
}

impl<'b, F, const L: usize> Follower<'_, F>
where
    F: Fn(LaneId) -> Option<At<'b, L>>,
{
    /// What drives a lane; none where it has no solution.
    fn driven(&self, lane: LaneId) -> Option<Driven> {
        let (block, l) = (self.find)(lane)?;
        matches!(block.state[l], LaneState::Solved { .. }).then(|| {
            let mut driven = Driven::default();
            driven.take(self.stepper.plan, &self.stepper.layout, block, l);
            driven
        })
    }

    /// How warm everything is when a lane ends, or settles.
    fn end(&mut self, lane: LaneId, depth: usize) -> Option<State> {
        if let Some(course) = self.course(lane, depth) {
            return Some(course.end);
        }
        Some(State::settled(&self.stepper.layout, &self.driven(lane)?))
    }

    /// Follows a lane; none where it does not say what it starts from, or that has no solution. Descriptions whose duty
    /// points start from one another in a circle are refused; `depth` holds where one slips through.
    fn course(&mut self, lane: LaneId, depth: usize) -> Option<Course> {
        let duty = self.variant.duty_of(lane);
        let (lasts, every) = (duty.lasts?, duty.every);
        let before = before(self.variant, lane);
        if before.is_empty() || depth == 0 {
            return None;
        }
        let mut ends = Vec::with_capacity(before.len());
        for &from in &before {
            ends.push(self.end(from, depth - 1)?);
        }
        let mut state = ends.into_iter().reduce(|state, other| state.or_hotter(&other))?;
        let driven = self.driven(lane)?;
        let settled = State::settled(&self.stepper.layout, &driven);
        if let Some(every) = every.filter(|&every| every > lasts) {
            let pause = self.hottest_of(&before)?;
            state =
                self.returning(state.towards(&settled, lasts / every), &driven, lasts, &pause, every - lasts);
        } else if every.is_some() {
            // One occurrence follows upon the other: it never ends.
            state = settled;
        }
        if !state.is_known() {
            return None;
        }
        let mut hottest = vec![f64::NEG_INFINITY; self.variant.plan.chips.len()];
        self.run(&driven, &mut state, lasts, STEPS, |junctions| {
            for (most, &now) in hottest.iter_mut().zip(junctions) {
                *most = if now > *most || now.is_nan() { now } else { *most };
            }
        });
        Some(Course { hottest, end: state })
    }

    /// The state in which each cycle begins, once it returns to where it began.
    fn returning(&mut self, start: State, on: &Driven, lasts: f64, off: &Driven, pause: f64) -> State {
        let mut state = start;
        for _ in 0..MOST_CYCLES {
            let began = state.clone();
            self.run(on, &mut state, lasts, STEPS_OF_CYCLE, |_| {});
            self.run(off, &mut state, pause, STEPS_OF_CYCLE, |_| {});
            if state.distance(&began) < RETURNED {
                break;
            }
        }
        state
    }

    /// Steps through a time in steps that grow, and shows the junctions after each.
    fn run(
        &mut self,
        driven: &Driven,
        state: &mut State,
        lasts: f64,
        steps: usize,
        mut see: impl FnMut(&[f64]),
    ) {
        self.stepper.begin(driven);
        // The first step takes no time: it shows how hot everything begins.
        for step in 0..=steps {
            let before = step.saturating_sub(1);
            self.stepper.step(driven, state, reached(step, steps, lasts) - reached(before, steps, lasts));
            see(&self.stepper.junctions);
        }
    }

    /// Of several lanes, what drives the one that loses most.
    fn hottest_of(&self, lanes: &[LaneId]) -> Option<Driven> {
        let all = lanes.iter().map(|&lane| self.driven(lane)).collect::<Option<Vec<_>>>()?;
        let loss = |driven: &Driven| driven.settled.iter().sum::<f64>();
        all.into_iter().max_by(|a, b| loss(a).total_cmp(&loss(b)))
    }
}

/// Time that is reached after some of so many steps; they grow.
pub(crate) fn reached(step: usize, steps: usize, lasts: f64) -> f64 {
    let share = step as f64 / steps as f64;
    lasts * share * share * share
}

/// Highest mean junction temperature of each chip, in °C, in each of some lanes; none where a lane goes on until
/// everything has settled, or does not say what it starts from. `find` leads to the solution of a lane.
pub(crate) fn follow<'b, const L: usize>(
    variant: &Variant,
    plan: &Plan,
    lanes: impl Iterator<Item = LaneId>,
    find: impl Fn(LaneId) -> Option<At<'b, L>>,
) -> Vec<Option<Vec<f64>>> {
    let mut follower: Option<Follower<'_, _>> = None;
    let mut courses = Vec::new();
    for lane in lanes {
        let course = if before(variant, lane).is_empty() {
            None
        } else {
            let make = || Follower { variant, stepper: Stepper::new(plan), find: &find };
            follower.get_or_insert_with(make).course(lane, variant.duties.len())
        };
        courses.push(course.map(|course| course.hottest));
    }
    courses
}

/// Writes the highest junction temperatures of a lane: those of its course, or the settled ones.
pub(crate) fn fill<const L: usize>(plan: &Plan, block: &mut Block<L>, l: usize, course: Option<&[f64]>) {
    for (k, chip) in plan.chips.iter().enumerate() {
        let figures = &chip.figures;
        let Some(hottest) = figures.hottest_junction else { return };
        block.figures[hottest.index()][l] = match course {
            Some(course) => course[k] + block.figures[figures.junction_ripple.index()][l],
            None => block.figures[figures.junction_temperature.index()][l],
        };
    }
}

/// Tells how the highest junction temperatures of a lane came about.
pub(crate) fn tell<T: Trace>(plan: &Plan, is_followed: bool, recurs: bool, trace: &mut T) {
    let Some(duration) = plan.duration else { return };
    for chip in &plan.chips {
        let figures = &chip.figures;
        let Some(hottest) = figures.hottest_junction else { continue };
        if !is_followed {
            trace.step(hottest, &laws::SETTLED, &[figures.junction_temperature.into()]);
            continue;
        }
        let mut from: Vec<Operand> = vec![
            figures.junction_temperature.into(),
            figures.loss_per_kelvin.into(),
            figures.junction_ripple.into(),
            chip.inputs.junction_to_case.into(),
            duration.lasts.into(),
        ];
        from.extend(recurs.then_some(Operand::from(duration.every)));
        trace.step(hottest, &laws::OVER_TIME, &from);
    }
}
