//! Passages, heights and vents of the places on the coolant path, and what the coolant stands in.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::cooling::{CoolantElement, Passage as Said};
use loadworthy_source::{Located, NodeId};

use crate::build::{Build, assumed};
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{LeastFlow, Passage, RowFigures, Wall};
use crate::solver::Late;
use crate::table::Stated;

/// A number that may be left out.
fn number(
    build: &Build<'_>,
    given: Option<(f64, NodeId)>,
    at: NodeId,
    default: &'static defaults::Default,
) -> Stated {
    match given {
        Some((value, at)) => Stated { value, origin: build.written(at) },
        None => assumed(default, at),
    }
}

/// The passage of a place.
pub(crate) fn passage(
    build: &mut Build<'_>,
    (part, said_at): (PartId, &str),
    at: NodeId,
    element: Option<&CoolantElement>,
) -> Passage {
    let said: Option<&Said> = element.and_then(|element| element.passage.as_ref());
    let of = |located: Option<&Located<f64>>| located.map(|number| (number.value, number.at));
    let bore = build.stated(said.and_then(|said| said.bore.as_ref()), Some(at), |bore| bore.si());
    let length = build.stated(said.and_then(|said| said.length.as_ref()), Some(at), |length| length.si());
    let area = build.stated(said.and_then(|said| said.wetted_area.as_ref()), Some(at), |area| area.si());
    let count = said.and_then(|said| said.count.as_ref()).map(|count| (f64::from(count.value), count.at));
    let has = |stated: &Stated| stated.value.is_finite();
    let states_drop = element.is_some_and(|element| element.pressure_drop.is_some());
    let is_bored = has(&bore);
    let is_duct = is_bored && has(&length) && !states_drop;
    let has_film = is_bored && (has(&length) || has(&area));
    let cools = element.and_then(|element| element.cools.as_ref()).is_some_and(|cools| !cools.is_empty());
    // What decides nothing is not assumed.
    let assumed = |given: Option<(f64, NodeId)>, is_used: bool, default: &'static defaults::Default| {
        if given.is_some() || is_used {
            number(build, given, at, default)
        } else {
            Stated { value: default.value, origin: Origin::Absent { near: Some(at) } }
        }
    };
    let count = assumed(count, is_bored, &defaults::PASSAGES);
    let losses = of(said.and_then(|said| said.losses.as_ref()));
    let losses = assumed(losses, is_duct, &defaults::PASSAGE_LOSSES);
    let concentration = of(said.and_then(|said| said.heat_concentration.as_ref()));
    // It tells how much hotter than its mean a wetted wall may be, whether its film is known or only the plate above it.
    let concentration = assumed(concentration, cools, &defaults::HEAT_CONCENTRATION);
    let mut input = |key: &str, dimension, stated| {
        build.tables.input(format!("{said_at}.passage.{key}"), dimension, stated)
    };
    let passage = Passage {
        bore: input("bore", Dimension::Length, bore),
        length: input("length", Dimension::Length, length),
        count: input("count", Dimension::Ratio, count),
        losses: input("losses", Dimension::Ratio, losses),
        wetted_area: input("wetted_area", Dimension::Area, area),
        heat_concentration: input("heat_concentration", Dimension::Ratio, concentration),
        is_duct,
        has_film,
        velocity: is_bored.then(|| build.tables.figure(part, "velocity", Dimension::Velocity)),
        clearing_velocity: is_bored
            .then(|| build.tables.figure(part, "clearing_velocity", Dimension::Velocity)),
    };
    build.tables.read_by(Late::Walls, passage.heat_concentration);
    passage
}

/// Heights where the coolant enters a place and where it leaves.
pub(crate) fn elevation(
    build: &mut Build<'_>,
    said_at: &str,
    at: NodeId,
    element: Option<&CoolantElement>,
) -> [InputId; 2] {
    let heights = element.and_then(|element| element.elevation.as_ref());
    let [inlet, outlet] = [heights.and_then(|h| h.inlet.as_ref()), heights.and_then(|h| h.outlet.as_ref())]
        .map(|height| build.stated(height, Some(at), |height| height.si()));
    [("in", inlet), ("out", outlet)].map(|(end, stated)| {
        build.tables.input(format!("{said_at}.elevation.{end}"), Dimension::Length, stated)
    })
}

