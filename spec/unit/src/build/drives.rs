//! Sources as they drive faults.

use std::sync::Arc;

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::sources::Source as WrittenSource;
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::feeding::Feed;
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::Drive;
use crate::table::Stated;

/// The source of a feed, as it drives a fault.
pub(crate) fn drive_of(build: &mut Build<'_>, feed: Feed) -> Drive {
    let bus = build.tables.part_of(build.plan.buses[feed.bus].part).path.clone();
    let drive = drive(build, feed.source, &bus, false);
    if feed.further.is_empty() {
        return Drive { is_beyond: feed.is_beyond, ..drive };
    }
    let line = drive.line.iter().copied().chain(feed.further).collect();
    Drive { line, is_beyond: feed.is_beyond, ..drive }
}

/// A source that drives a fault; the line of one whose own branch holds the fuse is counted there.
pub(crate) fn drive(build: &mut Build<'_>, source: usize, bus: &str, is_own: bool) -> Drive {
    let drive = match build.drives.get(&source) {
        Some(known) => known.clone(),
        None => {
            let drive = at_bus(build, source);
            build.drives.insert(source, drive.clone());
            drive
        }
    };
    let own_bus = build.plan.sources[source].bus;
    let is_there = own_bus.is_some_and(|own| build.tables.part_of(build.plan.buses[own].part).path == bus);
    if is_own {
        Drive { line: Arc::default(), ..drive }
    } else if is_there {
        drive
    } else {
        let name = &build.tables.part_of(drive.source).path;
        Drive { line: build.lines.between(name, bus).into(), ..drive }
    }
}

/// A source as it drives a fault at its own bus: the same inputs whichever fuse asks.
fn at_bus(build: &mut Build<'_>, source: usize) -> Drive {
    let part = build.plan.sources[source].part;
    let (name, at) = (build.tables.part_of(part).path.clone(), build.tables.part_of(part).at);
    let highest_resistance = build.plan.sources[source].resistance;
    let absent = |at: NodeId| Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
    let (lowest, highest, least_ohms, short) = match build.description.sources.entry(&name) {
        Some(WrittenSource::Battery(battery)) => {
            let span = battery.open_circuit.as_ref();
            let lowest = span.and_then(|span| span.lowest.as_ref());
            let highest = span.and_then(|span| span.highest.as_ref());
            let ohms = battery.internal_resistance.as_ref().and_then(|span| span.lowest.as_ref());
            let volts = |given: Option<&Given<loadworthy_physics::Voltage>>, build: &Build<'_>| {
                build.stated(given, Some(at), |volts| volts.si())
            };
            let ohms = build.stated(ohms, Some(at), |ohms| ohms.si());
            (volts(lowest, build), volts(highest, build), ohms, None)
        }
        Some(WrittenSource::FuelCell(cell)) => {
            let first = cell.polarisation.as_ref().and_then(|curve| curve.voltage.first());
            let volts = build.stated(first, Some(at), |volts| volts.si());
            (volts, volts, absent(at), Some(cell.short_circuit.clone()))
        }
        Some(WrittenSource::Generator(generator)) => {
            (absent(at), absent(at), absent(at), Some(generator.short_circuit.clone()))
        }
        None => (absent(at), absent(at), absent(at), None),
    };
    let said = format!("sources.{name}");
    let input = |build: &mut Build<'_>, key: &str, dimension, stated| {
        build.tables.input(format!("{said}.{key}"), dimension, stated)
    };
    let voltage = (
        input(build, "open_circuit.highest", Dimension::Voltage, highest),
        input(build, "open_circuit.lowest", Dimension::Voltage, lowest),
    );
    let least_ohms = input(build, "internal_resistance.lowest", Dimension::Resistance, least_ohms);
    let short_circuit = short.map(|span| {
        let highest = span.as_ref().and_then(|span| span.highest.as_ref());
        let lowest = span.as_ref().and_then(|span| span.lowest.as_ref());
        let highest = build.stated(highest, Some(at), |amps| amps.si());
        let lowest = build.stated(lowest, Some(at), |amps| amps.si());
        (
            input(build, "short_circuit.highest", Dimension::Current, highest),
            input(build, "short_circuit.lowest", Dimension::Current, lowest),
        )
    });
    let bus = build.plan.sources[source].bus.map(|bus| build.plan.buses[bus].part);
    let line = bus.map(|bus| build.lines.between(&name, &build.tables.part_of(bus).path));
    let line = line.unwrap_or_default().into();
    let resistance = (least_ohms, highest_resistance);
    let back = way_back(build, &name).into();
    Drive { source: part, place: source, voltage, resistance, short_circuit, line, back, is_beyond: false }
}

/// Resistances of the branch that leads back to a node from a negative rail or from metal; of several the one that has most.
pub(crate) fn way_back(build: &Build<'_>, node: &str) -> Vec<InputId> {
    let resistances = |name: &str| -> Vec<InputId> {
        let own = build.places.conductors_in(name).iter();
        own.map(|&one| build.plan.conductors[one].resistance).collect()
    };
    let total = |line: &Vec<InputId>| -> f64 {
        line.iter().map(|&ohms| build.tables.inputs()[ohms.index()].values[0].value).sum()
    };
    let all = build.drawn.leading_back(node).iter().map(|name| resistances(name));
    all.max_by(|one, other| total(one).total_cmp(&total(other))).unwrap_or_default()
}

/// Whether a source is a generator, which states no voltage of its own.
pub(crate) fn is_generator(build: &Build<'_>, drive: &Drive) -> bool {
    let name = &build.tables.part_of(drive.source).path;
    matches!(build.description.sources.entry(name), Some(WrittenSource::Generator(_)))
}
