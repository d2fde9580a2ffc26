//! What passes conductors beside their direct current, which of them are judged by their temperature, and what that follows from.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given, Ratio};
use loadworthy_language::sections::capacitors::Capacitor;
use loadworthy_language::sections::conductors::{
    BarPosition, Conductor as Written, Layer, Pad as WrittenPad,
};
use loadworthy_physics::{HeatCapacity, Length, Temperature, ThermalResistance};
use loadworthy_source::{Located, NodeId};

use crate::build::bank::ripple_at;
use crate::build::{Build, assumed};
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{
    Body, ConductorHeat, ConductorHeatFigures, Crowds, Pad, RatedSection, Reached, RippleTerm, Section, Stage,
};
use crate::solver::Late;
use crate::table::Stated;
use crate::trace::Operand;

/// Gives every conductor the ripple that passes it, and one without a rated current what its temperature follows from. What
/// carries nothing in service is not heated.
pub(crate) fn join(build: &mut Build<'_>) {
    for k in 0..build.plan.conductors.len() {
        let conductor = &build.plan.conductors[k];
        let is_carrying = conductor.carries.is_some() || conductor.unknown.is_some();
        if let (true, Some(place)) = (is_carrying, pad_of(build, k))
            && let Some(path) = &mut build.plan.coolant
        {
            path.places[place].pads.push(k);
        }
        let conductor = &build.plan.conductors[k];
        if !is_carrying {
            continue;
        }
        let (part, carries) = (conductor.part, conductor.carries);
        let is_rated = conductor.rated.is_some();
        let ripples = carries.map_or_else(Vec::new, |carries| ripples(build, carries));
        // What stages chop out of their current is a bank's, which a bus lacks or which lies outside the concept.
        let of_source = build.plan.sources.iter().any(|source| Some(source.current) == carries);
        let chops = |ripple: &RippleTerm| build.plan.stages[ripple.stage].chops(ripple.port);
        let is_a_banks = of_source && ripples.iter().any(chops);
        let counts = ripples.first().filter(|_| !is_a_banks);
        let rms = counts.map(|_| build.tables.figure(part, "rms_current", Dimension::Current));
        build.plan.conductors[k].rms = rms;
        build.plan.conductors[k].ripples = ripples;
        let name = build.tables.part_of(part).path.clone();
        let Some(entry) = build.description.conductors.get(&name) else { continue };
        let Some(written) = entry.read() else { continue };
        let one = One { name: &name, at: entry.key, part };
        if is_rated {
            build.plan.conductors[k].rated_section = rated_section(build, &one, written);
        } else {
            build.plan.conductors[k].heat = heat(build, &one, written);
        }
        let conductor = &build.plan.conductors[k];
        if conductor.heat.is_some() || rms.is_some() {
            let loss = build.tables.figure(part, "heating_loss", Dimension::Power);
            build.plan.conductors[k].heating_loss = Some(loss);
        }
    }
}

/// The section of a conductor that is rated, as far as it is stated: another rating asks for another one.
fn rated_section(build: &mut Build<'_>, one: &One<'_>, written: &Written) -> Option<RatedSection> {
    let copper = copper(build);
    let is_bar = |sides: &[Option<Given<Length>>; 2]| sides.iter().all(Option::is_some);
    let (is_cable, size, crowds, section) = match written {
        Written::Cable(cable) => {
            let stated = build.stated(Some(cable.section.as_ref()?), None, |area| area.si());
            let section = one.input(build, "section", Dimension::Area, stated);
            let length = cable.length.as_ref().map(|length| one.length(build, "length", Some(length)));
            let follows = length.map(|length| Section::Cable { section, length, copper });
            (true, section, Crowds::Round { section }, follows)
        }
        _ => {
            let (sides, length, ways) = match written {
                Written::Busbar(bar) => ([bar.width, bar.thickness], bar.length, 1.0),
                Written::LaminatedBusbar(bar) => ([bar.width, bar.thickness], bar.length, 2.0),
                _ => return None,
            };
            if !is_bar(&sides) {
                return None;
            }
            let [width, thickness] = sides;
            let width = one.length(build, "width", width.as_ref());
            let thickness = one.length(build, "thickness", thickness.as_ref());
            let length = length.as_ref().map(|length| one.length(build, "length", Some(length)));
            let follows = |length| Section::Rectangle { width, thickness, length, copper, ways };
            let is_pair = matches!(written, Written::LaminatedBusbar(_));
            let crowds = if is_pair { Crowds::Pair { thickness } } else { Crowds::Bar { width, thickness } };
            (false, width, crowds, length.map(follows))
        }
    };
    let follows = section.filter(|_| written.resistance().is_none());
    let air = build.description.surroundings.read().and_then(|air| air.inside_air.as_ref());
    Some(RatedSection { is_cable, size, crowds: air.map(|_| crowds), follows })
}

