//! Entries and sections that could not be read, for whatever adds up over all of a section.

use loadworthy_language::Section;
use loadworthy_language::quantity::Dimension;
use loadworthy_source::NodeId;

use crate::build::{Build, broken};
use crate::plan::Lost;

/// Kinds of conductors that are no fuses.
const OTHERS: [&str; 9] = [
    "busbar",
    "cable",
    "connector",
    "contactor",
    "foil",
    "resistor",
    "laminated_busbar",
    "line_choke",
    "sensor",
];

/// Notes all of them, in the order of the sections.
pub(crate) fn note(build: &mut Build<'_>) {
    let all = build.description;
    let mut found: Vec<(&'static str, Option<&str>, NodeId)> = Vec::new();
    of("sources", &all.sources, &mut found);
    of("buses", &all.buses, &mut found);
    of("branches", &all.branches, &mut found);
    of("stages", &all.stages, &mut found);
    of("machines", &all.machines, &mut found);
    of("loads", &all.loads, &mut found);
    of("devices", &all.devices, &mut found);
    of("capacitors", &all.capacitors, &mut found);
    of("magnetics", &all.magnetics, &mut found);
    of("conductors", &all.conductors, &mut found);
    // Of conductors those that may be fuses, once more.
    let kind = |at: NodeId| build.tree.scalar(build.tree.value_at(at, &["kind"])?).map(|scalar| scalar.text);
    let may_be_fuse = |&&(section, name, at): &&(&str, Option<&str>, NodeId)| {
        section == "conductors" && (name.is_none() || kind(at).is_none_or(|kind| !OTHERS.contains(&kind)))
    };
    let fuses: Vec<_> = found.iter().filter(may_be_fuse).map(|&(_, name, at)| ("fuses", name, at)).collect();
    found.extend(fuses);
    of("gate_supplies", &all.gate_supplies, &mut found);
    of("drivers", &all.drivers, &mut found);
    of("controllers", &all.controllers, &mut found);
    of("sensors", &all.sensors, &mut found);
    of("signals", &all.signals, &mut found);
    for (section, part) in [("isolation", all.isolation.is_void()), ("cooling", all.cooling.is_void())] {
        let at = if section == "isolation" { all.isolation.at() } else { all.cooling.at() };
        found.extend(at.filter(|_| part).map(|at| (section, None, at)));
    }
    for (section, name, at) in found {
        let of = if section == "fuses" { "conductors" } else { section };
        let path = name.map_or_else(|| of.to_owned(), |name| format!("{of}.{name}"));
        let input = build.tables.input(path, Dimension::Ratio, broken(at));
        build.plan.lost.push(Lost { section, input, is_whole: name.is_none() });
    }
}

fn of<'d, T>(
    name: &'static str,
    section: &'d Section<T>,
    found: &mut Vec<(&'static str, Option<&'d str>, NodeId)>,
) {
    found.extend(section.at.filter(|_| section.void).map(|at| (name, None, at)));
    found.extend(section.unread().map(|(own, entry)| (name, Some(own), entry.value)));
    // One that is named and not there, too.
    let is_there = |own: &&String| !section.contains_key(own.as_str());
    let gone = section.unfound.iter().filter(is_there).zip(section.at.into_iter().cycle());
    found.extend(gone.map(|(own, at)| (name, Some(own.as_str()), at)));
}
