//! What something that spans a barrier stands of the edges across it: how steep they are, or the current that they drive through it.

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::drivers::Driver;
use loadworthy_language::sections::isolation::Barrier as Section;
use loadworthy_language::sections::sensors::{Measurement, Signal};
use loadworthy_physics::{Current, SlewRate};
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::ids::{InputId, PartId};
use crate::plan::Through;

/// What an entry says that it stands.
#[derive(Clone, Copy)]
pub(super) struct Stands<'d> {
    edge: Option<&'d Given<SlewRate>>,
    current: Option<&'d Given<Current>>,
}

impl<'d> Stands<'d> {
    pub(super) const fn of_driver(driver: &'d Driver) -> Self {
        Self { edge: driver.transient_immunity.as_ref(), current: driver.immunity_current.as_ref() }
    }

    pub(super) const fn of_sensor(sensor: &'d Measurement) -> Self {
        Self { edge: sensor.transient_immunity.as_ref(), current: sensor.immunity_current.as_ref() }
    }

    pub(super) const fn of_signal(signal: &'d Signal) -> Self {
        Self { edge: signal.transient_immunity.as_ref(), current: signal.immunity_current.as_ref() }
    }

    const fn of_barrier(barrier: &'d Section) -> Self {
        Self { edge: barrier.transient_immunity.as_ref(), current: barrier.immunity_current.as_ref() }
    }

    /// Whether it says anything.
    pub(super) const fn is_stated(&self) -> bool {
        self.edge.is_some() || self.current.is_some()
    }
}

/// What is held against edges: one of them at least.
#[derive(Default)]
pub(super) struct Held {
    /// How steep they may be.
    pub(super) immunity: Option<InputId>,
    /// What they may drive through it.
    pub(super) current: Option<InputId>,
}

/// What something stands, as it says itself, or where it says nothing, as the barrier does that it passes. An edge is asked for
/// where neither is stated.
pub(super) fn held(
    build: &mut Build<'_>,
    (said, own): (&str, Stands<'_>),
    barrier: Option<(PartId, &Section)>,
    near: NodeId,
) -> Held {
    let theirs = barrier.map(|(part, barrier)| (part, Stands::of_barrier(barrier)));
    let (path, stands) = match theirs.filter(|(_, theirs)| !own.is_stated() && theirs.is_stated()) {
        Some((part, theirs)) => (build.tables.part_of(part).path.clone(), theirs),
        None => (said.to_owned(), own),
    };
    let edge = stands.edge.is_some() || stands.current.is_none();
    let immunity = edge.then(|| {
        let stated = build.stated(stands.edge, Some(near), |slope| slope.si());
        build.tables.limit(format!("{path}.transient_immunity"), Dimension::SlewRate, stated)
    });
    let current = stands.current.map(|amps| {
        let stated = build.stated(Some(amps), Some(near), |amps| amps.si());
        build.tables.limit(format!("{path}.immunity_current"), Dimension::Current, stated)
    });
    Held { immunity, current }
}

/// The current that an edge drives through something, where it says how much that may be.
pub(super) fn through(
    build: &mut Build<'_>,
    part: PartId,
    limit: Option<InputId>,
    coupling: Option<InputId>,
) -> Option<Through> {
    let (limit, coupling) = limit.zip(coupling)?;
    let current = build.tables.figure_if_asked(part, "edge_current", Dimension::Current);
    Some(Through { limit, coupling, current })
}
