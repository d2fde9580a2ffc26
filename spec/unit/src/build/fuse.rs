//! Fuses of branches: what drives a fault through each, by which way, and what they protect.

mod protected;

use std::collections::BTreeSet;

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::conductors::{Conductor as Written, TimeCurrent as WrittenCurve};
use loadworthy_source::NodeId;

use crate::build::drives::{drive, drive_of, is_generator, way_back};
use crate::build::feeding::{feeding_beside, feeding_through, stage_of};
use crate::build::power::place_of;
use crate::build::ways::{Way, Ways, before, fuse_of, may_be_fused, written};
use crate::build::{Build, beyond_diodes, duty, protection};
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::plan::{Drive, Fuse, FuseFigures};
use crate::solver::Late;
use crate::table::Stated;
pub(super) use protected::protected;

/// Adds every fuse of a branch in service, and the sources that none stands behind.
pub(crate) fn join<'d>(build: &mut Build<'d>, graph: &PowerGraph<'d>) {
    let ways = Way::all(build, graph);
    protection::join(build, graph);
    let drawn: BTreeSet<&str> = ways.iter().map(|way| way.node).collect();
    protection::directly(build, |name| drawn.contains(name));
    let ways = Ways::of(build, ways);
    for way in &ways.all {
        let is_source = build.description.sources.contains_key(way.node);
        let fuses: Vec<usize> =
            way.conductors.iter().copied().filter(|&k| fuse_of(build, k).is_some()).collect();
        let in_return = (is_source && fuses.is_empty()).then(|| returned(build, graph, &ways, way)).flatten();
        for k in fuses.into_iter().chain(in_return) {
            let fuse = fuse(build, (graph, &ways), way, k, is_source);
            build.plan.fuses.push(fuse);
        }
    }
    beyond_diodes::join(build, &ways.all);
    let judged: BTreeSet<usize> = build.plan.fuses.iter().map(|fuse| fuse.conductor).collect();
    let apart = (0..build.plan.conductors.len()).filter(|&k| {
        let carries_some = build.plan.conductors[k].unknown.is_some();
        carries_some && fuse_of(build, k).is_some() && !judged.contains(&k)
    });
    build.plan.fuses_apart = apart.collect();
}

/// The fuse of a branch that stands in the branch from a negative rail back to the source.
fn returned(build: &Build<'_>, graph: &PowerGraph<'_>, ways: &Ways<'_>, way: &Way<'_>) -> Option<usize> {
    let fuse = ways.fuses.get(way.name)?;
    build.places.conductors_named(fuse).iter().copied().find(|&k| {
        let branch = build.tables.part_of(build.plan.conductors[k].branch);
        graph.ends_of(&branch.path).is_none() && fuse_of(build, k).is_some()
    })
}

