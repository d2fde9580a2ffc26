//! What a machine without control does, in words, and what would change it.

use loadworthy_unit::plan::{Coasting, CoastingBus, PhaseShort};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{
    CHARGES, COASTING_VOLTAGE, CURRENT, DEMAGNETISING_CURRENT, MAGNETS, OPEN, TOO_FAST, TOO_MUCH, TORQUE,
    WEAKENS, left_of,
};
use crate::check::{Failure, Family, Told};
use crate::figure_text::{comparison, value};
use crate::review::Place;
use crate::seats::across;
use crate::steps::{higher_class, more_parallel, of_each, toward};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

/// The machine that a verdict is about: its own, the one of its bridge, or the fastest on its bus.
fn machine_of<'v>(
    worst: &Verdict,
    solved: &Solved<'v>,
    lane: LaneId,
) -> Option<(&'v CoastingBus, &'v Coasting)> {
    let plan = &solved.variant.plan;
    let all = || plan.coasting.iter().flat_map(|bus| bus.machines.iter().map(move |one| (bus, one)));
    match worst.defect {
        OPEN => {
            let bus = plan.coasting.iter().find(|bus| limit_of(worst, bus, solved).is_some())?;
            let crest = |one: &&Coasting| solved.figure(one.line_crest, lane).unwrap_or(f64::NEG_INFINITY);
            // Of equals the first.
            let fastest =
                bus.machines.iter().rev().max_by(|one, other| crest(one).total_cmp(&crest(other)))?;
            Some((bus, fastest))
        }
        CURRENT => all().find(|(_, one)| {
            one.short.as_ref().is_some_and(|short| short.seats.iter().any(|seat| seat.part == worst.part))
        }),
        CHARGES => all().find(|(_, one)| plan.stages[one.stage].part == worst.part),
        _ => all().find(|(_, one)| one.machine == worst.part),
    }
}

/// What the part of an open bus stands, and whether it is a device.
fn limit_of(worst: &Verdict, of_bus: &CoastingBus, solved: &Solved<'_>) -> Option<(InputId, bool)> {
    let plan = &solved.variant.plan;
    let device = across(&plan.stages, of_bus.bus).find(|withstand| withstand.part == worst.part);
    let banks = plan.buses[of_bus.bus].ripple.banks.iter().map(|&bank| &plan.banks[bank]);
    let bank = || banks.clone().find(|bank| bank.part == worst.part).map(|bank| (bank.each.voltage, false));
    device.map(|withstand| (withstand.blocking, true)).or_else(bank)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let (of_bus, coasting) = machine_of(worst, solved, lane)?;
    let (part, machine) = (variant.path(worst.part), variant.path(coasting.machine));
    let bus = variant.path(variant.plan.buses[of_bus.bus].part);
    let text = comparison(compared);
    let speed = value(solved.figure(coasting.speed, lane)?, Dimension::Speed);
    let turning = turning(coasting, &speed, solved, lane);
    let linked = solved.input(coasting.flux_linkage, lane).and_then(|flux| {
        let label = format!("{} link each phase", value(flux, Dimension::FluxLinkage));
        place(solved, coasting.flux_linkage, lane, label)
    });
    let limit_at = |input: InputId| place(solved, input, lane, format!("stands {}", text.limit));
    let mut worked = Vec::new();
    let (saying, at, because) = match worst.defect {
        CHARGES => {
            let lowest = of_bus.lowest;
            let of = if matches!(compared.limit_from, Some(Operand::Figure(figure)) if figure == lowest) {
                "the lowest voltage of the bus"
            } else {
                "the level at which the bus trips, whatever its voltage is before that"
            };
            let saying = format!(
                "with all gates off at {speed}, `{machine}` feeds `{bus}` through the diodes of `{part}`: its line voltage crests at {}, {}",
                text.carried,
                above(compared, of)
            );
            let rectified = coasting.rectified.as_ref();
            worked.extend(rectified.and_then(|own| super::charging::comes_to((of_bus, own), solved, lane)));
            worked.push(format!(
                "state at {part} what is meant to happen: `on_fault: gates_off`, where the bus takes the charge, or `three_phase_short`, which keeps it in the machine and is judged by its current"
            ));
            (saying, turning, vec![linked])
        }
        OPEN => {
            let (limit, is_device) = limit_of(worst, of_bus, solved)?;
            let of = if is_device { "the blocking voltage of its device" } else { "its rated voltage" };
            let saying = format!(
                "with all gates off and nothing that takes the charge, `{machine}` at {speed} brings `{bus}` to {} across `{part}`, {}",
                text.carried,
                above(compared, of)
            );
            (saying, limit_at(limit), vec![turning, linked])
        }
        CURRENT => {
            let short = coasting.short.as_ref()?;
            let seat = short.seats.iter().find(|seat| seat.part == worst.part)?;
            let steady = solved.figure(seat.steady, lane).map(|amps| value(amps, Dimension::Current))?;
            let saying = format!(
                "a short of all phases of `{machine}` drives a crest of {} through each device of `{part}`, {}",
                text.carried,
                above(compared, "its repetitive peak")
            );
            worked.push(format!("once it is steady the crest is {steady} at {speed}"));
            (saying, worst.kin.and_then(limit_at), vec![d_axis(short, solved, lane), linked])
        }
        MAGNETS => {
            let short = coasting.short.as_ref()?;
            let saying = format!(
                "a short of all phases drives {} against the magnets of `{machine}`, {}",
                text.carried,
                above(compared, "what they stand")
            );
            (saying, limit_at(coasting.demagnetising?), vec![d_axis(short, solved, lane), linked])
        }
        TOO_FAST => {
            let saying =
                format!("`{machine}` turns at {}, {}", text.carried, above(compared, "its highest speed"));
            (
                saying,
                turning,
                vec![place(solved, coasting.highest_speed, lane, format!("{} at most", text.limit))],
            )
        }
        TOO_MUCH => {
            let duty = &variant.duty_of(lane).name;
            let above = above(compared, "what its shaft stands");
            let saying = format!("`{duty}` asks `{machine}` for {}, {above}", text.carried);
            (saying, limit_at(coasting.highest_torque?), vec![asked(coasting, solved, lane)])
        }
        WEAKENS => {
            let duty = &variant.duty_of(lane).name;
            let above = above(compared, "what they stand");
            let saying =
                format!("`{duty}` drives {} against the magnets of `{machine}`, {above}", text.carried);
            let because = vec![asked(coasting, solved, lane), turning, linked];
            (saying, limit_at(coasting.demagnetising?), because)
        }
        TORQUE => {
            let short = coasting.short.as_ref()?;
            let saying = format!(
                "a short of all phases brakes `{machine}` with up to {}, {}",
                text.carried,
                above(compared, "what its shaft stands")
            );
            (saying, limit_at(coasting.highest_torque?), vec![d_axis(short, solved, lane), linked])
        }
        _ => return None,
    };
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried)));
    let mut because: Vec<Place> = because.into_iter().flatten().collect();
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, worked, ..Told::new(saying, at) })
}

