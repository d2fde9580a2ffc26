//! What drives the heat of one solved lane.

use crate::over_time::layout::Layout;
use crate::plan::Plan;
use crate::solver::Block;

/// What stands still while a lane is followed, taken from its solution.
#[derive(Clone, Default)]
pub(crate) struct Driven {
    /// Loss of each chip as a straight line over its junction temperature: W at 0 °C, and W/K.
    pub(crate) lines: Vec<(f64, f64)>,
    /// Resistance from junction to case of each chip, in K/W.
    pub(crate) to_case: Vec<f64>,
    /// Loss of each chip once everything has settled, in W.
    pub(crate) settled: Vec<f64>,
    /// Resistances behind the faces of each package, in K/W.
    pub(crate) faces: Vec<[f64; 2]>,
    /// How many of each package stand in parallel.
    pub(crate) counts: Vec<f64>,
    /// The places of the coolant path.
    pub(crate) places: Vec<Place>,
    /// Shares of the branches of all splits.
    pub(crate) shares: Vec<f64>,
    /// Coolant at the inlet, in °C.
    pub(crate) inlet: f64,
}

/// A place of the coolant path.
#[derive(Clone, Copy)]
pub(crate) struct Place {
    /// Heat that comes from anything but packages, in W.
    pub(crate) other_heat: f64,
    /// Resistance from the plate to the coolant that enters, in K/W; the warming of the coolant counts as one.
    pub(crate) to_coolant: f64,
    /// Heat-capacity rate, in W/K.
    pub(crate) rate: f64,
    /// Heat capacity of the plate, in J/K; zero where it follows at once.
    pub(crate) capacity: f64,
    /// What the place offers to its faces once everything has settled, in °C.
    pub(crate) settled: f64,
}

impl Driven {
    /// Takes what a solved lane says.
    pub(crate) fn take<const L: usize>(&mut self, plan: &Plan, layout: &Layout, block: &Block<L>, l: usize) {
        let input = |id: crate::ids::InputId| block.inputs[id.index()][l];
        let figure = |id: crate::ids::FigureId| block.figures[id.index()][l];
        self.lines.clear();
        self.to_case.clear();
        self.settled.clear();
        for chip in &plan.chips {
            let (loss, per_kelvin) = (figure(chip.figures.loss), figure(chip.figures.loss_per_kelvin));
            self.lines.push((loss - per_kelvin * figure(chip.figures.mean_junction_temperature), per_kelvin));
            self.to_case.push(input(chip.inputs.junction_to_case));
            self.settled.push(loss);
        }
        self.faces.clear();
        self.counts.clear();
        for package in &plan.packages {
            let resistance = |face: usize| package.faces.get(face).map_or(0.0, |face| input(face.resistance));
            self.faces.push([resistance(0), resistance(1)]);
            self.counts.push(input(package.count));
        }
        self.places.clear();
        self.shares.clear();
        let Some(path) = &plan.coolant else { return };
        self.inlet = input(path.inlet);
        for split in &path.splits {
            self.shares.extend(split.branches.iter().map(|branch| figure(branch.share)));
        }
        for (place, capacity) in path.places.iter().zip(&layout.capacities) {
            let of_packages = |&(package, face): &(usize, usize)| {
                self.counts[package] * figure(plan.packages[package].faces[face].heat)
            };
            let rate = figure(place.capacity_rate);
            let plate = place.plate.as_ref().map_or(0.0, |plate| figure(plate.resistance_here));
            let capacity = capacity.map_or(0.0, input);
            let settled = place.plate.as_ref().map_or(place.reference_temperature, |plate| plate.temperature);
            self.places.push(Place {
                other_heat: figure(place.heat) - place.faces.iter().map(of_packages).sum::<f64>(),
                to_coolant: plate + input(place.reference) / rate,
                rate,
                capacity,
                settled: figure(settled),
            });
        }
    }
}
