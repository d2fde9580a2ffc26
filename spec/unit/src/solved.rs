//! A solved variant: all that a check sees.

mod filled;
mod held;
mod kept;
mod resonant;
mod sections;

use std::sync::Arc;

use crate::asked::Ear;
use crate::ids::{FigureId, InputId, LaneId};
use crate::missing::{Cause, Diagnosis};
use crate::over_time::{Courses, Followed, Which};
use crate::plan::{Bus, CoolantRow, Plan, RippleTerm, Source};
use crate::solver::{Block, LaneState, RippleLines, Scratch, bus_behind, holder, solve};
use crate::trace::{Operand, Silent, Steps, Trace};
use crate::variant::{Lanes, Variant};

use crate::side_by_side::each;
use filled::filled;
use sections::FollowingSections;

/// Lanes that are solved side by side; a block of fewer takes as long.
pub const WIDTH: usize = 4;

/// A value put in place of what the description says, in all lanes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edit {
    /// The input.
    pub input: InputId,
    /// Its value in the unit of its dimension.
    pub value: f64,
}

/// A variant with every lane solved.
#[derive(Clone, Debug)]
pub struct Solved<'u> {
    /// The variant.
    pub variant: &'u Variant,
    edits: Vec<Edit>,
    blocks: Vec<Block<WIDTH>>,
    /// What of each lane was followed over time.
    followed: Vec<Which>,
    /// How junctions of the lanes went.
    courses: Courses,
    /// Notes what is asked, where somebody wants to know.
    ear: Option<Arc<Ear>>,
}

/// A variant solved once more with another order along its coolant path; figures stand under the same ids.
#[derive(Clone, Debug)]
pub struct Reordered {
    blocks: Vec<Block<WIDTH>>,
}

/// One lane solved with other inputs, and nothing else of its variant.
#[derive(Clone, Debug)]
pub struct Glance {
    block: Block<1>,
}

/// How the figures of one lane came about.
#[derive(Clone, Debug)]
pub struct Derivation {
    /// Each figure's law and operands.
    pub steps: Steps,
    /// The figures of the replayed lane, for comparison with the stored ones.
    pub figures: Vec<f64>,
    /// How the replay ended.
    pub state: LaneState,
}

impl<'u> Solved<'u> {
    /// Solves a variant as it is described.
    #[must_use]
    pub fn new(variant: &'u Variant) -> Self {
        Self::with(variant, &[Vec::new()]).pop().unwrap_or(Self {
            variant,
            edits: Vec::new(),
            blocks: Vec::new(),
            followed: Vec::new(),
            courses: Courses::new(),
            ear: None,
        })
    }

    /// What was edited for it; nothing in a review as written.
    #[must_use]
    pub fn edits(&self) -> &[Edit] {
        self.note_rest();
        &self.edits
    }

    fn note_rest(&self) {
        if let Some(ear) = &self.ear {
            ear.rest();
        }
    }

    /// What was solved elsewhere.
    pub(crate) const fn of_blocks(
        variant: &'u Variant,
        blocks: Vec<Block<WIDTH>>,
        followed: Vec<Which>,
    ) -> Self {
        Self { variant, edits: Vec::new(), blocks, followed, courses: Courses::new(), ear: None }
    }

    /// Gives back what was solved elsewhere.
    pub(crate) fn into_blocks(self) -> (Vec<Block<WIDTH>>, Vec<Which>) {
        (self.blocks, self.followed)
    }

    /// Where the solution of a lane stands.
    pub(crate) fn place(&self, lane: LaneId) -> (&Block<WIDTH>, usize) {
        self.note_rest();
        (&self.blocks[lane.index() / WIDTH], lane.index() % WIDTH)
    }

    /// Solves a variant once for each trial.
    #[must_use]
    pub fn with(variant: &'u Variant, trials: &[Vec<Edit>]) -> Vec<Self> {
        let mut scratch = Scratch::new(&variant.plan);
        trials.iter().map(|edits| Self::once(variant, edits, &mut scratch)).collect()
    }

    /// Solves a variant with edits.
    fn once(variant: &'u Variant, edits: &[Edit], scratch: &mut Scratch<WIDTH>) -> Self {
        let mut solved = Self::at_once(variant, edits, scratch);
        solved.find_largest();
        solved
    }

    /// Solves a variant as it is described, and does not look for the share of what is asked that a lane without a solution
    /// has one for: the state of such a lane says none.
    #[must_use]
    pub fn without_shares(variant: &'u Variant) -> Self {
        Self::at_once(variant, &[], &mut Scratch::new(&variant.plan))
    }

