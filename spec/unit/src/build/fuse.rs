//! Fuses of branches: what drives a fault through each, by which way, and what they protect.

use std::collections::BTreeSet;

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::conductors::{Conductor as Written, TimeCurrent as WrittenCurve};
use loadworthy_physics::Temperature;
use loadworthy_source::NodeId;

use crate::build::drives::{drive, drive_of, is_generator, way_back};
use crate::build::feeding::{feeding_beside, feeding_through, stage_of};
use crate::build::power::place_of;
use crate::build::ways::{Way, Ways, before, before_fuse, from_bus, fuse_of, may_be_fused, written};
use crate::build::{Build, beyond_diodes, conductor_heat, duty, protection};
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::plan::{Body, Drive, Fuse, FuseFigures, Protected};
use crate::solver::Late;
use crate::table::Stated;

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

/// Conductors on the way back to a source from its negative rail, where no fuse stands there: what its feed lets through comes back by them.
fn on_the_way_back(build: &Build<'_>, graph: &PowerGraph<'_>, source: &str) -> Vec<usize> {
    let description = build.description;
    let leads_back = |branch: &&&str| {
        let leads = description.branches.entry(branch).is_some_and(|branch| branch.around.is_none());
        leads && graph.ends_of(branch).is_none()
    };
    let back = build.drawn.of_source(source).iter().filter(leads_back);
    let own: Vec<usize> = back.flat_map(|branch| build.places.conductors_in(branch)).copied().collect();
    let may_be_fuse = |&k: &usize| fuse_of(build, k).is_some() || written(build, k).is_none();
    if own.iter().any(may_be_fuse) { Vec::new() } else { own }
}

