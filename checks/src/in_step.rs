//! Carriers that run in step change together: one of them alone would beat with the others.

use loadworthy_unit::plan::Stage;
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use crate::check::{Change, Family, Proposal};
use crate::figure_text::{value, written};
use crate::steps::as_written;

/// A family of carriers of a stage, with the carriers that run in step with it in the same proportion.
pub(crate) fn in_step(family: Family, stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Family {
    let plan = &solved.variant.plan;
    let Some(own) = plan.stages.iter().position(|one| one.part == stage.part) else { return family };
    let followed = plan.followed_by(own);
    let others = plan.stages.iter().enumerate().filter(|&(k, _)| k != own && plan.followed_by(k) == followed);
    let others: Vec<&Stage> = others.map(|(_, other)| other).collect();
    let (Some(now), false) = (solved.input(stage.carrier, lane), others.is_empty()) else { return family };
    let together = |proposal: Proposal| {
        let Change::Edit(mut edits) = proposal.change else { return Some(proposal) };
        let (to, text) = edits.iter().find(|(edit, _)| edit.input == stage.carrier).cloned()?;
        let mut say = proposal.say;
        for other in &others {
            let before = solved.input(other.carrier, lane)?;
            let name = solved.variant.path(other.part);
            if before.to_bits() == now.to_bits() {
                say += &format!(", and of {name}, which is in step");
                edits.push((Edit { input: other.carrier, ..to }, text.clone()));
            } else {
                let after = as_written(to.value * (before / now));
                let [from, to] = [before, after].map(|carrier| value(carrier, Dimension::Frequency));
                say += &format!(", and of {name}, which is in step: {from} -> {to}");
                edits.push((
                    Edit { input: other.carrier, value: after },
                    written(after, Dimension::Frequency),
                ));
            }
        }
        Some(Proposal { say, change: Change::Edit(edits) })
    };
    Family { ladder: family.ladder.into_iter().filter_map(together).collect(), ..family }
}
