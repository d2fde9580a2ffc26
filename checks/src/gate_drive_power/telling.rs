//! A gate supply that does not suit in words, and what would change it.

use loadworthy_physics::gates::other_resistor;
use loadworthy_unit::plan::{GateDrive, GateFeed};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{
    CURRENT, DRIVE_SHORTFALL, HIGHEST, LINEAR, LOCKOUT, LOWEST, POWER, RESISTOR, SHORTFALL, STARVED, part_of,
};
use crate::check::{Failure, Family, Told};
use crate::collect::allowed;
use crate::figure_text::{comparison, percent, value};
use crate::gated::{drive_of, of_failing, places, tenths};
use crate::steps::{family, scaled, toward_all};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Fault, Verdict};

/// Multiples of a gate resistor that are tried.
const MORE_RESISTANCE: [f64; 5] = [1.25, 1.5, 2.0, 2.5, 3.0];

/// Outputs for gates stay closer to what they give; one that does not is what is odd.
const WIDE: f64 = 0.1;

fn feed_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v GateFeed> {
    let plan = &solved.variant.plan;
    plan.gate_feeds.iter().find(|feed| part_of(feed, plan) == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane().or(solved.variant.lane_ids().next())?;
    let drive = drive_of(solved, worst.part)?;
    if matches!(worst.fault(), Some(Fault::Structural)) {
        return never_released(worst, drive, solved, lane);
    }
    let compared = worst.comparison()?;
    let text = comparison(compared);
    let part = solved.variant.path(worst.part);
    let stated = |input: InputId, dimension| {
        solved.input(input, lane).map(|stated| value(stated, dimension)).unwrap_or_default()
    };
    let volts = |input| stated(input, Dimension::Voltage);
    let (rails, gate, channel) = (&drive.rails, &drive.gate, &drive.channel);
    let within = solved.input(rails.tolerance, lane).map(percent).unwrap_or_default();
    let opens = || {
        let then = format!("then {}", stated(gate.transconductance, Dimension::Conductance));
        vec![(gate.threshold, format!("opens at {}", volts(gate.threshold))), (gate.transconductance, then)]
    };
    let (saying, at, causes): (String, (InputId, String), Vec<(InputId, String)>) = match worst.defect {
        POWER => return power(worst, drive, solved, lane),
        RESISTOR => return resistor(worst, drive, solved, lane),
        CURRENT => (
            format!(
                "the gate of `{part}` takes a crest of {}, {}",
                text.carried,
                above(compared, "what its driver gives")
            ),
            crest_by(drive, &text.limit, solved, lane)?,
            vec![
                (channel.peak_current?, format!("gives {}", text.limit)),
                (channel.turn_on_resistor, stated(channel.turn_on_resistor, Dimension::Resistance)),
                (gate.internal, format!("{} inside", stated(gate.internal, Dimension::Resistance))),
                (rails.on, format!("from {} to {}", volts(rails.off), volts(rails.on))),
            ],
        ),
        HIGHEST => (
            format!(
                "the gate of `{part}` may come to {}, {}",
                text.carried,
                above(compared, "the highest voltage of the gate")
            ),
            (rails.on, format!("within {within} up to {}", text.carried)),
            vec![(gate.highest, format!("bears {}", text.limit))],
        ),
        LOWEST => (
            format!(
                "the gate of `{part}` may come to {} below zero, {}",
                text.carried,
                above(compared, "the lowest voltage of the gate")
            ),
            (rails.off, format!("within {within} down to −{}", text.carried)),
            vec![(gate.lowest, format!("bears −{}", text.limit))],
        ),
        LOCKOUT => (
            format!(
                "the voltage that turns `{part}` on falls by {} within its tolerance, and its driver blocks it below {}",
                text.carried,
                volts(channel.undervoltage)
            ),
            if solved.input(rails.tolerance, lane) > Some(WIDE) {
                (rails.tolerance, format!("{within} either way"))
            } else {
                (channel.undervoltage, format!("blocks below {}", volts(channel.undervoltage)))
            },
            vec![
                (rails.on, format!("within {within}")),
                (channel.undervoltage, format!("blocks below {}", volts(channel.undervoltage))),
            ],
        ),
        SHORTFALL => (
            format!(
                "the gate of `{part}` may stay {} below the {} that its on-state figures hold at, where {} is taken as near enough",
                text.carried, text.limit, text.allowed
            ),
            (rails.on, format!("within {within}")),
            vec![(gate.stated_on, format!("figures hold at {}", text.limit))],
        ),
        STARVED => (
            format!(
                "`{part}` is never fully on: at the crest of its current its channel takes {}, and its gate may stay at {}; its losses are solved as if it were",
                text.carried, text.limit
            ),
            (rails.on, format!("within {within} down to {}", text.limit)),
            opens(),
        ),
        _ => (
            format!(
                "the driver of `{part}` blocks below {}, where its channel limits the crest of the current already: that takes {}",
                text.limit, text.carried
            ),
            (channel.undervoltage, format!("blocks below {}", text.limit)),
            opens(),
        ),
    };
    let (input, label) = at;
    let at = place(solved, input, lane, label.clone()).unwrap_or_else(|| part_at(solved, worst.part, label));
    let mut because = places(solved, lane, causes);
    because.retain(|other| other.node != at.node);
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// What makes the crest of the current into a gate: a resistor that lets more through than the one of the data sheet, or the driver.
fn crest_by(drive: &GateDrive, limit: &str, solved: &Solved<'_>, lane: LaneId) -> Option<(InputId, String)> {
    let far = far_resistor(drive, solved, lane)
        .filter(|far| other_resistor::NEAR * far.ohms < far.stated)
        .and_then(|far| {
            let ohms = value(solved.input(far.input, lane)?, Dimension::Resistance);
            Some((far.input, format!("{ohms} outside")))
        });
    far.or_else(|| Some((drive.channel.peak_current?, format!("gives {limit}"))))
}

/// A gate that its driver blocks whatever the tolerance of its output.
fn never_released(worst: &Verdict, drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<Told> {
    let volts = |input| Some(value(solved.input(input, lane)?, Dimension::Voltage));
    let (gives, blocks) = (volts(drive.rails.on)?, volts(drive.channel.undervoltage)?);
    let part = solved.variant.path(worst.part);
    let saying = format!(
        "`{part}` never turns on: its output gives {gives}, and its driver blocks the gate below {blocks}"
    );
    let label = format!("gives {gives}");
    let at = place(solved, drive.rails.on, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, worst.part, label));
    let because = places(solved, lane, [(drive.channel.undervoltage, format!("blocks below {blocks}"))]);
    let facts = vec![format!("never turned on: {gives} to turn it on, blocked below {blocks}")];
    Some(Told { because, facts, ..Told::new(saying, at) })
}

fn power(worst: &Verdict, drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<Told> {
    let (feed, compared) = (feed_of(worst, solved)?, worst.comparison()?);
    let (plan, text) = (&solved.variant.plan, comparison(compared));
    let name = solved.variant.path(plan.gate_supplies[feed.supply].part);
    let saying = format!("`{name}` gives {} to its gates, {}", text.carried, above(compared, "its power"));
    let at = place(solved, feed.power, lane, format!("made for {}", text.limit))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried)));
    let stage = &plan.stages[drive.stage];
    let carrier = solved.input(stage.carrier, lane).map(|carrier| value(carrier, Dimension::Frequency));
    let charge = solved.figure(drive.figures.charge, lane).map(|charge| value(charge, Dimension::Charge));
    let own = solved.input(drive.channel.own_power, lane).map(|own| value(own, Dimension::Power));
    let labels = [
        carrier.map(|carrier| (stage.carrier, format!("once in each period of {carrier}"))),
        charge.map(|charge| (drive.gate.charge, format!("{charge} at this swing"))),
        own.map(|own| (drive.channel.own_power, format!("{own} for each channel itself"))),
    ];
    let mut because = places(solved, lane, labels.into_iter().flatten());
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// A resistor that lies further from the one of the data sheet than the other.
pub(super) struct FarResistor {
    /// Resistance in Ω, inside and outside together.
    pub(super) ohms: f64,
    /// The same of the data sheet.
    pub(super) stated: f64,
    input: InputId,
    /// Whether it is the one behind which the gate turns on.
    pub(super) is_on: bool,
}

pub(super) fn far_resistor(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<FarResistor> {
    let stated = drive.gate.ohms_of_energies(|input| solved.input(input, lane))?;
    let (figures, channel) = (&drive.figures, &drive.channel);
    let sides = [
        (figures.on_resistance, channel.turn_on_resistor, true),
        (figures.off_resistance, channel.turn_off_resistor, false),
    ];
    let known = sides.map(|(figure, input, is_on)| {
        Some(FarResistor { ohms: solved.figure(figure, lane)?, stated, input, is_on })
    });
    let apart = |one: &FarResistor| (one.ohms / stated).max(stated / one.ohms);
    known.into_iter().flatten().max_by(|one, other| apart(one).total_cmp(&apart(other)))
}

fn resistor(worst: &Verdict, drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<Told> {
    let with = drive.gate.energies_hold_at()?;
    let FarResistor { ohms, stated: stated_with, input, is_on } = far_resistor(drive, solved, lane)?;
    let word = if is_on { "on" } else { "off" };
    let [ohms_text, stated] = [ohms, stated_with].map(|ohms| value(ohms, Dimension::Resistance));
    let less = if ohms > stated_with {
        let most = value(ohms / stated_with, Dimension::Ratio);
        format!("each edge may lose up to {most} times what is solved")
    } else {
        "its edges and the spikes that they make are steeper than is solved".to_owned()
    };
    let is_outside = drive.gate.measured_with.is_some();
    let what = if is_outside { "energies" } else { "energies and times" };
    let saying = format!(
        "`{}` turns {word} behind {ohms_text}, and the {what} of its device hold at {stated}: {less}",
        solved.variant.path(worst.part)
    );
    let resistor = solved.input(input, lane).map(|ohms| value(ohms, Dimension::Resistance));
    let label = format!("{} outside", resistor.unwrap_or_default());
    let at = place(solved, input, lane, label.clone()).unwrap_or_else(|| part_at(solved, worst.part, label));
    let inside = solved.input(drive.gate.internal, lane).map(|ohms| value(ohms, Dimension::Resistance));
    let outside = solved.input(with, lane).filter(|_| is_outside);
    let held_at = match outside.map(|ohms| value(ohms, Dimension::Resistance)) {
        Some(outside) => format!("energies measured behind {outside} outside"),
        None => format!("energies and times hold at {stated}"),
    };
    let causes =
        [Some((with, held_at)), inside.map(|inside| (drive.gate.internal, format!("{inside} inside")))];
    let because = places(solved, lane, causes.into_iter().flatten());
    let worked = vec![format!(
        "energies grow no faster than in proportion with the resistance, inside and outside together; within a factor of {} they count as they are",
        value(other_resistor::NEAR, Dimension::Ratio)
    )];
    let why = if is_outside {
        "state `energies` as the data sheet gives them for this resistance, and its resistor as their `gate_resistor`; or fit the other resistor"
    } else {
        "state `energies`, `current_fall_time`, `edge` and the times of the gate as the data sheet gives them for this resistance, and that as `gate.resistance`; or fit the other resistor"
    };
    Some(Told { because, worked, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let lane = worst.lane().or(solved.variant.lane_ids().next());
    let (Some(lane), Some(drive)) = (lane, drive_of(solved, worst.part)) else { return Vec::new() };
    let compared = worst.comparison();
    let over = compared.map_or(f64::NAN, |compared| compared.carried_value / compared.allowed);
    let all = |input: &dyn Fn(&GateDrive) -> InputId| of_failing(failure, solved, input);
    let volts = |name: &str, inputs: &[InputId], factor: f64| tenths(name, inputs, factor, solved, lane);
    let stated = |input: InputId| solved.input(input, lane).unwrap_or(f64::NAN);
    let share = stated(drive.rails.tolerance);
    let ons = all(&|drive| drive.rails.on);
    match worst.defect {
        POWER => {
            let powers: Vec<InputId> = failure
                .all
                .iter()
                .filter_map(|verdict| feed_of(verdict, solved).map(|feed| feed.power))
                .collect();
            vec![toward_all("power of the output", &powers, (Dimension::Power, ""), over, solved, lane)]
        }
        CURRENT => {
            let mut resistors = all(&|drive| drive.channel.turn_on_resistor);
            for other in all(&|drive| drive.channel.turn_off_resistor) {
                if !resistors.contains(&other) {
                    resistors.push(other);
                }
            }
            let ladder =
                scaled("gate resistors", &resistors, Dimension::Resistance, &MORE_RESISTANCE, solved, lane);
            let peaks = all(&|drive| drive.channel.peak_current.unwrap_or(drive.channel.turn_on_resistor));
            let driver =
                toward_all("a driver for more current", &peaks, (Dimension::Current, ""), over, solved, lane);
            vec![driver, family("gate resistors up to", ladder)]
        }
        HIGHEST => vec![volts("on voltage", &ons, 1.0 / over)],
        LOWEST => vec![volts("off voltage", &all(&|drive| drive.rails.off), 1.0 / over)],
        LOCKOUT => {
            // Equal where V·(1 − p) is what the driver blocks at.
            let lowest = stated(drive.rails.on) * (1.0 - share);
            let needed = stated(drive.channel.undervoltage) / lowest;
            let locks = all(&|drive| drive.channel.undervoltage);
            // No level was asked of a gate that is blocked: it is asked of one that no longer is.
            let level = stated(drive.gate.stated_on) * (1.0 - near(solved)) / lowest;
            let mut on = volts("on voltage", &ons, needed);
            let further = volts("on voltage", &ons, level.max(needed));
            on.tried = further.tried;
            on.ladder.extend(further.ladder);
            vec![on, volts("a lock-out at", &locks, 1.0 / needed)]
        }
        SHORTFALL => {
            let lowest = stated(drive.rails.on) * (1.0 - share);
            let needed = (1.0 - near(solved)) * stated(drive.gate.stated_on) / lowest;
            vec![volts("on voltage", &ons, needed)]
        }
        LINEAR => vec![volts("a lock-out at", &all(&|drive| drive.channel.undervoltage), over)],
        _ => Vec::new(),
    }
}

/// Share of the gate voltage of on-state figures by which the policy lets a gate stay below it.
fn near(solved: &Solved<'_>) -> f64 {
    let left = solved.variant.policy(&DRIVE_SHORTFALL).map(|value| value.stated.value);
    left.map_or(f64::NAN, |left| allowed(&DRIVE_SHORTFALL, 1.0, left))
}
