//! A mission: many rows of time, each a duty point with some of its values changed.
//!
//! Rows are solved side by side in chunks, on as many threads as the caller likes; only heat goes from row to row, one
//! after another. A chunk is a variant of its own whose duty points are the rows, so that every check can judge it.

use std::sync::Arc;

use crate::ids::{DutyId, FigureId, InputId};
use crate::over_time::Which;
use crate::over_time::bodies::{Lasting, Warmth};
use crate::over_time::course;
pub use crate::over_time::cycles::{BANDS, Counted, Cycles};
use crate::over_time::doubt;
use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
use crate::over_time::state::State;
use crate::over_time::step::Stepper;
pub use crate::over_time::stretch::Stretch;
use crate::solved::{Solved, WIDTH};
use crate::solver::{Block, LaneState, Scratch, solve};
use crate::table::Input;
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
    pub(super) base: &'v Variant,
    pub(super) rows: Variant,
    pub(super) blocks: Vec<Block<WIDTH>>,
    scratch: Scratch<WIDTH>,
    followed: Vec<Which>,
    /// Inputs that differ from row to row, and where each takes its values from; all others stand in the blocks for good.
    moving: Vec<(InputId, From)>,
    /// Frequencies and speeds that are zero where a rotor stands, each with whether its machine is asked for anything.
    turns: Vec<(InputId, InputId)>,
}

/// Where an input takes its value of a row from.
#[derive(Clone, Copy)]
enum From {
    /// A column of the rows.
    Column(usize),
    /// How long the row lasts.
    Lasts,
    /// The duty point of the row.
    Duty,
}

impl<'v> Chunk<'v> {
    /// Room for rows of a variant that change the inputs of some columns.
    #[must_use]
    pub fn new(base: &'v Variant, columns: &[InputId]) -> Self {
        let bridges = base.plan.stages.iter().filter_map(crate::plan::Stage::bridge);
        let turns = bridges
            .flat_map(|bridge| {
                let speed = bridge.inputs.constants.as_ref().map(|constants| constants.speed);
                let turns = core::iter::once(bridge.inputs.frequency).chain(speed);
                turns.map(|turns| (bridge.inputs.active, turns))
            })
            .collect();
        let from = |(k, input): (usize, &Input)| {
            let id = InputId::new(k);
            let from = match columns.iter().position(|&column| column == id) {
                Some(column) => From::Column(column),
                None if base.plan.duration.is_some_and(|times| times.lasts == id) => From::Lasts,
                None if input.values.len() > 1 => From::Duty,
                None => return None,
            };
            Some((id, from))
        };
        Self {
            base,
            rows: Variant { is_apart: true, ..base.clone() },
            blocks: Vec::new(),
            scratch: Scratch::new(&base.plan),
            followed: Vec::new(),
            moving: base.tables.inputs().iter().enumerate().filter_map(from).collect(),
            turns,
        }
    }

    /// Takes rows in and solves them, heat settled.
    pub fn solve(&mut self, rows: &Rows) {
        self.lay(rows);
        self.fill(rows.len());
        for block in &mut self.blocks {
            // The crest counts where a rotor stands; one that turns takes no note of it.
            block.crest = [1; WIDTH];
            solve(&self.rows.plan, block, &mut self.scratch, &mut Silent);
        }
        self.followed = vec![Which::default(); rows.len()];
    }

    /// Puts the values of so many rows into the blocks.
    fn fill(&mut self, rows: usize) {
        let (tables, blocks) = (&self.rows.tables, rows.div_ceil(WIDTH));
        self.blocks.truncate(blocks);
        for block in &mut self.blocks {
            block.figures.fill([f64::NAN; WIDTH]);
        }
        self.blocks.resize_with(blocks, || {
            let mut block = Block::new(tables.inputs().len(), tables.figures().len());
            for (input, values) in tables.inputs().iter().zip(block.inputs.iter_mut()) {
                *values = [input.values.first().map_or(f64::NAN, |always| always.value); WIDTH];
            }
            block
        });
        for (k, block) in self.blocks.iter_mut().enumerate() {
            let first = k * WIDTH;
            for &(id, _) in &self.moving {
                let values = &tables.input_of(id).values[first..rows.min(first + WIDTH)];
                // The last block is filled up with its first row.
                block.inputs[id.index()] =
                    core::array::from_fn(|l| values.get(l).unwrap_or(&values[0]).value);
            }
        }
    }

