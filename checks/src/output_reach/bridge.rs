//! Whether a bridge forms the voltage that its machine needs.
//!
//! The index is the one at the poles, drops and dead time included, at the bus voltage of the duty point. Beyond the
//! linear limit a bridge still reaches up to six-step operation, with distorted currents; beyond that nothing does.

use loadworthy_physics::modulation::SIX_STEP_LIMIT;
use loadworthy_physics::{Frequency, Time, Voltage, pole_voltage};
use loadworthy_unit::plan::{Bridge, Bus, Stage};
use loadworthy_unit::solver::bridge::modulation;
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{BEYOND_LINEAR, MODULATION_INDEX, OUT_OF_REACH, supply};
use crate::check::Told;
use crate::collect::{Limit, Subject, Verdicts, compare};
use crate::figure_text::{comparison, value};
use crate::remarks;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, Fault, Grade, Outcome, Verdict};

/// Factor over six-step operation from which no drop along a current that flows back makes up for it.
const FAR: f64 = 1.1;

pub(super) fn judge(stage: &Stage, bridge: &Bridge, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let index = (bridge.figures.modulation_index, Dimension::Ratio);
    let code = solved.input(bridge.inputs.modulation, lane);
    // Without a modulation there is no linear limit; the input is named as missing.
    let limit = code
        .map_or(Limit::Input(bridge.inputs.modulation), |code| Limit::Law(modulation(code).linear_limit()));
    let linear = compare(solved, lane, index, limit, Some(&MODULATION_INDEX));
    let six_step = compare(solved, lane, index, Limit::Law(SIX_STEP_LIMIT), None);
    let remarks = remarks::of_stage(stage, solved, lane);
    let routine = if bridge.overmodulation_excluded { Grade::Major } else { Grade::Minor };
    let fails =
        |comparison: Comparison, grade: Grade| Outcome::Fails { fault: Fault::Exceeds(comparison), grade };
    let (defect, outcome) = match (linear, six_step) {
        (Err(missing), _) => match far_beyond(stage, bridge, solved, lane) {
            Some(index) => {
                let fault = Fault::Unsolved { largest_share: SIX_STEP_LIMIT / index };
                (OUT_OF_REACH, Outcome::Fails { fault, grade: Grade::Major })
            }
            None => (BEYOND_LINEAR, Outcome::NotJudged(missing)),
        },
        (_, Ok(beyond)) if !beyond.holds() => (OUT_OF_REACH, fails(beyond, Grade::Major)),
        (Ok(linear), _) if linear.holds() => (BEYOND_LINEAR, Outcome::Holds(Some(linear))),
        (Ok(linear), _) => (BEYOND_LINEAR, fails(linear, routine)),
    };
    out.put(solved, Subject { part: stage.part, defect, lane: Some(lane), kin: None }, outcome, remarks);
}

/// The least index that a lane without one asks for, where nothing brings that back into reach: the voltage between the lines
/// alone, over the highest voltage that its bus could have.
pub(super) fn far_beyond(stage: &Stage, bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    if solved.figure(bridge.figures.modulation_index, lane).is_some() {
        return None;
    }
    let line = solved.input(bridge.inputs.line_voltage, lane)?;
    let gives = solved.input(bridge.inputs.power, lane)?;
    let volts = supply::highest(supply::bus_of(stage, solved)?, stage, gives, solved, lane)?;
    let index = 2.0 * (2.0_f64 / 3.0).sqrt() * line / volts;
    (index > FAR * SIX_STEP_LIMIT).then_some(index)
}

