//! Why a figure is missing: the inputs, curves and ranges that it waits for.
//!
//! A lane is replayed once with its steps; from a figure without a value the steps are walked back to what has no
//! value of its own accord.

mod cores;

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_physics::{Law, Power, Resistance, Voltage, battery};

use crate::device::{CURRENT_REACH, ConductionCurves, EnergyCurve, VOLTAGE_REACH};
use crate::ids::{CurveId, FigureId, InputId, LaneId, PartId};
use crate::plan::{Bus, Chip, CoolantPath, Place, Plan};
use crate::solved::Solved;
use crate::solver::{Block, LaneState, Scratch, bus_behind, solve};
use crate::trace::{Operand, Silent, Step, Steps};

/// Why a figure is missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cause {
    /// A number that the description does not state.
    Input(InputId),
    /// A curve that the description does not state.
    Curve(CurveId),
    /// A law was asked outside the range in which it holds.
    Beyond {
        /// The figure that it would have given.
        figure: FigureId,
        /// The law, whose validity says where it holds.
        law: &'static Law,
        /// What is outside the range, where that is one number.
        reach: Option<Reach>,
    },
    /// The lane has no solution.
    NoSolution {
        /// Where it fails.
        at: PartId,
        /// Largest share of what is asked that has a solution.
        largest: f64,
    },
    /// The lane could not be decided.
    Undecided {
        /// Where the search ended.
        at: PartId,
    },
}

/// A number outside the range of a curve or a law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// What the number is of, such as `voltage`.
    pub what: &'static str,
    /// The curve or input whose range it leaves.
    pub of: Operand,
    /// The number.
    pub value: f64,
    /// Lowest value that is covered.
    pub low: f64,
    /// Highest value that is covered.
    pub high: f64,
    /// What kind of number it is.
    pub dimension: Dimension,
}

/// One lane, replayed to find out why figures are missing.
pub struct Diagnosis<'s, 'u> {
    solved: &'s Solved<'u>,
    lane: LaneId,
    /// The step that gave each figure.
    steps: Vec<Option<Step>>,
    figures: Vec<f64>,
    /// The inputs that the replay was given.
    inputs: Vec<f64>,
    known: BTreeMap<FigureId, Vec<Cause>>,
    /// The number of the last walk, and of the one that came by each figure, input and curve last.
    walk: usize,
    seen: Seen,
    /// Whose range a figure may leave.
    ranges: BTreeMap<FigureId, Ranged>,
}

/// By which walk everything was come by last.
struct Seen {
    figures: Vec<usize>,
    inputs: Vec<usize>,
    curves: Vec<usize>,
}

impl Seen {
    /// Whether a walk comes by for the first time.
    fn is_new(last: &mut usize, walk: usize) -> bool {
        core::mem::replace(last, walk) != walk
    }
}

/// Something whose curves or range a figure may leave, in the plan.
#[derive(Clone, Copy)]
enum Ranged {
    Chip(usize),
    Stage(usize),
    Place(usize),
    /// A component of a stage.
    Core(usize, usize),
}

impl<'s, 'u> Diagnosis<'s, 'u> {
    /// Replays a lane.
    #[must_use]
    pub fn of(solved: &'s Solved<'u>, lane: LaneId) -> Self {
        let plan = &solved.variant.plan;
        let mut block = solved.alone(lane);
        let mut scratch = Scratch::new(plan);
        // A voltage that is solved waits for everything that hangs on it, and that for the voltage. Stated, it cuts the
        // circle, and what is missing of its own accord shows: at the open-circuit voltage, or further down the search.
        let sought: Vec<&Bus> = plan.buses.iter().filter(|bus| is_sought(plan, bus, &block)).collect();
        // Where no voltage is sought, there is nothing to search.
        for _ in 0..if sought.is_empty() { 0 } else { SEARCH } {
            for bus in &sought {
                let last = block.inputs[bus.stated.index()][0];
                block.inputs[bus.stated.index()][0] = next_voltage(plan, bus, &block, last);
            }
            solve(plan, &mut block, &mut scratch, &mut Silent);
            if sought.iter().any(|bus| !block.figures[bus.power.index()][0].is_finite()) {
                break;
            }
        }
        let mut trace = Steps::default();
        solve(plan, &mut block, &mut scratch, &mut trace);
        solved.tell_course(lane, &mut trace);
        let figures: Vec<f64> = block.figures.iter().map(|figure| figure[0]).collect();
        let mut steps = vec![None; figures.len()];
        for step in trace.steps {
            let place = step.out.index();
            steps[place] = Some(step);
        }
        let inputs: Vec<f64> = block.inputs.iter().map(|input| input[0]).collect();
        let seen = Seen {
            figures: vec![0; figures.len()],
            inputs: vec![0; inputs.len()],
            curves: vec![0; solved.variant.tables.curves().len()],
        };
        let (known, ranges) = (BTreeMap::new(), ranges(plan));
        Self { solved, lane, steps, figures, inputs, known, walk: 0, seen, ranges }
    }

