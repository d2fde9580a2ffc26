//! A duty point followed from what went before it to its end.

use std::sync::Arc;

use crate::ids::LaneId;
use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
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

/// Lanes that are followed side by side.
const ABREAST: usize = 4;

/// Follows lanes of a variant, whose solutions are found by their numbers.
struct Follower<'v, F> {
    variant: &'v Variant,
    plan: &'v Plan,
    layout: Arc<Layout>,
    find: F,
    /// How warm everything is when a lane ends, where it was asked for.
    ends: Vec<Option<Option<State<1>>>>,
}

/// How a lane went.
struct Course {
    /// Highest mean junction temperature of each chip, in °C.
    hottest: Vec<f64>,
    /// How warm everything is at the end.
    end: State<1>,
}

impl<'v, 'b, F, const L: usize> Follower<'v, F>
where
    F: Fn(LaneId) -> Option<At<'b, L>>,
{
    /// Where the solution of a lane stands; none where it has none.
    fn solution(&self, lane: LaneId) -> Option<At<'b, L>> {
        (self.find)(lane).filter(|&(block, l)| matches!(block.state[l], LaneState::Solved { .. }))
    }

    /// How warm everything is when a lane ends, or settles.
    fn end(&mut self, lane: LaneId, depth: usize) -> Option<State<1>> {
        if let Some(known) = &self.ends[lane.index()] {
            return known.clone();
        }
        let course = self.courses::<1>(&[lane], depth).pop().flatten();
        let end = course.map(|course| course.end).or_else(|| {
            let mut driven = Driven::new(self.plan);
            driven.take(self.plan, &self.layout, self.solution(lane)?, 0);
            Some(State::settled(&self.layout, &driven))
        });
        self.ends[lane.index()] = Some(end.clone());
        end
    }

    /// How warm everything is when a lane starts; none where it does not say what it starts from, or that has no
    /// solution. Descriptions whose duty points start from one another in a circle are refused; `depth` holds where one
    /// slips through.
    fn start(&mut self, lane: LaneId, depth: usize) -> Option<State<1>> {
        let before = before(self.variant, lane);
        if before.is_empty() || depth == 0 {
            return None;
        }
        let mut start: Option<State<1>> = None;
        for from in before {
            let end = self.end(from, depth - 1)?;
            start = Some(start.map_or(end.clone(), |start| start.or_hotter(&end)));
        }
        start
    }

    /// Follows at most `N` lanes of one duty point; none for a lane that has no start.
    fn courses<const N: usize>(&mut self, lanes: &[LaneId], depth: usize) -> Vec<Option<Course>> {
        let nothing = || lanes.iter().map(|_| None).collect();
        let Some(duty) = lanes.first().map(|&lane| self.variant.duty_of(lane)) else { return Vec::new() };
        let Some(lasts) = duty.lasts else { return nothing() };
        let pause = duty.every.map(|every| every - lasts).filter(|&pause| pause > 0.0);
        let mut state = State::<N>::unknown(&self.layout);
        let (mut on, mut off) = (Driven::<N>::new(self.plan), Driven::<N>::new(self.plan));
        for (n, &lane) in lanes.iter().enumerate() {
            let Some((start, solution)) = self.start(lane, depth).zip(self.solution(lane)) else { continue };
            on.take(self.plan, &self.layout, solution, n);
            if pause.is_some() {
                let Some(hottest) = self.hottest_of(&before(self.variant, lane)) else { continue };
                off.take(self.plan, &self.layout, hottest, n);
            }
            state.put(n, &start, 0);
        }
        if (0..lanes.len()).all(|n| !state.is_known(n)) {
            return nothing();
        }
        let mut stepper = Stepper::new(self.plan, Arc::clone(&self.layout));
        if let (Some(every), Some(pause)) = (duty.every, pause) {
            let start = state.towards(&State::settled(&self.layout, &on), lasts / every);
            state = returning(&mut stepper, start, (&on, lasts), (&off, pause));
        } else if duty.every.is_some() {
            // One occurrence follows upon the other: it never ends.
            state = State::settled(&self.layout, &on);
        }
        let known: Vec<bool> = (0..lanes.len()).map(|n| state.is_known(n)).collect();
        let mut hottest = vec![[f64::NEG_INFINITY; N]; self.plan.chips.len()];
        // The first step takes no time: it shows how hot everything begins.
        stepper.begin(&on);
        for step in 0..=STEPS {
            stepper.step(&on, &mut state, length(step, STEPS, lasts));
            for (most, now) in hottest.iter_mut().zip(&stepper.junctions) {
                for n in 0..N {
                    most[n] = if now[n] > most[n] || now[n].is_nan() { now[n] } else { most[n] };
                }
            }
        }
        let course = |(n, is_known): (usize, bool)| {
            is_known.then(|| Course {
                hottest: hottest.iter().map(|most| most[n]).collect(),
                end: state.alone(n),
            })
        };
        known.into_iter().enumerate().map(course).collect()
    }

    /// Of several lanes, the solution of the one that loses most; none where one has none.
    fn hottest_of(&self, lanes: &[LaneId]) -> Option<At<'b, L>> {
        let all = lanes.iter().map(|&lane| self.solution(lane)).collect::<Option<Vec<_>>>()?;
        let loss = |&(block, l): &At<'b, L>| {
            self.plan.chips.iter().map(|chip| block.figures[chip.figures.loss.index()][l]).sum::<f64>()
        };
        all.into_iter().max_by(|a, b| loss(a).total_cmp(&loss(b)))
    }
}

