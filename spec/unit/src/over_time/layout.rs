//! What of a plan holds heat: the same for every lane and every step.

use core::ops::Range;

use loadworthy_physics::{ThermalResistance, Time};

use crate::ids::InputId;
use crate::plan::Plan;

/// Elements and plates of a plan, with dense numbers.
pub(crate) struct Layout {
    /// Thermal impedances as ranges of `elements`, each once: devices of one data sheet share theirs.
    pub(crate) kinds: Vec<Range<usize>>,
    /// Their elements.
    pub(crate) elements: Vec<Element>,
    /// The impedance of each chip, and where the rises over its elements begin.
    pub(crate) chips: Vec<Seat>,
    /// Rises of all chips.
    pub(crate) rises: usize,
    /// Heat capacity of each place's plate, where one is stated.
    pub(crate) capacities: Vec<Option<InputId>>,
    /// Where the shares of each split's branches begin in [`super::driven::Driven::shares`].
    pub(crate) shares: Vec<usize>,
    /// Whether a package has its faces at two places.
    pub(crate) spans_places: bool,
}

/// One element of a thermal impedance.
#[derive(Clone, Copy, PartialEq)]
pub(crate) struct Element {
    /// Its share of the whole resistance from junction to case.
    pub(crate) share: f64,
    /// Its time constant in s.
    pub(crate) time_constant: f64,
}

/// The impedance of a chip.
#[derive(Clone, Copy)]
pub(crate) struct Seat {
    pub(crate) kind: usize,
    pub(crate) first: usize,
}

impl Layout {
    /// Of a plan.
    pub(crate) fn of(plan: &Plan) -> Self {
        let mut layout = Self {
            kinds: Vec::new(),
            elements: Vec::new(),
            chips: Vec::with_capacity(plan.chips.len()),
            rises: 0,
            capacities: Vec::new(),
            shares: Vec::new(),
            spans_places: plan
                .packages
                .iter()
                .any(|package| matches!(package.faces.as_slice(), [a, b] if a.place != b.place)),
        };
        for chip in &plan.chips {
            let kind = layout.kind(&chip.foster);
            layout.chips.push(Seat { kind, first: layout.rises });
            layout.rises += chip.foster.len();
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

    /// The elements of a chip.
    pub(crate) fn elements_of(&self, chip: Seat) -> &[Element] {
        &self.elements[self.kinds[chip.kind].clone()]
    }

    fn kind(&mut self, foster: &[(ThermalResistance, Time)]) -> usize {
        let whole: f64 = foster.iter().map(|(resistance, _)| resistance.si()).sum();
        let element = |&(resistance, time_constant): &(ThermalResistance, Time)| Element {
            share: resistance.si() / whole,
            time_constant: time_constant.si(),
        };
        let known = self.kinds.iter().position(|kind| {
            kind.len() == foster.len()
                && foster.iter().map(element).eq(self.elements[kind.clone()].iter().copied())
        });
        known.unwrap_or_else(|| {
            let start = self.elements.len();
            self.elements.extend(foster.iter().map(element));
            self.kinds.push(start..self.elements.len());
            self.kinds.len() - 1
        })
    }
}
