//! A bootstrap that does not last in words, and what would change it.

use loadworthy_physics::gates::bootstrap::{self, Taken};
use loadworthy_physics::{Capacitance, Charge, Current, Voltage};
use loadworthy_unit::plan::Bootstrap;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{DIODE, DOWN, NEVER};
use crate::check::{Failure, Family, Told};
use crate::figure_text::{at_least, comparison, value};
use crate::gated::places;
use crate::steps::toward_all;
use crate::tell::{above, demand, part_at, place, policy_place};
use crate::verdict::{Comparison, Verdict};

/// Less of the charging voltage is no way to speak of, whatever falls on it.
const SHORT_WAY: f64 = 0.25;
/// So much of the gate voltage of its figures below it, a gate is at too low a level.
const NEAR_LEVEL: f64 = 0.1;

pub(super) fn told(of: &Bootstrap, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let plan = &solved.variant.plan;
    let drive = &plan.gate_drives[of.drive];
    let stage = &plan.stages[drive.stage];
    let name = solved.variant.path(plan.gate_supplies[of.supply].part);
    if worst.defect == NEVER {
        let part = solved.variant.path(worst.part);
        let saying = format!(
            "the side below `{part}` never conducts, so that nothing recharges its bootstrap `{name}`"
        );
        let at =
            part_at(solved, plan.gate_supplies[of.supply].part, "charged by the low side alone".to_owned());
        let because = demand(stage, solved, lane).into_iter().collect();
        let why = "an isolated output of its own needs no recharge; or a duty that leaves the low side some time in each period";
        return Some(Told { because, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) });
    }
    let compared = worst.comparison()?;
    let text = comparison(compared);
    let stated = |input: InputId, dimension| {
        solved.input(input, lane).map(|stated| value(stated, dimension)).unwrap_or_default()
    };
    let time = |figure| solved.figure(figure, lane).map(|time| value(time, Dimension::Time));
    let is_lifted = of.bus.is_none_or(|bus| of.across != Some(plan.buses[bus].highest_voltage));
    let (saying, (input, label), causes) = if worst.defect == DIODE {
        let saying = format!(
            "the diode of the bootstrap `{name}` blocks a {} of up to {}, {}",
            if is_lifted { "node" } else { "bus" },
            text.carried,
            above(compared, "what it blocks")
        );
        let highest = of.bus.and_then(|bus| {
            let volts = solved.figure(plan.buses[bus].highest_voltage, lane)?;
            Some((plan.buses[bus].highest, format!("up to {}", value(volts, Dimension::Voltage))))
        });
        (saying, (of.blocking_voltage, format!("blocks {}", text.limit)), highest.into_iter().collect())
    } else {
        let from = stated(of.charged_from, Dimension::Voltage);
        let lockout = stated(drive.channel.undervoltage, Dimension::Voltage);
        // Where no way is left at all its charge is too low, and no capacitor is large enough.
        let never_rises = compared.limit <= 0.0;
        let saying = if never_rises {
            format!(
                "what charges the bootstrap `{name}` never lifts it above {lockout}, where its driver blocks the gate"
            )
        } else {
            format!(
                "the bootstrap `{name}` falls by {} until it is recharged, {}",
                text.carried,
                above(compared, "the way to the lock-out of its driver")
            )
        };
        let recharge = time(of.figures.recharge)
            .map_or_else(String::new, |recharge| format!(", recharged within {recharge}"));
        let mut causes = vec![
            (of.charged_from, format!("charged from {from}")),
            (of.diode_drop, format!("less {}", stated(of.diode_drop, Dimension::Voltage))),
            (of.resistance, format!("through {}{recharge}", stated(of.resistance, Dimension::Resistance))),
            (drive.channel.undervoltage, format!("blocks below {lockout}")),
        ];
        let on = time(of.figures.on_time).unwrap_or_default();
        causes.push((drive.gate.charge, format!("taken from it; on for {on}")));
        let current = solved.figure(of.figures.current, lane);
        if current > solved.input(of.leakage, lane) {
            let power = stated(drive.channel.own_power, Dimension::Power);
            causes.push((drive.channel.own_power, format!("{power} of its own, taken from it as well")));
        }
        causes.push((of.capacitance, stated(of.capacitance, Dimension::Capacitance)));
        let first = if never_rises { of.charged_from } else { largest(of, compared, solved, lane) };
        let speaks = causes.iter().position(|(input, _)| *input == first).unwrap_or(0);
        let speaks = causes.remove(speaks);
        (saying, speaks, causes)
    };
    let at = place(solved, input, lane, label.clone()).unwrap_or_else(|| part_at(solved, worst.part, label));
    let mut because = places(solved, lane, causes);
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let worked = if worst.defect == DOWN { sizes(of, compared, solved, lane) } else { None };
    Some(Told { because, worked: worked.into_iter().collect(), ..Told::new(saying, at) })
}

