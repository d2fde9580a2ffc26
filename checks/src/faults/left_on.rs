//! Discharges that are switched on and stay on: what they take, and what that leaves of a pre-charge.

use loadworthy_physics::stored_energy::held_up;
use loadworthy_physics::{Power, Resistance, Voltage};
use loadworthy_unit::plan::{ActiveDischarge, Precharge, Stored};
use loadworthy_unit::{Dimension, InputId, LaneId};

use super::found::fault;
use super::left::Bench;
use super::welded::burdened;
use super::{Effect, Fault, Kind};
use crate::figure_text::{percent, value};

/// The discharge of every bus that has one to switch on.
pub(super) fn all(bench: &Bench<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    for (place, stored) in variant.plan.stored.iter().enumerate() {
        let Some(active) = stored.active else { continue };
        let part = variant.tables.part_of(variant.plan.buses[stored.bus].part);
        let Some(takes) = taken(bench, stored, active) else { continue };
        let takes = value(takes, Dimension::Power);
        let mut effect = Effect {
            says: vec![format!(
                "takes up to {takes} from {} for as long as that is live; how long it stands that is not stated",
                part.path
            )],
            is_open: true,
            ..Effect::default()
        };
        let precharges = variant.plan.precharges.iter().filter(|one| one.charges.contains(&place));
        for precharge in precharges {
            effect.says.extend(never_charged(bench, precharge, active));
        }
        faults.push(fault(Kind::DischargeOn, &part.path, part.at, effect));
    }
}

/// The power that it takes at most.
fn taken(bench: &Bench<'_>, stored: &Stored, active: ActiveDischarge) -> Option<f64> {
    let input = |input: InputId| bench.solved.input(input, LaneId::new(0));
    match active {
        ActiveDischarge::Power(watts) => input(watts),
        ActiveDischarge::Resistance(ohms) => {
            let highest = bench.solved.variant.plan.buses[stored.bus].highest_voltage;
            let lanes = bench.solved.variant.lane_ids();
            let volts = lanes.filter_map(|lane| bench.solved.figure(highest, lane)).reduce(f64::max)?;
            Some(volts * volts / input(ohms)?)
        }
    }
}

/// What a pre-charge against it comes to, where that is less than the contactor that it leads around waits for.
fn never_charged(bench: &Bench<'_>, precharge: &Precharge, active: ActiveDischarge) -> Option<String> {
    let variant = bench.solved.variant;
    let input = |input: InputId| bench.solved.input(input, LaneId::new(0));
    let volts = input(precharge.source)?;
    let ohms: f64 = precharge.resistances.iter().map(|&one| input(one)).sum::<Option<f64>>()?;
    let resistors = precharge.charges.iter().filter_map(|&charge| variant.plan.stored[charge].resistor);
    let passive: f64 = resistors.map(|(ohms, _)| Some(1.0 / input(ohms)?)).sum::<Option<f64>>()?;
    let (siemens, watts) = match active {
        ActiveDischarge::Power(watts) => (passive, input(watts)?),
        ActiveDischarge::Resistance(ohms) => (passive + 1.0 / input(ohms)?, 0.0),
    };
    let held = held_up(Voltage::new(volts), Resistance::new(ohms), siemens, Power::new(watts)).si();
    let rest = input(precharge.rest)?;
    if held.is_nan() || volts * (1.0 - rest) <= held {
        return None;
    }
    let [branch, bus] =
        [precharge.part, variant.plan.buses[precharge.bus].part].map(|part| variant.path(part));
    let closes = match &precharge.around {
        Some(main) => {
            format!("{} is not to close on more than {} left", variant.path(main.part), percent(rest))
        }
        None => format!("no more than {} may be left", percent(rest)),
    };
    let lost = (volts - held) * (volts - held) / ohms;
    let said = [held, volts].map(|volts| value(volts, Dimension::Voltage));
    let comes = match said {
        [_, volts] if held <= 0.0 => format!("{branch} does not bring {bus} up to {volts} at all against it"),
        [held, volts] => format!("{branch} brings {bus} to no more than {held} of {volts} against it"),
    };
    Some(format!(
        "{comes}, and {closes}; that leaves {} in the branch{}",
        value(lost, Dimension::Power),
        burdened(bench, precharge.part, lost)
    ))
}
