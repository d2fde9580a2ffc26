//! Where the fuse stands that `protected_by` names, and the contactor of `parted_by`: only a fuse on the way from a source ends
//! a fault in the branch.

use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::branches::Branch as Written;
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::Stage;
use loadworthy_language::{Description, SectionEntry};
use loadworthy_physics::Current;
use loadworthy_source::{Located, NodeId};

use crate::build::Build;
use crate::graph::PowerGraph;
use crate::ids::PartId;
use crate::origin::Origin;
use crate::plan::{Protection, Stands};
use crate::table::Stated;

/// The fuse that stands within the source of a branch: one that the branch names and that is drawn nowhere. Where
/// several branches name it, it is that of the first.
pub(crate) fn within_source<'d>(
    description: &'d Description,
    graph: &PowerGraph<'_>,
    name: &str,
) -> Option<&'d Located<String>> {
    within(description, graph, name, |branch| branch.protected_by.as_ref())
}

/// The contactor that parts a branch within its source, by the same rule.
pub(crate) fn contactor_within<'d>(
    description: &'d Description,
    graph: &PowerGraph<'_>,
    name: &str,
) -> Option<&'d Located<String>> {
    within(description, graph, name, |branch| branch.parted_by.as_ref())
}

fn within<'d>(
    description: &'d Description,
    graph: &PowerGraph<'_>,
    name: &str,
    named: fn(&Written) -> Option<&Located<String>>,
) -> Option<&'d Located<String>> {
    let own = named(description.branches.entry(name)?)?;
    let names_it = |other: &str, branch: &Written| {
        let is_it = named(branch).is_some_and(|named| named.value == own.value);
        is_it && source_of(description, graph, other).is_some()
    };
    let mut naming = description.branches.readable().filter(|(other, _, branch)| names_it(other, branch));
    let first = naming.next().map(|(first, ..)| first);
    let is_drawn = standing(description, &own.value).is_some() || unread(description).is_some();
    (first == Some(name) && !is_drawn).then_some(own)
}

/// The branch that a conductor stands in.
fn standing<'d>(description: &'d Description, conductor: &str) -> Option<&'d str> {
    let passes = |branch: &Written| {
        branch.through.iter().flat_map(|through| &through.value).any(|name| name.value == conductor)
    };
    let mut all = description.branches.readable();
    all.find(|(_, _, branch)| passes(branch)).map(|(name, ..)| name)
}

/// Whether a conductor stands in a branch.
pub(crate) fn is_drawn(description: &Description, conductor: &str) -> bool {
    standing(description, conductor).is_some()
}

/// Branches that could not be read, of which one may hold any conductor.
fn unread(description: &Description) -> Option<NodeId> {
    let entry = description.branches.iter().find(|(_, entry)| entry.read().is_none());
    entry.map(|(_, entry)| entry.value)
}

/// The source at an end of a branch, of one that leads back from it to a negative rail as well.
pub(crate) fn source_of<'d>(
    description: &'d Description,
    graph: &PowerGraph<'d>,
    branch: &str,
) -> Option<&'d str> {
    let written = description.branches.entry(branch)?;
    let joins = graph.ends_of(branch).map(|(node, _)| node);
    let is_source = |name: &&str| description.sources.contains_key(*name);
    let ends = [&written.from, &written.to].into_iter().flatten().map(|end| end.value.as_str());
    joins.into_iter().chain(ends).find(is_source)
}

/// The branch whose circuit a branch is part of: that of the conductor that it leads around, or itself.
pub(crate) fn circuit_of<'d>(description: &'d Description, branch: &'d str) -> &'d str {
    let around = description.branches.entry(branch).and_then(|branch| branch.around.as_ref());
    around.and_then(|around| standing(description, &around.value)).unwrap_or(branch)
}

