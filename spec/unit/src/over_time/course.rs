//! A duty point followed from what went before it to its end.

use std::sync::Arc;

use crate::ids::LaneId;
use crate::over_time::bodies::{Lasting, PARTS, Warmth};
use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
use crate::over_time::state::State;
use crate::over_time::step::Stepper;
use crate::plan::Plan;
use crate::solver::{Block, LaneState, lose_where_hottest, stands_where_hottest};
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
const ABREAST: usize = 6;

/// Follows lanes of a variant, whose solutions are found by their numbers.
struct Follower<'v, F> {
    variant: &'v Variant,
    plan: &'v Plan,
    layout: Arc<Layout>,
    find: F,
    /// Lanes that were followed already, or could not be.
    known: Courses,
    /// The same of their conductors, windings and cores.
    warm: Vec<Option<Option<Arc<Warmed>>>>,
}

/// How the junctions of each lane went that was followed already; none of one that could not be.
pub(crate) type Courses = Vec<Option<Option<Arc<Course>>>>;

/// How a lane went.
#[derive(Debug)]
pub(crate) struct Course {
    /// Highest mean junction temperature of each chip, in °C.
    hottest: Vec<f64>,
    /// What each place offers to its faces where it is hottest, in °C.
    plates: Vec<f64>,
    /// The same between two occurrences, of what recurs.
    rest: Vec<f64>,
    /// How warm everything is at the end.
    end: State<1>,
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

impl<'v, 'b, F, const L: usize> Follower<'v, F>
where
    F: Fn(LaneId) -> Option<At<'b, L>>,
{
    /// Where the solution of a lane stands; none where it has none.
    fn solution(&self, lane: LaneId) -> Option<At<'b, L>> {
        (self.find)(lane).filter(|&(block, l)| matches!(block.state[l], LaneState::Solved { .. }))
    }

    /// What drives a lane; none where it has no solution.
    fn driven(&self, lane: LaneId) -> Option<Driven<1>> {
        let mut driven = Driven::new(self.plan);
        driven.take(self.plan, &self.layout, self.solution(lane)?, 0);
        Some(driven)
    }

    /// How warm everything is when a lane ends, or settles; not known where it has no solution.
    fn end(&mut self, lane: LaneId, depth: usize) -> State<1> {
        match (self.course(lane, depth), self.driven(lane)) {
            (Some(course), _) => course.end.clone(),
            (None, Some(driven)) => State::settled(&self.layout, &driven),
            (None, None) => State::unknown(&self.layout),
        }
    }

    /// How a lane went; none where it has no start. It is followed once.
    fn course(&mut self, lane: LaneId, depth: usize) -> Option<Arc<Course>> {
        if self.known[lane.index()].is_none() {
            self.abreast::<1>(&[lane], depth);
        }
        self.known[lane.index()].clone().flatten()
    }

    /// Follows at most `N` lanes of one duty point.
    fn abreast<const N: usize>(&mut self, lanes: &[LaneId], depth: usize) {
        for (lane, course) in lanes.iter().zip(self.courses::<N>(lanes, depth)) {
            self.known[lane.index()] = Some(course.map(Arc::new));
        }
    }

