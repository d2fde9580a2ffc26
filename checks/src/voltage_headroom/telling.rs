//! A position that blocks too much in words, and what would change it.

use loadworthy_unit::plan::{Stage, Topology, Withstand};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::stands_on;
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::collect::allowed;
use crate::deratings::BLOCKING_VOLTAGE;
use crate::figure_text::{comparison, percent, value, written};
use crate::review::Place;
use crate::steps::{as_written, higher_class};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, EQUAL_WITHIN, Verdict};

/// Overshoots that a damped rectifier may be brought to.
const DAMPED: [f64; 5] = [0.8, 0.6, 0.4, 0.3, 0.2];

pub(super) fn told(
    stage: &Stage,
    withstand: &Withstand,
    worst: &Verdict,
    solved: &Solved<'_>,
) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let compared = worst.comparison()?;
    let text = comparison(compared);
    let part = variant.path(withstand.part);
    let excess = above(compared, "the blocking voltage of its device");
    let limit = format!("blocks {}", text.limit);
    let at = place(solved, withstand.blocking, lane, limit.clone())
        .unwrap_or_else(|| part_at(solved, withstand.part, limit));
    if compared.carried != withstand.blocked {
        return of_the_least(stage, withstand, compared, (excess, at), solved, lane);
    }
    let duty = largest_duty(stage, withstand, compared, solved, lane);
    let saying = match duty {
        Some((_, duty)) => {
            format!("`{part}` blocks {} at its largest duty of {}, {excess}", text.carried, percent(duty))
        }
        None => format!("`{part}` blocks {}, {excess}", text.carried),
    };
    let mut because: Vec<Place> = match duty {
        Some((input, _)) => {
            let label = "the lowest input that still holds the output needs it".to_owned();
            place(solved, input, lane, label).into_iter().collect()
        }
        None => highest(withstand, solved, lane).into_iter().collect(),
    };
    because.extend(ratio(stage, withstand, solved, lane));
    because.extend(ringing(withstand, solved, lane));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// The largest duty of a forward converter with its input, where it is what makes a position block most.
