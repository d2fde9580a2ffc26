//! The failures in words, and what would hold.

use loadworthy_physics::sharing::derating;
use loadworthy_unit::plan::{Chip, ChipKind};
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use super::{CONTINUOUS, NO_STABLE_SHARING, PEAK};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{comparison, percent, value};
use crate::review::Place;
use crate::seats::{Seat, failing_kinds, seat_of};
use crate::steps::{as_written, more_parallel};
use crate::tell::{above, demand, in_its_leg, part_at, place, policy_place};
use crate::verdict::Comparison;

/// Shares of the spread that are tried.
const CLOSER: [f64; 2] = [0.75, 0.5];

/// A failure in words.
pub(super) fn told(seat: &Seat<'_>, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let lane = failure.worst.lane()?;
    let count = solved.input(seat.stage.parallel(seat.position), lane)?;
    let spread = solved.input(seat.chip.sharing_inputs.on_voltage, lane)?;
    let part = solved.variant.path(failure.worst.part);
    let among = format!("the unluckiest of {} in `{part}`", value(count, Dimension::Ratio));
    let (saying, label) = match (failure.worst.defect, failure.worst.comparison()) {
        (NO_STABLE_SHARING, _) => unstable(part, count),
        (defect, Some(compared)) => exceeded(defect, &among, compared, seat.chip, solved, lane)?,
        (_, None) => return None,
    };
    let mut because: Vec<Place> = demand(seat.stage, solved, lane).into_iter().collect();
    because.extend(in_its_leg(seat.stage, solved, lane));
    let apart = format!("on-state voltages lie up to {} to either side", percent(spread));
    because.extend(place(solved, seat.chip.sharing_inputs.on_voltage, lane, apart));
    because.extend(failure.worst.comparison().and_then(|compared| policy_place(solved, compared.policy?)));
    let facts = facts(seat.chip, (count, spread), solved, lane);
    let mut told = Told { because, facts, ..Told::new(saying, part_at(solved, failure.worst.part, label)) };
    if failure.worst.comparison().is_none() {
        let crest = solved.figure(seat.chip.figures.peak_current, lane);
        told.worked.extend(crest.map(|crest| {
            format!("peak_current = {} of each device if all are equal", value(crest, Dimension::Current))
        }));
        told.worked.push("no current of the device with the lowest on-state voltage leaves it at the voltage of the others, warmed as each is by its own loss".to_owned());
    }
    Some(told)
}

fn unstable(part: &str, count: f64) -> (String, String) {
    let count = value(count, Dimension::Ratio);
    let saying = format!(
        "the {count} devices in `{part}` come to no rest: the one with the lowest on-state voltage draws more, gets hotter, and draws more"
    );
    (saying, format!("{count} in parallel that do not share"))
}

fn exceeded(
    defect: &str,
    among: &str,
    compared: &Comparison,
    chip: &Chip,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<(String, String)> {
    let carried = comparison(compared).carried;
    let times = value(solved.figure(chip.sharing.factor, lane)?, Dimension::Ratio);
    let saying = match defect {
        CONTINUOUS => {
            format!("{among} carries {carried} rms, {}", above(compared, "its rating at the solved case"))
        }
        PEAK => format!("{among} reaches a crest of {carried}, {}", above(compared, "its repetitive peak")),
        _ => format!("junction of {among} reaches {carried}, {}", above(compared, "its limit")),
    };
    let what = if chip.kind == ChipKind::Diode { "diode" } else { "transistor" };
    Some((saying, format!("the unluckiest {what} here carries {times} times the mean")))
}

/// Factor, derating of the group and temperatures.
fn facts(chip: &Chip, (count, spread): (f64, f64), solved: &Solved<'_>, lane: LaneId) -> Vec<String> {
    let figure = |id, dimension| solved.figure(id, lane).map(|figure| value(figure, dimension));
    let mut facts = Vec::new();
    let factor = figure(chip.sharing.factor, Dimension::Ratio);
    let likely = figure(chip.sharing.likely_factor, Dimension::Ratio);
    match (factor, likely) {
        (Some(factor), Some(likely)) => {
            facts.push(format!("{factor} times the mean at worst, {likely} at three standard deviations"));
        }
        (None, Some(likely)) => facts.push(format!("{likely} times the mean at three standard deviations")),
        _ => {}
    }
    // The spread alone, all devices equally warm.
    let lost = derating(count, spread);
    if lost.is_finite() {
        let group = value(count, Dimension::Ratio);
        facts.push(format!(
            "a group of {group} loses up to {} of its current to a spread of {}, all equally warm",
            percent(lost),
            percent(spread)
        ));
    }
    let mean = figure(chip.figures.settled_junction(), Dimension::Temperature);
    let worst = figure(chip.sharing.junction_temperature, Dimension::Temperature);
    if let (Some(mean), Some(worst)) = (mean, worst) {
        facts.push(format!("junction {worst} there, {mean} if all were equal"));
    }
    let skew = solved.figure(chip.sharing.edge_skew, lane).filter(|&skew| skew > 0.0);
    facts.extend(
        skew.map(|skew| format!("{} more loss at its edges from the lowest threshold", percent(skew))),
    );
    let gain =
        figure(chip.sharing.hogging_gain, Dimension::Ratio).filter(|_| mean_is_missing(chip, solved, lane));
    facts.extend(gain.map(|gain| format!("gain of a difference {gain}; 1 runs away")));
    facts
}

fn mean_is_missing(chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> bool {
    solved.figure(chip.sharing.factor, lane).is_none()
}

/// More devices, and devices that lie closer together.
pub(super) fn changes(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let plan = &solved.variant.plan;
    let (Some(seat), Some(lane)) = (seat_of(plan, failure.worst.part), failure.worst.lane()) else {
        return Vec::new();
    };
    let kinds = failing_kinds(plan, seat.stage, failure);
    vec![more_parallel(plan, seat.stage, &kinds, solved, lane), closer(failure, solved, lane)]
}

/// Devices that are chosen to lie closer together.
fn closer(failure: &Failure<'_>, solved: &Solved<'_>, lane: LaneId) -> Family {
    let plan = &solved.variant.plan;
    let mut inputs = Vec::new();
    for seat in failure.all.iter().filter_map(|verdict| seat_of(plan, verdict.part)) {
        let input = seat.chip.sharing_inputs.on_voltage;
        if !inputs.contains(&input) {
            inputs.push(input);
        }
    }
    let now: Vec<f64> = inputs.iter().filter_map(|&input| solved.input(input, lane)).collect();
    if now.len() != inputs.len() || now.is_empty() {
        return Family { tried: String::new(), ladder: Vec::new() };
    }
    let step = |share: f64| {
        let to: Vec<f64> = now.iter().map(|now| as_written(now * share)).collect();
        let edits =
            inputs.iter().zip(&to).map(|(&input, &value)| (Edit { input, value }, percent_written(value)));
        let say = format!(
            "devices chosen to a spread of the on-state voltage of {} -> {}",
            percent(now[0]),
            percent(to[0])
        );
        Proposal { say, change: Change::Edit(edits.collect()) }
    };
    let ladder: Vec<Proposal> = CLOSER.iter().map(|&share| step(share)).collect();
    Family { tried: "half the spread of the on-state voltage".to_owned(), ladder }
}

/// A share as it is written in a description.
fn percent_written(share: f64) -> String {
    // To the digits that `as_written` leaves.
    format!("{} %", value(share * 100.0, Dimension::Ratio))
}
