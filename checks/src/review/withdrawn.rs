//! Verdicts that hold of what was read, and are not known to hold of what was meant.

use loadworthy_unit::{NodeId, Unit, Variant};

use super::{NotJudged, Review};
use crate::verdict::{Missing, Outcome, Verdict};

/// What a verdict waits for in a variant of which is not known what it changes.
pub(crate) const CHANGE: &str = "what the variant changes could not be read";

/// Takes back what holds and waits for something: `waits` says so by the place of the variant and the verdict.
pub(super) fn withdraw(
    unit: &Unit,
    review: &mut Review,
    (missing, said, near): (Missing, &str, Option<NodeId>),
    waits: impl Fn(usize, &Variant, &Verdict) -> bool,
) {
    let mut waiting = NotJudged {
        missing: said.to_owned(),
        paths: Vec::new(),
        near,
        checks: Vec::new(),
        parts: Vec::new(),
        verdicts: 0,
        duties: Vec::new(),
        variants: Vec::new(),
    };
    for (v, (variant, verdicts)) in unit.variants.iter().zip(&mut review.verdicts).enumerate() {
        for verdict in verdicts {
            if matches!(verdict.outcome, Outcome::Holds(_)) && waits(v, variant, verdict) {
                verdict.outcome = Outcome::NotJudged(vec![missing]);
                waiting.count(variant, verdict);
            }
        }
    }
    review.counts.hold -= waiting.verdicts;
    review.counts.not_judged += waiting.verdicts;
    if waiting.verdicts > 0 {
        review.not_judged.push(waiting);
    }
}

/// Takes back what holds of variants that say something of which is not known what it changes.
pub(super) fn of_doubtful_variants(unit: &Unit, review: &mut Review) {
    let doubts = unit.variants.iter().filter_map(|variant| variant.doubt);
    if let Some(first) = doubts.min() {
        withdraw(unit, review, (Missing::Change, CHANGE, Some(first)), |_, variant, _| {
            variant.doubt.is_some()
        });
    }
}
