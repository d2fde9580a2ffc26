//! Room to work in, taken once for a plan and used again for every block.

use loadworthy_physics::core_loss::RampFit;

use crate::plan::{Plan, Port, Stage};
use crate::solver::division::Division;
use crate::solver::expected::{Expected, growth};
use crate::solver::flow::Hydraulics;
use crate::solver::magnetic::{Factors, WARM, WindingLine};
use crate::solver::reach;
use crate::solver::trips::Lifted;

/// Temperatures that a pass hands to the next are settled within this many kelvin.
const SETTLED: f64 = 1e-9;
/// A bus voltage is found when it is known to this share.
const CLOSE: f64 = 1e-9;
/// The power of a stage is found when it is known to this share.
const CLOSE_POWER: f64 = 1e-9;
/// Power in W that a stage which passes next to nothing is known to.
const LEAST_POWER: f64 = 1e-8;

/// Loss of a chip as a straight line over its junction temperature, with what its figures are made from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LossLine<const L: usize> {
    /// Loss at 0 °C, in W.
    pub(crate) constant: [f64; L],
    /// Growth for each kelvin, in W/K.
    pub(crate) per_kelvin: [f64; L],
    /// Knee and its growth for each kelvin.
    pub(crate) knee: ([f64; L], [f64; L]),
    /// Slope and its growth for each kelvin.
    pub(crate) slope: ([f64; L], [f64; L]),
    /// Loss of a body diode in the dead times, and its growth for each kelvin.
    pub(crate) body: ([f64; L], [f64; L]),
}

impl<const L: usize> Default for LossLine<L> {
    fn default() -> Self {
        let zero = [0.0; L];
        Self { constant: zero, per_kelvin: zero, knee: (zero, zero), slope: (zero, zero), body: (zero, zero) }
    }
}

/// A package reduced to what its faces see: heat a + b·T of the plate or coolant at each face.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reduced<const L: usize> {
    /// Sum of s·a over the chips; see `heat`.
    pub(crate) sources: [f64; L],
    /// Coupling of the two faces.
    pub(crate) across: [f64; L],
    /// Conductance of all chips to one face.
    pub(crate) conductance: [f64; L],
    /// Loop gain that is left over: 1 less gain, product of the levels.
    pub(crate) stiffness: [f64; L],
}

impl<const L: usize> Default for Reduced<L> {
    fn default() -> Self {
        let zero = [0.0; L];
        Self { sources: zero, across: zero, conductance: zero, stiffness: [1.0; L] }
    }
}

/// What moves from one pass to the next.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Unsettled {
    /// A place of the coolant path.
    Place(usize),
    /// The loss of a conductor on a pad, by its place among them.
    Pad(usize),
    /// A chip with more than two curves.
    Chip(usize),
    /// The voltage of a bus.
    Bus(usize),
    /// The power that a stage passes.
    Stage(usize),
    /// What the conductors to a load drop.
    Load(usize),
}

/// Room to work in.
#[derive(Clone, Debug)]
pub struct Scratch<const L: usize> {
    /// Loss line of each chip.
    pub(crate) lines: Vec<LossLine<L>>,
    /// Reduced packages.
    pub(crate) reduced: Vec<Reduced<L>>,
    /// Junction temperatures that this pass gives.
    pub(crate) junctions: Vec<[f64; L]>,
    /// Junction temperatures that choose between curves in this pass.
    pub(crate) junctions_before: Vec<[f64; L]>,
    /// Temperature that each place offers to its faces, as this pass gives it.
    pub(crate) plates: Vec<[f64; L]>,
    /// The same as the pass before gave it, for packages with a face elsewhere.
    pub(crate) plates_before: Vec<[f64; L]>,
    /// Bus voltages of this pass.
    pub(crate) volts: Vec<[f64; L]>,
    /// Bus voltages that this pass leads to.
    pub(crate) next_volts: Vec<[f64; L]>,
    /// Power that leaves the unit by way of each bus, where that is asked for.
    pub(crate) put_out: Vec<[f64; L]>,
    /// Loss of each stage that this pass reckons with.
    pub(crate) losses_before: Vec<[f64; L]>,
    /// What the loss of each stage is expected from.
    pub(crate) expected: Vec<Expected<L>>,
    /// Whether a lane is so near the most that its sources can pass that no step may be lengthened.
    pub(crate) is_near_most: [bool; L],
    /// Current of each port that this pass reckons with, from the pass before.
    pub(crate) currents_before: Vec<[f64; L]>,
    /// Power at the first port of each stage that its currents were reckoned with.
    pub(crate) reckoned: Vec<[f64; L]>,
    /// Voltage of each bridge's port when its currents were last reckoned.
    pub(crate) bridge_volts: Vec<[f64; L]>,
    /// Temperature of the coolant where each split begins, and what comes together behind it.
    pub(crate) forks: Vec<([f64; L], [f64; L])>,
    /// Room for the pressures and flows of the coolant.
    pub(crate) hydraulics: Hydraulics<L>,
    /// Figures that are told of a lane although a stage is beyond its reach, by their place.
    pub(crate) told: Vec<bool>,
    /// Room for what lifts a bus.
    pub(crate) lifted: Lifted,
    /// Loss line of each winding.
    pub(crate) windings: Vec<WindingLine<L>>,
    /// Mean temperature of each winding in °C that its line is drawn at, from the pass before.
    pub(crate) windings_before: Vec<[f64; L]>,
    /// Excess of each winding of which it is known what it is wound of.
    pub(crate) factors: Vec<Factors<L>>,
    /// What the cores of magnetic components lose at their frequencies.
    pub(crate) cores: Vec<[RampFit; L]>,
    /// Reduced magnetic components.
    pub(crate) magnetics: Vec<Reduced<L>>,
    /// Room for the ripple of a bus among its banks.
    pub(crate) division: Division<L>,
    /// Conductors on pads, each with its loss that this pass reckons with, from the pass before.
    pub(crate) pads: Vec<(usize, [f64; L])>,
    /// Whether any package has its faces at two places.
    spans_places: bool,
    /// Chips whose curves are chosen by their temperature in some lane, and in which.
    bending: Vec<(usize, [bool; L])>,
}

