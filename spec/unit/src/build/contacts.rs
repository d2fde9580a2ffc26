//! What contactors break in normal service, and how much the sensors of branches measure.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::conductors::{Conductor as Written, Contactor};
use loadworthy_physics::Length;
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::power::place_of;
use crate::graph::PowerGraph;
use crate::plan::{Breaks, Opens};
use crate::solver::Late;

/// Gives every contactor and every sensor of a branch what it states of that.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    for k in 0..build.plan.conductors.len() {
        let conductor = &build.plan.conductors[k];
        let name = build.tables.part_of(conductor.part).path.clone();
        let branch = build.tables.part_of(conductor.branch).path.clone();
        let Some(entry) = build.description.conductors.get(&name) else { continue };
        match entry.read() {
            Some(Written::Fuse(fuse)) => altitude(build, k, &name, fuse.altitude.as_ref()),
            Some(Written::Contactor(contactor)) => {
                altitude(build, k, &name, contactor.altitude.as_ref());
                opens(build, k, (&name, entry.key), contactor);
                let Some(written) = &contactor.breaks else { continue };
                let voltage = build.stated(written.voltage.as_ref(), Some(entry.key), |volts| volts.si());
                let current = build.stated(written.current.as_ref(), Some(entry.key), |amps| amps.si());
                // One around another opens the same circuit.
                let circuit = build.drawn.circuit_of(&branch);
                let bus = graph.ends_of(circuit).and_then(|(_, bus)| place_of(build, Some(bus)));
                // On the way back to a source it opens against the bus that the source feeds.
                let source =
                    build.drawn.source_of(circuit).and_then(|source| build.places.sources.get(source));
                let of_source = source.and_then(|&source| build.plan.sources[source].bus);
                let bus = bus.or(of_source);
                let said = format!("conductors.{name}.breaks");
                let tables = &mut build.tables;
                build.plan.conductors[k].breaks = Some(Breaks {
                    voltage: tables.limit(format!("{said}.voltage"), Dimension::Voltage, voltage),
                    current: tables.limit(format!("{said}.current"), Dimension::Current, current),
                    bus,
                });
            }
            Some(Written::Sensor(sensor)) => {
                let range = build.stated(sensor.range.as_ref(), Some(entry.key), |amps| amps.si());
                let path = format!("conductors.{name}.range");
                build.plan.conductors[k].range = Some(build.tables.limit(path, Dimension::Current, range));
                if let Some(power) = &sensor.power {
                    let power = build.stated(Some(power), None, |watts| watts.si());
                    let path = format!("conductors.{name}.power");
                    let limit = build.tables.limit(path, Dimension::Power, power);
                    build.plan.conductors[k].stands = Some(limit);
                }
            }
            _ => {}
        }
    }
}

/// Up to where its ratings hold, and where the unit stands, if that is stated.
fn altitude(build: &mut Build<'_>, k: usize, name: &str, stated: Option<&Given<Length>>) {
    let surroundings = build.description.surroundings.read();
    if surroundings.is_none_or(|air| air.altitude.is_none()) {
        return;
    }
    let here = build.surrounding(|air| air.altitude.as_ref(), None, |height| height.si());
    let here = build.tables.input("surroundings.altitude".to_owned(), Dimension::Length, here);
    let up_to = stated.map(|given| {
        let stated = build.stated(Some(given), None, |height| height.si());
        build.tables.limit(format!("conductors.{name}.altitude"), Dimension::Length, stated)
    });
    build.plan.conductors[k].altitude = Some((here, up_to));
}

/// When its control opens a contactor in an overload.
fn opens(build: &mut Build<'_>, k: usize, (name, at): (&str, NodeId), contactor: &Contactor) {
    let Some(written) = &contactor.opens else { return };
    let above = build.stated(written.above.as_ref(), Some(at), |amps| amps.si());
    let after = build.stated_or(written.after.as_ref(), at, &defaults::OPENS_AFTER, |time| time.si());
    let said = format!("conductors.{name}.opens");
    let tables = &mut build.tables;
    let above = tables.input(format!("{said}.above"), Dimension::Current, above);
    let after = tables.input(format!("{said}.after"), Dimension::Time, after);
    let [above, after] = [above, after].map(|input| tables.read_by(Late::Fuses, input));
    build.plan.conductors[k].opens = Some(Opens { above, after });
}