/// Where it is said how fast the machine turns: its highest speed, or a duty point that turns it faster.
fn turning(coasting: &Coasting, speed: &str, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let now = solved.figure(coasting.turning, lane)?;
    if solved.input(coasting.highest_speed, lane).is_some_and(|most| now <= most) {
        return place(solved, coasting.highest_speed, lane, format!("{speed} at most"));
    }
    let inputs = &solved.variant.plan.stages[coasting.stage].bridge()?.inputs;
    let shaft = inputs.constants.as_ref().map(|constants| constants.speed);
    let mut said = shaft.into_iter().chain([inputs.frequency]);
    let said = said.find(|&input| solved.input(input, lane).is_some())?;
    place(solved, said, lane, format!("turns at {speed}"))
}

/// Where a duty point asks the shaft for something.
fn asked(coasting: &Coasting, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let constants = solved.variant.plan.stages[coasting.stage].bridge()?.inputs.constants.as_ref()?;
    let torque = solved.figure(constants.torque_asked, lane)?;
    let mut said = [constants.torque, constants.shaft_power].into_iter();
    let said = said.find(|&input| solved.input(input, lane).is_some())?;
    place(solved, said, lane, format!("{} at the shaft", value(torque, Dimension::Torque)))
}

fn d_axis(short: &PhaseShort, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let henry = solved.input(short.d, lane)?;
    place(solved, short.d, lane, format!("{} limit the current", value(henry, Dimension::Inductance)))
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let Some((of_bus, coasting)) = machine_of(worst, solved, lane) else { return Vec::new() };
    let plan = &solved.variant.plan;
    let over = compared.carried_value / compared.allowed;
    let machine = solved.variant.path(coasting.machine);
    let slower = || {
        let name = format!("highest speed of `{machine}`");
        toward(&name, coasting.highest_speed, (Dimension::Speed, ""), 1.0 / over, solved, lane)
    };
    match (worst.defect, &coasting.short) {
        (CHARGES, _) => vec![slower()],
        (TOO_FAST, _) => {
            let name = format!("highest speed of `{machine}`");
            vec![toward(&name, coasting.highest_speed, (Dimension::Speed, ""), over, solved, lane)]
        }
        (OPEN, _) => {
            let higher = of_each(failure, |verdict| {
                let (compared, lane) = (verdict.comparison()?, verdict.lane()?);
                let (limit, is_device) = limit_of(verdict, of_bus, solved)?;
                let needed = compared.carried_value / left_of(&COASTING_VOLTAGE, solved);
                let over = compared.carried_value / compared.allowed;
                let volts = (Dimension::Voltage, "");
                Some(if is_device {
                    higher_class(limit, needed, solved, lane)
                } else {
                    toward("voltage of each capacitor", limit, volts, over, solved, lane)
                })
            });
            vec![higher, slower()]
        }
        (CURRENT, Some(short)) => {
            let stage = &plan.stages[coasting.stage];
            let kinds: Vec<usize> =
                short.seats.iter().filter(|seat| seat.part == worst.part).map(|seat| seat.seat).collect();
            vec![more_parallel(plan, stage, &kinds, solved, lane)]
        }
        (MAGNETS | WEAKENS, _) => {
            let Some(demagnetising) = coasting.demagnetising else { return Vec::new() };
            let name = format!("current that the magnets of `{machine}` stand");
            let needed = compared.carried_value / left_of(&DEMAGNETISING_CURRENT, solved);
            let factor = needed / compared.limit;
            vec![toward(&name, demagnetising, (Dimension::Current, " peak"), factor, solved, lane)]
        }
        (TORQUE | TOO_MUCH, _) => {
            let name = format!("torque that the shaft of `{machine}` stands");
            let highest = coasting.highest_torque;
            let family = |input| toward(&name, input, (Dimension::Torque, ""), over, solved, lane);
            highest.map(family).into_iter().collect()
        }
        _ => Vec::new(),
    }
}
