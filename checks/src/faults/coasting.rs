//! Machines that turn on while their bridge stands: what they bring to their bus, and what takes it there.

use loadworthy_physics::rectified::rectified;
use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_physics::{Frequency, Inductance, Voltage};
use loadworthy_unit::plan::{ChopperKind, Coasting, Topology};
use loadworthy_unit::{Dimension, LaneId};

use super::Effect;
use super::fallen::Fallen;
use super::held_off::HeldOff;
use super::left::Bench;
use crate::figure_text::value;

/// Machines whose crest at highest speed lies above what their bus may reach, once their bridge stands and does not short them. Where nothing takes
/// what they give, the bus comes to that crest. Where something does, what they give is held against what a source on the bus takes for
/// good; whether anything else can take it is left open.
pub(super) fn coasting(bench: &Bench<'_>, fallen: &Fallen, held: &HeldOff, effect: &mut Effect) {
    let variant = bench.solved.variant;
    for bus in &variant.plan.coasting {
        let own = &variant.plan.buses[bus.bus];
        let takers = takers(bench, fallen, bus.bus);
        let coasts = |machine: &&Coasting| {
            fallen.stages.contains(&machine.stage) && !held.lets_short(variant, fallen, machine)
        };
        for machine in bus.machines.iter().filter(coasts) {
            let others = bus.machines.iter().filter(coasts).filter(|other| other.machine != machine.machine);
            let others = others.map(|other| given(bench, bus.bus, other).map(|(amps, _)| amps)).sum();
            let coasts_on = (bus.bus, machine, others);
            let crest = bench.solved.figure(machine.line_crest, LaneId::new(0));
            let highest = bench.solved.figure(own.highest_voltage, LaneId::new(0));
            let Some((crest, highest)) = crest.zip(highest) else { continue };
            if crest <= highest {
                let live = keeps_live(bench, fallen, bus.bus, (machine, crest));
                let is_fed = live.is_none() && !takers.is_empty();
                effect.says.extend(live);
                if is_fed {
                    charges(bench, coasts_on, (crest, &takers), effect);
                }
                continue;
            }
            if machine.short.is_some() {
                let [stage, machine] =
                    [variant.plan.stages[machine.stage].part, machine.machine].map(|part| variant.path(part));
                effect.says.push(format!(
                    "{stage} no longer shorts {machine}: on neither side have its gates both power and a controller for certain"
                ));
            }
            let [machine, bus] = [machine.machine, own.part].map(|part| variant.path(part));
            let crest_volts = crest;
            let [crest, highest] = [crest, highest].map(|volts| value(volts, Dimension::Voltage));
            if takers.is_empty() {
                let banks = of_banks(bench, coasts_on.0, crest_volts);
                effect.says.push(format!(
                    "{machine} at highest speed brings {bus} to {crest} through the diodes, above its {highest}{banks}"
                ));
                continue;
            }
            let (taken, is_known) = taken(bench, coasts_on, &takers);
            effect.is_open |= !is_known;
            effect.says.push(format!(
                "{machine} at highest speed feeds {bus} through the diodes with a crest of {crest}, above its {highest}{taken}"
            ));
        }
    }
}

/// What a machine gives to a bus that stands its crest and that something holds: it charges that through the diodes, unnoticed.
fn charges(
    bench: &Bench<'_>,
    coasts_on: (usize, &Coasting, Option<f64>),
    (crest, takers): (f64, &[Taker<'_>]),
    effect: &mut Effect,
) {
    let variant = bench.solved.variant;
    let own = &variant.plan.buses[coasts_on.0];
    let volts = variant.lane_ids().filter_map(|lane| bench.solved.figure(own.voltage, lane));
    if volts.reduce(f64::min).is_none_or(|lowest| crest <= lowest) {
        return;
    }
    let (taken, is_known) = taken(bench, coasts_on, takers);
    effect.is_open |= !is_known;
    let [machine, bus] = [coasts_on.1.machine, own.part].map(|part| variant.path(part));
    let crest = value(crest, Dimension::Voltage);
    effect.says.push(format!(
        "{machine} at highest speed feeds {bus} through the diodes with a crest of {crest}{taken}"
    ));
}

/// Which banks of a bus stand what it comes to, and which do not, in words.
fn of_banks(bench: &Bench<'_>, bus: usize, crest: f64) -> String {
    let variant = bench.solved.variant;
    let banks = variant.plan.buses[bus].ripple.banks.iter().map(|&bank| &variant.plan.banks[bank]);
    let rated = banks.filter_map(|bank| {
        let rated = bench.solved.input(bank.each.voltage, LaneId::new(0))?;
        let name = variant.path(bank.part);
        let made_for = value(rated, Dimension::Voltage);
        Some(if rated < crest {
            format!(", and above the {made_for} of {name}")
        } else {
            format!("; {name} is made for {made_for}")
        })
    });
    rated.collect()
}

/// A machine that turns and keeps a bus live that nothing else feeds, by name.
pub(super) fn keeping<'u>(bench: &Bench<'u>, fallen: &Fallen, held: &HeldOff, bus: usize) -> Option<&'u str> {
    let variant = bench.solved.variant;
    let all = variant.plan.coasting.iter().filter(|one| one.bus == bus).flat_map(|one| &one.machines);
    let mut keeps = all.filter(|machine| {
        let crest = bench.solved.figure(machine.line_crest, LaneId::new(0));
        fallen.stages.contains(&machine.stage)
            && !held.lets_short(variant, fallen, machine)
            && crest.is_some_and(|crest| HARMLESS.si() < crest)
    });
    let is_unfed = fallen.dead.contains(&bus) || fallen.sagging.iter().any(|(high, _)| *high == bus);
    keeps.next().filter(|_| is_unfed).map(|machine| variant.path(machine.machine))
}

