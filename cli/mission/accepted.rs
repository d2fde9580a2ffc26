//! Which failures of a mission are accepted on record.

use jiff::civil::Date;
use loadworthy_checks::mission::Worst;
use loadworthy_checks::review::{accepted_on, asks_at_least};
use loadworthy_checks::verdict::Verdict;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Permit, Unit, Variant};

/// For each of the worst verdicts of a variant the permit that accepts it on a day: in every row in which it fails.
pub(crate) fn accepted<'u>(
    unit: &'u Unit,
    variant: &Variant,
    worst: &[Worst],
    day: Date,
) -> Vec<Option<&'u Permit>> {
    let verdicts = unit.variants.iter().map(|own| match own.name == variant.name {
        true => worst.iter().map(|one| one.verdict.clone()).collect(),
        false => Vec::new(),
    });
    let verdicts: Vec<Vec<Verdict>> = verdicts.collect();
    let mut accepted: Vec<Option<&'u Permit>> = vec![None; worst.len()];
    for ((_, place), permit) in accepted_on(unit, &verdicts, day) {
        let permit = &unit.permits[permit];
        accepted[place] = Some(permit).filter(|permit| covers(permit, variant, &worst[place]));
    }
    accepted
}

/// Whether a permit that accepts the worst row accepts the others as well.
fn covers(permit: &Permit, variant: &Variant, worst: &Worst) -> bool {
    let is_duty = permit
        .duty
        .as_ref()
        .is_none_or(|duty| worst.fails_in.iter().all(|own| variant.duties[own.index()].name == duty.value));
    // A limit may be another in another row: the largest figure must lie within the bound beside the limit of the worst.
    let is_within = match (&permit.up_to, worst.verdict.comparison()) {
        // How little of what is asked a part has is known of the worst row alone, unless it is stated.
        (Some(up_to), Some(compared)) if up_to.share().is_none() && asks_at_least(&worst.verdict) => {
            matches!(compared.limit_from, Some(Operand::Input(_)))
        }
        (Some(up_to), Some(compared)) if up_to.share().is_none() => up_to
            .figure(compared.dimension, compared.limit)
            .is_some_and(|most| worst.most <= most * (1.0 + 1e-9)),
        _ => true,
    };
    is_duty && is_within
}
