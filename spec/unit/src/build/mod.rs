//! From a description to a variant that can be solved: names become numbers, what is silent takes its default, and
//! every value keeps where it came from.

mod acting;
mod arriving;
mod bank;
mod beyond;
mod beyond_diodes;
mod bootstrap;
mod bounded;
mod bridge;
mod chopper;
mod coasting;
mod conductor_heat;
mod contacts;
mod control;
mod cooling;
mod damping;
mod dead_time;
mod density;
mod device;
mod drawn;
mod drives;
mod duty;
mod emptied;
mod energy;
mod exchanged;
mod exchanged_drivers;
mod face_flow;
mod feeding;
mod frame;
mod fuse;
mod gate_drive;
mod gate_sheet;
mod gates;
mod isolated;
pub(crate) mod isolation;
mod listed;
mod lost;
mod magnetic;
mod magnetic_sheet;
mod openings;
mod overload;
mod paralleling;
mod parting;
mod passage;
mod places;
mod policy;
mod ports;
mod power;
mod power_cycling;
mod precharge;
mod protection;
mod rails;
mod shared_return;
mod slips;
mod source_limits;
mod spread;
mod stage;
mod stored;
mod torn;
mod trips;
mod turn_off;
mod unjudged;
mod unused;
mod ways;
mod withstand;

use std::collections::BTreeMap;
use std::sync::Arc;

use loadworthy_language::Description;
use loadworthy_language::PolicyItem;
use loadworthy_language::defaults::Default as Assumption;
use loadworthy_language::quantity::Given;
use loadworthy_language::sections::duty::{Demand, DutyPoint};
use loadworthy_language::sections::header::Surroundings;
use loadworthy_language::{Reading, Section, VariantReading};
use loadworthy_source::{NodeId, Problem, Tree};

use crate::graph::PowerGraph;
use crate::ids::InputId;
use crate::origin::Origin;
use crate::permit;
use crate::plan::{Drive, Plan};
use crate::side_by_side::side_by_side;
use crate::table::{Stated, Tables};
use crate::variant::{Duty, Unit, Variant};

/// Resolves every variant of a reading, and says what this version cannot solve.
pub(crate) fn unit(reading: &Reading, vocabulary: &[&'static PolicyItem]) -> (Unit, Vec<Problem>) {
    let own = Variants { reading, base: reading.base, of: &reading.variants };
    let (unit, mut problems) = unit_of(own, vocabulary);
    let meant = reading.meant.as_ref().map(|meant| {
        let own = Variants { reading, base: Some(meant.base), of: &meant.variants };
        let (unit, beyond) = unit_of(own, vocabulary);
        problems.extend(beyond.into_iter().filter(|one| !problems.contains(one)).collect::<Vec<_>>());
        Box::new(Unit { taken_at: meant.places.clone(), ..unit })
    });
    (Unit { meant, ..unit }, problems)
}

/// Variants of a reading: as they are written, or as they are meant.
#[derive(Clone, Copy)]
struct Variants<'r> {
    reading: &'r Reading,
    /// The description without any of them.
    base: Option<NodeId>,
    of: &'r [VariantReading],
}

fn unit_of(own: Variants<'_>, vocabulary: &[&'static PolicyItem]) -> (Unit, Vec<Problem>) {
    let Variants { reading, of, .. } = own;
    let mut problems: Vec<Problem> = Vec::new();
    // A value that is tried stands in a text of its own for each variant.
    let place = |problem: &Problem| {
        let file = reading.tree.file(problem.at.file);
        (file.name.as_str(), problem.at.start, problem.at.end, file.text.as_str())
    };
    let built = side_by_side(of, |variant| {
        (beyond::problems(&reading.tree, variant), resolve(own, variant, vocabulary))
    });
    let (beyond, variants): (Vec<_>, Vec<Variant>) = built.into_iter().unzip();
    for beyond in beyond {
        for problem in beyond {
            let is_same =
                |known: &Problem| known.message == problem.message && place(known) == place(&problem);
            if !problems.iter().any(is_same) {
                problems.push(problem);
            }
        }
    }
    let first = of.first().map(|variant| &variant.description);
    let header = first.and_then(|description| description.header.read());
    let shared: Vec<String> = variants.iter().flat_map(shared_returns).collect();
    let unit = Unit {
        name: header.and_then(|header| header.name.as_ref()).map(|name| name.value.clone()),
        note: header.and_then(|header| header.note.as_ref()).map(|text| text.value.clone()),
        revision: header.and_then(|header| header.revision.as_ref()).map(|text| text.value.clone()),
        edition: first.and_then(|description| description.edition.as_ref()).map(|edition| edition.value),
        unjudged: first.map(|first| unjudged::stated(first, &shared)).unwrap_or_default(),
        has_problems: !reading.problems.is_empty(),
        permits: first.map(permit::permits).unwrap_or_default(),
        variants,
        slips: Vec::new(),
        meant: None,
        written: None,
        taken_at: Vec::new(),
    };
    let slips = slips::slips(own, &unit.variants, vocabulary);
    let unit = Unit { slips, ..unit };
    problems.extend(listed::problems((&reading.tree, of), &unit.permits, &unit.variants));
    (unit, problems)
}