/// Adds what each branch says of its protection: of every branch that names a fuse, and of sources' without one.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    for (name, entry, branch) in description.branches.readable() {
        let mut branches = build.plan.conductors.iter().map(|one| one.branch);
        let own = branches.find(|&branch| build.tables.part_of(branch).path == name);
        // One that leads through nothing is a branch all the same.
        let part = own.unwrap_or_else(|| build.tables.part(name.to_owned(), entry.key, None));
        let Some(fuse) = &branch.protected_by else {
            match lacks(build, graph, name, part) {
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
}

/// Sources that no branch leads from: where they stand on their bus, and what protects them, nobody says.
pub(crate) fn directly(build: &mut Build<'_>, is_drawn: impl Fn(&str) -> bool) {
    for source in 0..build.plan.sources.len() {
        let part = build.plan.sources[source].part;
        let (name, at) = (build.tables.part_of(part).path.clone(), build.tables.part_of(part).at);
        // A fuel cell or a generator is asked where what protects another source is drawn.
        let is_asked = matches!(build.description.sources.entry(&name), Some(Source::Battery(_)))
            || build.description.sources.keys().any(|other| *other != name && is_drawn(other));
        // A branch that could not be read may be its own.
        let leads = |entry: &SectionEntry<Written>| {
            // One that leads around a contactor leads from no source.
            entry.read().is_none_or(|branch| {
                branch.around.is_none() && branch.from.as_ref().is_none_or(|from| from.value == name)
            })
        };
        let is_led = is_drawn(&name)
            || build.description.branches.void
            || build.description.branches.iter().any(|(_, entry)| leads(entry));
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
fn lacks(build: &Build<'_>, graph: &PowerGraph<'_>, name: &str, branch: PartId) -> Lacks {
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
    let own = build.plan.conductors.iter().filter(|one| one.branch == branch);
    let rated = own.filter_map(|one| one.rated).map(|rated| build.tables.input_of(rated).values[0].value);
    let least = rated.fold(f64::INFINITY, f64::min);
    let si = |given: &Option<Given<Current>>| given.as_ref().map(|amps| amps.value.si());
    let Some(amps) = short.and_then(|short| si(&short.highest)) else {
        let part = build.tables.parts().iter().find(|part| part.path == node);
        return part.map_or(Lacks::Nothing, |part| Lacks::Knowledge(node.to_owned(), part.at));
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
    let description = build.description;
    let within = |name: &str| within_source(description, graph, name).is_some_and(|own| own.value == fuse);
    let drawn = standing(description, fuse);
    if let (None, Some(at)) = (drawn, unread(description)) {
        let stated = Stated { value: f64::NAN, origin: Origin::Broken(at) };
        let path = format!("the branch of {fuse}");
        return Stands::Unread(build.tables.input(path, Dimension::Ratio, stated));
    }
    let holds_it = || description.branches.readable().map(|(name, ..)| name).find(|name| within(name));
    let Some(place) = drawn.or_else(holds_it) else { return Stands::Nowhere };
    if is_between(description, graph, circuit_of(description, name), place) {
        return Stands::OnTheWay;
    }
    let mut branches = build.plan.conductors.iter().map(|one| one.branch);
    let place = branches.find(|&branch| build.tables.part_of(branch).path == place);
    place.map_or(Stands::Nowhere, Stands::In)
}

/// Whether what stands in one branch lies between a source and another: in the same circuit, or before a bus that feeds the
/// other one, through the diodes of a boost as well.
fn is_between(description: &Description, graph: &PowerGraph<'_>, branch: &str, place: &str) -> bool {
    let Some(source) = source_of(description, graph, place) else { return branch == place };
    let (bus, is_return) =
        (|name| graph.ends_of(name).map(|(_, bus)| bus), |name| graph.ends_of(name).is_none());
    match source_of(description, graph, branch) {
        // Branches from one source to buses lie side by side; one to a bus and one to a rail make a circuit.
        Some(own) => branch == place || own == source && is_return(branch) != is_return(place),
        None => bus(branch).is_some_and(|bus| feeds(description, graph, bus, source)),
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
