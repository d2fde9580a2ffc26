//! Where the fuse stands that `protected_by` names, and the contactor of `parted_by`: only a fuse on the way from a source ends
//! a fault in the branch.

use std::collections::BTreeSet;

use loadworthy_language::Description;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::Stage;
use loadworthy_physics::Current;
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::bank::shared;
use crate::graph::PowerGraph;
use crate::origin::Origin;
use crate::plan::{Protection, Stands};
use crate::table::Stated;

/// Adds what each branch says of its protection: of every branch that names a fuse, and of sources' without one.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    for (name, entry, branch) in description.branches.readable() {
        let own = build.branch(name);
        // One that leads through nothing is a branch all the same.
        let part = own.unwrap_or_else(|| build.tables.part(name.to_owned(), entry.key, None));
        let Some(fuse) = &branch.protected_by else {
            match lacks(build, graph, name) {
                Lacks::Nothing => {}
                Lacks::Fuse => {
                    let unfused = Protection { branch: part, fuse: None, stands: Stands::Nowhere };
                    build.plan.protections.push(unfused);
                }
                Lacks::Knowledge(source, at) => {
                    let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
                    let path = format!("sources.{source}.short_circuit.highest");
                    let unknown = build.tables.input(path, Dimension::Current, stated);
                    build.plan.bare_sources.push((part, unknown));
                }
                Lacks::Conductors => {
                    let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(entry.key) } };
                    let path = format!("branches.{name}.through");
                    let unknown = build.tables.input(path, Dimension::Ratio, stated);
                    build.plan.bare_sources.push((part, unknown));
                }
            }
            continue;
        };
        let stands = stands(build, graph, name, &fuse.value);
        let named = Some((fuse.value.clone(), fuse.at));
        build.plan.protections.push(Protection { branch: part, fuse: named, stands });
    }
    if build.plan.protections.iter().filter(|one| one.is_unfused()).nth(1).is_some() {
        lack_together(build);
    }
}

/// What branches that lack the same share: the section that they stand in.
pub(crate) fn lack_together(build: &mut Build<'_>) {
    let near = build.description.branches.at;
    let absent = Stated { value: f64::NAN, origin: Origin::Absent { near } };
    let section = shared(build, "branches", "branches", Dimension::Ratio, absent);
    build.plan.branches = Some(section);
}

/// Sources that no branch leads from: where they stand on their bus, and what protects them, nobody says.
pub(crate) fn directly(build: &mut Build<'_>, is_drawn: impl Fn(&str) -> bool) {
    let description = build.description;
    let drawn: Vec<&String> = description.sources.keys().filter(|name| is_drawn(name)).collect();
    // One that leads around a conductor begins where that does.
    let branches = || {
        let all = description.branches.readable().map(|(.., branch)| branch);
        all.filter(|branch| branch.around.is_none()).map(|branch| branch.from.as_ref())
    };
    let led: BTreeSet<&str> = branches().flatten().map(|from| from.value.as_str()).collect();
    // A branch that could not be read, or does not say where it begins, may be that of any source.
    let may_be_any =
        description.branches.void || build.drawn.unread().is_some() || branches().any(|from| from.is_none());
    for source in 0..build.plan.sources.len() {
        let part = build.plan.sources[source].part;
        let (name, at) = (build.tables.part_of(part).path.clone(), build.tables.part_of(part).at);
        // A fuel cell or a generator is asked where what protects another source is drawn.
        let is_asked = matches!(build.description.sources.entry(&name), Some(Source::Battery(_)))
            || drawn.iter().any(|other| **other != name);
        let is_led = may_be_any || led.contains(name.as_str()) || is_drawn(&name);
        if is_asked && !is_led {
            let stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } };
            let path = format!("a branch from {name}");
            let branch = build.tables.input(path, Dimension::Ratio, stated);
            build.plan.bare_sources.push((part, branch));
        }
    }
}

/// What a branch lacks for its protection.
enum Lacks {
    Nothing,
    Fuse,
    /// What this source drives into a short circuit.
    Knowledge(String, NodeId),
    /// Anything that it could be held against.
    Conductors,
}