    /// Why a figure is missing; each cause once.
    pub fn causes(&mut self, figure: FigureId) -> Vec<Cause> {
        match self.solved.state(self.lane) {
            LaneState::NoSolution { at, largest } => return vec![Cause::NoSolution { at, largest }],
            LaneState::Undecided { at } => return vec![Cause::Undecided { at }],
            LaneState::Solved { .. } => {}
        }
        if let Some(known) = self.known.get(&figure) {
            return known.clone();
        }
        let mut causes = self.walk(&[figure]);
        if causes.is_empty() {
            // It waits for nothing but the voltage of a bus, and that for what the bus has to give.
            let buses = &self.solved.variant.plan.buses;
            let open = buses.iter().filter(|bus| self.solved.figure(bus.voltage, self.lane).is_none());
            let open: Vec<FigureId> = open.map(|bus| bus.power).collect();
            causes = self.walk(&open);
        }
        if let (true, Some(step)) = (causes.is_empty(), &self.steps[figure.index()]) {
            causes.push(Cause::Beyond { figure, law: step.law, reach: None });
        }
        self.known.insert(figure, causes.clone());
        causes
    }

    /// What figures wait for of its own accord.
    fn walk(&mut self, figures: &[FigureId]) -> Vec<Cause> {
        let mut causes = Vec::new();
        self.walk += 1;
        let mut open = figures.to_vec();
        while let Some(figure) = open.pop() {
            let walk = self.walk;
            if !Seen::is_new(&mut self.seen.figures[figure.index()], walk) {
                continue;
            }
            let Some(step) = &self.steps[figure.index()] else { continue };
            let found = self.of_step(step, &mut open);
            let seen = &mut self.seen;
            causes.extend(found.into_iter().filter(|cause| match *cause {
                Cause::Input(id) => Seen::is_new(&mut seen.inputs[id.index()], walk),
                Cause::Curve(id) => Seen::is_new(&mut seen.curves[id.index()], walk),
                // Of each figure once, as its step is.
                Cause::Beyond { .. } | Cause::NoSolution { .. } | Cause::Undecided { .. } => true,
            }));
        }
        causes
    }

    /// Causes that stand in a step itself; figures without a value are left open.
    fn of_step(&self, step: &Step, open: &mut Vec<FigureId>) -> Vec<Cause> {
        let tables = &self.solved.variant.tables;
        let mut causes = Vec::new();
        let mut explained = false;
        for operand in &step.from {
            match *operand {
                Operand::Figure(id) if !self.figures[id.index()].is_finite() => {
                    explained = true;
                    open.push(id);
                }
                Operand::Input(id) if !self.inputs[id.index()].is_finite() => {
                    causes.push(Cause::Input(id));
                }
                Operand::Curve(id) if !tables.curve_of(id).origin.is_written() => {
                    causes.push(Cause::Curve(id));
                }
                Operand::Figure(_) | Operand::Input(_) | Operand::Curve(_) => {}
            }
        }
        if self.figures[step.out.index()].is_finite() {
            return causes;
        }
        // Losses and temperatures wait for one another: a curve that is asked beyond its range is a cause even where
        // what stands beside it is open as well. A step from nothing has no range of its own.
        let reach = self.reach(step.out);
        if reach.is_some() || !explained && causes.is_empty() && !step.from.is_empty() {
            causes.push(Cause::Beyond { figure: step.out, law: step.law, reach });
        }
        causes
    }

    /// The number that is outside a range, where a chip's curve or the coolant is asked beyond it.
    fn reach(&self, figure: FigureId) -> Option<Reach> {
        let plan = &self.solved.variant.plan;
        match self.ranges.get(&figure) {
            Some(&Ranged::Chip(chip)) => self.of_chip(&plan.chips[chip], figure),
            Some(&Ranged::Stage(stage)) => {
                let first = plan.stages[stage].positions.iter().take(2);
                first.map(|position| &plan.chips[position.chips.start]).find_map(|chip| {
                    of_conduction(&chip.conduction, self.figures[chip.figures.peak_current.index()])
                })
            }
            Some(&Ranged::Place(place)) => self.of_plate(plan.coolant.as_ref()?.places.get(place)?),
            Some(&Ranged::Core(stage, magnetic)) => cores::reach(
                (&plan.stages[stage], &plan.magnetics[magnetic]),
                figure,
                &|id| self.inputs[id.index()],
                &|id| self.figures[id.index()],
            ),
            None => self.of_coolant(plan.coolant.as_ref().filter(|path| figure == path.capacity_rate)?),
        }
    }

    fn of_chip(&self, chip: &Chip, figure: FigureId) -> Option<Reach> {
        let current = self.figures[chip.figures.peak_current.index()];
        if figure == chip.figures.energy {
            return of_energy(&chip.energy, self.switched(figure), current);
        }
        let body = chip.body_diode.as_ref();
        if let Some(body) = body.filter(|body| body.recovery_energy == figure) {
            return of_energy(&body.energy, self.switched(figure), current);
        }
        match body.filter(|body| body.loss == figure) {
            Some(body) => of_conduction(&body.conduction, current),
            None => of_conduction(&chip.conduction, current),
        }
    }