fn fuse(
    build: &mut Build<'_>,
    (graph, ways): (&PowerGraph<'_>, &Ways<'_>),
    way: &Way<'_>,
    k: usize,
    is_source: bool,
) -> Fuse {
    let part = build.plan.conductors[k].part;
    let (name, at) = (build.tables.part_of(part).path.clone(), build.tables.part_of(part).at);
    let one = One { name: &name, at };
    let sheet = sheet(build, &one, k);
    let bus = place_of(build, Some(way.bus));
    let mut driven = driven(build, way, bus, is_source);
    // What stands in the way back itself is counted as the fuse.
    let own_ohms = build.plan.conductors[k].resistance;
    for drive in driven.drives.iter_mut().filter(|drive| drive.back.contains(&own_ohms)) {
        drive.back = drive.back.iter().copied().filter(|&ohms| ohms != own_ohms).collect();
    }
    let is_unstated = build.description.buses.entry(way.bus).is_none_or(|bus| bus.highest.is_none());
    let across = across(build, way.bus, bus, driven.drives.as_slice(), is_source || is_unstated);
    let line = line(build, way, k, is_source, &driven);
    let beside = Beside::of(build, ways, way, is_source);
    let longest_behind = beside.longest_behind(build, k);
    let own_back = if is_source { Vec::new() } else { way_back(build, way.node) };
    let at = At { way, k, bus, is_source, from_node: driven.from_node };
    let protects = protected::exposed(build, (graph, ways), &at, (&name, &beside));
    let written = fuse_of(build, k).and_then(|fuse| fuse.time_current.clone());
    let curve = written.map(|curve| time_current(build, &one, part, &curve));
    let is_driven = !driven.drives.is_empty() || !driven.others.is_empty();
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = FuseFigures {
        highest_voltage: figure("highest_voltage", Dimension::Voltage),
        open_circuit: is_unstated.then(|| figure("open_circuit_voltage", Dimension::Voltage)),
        continuous: figure("continuous_current", Dimension::Current),
        cyclic: figure("cyclic_current", Dimension::Current),
        highest_fault: figure("highest_fault_current", Dimension::Current),
        lowest_fault: figure("lowest_fault_current", Dimension::Current),
        least_breaking: figure("least_breaking_current", Dimension::Current),
        let_through: figure("let_through", Dimension::SquaredCurrentTime),
        fault_constant: is_driven.then(|| figure("fault_time_constant", Dimension::Time)),
    };
    Fuse {
        conductor: k,
        voltage: sheet.voltage,
        rated: sheet.rated,
        element: sheet.element,
        cyclic: sheet.cyclic,
        conventional: sheet.conventional,
        melting: sheet.melting,
        clearing: sheet.clearing,
        breaking: sheet.breaking,
        time_constant: sheet.time_constant,
        least_breaking: sheet.least_breaking,
        curve,
        across,
        drives: driven.drives,
        others: driven.others,
        delivered: None,
        banks: Vec::new(),
        surge: None,
        bus,
        of_source: is_source,
        from_node: driven.from_node,
        is_returned: !way.conductors.contains(&k),
        after: line.after,
        before: line.before,
        ahead: line.ahead,
        own_line: line.own,
        own_back,
        longest_behind,
        protects,
        figures,
    }
}

/// What the data sheet of a fuse says, or the edition where it does not.
struct Sheet {
    voltage: InputId,
    rated: InputId,
    breaking: InputId,
    time_constant: Option<InputId>,
    least_breaking: InputId,
    melting: InputId,
    clearing: InputId,
    element: InputId,
    cyclic: InputId,
    conventional: InputId,
}

fn sheet(build: &mut Build<'_>, one: &One<'_>, k: usize) -> Sheet {
    let fuse = fuse_of(build, k).cloned().unwrap_or_default();
    let square = Dimension::SquaredCurrentTime;
    Sheet {
        voltage: one.number(build, "voltage", Dimension::Voltage, fuse.voltage.as_ref(), |v| v.si()),
        rated: one.number(build, "current", Dimension::Current, fuse.current.as_ref(), |i| i.si()),
        breaking: one.number(build, "breaking", Dimension::Current, fuse.breaking.as_ref(), |i| i.si()),
        time_constant: fuse
            .time_constant
            .as_ref()
            .map(|given| one.number(build, "time_constant", Dimension::Time, Some(given), |t| t.si())),
        least_breaking: {
            let least = fuse.least_breaking.as_ref();
            one.number(build, "least_breaking", Dimension::Current, least, |i| i.si())
        },
        melting: one.number(build, "melting", square, fuse.melting.as_ref(), |x| x.si()),
        clearing: one.number(build, "clearing", square, fuse.clearing.as_ref(), |x| x.si()),
        element: {
            let given = fuse.element.as_ref();
            let element = build.stated_or(given, one.at, &defaults::FUSE_ELEMENT, |t| t.in_celsius());
            one.own(build, "element", Dimension::Temperature, element)
        },
        cyclic: {
            let given = fuse.cyclic_load.as_ref();
            let cyclic = build.stated_or(given, one.at, &defaults::FUSE_CYCLIC, |share| share.value());
            one.own(build, "cyclic_load", Dimension::Ratio, cyclic)
        },
        conventional: {
            let given = fuse.conventional_fusing.as_ref();
            let fusing = build.stated_or(given, one.at, &defaults::FUSE_CONVENTIONAL, |share| share.value());
            one.own(build, "conventional_fusing", Dimension::Ratio, fusing)
        },
    }
}