/// What a branch from a source lacks that has no fuse: of a battery a fuse, of a fuel cell or a generator too, where what it
/// drives into a short circuit for good is more than one of its conductors carries for good and no contactor there ends it.
/// A conductor that could not be read may be the fuse.
fn lacks(build: &Build<'_>, graph: &PowerGraph<'_>, name: &str) -> Lacks {
    use loadworthy_language::sections::conductors::Conductor;
    let description = build.description;
    let Some((node, _)) = graph.ends_of(name) else { return Lacks::Nothing };
    let Some(source) = description.sources.entry(node) else { return Lacks::Nothing };
    let through = description.branches.entry(name).and_then(|branch| branch.through.as_ref());
    let through = through.iter().flat_map(|through| &through.value);
    let through: Option<Vec<&Conductor>> =
        through.map(|name| description.conductors.entry(&name.value)).collect();
    let Some(through) = through else { return Lacks::Nothing };
    if through.iter().any(|one| matches!(one, Conductor::Fuse(_))) {
        return Lacks::Nothing;
    }
    let short = match source {
        Source::Battery(_) => return Lacks::Fuse,
        Source::FuelCell(cell) => cell.short_circuit.as_ref(),
        Source::Generator(generator) => generator.short_circuit.as_ref(),
    };
    if through.is_empty() {
        return Lacks::Conductors;
    }
    let own = build.places.conductors_in(name).iter().map(|&one| &build.plan.conductors[one]);
    let rated = own.filter_map(|one| one.rated).map(|rated| build.tables.input_of(rated).values[0].value);
    let least = rated.fold(f64::INFINITY, f64::min);
    let si = |given: &Option<Given<Current>>| given.as_ref().map(|amps| amps.value.si());
    let Some(amps) = short.and_then(|short| si(&short.highest)) else {
        let at = description.sources.get(node).map(|entry| entry.key);
        return at.map_or(Lacks::Nothing, |at| Lacks::Knowledge(node.to_owned(), at));
    };
    let ends = |one: &&Conductor| match one {
        Conductor::Contactor(contactor) => {
            let above = contactor.opens.as_ref().and_then(|opens| si(&opens.above));
            let breaks = contactor.breaks.as_ref().and_then(|breaks| si(&breaks.current));
            above.is_some_and(|above| above <= least) && breaks.is_some_and(|breaks| amps <= breaks)
        }
        _ => false,
    };
    if amps <= least || through.iter().any(ends) { Lacks::Nothing } else { Lacks::Fuse }
}

/// Where the fuse that a branch names stands.
fn stands(build: &mut Build<'_>, graph: &PowerGraph<'_>, name: &str, fuse: &str) -> Stands {
    let drawn = build.drawn.branch_of(fuse);
    if let (None, Some(at)) = (drawn, build.drawn.unread()) {
        let stated = Stated { value: f64::NAN, origin: Origin::Broken(at) };
        let path = format!("the branch of {fuse}");
        return Stands::Unread(build.tables.input(path, Dimension::Ratio, stated));
    }
    let Some(place) = drawn.or_else(|| build.drawn.holding(fuse)) else { return Stands::Nowhere };
    if is_between(build, graph, build.drawn.circuit_of(name), place) {
        return Stands::OnTheWay;
    }
    build.branch(place).map_or(Stands::Nowhere, Stands::In)
}

/// Whether what stands in one branch lies between a source and another: in the same circuit, or before a bus that feeds the
/// other one, through the diodes of a boost as well.
fn is_between(build: &Build<'_>, graph: &PowerGraph<'_>, branch: &str, place: &str) -> bool {
    let Some(source) = build.drawn.source_of(place) else { return branch == place };
    let (bus, is_return) =
        (|name| graph.ends_of(name).map(|(_, bus)| bus), |name| graph.ends_of(name).is_none());
    match build.drawn.source_of(branch) {
        // Branches from one source to buses lie side by side; one to a bus and one to a rail make a circuit.
        Some(own) => branch == place || own == source && is_return(branch) != is_return(place),
        None => bus(branch).is_some_and(|bus| feeds(build.description, graph, bus, source)),
    }
}

/// Whether a source stands at a bus, or at the low one of a boost or a buck whose diodes feed it.
fn feeds(description: &Description, graph: &PowerGraph<'_>, bus: &str, source: &str) -> bool {
    let mut seen = vec![bus];
    let mut next = vec![bus];
    while let Some(at) = next.pop() {
        if graph.sources_of(at).contains(&source) {
            return true;
        }
        for (_, _, stage) in description.stages.readable() {
            let (low, high) = match stage {
                Stage::Boost(boost) => (&boost.low_bus, &boost.high_bus),
                Stage::Buck(buck) => (&buck.to, &buck.from),
                _ => continue,
            };
            let (Some(low), Some(high)) = (low, high) else { continue };
            if high.value == at && !seen.contains(&low.value.as_str()) {
                seen.push(&low.value);
                next.push(&low.value);
            }
        }
    }
    false
}