fn largest_duty(
    stage: &Stage,
    withstand: &Withstand,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<(InputId, f64)> {
    let Topology::Isolated(isolated) = &stage.topology else { return None };
    let there = solved.figure(withstand.at_largest_duty?, lane)?;
    let input = isolated.inputs.largest_duty;
    (there.to_bits() == compared.carried_value.to_bits()).then_some((input, solved.input(input, lane)?))
}

/// A position that blocks too much by its bus alone, of which nobody knows the rest.
fn of_the_least(
    stage: &Stage,
    withstand: &Withstand,
    compared: &Comparison,
    (excess, at): (String, Place),
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Told> {
    let variant = solved.variant;
    let bus = stands_on(stage, withstand, &variant.plan)?;
    let (part, bus_name, volts) =
        (variant.path(withstand.part), variant.path(bus.part), comparison(compared).carried);
    let saying = if Some(compared.carried) == withstand.at_highest {
        format!("`{part}` blocks {volts} at the highest voltage of `{bus_name}`, {excess}")
    } else {
        format!("`{part}` blocks at least the {volts} of `{bus_name}`, {excess}")
    };
    let label = format!("{volts} at least");
    let stated = Some(bus.highest).filter(|_| compared.carried == bus.highest_voltage);
    let of_bus = stated.and_then(|highest| place(solved, highest, lane, label.clone()));
    let mut because = vec![of_bus.unwrap_or_else(|| part_at(solved, bus.part, label))];
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let needed = compared.carried_value * compared.limit / compared.allowed;
    let why = format!(
        "a device that blocks at least {}; what comes on top of `{bus_name}` can be reckoned with such a one",
        value(needed, Dimension::Voltage)
    );
    Some(Told { because, no_proposal: Some(why), ..Told::new(saying, at) })
}

/// What says how high the bus comes.
fn highest(withstand: &Withstand, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let bus = &solved.variant.plan.buses[withstand.bus?];
    let (stated, reached) = (solved.input(bus.highest, lane)?, solved.figure(bus.highest_voltage, lane)?);
    let label = if reached > stated * (1.0 + EQUAL_WITHIN) {
        format!(
            "stated as {}, but it comes to {}",
            value(stated, Dimension::Voltage),
            value(reached, Dimension::Voltage)
        )
    } else {
        format!("`{}` may come to {}", solved.variant.path(bus.part), value(reached, Dimension::Voltage))
    };
    place(solved, bus.highest, lane, label)
}

/// The turns between the bus and a rectifier.
fn ratio(stage: &Stage, withstand: &Withstand, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    withstand.overshoot?;
    let Topology::Isolated(isolated) = &stage.topology else { return None };
    let turns = isolated.inputs.turns_ratio;
    let label = format!("{} primary turns to one", value(solved.input(turns, lane)?, Dimension::Ratio));
    place(solved, turns, lane, label)
}

/// How far ringing goes beyond the plateau.
fn ringing(withstand: &Withstand, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let overshoot = withstand.overshoot?;
    let share = solved.input(overshoot, lane).filter(|share| *share > 0.0)?;
    let label = format!("ringing adds {} to the plateau", percent(share));
    place(solved, overshoot, lane, label)
}

pub(super) fn propose(
    stage: &Stage,
    withstand: &Withstand,
    failure: &Failure<'_>,
    solved: &Solved<'_>,
) -> Vec<Family> {
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    let Some(left) = solved.variant.policy(&BLOCKING_VOLTAGE).map(|value| value.stated.value) else {
        return Vec::new();
    };
    let carried = failure.all.iter().filter_map(|verdict| Some(verdict.comparison()?.carried_value));
    let needed = carried.fold(0.0, f64::max) / allowed(&BLOCKING_VOLTAGE, 1.0, left);
    let share = solved.input(withstand.blocking, lane).unwrap_or(f64::NAN) / needed;
    let families = [
        smaller_duty(stage, withstand, failure, solved, lane),
        damped(withstand, solved, lane),
        lower_bus(withstand, share, solved, lane),
        Some(higher_class(withstand.blocking, needed, solved, lane)),
    ];
    families.into_iter().flatten().collect()
}

/// A duty that ends earlier, where it is what makes a position block most: the output then holds down to a higher input.
fn smaller_duty(
    stage: &Stage,
    withstand: &Withstand,
    failure: &Failure<'_>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Family> {
    let (input, now) = largest_duty(stage, withstand, failure.worst.comparison()?, solved, lane)?;
    let steps = [0.02, 0.05, 0.1, 0.15].map(|less| ((now - less) * 100.0).floor() / 100.0);
    let ladder = steps.into_iter().filter(|&duty| 0.3 < duty).map(|duty| {
        let say = format!("largest duty: {} -> {}", percent(now), percent(duty));
        Proposal { say, change: Change::Edit(vec![(Edit { input, value: duty }, percent(duty))]) }
    });
    Some(Family { tried: "a smaller largest duty".to_owned(), ladder: ladder.collect() })
}

/// A bus that is kept lower, for what stands between its rails.
fn lower_bus(withstand: &Withstand, share: f64, solved: &Solved<'_>, lane: LaneId) -> Option<Family> {
    let bus = &solved.variant.plan.buses[withstand.bus.filter(|_| withstand.overshoot.is_none())?];
    let now = solved.input(bus.highest, lane)?;
    let steps: Vec<Proposal> = [1.0, 0.97, 0.94]
        .into_iter()
        .map(|less| whole_volts(now * share * less))
        .filter(|&volts| 0.0 < volts && volts < now)
        .map(|volts| {
            let say = format!(
                "`{}` tripped lower, highest: {} -> {}",
                solved.variant.path(bus.part),
                value(now, Dimension::Voltage),
                value(volts, Dimension::Voltage)
            );
            let edit = Edit { input: bus.highest, value: volts };
            Proposal { say, change: Change::Edit(vec![(edit, written(volts, Dimension::Voltage))]) }
        })
        .collect();
    let last = steps.last().and_then(|step| step.edits().first()).map(|(_, text)| text.clone())?;
    Some(Family { tried: format!("a highest bus voltage down to {last}"), ladder: steps })
}

/// Down to the volts that a person would write.
fn whole_volts(volts: f64) -> f64 {
    let step = if volts < 100.0 {
        1.0
    } else if volts < 300.0 {
        5.0
    } else {
        10.0
    };
    (volts * (1.0 + EQUAL_WITHIN) / step).floor() * step
}

/// Less ringing at a rectifier.
fn damped(withstand: &Withstand, solved: &Solved<'_>, lane: LaneId) -> Option<Family> {
    let input = withstand.overshoot?;
    let now = solved.input(input, lane)?;
    let ladder = DAMPED.into_iter().map(as_written).filter(|&share| share < now).map(|share| {
        let say = format!("rectifier overshoot: {} -> {}", percent(now), percent(share));
        Proposal { say, change: Change::Edit(vec![(Edit { input, value: share }, percent(share))]) }
    });
    Some(Family { tried: "less ringing, down to 20 %".to_owned(), ladder: ladder.collect() })
}
