//! Words that the checks share: where a value stands, what a duty point asks, what the policy keeps.

use loadworthy_unit::plan::Bridge;
use loadworthy_unit::{Dimension, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::figure_text::{comparison, percent, value};
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

/// What the duty point asks of a bridge, at the value that decides the current.
pub(crate) fn demand(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let inputs = &bridge.inputs;
    let current = solved.figure(bridge.figures.phase_current, lane);
    let stated = solved.input(inputs.phase_current, lane);
    let standing = solved.input(inputs.frequency, lane).is_some_and(|frequency| frequency <= 0.0);
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

/// How far a figure is above what is allowed, and of what limit: `31 K above the 155 °C that the policy leaves of its
/// junction limit of 175 °C`.
pub(crate) fn above(compared: &Comparison, limit: &str) -> String {
    let text = comparison(compared);
    let over = text.headroom.strip_suffix(" over").unwrap_or(&text.headroom);
    match text.policy {
        Some(_) => {
            format!("{over} above the {} that the policy leaves of {limit} of {}", text.allowed, text.limit)
        }
        None => format!("{over} above {limit} of {}", text.allowed),
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
