//! What bounds an overload of each conductor on whose way a fuse stands.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::conductors::Conductor as Written;
use loadworthy_language::sections::sources::Source as WrittenSource;

use crate::build::Build;
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Bound, Circuit, Melted, Overload, Stage, Topology};
use crate::solver::Late;
use crate::table::Stated;

/// Something that hangs on a bus.
struct End {
    /// Conductors of its branch, in the plan.
    conductors: Vec<usize>,
    bounds: Vec<Bound>,
    /// When the control of a contactor of its circuit opens it, where none there says so.
    unstated: Option<InputId>,
    kind: Kind,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Source,
    /// A stage that delivers to the bus.
    Feeds,
    /// A stage that takes from the bus and may feed it for good as well.
    Both,
    /// A stage that only takes from the bus, or whose machine gives back for a while.
    Takes,
    Load,
}

/// Adds every conductor on whose way a fuse stands, once all fuses and trips are known.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    // What could not be read may hang on any bus.
    let is_whole = description.branches.is_whole()
        && description.stages.is_whole()
        && description.sources.is_whole()
        && description.loads.is_whole()
        // One that could not be read may be the fuse.
        && description.conductors.is_whole();
    for bus in 0..build.plan.buses.len() {
        let ends = ends(build, graph, bus);
        for place in 0..ends.len() {
            let end = &ends[place];
            // What a stage delivers is not what it takes, and depends on voltages of both its sides.
            if end.kind == Kind::Feeds {
                continue;
            }
            let others = if is_whole { others(&ends, place) } else { Vec::new() };
            let all = || end.bounds.iter().chain(others.iter().flatten());
            let Some(fuse) = all().find_map(|bound| match *bound {
                Bound::Fuse(fuse) => Some(fuse),
                _ => None,
            }) else {
                continue;
            };
            let unbounded = |other: &End| other.kind == Kind::Load && other.bounds.is_empty();
            let is_passive = match end.kind {
                Kind::Source => ends.iter().any(unbounded),
                kind => kind == Kind::Load,
            };
            let fuses = end.bounds.iter().filter_map(|bound| match *bound {
                Bound::Fuse(fuse) => Some(fuse),
                _ => None,
            });
            for fuse in fuses {
                // One in the way back from a source bounds each of its feeds.
                if build.plan.melted.iter().any(|one| one.fuse == fuse) {
                    continue;
                }
                let part = build.plan.conductors[build.plan.fuses[fuse].conductor].part;
                let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
                let melted = Melted {
                    fuse,
                    own: end.bounds.clone(),
                    others: others.clone(),
                    is_passive,
                    unstated: end.unstated,
                    melts: figure("melting_current"),
                    unbroken: figure("unbroken_current"),
                };
                build.plan.melted.push(melted);
            }
            for &conductor in &end.conductors {
                let of = &build.plan.conductors[conductor];
                let is_judged = of.carries.is_some() && (of.rated.is_some() || of.heat.is_some());
                if !is_judged || is_fuse(build, conductor) {
                    continue;
                }
                let (part, is_heated) = (of.part, of.rated.is_none());
                let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
                let overload = Overload {
                    conductor,
                    fuse,
                    own: end.bounds.clone(),
                    others: others.clone(),
                    is_passive,
                    unended: figure("unended_current"),
                    capacity: is_heated.then(|| figure("continuous_capacity")),
                };
                build.plan.overloads.push(overload);
            }
        }
    }
    forget_unasked(build);
}

/// When a fuse melts in the end is asked of those alone that bound an overload.
fn forget_unasked(build: &mut Build<'_>) {
    let mut is_asked = vec![false; build.plan.fuses.len()];
    let of_conductors = build.plan.overloads.iter().map(|one| (&one.own, &one.others));
    let of_fuses = build.plan.melted.iter().map(|one| (&one.own, &one.others));
    for bound in
        of_conductors.chain(of_fuses).flat_map(|(own, others)| own.iter().chain(others.iter().flatten()))
    {
        if let Bound::Fuse(fuse) = *bound {
            is_asked[fuse] = true;
        }
    }
    for (fuse, _) in build.plan.fuses.iter().zip(is_asked).filter(|(_, is_asked)| !is_asked) {
        build.tables.forget_default(fuse.conventional);
    }
}

fn is_fuse(build: &Build<'_>, conductor: usize) -> bool {
    build.plan.fuses.iter().any(|fuse| fuse.conductor == conductor)
}

