//! How warm everything is that holds heat.

use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;

/// Temperatures of one moment.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State {
    /// Rise over each element, in K.
    pub(crate) rises: Vec<f64>,
    /// What each place offers to its faces, in °C: its plate, or its coolant.
    pub(crate) plates: Vec<f64>,
}

impl State {
    /// Everything settled.
    pub(crate) fn settled(layout: &Layout, driven: &Driven) -> Self {
        let mut rises = Vec::with_capacity(layout.elements.len());
        for (chip, elements) in layout.chips.iter().enumerate() {
            let rise = driven.to_case[chip] * driven.settled[chip];
            rises.extend(layout.elements[elements.clone()].iter().map(|element| element.share * rise));
        }
        Self { rises, plates: driven.places.iter().map(|place| place.settled).collect() }
    }

    /// Part of the way from this state to another.
    pub(crate) fn towards(&self, other: &Self, share: f64) -> Self {
        let between = |(&from, &to): (&f64, &f64)| from + share * (to - from);
        Self {
            rises: self.rises.iter().zip(&other.rises).map(between).collect(),
            plates: self.plates.iter().zip(&other.plates).map(between).collect(),
        }
    }

    /// The hotter of two states, element by element.
    pub(crate) fn or_hotter(mut self, other: &Self) -> Self {
        let hotter = |own: &mut f64, its: &f64| *own = if *its > *own { *its } else { *own };
        self.rises.iter_mut().zip(&other.rises).for_each(|(own, its)| hotter(own, its));
        self.plates.iter_mut().zip(&other.plates).for_each(|(own, its)| hotter(own, its));
        self
    }

    /// Whether every temperature is known.
    pub(crate) fn is_known(&self) -> bool {
        self.rises.iter().chain(&self.plates).all(|value| value.is_finite())
    }

    /// Largest distance to another state, in K.
    pub(crate) fn distance(&self, other: &Self) -> f64 {
        let all = self.rises.iter().zip(&other.rises).chain(self.plates.iter().zip(&other.plates));
        all.map(|(a, b)| (a - b).abs()).fold(0.0, |most, each| if each > most { each } else { most })
    }
}