    /// How warm everything is when a lane starts, as far as that is known; none where it does not say what it starts from.
    /// Descriptions whose duty points start from one another in a circle are refused; `depth` holds where one
    /// slips through.
    fn start(&mut self, lane: LaneId, depth: usize) -> Option<State<1>> {
        let before = before(self.variant, lane);
        if before.is_empty() || depth == 0 {
            return None;
        }
        let mut start: Option<State<1>> = None;
        for from in before {
            let end = self.end(from, depth - 1);
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
        let (mut known, mut rests) = ([false; N], [false; N]);
        for (n, &lane) in lanes.iter().enumerate() {
            let Some((start, solution)) = self.start(lane, depth).zip(self.solution(lane)) else { continue };
            on.take(self.plan, &self.layout, solution, n);
            known[n] = true;
            if pause.is_some() {
                let before = self.hottest_of(&before(self.variant, lane));
                // Between two occurrences nobody knows what flows: then nobody knows how warm each begins.
                off.take(self.plan, &self.layout, before.unwrap_or(solution), n);
                rests[n] = before.is_some();
                if before.is_none() {
                    continue;
                }
            }
            state.put(n, &start, 0);
        }
        if known == [false; N] {
            return nothing();
        }
        let mut stepper = Stepper::new(self.plan, Arc::clone(&self.layout));
        if let (Some(every), Some(pause)) = (duty.every, pause) {
            let settled = State::settled(&self.layout, &on);
            // What recurs forgets what it began with.
            for n in (0..N).filter(|&n| rests[n]) {
                state.or_as_in(&settled, n);
            }
            let start = state.towards(&settled, lasts / every);
            state = returning(&mut stepper, start, (&on, lasts), (&off, pause));
        } else if duty.every.is_some() {
            // One occurrence follows upon the other: it never ends.
            state = State::settled(&self.layout, &on);
        }
        let mut hottest = vec![[f64::NEG_INFINITY; N]; self.plan.chips.len()];
        let mut plates = vec![[f64::NEG_INFINITY; N]; state.plates.len()];
        // The first step takes no time: it shows how hot everything begins, plates without a capacity as they follow.
        stepper.begin(&on);
        for step in 0..=STEPS {
            stepper.step(&on, &mut state, length(step, STEPS, lasts));
            raise(hottest.as_flattened_mut(), stepper.junctions.as_flattened());
            raise(plates.as_flattened_mut(), state.plates.as_flattened());
        }
        let ends = state.clone();
        let mut rest = vec![[f64::NEG_INFINITY; N]; if pause.is_some() { state.plates.len() } else { 0 }];
        if let Some(pause) = pause {
            stepper.begin(&off);
            for step in 0..=STEPS_OF_CYCLE {
                stepper.step(&off, &mut state, length(step, STEPS_OF_CYCLE, pause));
                raise(rest.as_flattened_mut(), state.plates.as_flattened());
            }
        }
        let course = |(n, is_known): (usize, bool)| {
            is_known.then(|| Course {
                hottest: hottest.iter().map(|most| most[n]).collect(),
                plates: plates.iter().map(|most| most[n]).collect(),
                rest: rest.iter().map(|most| most[n]).collect(),
                end: ends.alone(n),
            })
        };
        known.into_iter().take(lanes.len()).enumerate().map(course).collect()
    }

    /// Follows conductors, windings and cores of a lane once; none where it does not say what it starts from.
    fn warmed(&mut self, lane: LaneId, depth: usize) -> Option<Arc<Warmed>> {
        if let Some(known) = &self.warm[lane.index()] {
            return known.clone();
        }
        let warmed = self.warmed_anew(lane, depth).map(Arc::new);
        self.warm[lane.index()] = Some(warmed.clone());
        warmed
    }

    fn warmed_anew(&mut self, lane: LaneId, depth: usize) -> Option<Warmed> {
        let (plan, duty) = (self.plan, self.variant.duty_of(lane));
        let (lasts, every) = (duty.lasts?, duty.every);
        let before = before(self.variant, lane);
        if before.is_empty() || depth == 0 {
            return None;
        }
        let (block, l) = self.solution(lane)?;
        let mut start: Option<Warmth> = None;
        for &from in &before {
            let end = match (self.warmed(from, depth - 1), self.solution(from)) {
                (Some(warmed), _) => warmed.end.clone(),
                (None, Some((block, l))) => Warmth::settled(plan, block, l),
                (None, None) => Warmth::unknown(plan),
            };
            start = Some(start.map_or(end.clone(), |start| start.or_hotter(&end)));
        }
        let mut now = start?;
        let (plates, rest) = self.plates(lane, &before, depth)?;
        let on = Lasting { block, lane: l, plates: &plates, lasts };
        let mut rests: Vec<Lasting<'_, L>> = Vec::new();
        if let Some(every) = every.filter(|&every| every > lasts) {
            let mut returns: Option<Warmth> = None;
            for &from in &before {
                let Some((block, l)) = self.solution(from) else {
                    // Nobody knows what flows between two occurrences.
                    returns = Some(Warmth::unknown(plan));
                    continue;
                };
                let off = Lasting { block, lane: l, plates: &rest, lasts: every - lasts };
                rests.push(off);
                let own = Warmth::returning(plan, on, off);
                returns = Some(returns.map_or(own.clone(), |all| all.or_hotter(&own)));
            }
            now = returns?;
        } else if every.is_some() {
            // One occurrence follows upon the other: it never ends.
            now = Warmth::settled(plan, block, l);
        }
        let mut hottest = Warmth::default();
        now.warm(plan, on, PARTS, &mut hottest);
        for off in rests {
            now.runs_on(plan, off, &mut hottest);
        }
        Some(Warmed { hottest, end: now })
    }

    /// How hot each place gets in a lane, and between its occurrences: on its course, or settled in it or in what it starts
    /// from; where a plate holds heat, as hot as in the hotter of both.
    fn plates(&mut self, lane: LaneId, before: &[LaneId], depth: usize) -> Option<(Vec<f64>, Vec<f64>)> {
        if let Some(course) = self.course(lane, depth) {
            return Some((course.plates.clone(), course.rest.clone()));
        }
        let places =
            |driven: Driven<1>| driven.places.iter().map(|place| place.settled[0]).collect::<Vec<_>>();
        let mut plates = places(self.driven(lane)?);
        let mut rest = vec![f64::NEG_INFINITY; plates.len()];
        for &from in before {
            raise(&mut rest, &places(self.driven(from)?));
        }
        if self.layout.capacities.iter().any(Option::is_some) {
            raise(&mut plates, &rest);
            rest.clone_from(&plates);
        }
        Some((plates, rest))
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

/// Raises each of some temperatures to another one that is hotter, or not known.
pub(crate) fn raise(most: &mut [f64], now: &[f64]) {
    for (most, &now) in most.iter_mut().zip(now) {
        *most = if now > *most || now.is_nan() { now } else { *most };
    }
}

/// The highest temperatures in each of some lanes, where it does not go on until everything has settled and says what it
/// starts from. `find` leads to the solution of a lane. Courses that are known already are taken as they are, and those that
/// are found are left there; there are none before the first time.
pub(crate) fn follow<'b, const L: usize>(
    variant: &Variant,
    plan: &Plan,
    lanes: impl Iterator<Item = LaneId>,
    find: impl Fn(LaneId) -> Option<At<'b, L>>,
    courses: &mut Courses,
) -> Vec<Followed> {
    let lanes: Vec<LaneId> = lanes.collect();
    let is_followed = |lane: LaneId| !before(variant, lane).is_empty();
    if !lanes.iter().any(|&lane| is_followed(lane)) {
        return lanes.iter().map(|_| Followed::default()).collect();
    }
    let layout = Arc::new(Layout::of(plan));
    let mut known = core::mem::take(courses);
    known.resize(variant.lanes.len(), None);
    let warm = vec![None; variant.lanes.len()];
    let mut follower = Follower { variant, plan, layout, find, known, warm };
    let depth = variant.duties.len();
    for of_duty in lanes.chunk_by(|&one, &other| variant.lane(one).duty == variant.lane(other).duty) {
        for lanes in of_duty.chunks(ABREAST) {
            match lanes {
                // One that another starts from was followed then.
                [lane] => drop(follower.course(*lane, depth)),
                _ if lanes.iter().all(|lane| follower.known[lane.index()].is_some()) => {}
                _ => follower.abreast::<ABREAST>(lanes, depth),
            }
        }
    }
    let mut followed = |lane: LaneId| {
        if !is_followed(lane) {
            return Followed::default();
        }
        let junctions = follower.course(lane, depth).map(|course| course.hottest.clone());
        let bodies = follower.warmed(lane, depth).map(|warmed| warmed.hottest.clone());
        Followed { junctions, bodies }
    };
    let followed = lanes.into_iter().map(&mut followed).collect();
    *courses = follower.known;
    followed
}

/// Writes the highest temperatures of a lane: those of its course, or the settled ones.
pub(crate) fn fill<const L: usize>(plan: &Plan, block: &mut Block<L>, l: usize, followed: &Followed) {
    fill_bodies(plan, block, l, followed.bodies.as_ref());
    fill_junctions(plan, block, l, followed.junctions.as_deref());
}

/// The same of conductors, windings and cores alone, with what hangs on how hot those get.
pub(crate) fn fill_bodies<const L: usize>(
    plan: &Plan,
    block: &mut Block<L>,
    l: usize,
    hottest: Option<&Warmth>,
) {
    Warmth::fill(hottest, plan, block, l);
    lose_where_hottest(plan, block, l);
    stands_where_hottest(plan, block, l);
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
        let Some((uneven, out)) = figures.uneven.and_then(|own| Some((own, own.hottest_junction?))) else {
            continue;
        };
        // In the leg that carries most as far above the others as once that has settled.
        let above = block.figures[uneven.junction_temperature.index()][l]
            - block.figures[figures.junction_temperature.index()][l];
        block.figures[out.index()][l] = block.figures[hottest.index()][l] + above;
    }
}