/// What drives a fault through a fuse.
struct Driven {
    drives: Vec<Drive>,
    /// What drives one from the other end of its branch.
    others: Vec<Drive>,
    /// Whether the drives stand where its branch ends that does not hold the voltage.
    from_node: bool,
    stage: Option<usize>,
}

fn driven(build: &mut Build<'_>, way: &Way<'_>, bus: Option<usize>, is_source: bool) -> Driven {
    let own = build.places.sources.get(way.node).copied();
    let sources: Vec<usize> = if is_source {
        own.into_iter().collect()
    } else {
        bus.map_or_else(Vec::new, |bus| build.plan.buses[bus].sources.clone())
    };
    let mut drives: Vec<Drive> =
        sources.iter().map(|&source| drive(build, source, way.bus, is_source)).collect();
    let stage = bus.and_then(|bus| stage_of(build, way.node, bus));
    let fed = bus.map_or_else(Vec::new, |bus| feeding_beside(build, bus, stage));
    let is_own: BTreeSet<usize> = sources.iter().copied().collect();
    let others = fed.into_iter().filter(|feed| !is_own.contains(&feed.source));
    let others: Vec<Drive> = others.map(|feed| drive_of(build, feed)).collect();
    // What feeds the bus through the stage of this very branch comes from its other end.
    let through = stage.map_or_else(Vec::new, |stage| feeding_through(build, stage));
    let through: Vec<Drive> = through.into_iter().map(|feed| drive_of(build, feed)).collect();
    if is_source {
        return Driven { drives, others, from_node: true, stage };
    }
    drives.extend(others);
    if drives.is_empty() && !through.is_empty() {
        return Driven { drives: through, others: Vec::new(), from_node: true, stage };
    }
    Driven { drives, others: through, from_node: false, stage }
}

/// What may stand across a fuse once it has opened.
fn across(
    build: &mut Build<'_>,
    name: &str,
    bus: Option<usize>,
    drives: &[Drive],
    counts_sources: bool,
) -> Vec<InputId> {
    // It is that of its bus, which no diode lifts. A generator has no voltage of its own to state: that of its bus speaks for it.
    let direct = drives.iter().filter(|drive| !drive.is_beyond && !is_generator(build, drive));
    let own: Vec<InputId> = direct.map(|drive| drive.voltage.0).collect();
    // What recovers, or charges, lifts a bus above what its sources have without current: only the bus says how far.
    let highest = build.description.buses.entry(name).and_then(|bus| bus.highest.as_ref());
    let near = bus.map(|bus| build.tables.part_of(build.plan.buses[bus].part).at);
    let stated = build.stated(highest, near, |volts| volts.si());
    let of_bus = build.tables.input(format!("buses.{name}.highest"), Dimension::Voltage, stated);
    core::iter::once(of_bus).chain(own.into_iter().filter(|_| counts_sources)).collect()
}

/// Resistances of conductors other than the fuse.
fn resistances(build: &Build<'_>, k: usize, conductors: &[usize]) -> Vec<InputId> {
    conductors.iter().filter(|&&one| one != k).map(|&one| build.plan.conductors[one].resistance).collect()
}

/// The branch of a fuse: what stands before and after it as its drives see it, and what else.
struct Line {
    own: Vec<InputId>,
    before: Vec<InputId>,
    after: Vec<InputId>,
    /// What leads from a source to its first fuse.
    ahead: Vec<usize>,
}