    /// Lays rows down as duty points.
    fn lay(&mut self, rows: &Rows) {
        let width = rows.values.len().checked_div(rows.len()).unwrap_or(0);
        for &(id, from) in &self.moving {
            let of_base = &self.base.tables.inputs()[id.index()].values;
            let values = &mut self.rows.tables.inputs_mut()[id.index()].values;
            values.clear();
            values.extend(rows.duties.iter().enumerate().map(|(row, duty)| {
                let mut stated = of_base[if of_base.len() == 1 { 0 } else { duty.index() }];
                match from {
                    From::Column(column) => stated.value = rows.values[row * width + column],
                    From::Lasts => stated.value = rows.lasts[row],
                    From::Duty => {}
                }
                stated
            }));
        }
        self.rows.duties.truncate(rows.len());
        self.rows.lanes.clear();
        for (row, (duty, &lasts)) in rows.duties.iter().zip(&rows.lasts).enumerate() {
            let of_base = &self.base.duties[duty.index()];
            let alone = |name| Duty {
                name,
                at: of_base.at,
                lasts: Some(lasts),
                every: None,
                starts_from: None,
                stretch: Some(f64::INFINITY),
                too_soon: 0,
            };
            if let Some(duty) = self.rows.duties.get_mut(row) {
                // Room for the name is kept.
                duty.name.clone_from(&of_base.name);
                *duty = alone(core::mem::take(&mut duty.name));
            } else {
                self.rows.duties.push(alone(of_base.name.clone()));
            }
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

    /// Whether what went before a row is not known in full, so that not all of it can be followed.
    #[must_use]
    pub fn is_in_doubt(&self, row: usize) -> bool {
        self.followed[row].is_in_doubt
    }

    /// Which of the times that sources state for their peaks the stretch of a row has outlasted, one bit each; all ones
    /// where it is in no stretch.
    #[must_use]
    pub fn outlasted(&self, row: usize) -> u64 {
        let stretch = self.rows.duties[row].stretch.unwrap_or(f64::INFINITY);
        let limits = self.base.plan.sources.iter().flat_map(|source| source.limits.all());
        let bits = limits.filter(|limit| limit.place < 62 && limit.lasts < stretch);
        bits.fold(u64::from(stretch.is_finite()) << 63, |bits, limit| bits | 1 << limit.place)
    }

    /// Which of those peaks recur sooner in the stretch of a row than they may, one bit each.
    #[must_use]
    pub fn too_soon(&self, row: usize) -> u64 {
        self.rows.duties[row].too_soon
    }

    /// Whether a rotor stands in a row.
    #[must_use]
    pub fn stands(&self, row: usize) -> bool {
        self.rows.lanes[row].crest != 0
    }
}

/// Heat that goes from row to row.
pub struct Heat<'v> {
    stepper: Stepper<'v, 1>,
    /// None before the first row.
    state: Option<State<1>>,
    /// The other bound of a state that is not known in full.
    hotter: Option<State<1>>,
    driven: Driven<1>,
    /// Conductors, windings and cores, and how hot they get in a row.
    warmth: Option<Warmth>,
    hotter_warmth: Option<Warmth>,
    hottest: Warmth,
    /// How hot each junction and each place gets in a row, in °C.
    junctions: Vec<f64>,
    plates: Vec<f64>,
    /// Rows that could not be followed in full, for want of a solution or a value in them or in one before.
    pub lost: usize,
    /// How junctions came and went.
    pub cycles: Cycles,
    /// Whether that counts what is followed now.
    counts: bool,
}

impl<'v> Heat<'v> {
    /// Begins settled in the first row, or in a duty point that went before.
    #[must_use]
    pub fn new(variant: &'v Variant, from: Option<DutyId>) -> Self {
        let plan = &variant.plan;
        let mut heat = Self {
            stepper: Stepper::new(plan, Arc::new(Layout::of(plan))),
            state: None,
            hotter: None,
            driven: Driven::new(plan),
            warmth: None,
            hotter_warmth: None,
            hottest: Warmth::default(),
            junctions: vec![f64::NAN; plan.chips.len()],
            plates: Vec::new(),
            lost: 0,
            cycles: Cycles::none(plan),
            counts: false,
        };
        let lane = from.and_then(|from| variant.lane_ids().find(|&lane| variant.lane(lane).duty == from));
        if let Some(lane) = lane {
            let solved = Solved::new(variant);
            let (block, l) = solved.place(lane);
            if matches!(block.state[l], LaneState::Solved { .. }) {
                heat.driven.take(plan, &heat.stepper.layout, (block, l), 0);
                let mut settled = State::settled(&heat.stepper.layout, &heat.driven);
                // Cases without a heat capacity are those of the first row at once: where junctions stood before is part of the swing.
                heat.stepper.begin(&heat.driven);
                heat.stepper.step(&heat.driven, &mut settled, 0.0);
                heat.counts = true;
                heat.count();
                heat.counts = false;
                heat.state = Some(State::settled(&heat.stepper.layout, &heat.driven));
                heat.warmth = Some(Warmth::settled(plan, block, l));
            } else {
                heat.forget();
            }
        }
        heat
    }

    /// Follows the rows of a chunk, and fills in how hot junctions, conductors, windings and cores get in each.
    pub fn follow(&mut self, chunk: &mut Chunk<'_>, rows: &Rows) {
        let plan = self.stepper.plan;
        for (row, &lasts) in rows.lasts.iter().enumerate() {
            let (block, l) = (&mut chunk.blocks[row / WIDTH], row % WIDTH);
            let which = if matches!(block.state[l], LaneState::Solved { .. }) {
                self.row(block, l, lasts)
            } else {
                self.forget();
                self.lost += 1;
                self.cycles.left_out += 1;
                course::fill_junctions(plan, block, l, None);
                course::fill_bodies(plan, block, l, None);
                Which::default()
            };
            chunk.followed[row] = which;
        }
    }