/// Conductors of branches that lead to no bus, such as one back from a negative rail, and name a fuse on their way.
fn naming(build: &Build<'_>, ways: &Ways<'_>, fuse: &str) -> Vec<usize> {
    let branches = ways.naming.get(fuse).into_iter().flatten();
    branches.flat_map(|branch| build.places.conductors_in(branch)).copied().collect()
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
    let fuse = fuse_of(build, k).cloned().unwrap_or_default();
    let one = One { name: &name, at };
    let voltage = one.number(build, "voltage", Dimension::Voltage, fuse.voltage.as_ref(), |v| v.si());
    let rated = one.number(build, "current", Dimension::Current, fuse.current.as_ref(), |i| i.si());
    let breaking = one.number(build, "breaking", Dimension::Current, fuse.breaking.as_ref(), |i| i.si());
    let given = fuse.time_constant.as_ref();
    let time_constant =
        given.map(|given| one.number(build, "time_constant", Dimension::Time, Some(given), |t| t.si()));
    let least = fuse.least_breaking.as_ref();
    let least_breaking = one.number(build, "least_breaking", Dimension::Current, least, |i| i.si());
    let square = Dimension::SquaredCurrentTime;
    let melting = one.number(build, "melting", square, fuse.melting.as_ref(), |x| x.si());
    let clearing = one.number(build, "clearing", square, fuse.clearing.as_ref(), |x| x.si());
    let element = build.stated_or(fuse.element.as_ref(), at, &defaults::FUSE_ELEMENT, |t| t.in_celsius());
    let element = one.own(build, "element", Dimension::Temperature, element);
    let cyclic =
        build.stated_or(fuse.cyclic_load.as_ref(), at, &defaults::FUSE_CYCLIC, |share| share.value());
    let cyclic = one.own(build, "cyclic_load", Dimension::Ratio, cyclic);

    let given = fuse.conventional_fusing.as_ref();
    let conventional = build.stated_or(given, at, &defaults::FUSE_CONVENTIONAL, |share| share.value());
    let conventional = one.own(build, "conventional_fusing", Dimension::Ratio, conventional);

    let bus = place_of(build, Some(way.bus));
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
    let mut from_node = is_source;
    let others = if is_source {
        others
    } else {
        drives.extend(others);
        from_node = drives.is_empty() && !through.is_empty();
        if from_node {
            drives = through;
            Vec::new()
        } else {
            through
        }
    };
    // What stands across it once it has opened is that of its bus, which no diode lifts.
    let direct = || drives.iter().filter(|drive| !drive.is_beyond);
    // A generator has no voltage of its own to state: that of its bus speaks for it.
    let own = direct().filter(|drive| !is_generator(build, drive));
    let own: Vec<InputId> = own.map(|drive| drive.voltage.0).collect();
    // What recovers, or charges, lifts a bus above what its sources have without current: only the bus says how far.
    let bus_highest = build.description.buses.entry(way.bus).and_then(|bus| bus.highest.as_ref());
    let near = bus.map(|bus| build.tables.part_of(build.plan.buses[bus].part).at);
    let stated = build.stated(bus_highest, near, |volts| volts.si());
    let of_bus = build.tables.input(format!("buses.{}.highest", way.bus), Dimension::Voltage, stated);
    let mut across: Vec<InputId> = vec![of_bus];
    if is_source || bus_highest.is_none() {
        across.extend(own);
    }
    let resistances = |conductors: &[usize], build: &Build<'_>| -> Vec<InputId> {
        conductors.iter().filter(|&&one| one != k).map(|&one| build.plan.conductors[one].resistance).collect()
    };
    let own_line = resistances(&way.conductors, build);
    let before = before(build, way, k, from_node);
    let after: Vec<usize> = way.conductors.iter().copied().filter(|one| !before.contains(one)).collect();
    let after = if is_source || stage.is_some() { resistances(&after, build) } else { Vec::new() };
    // A contactor or a sensor may stand within the source; what leads somewhere leads out of it.
    let leads = |one: &&usize| {
        use Written::{Busbar, Cable, Connector, Foil, LaminatedBusbar};
        let written = written(build, **one);
        matches!(written, Some(Busbar(_) | Cable(_) | Connector(_) | Foil(_) | LaminatedBusbar(_)))
    };
    let is_first = before.iter().all(|&one| fuse_of(build, one).is_none() && written(build, one).is_some());
    let ahead = before.iter().filter(|_| is_source && is_first).filter(leads).copied().collect();
    let before = resistances(&before, build);
    // Branches from the same bus without a fuse are protected by that of the source.
    let beside = ways.hanging.get(way.bus).filter(|_| is_source).into_iter().flatten();
    let beside: Vec<&Way<'_>> =
        beside.map(|&other| &ways.all[other]).filter(|other| other.node != way.node).collect();
    let (fused, behind): (Vec<&Way<'_>>, Vec<&Way<'_>>) =
        beside.into_iter().partition(|other| may_be_fused(other, build));
    // So is what stands in one between the bus and its own fuse.
    let ahead_of_own = fused.into_iter().flat_map(|other| {
        let first = before_fuse(build, other);
        first.into_iter().map(move |one| (one, other))
    });
    let ahead_of_own: Vec<(usize, &Way<'_>)> = ahead_of_own.collect();
    let total = |way: &Way<'_>, build: &Build<'_>| -> f64 {
        let ohms = way.conductors.iter().map(|&one| {
            let input = build.plan.conductors[one].resistance;
            build.tables.inputs()[input.index()].values[0].value
        });
        ohms.sum()
    };
    let longest =
        behind.iter().copied().max_by(|one, other| total(one, build).total_cmp(&total(other, build)));
    let mut longest_behind = longest.map_or_else(Vec::new, |way| resistances(&way.conductors, build));
    longest_behind.extend(longest.map_or_else(Vec::new, |way| way_back(build, way.node)));
    // What stands in the way back itself is counted as the fuse.
    let own_ohms = build.plan.conductors[k].resistance;
    for drive in &mut drives {
        if drive.back.contains(&own_ohms) {
            drive.back = drive.back.iter().copied().filter(|&ohms| ohms != own_ohms).collect();
        }
    }
    let own_back = if is_source { Vec::new() } else { way_back(build, way.node) };
    // What stands between a bus and this fuse meets what those of sources let through.
    let meets_others = if is_source || from_node { Vec::new() } else { before_fuse(build, way) };
    let exposed: Vec<(usize, Vec<usize>, Option<usize>)> = core::iter::once(way)
        .chain(behind)
        .flat_map(|way| way.conductors.iter().map(move |&one| (one, way)))
        .chain(ahead_of_own)
        .filter(|&(one, _)| one != k && !meets_others.contains(&one))
        .map(|(one, way)| {
            (one, from_bus(build, way, one), bus.and_then(|bus| stage_of(build, way.node, bus)))
        })
        .collect();
    // One of the same circuit meets what its own branch does, and nobody says how far from the banks it stands.
    let of_circuit = if is_source { naming(build, ways, &name) } else { Vec::new() };
    let of_circuit: Vec<usize> = of_circuit.into_iter().filter(|&one| one != k).collect();
    let back = if is_source { on_the_way_back(build, graph, way.node) } else { Vec::new() };
    let back: Vec<usize> = back.into_iter().filter(|one| *one != k && !of_circuit.contains(one)).collect();
    // What comes back by them came by the whole of the feed.
    let loop_of: Vec<usize> =
        way.conductors.iter().chain(&back).copied().filter(|&one| fuse_of(build, one).is_none()).collect();
    let exposed = exposed.into_iter().chain(of_circuit.iter().map(|&one| (one, Vec::new(), None)));
    let exposed = exposed.chain(back.iter().map(|&one| (one, loop_of.clone(), None)));
    let protects: Vec<Protected> = exposed
        .filter_map(|(one, line, output_of)| {
            let line = line.iter().map(|&one| build.plan.conductors[one].resistance).collect();
            let is_own = way.conductors.contains(&one) || of_circuit.contains(&one) || back.contains(&one);
            protected(build, one, (is_own, line)).map(|one| Protected { output_of, ..one })
        })
        .collect();
    let curve = fuse.time_current.as_ref().map(|curve| time_current(build, &one, part, curve));
    let is_driven = !drives.is_empty() || !others.is_empty();
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = FuseFigures {
        highest_voltage: figure("highest_voltage", Dimension::Voltage),
        open_circuit: bus_highest.is_none().then(|| figure("open_circuit_voltage", Dimension::Voltage)),
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
        voltage,
        rated,
        element,
        cyclic,
        conventional,
        melting,
        clearing,
        breaking,
        time_constant,
        least_breaking,
        curve,
        across,
        drives,
        others,
        delivered: None,
        banks: Vec::new(),
        surge: None,
        bus,
        of_source: is_source,
        from_node,
        is_returned: !way.conductors.contains(&k),
        after,
        before,
        ahead,
        own_line,
        own_back,
        longest_behind,
        protects,
        figures,
    }
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

/// Sides that the temperature of a conductor follows from as well.
fn sides_of(body: &Body) -> Option<Vec<InputId>> {
    match *body {
        Body::Bar { width, thickness, .. } | Body::Foil { width, thickness, .. } => {
            Some(vec![width, thickness])
        }
        Body::Cable { section, .. } => Some(vec![section]),
        Body::Contact { .. } => None,
    }
}

/// A conductor and what it stands; nothing of one that says neither a section nor what it stands, and need not.
pub(super) fn protected(
    build: &mut Build<'_>,
    k: usize,
    (is_own, from_bus): (bool, Vec<InputId>),
) -> Option<Protected> {
    let part = build.plan.conductors[k].part;
    let (name, at) = (build.tables.part_of(part).path.clone(), build.tables.part_of(part).at);
    let one = One { name: &name, at };
    let known = build.plan.conductors[k].heat.as_ref().and_then(|heat| sides_of(&heat.body));
    let length = |build: &mut Build<'_>, key: &str, given: Option<&Given<loadworthy_physics::Length>>| {
        one.number(build, key, Dimension::Length, given, |side| side.si())
    };
    let mut stated = None;
    let (section, hottest) = match written(build, k)? {
        Written::Busbar(bar) => {
            let sides = vec![
                length(build, "width", bar.width.as_ref()),
                length(build, "thickness", bar.thickness.as_ref()),
            ];
            (sides, bar.hottest_briefly)
        }
        Written::LaminatedBusbar(bar) => {
            let sides = vec![
                length(build, "width", bar.width.as_ref()),
                length(build, "thickness", bar.thickness.as_ref()),
            ];
            (sides, bar.hottest_briefly)
        }
        Written::Foil(foil) => {
            let sides = vec![
                length(build, "width", foil.width.as_ref()),
                length(build, "thickness", foil.thickness.as_ref()),
            ];
            (sides, foil.hottest_briefly)
        }
        Written::Cable(cable) => {
            let section =
                one.number(build, "section", Dimension::Area, cable.section.as_ref(), |area| area.si());
            (vec![section], cable.hottest_briefly)
        }
        Written::Contactor(contactor) => {
            let withstands = contactor.withstands.as_ref();
            let dimension = Dimension::SquaredCurrentTime;
            stated = Some(one.number(build, "withstands", dimension, withstands, |x| x.si()));
            (Vec::new(), None)
        }
        Written::Fuse(_)
        | Written::Connector(_)
        | Written::Sensor(_)
        | Written::Resistor(_)
        | Written::LineChoke(_) => return None,
    };
    let section = known.unwrap_or(section);
    let hottest: Option<Given<Temperature>> = hottest;
    let briefly = build.stated_or(hottest.as_ref(), at, &defaults::HOTTEST_BRIEFLY, |t| t.in_celsius());
    let short_hottest = one.own(build, "hottest_briefly", Dimension::Temperature, briefly);
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::SquaredCurrentTime);
    let (through, withstood) = (figure("let_through"), figure("withstood_let_through"));
    Some(Protected {
        conductor: k,
        section,
        short_hottest,
        reached: conductor_heat::reached(build, k),
        stated,
        is_own,
        from_bus,
        beyond: None,
        banks: Vec::new(),
        banks_at: None,
        of_banks: None,
        banks_against: false,
        output_of: None,
        beside: Vec::new(),
        against: Vec::new(),
        uncleared: Vec::new(),
        through,
        withstood,
    })
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
