//! What stands between a source and the fuse of its branch: a fault there no fuse ends.

use loadworthy_unit::Solved;
use loadworthy_unit::plan::Fuse;

use super::AHEAD;
use crate::check::{Change, Family, Proof, Proposal, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::tell::part_at;
use crate::verdict::{Grade, Verdict};

/// Names every conductor that stands there. What is enclosed with the source may stand there on purpose.
pub(super) fn judge(fuse: &Fuse, solved: &Solved<'_>, out: &mut Verdicts) {
    for &ahead in &fuse.ahead {
        let part = solved.variant.plan.conductors[ahead].part;
        let subject = Subject { part, defect: AHEAD, lane: None, kin: Some(fuse.rated) };
        out.put(solved, subject, structural(Ok(false), Grade::Minor), Vec::new());
    }
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let plan = &solved.variant.plan;
    let fuse = plan.fuses.iter().find(|fuse| worst.kin == Some(fuse.rated))?;
    let name = |conductor: usize| solved.variant.path(plan.conductors[conductor].part);
    let all: Vec<String> = fuse.ahead.iter().map(|&ahead| format!("`{}`", name(ahead))).collect();
    let (own, fuse_part) = (name(fuse.conductor), plan.conductors[fuse.conductor].part);
    let stand = if all.len() > 1 { "stand" } else { "stands" };
    let saying = format!(
        "{} {stand} between the source and its fuse `{own}`: a fault there the source feeds, and no fuse ends it",
        all.join(", ")
    );
    let at = part_at(solved, worst.part, "no fuse before it".to_owned());
    let because = vec![part_at(solved, fuse_part, "ends faults behind it alone".to_owned())];
    let facts = vec!["where all of it is enclosed with the source, a permit says so".to_owned()];
    Some(Told { because, facts, ..Told::new(saying, at) })
}

/// The fuse next to its source.
pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let plan = &solved.variant.plan;
    let Some(fuse) = plan.fuses.iter().find(|fuse| worst.kin == Some(fuse.rated)) else { return Vec::new() };
    let conductor = &plan.conductors[fuse.conductor];
    let [own, branch] = [conductor.part, conductor.branch].map(|part| solved.variant.path(part));
    let say = format!("`{own}` next to the source, first of what `{branch}` leads through");
    let change = Change::Reviewed {
        proof: Proof::ExactRule,
        leaves: "nothing between the source and its fuse".to_owned(),
        side_effects: Vec::new(),
    };
    vec![Family { tried: say.clone(), ladder: vec![Proposal { say, change }] }]
}
