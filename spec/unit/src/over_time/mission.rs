//! A mission: many rows of time, each a duty point with some of its values changed.
//!
//! Rows are solved side by side in chunks, on as many threads as the caller likes; only heat goes from row to row, one
//! after another. A chunk is a variant of its own whose duty points are the rows, so that every check can judge it.

use std::sync::Arc;

use crate::ids::{DutyId, FigureId, InputId};
use crate::over_time::Which;
use crate::over_time::bodies::{Lasting, Warmth};
use crate::over_time::course;
use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
use crate::over_time::state::State;
use crate::over_time::step::Stepper;
use crate::plan::Source;
use crate::solved::{Solved, WIDTH};
use crate::solver::{Block, LaneState, Scratch, solve};
use crate::trace::Silent;
use crate::variant::{Duty, Lane, Variant};

/// Longest step of a row in s: losses follow the junctions from one to the next.
const LONGEST_STEP: f64 = 2.0;
/// Most steps of a row; a longer one is divided into steps that grow.
const MOST_STEPS: usize = 32;
/// Parts of a row in which windings and cores are looked at, beside its beginning.
const PARTS: usize = 2;

/// Rows one after another.
#[derive(Clone, Debug, Default)]
pub struct Rows {
    /// The duty point that each row takes what it does not state from.
    pub duties: Vec<DutyId>,
    /// How long each lasts, in s.
    pub lasts: Vec<f64>,
    /// What each states, column by column, row after row, in the units of their dimensions.
    pub values: Vec<f64>,
}

impl Rows {
    /// How many.
    #[must_use]
    pub fn len(&self) -> usize {
        self.duties.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.duties.is_empty()
    }

    /// Forgets them, and keeps the room.
    pub fn clear(&mut self) {
        self.duties.clear();
        self.lasts.clear();
        self.values.clear();
    }
}

/// Some rows as a variant, with their solution.
pub struct Chunk<'v> {
    base: &'v Variant,
    columns: &'v [InputId],
    rows: Variant,
    blocks: Vec<Block<WIDTH>>,
    scratch: Scratch<WIDTH>,
    followed: Vec<Which>,
    /// Frequencies and speeds that are zero where a rotor stands, each with whether its machine is asked for anything.
    turns: Vec<(InputId, InputId)>,
}

impl<'v> Chunk<'v> {
    /// Room for rows of a variant that change the inputs of some columns.
    #[must_use]
    pub fn new(base: &'v Variant, columns: &'v [InputId]) -> Self {
        let bridges = base.plan.stages.iter().filter_map(crate::plan::Stage::bridge);
        let turns = bridges
            .flat_map(|bridge| {
                let speed = bridge.inputs.constants.as_ref().map(|constants| constants.speed);
                let turns = core::iter::once(bridge.inputs.frequency).chain(speed);
                turns.map(|turns| (bridge.inputs.active, turns))
            })
            .collect();
        Self {
            base,
            columns,
            rows: base.clone(),
            blocks: Vec::new(),
            scratch: Scratch::new(&base.plan),
            followed: Vec::new(),
            turns,
        }
    }

    /// Takes rows in and solves them, heat settled.
    pub fn solve(&mut self, rows: &Rows) {
        self.lay(rows);
        crate::solved::refill(&self.rows, &[], &mut self.blocks);
        for block in &mut self.blocks {
            // The crest counts where a rotor stands; one that turns takes no note of it.
            block.crest = [1; WIDTH];
            solve(&self.rows.plan, block, &mut self.scratch, &mut Silent);
        }
        self.followed = vec![Which::default(); rows.len()];
    }

    fn lay(&mut self, rows: &Rows) {
        let width = self.columns.len();
        for (k, input) in self.rows.tables.inputs_mut().iter_mut().enumerate() {
            let of_base = &self.base.tables.inputs()[k].values;
            let column = self.columns.iter().position(|column| column.index() == k);
            if of_base.len() <= 1 && column.is_none() {
                continue;
            }
            input.values.clear();
            input.values.extend(rows.duties.iter().enumerate().map(|(row, duty)| {
                let mut stated = of_base[if of_base.len() == 1 { 0 } else { duty.index() }];
                if let Some(column) = column {
                    stated.value = rows.values[row * width + column];
                }
                stated
            }));
        }
        self.rows.duties.clear();
        self.rows.lanes.clear();
        for (row, (duty, &lasts)) in rows.duties.iter().zip(&rows.lasts).enumerate() {
            let of_base = &self.base.duties[duty.index()];
            self.rows.duties.push(Duty {
                name: of_base.name.clone(),
                at: of_base.at,
                lasts: Some(lasts),
                every: None,
                starts_from: None,
                stretch: Some(f64::INFINITY),
            });
            let value = |input: InputId| {
                let values = &self.rows.tables.inputs()[input.index()].values;
                values.get(row).or(values.first()).map_or(f64::NAN, |stated| stated.value)
            };
            // A machine of which nothing is asked rests, and its rotor counts for nothing.
            let stands = |&(asked, turns): &(InputId, InputId)| value(asked) > 0.5 && value(turns) == 0.0;
            let crest = i8::from(self.turns.iter().any(stands));
            self.rows.lanes.push(Lane { duty: DutyId::new(row), crest });
        }
    }

