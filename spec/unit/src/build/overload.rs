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
    /// A stage, in the plan.
    stage: Option<usize>,
    /// The low bus of a boost or a buck that steps up to this one, in the plan. It delivers no more current than it takes there.
    low: Option<usize>,
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
        && description.loads.is_whole();
    let buses: Vec<Vec<End>> = (0..build.plan.buses.len()).map(|bus| ends(build, bus)).collect();
    for (bus, ends) in buses.iter().enumerate() {
        let sources = if is_whole { sources(&buses, bus) } else { Vec::new() };
        for (place, end) in ends.iter().enumerate() {
            let mut own = end.bounds.clone();
            let mut sums = if is_whole { vec![others(ends, place)] } else { Vec::new() };
            let before = end
                .low
                .and_then(|low| Some((low, buses[low].iter().position(|other| other.stage == end.stage)?)));
            if let Some((low, place)) = before {
                own.extend(&buses[low][place].bounds);
                sums.extend(is_whole.then(|| others(&buses[low], place)));
            } else if matches!(end.kind, Kind::Takes | Kind::Load) {
                sums.push(sources.clone());
            }
            sums.retain(|ends| !ends.is_empty());
            add(build, ends, end, (own, sums));
        }
    }
    forget_unasked(build);
}

/// Adds the conductors of one branch, where a fuse stands on their way.
fn add(build: &mut Build<'_>, ends: &[End], end: &End, (own, sums): (Vec<Bound>, Vec<Vec<Vec<Bound>>>)) {
    let mut all = own.iter().chain(sums.iter().flatten().flatten());
    let fuse = all.find_map(|bound| if let Bound::Fuse(fuse) = *bound { Some(fuse) } else { None });
    let Some(fuse) = fuse else { return };
    let unbounded = |other: &End| other.kind == Kind::Load && other.bounds.is_empty();
    let is_passive = match end.kind {
        Kind::Source | Kind::Feeds => ends.iter().any(unbounded),
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
        let unended = figure("unended_current");
        let capacity = is_heated.then(|| figure("continuous_capacity"));
        let (own, sums) = (own.clone(), sums.clone());
        build.plan.overloads.push(Overload { conductor, fuse, own, sums, is_passive, unended, capacity });
    }
}

/// When a fuse melts in the end is asked of those alone that bound an overload.
fn forget_unasked(build: &mut Build<'_>) {
    let mut is_asked = vec![false; build.plan.fuses.len()];
    for bound in build.plan.overloads.iter().flat_map(Overload::all) {
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
    let goes_both_ways = matches!(ends[own].kind, Kind::Source | Kind::Feeds | Kind::Both);
    let counts = |end: &End| goes_both_ways || !matches!(end.kind, Kind::Takes | Kind::Load);
    let others = ends.iter().enumerate().filter(|&(place, end)| place != own && counts(end));
    bounded(others.map(|(_, end)| end))
}

/// What bounds each of some ends; nothing where one of them is not bounded.
fn bounded<'e>(ends: impl Iterator<Item = &'e End>) -> Vec<Vec<Bound>> {
    let bounds: Vec<Vec<Bound>> = ends.map(|end| end.bounds.clone()).collect();
    if bounds.iter().any(Vec::is_empty) { Vec::new() } else { bounds }
}

/// What bounds each end that feeds a bus for good, those before boosts in place of them: a source counts once, however many
/// lead from it. Nothing where none does so through a boost, or one end is not bounded.
fn sources(buses: &[Vec<End>], bus: usize) -> Vec<Vec<Bound>> {
    let feeds = |end: &&End| matches!(end.kind, Kind::Source | Kind::Feeds | Kind::Both);
    let mut lows: Vec<usize> = buses[bus].iter().filter_map(|end| end.low).collect();
    lows.sort_unstable();
    lows.dedup();
    if lows.is_empty() {
        return Vec::new();
    }
    let here = buses[bus].iter().filter(feeds).filter(|end| end.low.is_none());
    let from_here = |stage: Option<usize>| stage.is_some() && buses[bus].iter().any(|end| end.stage == stage);
    let before = lows.iter().flat_map(|&low| &buses[low]).filter(feeds);
    bounded(here.chain(before.filter(|end| !from_here(end.stage))))
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
            // The trip of a stage with a transformer is one of its primary, and none ends what passes the diodes of a boost.
            let is_secondary = kind == Kind::Feeds && matches!(of.topology, Topology::Isolated(_));
            let low = steps_up_from(of);
            let mut end = end(build, of.part, &name, kind);
            end.bounds.extend(trip(build, stage).filter(|_| !is_secondary && low.is_none()));
            end.low = low.filter(|&low| kind == Kind::Feeds && low != bus);
            end.stage = Some(stage);
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
    End { conductors, bounds, kind, stage: None, low: None }
}

/// The low bus of a boost, or of a buck that is turned around.
fn steps_up_from(stage: &Stage) -> Option<usize> {
    match (&stage.topology, stage.ports.as_slice()) {
        (Topology::Chopper(_), [low, high]) if high.outward => low.bus,
        _ => None,
    }
}

/// What a stage does at one of its ports for good. A machine that is braked gives back for a while.
fn kind(build: &Build<'_>, stage: usize, port: usize) -> Kind {
    let of = &build.plan.stages[stage];
    match &of.topology {
        Topology::Bridge(_) => Kind::Takes,
        _ if of.ports[port].outward => Kind::Feeds,
        Topology::Chopper(chopper) if chopper.diode_side.is_none() => {
            let mut other = of.ports.iter().filter(|port| port.outward).filter_map(|port| port.bus);
            let own = of.ports[port].bus;
            if other.any(|bus| is_fed(build, bus, (stage, own))) { Kind::Both } else { Kind::Takes }
        }
        _ => Kind::Takes,
    }
}

/// Whether a source feeds a bus, by whatever stages, other than one beside it and than by way of the bus before that.
fn is_fed(build: &Build<'_>, bus: usize, (beside, before): (usize, Option<usize>)) -> bool {
    let mut seen: Vec<usize> = before.into_iter().chain([bus]).collect();
    let mut next = vec![bus];
    while let Some(at) = next.pop() {
        if !build.plan.buses[at].sources.is_empty() {
            return true;
        }
        let feeds = |stage: &Stage| stage.ports.iter().any(|port| port.outward && port.bus == Some(at));
        let stages = build.plan.stages.iter().enumerate();
        for (_, stage) in stages.filter(|&(place, stage)| place != beside && feeds(stage)) {
            for from in stage.ports.iter().filter(|port| !port.outward).filter_map(|port| port.bus) {
                if !seen.contains(&from) {
                    seen.push(from);
                    next.push(from);
                }
            }
        }
    }
    false
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
