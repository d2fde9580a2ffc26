//! What conducts that should not: capacitors and windings that break down.

use loadworthy_physics::insulation::protection::Bonding;
use loadworthy_unit::plan::{Domain, Isolation, Pole, PoleCapacitor};
use loadworthy_unit::{Dimension, LaneId};

use super::fallen::{Taken, fallen_with};
use super::found::{after_short, fault};
use super::joined::{TOUCHABLE, voltage};
use super::left::Bench;
use super::shorted::across;
use super::{Effect, Fault, Kind};
use crate::dependence::Needs;
use crate::figure_text::value;
use crate::free_text::in_line;

/// Every bank, every bus without one, every capacitor from a pole to another domain, and the winding of every machine.
pub(super) fn all(bench: &mut Bench<'_>, needs: &Needs<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for bank in &variant.plan.banks {
        let bus = variant.plan.buses.iter().position(|bus| {
            bus.ripple.banks.iter().any(|&place| variant.plan.banks[place].part == bank.part)
        });
        let Some(bus) = bus else { continue };
        let part = variant.tables.part_of(bank.part);
        faults.push(fault(Kind::Bank, &part.path, part.at, shorted(bench, needs, bus)));
    }
    for (place, bus) in variant.plan.buses.iter().enumerate().filter(|(_, bus)| bus.ripple.banks.is_empty()) {
        let part = variant.tables.part_of(bus.part);
        faults.push(fault(Kind::BusShort, &part.path, part.at, shorted(bench, needs, place)));
    }
    let Some(isolation) = &variant.plan.isolation else { return };
    for capacitor in &isolation.capacitors {
        let at = variant.tables.part_of(capacitor.part).at;
        let effect = bridged(bench, needs, isolation, capacitor);
        faults.push(fault(Kind::Suppression, &in_line(&capacitor.name), at, effect));
    }
    for stage in &variant.plan.stages {
        let machine = stage.bridge().and_then(|bridge| bridge.machine);
        let bus = stage.ports.first().and_then(|port| port.bus);
        let (Some(machine), Some(bus)) = (machine, bus) else { continue };
        let domain = isolation.domains().find(|(_, domain)| domain.stress.buses.contains(&bus));
        let Some((place, domain)) = domain else { continue };
        let part = variant.tables.part_of(machine);
        let effect = framed(bench, needs, (isolation, place, domain), bus, &part.path);
        faults.push(fault(Kind::Frame, &part.path, part.at, effect));
    }
}

/// A bus that something shorts for good: what drives it is cut off, and nothing is left on it.
fn shorted(bench: &mut Bench<'_>, needs: &Needs<'_>, bus: usize) -> Effect {
    let variant = bench.solved.variant;
    let (says, cut_off) = across(&bench.solved, bus);
    let taken = Taken { buses: vec![bus], sources: cut_off, ..Taken::default() };
    let fallen = fallen_with(variant, needs, taken);
    let mut effect = after_short(bench, &fallen, bus);
    effect.says.insert(0, says);
    let coasting = variant.plan.coasting.iter().filter(|of| of.bus == bus).flat_map(|of| &of.machines);
    let turning: Vec<&str> = coasting.map(|one| variant.path(one.machine)).collect();
    if !turning.is_empty() {
        effect.says.push(format!(
            "{}: drives current into it through the diodes while it turns",
            turning.join(", ")
        ));
    }
    effect
}