    /// Shows the solution to whoever judges it.
    pub fn show<R>(&mut self, see: impl FnOnce(&Solved<'_>) -> R) -> R {
        let blocks = core::mem::take(&mut self.blocks);
        let solved = Solved::of_blocks(&self.rows, blocks, core::mem::take(&mut self.followed));
        let seen = see(&solved);
        (self.blocks, self.followed) = solved.into_blocks();
        seen
    }

    /// A figure of a row, "not a number" included.
    #[must_use]
    pub fn raw(&self, id: FigureId, row: usize) -> f64 {
        self.blocks[row / WIDTH].figures[id.index()][row % WIDTH]
    }

    /// An input of a row, "not a number" included.
    #[must_use]
    pub fn input(&self, id: InputId, row: usize) -> f64 {
        self.blocks[row / WIDTH].inputs[id.index()][row % WIDTH]
    }

    /// Whether a row has a solution.
    #[must_use]
    pub fn is_solved(&self, row: usize) -> bool {
        matches!(self.blocks[row / WIDTH].state[row % WIDTH], LaneState::Solved { .. })
    }

    /// Whether the heat of junctions and plates could be followed through a row.
    #[must_use]
    pub fn is_followed(&self, row: usize) -> bool {
        self.followed[row].junctions
    }

    /// Which of the times that sources state for their peaks the stretch of a row has outlasted, one bit each; all ones
    /// where it is in no stretch.
    #[must_use]
    pub fn outlasted(&self, row: usize) -> u64 {
        let stretch = self.rows.duties[row].stretch.unwrap_or(f64::INFINITY);
        let limits = self.base.plan.sources.iter().flat_map(|source| {
            source.limits.discharge.iter().chain(&source.limits.charge).chain(&source.limits.power)
        });
        let bits = limits.take(62).enumerate().filter(|(_, (lasts, _))| *lasts < stretch);
        bits.fold(u64::from(stretch.is_finite()) << 63, |bits, (place, _)| bits | 1 << place)
    }

    /// Whether a rotor stands in a row.
    #[must_use]
    pub fn stands(&self, row: usize) -> bool {
        self.rows.lanes[row].crest != 0
    }
}

/// For how long sources have been beyond what they stand for good.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stretch {
    lasts: f64,
}

impl Stretch {
    /// Follows the rows of a chunk, and notes in each how long the stretch has gone on.
    pub fn follow(&mut self, chunk: &mut Chunk<'_>, rows: &Rows) {
        for (row, &lasts) in rows.lasts.iter().enumerate() {
            let is_beyond = chunk.is_solved(row)
                && chunk.base.plan.sources.iter().any(|source| is_beyond(source, chunk, row));
            self.lasts = if is_beyond { self.lasts + lasts } else { 0.0 };
            chunk.rows.duties[row].stretch = Some(if is_beyond { self.lasts } else { f64::INFINITY });
        }
    }
}

/// Whether a source gives or takes more than it stands for good.
fn is_beyond(source: &Source, chunk: &Chunk<'_>, row: usize) -> bool {
    let (current, power) = (chunk.raw(source.current, row), chunk.raw(source.power, row));
    let more = |carried: f64, limits: &[(f64, InputId)]| {
        let for_good = limits.iter().find(|(lasts, _)| lasts.is_infinite());
        for_good.is_some_and(|&(_, limit)| carried > chunk.input(limit, row))
    };
    more(current, &source.limits.discharge)
        || more(-current, &source.limits.charge)
        || more(power.abs(), &source.limits.power)
}