fn line(build: &Build<'_>, way: &Way<'_>, k: usize, is_source: bool, driven: &Driven) -> Line {
    let before = before(build, way, k, driven.from_node);
    let after: Vec<usize> = way.conductors.iter().copied().filter(|one| !before.contains(one)).collect();
    let ends_there = is_source || driven.stage.is_some();
    // A contactor or a sensor may stand within the source; what leads somewhere leads out of it.
    let leads = |one: &&usize| {
        use Written::{Busbar, Cable, Connector, Foil, LaminatedBusbar};
        let written = written(build, **one);
        matches!(written, Some(Busbar(_) | Cable(_) | Connector(_) | Foil(_) | LaminatedBusbar(_)))
    };
    let is_first = before.iter().all(|&one| fuse_of(build, one).is_none() && written(build, one).is_some());
    Line {
        own: resistances(build, k, &way.conductors),
        after: if ends_there { resistances(build, k, &after) } else { Vec::new() },
        ahead: before.iter().filter(|_| is_source && is_first).filter(leads).copied().collect(),
        before: resistances(build, k, &before),
    }
}

/// Branches from the same bus as the feed of a fuse.
struct Beside<'w> {
    /// Those without a fuse of their own, which that of the source protects.
    behind: Vec<&'w Way<'w>>,
    fused: Vec<&'w Way<'w>>,
}

impl<'w> Beside<'w> {
    fn of(build: &Build<'_>, ways: &'w Ways<'w>, way: &Way<'_>, is_source: bool) -> Self {
        let beside = ways.hanging.get(way.bus).filter(|_| is_source).into_iter().flatten();
        let beside = beside.map(|&other| &ways.all[other]).filter(|other| other.node != way.node);
        let (fused, behind) = beside.partition(|other| may_be_fused(other, build));
        Self { behind, fused }
    }

    /// Resistances of the one of them with most, there and back.
    fn longest_behind(&self, build: &Build<'_>, k: usize) -> Vec<InputId> {
        let ohms = |&one: &usize| {
            let input = build.plan.conductors[one].resistance;
            build.tables.inputs()[input.index()].values[0].value
        };
        let total = |way: &Way<'_>| -> f64 { way.conductors.iter().map(ohms).sum() };
        let longest = self.behind.iter().max_by(|one, other| total(one).total_cmp(&total(other)));
        let Some(way) = longest else { return Vec::new() };
        let mut all = resistances(build, k, &way.conductors);
        all.extend(way_back(build, way.node));
        all
    }
}

/// Where a fuse stands.
struct At<'w> {
    way: &'w Way<'w>,
    k: usize,
    bus: Option<usize>,
    is_source: bool,
    from_node: bool,
}

/// Its time-current curve.
fn time_current(
    build: &mut Build<'_>,
    one: &One<'_>,
    part: PartId,
    written: &WrittenCurve,
) -> crate::plan::TimeCurrent {
    let points = written.load.iter().zip(written.time.iter());
    let points = points.map(|(load, time)| (load.value.value(), time.value.si())).collect();
    let origin = build.written(written.time.at);
    let curve = build.tables.curve(format!("conductors.{}.time_current", one.name), origin);
    let lasts = duty::lasting(build);
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
    let (overload, cyclic) = (figure("overload_current"), figure("cyclic_overload_current"));
    crate::plan::TimeCurrent { curve, points, lasts, overload, cyclic }
}

/// A conductor while it is looked at.
struct One<'a> {
    name: &'a str,
    at: NodeId,
}

impl One<'_> {
    fn input(&self, build: &mut Build<'_>, key: &str, dimension: Dimension, stated: Stated) -> InputId {
        build.tables.input(format!("conductors.{}.{key}", self.name), dimension, stated)
    }

    /// An input that nothing but fuses and what they protect asks for.
    fn own(&self, build: &mut Build<'_>, key: &str, dimension: Dimension, stated: Stated) -> InputId {
        let input = self.input(build, key, dimension, stated);
        build.tables.read_by(Late::Fuses, input)
    }

    fn number<T>(
        &self,
        build: &mut Build<'_>,
        key: &str,
        dimension: Dimension,
        given: Option<&Given<T>>,
        si: impl Fn(&T) -> f64,
    ) -> InputId {
        let stated = build.stated(given, Some(self.at), si);
        self.input(build, key, dimension, stated)
    }
}