/// What bounds each other end that may drive a current through this one for good; nothing where one of them is not bounded.
fn others(ends: &[End], own: usize) -> Vec<Vec<Bound>> {
    let goes_both_ways = matches!(ends[own].kind, Kind::Source | Kind::Both);
    let counts = |end: &End| goes_both_ways || !matches!(end.kind, Kind::Takes | Kind::Load);
    let others = ends.iter().enumerate().filter(|&(place, end)| place != own && counts(end));
    let bounds: Vec<Vec<Bound>> = others.map(|(_, end)| end.bounds.clone()).collect();
    if bounds.iter().any(Vec::is_empty) { Vec::new() } else { bounds }
}

/// Everything that hangs on a bus.
fn ends(build: &mut Build<'_>, graph: &PowerGraph<'_>, bus: usize) -> Vec<End> {
    let name = build.tables.part_of(build.plan.buses[bus].part).path.clone();
    let mut ends = Vec::new();
    for source in build.plan.buses[bus].sources.clone() {
        let part = build.plan.sources[source].part;
        let returned = returned(build, graph, source);
        let mut end = end(build, (part, &name), returned, Kind::Source);
        end.bounds.extend(short_circuit(build, part));
        within(build, graph, (part, &name), &mut end);
        ends.push(end);
    }
    for stage in 0..build.plan.stages.len() {
        let of = &build.plan.stages[stage];
        for port in 0..of.ports.len() {
            let of = &build.plan.stages[stage];
            if of.ports[port].bus != Some(bus) {
                continue;
            }
            let kind = kind(build, stage, port);
            // The trip of a stage with a transformer is one of its primary.
            let is_secondary = kind == Kind::Feeds && matches!(of.topology, Topology::Isolated(_));
            let mut end = end(build, (of.part, &name), Vec::new(), kind);
            end.bounds.extend(trip(build, stage).filter(|_| !is_secondary));
            ends.push(end);
        }
    }
    for load in 0..build.plan.loads.len() {
        if build.plan.loads[load].port.bus == Some(bus) {
            ends.push(end(build, (build.plan.loads[load].part, &name), Vec::new(), Kind::Load));
        }
    }
    ends
}

/// Contactors in the branch from a negative rail back to a source, in the plan.
fn returned(build: &Build<'_>, graph: &PowerGraph<'_>, source: usize) -> Vec<usize> {
    let is_return = |conductor: usize| {
        let branch = build.plan.conductors[conductor].branch;
        graph.ends_of(&build.tables.part_of(branch).path).is_none()
    };
    let all = build.plan.openings.iter();
    let own = all.filter(|one| one.of == Circuit::Source(source) && one.is_contactor && one.around.is_none());
    own.map(|one| one.conductor).filter(|&conductor| is_return(conductor)).collect()
}

/// An end with what its branch, and contactors on the way back from it, bound it by.
fn end(build: &mut Build<'_>, (part, bus): (PartId, &str), returned: Vec<usize>, kind: Kind) -> End {
    let name = build.tables.part_of(part).path.clone();
    let conductors = build.lines.conductors(&name, bus);
    let of_return = |fuse: &crate::plan::Fuse| {
        fuse.of_source && fuse.drives.iter().any(|drive| drive.source == part) && fuse.is_returned
    };
    let fuses = build.plan.fuses.iter().enumerate();
    let fuses = fuses.filter(|(_, fuse)| conductors.contains(&fuse.conductor) || of_return(fuse));
    let mut bounds: Vec<Bound> = fuses.map(|(place, _)| Bound::Fuse(place)).collect();
    let circuit = || conductors.iter().chain(&returned).copied();
    bounds.extend(circuit().filter_map(|one| {
        let conductor = &build.plan.conductors[one];
        Some(Bound::Opens(conductor.part, conductor.opens?.above))
    }));
    let opens = bounds.iter().any(|bound| matches!(bound, Bound::Opens(..)));
    let unstated = circuit().filter(|_| !opens).find_map(|one| unstated(build, one));
    End { unstated, conductors, bounds, kind }
}

