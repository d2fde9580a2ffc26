//! Orders of heat sources against all orders there are.

use loadworthy_physics::coolant::Place;
use loadworthy_physics::path_order::{self, GrowingSource, HeatSource};
use loadworthy_physics::{Power, Temperature, ThermalCapacityRate, ThermalResistance};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

const INLET: Temperature = Temperature::celsius(60.0);
const PLACES: [Place; 3] = [Place::Inlet, Place::Mean, Place::Outlet];

/// All orders of so many sources.
fn all_orders(count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut orders = Vec::new();
    for order in all_orders(count - 1) {
        for place in 0..count {
            let mut longer = order.clone();
            longer.insert(place, count - 1);
            orders.push(longer);
        }
    }
    orders
}

/// Smallest margin of an order, source by source along the stream, each margin times its weight.
fn marched(sources: &[(f64, f64, f64, f64)], order: &[usize], behind: f64, rate: f64) -> f64 {
    let (mut coolant, mut least) = (INLET.in_celsius(), f64::INFINITY);
    for &index in order {
        let (heat, path, limit, weight) = sources[index];
        let at = coolant + behind * heat / rate;
        least = least.min(weight * (limit - at - path * heat));
        coolant += heat / rate;
    }
    least
}

fn sources() -> impl Strategy<Value = Vec<(f64, f64, f64, f64)>> {
    prop::collection::vec((20.0..2000.0f64, 0.01..0.2f64, 90.0..170.0f64, 0.3..3.0f64), 1..6)
}

fn built(sources: &[(f64, f64, f64, f64)]) -> Vec<HeatSource> {
    let build = |&(heat, path, limit, _): &(f64, f64, f64, f64)| HeatSource {
        heat: Power::new(heat),
        path: ThermalResistance::new(path),
        limit: Temperature::celsius(limit),
    };
    sources.iter().map(build).collect()
}

proptest! {
    #![proptest_config(repeatable(150))]

    #[test]
    fn rising_allowances_are_the_best_order(sources in sources(), rate in 60.0..400.0f64, at in 0..3_usize) {
        let (place, behind) = (PLACES[at], 0.5 * at as f64);
        let (typed, flow) = (built(&sources), ThermalCapacityRate::new(rate));
        let plain: Vec<_> = sources.iter().map(|&(heat, path, limit, _)| (heat, path, limit, 1.0)).collect();
        let mut order: Vec<usize> = (0..sources.len()).collect();
        path_order::sort_by_allowable_outlet(&typed, &mut order, place, flow);
        let margin = path_order::least_margin(&typed, order.iter().copied(), INLET, place, flow).si();
        prop_assert!((margin - marched(&plain, &order, behind, rate)).abs() < 1e-9);
        for other in all_orders(sources.len()) {
            prop_assert!(marched(&plain, &other, behind, rate) <= margin + 1e-9, "{other:?} is better");
        }
    }

    #[test]
    fn weighted_margins_have_no_better_order(sources in sources(), rate in 60.0..400.0f64, at in 0..3_usize) {
        let (place, behind) = (PLACES[at], 0.5 * at as f64);
        let weights: Vec<f64> = sources.iter().map(|source| source.3).collect();
        let mut order: Vec<usize> = (0..sources.len()).collect();
        let flow = ThermalCapacityRate::new(rate);
        let margin = path_order::best_weighted(&built(&sources), &weights, &mut order, INLET, place, flow).si();
        prop_assert!((margin - marched(&sources, &order, behind, rate)).abs() < 1e-9);
        for other in all_orders(sources.len()) {
            prop_assert!(marched(&sources, &other, behind, rate) <= margin + 1e-9, "{other:?} is better");
        }
    }

    #[test]
    fn growing_losses_have_hardly_a_better_order(
        sources in prop::collection::vec((20.0..1200.0f64, 0.0..6e-3f64, 0.02..0.08f64, 90.0..170.0f64), 1..6),
        rate in 100.0..400.0f64, at in 0..3_usize,
    ) {
        let (place, behind) = (PLACES[at], 0.5 * at as f64);
        let typed: Vec<GrowingSource> = sources
            .iter()
            .map(|&(loss, growth, path, limit)| GrowingSource {
                at_25: Power::new(loss),
                per_kelvin: growth,
                path: ThermalResistance::new(path),
                limit: Temperature::celsius(limit),
            })
            .collect();
        // Each source iterated with its own temperature, the coolant behind it with its loss.
        let marched = |order: &[usize]| {
            let (mut coolant, mut least) = (INLET.in_celsius(), f64::INFINITY);
            for &index in order {
                let (at_25, growth, path, limit) = sources[index];
                let (mut loss, mut junction) = (at_25, coolant);
                for _ in 0..300 {
                    junction = coolant + behind * loss / rate + path * loss;
                    loss = at_25 * (1.0 + growth * (junction - 25.0));
                }
                least = least.min(limit - junction);
                coolant += loss / rate;
            }
            least
        };
        let mut order: Vec<usize> = (0..sources.len()).collect();
        let flow = ThermalCapacityRate::new(rate);
        let margin = path_order::best_with_feedback(&typed, &mut order, INLET, place, flow).si();
        prop_assert!((margin - marched(&order)).abs() < 1e-6);
        for other in all_orders(sources.len()) {
            prop_assert!(marched(&other) <= margin + 1e-6, "{other:?} is better than {order:?}");
        }
    }
}

#[test]
fn no_source_has_no_margin() {
    let rate = ThermalCapacityRate::new(100.0);
    assert!(path_order::least_margin(&[], [], INLET, Place::Mean, rate).si().is_nan());
    assert!(path_order::least_margin(&[], [0], INLET, Place::Mean, rate).si().is_nan());
    assert!(path_order::best_weighted(&[], &[], &mut [], INLET, Place::Mean, rate).si().is_nan());
    assert!(path_order::best_with_feedback(&[], &mut [], INLET, Place::Mean, rate).si().is_nan());
}