/// Heat that goes from row to row.
pub struct Heat<'v> {
    stepper: Stepper<'v, 1>,
    state: Option<State<1>>,
    driven: Driven<1>,
    /// Conductors, windings and cores, and how hot they get in a row.
    warmth: Option<Warmth>,
    hottest: Warmth,
    /// How hot each place gets in a row, in °C.
    plates: Vec<f64>,
    /// Rows that could not be followed, for want of a solution or a value.
    pub lost: usize,
}

impl<'v> Heat<'v> {
    /// Begins settled in the first row, or in a duty point that went before.
    #[must_use]
    pub fn new(variant: &'v Variant, from: Option<DutyId>) -> Self {
        let plan = &variant.plan;
        let mut heat = Self {
            stepper: Stepper::new(plan, Arc::new(Layout::of(plan))),
            state: None,
            driven: Driven::new(plan),
            warmth: None,
            hottest: Warmth::default(),
            plates: Vec::new(),
            lost: 0,
        };
        let lane = from.and_then(|from| variant.lane_ids().find(|&lane| variant.lane(lane).duty == from));
        if let Some(lane) = lane {
            let solved = Solved::new(variant);
            let (block, l) = solved.place(lane);
            heat.driven.take(plan, &heat.stepper.layout, (block, l), 0);
            heat.state = heat.settled();
            if matches!(block.state[l], LaneState::Solved { .. }) {
                heat.warmth = Some(Warmth::settled(plan, block, l));
            }
        }
        heat
    }

    /// Follows the rows of a chunk, and fills in how hot junctions, conductors, windings and cores get in each.
    pub fn follow(&mut self, chunk: &mut Chunk<'_>, rows: &Rows) {
        let plan = self.stepper.plan;
        let mut hottest = vec![0.0; plan.chips.len()];
        for (row, &lasts) in rows.lasts.iter().enumerate() {
            let (block, l) = (&mut chunk.blocks[row / WIDTH], row % WIDTH);
            let is_solved = matches!(block.state[l], LaneState::Solved { .. });
            if is_solved {
                self.driven.take(plan, &self.stepper.layout, (&*block, l), 0);
            }
            let before = self.state.take().or_else(|| if is_solved { self.settled() } else { None });
            let mut state = before.clone();
            self.plates.clear();
            self.plates.extend(self.driven.places.iter().map(|place| place.settled[0]));
            if let (true, Some(state)) = (is_solved, &mut state) {
                self.plates.copy_from_slice(state.plates.as_flattened());
                self.run(state, lasts, &mut hottest);
                course::raise(&mut self.plates, state.plates.as_flattened());
            }
            let is_known = is_solved && state.as_ref().is_some_and(|state| state.is_known(0));
            course::fill_junctions(plan, block, l, is_known.then_some(hottest.as_slice()));
            if is_solved {
                let on = Lasting { block: &*block, lane: l, plates: &self.plates, lasts };
                let warmth = self.warmth.get_or_insert_with(|| Warmth::settled(plan, on.block, l));
                warmth.warm(plan, on, PARTS, &mut self.hottest);
            }
            course::fill_bodies(plan, block, l, is_solved.then_some(&self.hottest));
            chunk.followed[row] = Which { junctions: is_known, bodies: is_solved };
            self.lost += usize::from(!is_known);
            self.state = if is_known { state } else { before };
        }
    }

    /// Everything settled, as it is driven; none where a temperature is not known.
    fn settled(&self) -> Option<State<1>> {
        Some(State::settled(&self.stepper.layout, &self.driven)).filter(|state| state.is_known(0))
    }

    fn run(&mut self, state: &mut State<1>, lasts: f64, hottest: &mut [f64]) {
        let steps = ((lasts / LONGEST_STEP).ceil() as usize).clamp(1, MOST_STEPS);
        hottest.fill(f64::NEG_INFINITY);
        self.stepper.begin(&self.driven);
        for step in 0..steps {
            let length = course::reached(step + 1, steps, lasts) - course::reached(step, steps, lasts);
            self.stepper.step(&self.driven, state, length);
            course::raise(hottest, self.stepper.junctions.as_flattened());
        }
    }
}

impl Variant {
    /// The input that a duty point states under a path such as `loads.traction_motor.torque`.
    #[must_use]
    pub fn duty_input(&self, path: &str) -> Option<InputId> {
        let place = self
            .tables
            .inputs()
            .iter()
            .position(|input| input.path.strip_prefix("duty.*.").is_some_and(|own| own == path));
        place.map(InputId::new)
    }
}