/// A bus that nothing feeds any more, and that a machine which turns feeds on, in words.
fn keeps_live(
    bench: &Bench<'_>,
    fallen: &Fallen,
    bus: usize,
    (machine, crest): (&Coasting, f64),
) -> Option<String> {
    let sags = fallen.sagging.iter().any(|(high, _)| *high == bus);
    if HARMLESS.si() < crest && (sags || fallen.dead.contains(&bus)) {
        let variant = bench.solved.variant;
        let [machine, bus] = [machine.machine, variant.plan.buses[bus].part].map(|part| variant.path(part));
        let crest = value(crest, Dimension::Voltage);
        return Some(format!(
            "{machine} keeps {bus} live while it turns: up to {crest} at highest speed, through the diodes"
        ));
    }
    None
}

/// What a machine gives for good, in words, and whether it is known that something can take it.
///
/// What others on its bus give at once, as far as that is known, comes to it.
fn taken(
    bench: &Bench<'_>,
    (bus, machine, others): (usize, &Coasting, Option<f64>),
    takers: &[Taker<'_>],
) -> (String, bool) {
    let names = || takers.iter().map(|taker| taker.name).collect::<Vec<_>>().join(", ");
    let Some((amps, volts)) = given(bench, bus, machine) else {
        return (format!("; how much comes, and whether {} can take it, is not reckoned", names()), false);
    };
    let [amps_said, watts, volts_said] =
        [(amps, Dimension::Current), (amps * volts, Dimension::Power), (volts, Dimension::Voltage)]
            .map(|(figure, dimension)| value(figure, dimension));
    let comes = format!(": up to {amps_said} come at {volts_said}, {watts}");
    let most: Option<f64> = takers.iter().map(|taker| taker.for_good).sum();
    match most.zip(others) {
        Some((most, others)) => {
            let all = amps + others;
            let than = if most < all { "more" } else { "no more" };
            let with = if others > 0.0 {
                format!(", {} with what else turns there", value(all, Dimension::Current))
            } else {
                String::new()
            };
            let most = value(most, Dimension::Current);
            (format!("{comes}{with}, {than} than the {most} that {} can take for good", names()), true)
        }
        None => (format!("{comes}; whether {} can take it is not reckoned", names()), false),
    }
}

/// The largest power of those that a machine at highest speed gives at the solved voltages of its bus: current and voltage.
fn given(bench: &Bench<'_>, bus: usize, machine: &Coasting) -> Option<(f64, f64)> {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    let lane = LaneId::new(0);
    let of_short = machine.short.as_ref().map(|short| [short.d, short.q]);
    let axes = machine.rectified.as_ref().map(|rectified| rectified.axes);
    let axes = of_short.or(axes)?.map(|input| bench.solved.input(input, lane));
    let [Some(d), Some(q)] = axes else { return None };
    let pairs = bench.solved.input(machine.pole_pairs, lane)?;
    let emf = Voltage::new(bench.solved.figure(machine.line_crest, lane)? / 3.0f64.sqrt());
    let hertz = Frequency::new(pairs * bench.solved.figure(machine.speed, lane)?);
    let into =
        |volts: f64| rectified(emf, hertz, [d, q].map(Inductance::new), Voltage::new(volts)).direct.si();
    let volts = variant.lane_ids().filter_map(|lane| bench.solved.figure(plan.buses[bus].voltage, lane));
    let all = volts.map(|volts| (into(volts), volts)).filter(|(amps, _)| amps.is_finite());
    all.reduce(|most, one| if one.0 * one.1 > most.0 * most.1 { one } else { most })
}

/// Something that takes power from a bus, and the current there that it takes for good, where that is known.
struct Taker<'u> {
    name: &'u str,
    for_good: Option<f64>,
}

/// What takes power from a bus: its own sources that take some back, and boosts at work that lead it to such sources. At rest
/// the diodes of a boost let nothing back.
fn takers<'u>(bench: &Bench<'u>, fallen: &Fallen, bus: usize) -> Vec<Taker<'u>> {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    let absorbs = |source: usize| {
        let absorbs = bench.solved.input(plan.sources[source].absorbs, LaneId::new(0));
        !fallen.sources.contains(&source) && absorbs.is_some_and(|absorbs| 0.0 < absorbs)
    };
    let at = |bus: usize| {
        let sources = plan.buses[bus].sources.iter().filter(move |_| !fallen.dead.contains(&bus));
        sources.copied().filter(|&source| absorbs(source))
    };
    let own = at(bus).map(|source| {
        let charge = plan.sources[source].limits.charge.iter();
        let mut for_good = charge.filter(|limit| limit.lasts.is_infinite());
        let for_good = for_good.next().and_then(|limit| bench.solved.input(limit.most, LaneId::new(0)));
        Taker { name: variant.path(plan.sources[source].part), for_good }
    });
    let through = plan.stages.iter().enumerate().filter(|(place, stage)| {
        let Topology::Chopper(chopper) = &stage.topology else { return false };
        let [low, high] = stage.ports.as_slice() else { return false };
        let leads_back = chopper.kind == ChopperKind::Boost
            && chopper.diode_side.is_none()
            && high.bus == Some(bus)
            && !fallen.stages.contains(place);
        leads_back && low.bus.is_some_and(|low| at(low).next().is_some())
    });
    own.chain(through.map(|(_, stage)| Taker { name: variant.path(stage.part), for_good: None })).collect()
}
