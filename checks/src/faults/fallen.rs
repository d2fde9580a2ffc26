//! What falls with what: stages that lose control or supply, buses that lose their stage, and so on until nothing more falls.

use std::collections::BTreeSet;

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{ChopperKind, Circuit, Opening, Topology};

use crate::dependence::{Need, Needs, Who};

/// What a fault takes with it; places in the plan.
#[derive(Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fallen {
    /// Stages that stop.
    pub(super) stages: BTreeSet<usize>,
    /// Buses that nothing feeds any more.
    pub(super) dead: BTreeSet<usize>,
    /// High buses of boosts that stop, with the low bus that still feeds them through diodes.
    pub(super) sagging: BTreeSet<(usize, usize)>,
    /// Sources that are cut off.
    pub(super) sources: BTreeSet<usize>,
    /// Loads that are cut off from a bus that lives.
    pub(super) loads: BTreeSet<usize>,
    /// Contactors, as conductors, that open or do not close for want of what holds them, where their circuit is not lost already.
    pub(super) unheld: BTreeSet<usize>,
}

/// What a fault takes itself.
#[derive(Clone, Default)]
pub(super) struct Taken {
    pub(super) stages: Vec<usize>,
    pub(super) buses: Vec<usize>,
    pub(super) sources: Vec<usize>,
    pub(super) loads: Vec<usize>,
    /// As conductors.
    pub(super) contactors: Vec<usize>,
}

/// Lets everything fall that hangs on some stages and buses.
pub(super) fn fallen(
    variant: &Variant,
    needs: &Needs<'_>,
    stages: impl IntoIterator<Item = usize>,
    buses: impl IntoIterator<Item = usize>,
) -> Fallen {
    let (stages, buses) = (stages.into_iter().collect(), buses.into_iter().collect());
    fallen_with(variant, needs, Taken { stages, buses, ..Taken::default() })
}

/// The same, with sources and loads that are cut off.
pub(super) fn fallen_with(variant: &Variant, needs: &Needs<'_>, taken: Taken) -> Fallen {
    let mut fallen = Fallen {
        stages: taken.stages.into_iter().collect(),
        dead: taken.buses.into_iter().collect(),
        sources: taken.sources.into_iter().collect(),
        loads: taken.loads.into_iter().collect(),
        ..Fallen::default()
    };
    open(variant, taken.contactors, &mut fallen);
    let mut lost: BTreeSet<usize> = BTreeSet::new();
    loop {
        let before = fallen.extent();
        for source in fallen.sources.clone() {
            if lost.insert(source) {
                lose_source(variant, source, &mut fallen);
            }
        }
        for bus in fallen.dead.clone() {
            fallen.stages.extend(hanging(variant, bus));
            let name = variant.path(variant.plan.buses[bus].part);
            lose(variant, needs.who(Need::Bus(name)), &mut fallen);
        }
        let is_dead =
            |name: &str| fallen.dead.iter().any(|&bus| variant.path(variant.plan.buses[bus].part) == name);
        let bare = needs.either().filter(|(_, buses)| buses.iter().all(|name| is_dead(name)));
        let bare: Vec<Who> = bare.map(|(who, _)| who).collect();
        lose(variant, bare, &mut fallen);
        for stage in fallen.stages.clone() {
            drop_bus(variant, stage, &mut fallen);
        }
        if fallen.extent() == before {
            // What lost its low bus as well has nothing left to sag to.
            let Fallen { dead, sagging, .. } = &mut fallen;
            sagging.retain(|(_, low)| !dead.contains(low));
            return fallen;
        }
    }
}

impl Fallen {
    /// How much has fallen; it only grows.
    fn extent(&self) -> [usize; 5] {
        let [stages, dead, sources, unheld] =
            [&self.stages, &self.dead, &self.sources, &self.unheld].map(BTreeSet::len);
        [stages, dead, sources, unheld, self.sagging.len()]
    }
}

/// Stages stop and contactors open that lost what they live on.
fn lose(variant: &Variant, all: impl IntoIterator<Item = Who>, fallen: &mut Fallen) {
    let mut contactors = Vec::new();
    for who in all {
        match who {
            Who::Stage(stage) => {
                fallen.stages.insert(stage);
            }
            Who::Contactor(conductor) => contactors.push(conductor),
        }
    }
    open(variant, contactors, fallen);
}

