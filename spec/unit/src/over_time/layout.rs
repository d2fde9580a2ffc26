//! What of a plan holds heat: the same for every lane and every step.

use crate::ids::InputId;
use crate::plan::Plan;

/// Elements and plates of a plan, with dense numbers.
pub(crate) struct Layout {
    /// Elements of each chip's thermal impedance, as ranges of `elements`.
    pub(crate) chips: Vec<core::ops::Range<usize>>,
    /// Every element.
    pub(crate) elements: Vec<Element>,
    /// Time constants in s, each once: devices of one data sheet share theirs.
    pub(crate) time_constants: Vec<f64>,
    /// Heat capacity of each place's plate, where one is stated.
    pub(crate) capacities: Vec<Option<InputId>>,
    /// Where the shares of each split's branches begin in [`super::driven::Driven::shares`].
    pub(crate) shares: Vec<usize>,
    /// Whether a package has its faces at two places.
    pub(crate) spans_places: bool,
}

/// One element of a thermal impedance.
#[derive(Clone, Copy)]
pub(crate) struct Element {
    /// Its share of the whole resistance from junction to case.
    pub(crate) share: f64,
    /// Its time constant, as a place in the list.
    pub(crate) time_constant: usize,
}

impl Layout {
    /// Of a plan.
    pub(crate) fn of(plan: &Plan) -> Self {
        let mut layout = Self {
            chips: Vec::with_capacity(plan.chips.len()),
            elements: Vec::new(),
            time_constants: Vec::new(),
            capacities: Vec::new(),
            shares: Vec::new(),
            spans_places: plan
                .packages
                .iter()
                .any(|package| matches!(package.faces.as_slice(), [a, b] if a.place != b.place)),
        };
        for chip in &plan.chips {
            let start = layout.elements.len();
            let whole: f64 = chip.foster.iter().map(|(resistance, _)| resistance.si()).sum();
            for &(resistance, time_constant) in &chip.foster {
                let time_constant = layout.time_constant(time_constant.si());
                layout.elements.push(Element { share: resistance.si() / whole, time_constant });
            }
            layout.chips.push(start..layout.elements.len());
        }
        if let Some(path) = &plan.coolant {
            let capacity = |place: &crate::plan::Place| place.plate.as_ref()?.heat_capacity;
            layout.capacities = path.places.iter().map(capacity).collect();
            let mut next = 0;
            for split in &path.splits {
                layout.shares.push(next);
                next += split.branches.len();
            }
        }
        layout
    }

    fn time_constant(&mut self, value: f64) -> usize {
        let known = self.time_constants.iter().position(|known| known.to_bits() == value.to_bits());
        known.unwrap_or_else(|| {
            self.time_constants.push(value);
            self.time_constants.len() - 1
        })
    }
}
