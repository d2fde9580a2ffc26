//! Why a figure is missing: the inputs, curves and ranges that it waits for.
//!
//! A lane is replayed once, every pass of it. Of each figure without a value the step is kept in which it first had none,
//! with those that had none before it. So the way back from a figure ends at what has no value of its own accord, although
//! losses, temperatures and voltages wait for one another.

mod blanks;
mod cores;
mod distances;
mod windings;

use std::collections::BTreeMap;

use loadworthy_language::quantity::Dimension;
use loadworthy_physics::{Law, hydraulics, plate};

use crate::device::{CURRENT_REACH, ConductionCurves, EnergyCurve, VOLTAGE_REACH};
use crate::ids::{CurveId, FigureId, InputId, LaneId, PartId};
use crate::plan::{Chip, CoolantPath, Plan};
use crate::solved::Solved;
use crate::solver::{LaneState, Scratch, laws, solve};
use crate::trace::Operand;

use blanks::{Blank, Blanks};
pub use distances::POLLUTION_DEGREE;

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
    /// Where each figure was lost.
    blanks: Blanks,
    /// The inputs that the replay was given.
    inputs: Vec<f64>,
    known: BTreeMap<FigureId, Vec<Cause>>,
    /// The step of each lost figure that a walk came by.
    steps: Vec<Option<Step>>,
    /// The number of the last walk, and of the one that came by each figure, input and curve last.
    walk: usize,
    seen: Seen,
    /// Whose range a figure may leave.
    ranges: BTreeMap<FigureId, Ranged>,
}

/// Where a figure was lost: what lacks there itself, and the figures that it waits for.
struct Step {
    causes: Vec<Cause>,
    open: Vec<FigureId>,
}

/// By which walk everything was come by last.
struct Seen {
    figures: Vec<usize>,
    inputs: Vec<usize>,
    curves: Vec<usize>,
}

impl Seen {
    fn new(figures: usize, inputs: usize, curves: usize) -> Self {
        Self { figures: vec![0; figures], inputs: vec![0; inputs], curves: vec![0; curves] }
    }

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
    /// A face of a package.
    Face(usize, usize),
    /// The case of a magnetic component.
    Case(usize),
    /// A component of a stage.
    Core(usize, usize),
    /// The current that a stage turns off after its trip.
    Trip(usize),
    /// A winding of a component.
    Winding(usize, usize),
    /// A barrier of the isolation.
    Barrier(usize),
}

impl<'s, 'u> Diagnosis<'s, 'u> {
    /// Replays a lane.
    #[must_use]
    pub fn of(solved: &'s Solved<'u>, lane: LaneId) -> Self {
        let plan = &solved.variant.plan;
        let mut block = solved.alone(lane);
        let mut blanks = Blanks::new(block.figures.len());
        solve(plan, &mut block, &mut Scratch::new(plan), &mut blanks);
        solved.tell_course(lane, &mut blanks);
        let inputs: Vec<f64> = block.inputs.iter().map(|input| input[0]).collect();
        let seen = Seen::new(block.figures.len(), inputs.len(), solved.variant.tables.curves().len());
        let steps = block.figures.iter().map(|_| None).collect();
        let (known, ranges) = (BTreeMap::new(), ranges(plan));
        Self { solved, lane, blanks, inputs, known, steps, walk: 0, seen, ranges }
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
        let mut causes = self.walk(figure);
        if causes.is_empty() && self.blanks.of(figure).is_some() {
            // Nothing says what it follows from: it waits for what was lost first.
            let mut all = self.blanks.in_order().map(|blank| self.of_blank(blank));
            causes = all.find(|causes| !causes.is_empty()).unwrap_or_default();
        }
        if let (true, Some(blank)) = (causes.is_empty(), self.blanks.of(figure)) {
            causes.push(Cause::Beyond { figure, law: blank.law, reach: None });
        }
        self.known.insert(figure, causes.clone());
        causes
    }

