//! What drives the heat of solved lanes, side by side.

use loadworthy_physics::{HeatCapacity, ThermalResistance, Time, transient};

use crate::over_time::layout::Layout;
use crate::plan::Plan;
use crate::solver::Block;
use crate::trace::Operand;

/// What stands still while lanes are followed, taken from their solutions; not a number where none was taken.
#[derive(Clone)]
pub(crate) struct Driven<const N: usize> {
    /// Loss of each chip as a straight line over its junction temperature: W at 0 °C, and W/K.
    pub(crate) lines: Vec<([f64; N], [f64; N])>,
    /// Resistance from junction to case of each chip, in K/W.
    pub(crate) to_case: Vec<[f64; N]>,
    /// Loss of each chip once everything has settled, in W.
    pub(crate) settled: Vec<[f64; N]>,
    /// Resistances behind the faces of each package, in K/W.
    pub(crate) faces: Vec<[[f64; N]; 2]>,
    /// How many of each package stand in parallel.
    pub(crate) counts: Vec<[f64; N]>,
    /// The places of the coolant path.
    pub(crate) places: Vec<Place<N>>,
    /// Shares of the branches of all splits.
    pub(crate) shares: Vec<[f64; N]>,
    /// Coolant at the inlet, in °C.
    pub(crate) inlet: [f64; N],
}

/// A place of the coolant path.
#[derive(Clone, Copy)]
pub(crate) struct Place<const N: usize> {
    /// Heat that comes from anything but packages, in W.
    pub(crate) other_heat: [f64; N],
    /// Resistance from the plate to the coolant that enters, in K/W; the warming of the coolant counts as one.
    pub(crate) to_coolant: [f64; N],
    /// Heat-capacity rate, in W/K.
    pub(crate) rate: [f64; N],
    /// Heat capacity of the plate, in J/K; zero where it follows at once.
    pub(crate) capacity: [f64; N],
    /// What the place offers to its faces once everything has settled, in °C.
    pub(crate) settled: [f64; N],
}

impl<const N: usize> Place<N> {
    /// What its plate keeps of its temperature over a step of some length in s. Lanes of one duty point mostly have the same
    /// coolant: what the lane before keeps is taken where it is.
    pub(crate) fn keeps(&self, length: f64) -> [f64; N] {
        let mut keeps = [f64::NAN; N];
        let same = |all: &[f64; N], n: usize| all[n].to_bits() == all[n - 1].to_bits();
        for n in 0..N {
            keeps[n] = if n > 0 && same(&self.to_coolant, n) && same(&self.capacity, n) {
                keeps[n - 1]
            } else {
                let behind = ThermalResistance::new(self.to_coolant[n]);
                let fades = transient::time_constant(behind, HeatCapacity::new(self.capacity[n]));
                transient::remains(Time::new(length), fades)
            };
        }
        keeps
    }
}

impl<const N: usize> Driven<N> {
    /// Room for a plan.
    pub(crate) fn new(plan: &Plan) -> Self {
        let unknown = [f64::NAN; N];
        let place = Place {
            other_heat: unknown,
            to_coolant: unknown,
            rate: unknown,
            capacity: unknown,
            settled: unknown,
        };
        let (places, shares) = plan.coolant.as_ref().map_or((0, 0), |path| {
            (path.places.len(), path.splits.iter().map(|split| split.branches.len()).sum())
        });
        Self {
            lines: vec![(unknown, unknown); plan.chips.len()],
            to_case: vec![unknown; plan.chips.len()],
            settled: vec![unknown; plan.chips.len()],
            faces: vec![[unknown; 2]; plan.packages.len()],
            counts: vec![unknown; plan.packages.len()],
            places: vec![place; places],
            shares: vec![unknown; shares],
            inlet: unknown,
        }
    }

    /// Takes what lane `l` of a solved block says, and follows it as the `n`-th.
    pub(crate) fn take<const L: usize>(
        &mut self,
        plan: &Plan,
        layout: &Layout,
        (block, l): (&Block<L>, usize),
        n: usize,
    ) {
        let input = |id: crate::ids::InputId| block.inputs[id.index()][l];
        let figure = |id: crate::ids::FigureId| block.figures[id.index()][l];
        for (k, chip) in plan.chips.iter().enumerate() {
            let (loss, per_kelvin) = (figure(chip.figures.loss), figure(chip.figures.loss_per_kelvin));
            let (constant, growth) = &mut self.lines[k];
            constant[n] = loss - per_kelvin * figure(chip.figures.mean_junction_temperature);
            growth[n] = per_kelvin;
            self.to_case[k][n] = input(chip.inputs.junction_to_case);
            self.settled[k][n] = loss;
        }
        for (k, package) in plan.packages.iter().enumerate() {
            for (face, resistance) in self.faces[k].iter_mut().enumerate() {
                resistance[n] = package.faces.get(face).map_or(0.0, |face| match face.resistance_here() {
                    Operand::Figure(id) => figure(id),
                    Operand::Input(id) => input(id),
                    Operand::Curve(_) => f64::NAN,
                });
            }
            self.counts[k][n] = input(package.count);
        }
        let Some(path) = &plan.coolant else { return };
        self.inlet[n] = input(path.inlet);
        let branches = path.splits.iter().flat_map(|split| &split.branches);
        for (share, branch) in self.shares.iter_mut().zip(branches) {
            share[n] = figure(branch.share);
        }
        for (k, place) in path.places.iter().enumerate() {
            let of_packages = |&(package, face): &(usize, usize)| {
                self.counts[package][n] * figure(plan.packages[package].faces[face].heat)
            };
            let from_packages: f64 = place.faces.iter().map(of_packages).sum();
            let rate = figure(place.capacity_rate);
            let plate = place.plate.as_ref().map_or(0.0, |plate| figure(plate.resistance_here));
            let settled = place.plate.as_ref().map_or(place.reference_temperature, |plate| plate.temperature);
            let out = &mut self.places[k];
            out.other_heat[n] = figure(place.heat) - from_packages;
            out.to_coolant[n] = plate + input(place.reference) / rate;
            out.rate[n] = rate;
            out.capacity[n] = layout.capacities[k].map_or(0.0, input);
            out.settled[n] = figure(settled);
        }
    }
}
