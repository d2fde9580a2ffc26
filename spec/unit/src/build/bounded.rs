//! Everything that hangs on a bus, and what bounds the current of each for good.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::conductors::Conductor as Written;
use loadworthy_language::sections::sources::Source as WrittenSource;

use crate::build::Build;
use crate::build::trips::unstated_of_choke;
use crate::graph::PowerGraph;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{Bound, Circuit, Ends, Magnetic, MagneticRole, Stage, Topology};
use crate::solver::Late;
use crate::table::Stated;

/// Something that hangs on a bus.
pub(super) struct End {
    /// Conductors of its branch, in the plan.
    pub(super) conductors: Vec<usize>,
    /// What bounds the current of its branch, whichever way it flows.
    pub(super) bounds: Vec<Bound>,
    /// The trip of its stage, which bounds what no diode conducts.
    pub(super) trip: Option<Bound>,
    /// Its stage, in the plan.
    pub(super) stage: Option<usize>,
    /// Where it stands to the diodes of a boost or a buck.
    pub(super) diodes: Option<Diodes>,
    /// When the control of a contactor of its circuit opens it, where none there says so.
    pub(super) unstated: Option<InputId>,
    pub(super) kind: Kind,
}

/// An end of a boost or a buck, whose diodes lead from its low bus to its high one.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Diodes {
    /// At its low bus.
    Before,
    /// At its high bus.
    Beyond {
        /// Whether it may take from there as well.
        takes: bool,
    },
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Source,
    /// A stage that delivers to the bus.
    Feeds,
    /// A stage that takes from the bus and may feed it for good as well.
    Both,
    /// A stage that only takes from the bus, or whose machine gives back for a while.
    Takes,
    Load,
}

impl End {
    /// Whether it feeds the bus for good.
    fn gives(&self) -> bool {
        !matches!(self.kind, Kind::Takes | Kind::Load)
    }

    /// Whether current may flow through its branch either way for good.
    pub(super) fn goes_both_ways(&self) -> bool {
        matches!(self.kind, Kind::Source | Kind::Both) || self.diodes == Some(Diodes::Beyond { takes: true })
    }

    /// What bounds its own current, each by itself. No trip stops what a diode conducts.
    pub(super) fn own(&self) -> Vec<Bound> {
        let is_stopped = self.kind == Kind::Takes && self.diodes != Some(Diodes::Before);
        self.bounds.iter().copied().chain(self.trip.filter(|_| is_stopped)).collect()
    }

    /// The stage whose trip bounds nothing, since its diodes conduct on.
    pub(super) fn past_diodes(&self) -> Option<PartId> {
        let conducts = match self.diodes? {
            Diodes::Before => self.kind != Kind::Feeds,
            Diodes::Beyond { .. } => self.kind == Kind::Feeds,
        };
        match self.trip {
            Some(Bound::Trip { stage, .. }) if conducts => Some(stage),
            _ => None,
        }
    }
}

/// What bounds each other end that may drive a current through one for good; nothing where one of them is not bounded.
pub(super) fn others(build: &mut Build<'_>, graph: &PowerGraph<'_>, ends: &[End], own: usize) -> Ends {
    let is_any_way = ends[own].goes_both_ways() || ends[own].kind == Kind::Feeds;
    let mut all = Vec::new();
    for (_, end) in
        ends.iter().enumerate().filter(|&(place, end)| place != own && (is_any_way || end.gives()))
    {
        let Some(of_end) = driven(build, graph, end, is_any_way, &mut Vec::new()) else { return Vec::new() };
        all.extend(of_end);
    }
    all
}

/// What bounds each of the ends that an end stands for: those that feed it through diodes stand in its place. `is_any_way`
/// where what it takes counts as well as what it gives. None where nothing bounds it.
fn driven(
    build: &mut Build<'_>,
    graph: &PowerGraph<'_>,
    end: &End,
    is_any_way: bool,
    seen: &mut Vec<usize>,
) -> Option<Ends> {
    let mut bounds = end.bounds.clone();
    let is_stopped = match end.diodes {
        Some(Diodes::Before) => !is_any_way,
        Some(Diodes::Beyond { .. }) => !end.gives(),
        None => true,
    };
    bounds.extend(end.trip.filter(|_| is_stopped));
    if bounds.is_empty() { through(build, graph, end, seen) } else { Some(vec![bounds]) }
}

/// What bounds an end beyond the diodes of a boost or a buck from before them: no more leaves the high side than enters the
/// low one. That is the branch of its low side by itself where anything bounds that, else each end that feeds its low bus.
/// None where nothing bounds one of them.
pub(super) fn through(
    build: &mut Build<'_>,
    graph: &PowerGraph<'_>,
    end: &End,
    seen: &mut Vec<usize>,
) -> Option<Ends> {
    let (Some(Diodes::Beyond { takes }), Some(stage)) = (end.diodes, end.stage) else { return None };
    if end.kind != Kind::Feeds || seen.contains(&stage) {
        return None;
    }
    seen.push(stage);
    let low = build.plan.stages[stage].ports.first()?.bus?;
    let ends = ends(build, graph, low);
    let own = ends.iter().find(|one| one.stage == Some(stage)).filter(|own| !own.bounds.is_empty());
    if let Some(own) = own {
        return Some(vec![own.bounds.clone()]);
    }
    // What it takes from its high bus leaves it towards all others at its low one.
    let mut all = Vec::new();
    for one in ends.iter().filter(|one| (takes || one.gives()) && one.stage != Some(stage)) {
        all.extend(driven(build, graph, one, takes, seen)?);
    }
    (!all.is_empty()).then_some(all)
}

