//! Which contactor parts each branch from its source: its own, that of the way back, or one that it names.

use loadworthy_language::Description;
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::sources::Source;

use crate::build::Build;
use crate::build::power::place_of;
use crate::graph::PowerGraph;
use crate::plan::OnePole;

/// Adds the branches from batteries and fuel cells that nothing parts from them. What a generator gives ends as it stops.
pub(crate) fn join(build: &mut Build<'_>, graph: &PowerGraph<'_>) {
    let description = build.description;
    // A branch that could not be read may hold the contactor.
    if !description.branches.is_whole() {
        return;
    }
    let mut unparted = Vec::new();
    for (name, entry, branch) in description.branches.readable() {
        let Some((node, bus)) = graph.ends_of(name) else { continue };
        let is_live =
            matches!(description.sources.entry(node), Some(Source::Battery(_) | Source::FuelCell(_)));
        let Some(bus) = place_of(build, Some(bus)).filter(|_| is_live) else { continue };
        if !is_parted(build, graph, branch, (name, node)) {
            // One that leads through nothing parts nothing either.
            let part =
                build.branch(name).unwrap_or_else(|| build.tables.part(name.to_owned(), entry.key, None));
            unparted.push((part, bus));
        }
    }
    build.plan.unparted = unparted;
    let poles = (0..build.plan.sources.len()).filter_map(|source| one_pole(build, graph, source));
    build.plan.one_pole = poles.collect();
}

/// What opens one pole of a battery or a fuel cell and leaves the other joined. Of one that stands within the source nobody says in which
/// pole it does.
fn one_pole(build: &Build<'_>, graph: &PowerGraph<'_>, source: usize) -> Option<OnePole> {
    let description = build.description;
    let path = |part| build.tables.part_of(part).path.as_str();
    let (name, bus) = (path(build.plan.sources[source].part), build.plan.sources[source].bus?);
    if !matches!(description.sources.entry(name), Some(Source::Battery(_) | Source::FuelCell(_))) {
        return None;
    }
    let of_source = build.drawn.of_source(name).iter();
    let own: Vec<(&str, &Branch)> = of_source
        .filter_map(|&branch| Some((branch, description.branches.entry(branch)?)))
        .filter(|(_, written)| written.around.is_none())
        .collect();
    // A contactor within the source, or a conductor that could not be read, may open the other pole.
    let within =
        |branch: &Branch| branch.parted_by.as_ref().is_some_and(|named| !build.drawn.is_drawn(&named.value));
    let is_unread = |branch: &Branch| {
        let mut through = branch.through.iter().flat_map(|through| &through.value);
        through.any(|name| description.conductors.entry(&name.value).is_none())
    };
    if own.iter().any(|(_, branch)| within(branch) || is_unread(branch)) {
        return None;
    }
    let is_contactor = |conductor: usize| {
        let read = description.conductors.entry(path(build.plan.conductors[conductor].part));
        matches!(read, Some(Conductor::Contactor(_)))
    };
    let contactors = |is_return: bool| -> Vec<usize> {
        let led = own.iter().filter(|(branch, _)| graph.ends_of(branch).is_none() == is_return);
        let all = led.flat_map(|(branch, _)| build.places.conductors_in(branch));
        all.copied().filter(|&one| is_contactor(one)).collect()
    };
    match [contactors(false), contactors(true)] {
        [ahead, back] if back.is_empty() && !ahead.is_empty() => {
            Some(OnePole { source, bus, contactors: ahead, is_return: false })
        }
        [ahead, back] if ahead.is_empty() && !back.is_empty() => {
            Some(OnePole { source, bus, contactors: back, is_return: true })
        }
        _ => None,
    }
}

/// Whether a contactor stands in a branch, on the way back to its source, or within the source by what the branch names.
fn is_parted(
    build: &Build<'_>,
    graph: &PowerGraph<'_>,
    branch: &Branch,
    (name, source): (&str, &str),
) -> bool {
    let description = build.description;
    let is_its_own = |other: &&&str| **other == name || graph.ends_of(other).is_none();
    let on_the_way = build.drawn.of_source(source).iter().filter(is_its_own);
    let mut written = on_the_way.filter_map(|other| description.branches.entry(other));
    if written.any(|one| holds_a_contactor(description, one)) {
        return true;
    }
    // What stands in a branch that is not on the way parts another circuit.
    branch.parted_by.as_ref().is_some_and(|named| !build.drawn.is_drawn(&named.value))
}

/// Whether a contactor stands in a branch; a conductor that could not be read may be one.
fn holds_a_contactor(description: &Description, branch: &Branch) -> bool {
    let mut through = branch.through.iter().flat_map(|through| &through.value);
    through.any(|name| {
        let found = description.conductors.entry(&name.value);
        branch.around.is_none() && found.is_none_or(|found| matches!(found, Conductor::Contactor(_)))
    })
}