    fn at_once(variant: &'u Variant, edits: &[Edit], scratch: &mut Scratch<WIDTH>) -> Self {
        let mut blocks = filled(variant, edits);
        if variant.is_worth_all_cores() {
            let solve = |block: &mut Block<WIDTH>| {
                solve(&variant.plan, block, &mut Scratch::new(&variant.plan), &mut Silent);
            };
            each(&mut blocks, solve);
        } else {
            blocks.iter_mut().for_each(|block| solve(&variant.plan, block, scratch, &mut Silent));
        }
        let mut courses = Courses::new();
        let followed = over_time(variant, &variant.plan, &mut blocks, &mut courses);
        crate::over_time::fuses::warm(variant, &variant.plan, &mut blocks);
        Self { variant, edits: edits.to_vec(), blocks, followed, courses, ear: None }
    }

    /// Solves the variant once for each order in which a row of its coolant path may be visited; an order names the
    /// legs by their places in the row. Nothing where there is no coolant path, or one of them is no order of the row.
    #[must_use]
    pub fn reordered(&self, row: CoolantRow, orders: &[Vec<usize>]) -> Option<Vec<Reordered>> {
        let mut all = Vec::with_capacity(orders.len());
        let trials = orders.iter().map(|order| vec![(row, order.as_slice())]);
        self.reordered_together(trials, |reordered| all.push(reordered)).then_some(all)
    }

    /// Solves the variant once for each trial, in which several rows are visited in other orders, and hands on what comes
    /// of it. Ends and says so where there is no coolant path, or something is no order of its row.
    pub fn reordered_together<'o>(
        &self,
        trials: impl IntoIterator<Item = Vec<(CoolantRow, &'o [usize])>>,
        mut each: impl FnMut(Reordered),
    ) -> bool {
        self.note_rest();
        let Some(described) = self.variant.plan.coolant.as_ref() else { return false };
        let mut plan = self.variant.plan.clone();
        for trial in trials {
            let mut path = described.clone();
            if !trial.iter().all(|&(row, order)| path.reorder(row, order)) {
                return false;
            }
            path.lay();
            plan.coolant = Some(path);
            let mut scratch = Scratch::new(&plan);
            let mut blocks = filled(self.variant, &self.edits);
            for block in &mut blocks {
                solve(&plan, block, &mut scratch, &mut Silent);
            }
            over_time(self.variant, &plan, &mut blocks, &mut Courses::new());
            crate::over_time::fuses::warm(self.variant, &plan, &mut blocks);
            each(Reordered { blocks });
        }
        true
    }

    /// Solves one lane with edits: what they do there is known before the whole variant is solved with them.
    #[must_use]
    pub fn glance(&self, lane: LaneId, edits: &[Edit], scratch: &mut Scratch<1>) -> Glance {
        self.note_rest();
        let mut block = self.edited(lane, edits, scratch);
        self.follow_alone(lane, &mut block, |from| self.edited(from, edits, scratch));
        Glance { block }
    }

    /// Whether junctions of a lane were followed over the time that its duty point lasts; if not, they are settled.
    #[must_use]
    pub fn is_followed(&self, lane: LaneId) -> bool {
        self.which(lane).junctions
    }

    /// Whether conductors, windings and cores of a lane were followed over that time; if not, they are settled.
    #[must_use]
    pub fn is_warmed(&self, lane: LaneId) -> bool {
        self.which(lane).bodies
    }

    fn which(&self, lane: LaneId) -> Which {
        self.followed.get(lane.index()).copied().unwrap_or_default()
    }

