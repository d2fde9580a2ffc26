//! Which failures that no size mends are accepted on record.

use jiff::civil::Date;
use loadworthy_unit::Unit;

use super::sized::Spared;
use crate::review::{accepted_on, judged};

/// For each failure that no size mends, as the unit with its sizes is judged: the place of the permit that accepts it on a
/// day, in every corner in which it fails.
#[must_use]
pub fn accepted(unit: &Unit, spared: &[Spared], day: Date) -> Vec<Option<usize>> {
    let review = judged(unit);
    let accepted = accepted_on(unit, &review.verdicts, day);
    let by = |spared: &Spared| {
        let mut by = None;
        for (v, (variant, verdicts)) in unit.variants.iter().zip(&review.verdicts).enumerate() {
            for (place, verdict) in verdicts.iter().enumerate() {
                if verdict.fails() && spared.now.is_of(variant, verdict) {
                    by = Some(*accepted.get(&(v, place))?);
                }
            }
        }
        by
    };
    spared.iter().map(by).collect()
}