/// The state in which each cycle begins, once it returns to where it began. A lane that does is left as it is.
fn returning<const N: usize>(
    stepper: &mut Stepper<'_, N>,
    start: State<N>,
    (on, lasts): (&Driven<N>, f64),
    (off, pause): (&Driven<N>, f64),
) -> State<N> {
    let mut state = start;
    let mut returned = state.clone();
    let mut is_open = [true; N];
    for _ in 0..MOST_CYCLES {
        let began = state.clone();
        for (driven, lasts) in [(on, lasts), (off, pause)] {
            stepper.begin(driven);
            for step in 1..=STEPS_OF_CYCLE {
                stepper.step(driven, &mut state, length(step, STEPS_OF_CYCLE, lasts));
            }
        }
        for n in 0..N {
            if is_open[n] {
                returned.put(n, &state, n);
                is_open[n] = state.distance(&began, n) >= RETURNED;
            }
        }
        if is_open == [false; N] {
            break;
        }
    }
    returned
}

/// Length of one of so many steps; the one before the first takes no time.
fn length(step: usize, steps: usize, lasts: f64) -> f64 {
    reached(step, steps, lasts) - reached(step.saturating_sub(1), steps, lasts)
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
    let lanes: Vec<LaneId> = lanes.collect();
    let is_followed = |&lane: &LaneId| !before(variant, lane).is_empty();
    if !lanes.iter().any(is_followed) {
        return lanes.iter().map(|_| None).collect();
    }
    let mut follower = Follower {
        variant,
        plan,
        layout: Arc::new(Layout::of(plan)),
        find,
        ends: vec![None; variant.lanes.len()],
    };
    let depth = variant.duties.len();
    let mut courses = Vec::with_capacity(lanes.len());
    for of_duty in lanes.chunk_by(|&one, &other| variant.lane(one).duty == variant.lane(other).duty) {
        for lanes in of_duty.chunks(ABREAST) {
            match lanes {
                [_] => courses.extend(follower.courses::<1>(lanes, depth)),
                _ => courses.extend(follower.courses::<ABREAST>(lanes, depth)),
            }
        }
    }
    courses.into_iter().map(|course| Some(course?.hottest)).collect()
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