/// Everything that hangs on a bus.
pub(super) fn ends(build: &mut Build<'_>, graph: &PowerGraph<'_>, bus: usize) -> Vec<End> {
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
            // The trip of a stage with a transformer is one of its primary; what leaves it passes the chokes at its output.
            let is_secondary = kind == Kind::Feeds && matches!(of.topology, Topology::Isolated(_));
            let end = end(build, (of.part, &name), Vec::new(), kind);
            let trip = if is_secondary { of_chokes(build, stage) } else { trip(build, stage) };
            ends.push(End { trip, stage: Some(stage), diodes: diodes(build, stage, port), ..end });
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
    let returned = returned.iter().filter(|one| !conductors.contains(one));
    let circuit = || conductors.iter().chain(returned.clone()).copied();
    bounds.extend(circuit().filter_map(|one| {
        let conductor = &build.plan.conductors[one];
        let opens = conductor.opens?;
        Some(Bound::Opens { part: conductor.part, above: opens.above, after: opens.after })
    }));
    let opens = bounds.iter().any(|bound| matches!(bound, Bound::Opens { .. }));
    let unstated = circuit().filter(|_| !opens).find_map(|one| unstated(build, one));
    End { conductors, bounds, trip: None, stage: None, diodes: None, unstated, kind }
}

/// Adds the contactor within a source that its branch names.
fn within(build: &mut Build<'_>, graph: &PowerGraph<'_>, (source, bus): (PartId, &str), end: &mut End) {
    let node = build.tables.part_of(source).path.clone();
    let named = build.drawn.of_source(&node).iter().find_map(|branch| {
        let parted_by = build.description.branches.entry(branch)?.parted_by.as_ref()?;
        (graph.ends_of(branch) == Some((node.as_str(), bus))).then_some(parted_by)
    });
    let Some(name) = named.map(|named| named.value.clone()) else { return };
    let is_drawn = !build.places.conductors_named(&name).is_empty();
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
    let waits = match opens {
        Some(opens) => {
            build.stated_or(opens.after.as_ref(), entry.key, &defaults::OPENS_AFTER, |time| time.si())
        }
        None => Stated { value: 0.0, origin: Origin::Absent { near: Some(entry.key) } },
    };
    let part = build.tables.part(name.clone(), entry.key, None);
    let above = build.tables.input(format!("conductors.{name}.opens.above"), Dimension::Current, stated);
    let after = build.tables.input(format!("conductors.{name}.opens.after"), Dimension::Time, waits);
    let [above, after] = [above, after].map(|input| build.tables.read_by(Late::Fuses, input));
    if opens.is_some() {
        end.bounds.push(Bound::Opens { part, above, after });
        end.unstated = None;
    } else if !end.bounds.iter().any(|bound| matches!(bound, Bound::Opens { .. })) {
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

/// Where a port of a boost or a buck stands to its diodes.
fn diodes(build: &Build<'_>, stage: usize, port: usize) -> Option<Diodes> {
    let Topology::Chopper(chopper) = &build.plan.stages[stage].topology else { return None };
    if port == 0 {
        return Some(Diodes::Before);
    }
    let high = build.plan.stages[stage].ports[port].bus;
    let takes = chopper.diode_side.is_none() && high.is_some_and(|high| is_fed(build, high, stage));
    Some(Diodes::Beyond { takes })
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

/// The trip of the chokes at the output of a stage with a transformer: the mean of a current is no more than its crest.
fn of_chokes(build: &Build<'_>, stage: usize) -> Option<Bound> {
    let choke = output_choke(build, stage)?;
    let (stage, legs) = (build.plan.stages[stage].part, Some(choke.count));
    choke.core.trip.map(|level| Bound::Trip { stage, level, tolerance: None, legs })
}

fn output_choke<'b>(build: &'b Build<'_>, stage: usize) -> Option<&'b Magnetic> {
    let own = build.plan.stages[stage].magnetics.iter().map(|&one| &build.plan.magnetics[one]);
    own.into_iter().find(|one| matches!(one.role, MagneticRole::OutputChoke))
}

/// What would say how much the converters at a bus deliver at most, where they alone feed it, and one of them does not.
pub(super) fn unlimited(build: &mut Build<'_>, ends: &[End]) -> Option<InputId> {
    let silent =
        ends.iter().find(|end| end.kind == Kind::Feeds && end.bounds.is_empty() && end.trip.is_none());
    let stage = silent?.stage?;
    if let Some(known) = output_choke(build, stage).and_then(|choke| choke.core.unstated_trip) {
        return Some(known);
    }
    // A chopper is switched off by the current of its choke.
    let of = &build.plan.stages[stage];
    if let (Topology::Chopper(_), Some(&choke)) = (&of.topology, of.magnetics.first()) {
        return unstated_of_choke(build, stage, choke);
    }
    let of = build.tables.part_of(of.part);
    let (path, near) = (format!("stages.{}.trip", of.path), of.at);
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
    Some(build.tables.input(path, Dimension::Current, absent))
}

/// Whether converters alone feed a bus, none of them through diodes that conduct on whatever its control does.
pub(super) fn is_of_converters(ends: &[End]) -> bool {
    let feeds = |end: &End| end.kind == Kind::Feeds && !matches!(end.diodes, Some(Diodes::Beyond { .. }));
    let mut gives = ends.iter().filter(|end| end.gives()).peekable();
    gives.peek().is_some() && gives.all(feeds)
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
    let tolerance = Some(trip.tolerance);
    is_stated.then_some(Bound::Trip { stage: of.part, level: trip.level, tolerance, legs })
}