/// The bus voltage at which the index of a lane is what is allowed.
///
/// M·V/2 = |V̂ + (C + D·V)·e^(−jφ)|, where C is the drop of the devices and D·V that of the dead time, is a
/// quadratic equation for V.
pub(super) fn needed_voltage(
    stage: &Stage,
    bridge: &Bridge,
    bus: &Bus,
    lane: LaneId,
    solved: &Solved<'_>,
) -> Option<f64> {
    let linear = modulation(solved.input(bridge.inputs.modulation, lane)?).linear_limit();
    let index = linear * solved.variant.policy(&MODULATION_INDEX)?.stated.value;
    let voltage = solved.figure(bus.voltage, lane)?;
    let line = solved.figure(bridge.figures.line_voltage, lane)?;
    let cos_phi = solved.figure(bridge.figures.power_factor, lane)?;
    let dead_time = Time::new(solved.input(stage.dead_time, lane)?);
    let carrier = Frequency::new(solved.input(stage.carrier, lane)?);
    let for_each_volt = pole_voltage::dead_time_drop(Voltage::new(1.0), dead_time, carrier).si();
    let of_devices = solved.figure(bridge.figures.voltage_drop, lane)? - for_each_volt * voltage;
    let crest = line * (2.0_f64 / 3.0).sqrt();
    let a = index * index / 4.0 - for_each_volt * for_each_volt;
    let b = -2.0 * for_each_volt * (crest * cos_phi + of_devices);
    let c = -(crest * crest + 2.0 * crest * cos_phi * of_devices + of_devices * of_devices);
    let root = (b * b - 4.0 * a * c).sqrt();
    let needed = (root - b) / (2.0 * a);
    (a > 0.0 && needed.is_finite()).then_some(needed)
}

/// What is asked of a bridge without any solution, where that lies beyond all modulation.
pub(super) fn told_far(stage: &Stage, bridge: &Bridge, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let index = value(far_beyond(stage, bridge, solved, lane)?, Dimension::Ratio);
    let part = solved.variant.path(stage.part);
    let line = value(solved.input(bridge.inputs.line_voltage, lane)?, Dimension::Voltage);
    let most = value(SIX_STEP_LIMIT, Dimension::Ratio);
    let saying = format!(
        "`{part}` needs a modulation index of {index} or more, above {most}, the index of six-step operation: this voltage cannot be produced"
    );
    let label = format!("{line} rms between the lines");
    let at = place(solved, bridge.inputs.line_voltage, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, stage.part, label));
    let bus = supply::bus_of(stage, solved);
    let because = bus.and_then(|bus| supply::leaves(bus, solved, lane)).into_iter().collect();
    let worked = vec![format!("least index = {index}: M = 2·V̂/V_dc, V̂ = √(2/3) of {line}, without any drop")];
    Some(Told { because, worked, ..Told::new(saying, at) })
}

pub(super) fn told(
    stage: &Stage,
    bridge: &Bridge,
    worst: &Verdict,
    compared: &Comparison,
    solved: &Solved<'_>,
) -> Option<Told> {
    let lane = worst.lane()?;
    let part = solved.variant.path(stage.part);
    let carried = comparison(compared).carried;
    let saying = if worst.defect == OUT_OF_REACH {
        let above = above(compared, "the index of six-step operation");
        format!("`{part}` needs a modulation index of {carried}, {above}: this voltage cannot be produced")
    } else {
        format!("`{part}` needs a modulation index of {carried}, {}", above(compared, "the linear limit"))
    };
    let volts = |figure| solved.figure(figure, lane).map(|volts| value(volts, Dimension::Voltage));
    let mut because = Vec::new();
    because.extend(volts(bridge.figures.line_voltage).and_then(|asked| {
        place(solved, bridge.inputs.line_voltage, lane, format!("{asked} rms between the lines"))
    }));
    let mut no_proposal = None;
    if let Some(bus) = supply::bus_of(stage, solved) {
        let name = solved.variant.path(bus.part);
        because.extend(supply::leaves(bus, solved, lane));
        if let Some(source) = solved.holder(bus, lane) {
            let source = solved.variant.path(source.part);
            no_proposal = Some(format!(
                "`{name}` stands at what `{source}` gives, so its voltage is not proposed; a machine wound for less voltage, or a boost before the bridge, would be another concept"
            ));
        }
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let limit = match solved.input(bridge.inputs.modulation, lane).map(modulation) {
        Some(kind) if worst.defect == BEYOND_LINEAR => {
            format!("linear up to an index of {}", value(kind.linear_limit(), Dimension::Ratio))
        }
        _ => format!("no pattern reaches more than {}", value(SIX_STEP_LIMIT, Dimension::Ratio)),
    };
    let at = place(solved, bridge.inputs.modulation, lane, limit.clone())
        .unwrap_or_else(|| part_at(solved, stage.part, limit));
    Some(Told { because, no_proposal, ..Told::new(saying, at) })
}
