//! Whether a source that is to give a share has the voltage of its bus as it does so.
//!
//! A share is what somebody wishes for. A source without a converter of its own gives what its curve, or its resistance,
//! gives at the voltage of the bus, whatever is wished for.

use loadworthy_physics::{Power, Resistance, Voltage, battery};
use loadworthy_unit::plan::Source;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{OTHER_VOLTAGE, is_beyond_curve, subject};
use crate::check::Told;
use crate::collect::{Verdicts, structural};
use crate::figure_text::value;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Outcome, Verdict};

/// Share by which both voltages may differ: curves and open-circuit voltages move so much with temperature, state of charge
/// and age that a smaller difference is none that a concept knows of.
const CLOSE: f64 = 0.05;

/// The voltage at the terminals of a source at its share, and the input that it is told at; none where it states no share, or nothing
/// that gives it a voltage.
fn own_voltage(source: &Source, solved: &Solved<'_>, lane: LaneId) -> Option<(f64, InputId)> {
    let (amps, watts) = (solved.input(source.share_current, lane), solved.input(source.share_power, lane));
    let share = match (amps, watts) {
        (Some(_), _) => source.share_current,
        (None, Some(_)) => source.share_power,
        (None, None) => return None,
    };
    if solved.input(share, lane) == Some(0.0) {
        // What gives nothing may as well be switched off.
        return None;
    }
    if let Some(terminal) = solved.input(source.terminal, lane) {
        return Some((terminal, share));
    }
    let open = solved.input(source.open_circuit, lane)?;
    let ohms = solved.input(source.resistance, lane)?;
    let volts = match (amps, watts) {
        (Some(amps), _) => open - ohms * amps,
        (None, watts) => {
            battery::terminal_voltage(Voltage::new(open), Resistance::new(ohms), Power::new(watts?)).si()
        }
    };
    Some((volts, share))
}

pub(super) fn judge(source: &Source, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some((own, _)) = own_voltage(source, solved, lane) else { return };
    if is_beyond_curve(source, solved, lane) {
        return;
    }
    let outcome = match solved.figure(source.terminal_voltage, lane) {
        None => Outcome::NotJudged(vec![Missing::Figure(source.terminal_voltage)]),
        // A share beyond what can pass has no voltage of its own.
        Some(at) => structural(Ok((at - own).abs() <= CLOSE * own), Grade::Major),
    };
    out.put(solved, subject(source, OTHER_VOLTAGE, lane), outcome, Vec::new());
}

pub(super) fn told(source: &Source, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let (own, share) = own_voltage(source, solved, lane)?;
    let at = solved.figure(source.terminal_voltage, lane)?;
    let dimension = if share == source.share_current { Dimension::Current } else { Dimension::Power };
    let asked = value(solved.input(share, lane)?, dimension);
    let (part, duty) = (variant.path(source.part), &variant.duty_of(lane).name);
    let volts = |volts| value(volts, Dimension::Voltage);
    let has = if own.is_nan() {
        "has no voltage at all".to_owned()
    } else {
        format!("has {} at its terminals", volts(own))
    };
    let saying = format!(
        "`{part}` is to give {asked} in `{duty}`, where it {has}, and its bus keeps them at {}",
        volts(at)
    );
    let label = format!("here it {has}");
    let place_of_share = place(solved, share, lane, label.clone());
    let place_of_share = place_of_share.unwrap_or_else(|| part_at(solved, source.part, label));
    let others = source.bus.into_iter().flat_map(|bus| &variant.plan.buses[bus].sources);
    let others = others.map(|&other| &variant.plan.sources[other]);
    let others = others.filter(|other| other.part != source.part);
    let because =
        others.map(|other| part_at(solved, other.part, "stands on the same bus".to_owned())).collect();
    let facts = vec![format!("at its share {}", volts(own)), format!("on its bus {}", volts(at))];
    let no_proposal = Some(
        "on a common bus a source gives what its own voltage lets it: state the share that it has there, or put a converter between"
            .to_owned(),
    );
    Some(Told { because, facts, no_proposal, ..Told::new(saying, place_of_share) })
}
