//! Every single fault of what a variant declares.

use std::collections::BTreeMap;

use loadworthy_unit::plan::Stage;
use loadworthy_unit::{Dimension, Edit, LaneId, NodeId, Variant};

use super::coasting::coasting;
use super::fallen::{Fallen, Taken, fallen, fallen_with};
use super::held_off::HeldOff;
use super::joined::{apart, joined};
use super::left::{Bench, SAGGED};
use super::shorted::{opened, shorted};
use super::{Effect, Fault, Kind, conducting, cooled, cut, discharged, legs, sensed, welded};
use crate::dependence::{Need, Needs};
use crate::figure_text::{percent, value};
use crate::free_text::in_line;
use crate::seats::counts;

/// All of them, in the order of their kinds and of the file.
pub(super) fn all(variant: &Variant) -> Vec<Fault> {
    if variant.lanes.is_empty() {
        return Vec::new();
    }
    let mut bench = Bench::new(variant);
    let needs = Needs::of(variant);
    let mut faults = Vec::new();
    for (isolation, barrier) in apart(variant) {
        let at = variant.tables.part_of(barrier.part).at;
        faults.push(fault(Kind::Barrier, &barrier.name, at, joined(&bench.solved, isolation, barrier)));
    }
    for (need, stages) in needs.iter() {
        let (kind, buses) = match need {
            Need::Controller(_) => (Kind::Controller, None),
            Need::Named(_) => (Kind::Dependence, None),
            Need::Bus(name) => {
                (Kind::Bus, variant.plan.buses.iter().position(|bus| variant.path(bus.part) == name))
            }
            Need::Transformer(_) => (Kind::Transformer, None),
            Need::Output(_) => (Kind::GateSupply, None),
        };
        let Some(at) = stages.first().and_then(|&stage| needs.place(need, stage)) else { continue };
        let fallen = fallen(variant, &needs, stages, buses);
        let effect = after_held(&mut bench, &fallen, &HeldOff::without(variant, need));
        faults.push(fault(kind, &in_line(need.name()), at, effect));
    }
    drivers(&mut bench, &needs, &mut faults);
    for stage in &variant.plan.stages {
        devices(&mut bench, &needs, stage, &mut faults);
    }
    phases(&mut bench, &needs, &mut faults);
    cut::all(&mut bench, &needs, &mut faults);
    welded::all(&bench, &mut faults);
    discharged::all(&mut bench, &mut faults);
    conducting::all(&mut bench, &needs, &mut faults);
    legs::all(&mut bench, &mut faults);
    sensed::all(&mut bench, &needs, &mut faults);
    cooled::branches(&mut bench, &needs, &mut faults);
    faults.extend(cooled::pump(variant));
    faults
}

pub(super) fn fault(kind: Kind, name: &str, at: NodeId, effect: Effect) -> Fault {
    Fault { causes: vec![(kind, vec![name.to_owned()])], at, effect }
}

/// What comes of what has fallen, discharges included.
pub(super) fn after(bench: &mut Bench<'_>, fallen: &Fallen) -> Effect {
    after_held(bench, fallen, &HeldOff::default())
}

/// The same where the fault itself holds gates off.
fn after_held(bench: &mut Bench<'_>, fallen: &Fallen, held: &HeldOff) -> Effect {
    let mut effect = bench.after(fallen);
    let variant = bench.solved.variant;
    for &(high, low) in &fallen.sagging {
        let [high, low] = [high, low].map(|bus| variant.path(variant.plan.buses[bus].part));
        effect
            .says
            .push(format!("{high} falls to the voltage of {low}, which reaches it through the diodes (reckoned {} above that of its sources at rest)", percent(SAGGED - 1.0)));
    }
    effect.says.extend(unheld(variant, fallen));
    effect.discharge = discharges(bench, fallen);
    coasting(bench, fallen, held, &mut effect);
    effect
}

/// Buses that lost what held their voltage, while sources that never hold one are left.
fn unheld(variant: &Variant, fallen: &Fallen) -> Option<String> {
    let plan = &variant.plan;
    let is_left = (0..plan.sources.len()).any(|source| !fallen.sources.contains(&source));
    let buses = fallen.sources.iter().filter_map(|&source| plan.sources[source].bus);
    let mut buses: Vec<usize> =
        buses.filter(|bus| fallen.dead.contains(bus) && plan.buses[*bus].is_balanced_here).collect();
    buses.dedup();
    let names: Vec<&str> = buses.into_iter().map(|bus| variant.path(plan.buses[bus].part)).collect();
    (is_left && !names.is_empty()).then(|| {
        format!(
            "nothing is described that then holds the voltage of {}: what is left only gives a share",
            names.join(", ")
        )
    })
}

