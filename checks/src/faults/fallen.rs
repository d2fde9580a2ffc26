//! What falls with what: stages that lose control or supply, buses that lose their stage, and so on until nothing more falls.

use std::collections::BTreeSet;

use loadworthy_unit::Variant;
use loadworthy_unit::plan::{ChopperKind, Topology};

use crate::dependence::{Need, Needs};

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
}

/// What a fault takes itself.
#[derive(Clone, Default)]
pub(super) struct Taken {
    pub(super) stages: Vec<usize>,
    pub(super) buses: Vec<usize>,
    pub(super) sources: Vec<usize>,
    pub(super) loads: Vec<usize>,
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
    for &source in &fallen.sources {
        let Some(bus) = variant.plan.sources[source].bus else { continue };
        if !is_held(variant, bus, &fallen.sources) && !is_given(variant, bus, &fallen.stages) {
            fallen.dead.insert(bus);
            // A stage that passes on what the source gives has nothing to pass.
            let led = |stage: &loadworthy_unit::plan::Stage| {
                stage.led_by.and_then(|led| stage.ports.get(led)).is_some_and(|port| port.bus == Some(bus))
            };
            let stages = variant.plan.stages.iter().enumerate().filter(|(_, stage)| led(stage));
            fallen.stages.extend(stages.map(|(place, _)| place));
        }
    }
    loop {
        let before = (fallen.stages.len(), fallen.dead.len(), fallen.sagging.len());
        for bus in fallen.dead.clone() {
            fallen.stages.extend(hanging(variant, bus));
            let name = variant.path(variant.plan.buses[bus].part);
            fallen.stages.extend(needs.stages(Need::Bus(name)));
        }
        let is_dead =
            |name: &str| fallen.dead.iter().any(|&bus| variant.path(variant.plan.buses[bus].part) == name);
        let bare = needs.either().filter(|(_, buses)| buses.iter().all(|name| is_dead(name)));
        let bare: Vec<usize> = bare.map(|(stage, _)| stage).collect();
        fallen.stages.extend(bare);
        for stage in fallen.stages.clone() {
            drop_bus(variant, stage, &mut fallen);
        }
        if (fallen.stages.len(), fallen.dead.len(), fallen.sagging.len()) == before {
            return fallen;
        }
    }
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