    /// Lanes that speak of what is the same in all duty points. Where duty points stand apart, one for each.
    pub fn lanes_of_the_unit(&self) -> impl Iterator<Item = LaneId> + '_ {
        self.variant.together().filter_map(|lanes| self.speaks_for(lanes))
    }

    /// The lane that speaks of what is the same in some: the first with a solution, or where there is none the first of all.
    #[must_use]
    pub fn speaks_for(&self, lanes: Lanes) -> Option<LaneId> {
        let is_solved = |&lane: &LaneId| matches!(self.state(lane), LaneState::Solved { .. });
        lanes.ids().find(is_solved).or_else(|| lanes.ids().next())
    }

    /// How the solution of a lane ended.
    #[must_use]
    pub fn state(&self, lane: LaneId) -> LaneState {
        if let Some(ear) = &self.ear {
            ear.states();
        }
        state(&self.blocks, lane)
    }

    /// A figure in a lane; none where it is missing or the lane has no solution.
    #[must_use]
    pub fn figure(&self, id: FigureId, lane: LaneId) -> Option<f64> {
        if let Some(ear) = &self.ear {
            ear.figure(id);
        }
        figure(&self.blocks, id, lane)
    }

    /// A figure as stored, "not a number" included; the replay is compared with it.
    #[must_use]
    pub fn raw(&self, id: FigureId, lane: LaneId) -> f64 {
        if let Some(ear) = &self.ear {
            ear.figure(id);
        }
        raw(&self.blocks, id, lane)
    }

    /// An input in a lane; none where it is missing.
    #[must_use]
    pub fn input(&self, id: InputId, lane: LaneId) -> Option<f64> {
        if let Some(ear) = &self.ear {
            ear.input(id);
        }
        let value = self.blocks[lane.index() / WIDTH].inputs[id.index()][lane.index() % WIDTH];
        value.is_finite().then_some(value)
    }

    /// Lines of a ripple in a lane.
    #[must_use]
    pub fn ripple_lines(&self, term: &RippleTerm, lane: LaneId) -> RippleLines {
        self.variant.plan.ripple_lines(term, |operand| {
            let value = match operand {
                Operand::Figure(figure) => self.figure(figure, lane),
                Operand::Input(input) => self.input(input, lane),
                Operand::Curve(_) => None,
            };
            value.unwrap_or(f64::NAN)
        })
    }

    /// Voltage and resistance behind which the sources of a bus hold it in a lane; not a number where one of them is not
    /// stated. None where the voltage of the bus does not depend on the power.
    #[must_use]
    pub fn behind(&self, bus: &Bus, lane: LaneId) -> Option<(f64, f64)> {
        self.note_rest();
        let (inputs, l) = (&self.blocks[lane.index() / WIDTH].inputs, lane.index() % WIDTH);
        bus_behind(&self.variant.plan, bus, inputs, l)
    }

    /// The source that speaks for a bus in a lane: the first that takes what is left over, else the first.
    #[must_use]
    pub fn holder(&self, bus: &Bus, lane: LaneId) -> Option<&'u Source> {
        self.note_rest();
        let (inputs, l) = (&self.blocks[lane.index() / WIDTH].inputs, lane.index() % WIDTH);
        holder(&self.variant.plan, bus, inputs, l)
    }

    /// Replays one lane and records every step.
    #[must_use]
    pub fn derivation(&self, lane: LaneId) -> Derivation {
        self.note_rest();
        let mut block = self.alone(lane);
        let mut steps = Steps::default();
        let mut scratch = Scratch::new(&self.variant.plan);
        solve(&self.variant.plan, &mut block, &mut scratch, &mut steps);
        self.follow_alone(lane, &mut block, |from| self.edited(from, &[], &mut scratch));
        self.tell_course(lane, &mut steps);
        let figures = block.figures.iter().map(|figure| figure[0]).collect();
        Derivation { steps, figures, state: block.state[0] }
    }

    /// Why a figure is missing in a lane: every input, curve or range that it waits for, each once. Who asks for
    /// several figures of a lane keeps a [`Diagnosis`].
    #[must_use]
    pub fn missing(&self, figure: FigureId, lane: LaneId) -> Vec<Cause> {
        Diagnosis::of(self, lane).causes(figure)
    }

    /// Adds the steps that follow a lane over time.
    pub(crate) fn tell_course(&self, lane: LaneId, steps: &mut impl Trace) {
        let duty = self.variant.duty_of(lane);
        let recurs = duty.every.is_some();
        if recurs && duty.lasts.is_some() {
            crate::over_time::fuses::tell(&self.variant.plan, steps);
        }
        let figure = |id| raw(&self.blocks, id, lane);
        crate::over_time::tell(&self.variant.plan, self.which(lane), recurs, &figure, steps);
    }

    /// A lane by itself, solved with edits; not followed over time.
    fn edited(&self, lane: LaneId, edits: &[Edit], scratch: &mut Scratch<1>) -> Block<1> {
        let mut block = self.alone(lane);
        for edit in edits {
            block.inputs[edit.input.index()][0] = edit.value;
        }
        FollowingSections::of(self.variant, edits).follow(&mut block.inputs, 0);
        solve(&self.variant.plan, &mut block, scratch, &mut Silent);
        block
    }

    /// Follows a lane by itself over time, with the lanes that it starts from solved by `solve`.
    fn follow_alone(&self, lane: LaneId, block: &mut Block<1>, mut solve: impl FnMut(LaneId) -> Block<1>) {
        let (variant, plan) = (self.variant, &self.variant.plan);
        let mut all: Vec<(LaneId, Block<1>)> = Vec::new();
        let mut wanted = crate::over_time::before(variant, lane);
        while let Some(next) = wanted.pop() {
            if all.iter().all(|&(known, _)| known != next) {
                all.push((next, solve(next)));
                wanted.extend(crate::over_time::before(variant, next));
            }
        }
        let find = |id: LaneId| {
            let other = all.iter().find(|&&(known, _)| known == id).map(|(_, block)| block);
            other.or_else(|| (id == lane).then_some(&*block)).map(|block| (block, 0))
        };
        let loads = crate::over_time::fuses::recurring(variant, plan, lane, find);
        let followed = plan.duration.map(|_| {
            crate::over_time::follow(variant, plan, core::iter::once(lane), find, &mut Courses::new()).pop()
        });
        if let Some(followed) = followed {
            crate::over_time::fill(plan, block, 0, &followed.unwrap_or_default());
        }
        crate::over_time::fuses::fill(plan, block, 0, &loads);
    }

    /// A lane by itself, not yet solved.
    pub(crate) fn alone(&self, lane: LaneId) -> Block<1> {
        self.note_rest();
        let (from, l) = (&self.blocks[lane.index() / WIDTH], lane.index() % WIDTH);
        let mut block = Block::new(from.inputs.len(), from.figures.len());
        for (to, from) in block.inputs.iter_mut().zip(from.inputs.iter()) {
            to[0] = from[l];
        }
        block.crest = [from.crest[l]];
        block
    }

    /// For each lane without a solution: the largest share of what it asks that has one, by halving.
    fn find_largest(&mut self) {
        for lane in self.variant.lane_ids() {
            let LaneState::NoSolution { at, .. } = self.state(lane) else { continue };
            let largest = self.largest_share(lane);
            self.blocks[lane.index() / WIDTH].state[lane.index() % WIDTH] =
                LaneState::NoSolution { at, largest };
        }
    }

    fn largest_share(&self, lane: LaneId) -> f64 {
        let plan = &self.variant.plan;
        let asked = self.alone(lane);
        let mut scratch = Scratch::new(plan);
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..24 {
            let share = 0.5 * (low + high);
            let mut block = asked.clone();
            for (input, value) in self.variant.tables.inputs().iter().zip(block.inputs.iter_mut()) {
                if input.is_demand {
                    value[0] *= share;
                }
            }
            solve(plan, &mut block, &mut scratch, &mut Silent);
            if matches!(block.state[0], LaneState::Solved { .. }) {
                low = share;
            } else {
                high = share;
            }
        }
        low
    }
}