/// Temperature in °C that a resistance is taken at which follows from a section.
fn copper(build: &Build<'_>) -> f64 {
    let air = build.description.surroundings.read().and_then(|air| air.inside_air.as_ref());
    air.map_or(defaults::COPPER_TEMPERATURE.value, |air| air.in_celsius())
}

/// The place of the coolant path that the pad of a conductor leads to: its loss goes there.
fn pad_of(build: &Build<'_>, k: usize) -> Option<usize> {
    let name = &build.tables.part_of(build.plan.conductors[k].part).path;
    let pad = build.description.conductors.entry(name)?.pad()?;
    build.places.coolant.get(&pad.on.as_ref()?.value).copied()
}

/// How warm a conductor gets of the current that it is rated for, where it states its highest temperature beside that.
pub(crate) fn reached(build: &mut Build<'_>, k: usize) -> Option<Reached> {
    let conductor = &build.plan.conductors[k];
    let (rated, at, part) = (conductor.rated?, conductor.rated_at?, conductor.part);
    conductor.carries?;
    let name = build.tables.part_of(part).path.clone();
    let hottest = build.description.conductors.entry(&name)?.hottest()?;
    let stated = build.stated(Some(hottest), None, |celsius| celsius.in_celsius());
    let input = build.tables.input(format!("conductors.{name}.hottest"), Dimension::Temperature, stated);
    let hottest = build.tables.read_by(Late::Fuses, input);
    let temperature = build.tables.figure_if_asked(part, "rated_temperature", Dimension::Temperature);
    Some(Reached { hottest, rated, at, temperature })
}

/// A conductor while it is looked at.
struct One<'a> {
    name: &'a str,
    at: NodeId,
    part: PartId,
}

impl One<'_> {
    fn input(&self, build: &mut Build<'_>, key: &str, dimension: Dimension, stated: Stated) -> InputId {
        build.tables.input(format!("conductors.{}.{key}", self.name), dimension, stated)
    }

    /// An input that nothing but the temperature of the conductor asks for.
    fn own(&self, build: &mut Build<'_>, key: &str, dimension: Dimension, stated: Stated) -> InputId {
        let input = self.input(build, key, dimension, stated);
        build.tables.read_by(Late::Conductors, input)
    }

    fn length(&self, build: &mut Build<'_>, key: &str, given: Option<&Given<Length>>) -> InputId {
        let stated = build.stated(given, Some(self.at), |length| length.si());
        self.input(build, key, Dimension::Length, stated)
    }

    fn hottest(&self, build: &mut Build<'_>, given: Option<&Given<Temperature>>, is_usual: bool) -> InputId {
        let celsius = |t: &Temperature| t.in_celsius();
        let stated = if is_usual {
            build.stated_or(given, self.at, &defaults::CONDUCTOR_HOTTEST, celsius)
        } else {
            build.stated(given, Some(self.at), celsius)
        };
        // What it carries up to there is held against its fuse.
        let input = self.input(build, "hottest", Dimension::Temperature, stated);
        build.tables.read_by(Late::Fuses, input)
    }
}

