//! Cores that are asked beyond what is known of their material.

use loadworthy_language::quantity::Dimension;
use loadworthy_physics::core_flux::{self, HOTTER};
use loadworthy_physics::{Current, FluxLinkage};

use crate::ids::{FigureId, InputId};
use crate::plan::{CurrentTrip, Magnetic, MagneticRole, Plan, Stage, Topology};
use crate::trace::Operand;

use super::Reach;

/// The number that leaves the range of a core's material, behind a figure of the core.
pub(super) fn reach(
    (stage, magnetic): (&Stage, &Magnetic),
    figure: FigureId,
    input: &dyn Fn(InputId) -> f64,
    solved: &dyn Fn(FigureId) -> f64,
) -> Option<Reach> {
    let core = &magnetic.core;
    let figures = &core.figures;
    if figure == figures.loss {
        let (material, swing) = (core.material.as_ref()?, figures.swing?);
        let factor = input(material.reach);
        let (at, crest) = (input(material.frequency), input(material.flux_density));
        let frequency = input(stage.carrier) * crate::solver::times(stage, magnetic);
        let (low, high) = (at / factor, at * factor);
        if frequency < low || high < frequency {
            let (of, dimension) = (Operand::Input(material.frequency), Dimension::Frequency);
            return Some(Reach { what: "frequency", of, value: frequency, low, high, dimension });
        }
        let dimension = Dimension::FluxDensity;
        let (value, high) = (0.5 * solved(swing), crest * factor);
        if high < value {
            let of = Operand::Input(material.flux_density);
            return Some(Reach { what: "flux density", of, value, low: 0.0, high, dimension });
        }
        let ((curve, points), direct) = (core.bias.as_ref()?, figures.direct_flux?);
        let (value, high) = (solved(direct).abs(), points.last()?.0);
        let of = Operand::Curve(*curve);
        let reach = Reach { what: "direct flux density", of, value, low: 0.0, high, dimension };
        return (high < value).then_some(reach);
    }
    if figure == figures.saturation {
        let high = core.saturation.1.last()?.0.in_celsius() + HOTTER;
        let value = solved(figures.temperature);
        let (of, dimension) = (Operand::Curve(core.saturation.0), Dimension::Temperature);
        let reach = Reach { what: "core temperature", of, value, low: f64::NEG_INFINITY, high, dimension };
        return (high < value).then_some(reach);
    }
    let (curve, points) = core.softening.as_ref()?;
    let high = points.last()?.0.si();
    let value = match (core.trip, &stage.topology, magnetic.role) {
        (Some(trip), ..) if figures.trip_flux_density == Some(figure) => match core.late_trip {
            None => input(trip),
            Some((latest, turned_off)) => solved(turned_off.unwrap_or(latest)),
        },
        (_, Topology::Chopper(chopper), _) => solved(chopper.figures.leg_peak),
        (_, Topology::Isolated(isolated), MagneticRole::OutputChoke) => solved(isolated.figures.choke_peak),
        _ => return None,
    };
    let (of, dimension) = (Operand::Curve(*curve), Dimension::Current);
    (high < value).then_some(Reach { what: "current", of, value, low: 0.0, high, dimension })
}

/// The current after a trip where it leaves the curve of a softening choke: the least that it can be.
pub(super) fn after_trip(
    plan: &Plan,
    trip: &CurrentTrip,
    input: &dyn Fn(InputId) -> f64,
    solved: &dyn Fn(FigureId) -> f64,
) -> Option<Reach> {
    let (curve, points) = trip.softening(plan)?;
    let bus = plan.buses.get(plan.stages[trip.stage].ports.last()?.bus?)?;
    let needed = trip.acting.map_or(0.0, |acting| solved(plan.acting[acting].needed));
    let delay = input(trip.delay).max(needed);
    let volt_seconds = FluxLinkage::new(solved(bus.highest_voltage) * delay);
    let value = core_flux::least_rise(points, Current::new(solved(trip.highest)), volt_seconds).si();
    let (of, high) = (Operand::Curve(*curve), points.last()?.0.si());
    let reach = Reach { what: "current", of, value, low: 0.0, high, dimension: Dimension::Current };
    (high < value).then_some(reach)
}