    /// What flows in a row without a solution nobody knows, nor how it leaves what comes after.
    fn forget(&mut self) {
        self.state = Some(State::unknown(&self.stepper.layout));
        self.warmth = Some(Warmth::unknown(self.stepper.plan));
        (self.hotter, self.hotter_warmth) = (None, None);
    }

    /// Follows a row that is solved.
    fn row(&mut self, block: &mut Block<WIDTH>, l: usize, lasts: f64) -> Which {
        let plan = self.stepper.plan;
        let layout = Arc::clone(&self.stepper.layout);
        self.driven.take(plan, &layout, (&*block, l), 0);
        let mut state = self.state.take().unwrap_or_else(|| State::settled(&layout, &self.driven));
        let mut warmth = self.warmth.take().unwrap_or_else(|| Warmth::settled(plan, block, l));
        doubt::bound_state(&layout, &self.driven, &mut state, &mut self.hotter);
        doubt::bound_warmth(plan, (&*block, l), &mut warmth, &mut self.hotter_warmth);
        if self.hotter.is_some() {
            // What stands on a plate that is in doubt is so too.
            self.hotter_warmth.get_or_insert_with(|| warmth.clone());
        }
        let is_in_doubt = self.hotter_warmth.is_some();
        self.counts = self.hotter.is_none();
        self.cycles.left_out += usize::from(!self.counts);
        self.run(&mut state, lasts);
        self.counts = false;
        let on = Lasting { block: &*block, lane: l, plates: &self.plates, lasts };
        warmth.warm(plan, on, PARTS, &mut self.hottest);
        if is_in_doubt {
            self.on_the_other_bound(&mut state, &mut warmth, (&*block, l), lasts);
        }
        self.lost += usize::from(is_in_doubt || self.junctions.iter().any(|junction| junction.is_nan()));
        course::fill_junctions(plan, block, l, Some(&self.junctions));
        course::fill_bodies(plan, block, l, Some(&self.hottest));
        (self.state, self.warmth) = (Some(state), Some(warmth));
        Which { junctions: true, bodies: true, is_in_doubt }
    }

    /// Follows a row from the other bound as well, and keeps what both come to.
    fn on_the_other_bound(
        &mut self,
        state: &mut State<1>,
        warmth: &mut Warmth,
        (block, lane): (&Block<WIDTH>, usize),
        lasts: f64,
    ) {
        if let Some(mut hotter) = self.hotter.take() {
            let own = self.junctions.clone();
            self.run(&mut hotter, lasts);
            let both = self.junctions.iter_mut().zip(own);
            both.for_each(|(hotter, own)| *hotter = doubt::highest(own, *hotter));
            let is_open = doubt::close(state.all_mut().flatten(), hotter.all().flatten());
            self.hotter = is_open.then_some(hotter);
        }
        if let Some(mut hotter) = self.hotter_warmth.take() {
            let mut hottest = Warmth::default();
            let on = Lasting { block, lane, plates: &self.plates, lasts };
            hotter.warm(self.stepper.plan, on, PARTS, &mut hottest);
            let both = self.hottest.all_mut().zip(hottest.all());
            both.for_each(|(own, &hotter)| *own = doubt::highest(*own, hotter));
            self.hotter_warmth = doubt::close(warmth.all_mut(), hotter.all()).then_some(hotter);
        }
    }

    /// Takes in where junctions stand, where that is known.
    fn count(&mut self) {
        if self.counts {
            self.cycles.take(self.stepper.junctions.iter().map(|junction| junction[0]));
        }
    }

    /// Steps a state through a row, and notes how hot junctions and places get.
    fn run(&mut self, state: &mut State<1>, lasts: f64) {
        let steps = ((lasts / LONGEST_STEP).ceil() as usize).clamp(1, MOST_STEPS);
        self.junctions.fill(f64::NEG_INFINITY);
        self.plates.clear();
        // What holds no heat has left what it was in the row before.
        let begins = self.driven.places.iter().zip(&state.plates);
        self.plates.extend(begins.map(
            |(place, begins)| {
                if place.capacity[0] > 0.0 { begins[0] } else { f64::NEG_INFINITY }
            },
        ));
        self.stepper.begin(&self.driven);
        // The first step takes no time: what the row before left may be hottest on the case of this one.
        self.stepper.step(&self.driven, state, 0.0);
        course::raise(&mut self.junctions, self.stepper.junctions.as_flattened());
        self.count();
        for step in 0..steps {
            let length = course::reached(step + 1, steps, lasts) - course::reached(step, steps, lasts);
            self.stepper.step(&self.driven, state, length);
            course::raise(&mut self.junctions, self.stepper.junctions.as_flattened());
            self.count();
            course::raise(&mut self.plates, state.plates.as_flattened());
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
