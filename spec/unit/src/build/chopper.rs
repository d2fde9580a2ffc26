//! A half bridge with a choke between two buses.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::stages::Stage as Written;

use crate::build::stage::{Design, Place, diode_side, legs_of};
use crate::build::{Build, assumed, magnetic};
use crate::plan::{Chopper, ChopperFigures, ChopperInputs, ChopperKind, Role, Topology};
use crate::table::Stated;

/// Inputs and figures of a chopper, and its positions.
pub(crate) fn chopper(build: &mut Build<'_>, design: &Design<'_>) -> (Topology, Vec<Place>) {
    let (legs, inductor, kind) = match design.written {
        Written::Buck(buck) => (buck.legs.as_ref(), buck.inductor.as_ref(), ChopperKind::Buck),
        Written::Boost(boost) => (boost.legs.as_ref(), boost.inductor.as_ref(), ChopperKind::Boost),
        _ => (None, None, ChopperKind::Boost),
    };
    let (name, at) = (design.name, design.entry.key);
    let count = match legs {
        Some(legs) => Stated { value: f64::from(legs.value), origin: build.written(legs.at) },
        None => assumed(&defaults::LEGS, at),
    };
    let legs = build.tables.input(format!("stages.{name}.legs"), Dimension::Ratio, count);
    let choke = magnetic::choke(build, name, "inductor", inductor, at);
    let inputs = ChopperInputs { legs, inductance: choke.inductance, winding: choke.winding };
    let ripple_share = build.tables.figure_if_asked(design.part, "choke_ripple_share", Dimension::Ratio);
    let mut figure = |name, dimension| build.tables.figure(design.part, name, dimension);
    let figures = ChopperFigures {
        ripple_share,
        leg_current: figure("leg_current", Dimension::Current),
        drop: figure("leg_drop", Dimension::Voltage),
        duty: figure("low_side_duty", Dimension::Ratio),
        limited_duty: figure("duty", Dimension::Ratio),
        ripple: figure("choke_ripple_current", Dimension::Current),
        leg_rms: figure("choke_rms_current", Dimension::Current),
        leg_peak: figure("choke_peak_current", Dimension::Current),
        low_ripple: figure("low_bus_ripple_current", Dimension::Current),
        high_ripple: figure("high_bus_ripple_current", Dimension::Current),
    };
    let places = (0..legs_of(design.written))
        .flat_map(|leg| {
            [(Role::HighSide, 0), (Role::LowSide, 1)].map(|(role, seat)| Place {
                role,
                seat,
                leg,
                label: Some((leg + 1).to_string()),
            })
        })
        .collect();
    let topology = Topology::Chopper(Chopper { kind, diode_side: diode_side(design), inputs, figures });
    (topology, places)
}
