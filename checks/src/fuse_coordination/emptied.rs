//! Conductors that banks empty through in a fault, with no fuse between.

use loadworthy_unit::plan::Emptied;
use loadworthy_unit::{Dimension, Solved};

use super::{EMPTIED, copper};
use crate::check::{Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::comparison;
use crate::remarks::Remark;
use crate::tell::{above, part_at, place};
use crate::verdict::{Grade, Verdict};

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    for emptied in &plan.emptied {
        let protected = &emptied.protected;
        let part = plan.conductors[protected.conductor].part;
        for lane in solved.variant.lane_ids() {
            let through = (protected.through, Dimension::SquaredCurrentTime);
            let compared = compare(solved, lane, through, Limit::Figure(protected.withstood), None);
            // Branches of one bus lack one fuse each, and its banks are one cause.
            let kin = Some(plan.buses[emptied.bus].highest);
            let subject = Subject { part, defect: EMPTIED, lane: Some(lane), kin };
            out.put(solved, subject, outcome(compared, Grade::Major), vec![Remark::FaultUntested]);
        }
    }
}

fn emptied_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Emptied> {
    let plan = &solved.variant.plan;
    plan.emptied.iter().find(|one| plan.conductors[one.protected.conductor].part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (plan, lane, compared) = (&solved.variant.plan, worst.lane()?, worst.comparison()?);
    let emptied = emptied_of(worst, solved)?;
    let text = comparison(compared);
    let part = solved.variant.path(worst.part);
    let bus = &plan.buses[emptied.bus];
    let saying = format!(
        "the banks of `{}` send {} through `{part}` in a fault behind it, {}, and no fuse stands before it",
        solved.variant.path(bus.part),
        text.carried,
        above(compared, "what it stands")
    );
    let at = part_at(solved, worst.part, format!("stands {}", text.limit));
    let banks = bus.ripple.banks.iter();
    let mut because: Vec<_> =
        banks.map(|&bank| part_at(solved, plan.banks[bank].part, "empties through it".to_owned())).collect();
    let own = emptied.protected.section.last().or(emptied.protected.stated.as_ref());
    because.extend(own.and_then(|&input| place(solved, input, lane, format!("stands {}", text.limit))));
    let facts = vec!["a fuse at the beginning of its branch would end it".to_owned()];
    Some(Told { because, facts, ..Told::new(saying, at) })
}

/// More copper.
pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let known = worst.lane().zip(worst.comparison()).zip(emptied_of(worst, solved));
    let Some(((lane, compared), emptied)) = known else { return Vec::new() };
    let name = solved.variant.path(worst.part);
    copper::more(&emptied.protected, name, compared, solved, lane).into_iter().collect()
}
