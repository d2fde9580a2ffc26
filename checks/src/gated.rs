//! Gates and what drives them, as the checks of gate drives see them.

use loadworthy_unit::plan::GateDrive;
use loadworthy_unit::{Cause, Dimension, Edit, InputId, LaneId, PartId, Solved};

use crate::check::{Change, Failure, Family, Proposal};
use crate::collect::{Subject, Verdicts};
use crate::figure_text::{value, written};
use crate::review::Place;
use crate::tell::place;
use crate::verdict::{Missing, Outcome};

/// Gates that a driver is stated for and an output; where one is not, that is said once for the stage.
pub(crate) fn driven<'v>(
    solved: &Solved<'v>,
    defect: &'static str,
    out: &mut Verdicts,
) -> Vec<&'v GateDrive> {
    let plan = &solved.variant.plan;
    let (whole, lacking): (Vec<_>, Vec<_>) =
        plan.gate_drives.iter().partition(|drive| lacks(drive).is_none());
    for drive in lacking {
        let waits = lacks(drive).into_iter().map(|input| Missing::Cause(Cause::Input(input))).collect();
        let part = plan.stages[drive.stage].part;
        let subject = Subject { part, defect, lane: None, kin: None };
        out.put(solved, subject, Outcome::NotJudged(waits), Vec::new());
    }
    whole
}

/// What would have to say what drives a gate, or what feeds it.
pub(crate) fn lacks(drive: &GateDrive) -> Option<InputId> {
    match (drive.driver, drive.supply) {
        (None, _) => Some(drive.channel.own_power),
        (_, None) => Some(drive.rails.on),
        _ => None,
    }
}

/// What drives the gates of a part.
pub(crate) fn drive_of<'v>(solved: &Solved<'v>, part: PartId) -> Option<&'v GateDrive> {
    solved.variant.plan.gate_drives.iter().find(|drive| drive.part == part)
}

/// An input of the driver of a gate, where it drives gates of another stage as well: then its failures are one cause.
pub(crate) fn shared_driver(solved: &Solved<'_>, drive: &GateDrive) -> Option<InputId> {
    let drives = &solved.variant.plan.gate_drives;
    let is_shared = |other: &GateDrive| other.stage != drive.stage && other.driver == drive.driver;
    (drive.driver.is_some() && drives.iter().any(is_shared)).then_some(drive.channel.own_power)
}

/// An input of everything that fails, each once.
pub(crate) fn of_failing(
    failure: &Failure<'_>,
    solved: &Solved<'_>,
    input: impl Fn(&GateDrive) -> InputId,
) -> Vec<InputId> {
    let mut inputs: Vec<InputId> = Vec::new();
    for drive in failure.all.iter().filter_map(|verdict| drive_of(solved, verdict.part)) {
        let input = input(drive);
        if !inputs.contains(&input) {
            inputs.push(input);
        }
    }
    inputs
}

/// Voltages times a factor, and further the same way, in the tenths of a volt that gate voltages are written in.
pub(crate) fn tenths(
    name: &str,
    inputs: &[InputId],
    factor: f64,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Family {
    let is_down = factor < 1.0;
    let step = |more: f64| {
        let edit = |&input: &InputId| {
            let now = solved.input(input, lane)?;
            let size = (now * factor).abs() * 10.0;
            let tenths = if is_down { (size + 1e-6).floor() - more } else { (size - 1e-6).ceil() + more };
            let to = (tenths / 10.0).copysign(now);
            Some((Edit { input, value: to }, written(to, Dimension::Voltage)))
        };
        let edits = inputs.iter().map(edit).collect::<Option<Vec<_>>>()?;
        let (first, _) = edits.first()?;
        let now = solved.input(first.input, lane)?;
        let (from, to) = (value(now, Dimension::Voltage), value(first.value, Dimension::Voltage));
        Some(Proposal { say: format!("{name}: {from} -> {to}"), change: Change::Edit(edits) })
    };
    let ladder: Vec<Proposal> = [0.0, 2.0, 5.0, 10.0].into_iter().filter_map(step).collect();
    let tried = ladder.last().map_or_else(String::new, |step| step.say.clone());
    Family { tried, ladder }
}

/// Places of inputs with what is to be said of each value.
pub(crate) fn places(
    solved: &Solved<'_>,
    lane: LaneId,
    labels: impl IntoIterator<Item = (InputId, String)>,
) -> Vec<Place> {
    labels.into_iter().filter_map(|(input, label)| place(solved, input, lane, label)).collect()
}