/// Adds the contactor within a source that its branch names.
fn within(build: &mut Build<'_>, graph: &PowerGraph<'_>, (source, bus): (PartId, &str), end: &mut End) {
    let node = build.tables.part_of(source).path.clone();
    let mut branches = build.description.branches.readable();
    let named = branches.find_map(|(branch, _, written)| {
        let parted_by = written.parted_by.as_ref()?;
        (graph.ends_of(branch) == Some((node.as_str(), bus))).then_some(parted_by)
    });
    let Some(name) = named.map(|named| named.value.clone()) else { return };
    let is_drawn = build.plan.conductors.iter().any(|one| build.tables.part_of(one.part).path == name);
    let Some(entry) = build.description.conductors.get(&name).filter(|_| !is_drawn) else { return };
    let opens = match entry.read() {
        Some(Written::Contactor(contactor)) => contactor.opens.as_ref(),
        Some(_) => return,
        None => None,
    };
    let absent = match entry.read() {
        None => Origin::Broken(entry.value),
        Some(_) => Origin::Absent { near: Some(entry.key) },
    };
    let stated = match opens.and_then(|opens| opens.above.as_ref()) {
        Some(above) => build.stated(Some(above), None, |amps| amps.si()),
        None => Stated { value: f64::NAN, origin: absent },
    };
    let part = build.tables.part(name.clone(), entry.key, None);
    let above = build.tables.input(format!("conductors.{name}.opens.above"), Dimension::Current, stated);
    let above = build.tables.read_by(Late::Fuses, above);
    if opens.is_some() {
        end.bounds.push(Bound::Opens(part, above));
        end.unstated = None;
    } else if !end.bounds.iter().any(|bound| matches!(bound, Bound::Opens(..))) {
        end.unstated.get_or_insert(above);
    }
}

/// When the control of a contactor opens it, which it does not say; what could not be read may be one.
fn unstated(build: &mut Build<'_>, conductor: usize) -> Option<InputId> {
    let name = build.tables.part_of(build.plan.conductors[conductor].part).path.clone();
    let entry = build.description.conductors.get(&name)?;
    let origin = match entry.read() {
        Some(Written::Contactor(_)) => Origin::Absent { near: Some(entry.key) },
        Some(_) => return None,
        None => Origin::Broken(entry.value),
    };
    let stated = Stated { value: f64::NAN, origin };
    let path = format!("conductors.{name}.opens.above");
    Some(build.tables.input(path, Dimension::Current, stated))
}

/// What a stage does at one of its ports for good. A machine that is braked gives back for a while.
fn kind(build: &Build<'_>, stage: usize, port: usize) -> Kind {
    let of = &build.plan.stages[stage];
    match &of.topology {
        Topology::Bridge(_) => Kind::Takes,
        _ if of.ports[port].outward => Kind::Feeds,
        Topology::Chopper(chopper) if chopper.diode_side.is_none() => {
            let mut other = of.ports.iter().filter(|port| port.outward).filter_map(|port| port.bus);
            if other.any(|bus| is_fed(build, bus, stage)) { Kind::Both } else { Kind::Takes }
        }
        _ => Kind::Takes,
    }
}

/// Whether sources or stages other than one feed a bus.
fn is_fed(build: &Build<'_>, bus: usize, beside: usize) -> bool {
    let feeds = |stage: &Stage| stage.ports.iter().any(|port| port.outward && port.bus == Some(bus));
    let mut stages = build.plan.stages.iter().enumerate();
    !build.plan.buses[bus].sources.is_empty() || stages.any(|(place, stage)| place != beside && feeds(stage))
}

/// What a source drives into a short circuit at most, where it states that.
fn short_circuit(build: &mut Build<'_>, source: PartId) -> Option<Bound> {
    let name = build.tables.part_of(source).path.clone();
    let span = match build.description.sources.entry(&name)? {
        WrittenSource::FuelCell(cell) => cell.short_circuit.as_ref(),
        WrittenSource::Generator(generator) => generator.short_circuit.as_ref(),
        WrittenSource::Battery(_) => None,
    };
    let highest = span?.highest.as_ref()?;
    let stated = build.stated(Some(highest), None, |amps| amps.si());
    let path = format!("sources.{name}.short_circuit.highest");
    Some(Bound::Source(source, build.tables.input(path, Dimension::Current, stated)))
}

/// The trip of a stage.
fn trip(build: &Build<'_>, stage: usize) -> Option<Bound> {
    let trip = build.plan.current_trips.iter().find(|trip| trip.stage == stage)?;
    let of = &build.plan.stages[stage];
    let legs = match &of.topology {
        Topology::Chopper(chopper) => Some(chopper.inputs.legs),
        _ => None,
    };
    let is_stated = build.tables.is_written(trip.level);
    is_stated.then_some(Bound::Trip { stage: of.part, level: trip.level, tolerance: trip.tolerance, legs })
}
