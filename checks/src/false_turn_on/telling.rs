//! A gate that an edge lifts too far in words, and what would change it.

use loadworthy_physics::gates::held_off::{self, HeldOff};
use loadworthy_physics::{Capacitance, Resistance, SlewRate, Voltage};
use loadworthy_unit::plan::GateDrive;
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{comparison, value, written};
use crate::gated::{of_failing, places};
use crate::steps::{family, scaled};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

/// Shares of a resistor that are tried.
const LESS_RESISTANCE: [f64; 6] = [0.75, 0.6, 0.5, 0.4, 0.3, 0.2];
/// Off voltages that lie no further apart, in V, count as one.
const EVEN: f64 = 0.5;
/// Voltages below zero that gates are commonly held off with.
const OFF_VOLTAGES: [f64; 6] = [-3.0, -4.0, -5.0, -8.0, -10.0, -15.0];

pub(super) fn told(drive: &GateDrive, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let (part, text) = (variant.path(worst.part), comparison(compared));
    let (gate, rails, channel) = (&drive.gate, &drive.rails, &drive.channel);
    let stated = |input: InputId, dimension| {
        solved.input(input, lane).map(|stated| value(stated, dimension)).unwrap_or_default()
    };
    let threshold = solved.input(gate.least_threshold, lane)?;
    let comes_to = threshold - compared.limit + compared.carried_value;
    let saying = format!(
        "the steepest edge lifts the gate of `{part}` by {} to {}, {}",
        text.carried,
        value(comes_to, Dimension::Voltage),
        above(compared, "the way to its lowest threshold")
    );
    let off_by = channel.clamp.unwrap_or(channel.turn_off_resistor);
    let ohms = stated(off_by, Dimension::Resistance);
    let holds = if channel.clamp.is_some() { "clamped through" } else { "held off through" };
    let mut first = (off_by, format!("{holds} {ohms}"));
    let mut second = (rails.off, format!("held at {}", stated(rails.off, Dimension::Voltage)));
    if let Some(others) = held_lower(drive, solved, lane) {
        second.1 = format!("{}, and others of its device at {}", second.1, value(others, Dimension::Voltage));
        core::mem::swap(&mut first, &mut second);
    }
    let (input, label) = first;
    let at = place(solved, input, lane, label.clone()).unwrap_or_else(|| part_at(solved, worst.part, label));
    let labels = [
        second,
        (gate.internal, format!("{} inside", stated(gate.internal, Dimension::Resistance))),
        (gate.edge, format!("{} at most", stated(gate.edge, Dimension::SlewRate))),
        (gate.reverse_capacitance, stated(gate.reverse_capacitance, Dimension::Capacitance)),
        (gate.least_threshold, format!("may open at {}", value(threshold, Dimension::Voltage))),
    ];
    let mut because = places(solved, lane, labels);
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let worked = bounds(drive, solved, lane).into_iter().collect();
    Some(Told { because, worked, ..Told::new(saying, at) })
}

/// The voltage that holds off other gates of the same device in the same stage, where it is lower than the own one: what differs there is
/// the cause.
fn held_lower(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let own = solved.input(drive.rails.off, lane)?;
    let alike = solved.variant.plan.gate_drives.iter().filter(|other| {
        other.stage == drive.stage && other.gate.least_threshold == drive.gate.least_threshold
    });
    let others = alike.filter_map(|other| solved.input(other.rails.off, lane));
    others.reduce(f64::min).filter(|lowest| lowest + EVEN < own)
}

/// Both bounds of the lift, each of which needs less than the exact form.
fn bounds(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let plan = &solved.variant.plan;
    let stage = &plan.stages[drive.stage];
    let (gate, channel) = (&drive.gate, &drive.channel);
    let input = |input: InputId| solved.input(input, lane);
    let count = input(stage.seats[drive.seat].parallel)?;
    let shared_by = if input(channel.resistor_for_each)? < 0.5 { count } else { 1.0 };
    let outside = input(channel.clamp.unwrap_or(channel.turn_off_resistor))?;
    let reverse = input(gate.reverse_capacitance)?;
    let held = HeldOff {
        off: Voltage::ZERO,
        resistance: Resistance::new(input(gate.internal)? + shared_by * outside),
        to_drain: Capacitance::new(reverse),
        to_source: Capacitance::new(input(gate.capacitance)? - reverse),
    };
    let across = solved.figure(stage.withstands[drive.withstand].blocked, lane)?;
    let volts = |bound: Voltage| value(bound.si(), Dimension::Voltage);
    let long = volts(held_off::bound_by_resistance(&held, SlewRate::new(input(gate.edge)?)));
    let sudden = volts(held_off::bound_by_divider(&held, Voltage::new(across)));
    Some(format!(
        "bounds: {long} for an edge that lasts ({}), {sudden} for a sudden one ({})",
        "R·C_gd·s", "V_b·C_gd/C_iss"
    ))
}

pub(super) fn propose(drive: &GateDrive, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    let resistors =
        of_failing(failure, solved, |drive| drive.channel.clamp.unwrap_or(drive.channel.turn_off_resistor));
    let (name, tried) = if drive.channel.clamp.is_some() {
        ("resistance of the clamp", "a clamp down to")
    } else {
        ("resistor while off", "resistor while off down to")
    };
    let less = scaled(name, &resistors, Dimension::Resistance, &LESS_RESISTANCE, solved, lane);
    vec![family(tried, less), further_below(failure, solved, lane)]
}

/// A voltage further below zero.
fn further_below(failure: &Failure<'_>, solved: &Solved<'_>, lane: LaneId) -> Family {
    let offs = of_failing(failure, solved, |drive| drive.rails.off);
    let now = offs.iter().filter_map(|&off| solved.input(off, lane)).fold(f64::INFINITY, f64::min);
    let steps = OFF_VOLTAGES.into_iter().filter(|&volts| volts < now);
    let ladder: Vec<Proposal> = steps
        .map(|volts| {
            let edits = offs
                .iter()
                .map(|&input| (Edit { input, value: volts }, written(volts, Dimension::Voltage)))
                .collect();
            let say = format!(
                "off voltage: {} -> {}",
                value(now, Dimension::Voltage),
                value(volts, Dimension::Voltage)
            );
            Proposal { say, change: Change::Edit(edits) }
        })
        .collect();
    family("off voltages down to", ladder)
}