impl Glance {
    /// How the solution ended.
    #[must_use]
    pub const fn state(&self) -> LaneState {
        self.block.state[0]
    }

    /// A figure; none where it is missing or there is no solution.
    #[must_use]
    pub fn figure(&self, id: FigureId) -> Option<f64> {
        let value = self.block.figures[id.index()][0];
        (matches!(self.state(), LaneState::Solved { .. }) && value.is_finite()).then_some(value)
    }

    /// An input; none where it is missing.
    #[must_use]
    pub fn input(&self, id: InputId) -> Option<f64> {
        let value = self.block.inputs[id.index()][0];
        value.is_finite().then_some(value)
    }
}

impl Reordered {
    /// How the solution of a lane ended.
    #[must_use]
    pub fn state(&self, lane: LaneId) -> LaneState {
        state(&self.blocks, lane)
    }

    /// A figure in a lane; none where it is missing or the lane has no solution.
    #[must_use]
    pub fn figure(&self, id: FigureId, lane: LaneId) -> Option<f64> {
        figure(&self.blocks, id, lane)
    }
}

fn state(blocks: &[Block<WIDTH>], lane: LaneId) -> LaneState {
    blocks[lane.index() / WIDTH].state[lane.index() % WIDTH]
}

fn raw(blocks: &[Block<WIDTH>], id: FigureId, lane: LaneId) -> f64 {
    blocks[lane.index() / WIDTH].figures[id.index()][lane.index() % WIDTH]
}

fn figure(blocks: &[Block<WIDTH>], id: FigureId, lane: LaneId) -> Option<f64> {
    let value = raw(blocks, id, lane);
    (matches!(state(blocks, lane), LaneState::Solved { .. }) && value.is_finite()).then_some(value)
}

/// Follows every lane that does not last until everything has settled, along the courses of junctions that are known; says
/// which were.
fn over_time(variant: &Variant, plan: &Plan, blocks: &mut [Block<WIDTH>], known: &mut Courses) -> Vec<Which> {
    if plan.duration.is_none() {
        return Vec::new();
    }
    let find = |id: LaneId| Some((&blocks[id.index() / WIDTH], id.index() % WIDTH));
    let courses = crate::over_time::follow(variant, plan, variant.lane_ids(), find, known);
    for (lane, course) in courses.iter().enumerate() {
        crate::over_time::fill(plan, &mut blocks[lane / WIDTH], lane % WIDTH, course);
    }
    let which = |(lane, of): (usize, &Followed)| Which {
        junctions: of.junctions.is_some(),
        bodies: of.bodies.is_some(),
        is_in_doubt: crate::over_time::is_in_doubt(plan, &blocks[lane / WIDTH], lane % WIDTH),
    };
    courses.iter().enumerate().map(which).collect()
}
