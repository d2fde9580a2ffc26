//! What is declared and used by nothing, or on no path of current or coolant.
//!
//! Entries of parts files are a stock to choose from and never count as unused.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::stages::Stage;
use loadworthy_language::{Description, OVERRIDE, Section, SectionEntry};
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::cooling::has_no_path;
use crate::ids::InputId;
use crate::plan::{Declared, Unused, WhyUnused};
use crate::table::Stated;

/// An entry that is used by nothing.
struct Entry<'d> {
    what: Declared,
    name: &'d str,
    at: NodeId,
    why: WhyUnused,
}

/// Finds every entry that is used by nothing.
pub(crate) fn unused(build: &mut Build<'_>, patch: Option<NodeId>) {
    let description = build.description;
    let mut used: BTreeSet<&str> = BTreeSet::new();
    let mut all: Vec<Entry<'_>> = Vec::new();
    for (_, _, stage) in description.stages.readable() {
        used.extend(stage.buses().into_iter().filter_map(|(_, bus)| Some(bus?.value.as_str())));
        used.extend(stage.magnetics().into_iter().filter_map(|(_, name)| Some(name?.value.as_str())));
        used.extend(stage.controller().map(|controller| controller.value.as_str()));
        let fitted = stage.positions().into_iter().filter_map(|(_, seat)| seat?.fitted.as_ref());
        used.extend(fitted.map(|fitted| fitted.value.as_str()));
        if let Stage::ThreePhaseBridge(bridge) = stage {
            used.extend(bridge.feeds.as_ref().map(|machine| machine.value.as_str()));
        }
    }
    for (_, _, source) in description.sources.readable() {
        used.extend(source.bus().map(|bus| bus.value.as_str()));
    }
    for (_, _, load) in description.loads.readable() {
        used.extend(load.bus.as_ref().map(|bus| bus.value.as_str()));
    }
    for (_, _, branch) in description.branches.readable() {
        used.extend([&branch.from, &branch.to].into_iter().flatten().map(|end| end.value.as_str()));
        used.extend(branch.through.iter().flat_map(|names| &names.value).map(|name| name.value.as_str()));
        let elsewhere = [&branch.protected_by, &branch.parted_by].into_iter().flatten();
        used.extend(elsewhere.map(|name| name.value.as_str()));
    }
    for (_, _, driver) in description.drivers.readable() {
        used.extend(driver.controller.as_ref().map(|controller| controller.value.as_str()));
    }
    // A bus that feeds gates, controllers or coils has these on it.
    let supplies = description
        .gate_supplies
        .readable()
        .flat_map(|(.., supply)| [&supply.from, &supply.also_from].into_iter().flatten());
    let controllers = description
        .controllers
        .readable()
        .flat_map(|(.., one)| [&one.from, &one.also_from].into_iter().flatten());
    let coils = || description.conductors.readable().filter_map(|(.., one)| one.coil());
    let held = coils().flat_map(|coil| [&coil.from, &coil.also_from].into_iter().flatten());
    used.extend(supplies.chain(controllers).chain(held).map(|from| from.value.as_str()));
    used.extend(coils().filter_map(|coil| Some(coil.controller.as_ref()?.value.as_str())));
    for (_, _, sensor) in description.sensors.readable() {
        used.extend(
            sensor.read_by.iter().flat_map(|all| &all.value).map(|controller| controller.value.as_str()),
        );
    }
    for (_, _, capacitor) in description.capacitors.readable() {
        use loadworthy_language::sections::capacitors::Capacitor;
        if let Capacitor::Bank(bank) = capacitor {
            used.extend(bank.each.as_ref().map(|each| each.value.as_str()));
        }
    }
    if !description.stages.is_whole() {
        // A stage that could not be read may use any of them.
        return;
    }
    fn of<'d, T>(
        (what, section): (Declared, &'d Section<T>),
        used: &BTreeSet<&str>,
        all: &mut Vec<Entry<'d>>,
    ) {
        // What could not be read, or is named and not there, may be what was meant.
        if !section.is_whole() {
            return;
        }
        let unused = section.iter().filter(|(name, _)| !used.contains(name.as_str()));
        all.extend(unused.map(|(name, entry): (&String, &SectionEntry<T>)| Entry {
            what,
            name,
            at: entry.key,
            why: WhyUnused::Unnamed,
        }));
    }
    // What could not be read may be what uses an entry.
    let are_led = description.branches.is_whole();
    let are_fed = are_led && description.sources.is_whole() && description.loads.is_whole();
    let are_asked = description.gate_supplies.is_whole() && description.controllers.is_whole();
    if are_fed && are_asked {
        of((Declared::Bus, &description.buses), &used, &mut all);
    }
    // What a stage does not name may be what is left over, and that it does not is said.
    let stages = || description.stages.readable().map(|(.., stage)| stage);
    let feeds = |stage: &Stage| !matches!(stage, Stage::ThreePhaseBridge(bridge) if bridge.feeds.is_none());
    if stages().all(feeds) {
        of((Declared::Machine, &description.machines), &used, &mut all);
    }
    let winds = |stage: &Stage| {
        stage.magnetics().into_iter().all(|(key, name)| key != "transformer" || name.is_some())
    };
    if stages().all(winds) {
        of((Declared::Magnetic, &description.magnetics), &used, &mut all);
    }
    if are_led {
        of((Declared::Conductor, &description.conductors), &used, &mut all);
    }
    if description.drivers.is_whole() && description.sensors.is_whole() {
        of((Declared::Controller, &description.controllers), &used, &mut all);
    }
    of((Declared::Device, &description.devices), &used, &mut all);
    if description.capacitors.is_whole() {
        of((Declared::CapacitorType, &description.capacitor_types), &used, &mut all);
    }
    if are_led {
        on_no_bus(build, &mut all);
    }
    never_asked(description, &mut all);
    off_the_path(build, &mut all);
    // Those of a parts file are a stock; only the description's own file counts, and what is tried beside it.
    let main = build.description.edition.as_ref().map(|edition| build.tree.span(edition.at).file);
    let is_own_file = |file| main == Some(file) || build.tree.file(file).name == OVERRIDE;
    all.retain(|entry| is_own_file(build.tree.span(entry.at).file));
    let mut sections: BTreeMap<Declared, InputId> = BTreeMap::new();
    for Entry { what, name, at, why } in all {
        let part = build.tables.part(name.to_owned(), at, None);
        let stated = Stated { value: 0.0, origin: build.written(at) };
        let section = *sections
            .entry(what)
            .or_insert_with(|| build.tables.limit(what.section().to_owned(), Dimension::Ratio, stated));
        let is_own = patch.is_some_and(|patch| is_within(build, at, patch));
        build.plan.unused.push(Unused { part, section, what, why, is_own });
    }
}

