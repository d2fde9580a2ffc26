//! Words that the checks share: where a value stands, what a duty point asks, what the policy keeps.

use std::collections::BTreeSet;

use loadworthy_unit::plan::{
    Bridge, Conductor, Declared, Load, Magnetic, MagneticRole, Plan, Stage, Topology,
};
use loadworthy_unit::{Dimension, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::figure_text::{comparison, excess, percent, times, value};
use crate::review::Place;
use crate::verdict::{Comparison, EQUAL_WITHIN};

/// The place where an input stands, or the entry it would stand in.
pub(crate) fn place(solved: &Solved<'_>, input: InputId, lane: LaneId, label: String) -> Option<Place> {
    let duty = solved.variant.lane(lane).duty;
    let node = solved.variant.tables.stated(input, duty).origin.node()?;
    Some(Place { node, label })
}

/// The place where the description names a part.
pub(crate) fn part_at(solved: &Solved<'_>, part: PartId, label: String) -> Place {
    Place { node: solved.variant.tables.part_of(part).at, label }
}

/// Conductors that stand in no branch, in a line.
pub(crate) fn adrift(solved: &Solved<'_>) -> Option<String> {
    let variant = solved.variant;
    let all = variant.plan.unused.iter().filter(|unused| unused.what == Declared::Conductor);
    let names: Vec<&str> = all.map(|unused| variant.path(unused.part)).collect();
    (!names.is_empty()).then(|| format!("described and in no branch: {}", names.join(", ")))
}

/// What the duty point asks of a stage, at the value that decides the current: of a bridge what its machine is asked, of
/// a converter the largest of what it passes on.
pub(crate) fn demand(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    match stage.bridge() {
        Some(bridge) => of_bridge(bridge, solved, lane),
        None => passed_on(stage, solved, lane),
    }
}

/// What one leg of a stage carries above the others.
pub(crate) fn in_its_leg(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let magnetics = &solved.variant.plan.magnetics;
    let legs = matches!(stage.topology, Topology::Chopper(_)).then_some(&stage.magnetics)?;
    let uneven = legs.iter().find_map(|&own| magnetics[own].uneven)?;
    let share = solved.input(uneven.share, lane).filter(|&share| share > 0.0)?;
    place(solved, uneven.share, lane, format!("one leg carries {} more than the mean", percent(share)))
}

/// What one choke of a current doubler carries above the other.
pub(crate) fn in_its_choke(magnetic: &Magnetic, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let uneven = magnetic.uneven.filter(|_| magnetic.role == MagneticRole::OutputChoke)?;
    let share = solved.input(uneven.share, lane).filter(|&share| share > 0.0)?;
    let label = format!("one choke carries {} more than half of the load", percent(share));
    place(solved, uneven.share, lane, label)
}

/// The largest demand on the bus that a converter holds, or on that of the largest converter there, and so on. Stages that were
/// looked at are not asked twice.
fn passed_on(first: &Stage, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let plan: &Plan = &solved.variant.plan;
    let size = |figure| solved.figure(figure, lane).map_or(0.0, f64::abs);
    let mut seen: BTreeSet<PartId> = BTreeSet::new();
    let mut stage = first;
    loop {
        seen.insert(stage.part);
        let bus = stage.ports.get(stage.led_by?)?.bus?;
        let loads = plan.loads.iter().filter(|load| load.port.bus == Some(bus));
        let load = loads.map(|load| (size(load.port.power), load)).reduce(larger);
        let hangs = plan
            .stages
            .iter()
            .filter_map(|other| Some((other, other.ports.iter().find(|port| port.bus == Some(bus))?)));
        let others = hangs.filter(|(other, _)| !seen.contains(&other.part));
        let next = others.map(|(other, port)| (size(port.power), other)).reduce(larger);
        match (load, next) {
            (Some((own, load)), next) if next.is_none_or(|(other, _)| other <= own) => {
                return of_load(load, solved, lane);
            }
            (_, Some((_, next))) => match next.bridge() {
                Some(bridge) => return of_bridge(bridge, solved, lane),
                None => stage = next,
            },
            _ => return None,
        }
    }
}

/// What a duty point asks of a load.
fn of_load(load: &Load, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let (asked, amps) = (solved.input(load.power, lane), solved.input(load.current, lane));
    match (asked, amps) {
        (Some(power), _) if power.abs() > 0.0 => {
            place(solved, load.power, lane, format!("{} asked", value(power, Dimension::Power)))
        }
        (None, Some(amps)) => {
            place(solved, load.current, lane, format!("{} asked", value(amps, Dimension::Current)))
        }
        _ => None,
    }
}

fn larger<T>(one: (f64, T), other: (f64, T)) -> (f64, T) {
    if other.0 > one.0 { other } else { one }
}

fn of_bridge(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let inputs = &bridge.inputs;
    if solved.input(inputs.active, lane).is_some_and(|active| active < 0.5) {
        // What rests is asked nothing.
        return None;
    }
    let current = solved.figure(bridge.figures.phase_current, lane);
    let stated = solved.input(inputs.phase_current, lane);
    let frequency = solved.figure(bridge.figures.frequency, lane).or(solved.input(inputs.frequency, lane));
    let standing = frequency.is_some_and(|frequency| frequency <= 0.0);
    let amps = current.or(stated).map(|amps| value(amps, Dimension::Current));
    match (stated, &amps) {
        (Some(_), Some(amps)) => {
            let crest = solved.figure(bridge.figures.phase_current_peak, lane);
            let label = match crest {
                Some(crest) if standing => {
                    format!(
                        "{amps} rms at 0 Hz: its crest of {} stands in one leg",
                        value(crest, Dimension::Current)
                    )
                }
                _ if standing => format!("{amps} rms at 0 Hz stands in one leg"),
                _ => format!("{amps} rms in each phase"),
            };
            place(solved, inputs.phase_current, lane, label)
        }
        _ => {
            if let Some(place) = at_shaft(bridge, solved, lane, amps.as_deref(), standing) {
                return Some(place);
            }
            let power = value(solved.input(inputs.power, lane)?, Dimension::Power);
            let label = match (&amps, solved.input(inputs.line_voltage, lane)) {
                (Some(amps), Some(volts)) => {
                    format!("{power} at {} rms: {amps} rms in each phase", value(volts, Dimension::Voltage))
                }
                _ => format!("{power} asked"),
            };
            place(solved, inputs.power, lane, label)
        }
    }
}

/// What a duty point asks of the shaft of a bridge's machine.
fn at_shaft(
    bridge: &Bridge,
    solved: &Solved<'_>,
    lane: LaneId,
    amps: Option<&str>,
    standing: bool,
) -> Option<Place> {
    let constants = bridge.inputs.constants.as_ref()?;
    let of_torque =
        solved.input(constants.torque, lane).map(|torque| (constants.torque, torque, Dimension::Torque));
    let of_power = || {
        let power = solved.input(constants.shaft_power, lane)?;
        Some((constants.shaft_power, power, Dimension::Power))
    };
    let (input, asked, dimension) = of_torque.or_else(of_power)?;
    let asked = value(asked, dimension);
    let speed = solved.input(constants.speed, lane).map(|speed| value(speed, Dimension::Speed));
    let at = speed.map_or_else(String::new, |speed| format!(" at {speed}"));
    let crest = solved.figure(bridge.figures.phase_current_peak, lane).filter(|_| standing);
    let label = match (amps, crest) {
        (_, Some(crest)) => {
            format!(
                "{asked} at standstill: a crest of {} stands in one leg",
                value(crest, Dimension::Current)
            )
        }
        (Some(amps), None) => format!("{asked}{at}: {amps} rms in each phase"),
        (None, None) => format!("{asked}{at} asked of the shaft"),
    };
    place(solved, input, lane, label)
}

/// How far a figure is above what is allowed, and of what limit: `31 K above the 155 °C that the policy leaves of its
/// junction limit of 175 °C`.
pub(crate) fn above(compared: &Comparison, limit: &str) -> String {
    let text = comparison(compared);
    // Many times what is allowed are that many times, and not so many above it.
    let over = excess(compared).map_or_else(|| times(compared), |excess| format!("{excess} above"));
    match text.policy {
        Some(_) => {
            format!("{over} the {} that the policy leaves of {limit} of {}", text.allowed, text.limit)
        }
        None => format!("{over} {limit} of {}", text.allowed),
    }
}

/// The line of the policy that leaves part of a limit unused, where one is written and does.
pub(crate) fn policy_place(solved: &Solved<'_>, item: &'static PolicyItem) -> Option<Place> {
    let stated = solved.variant.policy(item)?.stated;
    let takes_nothing =
        matches!(item.form, PolicyForm::UseAtMost { .. }) && (stated.value - 1.0).abs() <= EQUAL_WITHIN;
    if !stated.origin.is_written() || takes_nothing {
        return None;
    }
    let label = match item.form {
        PolicyForm::UseAtMost { .. } => format!("the policy uses at most {}", percent(stated.value)),
        PolicyForm::Keep { dimension, .. } => format!("the policy keeps {}", value(stated.value, dimension)),
    };
    Some(Place { node: stated.origin.node()?, label })
}

/// How long a duty point that was followed took for it, and what went before.
pub(crate) fn within(solved: &Solved<'_>, lane: LaneId, is_followed: bool) -> String {
    let variant = solved.variant;
    let duty = variant.duty_of(lane);
    let (Some(lasts), Some(from)) = (duty.lasts, duty.starts_from) else { return String::new() };
    if !is_followed {
        return String::new();
    }
    let recurs =
        duty.every.map_or_else(String::new, |every| format!(" every {}", value(every, Dimension::Time)));
    let (lasts, from) = (value(lasts, Dimension::Time), &variant.duties[from.index()].name);
    format!(" within {lasts}{recurs} from `{from}`")
}

/// What is asked at the end of the branch that does not hold the voltage.
pub(crate) fn asked_at_end(conductor: &Conductor, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let plan = &solved.variant.plan;
    let carries = conductor.carries?;
    if let Some(stage) =
        plan.stages.iter().find(|stage| stage.ports.iter().any(|port| port.current == carries))
    {
        return demand(stage, solved, lane);
    }
    if let Some(load) = plan.loads.iter().find(|load| load.port.current == carries) {
        let asked = |input, dimension| {
            let asked = value(solved.input(input, lane)?, dimension);
            place(solved, input, lane, format!("{asked} asked"))
        };
        return asked(load.current, Dimension::Current).or_else(|| asked(load.power, Dimension::Power));
    }
    let source = plan.sources.iter().find(|source| source.current == carries)?;
    let volts = value(solved.figure(source.terminal_voltage, lane)?, Dimension::Voltage);
    let watts = value(solved.figure(source.power, lane)?, Dimension::Power);
    Some(part_at(solved, source.part, format!("gives {watts} at {volts}")))
}
