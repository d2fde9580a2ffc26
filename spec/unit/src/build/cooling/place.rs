//! An element of the coolant path: its plate, its pressure drop, and where its coolant has the temperature that resistances are
//! referred to.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::cooling::{
    CoolantElement, CoolantReference, PlateResistance, PressureDrop,
};
use loadworthy_source::NodeId;

use super::{Row, cools_nothing};
use crate::build::{Build, assumed, passage};
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Place, Plate};
use crate::table::Stated;

pub(super) fn place(
    build: &mut Build<'_>,
    row: &Row<'_>,
    name: &str,
    at: NodeId,
    element: Option<&CoolantElement>,
) -> Place {
    let part = build.tables.part(format!("cooling.{name}"), at, Some(row.part));
    let reference = referred_to(build, at, element);
    let said = format!("cooling.elements.{name}");
    let reference = build.tables.input(format!("{said}.referred_to"), Dimension::Ratio, reference);
    let of_place =
        |build: &mut Build<'_>, name, dimension| -> FigureId { build.tables.figure(part, name, dimension) };
    let named = (part, said.as_str());
    let plate = element.and_then(|element| element.resistance.as_ref());
    let plate = plate.map(|written| plate_of(build, named, at, written));
    let drops = element.and_then(|element| element.pressure_drop.as_ref());
    let drops = drops.map_or_else(Vec::new, |written| drops_of(build, &said, written));
    let drop = element.and_then(|element| element.pressure_drop.as_ref());
    let drop_at = build.stated(drop.and_then(|drop| drop.at.as_ref()), Some(at), |t| t.in_celsius());
    let drop_at = build.tables.input(format!("{said}.pressure_drop.at"), Dimension::Temperature, drop_at);
    let second_point = (drops.len() == 1).then(|| {
        let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
        build.tables.input(format!("second point of {said}.pressure_drop"), Dimension::VolumeFlow, absent)
    });
    let passage = passage::passage(build, named, at, element);
    let has_drop = !drops.is_empty() || passage.is_duct;
    Place {
        part,
        is_fixed: element.and_then(|element| element.fixed.as_ref()).is_some_and(|fixed| fixed.value),
        elevation: passage::elevation(build, &said, at, element),
        vented: passage::vented(build, &said, at, element),
        least_flow: passage::least_flow(build, named, element),
        wall: (!element.is_none_or(cools_nothing)).then(|| passage::wall(build, part)),
        passage,
        drop_at,
        second_point,
        reference,
        plate,
        flow: row.flow,
        capacity_rate: row.capacity_rate,
        pressure_drop: has_drop.then(|| of_place(build, "pressure_drop", Dimension::Pressure)),
        drops,
        coolant_in: of_place(build, "inlet", Dimension::Temperature),
        coolant_out: of_place(build, "outlet", Dimension::Temperature),
        heat: of_place(build, "heat", Dimension::Power),
        reference_temperature: of_place(build, "coolant", Dimension::Temperature),
        faces: Vec::new(),
        magnetics: Vec::new(),
        pads: Vec::new(),
        heats: Vec::new(),
        unknown_heat: None,
    }
}

/// Share of the way through the place at which the coolant that its resistances are referred to has its temperature.
fn referred_to(build: &Build<'_>, at: NodeId, element: Option<&CoolantElement>) -> Stated {
    match element.and_then(|element| element.referred_to.as_ref()) {
        Some(written) => {
            let value = match written.value {
                CoolantReference::Inlet => 0.0,
                CoolantReference::Mean => 0.5,
                CoolantReference::Outlet => 1.0,
            };
            Stated { value, origin: build.written(written.at) }
        }
        // A pipe has no resistance that could be referred to anything.
        None if element.is_none_or(cools_nothing) => {
            Stated { value: 1.0, origin: Origin::Absent { near: None } }
        }
        None => assumed(&defaults::REFERRED_TO, at),
    }
}

fn plate_of(
    build: &mut Build<'_>,
    (part, said): (PartId, &str),
    at: NodeId,
    written: &PlateResistance,
) -> Plate {
    let value = build.stated(Some(&written.value), Some(at), |r| r.si());
    let flow = build.stated(written.flow.as_ref(), Some(at), |flow| flow.si());
    let path = |key: &str| format!("{said}.resistance.{key}");
    Plate {
        resistance: build.tables.input(path("value"), Dimension::ThermalResistance, value),
        flow: build.tables.input(path("flow"), Dimension::VolumeFlow, flow),
        heat_capacity: written.heat_capacity.as_ref().map(|capacity| {
            let stated = build.stated(Some(capacity), Some(at), |capacity| capacity.si());
            build.tables.input(path("heat_capacity"), Dimension::HeatCapacity, stated)
        }),
        resistance_here: build.tables.figure(part, "plate_resistance", Dimension::ThermalResistance),
        temperature: build.tables.figure(part, "plate_temperature", Dimension::Temperature),
    }
}

/// The points of a curve of pressure over flow.
fn drops_of(build: &mut Build<'_>, said: &str, written: &PressureDrop) -> Vec<(InputId, InputId)> {
    let points = written.flow.iter().zip(written.pressure.iter());
    points
        .map(|(flow, pressure)| {
            let at = build.stated(Some(flow), None, |flow| flow.si());
            let drop = build.stated(Some(pressure), None, |pressure| pressure.si());
            (
                build.tables.input(format!("{said}.pressure_drop.flow"), Dimension::VolumeFlow, at),
                build.tables.input(format!("{said}.pressure_drop.pressure"), Dimension::Pressure, drop),
            )
        })
        .collect()
}