/// Names of the outputs of which the inductance between the sources that they feed is judged.
fn shared_returns(variant: &Variant) -> impl Iterator<Item = String> + '_ {
    variant.plan.shared_returns.iter().map(|of| variant.path(of.part).to_owned())
}

fn resolve(whole: Variants<'_>, reading: &VariantReading, vocabulary: &[&'static PolicyItem]) -> Variant {
    let (tree, description) = (&whole.reading.tree, &reading.description);
    let graph = PowerGraph::of(description);
    let mut build = Build {
        tree,
        description,
        points: description.duty.readable().map(|(name, entry, point)| (name, entry.key, point)).collect(),
        tables: Tables::default(),
        plan: Plan::default(),
        lines: ports::Lines::default(),
        rails: rails::Rails::of(description, tree),
        drawn: drawn::Drawn::of(tree, description, &graph),
        places: places::Places::default(),
        cooled: cooling::cooled(description),
        shared: BTreeMap::new(),
        drives: BTreeMap::new(),
    };
    let duties = build
        .points
        .iter()
        .map(|&(name, at, point)| Duty {
            name: name.to_owned(),
            at,
            lasts: duty::lasts(point),
            every: point.every.as_ref().map(|every| every.si()),
            starts_from: duty::starts_from(&build, point),
            stretch: None,
            too_soon: 0,
        })
        .collect();
    build.plan.duration = duty::duration(&mut build);
    build.lines = ports::lines(&mut build, &graph);
    power::buses(&mut build, &graph);
    cooling::path(&mut build);
    let mut devices = device::Devices::default();
    for stage in description.stages.readable() {
        stage::stage(&mut build, &graph, &mut devices, stage);
    }
    power::loads(&mut build, &graph);
    cooling::join(&mut build);
    face_flow::follow(&mut build);
    face_flow::tolerances(&mut build);
    power::join(&mut build, &graph);
    ports::unknown(&mut build);
    conductor_heat::join(&mut build);
    density::of_conductors(&mut build);
    contacts::join(&mut build, &graph);
    openings::join(&mut build, &graph);
    fuse::join(&mut build, &graph);
    bank::banks(&mut build);
    feeding::beside(&mut build);
    emptied::join(&mut build, &graph);
    turn_off::join(&mut build);
    stored::charges(&mut build);
    precharge::join(&mut build, &graph);
    parting::join(&mut build, &graph);
    coasting::machines(&mut build);
    trips::join(&mut build);
    overload::join(&mut build, &graph);
    paralleling::join(&mut build);
    damping::buses(&mut build);
    arriving::all(&mut build);
    gates::supplies(&mut build);
    exchanged_drivers::note(&mut build);
    gate_drive::join(&mut build);
    acting::join(&mut build);
    shared_return::join(&mut build);
    isolation::join(&mut build);
    frame::machines(&mut build);
    control::join(&mut build);
    lost::note(&mut build);
    let patch = reading.name.as_ref().and_then(|name| tree.value_at(whole.base?, &["variants", name]));
    unused::unused(&mut build, patch);
    let lanes = duty::lanes(&build);
    let missions = duty::missions(&build);
    let policy = policy::resolve(&build, vocabulary);
    Variant {
        name: reading.name.clone(),
        at: reading.key,
        tables: build.tables,
        plan: build.plan,
        duties,
        lanes,
        policy_places: policy::places(&policy),
        policy,
        missions,
        unread: unread(description),
        unread_duties: description.duty.unread().count(),
        doubt: reading.doubt,
        gaps: Arc::clone(&description.gaps),
        is_apart: false,
    }
}

/// Where entries stand that could not be read, or are named and not there.
fn unread(description: &Description) -> Vec<NodeId> {
    fn of<T>(section: &Section<T>) -> impl Iterator<Item = NodeId> + '_ {
        section.unread().flat_map(|(_, entry)| [entry.key, entry.value])
    }
    let all = description;
    let energy = of(&all.sources).chain(of(&all.buses)).chain(of(&all.branches)).chain(of(&all.conductors));
    let loads = of(&all.stages).chain(of(&all.machines)).chain(of(&all.loads)).chain(of(&all.magnetics));
    let parts = of(&all.devices).chain(of(&all.capacitors)).chain(of(&all.capacitor_types));
    let gates = of(&all.gate_supplies).chain(of(&all.drivers)).chain(of(&all.controllers));
    let rest = of(&all.sensors).chain(of(&all.signals)).chain(of(&all.duty));
    let mut nodes: Vec<NodeId> = energy.chain(loads).chain(parts).chain(gates).chain(rest).collect();
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}

