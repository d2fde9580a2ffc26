//! How each place along the coolant drops pressure, with coolant of some temperature in it.

use loadworthy_physics::coolant::Coolant;
use loadworthy_physics::duct::Duct;
use loadworthy_physics::hydraulics::{Drop, Node};
use loadworthy_physics::{Density, Length, Pressure, Temperature, Viscosity, VolumeFlow};

use crate::plan::{CoolantPath, Place};
use crate::solver::pass::Pass;
use crate::trace::Trace;

/// What is taken of a drop that does not say at which temperature it was measured.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Known {
    /// It holds as it is stated.
    AsStated,
    /// Nothing is known of it.
    WhenCold,
}

/// What flows through a path in one lane. Its places share one temperature, and drops are mostly measured at one.
pub(super) struct Fluid {
    kind: Option<Coolant>,
    here: Properties,
    /// Where the drop that was asked for last was measured.
    measured: Properties,
}

impl Fluid {
    pub(super) fn of<const L: usize, T: Trace>(
        path: &CoolantPath,
        l: usize,
        celsius: f64,
        pass: &Pass<'_, L, T>,
    ) -> Self {
        let kind = path.fluid(path.glycol.map_or(f64::NAN, |glycol| pass.input(glycol)[l]));
        Self { kind, here: Properties::of(kind, celsius), measured: Properties::UNKNOWN }
    }
}

/// Properties of a coolant at a temperature; not numbers where they are not known.
#[derive(Clone, Copy)]
struct Properties {
    celsius: f64,
    density: Density,
    viscosity: Viscosity,
}

impl Properties {
    const UNKNOWN: Self =
        Self { celsius: f64::NAN, density: Density::new(f64::NAN), viscosity: Viscosity::new(f64::NAN) };

    fn of(kind: Option<Coolant>, celsius: f64) -> Self {
        let at = Temperature::celsius(celsius);
        kind.filter(|kind| kind.check(at).is_ok()).map_or(Self { celsius, ..Self::UNKNOWN }, |kind| Self {
            celsius,
            density: kind.density(at),
            viscosity: kind.viscosity(at),
        })
    }
}

/// How a place drops pressure with coolant of some temperature in it; not a number where that is not known.
pub(super) fn node_of<const L: usize, T: Trace>(
    path: &CoolantPath,
    place: &Place,
    l: usize,
    (fluid, known): (&mut Fluid, Known),
    pass: &Pass<'_, L, T>,
) -> Node {
    let unknown = f64::NAN;
    if place.passage.is_duct {
        let passage = &place.passage;
        let of = |input| pass.input(input)[l];
        return Node::Duct(Duct {
            bore: Length::new(of(passage.bore)),
            length: Length::new(of(passage.length)),
            passages: of(passage.count),
            losses: of(passage.losses),
            density: fluid.here.density,
            viscosity: fluid.here.viscosity,
        });
    }
    let drop = drop_of(place, l, pass);
    if place.drops.is_empty() {
        return Node::Element(drop);
    }
    // Where the pump holds the flow, what drops before and behind every split changes nothing.
    let decides = pass.input(path.flow)[l].is_nan() || place.flow != path.total_flow;
    let known = if decides { known } else { Known::AsStated };
    let measured = pass.input(place.drop_at)[l];
    let one_point = place.second_point.is_some_and(|point| pass.input(point)[l].is_nan());
    let (viscosity, density) = match (measured.is_nan(), known) {
        (true, Known::AsStated) => (1.0, 1.0),
        (true, Known::WhenCold) => (unknown, unknown),
        (false, Known::WhenCold) if one_point => (unknown, unknown),
        (false, _) => {
            if fluid.measured.celsius.to_bits() != measured.to_bits() {
                fluid.measured = Properties::of(fluid.kind, measured);
            }
            let (now, then) = (&fluid.here, &fluid.measured);
            (now.viscosity / then.viscosity, now.density / then.density)
        }
    };
    Node::Element(drop.scaled(viscosity, density))
}

/// The drop of a place; one that states none drops nothing.
fn drop_of<const L: usize, T: Trace>(place: &Place, l: usize, pass: &Pass<'_, L, T>) -> Drop {
    let point = |k: usize| {
        let (flow, pressure) = place.drops[k];
        (VolumeFlow::new(pass.input(flow)[l]), Pressure::new(pass.input(pressure)[l]))
    };
    match place.drops.len() {
        0 => Drop::NONE,
        1 => Drop::from_point(point(0).0, point(0).1),
        _ => Drop::from_two_points(point(0), point(1)),
    }
}
