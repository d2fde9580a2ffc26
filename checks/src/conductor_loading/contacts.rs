//! Contacts whose stated resistance no contact has: none at all, or so much that their metal would melt at what they carry.

use loadworthy_unit::plan::Conductor;
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::IMPLAUSIBLE;
use crate::check::Told;
use crate::collect::{Limit, Subject, Verdicts, compare};
use crate::figure_text::{comparison, value};
use crate::tell::{part_at, place};
use crate::verdict::{Fault, Grade, Outcome, Verdict};

/// Voltage in V along a contact of copper from which its metal melts: R. Holm, Electric Contacts, 4th ed., 1967; 0.37 V of silver.
const MELTS: f64 = 0.43;

/// Looks at contacts that carry something in service and state their resistance.
pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let all = solved.variant.plan.conductors.iter();
    for contact in all.filter(|one| one.is_contact && solved.variant.tables.is_written(one.resistance)) {
        if contact.carries.is_none() {
            continue;
        }
        for lane in solved.variant.lane_ids() {
            let outcome = match solved.input(contact.resistance, lane) {
                Some(ohms) if ohms <= 0.0 => Outcome::Fails { fault: Fault::Structural, grade: Grade::Note },
                // What carries more than it is rated for is told of that, and drops more for it.
                Some(_) if is_overloaded(contact, solved, lane) => continue,
                Some(_) => {
                    let drop = (contact.drop, Dimension::Voltage);
                    match compare(solved, lane, drop, Limit::Always(MELTS), None) {
                        Ok(held) if !held.holds() => {
                            Outcome::Fails { fault: Fault::Exceeds(held), grade: Grade::Note }
                        }
                        // What is missing is told of what it carries.
                        _ => continue,
                    }
                }
                None => continue,
            };
            let subject = Subject { part: contact.part, defect: IMPLAUSIBLE, lane: Some(lane), kin: None };
            out.put(solved, subject, outcome, Vec::new());
        }
    }
}

fn is_overloaded(contact: &Conductor, solved: &Solved<'_>, lane: LaneId) -> bool {
    let rated = contact.rated.and_then(|rated| solved.input(rated, lane));
    let carried = solved.figure(contact.carried(), lane);
    carried.zip(rated).is_some_and(|(carried, rated)| rated < carried.abs())
}

pub(super) fn told(worst: &Verdict, lane: LaneId, solved: &Solved<'_>) -> Option<Told> {
    let is_it = |one: &&Conductor| one.part == worst.part;
    let contact = solved.variant.plan.conductors.iter().find(is_it)?;
    let part = solved.variant.path(contact.part);
    let ohms = value(solved.input(contact.resistance, lane)?, Dimension::Resistance);
    let (saying, label) = match worst.comparison() {
        None => (
            format!(
                "`{part}` states a resistance of {ohms}, and no contact has none: its loss and its drop are left out"
            ),
            format!("{ohms} here"),
        ),
        Some(compared) => {
            let text = comparison(compared);
            let amps = value(solved.figure(contact.current, lane)?, Dimension::Current);
            (
                format!(
                    "`{part}` drops {} at {amps}, and contacts of copper melt from {} up: no contact for that current has {ohms}",
                    text.carried, text.limit
                ),
                format!("{ohms} here"),
            )
        }
    };
    let at = place(solved, contact.resistance, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, contact.part, label));
    let no_proposal = Some("state the resistance of its data sheet, or the one that was measured".to_owned());
    Some(Told { no_proposal, ..Told::new(saying, at) })
}
