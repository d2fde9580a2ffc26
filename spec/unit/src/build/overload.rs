//! What bounds an overload of each conductor on whose way a fuse stands, and of those behind converters that alone feed a bus.

use loadworthy_language::Section;
use loadworthy_language::quantity::Dimension;
use loadworthy_source::NodeId;

use crate::build::bounded::{Diodes, End, Kind, ends, is_of_converters, others, through, unlimited};
use crate::build::{Build, broken, duty};
use crate::graph::PowerGraph;
use crate::ids::{FigureId, InputId};
use crate::plan::{Apart, Bound, Delivered, Ends, Melted, Overload};

/// Adds every such conductor, once all fuses and trips are known.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    // What could not be read may hang on any bus.
    let is_whole = description.branches.is_whole()
        && description.stages.is_whole()
        && description.sources.is_whole()
        && description.loads.is_whole()
        // One that could not be read may be the fuse.
        && description.conductors.is_whole();
    let unread = if is_whole { None } else { unread(build) };
    for bus in 0..build.plan.buses.len() {
        let ends = ends(build, graph, bus);
        for place in 0..ends.len() {
            let end = &ends[place];
            let is_beyond = matches!(end.diodes, Some(Diodes::Beyond { .. }));
            // What a buck or a stage with a transformer delivers is not what it takes, and depends on voltages of both its sides.
            if end.kind == Kind::Feeds && !is_beyond {
                let own = end.trip.map_or_else(Ends::new, |trip| vec![vec![trip]]);
                let fuses: Vec<usize> = end.bounds.iter().filter_map(|bound| fuse_of(*bound)).collect();
                fuses.into_iter().for_each(|fuse| deliver(build, &ends, fuse, &own));
                continue;
            }
            let own = end.own();
            let sums = if is_whole { sums(build, graph, &ends, place) } else { Vec::new() };
            let all = || own.iter().chain(sums.iter().flatten().flatten());
            let fuse = all().find_map(|bound| match *bound {
                Bound::Fuse(fuse) => Some(fuse),
                _ => None,
            });
            // Behind a source that no fuse stands before that is what lacks.
            let draws = matches!(end.kind, Kind::Load | Kind::Takes);
            if fuse.is_none() && !(draws && is_of_converters(&ends)) {
                continue;
            }
            let is_bounded = all().next().is_some();
            let unlimited = if fuse.is_none() && !is_bounded { unlimited(build, &ends) } else { None };
            let unbounded = |other: &End| other.kind == Kind::Load && other.bounds.is_empty();
            let is_passive = match end.kind {
                Kind::Source | Kind::Feeds => ends.iter().any(unbounded),
                kind => kind == Kind::Load,
            };
            let counted = |other: &&End| other.kind == Kind::Feeds;
            let past_diodes =
                end.past_diodes().or_else(|| ends.iter().filter(counted).find_map(End::past_diodes));
            let fuses = end.bounds.iter().filter_map(|bound| fuse_of(*bound));
            for fuse in fuses {
                // One in the way back from a source bounds each of its feeds.
                if build.plan.melted.iter().any(|one| one.fuse == fuse) {
                    continue;
                }
                deliver(build, &ends, fuse, sums.first().map_or(&[], Vec::as_slice));
                let part = build.plan.conductors[build.plan.fuses[fuse].conductor].part;
                let opened = opened(build, &own);
                let cycle = (!opened.is_empty()).then(|| duty::cycle(build));
                let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
                let melted = Melted {
                    fuse,
                    own: own.clone(),
                    sums: sums.clone(),
                    is_passive,
                    unstated: end.unstated.or(unread),
                    melts: figure("melting_current", Dimension::Current),
                    unbroken: figure("unbroken_current", Dimension::Current),
                    apart: cycle.map(|cycle| Apart {
                        unbroken: figure("unbroken_by_itself", Dimension::Current),
                        load: figure("equivalent_load", Dimension::Current),
                        unmelted: figure("unmelted_current", Dimension::Current),
                        cycle,
                    }),
                    opened,
                };
                build.plan.melted.push(melted);
            }
            for &conductor in &end.conductors {
                let of = &build.plan.conductors[conductor];
                let is_judged =
                    of.carries.is_some() && (of.rated.is_some() || of.heat.is_some() || of.stands.is_some());
                if !is_judged || is_fuse(build, conductor) {
                    continue;
                }
                // What a shunt stands in power bounds it beside what it is rated for.
                let (part, is_reckoned) = (of.part, of.rated.is_none() || of.stands.is_some());
                let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
                let overload = Overload {
                    conductor,
                    fuse,
                    unlimited,
                    own: own.clone(),
                    sums: sums.clone(),
                    past_diodes,
                    is_passive,
                    unread,
                    unended: figure("unended_current"),
                    capacity: is_reckoned.then(|| figure("continuous_capacity")),
                };
                build.plan.overloads.push(overload);
            }
        }
    }
    forget_unasked(build);
}