/// What takes most of the way to the lock-out: a way that is short from the beginning, or the largest part of the fall.
fn largest(of: &Bootstrap, compared: &Comparison, solved: &Solved<'_>, lane: LaneId) -> InputId {
    let drive = &solved.variant.plan.gate_drives[of.drive];
    let volts = |input| solved.input(input, lane).unwrap_or(f64::NAN);
    if compared.limit < SHORT_WAY * volts(of.charged_from) {
        // Of two that lie so near, the one that the gate itself finds too low is the cause.
        let is_low = solved
            .figure(drive.figures.shortfall, lane)
            .is_some_and(|shortfall| NEAR_LEVEL * volts(drive.gate.stated_on) < shortfall);
        return if is_low { of.charged_from } else { drive.channel.undervoltage };
    }
    let droop = solved.figure(of.figures.droop, lane).unwrap_or(f64::NAN);
    let constant = volts(of.resistance) * volts(of.capacitance);
    let share = solved.figure(of.figures.recharge, lane).map_or(1.0, |time| -libm::expm1(-time / constant));
    let parts = [
        (of.capacitance, droop),
        (of.diode_drop, volts(of.diode_drop)),
        (of.resistance, droop / share - droop),
    ];
    parts
        .into_iter()
        .reduce(|most, one| if one.1 > most.1 { one } else { most })
        .map_or(of.capacitance, |most| most.0)
}

/// What of the fall is droop, recharged as far as there is time, and what of it may be.
struct Droop {
    /// Droop from one recharge to the next.
    now: f64,
    /// The same if the capacitor were recharged wholly, as large as it may be; negative where nothing is left for it.
    may_be: f64,
}

fn droop(of: &Bootstrap, compared: &Comparison, solved: &Solved<'_>, lane: LaneId) -> Option<Droop> {
    let input = |input: InputId| solved.input(input, lane);
    let now = solved.figure(of.figures.droop, lane)?;
    let low = of.low_drop.map_or(Some(0.0), |low| solved.figure(low, lane))?;
    let fixed = input(of.tolerance)? * input(of.charged_from)?.abs() + input(of.diode_drop)? + low.abs();
    Some(Droop { now, may_be: compared.allowed - fixed })
}

/// Least capacitance, and how long the one that is fitted holds.
fn sizes(of: &Bootstrap, compared: &Comparison, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let plan = &solved.variant.plan;
    let drive = &plan.gate_drives[of.drive];
    let input = |input: InputId| solved.input(input, lane);
    let Droop { now, may_be } = droop(of, compared, solved, lane)?;
    if may_be <= 0.0 {
        return Some(
            "drops and tolerance alone take more than is allowed: no capacitor is large enough".to_owned(),
        );
    }
    let farad = input(of.capacitance)?;
    let count = input(plan.stages[drive.stage].seats[drive.seat].parallel)?;
    let taken = Taken {
        gate: Charge::new(count * solved.figure(drive.figures.charge, lane)?),
        shift: Charge::new(input(of.shift_charge)?),
        leakage: Current::new(solved.figure(of.figures.current, lane)?),
    };
    let hold = bootstrap::hold_time(&taken, Capacitance::new(farad), Voltage::new(may_be)).si();
    let least = at_least(farad * now / may_be, Dimension::Capacitance);
    let droop = value(may_be, Dimension::Voltage);
    let holds = match hold {
        hold if hold < 0.0 => "one turn-on takes more than that".to_owned(),
        hold if hold.is_finite() => {
            format!("the one that is fitted holds for {} after a turn-on", value(hold, Dimension::Time))
        }
        _ => "without leakage the one that is fitted holds for good".to_owned(),
    };
    Some(format!("least capacitance {least} for a droop of {droop}, recharged wholly; {holds}"))
}

pub(super) fn propose(of: &Bootstrap, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let plan = &solved.variant.plan;
    let failing: Vec<&Bootstrap> = plan
        .bootstraps
        .iter()
        .filter(|one| failure.all.iter().any(|verdict| verdict.part == plan.gate_drives[one.drive].part))
        .collect();
    let all = |input: &dyn Fn(&Bootstrap) -> InputId| {
        let mut inputs: Vec<InputId> = Vec::new();
        for input in failing.iter().map(|one| input(one)) {
            if !inputs.contains(&input) {
                inputs.push(input);
            }
        }
        inputs
    };
    let ladder = |name: &str, inputs: &[InputId], dimension, factor: f64| {
        toward_all(name, inputs, (dimension, ""), factor, solved, lane)
    };
    let over = compared.carried_value / compared.allowed;
    if worst.defect == DIODE {
        let diodes = all(&|one| one.blocking_voltage);
        return vec![ladder("a diode that blocks", &diodes, Dimension::Voltage, over)];
    }
    let capacitor = droop(of, compared, solved, lane).filter(|droop| droop.may_be > 0.0).map(|droop| {
        let capacitances = all(&|one| one.capacitance);
        ladder("capacitance", &capacitances, Dimension::Capacitance, droop.now / droop.may_be)
    });
    let resistances = all(&|one| one.resistance);
    let sooner = ladder("resistance", &resistances, Dimension::Resistance, 1.0 / over);
    let from = solved.input(of.charged_from, lane).unwrap_or(f64::NAN);
    let higher = 1.0 + (compared.carried_value - compared.allowed) / from;
    let charged = ladder("charging voltage", &all(&|one| one.charged_from), Dimension::Voltage, higher);
    [capacitor, Some(sooner), Some(charged)].into_iter().flatten().collect()
}
