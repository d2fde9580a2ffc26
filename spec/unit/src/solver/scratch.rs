//! Room to work in, taken once for a plan and used again for every block.

use crate::plan::Plan;

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

/// Bracket of a bus voltage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bracket {
    /// Lowest voltage that may be the solution; not a number before the first pass.
    pub(crate) low: f64,
    /// Highest voltage that may be the solution.
    pub(crate) high: f64,
    /// Voltage of this pass.
    pub(crate) at: f64,
    /// Whether the voltage is sought at all.
    pub(crate) is_sought: bool,
}

impl Default for Bracket {
    fn default() -> Self {
        Self { low: f64::NAN, high: f64::NAN, at: f64::NAN, is_sought: false }
    }
}

/// What moves from one pass to the next.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Unsettled {
    /// A place of the coolant path.
    Place(usize),
    /// A chip with more than two curves.
    Chip(usize),
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
    /// Voltages that are sought.
    pub(crate) brackets: Vec<[Bracket; L]>,
    /// Whether any package has its faces at two places.
    spans_places: bool,
    /// Chips with more than two curves.
    bending: Vec<usize>,
}

impl<const L: usize> Scratch<L> {
    /// Room for a plan.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let places = plan.coolant.as_ref().map_or(0, |path| path.places.len());
        let unknown = [f64::NAN; L];
        Self {
            lines: vec![LossLine::default(); plan.chips.len()],
            reduced: vec![Reduced::default(); plan.packages.len()],
            junctions: vec![unknown; plan.chips.len()],
            junctions_before: vec![unknown; plan.chips.len()],
            plates: vec![unknown; places],
            plates_before: vec![unknown; places],
            brackets: vec![[Bracket::default(); L]; plan.buses.len()],
            spans_places: plan.packages.iter().any(|package| match package.faces.as_slice() {
                [a, b] => a.place != b.place,
                _ => false,
            }),
            bending: (0..plan.chips.len()).filter(|&chip| plan.chips[chip].bends()).collect(),
        }
    }

    /// What a lane's next pass would be given otherwise than this one.
    pub(crate) fn unsettled(&self, l: usize, within: f64) -> Option<Unsettled> {
        // What is missing stays missing: not a number counts as settled.
        let moved =
            |now: f64, before: f64| (now - before).abs() > within || (before.is_nan() && !now.is_nan());
        let plates = self.spans_places.then(|| self.plates.iter().zip(&self.plates_before));
        let place = plates.into_iter().flatten().position(|(now, before)| moved(now[l], before[l]));
        let chip = || {
            let chips = &mut self.bending.iter();
            chips.find(|&&chip| moved(self.junctions[chip][l], self.junctions_before[chip][l]))
        };
        place.map(Unsettled::Place).or_else(|| chip().map(|&chip| Unsettled::Chip(chip)))
    }

    /// Hands what a pass gave for a lane to the next.
    pub(crate) fn hand_over(&mut self, l: usize) {
        for (before, now) in self.plates_before.iter_mut().zip(&self.plates) {
            before[l] = now[l];
        }
        for &chip in &self.bending {
            self.junctions_before[chip][l] = self.junctions[chip][l];
        }
    }
}