    fn of_coolant(&self, path: &CoolantPath) -> Option<Reach> {
        let share = path.glycol.and_then(|glycol| self.solved.input(glycol, self.lane));
        let (low, high) = path.fluid(share.unwrap_or(f64::NAN))?.range();
        let (low, high) = (low.in_celsius(), high.in_celsius());
        let value = self.solved.input(path.inlet, self.lane)?;
        let of = Operand::Input(path.inlet);
        let dimension = Dimension::Temperature;
        let reach = Reach { what: "coolant inlet", of, value, low, high, dimension };
        (value < low || high < value).then_some(reach)
    }

    fn of_plate(&self, place: &Place) -> Option<Reach> {
        let plate = place.plate.as_ref()?;
        let low = loadworthy_physics::plate::LEAST_SHARE * self.solved.input(plate.flow, self.lane)?;
        let value = self.figures[place.flow.index()];
        let of = Operand::Input(plate.resistance);
        let high = f64::INFINITY;
        let reach = Reach { what: "flow", of, value, low, high, dimension: Dimension::VolumeFlow };
        (value < low).then_some(reach)
    }

    /// The voltage that a switching energy was asked at.
    fn switched(&self, energy: FigureId) -> f64 {
        let tables = &self.solved.variant.tables;
        let from = self.steps[energy.index()].iter().flat_map(|step| &step.from);
        let mut volts = from.filter_map(|operand| match *operand {
            Operand::Figure(id) if tables.figure_of(id).dimension == Dimension::Voltage => Some(id),
            _ => None,
        });
        volts.next().map_or(f64::NAN, |id| self.figures[id.index()])
    }
}

/// Every figure that may leave a range, with whose range that is.
fn ranges(plan: &Plan) -> BTreeMap<FigureId, Ranged> {
    let mut ranges = BTreeMap::new();
    for (place, chip) in plan.chips.iter().enumerate() {
        let body = chip.body_diode.iter().flat_map(|body| [body.recovery_energy, body.loss]);
        let own = [chip.figures.energy, chip.figures.knee, chip.figures.slope];
        ranges.extend(own.into_iter().chain(body).map(|figure| (figure, Ranged::Chip(place))));
    }
    for (place, stage) in plan.stages.iter().enumerate() {
        ranges.extend(stage.bridge().map(|bridge| (bridge.figures.device_drop, Ranged::Stage(place))));
    }
    for (place, stage) in plan.stages.iter().enumerate() {
        for &magnetic in &stage.magnetics {
            let figures = &plan.magnetics[magnetic].core.figures;
            let own = [figures.loss, figures.flux_density, figures.saturation];
            let also = [figures.trip_flux_density, figures.softened].into_iter().flatten();
            ranges.extend(own.into_iter().chain(also).map(|figure| (figure, Ranged::Core(place, magnetic))));
        }
    }
    for (place, of) in plan.coolant.iter().flat_map(|path| &path.places).enumerate() {
        ranges.extend(of.plate.as_ref().map(|plate| (plate.resistance_here, Ranged::Place(place))));
    }
    ranges
}

/// Voltages that are tried on the way from the open-circuit voltage to the one that was sought.
const SEARCH: usize = 8;

/// Whether the voltage of a bus is sought behind a resistance.
fn is_sought(plan: &Plan, bus: &Bus, block: &Block<1>) -> bool {
    bus_behind(plan, bus, &block.inputs, 0).is_some_and(|(open, ohms)| open.is_finite() && ohms.is_finite())
}

/// The open-circuit voltage first, then what the power found at the last voltage leaves of it.
fn next_voltage(plan: &Plan, bus: &Bus, block: &Block<1>, last: f64) -> f64 {
    let mut open_inputs = block.inputs.clone();
    open_inputs[bus.stated.index()][0] = f64::NAN;
    let Some((open, ohms)) = bus_behind(plan, bus, &open_inputs, 0) else { return last };
    if last.is_nan() {
        return open;
    }
    let power = Power::new(block.figures[bus.power.index()][0]);
    let next = battery::terminal_voltage(Voltage::new(open), Resistance::new(ohms), power).si();
    if next.is_finite() { next } else { 0.5 * open }
}

fn of_energy(curve: &EnergyCurve, voltage: f64, current: f64) -> Option<Reach> {
    let high = VOLTAGE_REACH.1 * curve.voltage;
    let of = Operand::Curve(curve.id);
    if high < voltage {
        let dimension = Dimension::Voltage;
        return Some(Reach { what: "voltage", of, value: voltage, low: 0.0, high, dimension });
    }
    let high = CURRENT_REACH * curve.points.last()?.0.si();
    let reach = Reach { what: "current", of, value: current, low: 0.0, high, dimension: Dimension::Current };
    (high < current).then_some(reach)
}

fn of_conduction(curves: &ConductionCurves, current: f64) -> Option<Reach> {
    let of = Operand::Curve(curves.id);
    let high = CURRENT_REACH * curves.highest_current()?;
    let reach = Reach { what: "current", of, value: current, low: 0.0, high, dimension: Dimension::Current };
    (high < current).then_some(reach)
}