fn heat(build: &mut Build<'_>, one: &One<'_>, written: &Written) -> Option<ConductorHeat> {
    let copper = copper(build);
    let is_stated = written.resistance().is_some();
    let (body, section, is_usual) = match written {
        Written::Busbar(bar) => {
            let faces = (bar.position, bar.emissivity.as_ref(), bar.pad.as_ref());
            let sides = [bar.width.as_ref(), bar.thickness.as_ref(), bar.length.as_ref(), None];
            let (body, section) = self::bar(build, one, sides, faces, copper, false);
            (body, section, true)
        }
        Written::LaminatedBusbar(bar) => {
            let faces = (bar.position, bar.emissivity.as_ref(), bar.pad.as_ref());
            let sides = [bar.width.as_ref(), bar.thickness.as_ref(), bar.length.as_ref(), bar.gap.as_ref()];
            let (body, section) = self::bar(build, one, sides, faces, copper, true);
            (body, section, true)
        }
        Written::Cable(cable) => {
            let section = build.stated(cable.section.as_ref(), Some(one.at), |area| area.si());
            let section = one.input(build, "section", Dimension::Area, section);
            let length = one.length(build, "length", cable.length.as_ref());
            let outer_diameter = one.length(build, "outer_diameter", cable.outer_diameter.as_ref());
            let follows = Section::Cable { section, length, copper };
            (Body::Cable { section, length, outer_diameter }, Some(follows), false)
        }
        Written::Foil(foil) => {
            let width = one.length(build, "width", foil.width.as_ref());
            let thickness = one.length(build, "thickness", foil.thickness.as_ref());
            let length = one.length(build, "length", foil.length.as_ref());
            let layer = word(build, one, foil.layer, &defaults::FOIL_LAYER, |&layer| layer == Layer::Outer);
            let layer = one.own(build, "layer", Dimension::Ratio, layer);
            let follows = Section::Rectangle { width, thickness, length, copper, ways: 1.0 };
            (Body::Foil { width, thickness, layer }, Some(follows), true)
        }
        Written::Connector(connector) => {
            let path = connector.thermal_resistance.as_ref();
            (contact(build, one, path, connector.heat_capacity.as_ref()), None, false)
        }
        Written::Contactor(contactor) => {
            let path = contactor.thermal_resistance.as_ref();
            (contact(build, one, path, contactor.heat_capacity.as_ref()), None, false)
        }
        Written::Fuse(_) | Written::Sensor(_) | Written::Resistor(_) | Written::LineChoke(_) => return None,
    };
    let hottest = one.hottest(build, written.hottest(), is_usual);
    let altitude =
        build.surrounding_or(|air| air.altitude.as_ref(), one.at, &defaults::ALTITUDE, |height| height.si());
    let altitude = build.tables.input("surroundings.altitude".to_owned(), Dimension::Length, altitude);
    build.tables.read_by(Late::Conductors, altitude);
    let is_followed = build.plan.duration.is_some();
    let mut figure = |name, dimension| build.tables.figure(one.part, name, dimension);
    let figures = ConductorHeatFigures {
        ripple: figure("ripple_current", Dimension::Current),
        heating_current: figure("heating_current", Dimension::Current),
        temperature: figure("temperature", Dimension::Temperature),
        hottest: is_followed.then(|| figure("hottest_temperature", Dimension::Temperature)),
    };
    let section = section.filter(|_| !is_stated);
    Some(ConductorHeat { body, section, hottest, altitude, figures })
}

fn bar(
    build: &mut Build<'_>,
    one: &One<'_>,
    [width, thickness, length, gap]: [Option<&Given<Length>>; 4],
    (position, emissivity, pad): (Option<Located<BarPosition>>, Option<&Given<Ratio>>, Option<&WrittenPad>),
    copper: f64,
    is_pair: bool,
) -> (Body, Option<Section>) {
    let width = one.length(build, "width", width);
    let thickness = one.length(build, "thickness", thickness);
    let length = one.length(build, "length", length);
    let gap = is_pair.then(|| one.length(build, "gap", gap));
    let position = word(build, one, position, &defaults::BAR_POSITION, |&way| way == BarPosition::OnEdge);
    let position = one.own(build, "position", Dimension::Ratio, position);
    let usual = if is_pair { &defaults::FILM_EMISSIVITY } else { &defaults::BAR_EMISSIVITY };
    let emissivity = build.stated_or(emissivity, one.at, usual, |share| share.value());
    let emissivity = one.own(build, "emissivity", Dimension::Ratio, emissivity);
    let pad = pad.map(|pad| self::pad(build, one, pad));
    let ways = if is_pair { 2.0 } else { 1.0 };
    let section = Section::Rectangle { width, thickness, length, copper, ways };
    (Body::Bar { width, thickness, length, gap, position, emissivity, pad }, Some(section))
}