/// How discharges that are switched on stand once buses are dead.
fn discharges(bench: &Bench<'_>, fallen: &Fallen) -> Vec<String> {
    let variant = bench.solved.variant;
    if fallen.dead.is_empty() {
        return Vec::new();
    }
    let discharges = variant.plan.control.iter().flat_map(|control| &control.discharges);
    let words = discharges.map(|(bus, from)| {
        let name = variant.path(variant.plan.buses[*bus].part);
        let dead =
            |from: &str| fallen.dead.iter().any(|&bus| variant.path(variant.plan.buses[bus].part) == from);
        match from {
            None => format!("{name}: what the control of its active discharge lives on is not stated"),
            Some(from) if from.value != name && dead(&from.value) => {
                let stored = variant.plan.stored.iter().find(|stored| stored.bus == *bus);
                let alone = stored
                    .and_then(|stored| bench.solved.figure(stored.figures.passive_time, LaneId::new(0)));
                match alone {
                    Some(time) => {
                        format!("{name}: by its resistor alone, in {}", value(time, Dimension::Time))
                    }
                    None => format!("{name}: stays charged, or for how long is not known"),
                }
            }
            Some(from) => format!("{name}: its active discharge lives on {} and works on", from.value),
        }
    });
    words.collect()
}

/// Each entry of drivers, with each stage that it drives: a channel that holds its gate off stops that stage.
fn drivers(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for driver in variant.plan.control.iter().flat_map(|control| &control.drivers) {
        let mut stages: BTreeMap<usize, NodeId> = BTreeMap::new();
        for &(stage, _, at) in &driver.drives {
            stages.entry(stage).or_insert(at);
        }
        for (&stage, &at) in &stages {
            let name = variant.path(driver.part);
            let name = if stages.len() < 2 {
                name.to_owned()
            } else {
                format!("{name} at {}", variant.path(variant.plan.stages[stage].part))
            };
            let fallen = fallen(variant, needs, [stage], None);
            let held = HeldOff::of(variant, driver.drives.iter());
            faults.push(fault(Kind::Driver, &name, at, after_held(bench, &fallen, &held)));
        }
    }
}

/// One phase of each machine open. What two phases still make pulsates, so its bridge is taken to stop.
fn phases(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for (place, stage) in variant.plan.stages.iter().enumerate() {
        let Some(machine) = stage.bridge().and_then(|bridge| bridge.machine) else { continue };
        let at = variant.tables.part_of(machine).at;
        let effect = after(bench, &fallen(variant, needs, [place], None));
        faults.push(fault(Kind::Phase, variant.path(machine), at, effect));
    }
}

/// One device of each kind of position open, and one shorted.
fn devices(bench: &mut Bench<'_>, needs: &Needs<'_>, stage: &Stage, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    let Some(place) = variant.plan.stages.iter().position(|other| other.part == stage.part) else { return };
    let at = variant.tables.part_of(stage.part).at;
    for (kind, seat) in stage.seats.iter().enumerate().filter(|(_, seat)| seat.fitted.is_some()) {
        let name = format!("{}.{}", variant.path(stage.part), seat.key);
        let count = |input| bench.solved.input(input, LaneId::new(0));
        let together = counts(&variant.plan, stage, &[kind]);
        let fewer: Option<Vec<Edit>> = together
            .iter()
            .map(|&(input, _)| {
                count(input).filter(|&count| 1.5 < count).map(|count| Edit { input, value: count - 1.0 })
            })
            .collect();
        let role =
            stage.positions.iter().find(|position| position.seat == kind).map(|position| position.role);
        let open = match fewer.filter(|fewer| !fewer.is_empty()) {
            Some(fewer) => {
                let of = count(seat.parallel).map_or(0.0, |count| count);
                let mut effect = bench.with(fewer);
                effect.says.insert(0, format!("goes on with {} of {of} in parallel", of - 1.0));
                effect
            }
            None => {
                let held = role.map(|role| HeldOff::side(place, role.side())).unwrap_or_default();
                let mut effect = after_held(bench, &fallen(variant, needs, [place], None), &held);
                effect.says.splice(0..0, opened(&bench.solved, stage, role));
                effect
            }
        };
        faults.push(fault(Kind::Open, &name, at, open));
        let own = shorted(&bench.solved, stage, (kind, role));
        let taken = Taken {
            stages: vec![place],
            buses: own.falls.into_iter().collect(),
            sources: own.cut_off,
            ..Taken::default()
        };
        // The other side turning on shorts the bus, not the machine.
        let held = role.map(|role| HeldOff::side(place, role.side().other())).unwrap_or_default();
        let fallen = fallen_with(variant, needs, taken);
        let mut short = after_held(bench, &fallen, &held);
        let high = stage.ports.get(1).and_then(|port| port.bus);
        let lives = high.is_some_and(|high| !fallen.dead.contains(&high));
        if let Some(lifted) = own.falls.filter(|_| own.lifts && lives) {
            // What hangs on it is lost, and its voltage is not, for as long as the bus above has one.
            let lifted = variant.path(variant.plan.buses[lifted].part);
            short.dead.retain(|bus| bus != lifted);
        }
        short.says.splice(0..0, own.says);
        faults.push(fault(Kind::Short, &name, at, short));
    }
}
