//! What a fuse protects: conductors that meet what it lets through.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::conductors::Conductor as Written;
use loadworthy_physics::Temperature;

use super::{At, Beside, One};
use crate::build::feeding::stage_of;
use crate::build::ways::{Way, Ways, before_fuse, from_bus, fuse_of, to_the_worst_place, written};
use crate::build::{Build, conductor_heat};
use crate::graph::PowerGraph;
use crate::ids::InputId;
use crate::plan::{Body, Protected};

/// Every conductor that meets what a fuse lets through, each with the way from the bus to it.
pub(super) fn exposed(
    build: &mut Build<'_>,
    (graph, ways): (&PowerGraph<'_>, &Ways<'_>),
    at: &At<'_>,
    (name, beside): (&str, &Beside<'_>),
) -> Vec<Protected> {
    let At { way, k, bus, is_source, from_node } = *at;
    // What stands between a bus and this fuse meets what those of sources let through.
    let meets_others = if is_source || from_node { Vec::new() } else { before_fuse(build, way) };
    // A branch with a fuse of its own is protected by that of the source up to there.
    let ahead_of_own = beside.fused.iter().flat_map(|&other| {
        let first = before_fuse(build, other);
        first.into_iter().map(move |one| (one, other))
    });
    let in_ways = core::iter::once(way)
        .chain(beside.behind.iter().copied())
        .flat_map(|way| way.conductors.iter().map(move |&one| (one, way)));
    let in_ways: Vec<(usize, &Way<'_>)> = in_ways.chain(ahead_of_own).collect();
    let in_ways = in_ways.into_iter().filter(|&(one, _)| one != k && !meets_others.contains(&one));
    let of_way = |(one, way): (usize, &Way<'_>)| {
        (one, from_bus(build, way, one), bus.and_then(|bus| stage_of(build, way.node, bus)))
    };
    let in_ways: Vec<(usize, Vec<usize>, Option<usize>)> = in_ways.map(of_way).collect();
    // One of the same circuit meets what its own branch does, and nobody says how far from the banks it stands.
    let of_circuit = if is_source { naming(build, ways, name) } else { Vec::new() };
    let of_circuit: Vec<usize> = of_circuit.into_iter().filter(|&one| one != k).collect();
    let back = if is_source { on_the_way_back(build, graph, way.node) } else { Vec::new() };
    let back: Vec<usize> = back.into_iter().filter(|one| *one != k && !of_circuit.contains(one)).collect();
    // What comes back by them came by the whole of the feed.
    let loop_of: Vec<usize> =
        way.conductors.iter().chain(&back).copied().filter(|&one| fuse_of(build, one).is_none()).collect();
    let exposed = in_ways.into_iter().chain(of_circuit.iter().map(|&one| (one, Vec::new(), None)));
    let exposed = exposed.chain(back.iter().map(|&one| (one, loop_of.clone(), None)));
    exposed
        .filter_map(|(one, line, output_of)| {
            let line = to_the_worst_place(build, &line, one);
            let is_own = way.conductors.contains(&one) || of_circuit.contains(&one) || back.contains(&one);
            protected(build, one, (is_own, line)).map(|one| Protected { output_of, ..one })
        })
        .collect()
}

/// Conductors on the way back to a source from its negative rail, where no fuse stands there: what its feed lets through comes back by them.
fn on_the_way_back(build: &Build<'_>, graph: &PowerGraph<'_>, source: &str) -> Vec<usize> {
    let description = build.description;
    let leads_back = |branch: &&&str| {
        let leads = description.branches.entry(branch).is_some_and(|branch| branch.around.is_none());
        leads && graph.ends_of(branch).is_none()
    };
    let back = build.drawn.of_source(source).iter().filter(leads_back);
    let own: Vec<usize> = back.flat_map(|branch| build.places.conductors_in(branch)).copied().collect();
    let may_be_fuse = |&k: &usize| fuse_of(build, k).is_some() || written(build, k).is_none();
    if own.iter().any(may_be_fuse) { Vec::new() } else { own }
}

/// Conductors of branches that lead to no bus, such as one back from a negative rail, and name a fuse on their way.
fn naming(build: &Build<'_>, ways: &Ways<'_>, fuse: &str) -> Vec<usize> {
    let branches = ways.naming.get(fuse).into_iter().flatten();
    branches.flat_map(|branch| build.places.conductors_in(branch)).copied().collect()
}

/// Sides that the temperature of a conductor follows from as well.
fn sides_of(body: &Body) -> Option<Vec<InputId>> {
    match *body {
        Body::Bar { width, thickness, .. } | Body::Foil { width, thickness, .. } => {
            Some(vec![width, thickness])
        }
        Body::Cable { section, .. } => Some(vec![section]),
        Body::Contact { .. } => None,
    }
}

/// A conductor and what it stands; nothing of one that says neither a section nor what it stands, and need not.
pub(in crate::build) fn protected(
    build: &mut Build<'_>,
    k: usize,
    (is_own, from_bus): (bool, Vec<InputId>),
) -> Option<Protected> {
    let part = build.plan.conductors[k].part;
    let (name, at) = (build.tables.part_of(part).path.clone(), build.tables.part_of(part).at);
    let one = One { name: &name, at };
    let known = build.plan.conductors[k].heat.as_ref().and_then(|heat| sides_of(&heat.body));
    let length = |build: &mut Build<'_>, key: &str, given: Option<&Given<loadworthy_physics::Length>>| {
        one.number(build, key, Dimension::Length, given, |side| side.si())
    };
    let mut stated = None;
    let (section, hottest) = match written(build, k)? {
        Written::Busbar(bar) => {
            let sides = vec![
                length(build, "width", bar.width.as_ref()),
                length(build, "thickness", bar.thickness.as_ref()),
            ];
            (sides, bar.hottest_briefly)
        }
        Written::LaminatedBusbar(bar) => {
            let sides = vec![
                length(build, "width", bar.width.as_ref()),
                length(build, "thickness", bar.thickness.as_ref()),
            ];
            (sides, bar.hottest_briefly)
        }
        Written::Foil(foil) => {
            let sides = vec![
                length(build, "width", foil.width.as_ref()),
                length(build, "thickness", foil.thickness.as_ref()),
            ];
            (sides, foil.hottest_briefly)
        }
        Written::Cable(cable) => {
            let section =
                one.number(build, "section", Dimension::Area, cable.section.as_ref(), |area| area.si());
            (vec![section], cable.hottest_briefly)
        }
        Written::Contactor(contactor) => {
            let withstands = contactor.withstands.as_ref();
            let dimension = Dimension::SquaredCurrentTime;
            stated = Some(one.number(build, "withstands", dimension, withstands, |x| x.si()));
            (Vec::new(), None)
        }
        Written::Fuse(_)
        | Written::Connector(_)
        | Written::Sensor(_)
        | Written::Resistor(_)
        | Written::LineChoke(_) => return None,
    };
    let section = known.unwrap_or(section);
    let hottest: Option<Given<Temperature>> = hottest;
    let briefly = build.stated_or(hottest.as_ref(), at, &defaults::HOTTEST_BRIEFLY, |t| t.in_celsius());
    let short_hottest = one.own(build, "hottest_briefly", Dimension::Temperature, briefly);
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::SquaredCurrentTime);
    let (through, withstood) = (figure("let_through"), figure("withstood_let_through"));
    Some(Protected {
        conductor: k,
        section,
        short_hottest,
        reached: conductor_heat::reached(build, k),
        stated,
        is_own,
        from_bus,
        beyond: None,
        banks: Vec::new(),
        banks_at: None,
        of_banks: None,
        banks_against: false,
        output_of: None,
        beside: Vec::new(),
        against: Vec::new(),
        uncleared: Vec::new(),
        through,
        withstood,
    })
}