/// A capacitor that leads from a pole to another domain as a wire does.
fn bridged(
    bench: &mut Bench<'_>,
    needs: &Needs<'_>,
    isolation: &Isolation,
    capacitor: &PoleCapacitor,
) -> Effect {
    let variant = bench.solved.variant;
    let path = format!("capacitors.{}.capacitance", capacitor.name);
    let hangs =
        |pole: &&Pole| pole.capacitances.iter().any(|&input| variant.tables.input_of(input).path == path);
    let Some(pole) = isolation.poles.iter().find(hangs) else { return Effect::default() };
    let far = [capacitor.between.0, capacitor.between.1].into_iter().find(|&end| end != pole.domain);
    let (domain, far) = (isolation.domain(pole.domain), isolation.domain(far.unwrap_or(pole.domain)));
    let name = variant.path(pole.part);
    let volts = voltage(&bench.solved, domain);
    let up_to =
        volts.map_or_else(String::new, |volts| format!(" (up to {})", value(volts, Dimension::Voltage)));
    let joins = format!("joins {name} of {}{up_to} to {}", domain.name, far.name);
    if domain.is_earthed {
        if pole.share <= 0.0 {
            return Effect {
                says: vec![joins, format!("{name} stands on the chassis already")],
                ..Effect::default()
            };
        }
        // The other way back is the earthing.
        let bus = pole.buses.first().copied();
        let mut effect = bus.map_or_else(Effect::default, |bus| shorted(bench, needs, bus));
        effect.says.insert(0, joins);
        return effect;
    }
    let mut effect = Effect { says: vec![joins], ..Effect::default() };
    floats(bench, (domain, far), volts, &mut effect);
    let others =
        isolation.poles.iter().filter(|other| other.domain == pole.domain && other.part != pole.part);
    for other in others.filter(|other| other.toward.iter().any(|&end| isolation.domain(end).part == far.part))
    {
        if let Some(volts) = volts {
            let (other, far) = (variant.path(other.part), &far.name);
            let volts = value(volts, Dimension::Voltage);
            effect.says.push(format!("what leads from {other} to {far} stands against the whole {volts}"));
        }
    }
    effect
}

/// A winding that lies on the frame of its machine.
fn framed(
    bench: &mut Bench<'_>,
    needs: &Needs<'_>,
    (isolation, place, domain): (&Isolation, usize, &Domain),
    bus: usize,
    machine: &str,
) -> Effect {
    let variant = bench.solved.variant;
    let volts = voltage(&bench.solved, domain);
    let text = |volts: f64| value(volts, Dimension::Voltage);
    let up_to = volts.map_or_else(String::new, |volts| format!(" (up to {})", text(volts)));
    let joins = format!("joins {}{up_to} to the frame of {machine}", domain.name);
    if domain.is_earthed {
        let mut effect = shorted(bench, needs, bus);
        effect.says.insert(0, joins);
        return effect;
    }
    let mut effect = Effect { says: vec![joins], ..Effect::default() };
    if volts.is_some_and(|volts| TOUCHABLE < volts) {
        effect.is_hazard = true;
        effect.says.push(
            "whoever touches that frame relies on its bonding, which nothing here describes".to_owned(),
        );
    }
    effect.says.extend(watched(domain));
    let moved =
        isolation.poles.iter().filter(|pole| pole.domain == place).map(|pole| variant.path(pole.part));
    let moved: Vec<&str> = moved.collect();
    if let Some(volts) = volts.filter(|_| !moved.is_empty()) {
        effect.says.push(format!(
            "each edge of its bridge then moves {} by up to {} against the frame, and drives current through what leads from there",
            moved.join(", "),
            text(volts)
        ));
    }
    effect
}

/// A first path from a circuit that floats: no fuse clears, and what flows is what its isolation lets through.
fn floats(bench: &Bench<'_>, (domain, far): (&Domain, &Domain), volts: Option<f64>, effect: &mut Effect) {
    let hurts = volts.is_some_and(|volts| TOUCHABLE < volts);
    if far.is_touchable() && hurts {
        effect.is_hazard = true;
        effect.says.push(if far.bonding >= Bonding::Stated {
            format!("a person may touch {}: its bonding alone keeps that from them", far.name)
        } else {
            format!("a person may touch {}, with that on it", far.name)
        });
    }
    // From metal that nothing bonds no current returns, so that nothing finds it either.
    if far.floats() {
        effect.says.push(format!(
            "nothing leads from {} to the chassis: no current flows, and no sensor of an isolation finds it",
            far.name
        ));
        return;
    }
    let together =
        domain.leakage.as_ref().and_then(|leakage| bench.solved.figure(leakage.together, LaneId::new(0)));
    effect.says.push(match volts.zip(together) {
        Some((volts, ohms)) => {
            let amps = value(volts / ohms, Dimension::Current);
            format!("no fuse clears: no more than {amps} flows, through its isolation resistances")
        }
        None => "no fuse clears; what flows through its isolation resistances is not known".to_owned(),
    });
    effect.says.extend(watched(domain));
}

/// Whether anything finds a first fault of a circuit that floats.
fn watched(domain: &Domain) -> Option<String> {
    let leakage = domain.leakage.as_ref()?;
    Some(if leakage.is_watched {
        format!("the sensor of the isolation of {} finds it", domain.name)
    } else {
        format!("nothing watches the isolation of {}: it stays until a second fault", domain.name)
    })
}
