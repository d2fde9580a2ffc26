//! One step of time.
//!
//! Over a step each element and each plate relaxes exponentially towards what its heat at the end of the step would
//! hold it at. That is one linear system, with the structure of the settled one: chips reduce to what their case sees,
//! packages to what their plate sees, and one sweep along the coolant gives every temperature. Exact for constant loss
//! and for a step of any length, and stable whatever the step.

use loadworthy_physics::{HeatCapacity, ThermalResistance, Time, transient};

use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
use crate::over_time::state::State;
use crate::plan::{Plan, Step};
use crate::solver::{Reduced, two_faces};

/// Sweeps after which packages between two places are taken as they are.
const MOST_SWEEPS: usize = 60;
/// Plates between two sweeps agree within this many kelvin.
const AGREED: f64 = 1e-6;

/// Room to step in, taken once for a plan.
pub(crate) struct Stepper<'p> {
    pub(crate) plan: &'p Plan,
    pub(crate) layout: Layout,
    /// Length of the step that `keeps` belongs to, in s.
    length: f64,
    /// What is kept over the step, for each time constant.
    keeps: Vec<f64>,
    /// What each chip keeps of its rise, in K, and what its loss adds, in K/W.
    chips: Vec<(f64, f64)>,
    packages: Vec<Reduced<1>>,
    /// Temperature that each place offers to its faces, in °C, and the one before.
    plates: Vec<f64>,
    plates_before: Vec<f64>,
    forks: Vec<(f64, f64)>,
    /// Mean junction temperature of each chip at the end of the step, in °C.
    pub(crate) junctions: Vec<f64>,
    /// Loss of each chip at the end of the step, in W.
    pub(crate) losses: Vec<f64>,
}

impl<'p> Stepper<'p> {
    /// For a plan.
    pub(crate) fn new(plan: &'p Plan) -> Self {
        let layout = Layout::of(plan);
        let places = plan.coolant.as_ref().map_or(0, |path| path.places.len());
        let splits = plan.coolant.as_ref().map_or(0, |path| path.splits.len());
        Self {
            plan,
            length: f64::NAN,
            keeps: vec![0.0; layout.time_constants.len()],
            layout,
            chips: vec![(0.0, 0.0); plan.chips.len()],
            packages: vec![Reduced::default(); plan.packages.len()],
            plates: vec![f64::NAN; places],
            plates_before: vec![f64::NAN; places],
            forks: vec![(f64::NAN, 0.0); splits],
            junctions: vec![f64::NAN; plan.chips.len()],
            losses: vec![f64::NAN; plan.chips.len()],
        }
    }

    /// Begins with a lane: what its places offer is a first guess for packages between two of them.
    pub(crate) fn begin(&mut self, driven: &Driven) {
        self.plates.clear();
        self.plates.extend(driven.places.iter().map(|place| place.settled));
    }

    /// Steps a state on by `length` in s.
    pub(crate) fn step(&mut self, driven: &Driven, state: &mut State, length: f64) {
        if length.to_bits() != self.length.to_bits() {
            self.length = length;
            for (keeps, &time_constant) in self.keeps.iter_mut().zip(&self.layout.time_constants) {
                *keeps = transient::remains(Time::new(length), Time::new(time_constant));
            }
        }
        self.chips(driven, state);
        for package in 0..self.plan.packages.len() {
            self.packages[package] = self.reduced(package, driven);
        }
        self.plates_before.copy_from_slice(&self.plates);
        for _ in 0..MOST_SWEEPS {
            self.sweep(driven, state);
            let moved = |(now, before): (&f64, &f64)| (now - before).abs() > AGREED;
            if !self.layout.spans_places || !self.plates.iter().zip(&self.plates_before).any(moved) {
                break;
            }
            self.plates_before.copy_from_slice(&self.plates);
        }
        for package in 0..self.plan.packages.len() {
            self.junctions_of(package, driven);
        }
        for (chip, elements) in self.layout.chips.iter().enumerate() {
            let settled = driven.to_case[chip] * self.losses[chip];
            let rises = &mut state.rises[elements.clone()];
            for (rise, element) in rises.iter_mut().zip(&self.layout.elements[elements.clone()]) {
                let keeps = self.keeps[element.time_constant];
                *rise = keeps * *rise + (1.0 - keeps) * element.share * settled;
            }
        }
        state.plates.copy_from_slice(&self.plates);
    }

    /// What each chip keeps of its rise, and what its loss adds.
    fn chips(&mut self, driven: &Driven, state: &State) {
        for (chip, elements) in self.layout.chips.iter().enumerate() {
            let (mut kept, mut adds) = (0.0, 0.0);
            let rises = &state.rises[elements.clone()];
            for (rise, element) in rises.iter().zip(&self.layout.elements[elements.clone()]) {
                let keeps = self.keeps[element.time_constant];
                kept += keeps * rise;
                adds += (1.0 - keeps) * element.share;
            }
            self.chips[chip] = (kept, adds * driven.to_case[chip]);
        }
    }

