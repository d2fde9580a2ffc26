//! A duty point followed from what went before it to its end.

use std::rc::Rc;

use crate::ids::LaneId;
use crate::over_time::bodies::{Lasting, PARTS, Warmth};
use crate::over_time::driven::Driven;
use crate::over_time::state::State;
use crate::over_time::step::Stepper;
use crate::plan::Plan;
use crate::solver::{Block, LaneState};
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
    /// Lanes that were followed already, or could not be.
    known: Vec<Option<Option<Rc<Course>>>>,
    /// The same of their conductors, windings and cores.
    warm: Vec<Option<Option<Rc<Warmed>>>>,
}

/// How a lane went.
struct Course {
    /// Highest mean junction temperature of each chip, in °C.
    hottest: Vec<f64>,
    /// What each place offers to its faces where it is hottest, in °C.
    plates: Vec<f64>,
    /// How warm everything is at the end.
    end: State,
}

/// How conductors, windings and cores went in a lane.
struct Warmed {
    hottest: Warmth,
    end: Warmth,
}

/// The highest temperatures of a lane.
#[derive(Default)]
pub(crate) struct Followed {
    /// Mean of each junction, where they were followed.
    pub(crate) junctions: Option<Vec<f64>>,
    /// Conductors, windings and cores, where they were.
    pub(crate) bodies: Option<Warmth>,
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
            return Some(course.end.clone());
        }
        Some(State::settled(&self.stepper.layout, &self.driven(lane)?))
    }

    /// Follows a lane once; none where it does not say what it starts from, or that has no solution. Descriptions whose duty
    /// points start from one another in a circle are refused; `depth` holds where one slips through.
    fn course(&mut self, lane: LaneId, depth: usize) -> Option<Rc<Course>> {
        if let Some(known) = &self.known[lane.index()] {
            return known.clone();
        }
        let course = self.course_anew(lane, depth).map(Rc::new);
        self.known[lane.index()] = Some(course.clone());
        course
    }

    fn course_anew(&mut self, lane: LaneId, depth: usize) -> Option<Course> {
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
        let mut plates = state.plates.clone();
        self.run(&driven, &mut state, lasts, STEPS, |junctions, now| {
            raise(&mut hottest, junctions);
            raise(&mut plates, now);
        });
        Some(Course { hottest, plates, end: state })
    }

    /// Follows conductors, windings and cores of a lane once; none where it does not say what it starts from, or that has no
    /// solution.
    fn warmed(&mut self, lane: LaneId, depth: usize) -> Option<Rc<Warmed>> {
        if let Some(known) = &self.warm[lane.index()] {
            return known.clone();
        }
        let warmed = self.warmed_anew(lane, depth).map(Rc::new);
        self.warm[lane.index()] = Some(warmed.clone());
        warmed
    }

    fn warmed_anew(&mut self, lane: LaneId, depth: usize) -> Option<Warmed> {
        let (plan, duty) = (self.stepper.plan, self.variant.duty_of(lane));
        let (lasts, every) = (duty.lasts?, duty.every);
        let before = before(self.variant, lane);
        if before.is_empty() || depth == 0 {
            return None;
        }
        self.driven(lane)?;
        let (block, l) = (self.find)(lane)?;
        let mut start: Option<Warmth> = None;
        for &from in &before {
            let end = match self.warmed(from, depth - 1) {
                Some(warmed) => warmed.end.clone(),
                None => {
                    self.driven(from)?;
                    let (block, l) = (self.find)(from)?;
                    Warmth::settled(plan, block, l)
                }
            };
            start = Some(start.map_or(end.clone(), |start| start.or_hotter(&end)));
        }
        let mut now = start?;
        let plates = self.plates(lane, &before, depth)?;
        let on = Lasting { block, lane: l, plates: &plates, lasts };
        if let Some(every) = every.filter(|&every| every > lasts) {
            let mut returns: Option<Warmth> = None;
            for &from in &before {
                let (block, l) = (self.find)(from)?;
                let off = Lasting { block, lane: l, plates: &plates, lasts: every - lasts };
                let own = Warmth::returning(plan, on, off);
                returns = Some(returns.map_or(own.clone(), |all| all.or_hotter(&own)));
            }
            now = returns?;
        } else if every.is_some() {
            // One occurrence follows upon the other: it never ends.
            now = Warmth::settled(plan, block, l);
        }
        // What it starts from lacks something that is known here: then it counts as settled.
        if !now.is_known_as(&Warmth::settled(plan, block, l)) {
            return None;
        }
        let mut hottest = Warmth::default();
        now.warm(plan, on, PARTS, &mut hottest);
        Some(Warmed { hottest, end: now })
    }

    /// How hot each place gets in a lane: on its course, or settled in it or in what it starts from.
    fn plates(&mut self, lane: LaneId, before: &[LaneId], depth: usize) -> Option<Vec<f64>> {
        if let Some(course) = self.course(lane, depth) {
            return Some(course.plates.clone());
        }
        let places = |driven: Driven| driven.places.iter().map(|place| place.settled).collect::<Vec<_>>();
        let mut plates = places(self.driven(lane)?);
        for &from in before {
            raise(&mut plates, &places(self.driven(from)?));
        }
        Some(plates)
    }

    /// The state in which each cycle begins, once it returns to where it began.
    fn returning(&mut self, start: State, on: &Driven, lasts: f64, off: &Driven, pause: f64) -> State {
        let mut state = start;
        for _ in 0..MOST_CYCLES {
            let began = state.clone();
            self.run(on, &mut state, lasts, STEPS_OF_CYCLE, |_, _| {});
            self.run(off, &mut state, pause, STEPS_OF_CYCLE, |_, _| {});
            if state.distance(&began) < RETURNED {
                break;
            }
        }
        state
    }

    /// Steps through a time in steps that grow, and shows junctions and plates after each.
    fn run(
        &mut self,
        driven: &Driven,
        state: &mut State,
        lasts: f64,
        steps: usize,
        mut see: impl FnMut(&[f64], &[f64]),
    ) {
        self.stepper.begin(driven);
        // The first step takes no time: it shows how hot everything begins.
        for step in 0..=steps {
            let before = step.saturating_sub(1);
            self.stepper.step(driven, state, reached(step, steps, lasts) - reached(before, steps, lasts));
            see(&self.stepper.junctions, &state.plates);
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

/// Raises each of some temperatures to another one that is hotter, or not known.
pub(crate) fn raise(most: &mut [f64], now: &[f64]) {
    for (most, &now) in most.iter_mut().zip(now) {
        *most = if now > *most || now.is_nan() { now } else { *most };
    }
}

/// The highest temperatures in each of some lanes, where it does not go on until everything has settled and says what it
/// starts from. `find` leads to the solution of a lane.
pub(crate) fn follow<'b, const L: usize>(
    variant: &Variant,
    plan: &Plan,
    lanes: impl Iterator<Item = LaneId>,
    find: impl Fn(LaneId) -> Option<At<'b, L>>,
) -> Vec<Followed> {
    let mut follower: Option<Follower<'_, _>> = None;
    let mut all = Vec::new();
    for lane in lanes {
        if before(variant, lane).is_empty() {
            all.push(Followed::default());
            continue;
        }
        let make = || {
            let (known, warm) = (vec![None; variant.lanes.len()], vec![None; variant.lanes.len()]);
            Follower { variant, stepper: Stepper::new(plan), find: &find, known, warm }
        };
        let (follower, depth) = (follower.get_or_insert_with(make), variant.duties.len());
        let junctions = follower.course(lane, depth).map(|course| course.hottest.clone());
        let bodies = follower.warmed(lane, depth).map(|warmed| warmed.hottest.clone());
        all.push(Followed { junctions, bodies });
    }
    all
}

/// Writes the highest temperatures of a lane: those of its course, or the settled ones.
pub(crate) fn fill<const L: usize>(plan: &Plan, block: &mut Block<L>, l: usize, followed: &Followed) {
    Warmth::fill(followed.bodies.as_ref(), plan, block, l);
    fill_junctions(plan, block, l, followed.junctions.as_deref());
}

/// The same of junctions alone.
pub(crate) fn fill_junctions<const L: usize>(
    plan: &Plan,
    block: &mut Block<L>,
    l: usize,
    course: Option<&[f64]>,
) {
    for (k, chip) in plan.chips.iter().enumerate() {
        let figures = &chip.figures;
        let Some(hottest) = figures.hottest_junction else { return };
        block.figures[hottest.index()][l] = match course {
            Some(course) => course[k] + block.figures[figures.junction_ripple.index()][l],
            None => block.figures[figures.junction_temperature.index()][l],
        };
    }
}