impl<const L: usize> Scratch<L> {
    /// Room for a plan.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let places = plan.coolant.as_ref().map_or(0, |path| path.places.len());
        let unknown = [f64::NAN; L];
        let mut told = Vec::new();
        for figure in reach::told(plan) {
            if told.len() <= figure.index() {
                told.resize(figure.index() + 1, false);
            }
            told[figure.index()] = true;
        }
        Self {
            told,
            lines: vec![LossLine::default(); plan.chips.len()],
            reduced: vec![Reduced::default(); plan.packages.len()],
            junctions: vec![unknown; plan.chips.len()],
            junctions_before: vec![unknown; plan.chips.len()],
            plates: vec![unknown; places],
            plates_before: vec![unknown; places],
            volts: vec![unknown; plan.buses.len()],
            next_volts: vec![unknown; plan.buses.len()],
            put_out: vec![unknown; plan.buses.len()],
            losses_before: vec![[0.0; L]; plan.stages.len()],
            expected: vec![Expected::default(); plan.stages.len()],
            is_near_most: [false; L],
            currents_before: vec![[0.0; L]; plan.ports],
            reckoned: vec![unknown; plan.stages.len()],
            bridge_volts: vec![unknown; plan.stages.len()],
            forks: vec![(unknown, unknown); plan.coolant.as_ref().map_or(0, |path| path.splits.len())],
            hydraulics: Hydraulics::new(plan),
            lifted: Lifted::new(plan),
            windings: vec![WindingLine::default(); plan.windings.0],
            windings_before: vec![[WARM; L]; plan.windings.0],
            factors: vec![Factors::default(); plan.windings.1],
            cores: vec![[RampFit::UNKNOWN; L]; plan.magnetics.len()],
            magnetics: vec![Reduced::default(); plan.magnetics.len()],
            division: Division::new(plan),
            pads: plan
                .coolant
                .iter()
                .flat_map(|path| &path.places)
                .flat_map(|place| &place.pads)
                .map(|&conductor| (conductor, [0.0; L]))
                .collect(),
            spans_places: plan.packages.iter().any(|package| match package.faces.as_slice() {
                [a, b] => a.place != b.place,
                _ => false,
            }),
            bending: Vec::with_capacity(plan.chips.len()),
        }
    }

    /// Starts with no junction known, and says of which chips the curves hang on it.
    pub(crate) fn start_junctions(&mut self, plan: &Plan, inputs: &[[f64; L]]) {
        self.junctions_before.fill([f64::NAN; L]);
        let coldest = plan.coolant.as_ref().map_or([f64::NAN; L], |path| inputs[path.inlet.index()]);
        self.bending.clear();
        for (chip, of) in plan.chips.iter().enumerate() {
            let lanes = core::array::from_fn(|l| of.bends(coldest[l], |input| inputs[input.index()][l]));
            if lanes.contains(&true) {
                self.bending.push((chip, lanes));
            }
        }
    }

    /// Whether one of some chips has curves that its temperature chooses, in any lane.
    pub(crate) fn bends(&self, chips: &core::ops::Range<usize>) -> bool {
        self.bending.iter().any(|(chip, _)| chips.contains(chip))
    }

    /// What a lane's next pass would be given otherwise than this one.
    pub(crate) fn unsettled(&self, plan: &Plan, figures: &[[f64; L]], l: usize) -> Option<Unsettled> {
        // What is missing stays missing: not a number counts as settled.
        let moved = |now: f64, before: f64, within: f64| {
            (now - before).abs() > within || (before.is_nan() != now.is_nan())
        };
        let kelvins = |(now, before): (&[f64; L], &[f64; L])| moved(now[l], before[l], SETTLED);
        let plates = self.spans_places.then(|| self.plates.iter().zip(&self.plates_before));
        if let Some(place) = plates.into_iter().flatten().position(kelvins) {
            return Some(Unsettled::Place(place));
        }
        let warms = |&(conductor, before): &(usize, [f64; L])| {
            let now = figures[plan.conductors[conductor].loss.index()][l];
            moved(now, before[l], CLOSE_POWER * now.abs() + LEAST_POWER)
        };
        if let Some(pad) = self.pads.iter().position(warms) {
            return Some(Unsettled::Pad(pad));
        }
        let mut chips = self.bending.iter().filter(|(_, lanes)| lanes[l]);
        if let Some(&(chip, _)) =
            chips.find(|&&(chip, _)| kelvins((&self.junctions[chip], &self.junctions_before[chip])))
        {
            return Some(Unsettled::Chip(chip));
        }
        let volts = self.next_volts.iter().zip(&self.volts);
        let close = |(next, at): (&[f64; L], &[f64; L])| moved(next[l], at[l], CLOSE * at[l].abs());
        if let Some(bus) = volts.into_iter().position(close) {
            return Some(Unsettled::Bus(bus));
        }
        let stage = plan.stages.iter().enumerate().position(|(k, stage)| {
            let Some(first) = stage.ports.first().filter(|_| stage.bridge().is_none()) else {
                // What a bridge takes does not depend on its loss; only what its conductors drop does.
                return self.drops_moved(stage, figures, l);
            };
            let power = figures[first.power.index()][l];
            moved(power, self.reckoned[k][l], CLOSE_POWER * power.abs() + LEAST_POWER)
                || self.drops_moved(stage, figures, l)
        });
        let load = || plan.loads.iter().position(|load| self.drop_moved(&load.port, figures, l));
        stage.map(Unsettled::Stage).or_else(|| load().map(Unsettled::Load))
    }

    /// Whether the current through the conductors to a stage still moves.
    fn drops_moved(&self, stage: &Stage, figures: &[[f64; L]], l: usize) -> bool {
        stage.ports.iter().any(|port| self.drop_moved(port, figures, l))
    }

    fn drop_moved(&self, port: &Port, figures: &[[f64; L]], l: usize) -> bool {
        let (now, before) = (figures[port.current.index()][l], self.currents_before[port.slot][l]);
        !port.line.is_empty() && (now - before).abs() > CLOSE_POWER * (1.0 + now.abs())
    }

    /// Hands what a pass gave for a lane to the next.
    pub(crate) fn hand_over(&mut self, plan: &Plan, inputs: &[[f64; L]], figures: &[[f64; L]], l: usize) {
        for (before, now) in self.plates_before.iter_mut().zip(&self.plates) {
            before[l] = now[l];
        }
        for (conductor, before) in &mut self.pads {
            before[l] = figures[plan.conductors[*conductor].loss.index()][l];
        }
        for &(chip, lanes) in &self.bending {
            if lanes[l] {
                self.junctions_before[chip][l] = self.junctions[chip][l];
            }
        }
        for (at, next) in self.volts.iter_mut().zip(&self.next_volts) {
            at[l] = next[l];
        }
        for magnetic in &plan.magnetics {
            let usual = magnetic.heat.usual.map(|at| inputs[at.index()][l]);
            for winding in &magnetic.windings {
                let at = usual.unwrap_or_else(|| figures[winding.mean_temperature.index()][l]);
                self.windings_before[winding.line][l] = if at.is_nan() { WARM } else { at };
            }
        }
        for (k, stage) in plan.stages.iter().enumerate() {
            let came = figures[stage.figures.loss.index()][l];
            let expected = &mut self.expected[k];
            if stage.bridge().is_some() {
                // What a bridge loses hangs on its own loss by way of the coolant.
                expected.driven[l] = self.losses_before[k][l];
                expected.hand_over(l, came, 0.0, self.is_near_most[l]);
                self.losses_before[k][l] = expected.with_own(l, 0.0);
            } else {
                let guess = growth(plan, stage, inputs, figures, l) / expected.driven[l];
                expected.hand_over(l, came, guess, self.is_near_most[l]);
            }
            for port in &stage.ports {
                self.currents_before[port.slot][l] = figures[port.current.index()][l];
            }
        }
        for load in &plan.loads {
            self.currents_before[load.port.slot][l] = figures[load.port.current.index()][l];
        }
    }
}