    /// Why any of some figures is missing; each cause once.
    pub fn causes_of(&mut self, figures: impl IntoIterator<Item = FigureId>) -> Vec<Cause> {
        let mut seen = Seen::new(self.seen.figures.len(), self.seen.inputs.len(), self.seen.curves.len());
        let mut is_said = false;
        let mut all = Vec::new();
        for figure in figures {
            all.extend(self.causes(figure).into_iter().filter(|cause| match *cause {
                Cause::Input(id) => Seen::is_new(&mut seen.inputs[id.index()], 1),
                Cause::Curve(id) => Seen::is_new(&mut seen.curves[id.index()], 1),
                Cause::Beyond { figure, .. } => Seen::is_new(&mut seen.figures[figure.index()], 1),
                // A lane ends in one way.
                Cause::NoSolution { .. } | Cause::Undecided { .. } => !core::mem::replace(&mut is_said, true),
            }));
        }
        all
    }

    /// What a figure waits for.
    fn walk(&mut self, figure: FigureId) -> Vec<Cause> {
        let mut causes = Vec::new();
        self.walk += 1;
        let mut open = vec![figure];
        while let Some(figure) = open.pop() {
            let walk = self.walk;
            if !Seen::is_new(&mut self.seen.figures[figure.index()], walk) {
                continue;
            }
            let Some(blank) = self.blanks.of(figure) else { continue };
            if self.steps[figure.index()].is_none() {
                let step = Step { causes: self.of_blank(blank), open: self.blanks.open(blank).collect() };
                self.steps[figure.index()] = Some(step);
            }
            let Some(step) = &self.steps[figure.index()] else { continue };
            open.extend(&step.open);
            let seen = &mut self.seen;
            causes.extend(step.causes.iter().filter(|cause| match **cause {
                Cause::Input(id) => Seen::is_new(&mut seen.inputs[id.index()], walk),
                Cause::Curve(id) => Seen::is_new(&mut seen.curves[id.index()], walk),
                // Of each figure once, as its step is.
                Cause::Beyond { .. } | Cause::NoSolution { .. } | Cause::Undecided { .. } => true,
            }));
        }
        causes
    }