/// A variant while it is built.
pub(crate) struct Build<'d> {
    pub(crate) tree: &'d Tree,
    pub(crate) description: &'d Description,
    /// Duty points that could be read: name, where it is named, what it says.
    pub(crate) points: Vec<(&'d str, NodeId, &'d DutyPoint)>,
    pub(crate) tables: Tables,
    pub(crate) plan: Plan,
    /// Conductors between sources, stages and loads and their buses.
    pub(crate) lines: ports::Lines,
    /// Negative rails.
    pub(crate) rails: rails::Rails,
    /// Where branches draw conductors.
    pub(crate) drawn: drawn::Drawn<'d>,
    /// Where what is named stands in the plan.
    pub(crate) places: places::Places,
    /// Which elements cool what.
    pub(crate) cooled: cooling::Cooled<'d>,
    /// Inputs that several positions share, by path.
    pub(crate) shared: BTreeMap<String, InputId>,
    /// Sources as they drive faults, by their place in the plan.
    pub(crate) drives: BTreeMap<usize, Drive>,
}

impl<'d> Build<'d> {
    /// Where a written value comes from: the description, or a patch over it. What could not be read has no value.
    pub(crate) fn written(&self, at: NodeId) -> Origin {
        if self.description.gaps.contains(&at) {
            return Origin::Broken(at);
        }
        match self.tree.replaced(at) {
            Some(replaced) => Origin::Patched { at, replaced },
            None => Origin::Written(at),
        }
    }

    /// A value that is written, or missing with nothing to stand in for it.
    pub(crate) fn stated<T>(
        &self,
        given: Option<&Given<T>>,
        near: Option<NodeId>,
        si: impl Fn(&T) -> f64,
    ) -> Stated {
        match given {
            Some(given) => Stated { value: si(&given.value), origin: self.written(given.at) },
            None => Stated { value: f64::NAN, origin: Origin::Absent { near } },
        }
    }

    /// A value that is written, or a default.
    pub(crate) fn stated_or<T>(
        &self,
        given: Option<&Given<T>>,
        near: NodeId,
        assumption: &'static Assumption,
        si: impl Fn(&T) -> f64,
    ) -> Stated {
        match given {
            Some(given) => Stated { value: si(&given.value), origin: self.written(given.at) },
            None => assumed(assumption, near),
        }
    }

    /// What the surroundings say, or what nothing stands in for. Where they could not be read, neither is known.
    pub(crate) fn surrounding<T>(
        &self,
        pick: impl Fn(&Surroundings) -> Option<&Given<T>>,
        near: Option<NodeId>,
        si: impl Fn(&T) -> f64,
    ) -> Stated {
        match self.description.surroundings.read().and_then(pick) {
            Some(given) => self.stated(Some(given), None, si),
            None => self.no_surrounding(near),
        }
    }

    /// What the surroundings do not say, or would say if they could be read.
    pub(crate) fn no_surrounding(&self, near: Option<NodeId>) -> Stated {
        let surroundings = &self.description.surroundings;
        match surroundings.at() {
            Some(at) if surroundings.is_void() => broken(at),
            at => Stated { value: f64::NAN, origin: Origin::Absent { near: at.or(near) } },
        }
    }

    /// What the surroundings say, or a default.
    pub(crate) fn surrounding_or<T>(
        &self,
        pick: impl Fn(&Surroundings) -> Option<&Given<T>>,
        near: NodeId,
        assumption: &'static Assumption,
        si: impl Fn(&T) -> f64,
    ) -> Stated {
        let surroundings = &self.description.surroundings;
        match surroundings.at() {
            Some(at) if surroundings.is_void() => broken(at),
            at => self.stated_or(surroundings.read().and_then(pick), at.unwrap_or(near), assumption, si),
        }
    }

    /// What each duty point asks of a machine or load, if it asks anything.
    pub(crate) fn demands(&self, name: &str) -> Vec<Option<&'d Demand>> {
        let demand = |point: &'d DutyPoint| point.loads.as_ref().and_then(|loads| loads.get(name));
        self.points.iter().map(|&(_, _, point)| demand(point)).collect()
    }
}

/// A default in place of a value.
pub(crate) fn assumed(assumption: &'static Assumption, near: NodeId) -> Stated {
    Stated { value: assumption.value, origin: Origin::Assumed { assumption, near } }
}

/// A value that a broken entry would have stated.
pub(crate) fn broken(at: NodeId) -> Stated {
    Stated { value: f64::NAN, origin: Origin::Broken(at) }
}
