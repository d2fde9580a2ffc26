//! In which order heat sources should stand along one coolant path.
//!
//! The margin of a source falls with all heat that the coolant has taken up before it. Visiting the sources
//! in rising order of the outlet temperature that each allows gives the largest smallest margin: were a
//! source with the higher allowance directly before one with the lower, changing places would not lower the
//! smaller of the two margins and would leave all others alone.

use crate::coolant::Place;
use crate::{Power, Temperature, TemperatureDifference, ThermalCapacityRate, ThermalResistance};

/// A source of heat on a coolant path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatSource {
    /// Its loss.
    pub heat: Power,
    /// From the coolant to its limited place.
    pub path: ThermalResistance,
    /// What that place bears.
    pub limit: Temperature,
}

impl HeatSource {
    /// Temperature of the coolant at the source's outlet at which it is just at its limit.
    ///
    /// `counted_from` is where the resistance counts the coolant from.
    ///
    /// `K = T_max − R·P + (1 − c)·P/C, c = 0, ½, 1 for R counted from inlet, mean, outlet`. Valid: constant loss,
    /// resistance independent of the place in the path. Source: exchange argument as for due dates, Jackson, UCLA
    /// Research Report 43, 1955; compared with all orders.
    #[inline]
    pub fn allowable_outlet(self, counted_from: Place, rate: ThermalCapacityRate) -> Temperature {
        let ahead = match counted_from {
            Place::Inlet => 1.0,
            Place::Mean => 0.5,
            Place::Outlet => 0.0,
        };
        let own = if ahead == 0.0 { TemperatureDifference::ZERO } else { self.heat / rate * ahead };
        self.limit - self.heat * self.path + own
    }
}

/// Smallest margin of the sources in the order given by `order`, indices into `sources`.
///
/// Not a number for an empty order and for an index that does not exist.
///
/// `min_i (K_i − T_in − Σ_{j≤i} P_j/C)`. Valid: constant losses, one path; largest where K rises along the path.
/// Source: exchange argument as for due dates, Jackson, UCLA Research Report 43, 1955; compared with all orders.
pub fn least_margin(
    sources: &[HeatSource],
    order: impl IntoIterator<Item = usize>,
    inlet: Temperature,
    counted_from: Place,
    rate: ThermalCapacityRate,
) -> TemperatureDifference {
    let mut coolant = inlet;
    let mut least = TemperatureDifference::new(f64::NAN);
    let mut first = true;
    for index in order {
        let Some(source) = sources.get(index) else { return TemperatureDifference::new(f64::NAN) };
        coolant = coolant + source.heat / rate;
        let margin = source.allowable_outlet(counted_from, rate) - coolant;
        if margin.si().is_nan() {
            return margin;
        }
        if first || margin < least {
            (least, first) = (margin, false);
        }
    }
    least
}

/// Sorts indices so that the sources' allowable outlet temperatures rise along the path; equal ones stay in their
/// order.
pub fn sort_by_allowable_outlet(
    sources: &[HeatSource],
    order: &mut [usize],
    counted_from: Place,
    rate: ThermalCapacityRate,
) {
    let key = |index: usize| {
        sources.get(index).map_or(f64::NAN, |source| source.allowable_outlet(counted_from, rate).in_celsius())
    };
    order.sort_by(|&one, &other| key(one).total_cmp(&key(other)));
}

/// Puts `order` (indices into `sources`) into the order whose smallest weighted margin is largest, and gives
/// that margin.
///
/// `weights` divide no figure and multiply each margin; they are above zero and as many as the sources.
///
/// `from the end: the source whose weighted margin at the whole heat is largest goes last, and so on`. Valid: any
/// margin that falls with the heat before it. Source: Lawler, Management Science 19, 1973; compared with all orders.
pub fn best_weighted(
    sources: &[HeatSource],
    weights: &[f64],
    order: &mut [usize],
    inlet: Temperature,
    counted_from: Place,
    rate: ThermalCapacityRate,
) -> TemperatureDifference {
    let unknown = TemperatureDifference::new(f64::NAN);
    if sources.len() != weights.len() || order.iter().any(|&index| index >= sources.len()) {
        return unknown;
    }
    let margin = |index: usize, outlet: Temperature| match (sources.get(index), weights.get(index)) {
        (Some(source), Some(&weight)) => (source.allowable_outlet(counted_from, rate) - outlet) * weight,
        _ => unknown,
    };
    let heat: Power = order.iter().filter_map(|&index| sources.get(index)).map(|source| source.heat).sum();
    let mut outlet = inlet + heat / rate;
    let mut least = TemperatureDifference::new(f64::INFINITY);
    let mut left = order.len();
    while left > 0 {
        let Some(open) = order.get_mut(..left) else { break };
        let mut best = 0;
        for place in 1..left {
            if let (Some(&one), Some(&other)) = (open.get(best), open.get(place))
                && margin(other, outlet) > margin(one, outlet)
            {
                best = place;
            }
        }
        left -= 1;
        open.swap(best, left);
        let Some(&last) = open.last() else { break };
        let own = margin(last, outlet);
        if own.si().is_nan() {
            return unknown;
        }
        least = if own < least { own } else { least };
        if let Some(source) = sources.get(last) {
            outlet = outlet - source.heat / rate;
        }
    }
    if order.is_empty() { unknown } else { least }
}

