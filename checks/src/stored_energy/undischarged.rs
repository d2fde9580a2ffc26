//! Buses that stay charged, because nothing takes their charge away, or nothing that is always there.

use loadworthy_unit::plan::Stored;
use loadworthy_unit::{Cause, Dimension, Solved};

use super::HARMLESS;
use crate::cause::missing_text;
use crate::check::Told;
use crate::figure_text::value;
use crate::tell::part_at;
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
    Some(if stored.active.is_some() { Grade::Minor } else { Grade::Major })
}

/// The highest voltage that a bus comes to.
fn highest(stored: &Stored, solved: &Solved<'_>) -> Option<f64> {
    let bus = &solved.variant.plan.buses[stored.bus];
    let lanes = solved.variant.lane_ids();
    lanes.filter_map(|lane| solved.figure(bus.highest_voltage, lane)).reduce(f64::max)
}

fn stored_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Stored> {
    let plan = &solved.variant.plan;
    plan.stored.iter().find(|stored| plan.buses[stored.bus].part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let stored = stored_of(worst, solved)?;
    let part = solved.variant.path(worst.part);
    let volts = value(highest(stored, solved)?, Dimension::Voltage);
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
    let why = "state `discharge` of the bus, its `resistor` and the `resistor_power` that this stands";
    let at = part_at(solved, worst.part, label.to_owned());
    Some(Told {
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
