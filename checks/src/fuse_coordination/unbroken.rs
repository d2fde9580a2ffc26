//! Overloads that melt a fuse and that it does not break: something else has to end them.
//!
//! A fuse of the partial range melts at little more than it carries, and breaks from a multiple of that up. In between it
//! burns on: there a contactor has to open, or nothing may be able to drive the current.

use loadworthy_unit::plan::{Bound, Fuse, Melted};
use loadworthy_unit::{Cause, Dimension, InputId, Lanes, Solved};

use super::UNBROKEN;
use crate::check::{Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::steps::toward;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Outcome, Verdict};

/// Holds what nothing but the fuse ends, and the fuse does not, against what melts it, in lanes that are judged together.
pub(super) fn judge(melted: &Melted, lanes: Lanes, solved: &Solved<'_>, out: &mut Verdicts) {
    let fuse = &solved.variant.plan.fuses[melted.fuse];
    let part = solved.variant.plan.conductors[fuse.conductor].part;
    for lane in lanes.ids() {
        // One that does not even break a fault is told of that.
        let (breaks, faults) = (fuse.figures.least_breaking, fuse.figures.lowest_fault);
        if solved
            .figure(breaks, lane)
            .zip(solved.figure(faults, lane))
            .is_some_and(|(breaks, fault)| fault < breaks)
        {
            continue;
        }
        let unbroken = (melted.unbroken, Dimension::Current);
        let compared = compare(solved, lane, unbroken, Limit::Figure(melted.melts), None);
        // What converters draw their control holds back, though nothing says how far; a load draws what it will.
        let outcome = outcome(compared, if melted.is_passive { Grade::Major } else { Grade::Minor });
        let outcome = match (outcome, melted.unstated) {
            // A contactor that does not say when it opens may end it.
            (Outcome::Fails { .. }, Some(input)) => {
                Outcome::NotJudged(vec![Missing::Cause(Cause::Input(input))])
            }
            (outcome, _) => outcome,
        };
        let subject = Subject { part, defect: UNBROKEN, lane: Some(lane), kin: Some(fuse.rated) };
        out.put(solved, subject, outcome, Vec::new());
    }
}

fn melted_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Melted, &'v Fuse)> {
    let plan = &solved.variant.plan;
    let is_it = |melted: &&Melted| plan.conductors[plan.fuses[melted.fuse].conductor].part == worst.part;
    let melted = plan.melted.iter().find(is_it)?;
    Some((melted, &plan.fuses[melted.fuse]))
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let variant = solved.variant;
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let (melted, fuse) = melted_of(worst, solved)?;
    let part = variant.path(worst.part);
    let text = comparison(compared);
    let breaks = value(solved.input(fuse.least_breaking, lane)?, Dimension::Current);
    let saying = format!(
        "`{part}` melts at {} in the end and breaks from {breaks} up: nothing is said to end an overload of up to {} in between",
        text.limit, text.carried
    );
    let mut because = Vec::new();
    let melts = format!("melts at {} in the end", text.limit);
    because.extend(place(solved, fuse.rated, lane, melts));
    because.extend(opener(melted, solved).and_then(|(_, above)| {
        let amps = value(solved.input(above, lane)?, Dimension::Current);
        place(solved, above, lane, format!("opens above {amps}"))
    }));
    let at = place(solved, fuse.least_breaking, lane, format!("breaks from {breaks} up"));
    let no_proposal = opener(melted, solved).is_none().then(|| {
        format!(
            "a contactor in its circuit whose control opens it above no more than {}, or a fuse that breaks whatever melts it; no value of the description expresses either",
            text.limit
        )
    });
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, String::new()));
    Some(Told { because, no_proposal, ..Told::new(saying, at) })
}

/// The contactor of its circuit that opens in an overload, with the current above which it does.
fn opener(melted: &Melted, solved: &Solved<'_>) -> Option<(String, InputId)> {
    melted.own.iter().find_map(|bound| match *bound {
        Bound::Opens { part, above, .. } => Some((solved.variant.path(part).to_owned(), above)),
        _ => None,
    })
}

/// A contactor that opens sooner.
pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let (Some((melted, _)), Some((lane, compared))) =
        (melted_of(worst, solved), worst.lane().zip(worst.comparison()))
    else {
        return Vec::new();
    };
    let sooner = |(name, above)| {
        let now = solved.input(above, lane)?;
        let name = format!("current above which `{name}` opens");
        Some(toward(&name, above, (Dimension::Current, ""), compared.limit / now, solved, lane))
    };
    opener(melted, solved).and_then(sooner).into_iter().collect()
}
