//! Every single fault of what a variant declares.

use std::collections::BTreeMap;

use loadworthy_unit::plan::{Circuit, Opening, Stage};
use loadworthy_unit::{Dimension, Edit, LaneId, NodeId, Variant};

use super::coasting::{coasting, keeping};
use super::fallen::{Fallen, Taken, fallen, fallen_with};
use super::held_off::HeldOff;
use super::joined::{apart, joined};
use super::left::{Bench, SAGGED};
use super::shorted::{opened, shorted};
use super::{
    Effect, Fault, Kind, banks, conducting, cooled, cut, discharged, left_on, legs, sensed, welded, windings,
};
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
    for (need, stages, at) in needs.iter() {
        let (kind, bus) = match need {
            Need::Controller(_) => (Kind::Controller, None),
            Need::Named(_) => (Kind::Dependence, None),
            Need::Bus(name) => {
                (Kind::Bus, variant.plan.buses.iter().position(|bus| variant.path(bus.part) == name))
            }
            Need::Transformer(_) => (Kind::Transformer, None),
            Need::Output(_) => (Kind::GateSupply, None),
        };
        let Some(at) = at else { continue };
        let (buses, contactors) = (bus.into_iter().collect(), needs.contactors(need).collect());
        let fallen = fallen_with(variant, &needs, Taken { stages, buses, contactors, ..Taken::default() });
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
    banks::all(&mut bench, &mut faults);
    left_on::all(&bench, &mut faults);
    windings::all(&mut bench, &needs, &mut faults);
    faults
}

/// Banks of a bus that a short lifts to the voltage of another one, with what they are made for.
fn stands_at(bench: &Bench<'_>, lifted: usize, high: usize) -> Vec<String> {
    let (solved, variant) = (&bench.solved, bench.solved.variant);
    let highest = variant.plan.buses[high].highest_voltage;
    let most = variant.lane_ids().filter_map(|lane| solved.figure(highest, lane)).reduce(f64::max);
    let banks = variant.plan.buses[lifted].ripple.banks.iter().map(|&bank| &variant.plan.banks[bank]);
    let over = banks.filter_map(|bank| {
        let (most, rated) = (most?, solved.input(bank.each.voltage, LaneId::new(0))?);
        let [at, made_for] = [most, rated].map(|volts| value(volts, Dimension::Voltage));
        let name = variant.path(bank.part);
        (rated < most).then(|| format!("{name}, made for {made_for}, stands at up to {at} then"))
    });
    over.collect()
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
    effect.says.extend(unheld_contactors(variant, fallen));
    effect.discharge = discharges(bench, fallen, held, None);
    coasting(bench, fallen, held, &mut effect);
    effect
}

/// The same of a bus that something shorts for good: nothing keeps that live, and nothing is left on it to discharge. What else
/// falls with it is left as any other is.
pub(super) fn after_short(bench: &mut Bench<'_>, fallen: &Fallen, bus: usize) -> Effect {
    let mut effect = bench.after(fallen);
    let variant = bench.solved.variant;
    effect.says.extend(unheld_contactors(variant, fallen));
    effect.discharge = discharges(bench, fallen, &HeldOff::default(), Some(bus));
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

/// Contactors that open, or do not close, for want of what their coils live on.
fn unheld_contactors(variant: &Variant, fallen: &Fallen) -> Vec<String> {
    let plan = &variant.plan;
    let all = plan.openings.iter().filter(|one| fallen.unheld.contains(&one.conductor));
    let (around, opens): (Vec<&Opening>, Vec<&Opening>) = all.partition(|one| one.around.is_some());
    let names = |all: &[&Opening]| {
        let names = all.iter().map(|one| variant.path(plan.conductors[one.conductor].part));
        names.collect::<Vec<_>>().join(", ")
    };
    let mut says = Vec::new();
    match opens.len() {
        0 => {}
        1 => says.push(format!("{} opens: nothing holds its coil any more", names(&opens))),
        _ => says.push(format!("{} open: nothing holds their coils any more", names(&opens))),
    }
    // What a source that is cut off would be connected with again is another day's.
    let idle = around.into_iter().filter(|one| match one.of {
        Circuit::Source(source) => !fallen.sources.contains(&source),
        Circuit::Stage(_) | Circuit::Load(_) => false,
    });
    let idle: Vec<&Opening> = idle.collect();
    if !idle.is_empty() {
        let verb = if idle.len() == 1 { "does" } else { "do" };
        says.push(format!("{} {verb} not close for another pre-charge", names(&idle)));
    }
    says
}

/// How discharges that are switched on stand once buses are dead; of a bus that is shorted there is nothing to say.
fn discharges(bench: &Bench<'_>, fallen: &Fallen, held: &HeldOff, shorted: Option<usize>) -> Vec<String> {
    let variant = bench.solved.variant;
    if fallen.dead.is_empty() {
        return Vec::new();
    }
    let discharges = variant.plan.control.iter().flat_map(|control| &control.discharges);
    let discharges = discharges.filter(|(bus, _)| Some(*bus) != shorted);
    let words = discharges.map(|(bus, from)| {
        let name = variant.path(variant.plan.buses[*bus].part);
        let dead =
            |from: &str| fallen.dead.iter().any(|&bus| variant.path(variant.plan.buses[bus].part) == from);
        let kept = keeping(bench, fallen, held, *bus);
        let still = kept.map_or_else(String::new, |machine| format!(" once {machine} stands still"));
        match from {
            None => format!("{name}: what the control of its active discharge lives on is not stated"),
            Some(from) if from.value != name && dead(&from.value) => {
                let stored = variant.plan.stored.iter().find(|stored| stored.bus == *bus);
                let alone = stored
                    .and_then(|stored| bench.solved.figure(stored.figures.passive_time, LaneId::new(0)));
                match alone {
                    Some(time) => {
                        format!("{name}: by its resistor alone, in {}{still}", value(time, Dimension::Time))
                    }
                    None => format!("{name}: stays charged, or for how long is not known"),
                }
            }
            Some(from) => match kept {
                Some(machine) => format!(
                    "{name}: its active discharge lives on {} and works against {machine} for as long as that turns",
                    from.value
                ),
                None => format!("{name}: its active discharge lives on {} and works on", from.value),
            },
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
            short.says.extend(stands_at(bench, lifted, high.unwrap_or(lifted)));
            let lifted = variant.path(variant.plan.buses[lifted].part);
            short.dead.retain(|bus| bus != lifted);
            // What is left was solved with that bus at rest.
            short.is_open = true;
        }
        short.says.splice(0..0, own.says);
        faults.push(fault(Kind::Short, &name, at, short));
    }
}
