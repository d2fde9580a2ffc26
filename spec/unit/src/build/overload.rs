//! What bounds an overload of each conductor on whose way a fuse stands.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::sources::Source as WrittenSource;

use crate::build::Build;
use crate::ids::PartId;
use crate::plan::{Bound, Overload, Stage, Topology};

/// Something that hangs on a bus.
struct End {
    /// Conductors of its branch, in the plan.
    conductors: Vec<usize>,
    bounds: Vec<Bound>,
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
pub(crate) fn join(build: &mut Build<'_>) {
    let description = build.description;
    // What could not be read may hang on any bus.
    let is_whole = description.branches.is_whole()
        && description.stages.is_whole()
        && description.sources.is_whole()
        && description.loads.is_whole()
        // One that could not be read may be the fuse.
        && description.conductors.is_whole();
    for bus in 0..build.plan.buses.len() {
        let ends = ends(build, bus);
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
    let bounds = |overload: &'_ Overload| {
        overload.own.iter().chain(overload.others.iter().flatten()).copied().collect::<Vec<_>>()
    };
    for bound in build.plan.overloads.iter().flat_map(bounds) {
        if let Bound::Fuse(fuse) = bound {
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
fn ends(build: &mut Build<'_>, bus: usize) -> Vec<End> {
    let name = build.tables.part_of(build.plan.buses[bus].part).path.clone();
    let mut ends = Vec::new();
    for source in build.plan.buses[bus].sources.clone() {
        let part = build.plan.sources[source].part;
        let mut end = end(build, part, &name, Kind::Source);
        end.bounds.extend(short_circuit(build, part));
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
            let mut end = end(build, of.part, &name, kind);
            end.bounds.extend(trip(build, stage).filter(|_| !is_secondary));
            ends.push(end);
        }
    }
    for load in 0..build.plan.loads.len() {
        if build.plan.loads[load].port.bus == Some(bus) {
            ends.push(end(build, build.plan.loads[load].part, &name, Kind::Load));
        }
    }
    ends
}

/// An end with what its branch bounds it by.
fn end(build: &mut Build<'_>, part: PartId, bus: &str, kind: Kind) -> End {
    let name = build.tables.part_of(part).path.clone();
    let conductors = build.lines.conductors(&name, bus);
    let of_return = |fuse: &crate::plan::Fuse| {
        fuse.of_source && fuse.drives.iter().any(|drive| drive.source == part) && fuse.is_returned
    };
    let fuses = build.plan.fuses.iter().enumerate();
    let fuses = fuses.filter(|(_, fuse)| conductors.contains(&fuse.conductor) || of_return(fuse));
    let mut bounds: Vec<Bound> = fuses.map(|(place, _)| Bound::Fuse(place)).collect();
    bounds.extend(conductors.iter().filter_map(|&one| {
        let conductor = &build.plan.conductors[one];
        Some(Bound::Opens(conductor.part, conductor.opens?.above))
    }));
    End { conductors, bounds, kind }
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
