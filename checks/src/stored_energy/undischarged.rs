//! Buses that stay charged, because nothing takes their charge away, or nothing that is always there.

use loadworthy_unit::plan::Stored;
use loadworthy_unit::{Cause, Dimension, LaneId, Solved};

use super::HARMLESS;
use crate::cause::missing_text;
use crate::check::Told;
use crate::figure_text::value;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Verdict};

/// How grave it is that a bus has no discharge, or none that is always there; none where it has one, follows one, does not hurt, or
/// where the description says nothing of how circuits are opened and discharged.
pub(super) fn grade(stored: &Stored, solved: &Solved<'_>) -> Option<Grade> {
    let plan = &solved.variant.plan;
    let tells = plan.stored.iter().any(|one| one.is_stated)
        || plan.openings.iter().any(|one| one.is_contactor)
        || !plan.precharges.is_empty();
    let has_bank = !plan.buses[stored.bus].ripple.banks.is_empty();
    // What could not be read may be its discharge.
    let is_known = stored.unread.is_none() && stored.follows.is_none();
    if !(tells && has_bank && is_known && stored.resistor.is_none() && highest(stored, solved)? > HARMLESS) {
        return None;
    }
    // Who states how soon the resistor alone must do it asks for one that is not there.
    let asks = solved.variant.tables.is_written(stored.passively_within);
    Some(if stored.active.is_some() && !asks { Grade::Minor } else { Grade::Major })
}

/// The highest voltage that a bus comes to: where no duty point solves it, the one that is stated for it or for its domain.
fn highest(stored: &Stored, solved: &Solved<'_>) -> Option<f64> {
    let plan = &solved.variant.plan;
    let bus = &plan.buses[stored.bus];
    let over_lanes =
        |of: &dyn Fn(LaneId) -> Option<f64>| solved.variant.lane_ids().filter_map(of).reduce(f64::max);
    let mut domains = plan.isolation.iter().flat_map(|isolation| isolation.domains());
    over_lanes(&|lane| solved.figure(bus.highest_voltage, lane))
        .or_else(|| over_lanes(&|lane| solved.input(bus.highest, lane)))
        .or_else(|| over_lanes(&|lane| solved.input(bus.stated, lane)))
        .or_else(|| {
            let sources = bus.sources.iter().filter_map(|&source| plan.sources[source].limits.open_circuit);
            sources
                .filter_map(|(_, highest)| over_lanes(&|lane| solved.input(highest, lane)))
                .reduce(f64::max)
        })
        .or_else(|| {
            let (_, own) = domains.find(|(_, domain)| domain.stress.buses.contains(&stored.bus))?;
            over_lanes(&|lane| solved.figure(own.voltage, lane))
        })
}

fn stored_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Stored> {
    let plan = &solved.variant.plan;
    plan.stored.iter().find(|stored| plan.buses[stored.bus].part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let stored = stored_of(worst, solved)?;
    let part = solved.variant.path(worst.part);
    let volts = value(highest(stored, solved)?, Dimension::Voltage);
    let asks = solved.variant.tables.is_written(stored.passively_within);
    let (saying, label) = if stored.active.is_some() {
        let saying = format!(
            "`{part}` is discharged by what has to be switched on alone: once that fails it stays at up to {volts}"
        );
        (saying, "no resistor that is always there")
    } else {
        let saying = format!(
            "nothing takes the charge of `{part}` away: once it is switched off it stays at up to {volts} for hours"
        );
        (saying, "no discharge")
    };
    let lanes = solved.variant.lane_ids();
    let energy = lanes.filter_map(|lane| solved.figure(stored.figures.energy, lane)).reduce(f64::max);
    let facts = energy.map(|joules| format!("its banks hold up to {}", value(joules, Dimension::Energy)));
    let lane = solved.variant.lane_ids().next();
    let asked = lane.filter(|_| asks && stored.active.is_some());
    let asked = asked.and_then(|lane| {
        let within = value(solved.input(stored.passively_within, lane)?, Dimension::Time);
        place(solved, stored.passively_within, lane, format!("a resistor alone is to do it within {within}"))
    });
    let why = "state `discharge` of the bus, its `resistor` and the `resistor_power` that this stands";
    let at = part_at(solved, worst.part, label.to_owned());
    Some(Told {
        because: asked.into_iter().collect(),
        facts: facts.into_iter().collect(),
        no_proposal: Some(why.to_owned()),
        ..Told::new(saying, at)
    })
}

/// What else waits for it.
pub(super) fn keeps_open(worst: &Verdict, solved: &Solved<'_>) -> Vec<String> {
    let Some(stored) = stored_of(worst, solved) else { return Vec::new() };
    let key = if stored.is_stated { "discharge.resistor" } else { "discharge" };
    let missing = Missing::Key { of: worst.part, key };
    let resistor = stored.resistor.map(|(ohms, _)| Missing::Cause(Cause::Input(ohms)));
    let all = core::iter::once(missing).chain(resistor);
    all.map(|missing| missing_text(solved.variant, None, missing).subject).collect()
}