/// Whether a duty point states what a source gives.
fn gives(description: &Description, name: &str) -> bool {
    let mut states =
        description.duty.readable().filter_map(|(_, _, point)| point.sources.as_ref()?.get(name));
    states.any(|state| state.power.is_some() || state.current.is_some())
}

/// Whether a duty point states what a load takes.
fn takes(description: &Description, name: &str) -> bool {
    let mut points = description.duty.readable();
    points.any(|(_, _, point)| point.loads.as_ref().is_some_and(|loads| loads.contains_key(name)))
}

/// Sources and loads that reach no bus.
fn on_no_bus<'d>(build: &Build<'d>, all: &mut Vec<Entry<'d>>) {
    let description = build.description;
    let branches = description.branches.readable().map(|(_, _, branch)| branch);
    let ends = branches.flat_map(|branch| [&branch.from, &branch.to]).flatten();
    let led: BTreeSet<&str> = ends.map(|end| end.value.as_str()).collect();
    for (name, entry, source) in description.sources.readable() {
        if source.bus().is_none() && !led.contains(name) {
            let why = WhyUnused::NoBus { is_counted_on: gives(description, name) };
            all.push(Entry { what: Declared::Source, name, at: entry.key, why });
        }
    }
    for (name, entry, load) in description.loads.readable() {
        // What nothing is asked for is told as that.
        if load.bus.is_none() && !led.contains(name) && takes(description, name) {
            let why = WhyUnused::NoBus { is_counted_on: true };
            all.push(Entry { what: Declared::Load, name, at: entry.key, why });
        }
    }
}

/// Loads that no duty point asks anything for: they take nothing anywhere. A mission may ask in its rows.
fn never_asked<'d>(description: &'d Description, all: &mut Vec<Entry<'d>>) {
    if !description.missions.is_empty() || !description.duty.is_whole() || description.duty.is_empty() {
        return;
    }
    for (name, entry, _) in description.loads.readable() {
        if !takes(description, name) {
            all.push(Entry { what: Declared::Load, name, at: entry.key, why: WhyUnused::NeverAsked });
        }
    }
}

/// Coolant elements that the path does not visit.
fn off_the_path<'d>(build: &Build<'d>, all: &mut Vec<Entry<'d>>) {
    let Some(cooling) = build.description.cooling.read() else { return };
    let Some(at) = build.description.cooling.at() else { return };
    // Which way the coolant takes is not said, and that is missing.
    if has_no_path(build.description) {
        return;
    }
    let mut visited: BTreeSet<&str> =
        cooling.path.iter().flat_map(|path| &path.value).map(|name| name.value.as_str()).collect();
    for element in cooling.elements.iter().flat_map(|elements| elements.values()) {
        for branch in element.split.iter().flat_map(|split| split.values()) {
            visited.extend(branch.iter().map(|name| name.value.as_str()));
        }
    }
    for (name, element) in cooling.elements.iter().flatten() {
        if !visited.contains(name.as_str()) {
            let key = build.tree.value_at(at, &["elements", name]).unwrap_or(at);
            let cools = element.cools.as_ref().is_some_and(|cools| !cools.is_empty());
            let why = WhyUnused::OffThePath { cools };
            all.push(Entry { what: Declared::Element, name, at: key, why });
        }
    }
}

/// Whether a place lies within a value.
fn is_within(build: &Build<'_>, at: NodeId, whole: NodeId) -> bool {
    let (at, whole) = (build.tree.span(at), build.tree.span(whole));
    at.file == whole.file && whole.start <= at.start && at.end <= whole.end
}