/// The fuse that bounds a current.
const fn fuse_of(bound: Bound) -> Option<usize> {
    match bound {
        Bound::Fuse(fuse) => Some(fuse),
        _ => None,
    }
}

/// What converters deliver into a fault behind a fuse that no source drives one through.
fn deliver(build: &mut Build<'_>, ends: &[End], fuse: usize, bounds: &[Vec<Bound>]) {
    let of = &build.plan.fuses[fuse];
    if !of.drives.is_empty() || !of.others.is_empty() || !is_of_converters(ends) {
        return;
    }
    // What else stands on their way may open, and is not counted on.
    let is_source = |bound: &Bound| matches!(bound, Bound::Trip { .. } | Bound::Source(..));
    let delivered: Ends = bounds.iter().map(|end| end.iter().copied().filter(is_source).collect()).collect();
    let is_bounded = !delivered.is_empty() && delivered.iter().all(|end: &Vec<Bound>| !end.is_empty());
    let delivered = if is_bounded { delivered } else { Ends::new() };
    let unlimited = if delivered.is_empty() { unlimited(build, ends) } else { None };
    build.plan.fuses[fuse].delivered = Some(Delivered { ends: delivered, unlimited });
}

/// The first entry that could not be read and may stand on the way of a current, or hang on its bus.
fn unread(build: &mut Build<'_>) -> Option<InputId> {
    fn of<T>(name: &str, section: &Section<T>) -> Option<(String, NodeId)> {
        let mut entries = section.unread().map(|(own, entry)| (format!("{name}.{own}"), entry.value));
        let whole = || section.at.filter(|_| !section.is_whole()).map(|at| (name.to_owned(), at));
        entries.next().or_else(whole)
    }
    let all = build.description;
    let (path, at) = of("conductors", &all.conductors)
        .or_else(|| of("branches", &all.branches))
        .or_else(|| of("sources", &all.sources))
        .or_else(|| of("stages", &all.stages))
        .or_else(|| of("loads", &all.loads))?;
    Some(build.tables.input(path, Dimension::Ratio, broken(at)))
}

/// When a fuse melts in the end is asked of those alone that bound an overload.
fn forget_unasked(build: &mut Build<'_>) {
    let mut is_asked = vec![false; build.plan.fuses.len()];
    let of_conductors = build.plan.overloads.iter().map(|one| (&one.own, &one.sums));
    let of_fuses = build.plan.melted.iter().map(|one| (&one.own, &one.sums));
    for bound in of_conductors
        .chain(of_fuses)
        .flat_map(|(own, sums)| own.iter().chain(sums.iter().flatten().flatten()))
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

/// Ends of which the sum bounds the current of one: all others at its bus, and all before the diodes that it stands beyond.
fn sums(build: &mut Build<'_>, graph: &PowerGraph<'_>, ends: &[End], place: usize) -> Vec<Ends> {
    let others = others(build, graph, ends, place);
    let before = through(build, graph, &ends[place], &mut Vec::new());
    [others].into_iter().chain(before).filter(|ends| !ends.is_empty()).collect()
}

/// Contactors among what bounds a current, in the plan, each with the largest overload that it opens.
fn opened(build: &mut Build<'_>, own: &[Bound]) -> Vec<(usize, FigureId)> {
    let mut all = Vec::new();
    for k in 0..build.plan.conductors.len() {
        let part = build.plan.conductors[k].part;
        let is_one = |bound: &Bound| matches!(*bound, Bound::Opens { part: one, .. } if one == part);
        if own.iter().any(is_one) && build.plan.conductors[k].opens.is_some() {
            all.push((k, build.tables.figure_if_asked(part, "opened_current", Dimension::Current)));
        }
    }
    all
}
