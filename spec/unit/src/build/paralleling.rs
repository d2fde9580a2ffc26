//! Batteries side by side on one bus: what closes them on one another, and at what voltage.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::conductors::Conductor;

use crate::build::Build;
use crate::build::precharge::{contactors, making};
use crate::ids::InputId;
use crate::plan::{Equalising, Making, ParallelPack, Paralleling};
use crate::solver::Late;

/// Adds every bus with several batteries of which a contactor closes one, once it is known what melts their fuses.
pub(crate) fn join(build: &mut Build<'_>) {
    for bus in 0..build.plan.buses.len() {
        let all = 0..build.plan.sources.len();
        let is_pack = |&source: &usize| {
            build.plan.sources[source].is_battery && build.plan.sources[source].bus == Some(bus)
        };
        let packs: Vec<usize> = all.filter(is_pack).collect();
        if packs.len() < 2 {
            continue;
        }
        let mut packs: Vec<ParallelPack> = packs.into_iter().map(|source| pack(build, source)).collect();
        let closing = || packs.iter().filter(|pack| !pack.contactors.is_empty());
        // What is always there is no further from another than that is as its control closes it.
        let is_held = closing().all(|pack| !pack.closes.is_empty());
        let most: Vec<InputId> = closing().filter(|_| is_held).flat_map(|pack| pack.closes.clone()).collect();
        for fixed in packs.iter_mut().filter(|pack| pack.contactors.is_empty()) {
            fixed.closes.clone_from(&most);
        }
        if packs.iter().any(|pack| !pack.contactors.is_empty()) {
            build.plan.parallelings.push(Paralleling { bus, packs });
        }
    }
}

fn pack(build: &mut Build<'_>, source: usize) -> ParallelPack {
    let description = build.description;
    let part = build.plan.sources[source].part;
    let name = build.tables.part_of(part).path.clone();
    let branches: Vec<String> =
        build.drawn.of_source(&name).iter().map(|&branch| branch.to_owned()).collect();
    let own = branches.iter().filter_map(|branch| Some((branch, description.branches.entry(branch)?)));
    let own = own.filter(|(_, written)| written.around.is_none());
    let names: Vec<&str> = own
        .flat_map(|(branch, written)| {
            let within = build.drawn.contactor_within(branch).map(|within| within.value.as_str());
            contactors(description, written).chain(within)
        })
        .collect();
    let makings: Vec<Making> = names.iter().filter_map(|name| making(build, name)).collect();
    let closes = names.iter().filter_map(|name| closing(build, name)).collect();
    let melts = build.plan.melted.iter().filter_map(|melted| {
        let fuse = &build.plan.conductors[build.plan.fuses[melted.fuse].conductor];
        branches.contains(&build.tables.part_of(fuse.branch).path).then_some((fuse.part, melted.melts))
    });
    let melts = melts.collect();
    let mut figures = |difference, current| Equalising {
        difference: build.tables.figure_if_asked(part, difference, Dimension::Voltage),
        current: build.tables.figure_if_asked(part, current, Dimension::Current),
    };
    let taking = figures("equalising_rise", "equalising_charge");
    let giving = figures("equalising_fall", "equalising_discharge");
    ParallelPack { source, contactors: makings, closes, melts, taking, giving }
}

/// The voltage across a contactor at which its control closes it, where that is stated.
fn closing(build: &mut Build<'_>, name: &str) -> Option<InputId> {
    let entry = build.description.conductors.get(name)?;
    let Conductor::Contactor(contactor) = entry.read()? else { return None };
    let below = contactor.closes.as_ref()?.below.as_ref();
    let stated = build.stated(below, Some(entry.key), |volts| volts.si());
    let input = build.tables.input(format!("conductors.{name}.closes.below"), Dimension::Voltage, stated);
    build.tables.read_by(Late::Stored, input);
    Some(input)
}