fn pad(build: &mut Build<'_>, one: &One<'_>, pad: &WrittenPad) -> Pad {
    let resistance = build.stated(pad.resistance.as_ref(), Some(one.at), |path| path.si());
    let resistance = one.input(build, "pad.resistance", Dimension::ThermalResistance, resistance);
    let place = pad.on.as_ref().and_then(|on| build.places.coolant.get(&on.value)).copied();
    let here = place.and_then(|place| build.plan.coolant.as_ref()?.places.get(place));
    let reference = match here {
        Some(place) => {
            let plate = place.plate.as_ref().map(|plate| plate.temperature);
            Operand::Figure(plate.unwrap_or(place.reference_temperature))
        }
        None => {
            let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(one.at) } };
            Operand::Input(one.input(build, "pad.on", Dimension::Temperature, absent))
        }
    };
    Pad { resistance, reference, place }
}

fn contact(
    build: &mut Build<'_>,
    one: &One<'_>,
    path: Option<&Given<ThermalResistance>>,
    capacity: Option<&Given<HeatCapacity>>,
) -> Body {
    let stated = build.stated(path, Some(one.at), |path| path.si());
    let thermal_resistance = one.input(build, "thermal_resistance", Dimension::ThermalResistance, stated);
    let is_followed = build.plan.duration.is_some();
    let heat_capacity = capacity.filter(|_| is_followed).map(|given| {
        let stated = build.stated(Some(given), Some(one.at), |capacity| capacity.si());
        one.own(build, "heat_capacity", Dimension::HeatCapacity, stated)
    });
    Body::Contact { thermal_resistance, heat_capacity }
}

/// A word as 1 where it is the one that is asked for, 0 where it is not.
fn word<T>(
    build: &Build<'_>,
    one: &One<'_>,
    word: Option<Located<T>>,
    usual: &'static defaults::Default,
    is_it: impl Fn(&T) -> bool,
) -> Stated {
    match word {
        Some(word) => {
            Stated { value: f64::from(u8::from(is_it(&word.value))), origin: build.written(word.at) }
        }
        None => assumed(usual, one.at),
    }
}

/// Alternating currents that pass with a direct one: those of the stage at a port; towards a source those of all stages
/// at a bus that has no bank.
fn ripples(build: &Build<'_>, carries: FigureId) -> Vec<RippleTerm> {
    let plan = &build.plan;
    let term = |stage: usize, port| RippleTerm { stage, port, current: ripple_at(&plan.stages[stage], port) };
    for (stage, of) in plan.stages.iter().enumerate() {
        if let Some(port) = of.ports.iter().position(|port| port.current == carries) {
            return vec![term(stage, port)];
        }
    }
    let Some(source) = plan.sources.iter().find(|source| source.current == carries) else {
        return Vec::new();
    };
    let Some(bus) = source.bus else { return Vec::new() };
    let name = &build.tables.part_of(plan.buses[bus].part).path;
    let capacitors = &build.description.capacitors;
    let is_bank = |capacitor: &Capacitor| match capacitor {
        Capacitor::Bank(bank) => bank.bus.as_ref().is_none_or(|bus| bus.value == *name),
        Capacitor::Suppression(_) => false,
    };
    if capacitors.void || capacitors.values().any(|entry| entry.read().is_none_or(is_bank)) {
        return Vec::new();
    }
    let at_bus = |stage: &'_ Stage| stage.ports.iter().position(|port| port.bus == Some(bus));
    plan.stages.iter().enumerate().filter_map(|(stage, of)| Some(term(stage, at_bus(of)?))).collect()
}
