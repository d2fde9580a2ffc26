//! What hangs on the description alone, and comes to the same in every duty point, is said once.

use std::collections::BTreeMap;

use loadworthy_unit::{PartId, Variant};

use crate::check::Check;
use crate::verdict::{Comparison, Fault, Outcome, Verdict, When};

/// Draws such verdicts together, where they are equal in all duty points to the last bit, and takes the duty point from what
/// one of them says for the unit.
pub(crate) fn said_once(checks: &[&dyn Check], variant: &Variant, verdicts: &mut Vec<Verdict>) {
    let draws_together = |check: &&dyn Check| {
        let mut defects = check.about().defects.iter();
        defects.any(|(defect, _)| check.is_said_once(defect) || check.is_of_the_unit(defect))
    };
    if !checks.iter().any(draws_together) {
        return;
    }
    let duties = variant.duties.len();
    let is_said_once = |verdict: &Verdict| {
        let own = checks.iter().find(|check| check.about().name == verdict.check);
        own.is_some_and(|check| check.is_said_once(verdict.defect))
    };
    for verdict in verdicts.iter_mut().filter(|verdict| is_judged(verdict)) {
        let own = checks.iter().find(|check| check.about().name == verdict.check);
        if let (When::In { lane, .. }, true) =
            (verdict.when, own.is_some_and(|check| check.is_of_the_unit(verdict.defect)))
        {
            verdict.when = When::Throughout { lane };
        }
    }
    if duties < 2 {
        return;
    }
    let mut places: BTreeMap<(&str, PartId, &str), Vec<usize>> = BTreeMap::new();
    for (place, verdict) in verdicts.iter().enumerate() {
        if verdict.duty().is_some() && is_said_once(verdict) {
            places.entry((verdict.check, verdict.part, verdict.defect)).or_default().push(place);
        }
    }
    let mut is_repeated = vec![false; verdicts.len()];
    for own in places.values().filter(|own| own.len() == duties) {
        let first = own[0];
        if own.iter().all(|&place| is_same(&verdicts[first], &verdicts[place]))
            && let Some(lane) = verdicts[first].lane()
        {
            verdicts[first].when = When::Throughout { lane };
            own.iter().skip(1).for_each(|&place| is_repeated[place] = true);
        }
    }
    let mut repeated = is_repeated.into_iter();
    verdicts.retain(|_| !repeated.next().unwrap_or(false));
}

/// What is not judged waits for something in the duty point that it was asked in.
const fn is_judged(verdict: &Verdict) -> bool {
    !matches!(verdict.outcome, Outcome::NotJudged(_))
}

/// Whether two verdicts on one part say the same with the same figures; what is not judged may wait for different things.
fn is_same(one: &Verdict, other: &Verdict) -> bool {
    let bits =
        |compared: &Comparison| [compared.carried_value, compared.limit, compared.allowed].map(f64::to_bits);
    let compared = match (&one.outcome, &other.outcome) {
        (Outcome::Holds(a), Outcome::Holds(b)) => (a.as_ref(), b.as_ref()),
        (
            Outcome::Fails { fault: Fault::Exceeds(a), grade },
            Outcome::Fails { fault: Fault::Exceeds(b), grade: also },
        ) if grade == also => (Some(a), Some(b)),
        _ => return false,
    };
    compared.0.map(bits) == compared.1.map(bits) && one.remarks == other.remarks && one.kin == other.kin
}