    /// Chips and case of a package, reduced to its faces; as in the solver, with what the chips keep.
    fn reduced(&self, package: usize, driven: &Driven) -> Reduced<1> {
        let mut out = Reduced::default();
        let of = &self.plan.packages[package];
        for &chip in &of.chips {
            let (constant, per_kelvin) = driven.lines[chip];
            let (kept, adds) = self.chips[chip];
            let stiffness = 1.0 - adds * per_kelvin;
            let source = (constant + per_kelvin * kept) / stiffness;
            if of.faces.len() == 1 {
                out.sources[0] += source;
                out.conductance[0] += per_kelvin / stiffness;
            } else {
                let to_face = 0.5 / driven.to_case[chip];
                out.sources[0] += 0.5 * source;
                out.across[0] += 0.25 * per_kelvin / stiffness + 0.5 * to_face;
                out.conductance[0] += to_face;
            }
        }
        if of.faces.len() == 1 {
            let stiffness = 1.0 - driven.faces[package][0] * out.conductance[0];
            out.sources[0] /= stiffness;
            out.conductance[0] /= stiffness;
        }
        out
    }

    /// Once along the coolant.
    fn sweep(&mut self, driven: &Driven, state: &State) {
        let Some(path) = &self.plan.coolant else { return };
        let mut coolant = driven.inlet;
        for &step in path.steps() {
            match step {
                Step::Visit(here) => self.visit(here, &mut coolant, driven, state),
                Step::Fork(split) => self.forks[split] = (coolant, 0.0),
                Step::Enter(split, _) => coolant = self.forks[split].0,
                Step::Leave(split, branch) => {
                    self.forks[split].1 += driven.shares[self.layout.shares[split] + branch] * coolant;
                }
                Step::Join(split) => coolant = self.forks[split].1,
            }
        }
    }

    fn visit(&mut self, here: usize, coolant: &mut f64, driven: &Driven, state: &State) {
        let place = &driven.places[here];
        let (mut constant, mut per_kelvin) = (place.other_heat, 0.0);
        let Some(path) = &self.plan.coolant else { return };
        for &(package, face) in &path.places[here].faces {
            let (cold, warm) = self.face_line(package, face, here, driven);
            constant += driven.counts[package] * cold;
            per_kelvin += driven.counts[package] * warm;
        }
        let (resistance, entering) = (place.to_coolant, *coolant);
        let time_constant =
            transient::time_constant(ThermalResistance::new(resistance), HeatCapacity::new(place.capacity));
        let keeps = transient::remains(Time::new(self.length), time_constant);
        let held = (1.0 - keeps) * (entering + resistance * constant) + keeps * state.plates[here];
        let plate = held / (1.0 - (1.0 - keeps) * resistance * per_kelvin);
        self.plates[here] = plate;
        let into_coolant = if place.capacity > 0.0 {
            (plate - entering) / resistance
        } else {
            constant + per_kelvin * plate
        };
        *coolant = entering + into_coolant / place.rate;
    }

    /// Heat that a face sends to its place: at 0 °C of the place, and for each kelvin more.
    fn face_line(&self, package: usize, face: usize, here: usize, driven: &Driven) -> (f64, f64) {
        let reduced = &self.packages[package];
        match self.plan.packages[package].faces.as_slice() {
            [_] => (reduced.sources[0], reduced.conductance[0]),
            faces @ [_, _] => {
                let other = faces[1 - face].place;
                let together = other == Some(here);
                let mut behind = [0.0; 2];
                if !together {
                    behind[1 - face] = other.map_or(f64::NAN, |place| self.plates_before[place]);
                }
                let (_, cold, _) = two_faces(reduced, 0, driven.faces[package], behind);
                behind[face] += 1.0;
                if together {
                    behind[1 - face] += 1.0;
                }
                let (_, warm, _) = two_faces(reduced, 0, driven.faces[package], behind);
                (cold[face], warm[face] - cold[face])
            }
            _ => (f64::NAN, f64::NAN),
        }
    }

    /// Junction temperatures and losses of a package at the end of the step.
    fn junctions_of(&mut self, package: usize, driven: &Driven) {
        let of = &self.plan.packages[package];
        let reduced = &self.packages[package];
        let behind = |face: usize| {
            let place = of.faces.get(face).and_then(|face| face.place);
            place.map_or(f64::NAN, |place| self.plates[place])
        };
        let case = match of.faces.len() {
            1 => {
                let plate = behind(0);
                plate + driven.faces[package][0] * (reduced.sources[0] + reduced.conductance[0] * plate)
            }
            2 => {
                let (cases, _, _) = two_faces(reduced, 0, driven.faces[package], [behind(0), behind(1)]);
                0.5 * (cases[0] + cases[1])
            }
            _ => f64::NAN,
        };
        for &chip in &of.chips {
            let (constant, per_kelvin) = driven.lines[chip];
            let (kept, adds) = self.chips[chip];
            let junction = (case + kept + adds * constant) / (1.0 - adds * per_kelvin);
            self.junctions[chip] = junction;
            self.losses[chip] = constant + per_kelvin * junction;
        }
    }
}
