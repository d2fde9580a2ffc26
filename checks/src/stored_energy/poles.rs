//! Contactors of a source that open one of its poles and leave the other joined.
//!
//! Of a circuit that floats one open pole ends every current as long as its insulation holds. The other pole stays on the
//! source: a first fault there, and what leads from it to the chassis, keeps the whole of its voltage in the unit. Of one that stands
//! on the chassis the open pole is the live one.

use loadworthy_unit::plan::OnePole;
use loadworthy_unit::{PartId, Solved};

use super::{HARMLESS, ONE_POLE, exchanged_with};
use crate::check::Told;
use crate::collect::{Subject, Verdicts};
use crate::tell::part_at;
use crate::verdict::{Fault, Grade, Outcome, Verdict};

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    for one in solved.variant.plan.one_pole.iter().filter(|one| floats(one, solved)) {
        // Two in one pole were meant for both, as far as anyone can tell.
        let grade = if own(one, solved).len() > 1 { Grade::Minor } else { Grade::Note };
        let subject = Subject { part: part_of(one, solved), defect: ONE_POLE, lane: None, kin: None };
        out.put(solved, subject, Outcome::Fails { fault: Fault::Structural, grade }, Vec::new());
    }
}

/// Its contactors, without one that belongs into its pre-charge, as is told.
fn own(one: &OnePole, solved: &Solved<'_>) -> Vec<PartId> {
    let plan = &solved.variant.plan;
    let is_strange = |conductor: usize| {
        let exchanged = exchanged_with(solved, plan.conductors[conductor].branch);
        exchanged.is_some_and(|(.., strange)| strange == conductor)
    };
    let own = one.contactors.iter().filter(|&&conductor| !is_strange(conductor));
    own.map(|&conductor| plan.conductors[conductor].part).collect()
}

/// The contactor that speaks for all of them: one at least is led around, and in its own branch.
fn part_of(one: &OnePole, solved: &Solved<'_>) -> PartId {
    let first = solved.variant.plan.conductors[one.contactors[0]].part;
    own(one, solved).first().copied().unwrap_or(first)
}

/// Whether the source feeds a circuit that hurts and that stands on the chassis nowhere. One of which nobody says so is not asked.
fn floats(one: &OnePole, solved: &Solved<'_>) -> bool {
    let plan = &solved.variant.plan;
    let bus = &plan.buses[one.bus];
    let mut lanes = solved.variant.lane_ids();
    let hurts = lanes.any(|lane| {
        let volts = [solved.figure(bus.highest_voltage, lane), solved.input(bus.highest, lane)];
        volts.into_iter().flatten().any(|volts| volts > HARMLESS)
    });
    let mut domains = plan.isolation.iter().flat_map(|isolation| isolation.domains());
    hurts && domains.any(|(_, domain)| domain.stress.buses.contains(&one.bus) && !domain.is_earthed)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let one = plan.one_pole.iter().find(|one| part_of(one, solved) == worst.part)?;
    let [source, bus] =
        [plan.sources[one.source].part, plan.buses[one.bus].part].map(|part| variant.path(part));
    let parts = own(one, solved);
    let names: Vec<String> = parts.iter().map(|&part| format!("`{}`", variant.path(part))).collect();
    let names = names.join(", ");
    let saying = if parts.len() > 1 {
        format!("{names} open the same pole of `{source}`: its other pole stays joined to `{bus}`")
    } else {
        format!("{names} opens one pole of `{source}` alone: its other pole stays joined to `{bus}`")
    };
    let here = if one.is_return { "on the way back" } else { "on the way out" };
    let places = parts.iter().map(|&part| part_at(solved, part, format!("{here} of `{source}`")));
    let mut places = places.collect::<Vec<_>>().into_iter();
    let at = places.next()?;
    let there = if one.is_return { "on the way out" } else { "on the way back" };
    let facts = vec![
        format!("contactors {here}: {names}; {there}: none"),
        format!(
            "a first fault to the chassis at the other pole keeps the voltage of `{source}` in the unit, contactor open"
        ),
    ];
    let way = if one.is_return {
        format!("a contactor in the branch from `{source}`, or the one within it by `parted_by`")
    } else {
        format!(
            "a contactor in a branch from the negative rail back to `{source}`, or the one within it by `parted_by`"
        )
    };
    Some(Told { because: places.collect(), facts, no_proposal: Some(way), ..Told::new(saying, at) })
}