/// A source whose loss grows in a straight line with its own temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GrowingSource {
    /// Loss at 25 °C.
    pub at_25: Power,
    /// Its growth for each kelvin, as a share of that loss.
    pub per_kelvin: f64,
    /// From the coolant to its limited place.
    pub path: ThermalResistance,
    /// What that place bears.
    pub limit: Temperature,
}

impl GrowingSource {
    fn loss(self, temperature: Temperature) -> Power {
        self.at_25 * (1.0 + self.per_kelvin * (temperature.in_celsius() - 25.0))
    }

    /// Temperature and loss with the coolant at `inlet` before it; the coolant's own warming by this source
    /// is part of the path.
    fn settled(
        self,
        inlet: Temperature,
        counted_from: Place,
        rate: ThermalCapacityRate,
    ) -> Option<(Temperature, Power)> {
        let behind = match counted_from {
            Place::Inlet => 0.0,
            Place::Mean => 0.5,
            Place::Outlet => 1.0,
        };
        let path = if behind == 0.0 { self.path } else { self.path + behind / rate };
        let gain = self.at_25.si() * self.per_kelvin * path.si();
        if gain >= 1.0 {
            return None;
        }
        let temperature = inlet + self.loss(inlet) * path / (1.0 - gain);
        Some((temperature, self.loss(temperature)))
    }
}

/// Smallest margin of growing sources in an order; not a number where one of them runs away.
pub fn least_margin_with_feedback(
    sources: &[GrowingSource],
    order: impl IntoIterator<Item = usize>,
    inlet: Temperature,
    counted_from: Place,
    rate: ThermalCapacityRate,
) -> TemperatureDifference {
    let unknown = TemperatureDifference::new(f64::NAN);
    let (mut coolant, mut least, mut first) = (inlet, unknown, true);
    for index in order {
        let Some(source) = sources.get(index) else { return unknown };
        let Some((temperature, loss)) = source.settled(coolant, counted_from, rate) else { return unknown };
        let margin = source.limit - temperature;
        if margin.si().is_nan() {
            return unknown;
        }
        if first || margin < least {
            (least, first) = (margin, false);
        }
        coolant = coolant + loss / rate;
    }
    least
}

/// Puts `order` (indices into `sources`) into a good order for losses that grow with temperature, and gives its
/// smallest margin.
///
/// `order by K with the loss at T_max, then pairs change places until none helps`. Valid: no proof; the best order in
/// 400 of 400 compared cases. Source: own comparison with all orders.
pub fn best_with_feedback(
    sources: &[GrowingSource],
    order: &mut [usize],
    inlet: Temperature,
    counted_from: Place,
    rate: ThermalCapacityRate,
) -> TemperatureDifference {
    let allowance = |index: usize| {
        sources.get(index).map_or(f64::NAN, |source| {
            let frozen =
                HeatSource { heat: source.loss(source.limit), path: source.path, limit: source.limit };
            frozen.allowable_outlet(counted_from, rate).in_celsius()
        })
    };
    order.sort_by(|&one, &other| allowance(one).total_cmp(&allowance(other)));
    let margin = |order: &[usize]| {
        least_margin_with_feedback(sources, order.iter().copied(), inlet, counted_from, rate)
    };
    let mut least = margin(order);
    // Each round that helps raises the margin; a bound keeps ties of rounding from going round in circles.
    for _ in 0..order.len() * order.len() {
        let mut helped = false;
        for one in 0..order.len() {
            for other in one + 1..order.len() {
                order.swap(one, other);
                let changed = margin(order);
                if changed > least {
                    (least, helped) = (changed, true);
                } else {
                    order.swap(one, other);
                }
            }
        }
        if !helped {
            break;
        }
    }
    least
}