    /// Causes that stand in a step itself.
    fn of_blank(&self, blank: &Blank) -> Vec<Cause> {
        let tables = &self.solved.variant.tables;
        let mut causes = Vec::new();
        for operand in &blank.from {
            match *operand {
                Operand::Input(id) if !self.inputs[id.index()].is_finite() => {
                    causes.push(Cause::Input(id));
                }
                Operand::Curve(id) if !tables.curve_of(id).origin.is_written() => {
                    causes.push(Cause::Curve(id));
                }
                Operand::Figure(_) | Operand::Input(_) | Operand::Curve(_) => {}
            }
        }
        // A curve that is asked beyond its range is a cause even where what stands beside it is open as well. A step from
        // nothing has no range of its own, and a law that always holds has none to leave.
        let reach = self.reach(blank.out);
        let is_first = causes.is_empty() && self.blanks.open(blank).next().is_none();
        // How coolant divides, and what a plate is worth in it, hangs on what it is and how warm, whichever numbers are
        // stated of its places.
        let divides = [&hydraulics::DISTRIBUTE, &laws::COLD_FLOW, &plate::AT_FLOW];
        let divides = is_first && divides.iter().any(|law| core::ptr::eq::<Law>(*law, blank.law));
        if let Some(path) = self.solved.variant.plan.coolant.as_ref().filter(|_| divides) {
            if !tables.curve_of(path.coolant_curve).origin.is_written() {
                return vec![Cause::Curve(path.coolant_curve)];
            }
            if !self.inputs[path.inlet.index()].is_finite() {
                return vec![Cause::Input(path.inlet)];
            }
        }
        if reach.is_some() || is_first && !blank.from.is_empty() && !blank.law.always_holds() {
            causes.push(Cause::Beyond { figure: blank.out, law: blank.law, reach });
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
                    of_conduction(&chip.conduction, self.blanks.last(chip.figures.peak_current))
                })
            }
            Some(&Ranged::Place(place)) => {
                let plate = plan.coolant.as_ref()?.places.get(place)?.plate.as_ref()?;
                self.of_flow(plate.resistance, plate.flow, Some(place))
            }
            Some(&Ranged::Face(package, face)) => {
                let face = plan.packages.get(package)?.faces.get(face)?;
                self.of_flow(face.resistance, face.at_flow?.flow, face.place)
            }
            Some(&Ranged::Case(magnetic)) => {
                let magnetic = plan.magnetics.get(magnetic)?;
                self.of_flow(magnetic.heat.case, magnetic.heat.at_flow?.flow, magnetic.place)
            }
            Some(&Ranged::Core(stage, magnetic)) => cores::reach(
                (&plan.stages[stage], &plan.magnetics[magnetic]),
                figure,
                &|id| self.inputs[id.index()],
                &|id| self.blanks.last(id),
            ),
            Some(&Ranged::Trip(trip)) => {
                cores::after_trip(plan, &plan.current_trips[trip], &|id| self.inputs[id.index()], &|id| {
                    self.blanks.last(id)
                })
            }
            Some(&Ranged::Winding(magnetic, winding)) => {
                let winding = plan.magnetics[magnetic].windings.get(winding)?;
                windings::reach(winding, |id| self.inputs[id.index()])
            }
            Some(&Ranged::Barrier(barrier)) => {
                let isolation = plan.isolation.as_ref()?;
                let barrier = isolation.barriers.get(barrier)?;
                distances::reach((isolation, barrier), figure, &|id| self.inputs[id.index()], &|id| {
                    self.blanks.last(id)
                })
            }
            None => self.of_coolant(plan.coolant.as_ref().filter(|path| figure == path.capacity_rate)?),
        }
    }

    fn of_chip(&self, chip: &Chip, figure: FigureId) -> Option<Reach> {
        let current = self.blanks.last(chip.figures.peak_current);
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

    /// The flow at a place, where a resistance that was measured at another one is not known at it.
    fn of_flow(&self, resistance: InputId, flow: InputId, place: Option<usize>) -> Option<Reach> {
        let low = loadworthy_physics::plate::LEAST_SHARE * self.solved.input(flow, self.lane)?;
        let path = self.solved.variant.plan.coolant.as_ref()?;
        let value = self.blanks.last(path.places.get(place?)?.flow);
        // Of coolant that is not known no flow is.
        if !self.solved.variant.tables.curve_of(path.coolant_curve).origin.is_written()
            || self.solved.input(path.inlet, self.lane).is_none()
        {
            return None;
        }
        let of = Operand::Input(resistance);
        let high = f64::INFINITY;
        let reach = Reach { what: "flow", of, value, low, high, dimension: Dimension::VolumeFlow };
        (value < low).then_some(reach)
    }

    /// The voltage that a switching energy was asked at.
    fn switched(&self, energy: FigureId) -> f64 {
        let tables = &self.solved.variant.tables;
        let from = self.blanks.of(energy).into_iter().flat_map(|blank| &blank.from);
        let mut volts = from.filter_map(|operand| match *operand {
            Operand::Figure(id) if tables.figure_of(id).dimension == Dimension::Voltage => Some(id),
            _ => None,
        });
        volts.next().map_or(f64::NAN, |id| self.blanks.last(id))
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
    for (place, trip) in plan.current_trips.iter().enumerate() {
        ranges.insert(trip.turned_off, Ranged::Trip(place));
    }
    for (place, magnetic) in plan.magnetics.iter().enumerate() {
        for (own, winding) in magnetic.windings.iter().enumerate() {
            ranges.insert(winding.loss, Ranged::Winding(place, own));
        }
    }
    for (place, barrier) in plan.isolation.iter().flat_map(|isolation| &isolation.barriers).enumerate() {
        let figures = &barrier.figures;
        let own = [figures.impulse, figures.clearance, figures.creepage];
        ranges.extend(own.map(|figure| (figure, Ranged::Barrier(place))));
    }
    for (place, of) in plan.coolant.iter().flat_map(|path| &path.places).enumerate() {
        ranges.extend(of.plate.as_ref().map(|plate| (plate.resistance_here, Ranged::Place(place))));
        let faces = of.faces.iter().filter_map(|&(package, face)| {
            Some((plan.packages[package].faces[face].at_flow?.here, Ranged::Face(package, face)))
        });
        ranges.extend(faces);
        let cases = of.magnetics.iter();
        ranges.extend(
            cases.filter_map(|&own| Some((plan.magnetics[own].heat.at_flow?.here, Ranged::Case(own)))),
        );
    }
    ranges
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
