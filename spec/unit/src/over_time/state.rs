//! How warm everything is that holds heat.

use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;

/// Temperatures of one moment in lanes side by side; not a number where nothing is known.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State<const N: usize> {
    /// Rise over each element of each chip, in K.
    pub(crate) rises: Vec<[f64; N]>,
    /// What each place offers to its faces, in °C: its plate, or its coolant.
    pub(crate) plates: Vec<[f64; N]>,
}

impl<const N: usize> State<N> {
    /// Nothing known.
    pub(crate) fn unknown(layout: &Layout) -> Self {
        let unknown = [f64::NAN; N];
        Self { rises: vec![unknown; layout.rises], plates: vec![unknown; layout.capacities.len()] }
    }

    /// Everything settled.
    pub(crate) fn settled(layout: &Layout, driven: &Driven<N>) -> Self {
        let mut rises = Vec::with_capacity(layout.rises);
        for (chip, &seat) in layout.chips.iter().enumerate() {
            let (to_case, loss) = (&driven.to_case[chip], &driven.settled[chip]);
            for element in layout.elements_of(seat) {
                rises.push(core::array::from_fn(|n| element.share * (to_case[n] * loss[n])));
            }
        }
        Self { rises, plates: driven.places.iter().map(|place| place.settled).collect() }
    }

    /// Part of the way from this state to another.
    pub(crate) fn towards(&self, other: &Self, share: f64) -> Self {
        let between = |(from, to): (&[f64; N], &[f64; N])| {
            core::array::from_fn(|n| from[n] + share * (to[n] - from[n]))
        };
        Self {
            rises: self.rises.iter().zip(&other.rises).map(between).collect(),
            plates: self.plates.iter().zip(&other.plates).map(between).collect(),
        }
    }

    /// Takes one lane of another state as the `n`-th.
    pub(crate) fn put<const M: usize>(&mut self, n: usize, other: &State<M>, m: usize) {
        for (own, its) in self.all_mut().zip(other.all()) {
            own[n] = its[m];
        }
    }

    /// The `n`-th lane by itself.
    pub(crate) fn alone(&self, n: usize) -> State<1> {
        let of = |each: &[f64; N]| [each[n]];
        State { rises: self.rises.iter().map(of).collect(), plates: self.plates.iter().map(of).collect() }
    }

    /// The hotter of two states, element by element; what is not known of one is not known.
    pub(crate) fn or_hotter(mut self, other: &Self) -> Self {
        for (own, its) in self.all_mut().zip(other.all()) {
            for n in 0..N {
                own[n] = if its[n] > own[n] || its[n].is_nan() { its[n] } else { own[n] };
            }
        }
        self
    }

    /// Takes from another state what is not known in a lane of this one.
    pub(crate) fn or_as_in(&mut self, other: &Self, n: usize) {
        for (own, its) in self.all_mut().zip(other.all()) {
            own[n] = if own[n].is_nan() { its[n] } else { own[n] };
        }
    }

    /// Largest distance of a lane to another state, in K.
    pub(crate) fn distance(&self, other: &Self, n: usize) -> f64 {
        let all = self.all().zip(other.all()).map(|(a, b)| (a[n] - b[n]).abs());
        all.fold(0.0, |most, each| if each > most { each } else { most })
    }

    /// All temperatures, in a fixed order.
    pub(crate) fn all(&self) -> impl Iterator<Item = &[f64; N]> {
        self.rises.iter().chain(&self.plates)
    }

    pub(crate) fn all_mut(&mut self) -> impl Iterator<Item = &mut [f64; N]> {
        self.rises.iter_mut().chain(&mut self.plates)
    }
}