/// Contactors that nothing holds closed cut off what stands at the end of their circuit. One whose circuit is lost already
/// changes nothing, and one that leads around another is open in service.
fn open(variant: &Variant, contactors: Vec<usize>, fallen: &mut Fallen) {
    let all = variant.plan.openings.iter().filter(|one| one.is_contactor);
    let is_lost = |of: Circuit| match of {
        Circuit::Source(source) => fallen.sources.contains(&source),
        Circuit::Stage(stage) => fallen.stages.contains(&stage),
        Circuit::Load(load) => fallen.loads.contains(&load),
    };
    let opens = all.filter(|one| contactors.contains(&one.conductor) && !is_lost(one.of));
    let opens: Vec<&Opening> = opens.collect();
    for one in opens {
        fallen.unheld.insert(one.conductor);
        if one.around.is_some() {
            continue;
        }
        match one.of {
            Circuit::Source(source) => fallen.sources.insert(source),
            Circuit::Stage(stage) => fallen.stages.insert(stage),
            Circuit::Load(load) => fallen.loads.insert(load),
        };
    }
}

/// A bus whose source is cut off is dead where nothing else holds it.
fn lose_source(variant: &Variant, source: usize, fallen: &mut Fallen) {
    let Some(bus) = variant.plan.sources[source].bus else { return };
    if is_held(variant, bus, &fallen.sources) || is_given(variant, bus, &fallen.stages) {
        return;
    }
    fallen.dead.insert(bus);
    // A stage that passes on what the source gives has nothing to pass.
    let led = |stage: &loadworthy_unit::plan::Stage| {
        stage.led_by.and_then(|led| stage.ports.get(led)).is_some_and(|port| port.bus == Some(bus))
    };
    let stages = variant.plan.stages.iter().enumerate().filter(|(_, stage)| led(stage));
    fallen.stages.extend(stages.map(|(place, _)| place));
}

/// Whether sources still hold the voltage of a bus without some of them: where they balance it one that may, else any.
fn is_held(variant: &Variant, bus: usize, lost: &BTreeSet<usize>) -> bool {
    let bus = &variant.plan.buses[bus];
    let mut left = bus.sources.iter().filter(|source| !lost.contains(source));
    left.any(|&source| !bus.is_balanced_here || variant.plan.sources[source].may_balance)
}

/// Whether a stage that still works gives to a bus, and so holds its voltage without any source.
fn is_given(variant: &Variant, bus: usize, stopped: &BTreeSet<usize>) -> bool {
    let stages = variant.plan.stages.iter().enumerate().filter(|(place, _)| !stopped.contains(place));
    stages.into_iter().any(|(_, stage)| {
        let gives = match &stage.topology {
            Topology::Bridge(_) => return false,
            Topology::Chopper(chopper) => usize::from(chopper.kind == ChopperKind::Boost),
            Topology::Isolated(_) => 1,
        };
        // Led by its other bus it passes on what comes from there.
        stage.led_by == Some(gives) && stage.ports.get(gives).is_some_and(|port| port.bus == Some(bus))
    })
}

/// Stages that take their power from a bus.
fn hanging(variant: &Variant, bus: usize) -> impl Iterator<Item = usize> + '_ {
    let stages = variant.plan.stages.iter().enumerate();
    let takes = move |(place, stage): (usize, &loadworthy_unit::plan::Stage)| {
        let mut ports = stage.ports.iter().enumerate();
        ports.any(|(port, of)| of.bus == Some(bus) && stage.led_by != Some(port)).then_some(place)
    };
    stages.filter_map(takes)
}

/// The bus that a stage holds falls with it, unless a source or another stage feeds it. That of a boost is left with what
/// comes through its diodes.
fn drop_bus(variant: &Variant, stage: usize, fallen: &mut Fallen) {
    let plan = &variant.plan;
    let of = &plan.stages[stage];
    let Some(led) = of.led_by else { return };
    let Some(bus) = of.ports.get(led).and_then(|port| port.bus) else { return };
    let others = plan.stages.iter().enumerate().filter(|(other, _)| !fallen.stages.contains(other));
    let is_fed = others.into_iter().any(|(_, other)| {
        other.led_by.and_then(|led| other.ports.get(led)).is_some_and(|port| port.bus == Some(bus))
    });
    if is_fed || plan.buses[bus].sources.iter().any(|source| !fallen.sources.contains(source)) {
        return;
    }
    let low = of.ports.first().and_then(|port| port.bus);
    match (&of.topology, low) {
        (Topology::Chopper(chopper), Some(low))
            if chopper.kind == ChopperKind::Boost && low != bus && !fallen.dead.contains(&low) =>
        {
            fallen.sagging.insert((bus, low));
        }
        _ => {
            fallen.dead.insert(bus);
        }
    }
}