/// Whether air can leave at a place, as 1 or 0; nobody speaks of vents that are not there.
pub(crate) fn vented(
    build: &mut Build<'_>,
    said_at: &str,
    at: NodeId,
    element: Option<&CoolantElement>,
) -> InputId {
    let stated = match element.and_then(|element| element.vented.as_ref()) {
        Some(vented) => Stated { value: f64::from(u8::from(vented.value)), origin: build.written(vented.at) },
        None => Stated { value: 0.0, origin: Origin::Absent { near: Some(at) } },
    };
    build.tables.input(format!("{said_at}.vented"), Dimension::Ratio, stated)
}

/// What the coolant must not do at a place that takes up heat.
pub(crate) fn wall(build: &mut Build<'_>, part: PartId) -> Wall {
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    Wall {
        pressure: figure("absolute_pressure", Dimension::Pressure),
        boiling_point: figure("boiling_point", Dimension::Temperature),
        temperature: figure("wall_temperature", Dimension::Temperature),
    }
}

/// The least flow that a place needs, where it states one.
pub(crate) fn least_flow(
    build: &mut Build<'_>,
    (part, said_at): (PartId, &str),
    element: Option<&CoolantElement>,
) -> Option<LeastFlow> {
    let given = element?.least_flow.as_ref()?;
    let stated = build.stated(Some(given), None, |flow| flow.si());
    Some(LeastFlow {
        stated: build.tables.input(format!("{said_at}.least_flow"), Dimension::VolumeFlow, stated),
        needed: build.tables.figure(part, "least_flow", Dimension::VolumeFlow),
    })
}

/// What is known of a row as a whole.
pub(crate) fn row(build: &mut Build<'_>, part: PartId, heat: Option<crate::ids::FigureId>) -> RowFigures {
    let mut figure = |name, dimension| build.tables.figure(part, name, dimension);
    RowFigures {
        heat: heat.unwrap_or_else(|| figure("heat", Dimension::Power)),
        warming: figure("warming", Dimension::TemperatureDifference),
        cold_flow: figure("cold_flow", Dimension::VolumeFlow),
        cold_outlet: figure("cold_outlet", Dimension::Temperature),
    }
}

/// What the whole loop stands in: its share of glycol, pressure, altitude, coldest surroundings, and how much it may warm.
pub(crate) struct Around {
    pub(crate) glycol: Option<InputId>,
    pub(crate) pressure: InputId,
    pub(crate) altitude: InputId,
    pub(crate) coldest: InputId,
    pub(crate) warming: InputId,
}

/// Reads it.
pub(crate) fn around(build: &mut Build<'_>, at: NodeId) -> Around {
    use loadworthy_language::sections::cooling::CoolantKind;
    let description = build.description;
    let cooling = description.cooling.read();
    let glycol = cooling.and_then(|cooling| cooling.coolant.as_ref()).and_then(|kind| match kind {
        CoolantKind::WaterGlycol(mixture) => {
            Some(build.stated_or(mixture.glycol.as_ref(), at, &defaults::GLYCOL, |share| share.value()))
        }
        CoolantKind::Water(_) => None,
    });
    let pressure = cooling.and_then(|cooling| cooling.absolute_pressure.as_ref());
    let pressure = build.stated(pressure, Some(at), |pressure| pressure.si());
    let warming = cooling.and_then(|cooling| cooling.warming.as_ref());
    let warming = build.stated_or(warming, at, &defaults::WARMING, |kelvins| kelvins.si());
    let altitude =
        build.surrounding_or(|air| air.altitude.as_ref(), at, &defaults::ALTITUDE, |height| height.si());
    let coldest = build.surrounding(|air| air.coldest.as_ref(), Some(at), |coldest| coldest.in_celsius());
    let mut input = |path: &str, dimension, stated| build.tables.input(path.to_owned(), dimension, stated);
    Around {
        glycol: glycol.map(|share| input("cooling.coolant.glycol", Dimension::Ratio, share)),
        pressure: input("cooling.absolute_pressure", Dimension::Pressure, pressure),
        altitude: input("surroundings.altitude", Dimension::Length, altitude),
        coldest: input("surroundings.coldest", Dimension::Temperature, coldest),
        warming: build.tables.limit("cooling.warming".to_owned(), Dimension::TemperatureDifference, warming),
    }
}
