//! What hangs on the description alone, and comes to the same in every duty point, is said once.

use std::collections::HashMap;

use foldhash::fast::FixedState;
use loadworthy_unit::{PartId, Solved};

use crate::check::Check;
use crate::verdict::{Comparison, Fault, Outcome, Verdict, When};

/// How often the same is said of a part.
struct Said {
    first: usize,
    times: usize,
    /// Whether it came to the same each time.
    is_same: bool,
}

/// Draws such verdicts together, where they are equal in all duty points to the last bit, and takes the duty point from what
/// one of them says for the unit. A duty point without a solution says nothing: what it leaves open stays open beside it.
pub(crate) fn said_once(checks: &[&dyn Check], solved: &Solved<'_>, verdicts: &mut Vec<Verdict>) {
    let draws_together = |check: &&dyn Check| {
        let mut defects = check.about().defects.iter();
        defects.any(|(defect, _)| check.is_said_once(defect) || check.is_of_the_unit(defect))
    };
    if !checks.iter().any(draws_together) {
        return;
    }
    let has_solution = |verdict: &Verdict| verdict.lane().is_some_and(|lane| solved.has_solution(lane));
    let duties = with_solution(solved);
    // What is said of which verdict; a map that is looked up and never iterated.
    let mut said: Vec<Said> = Vec::new();
    let mut known: HashMap<(PartId, &'static str, &'static str), usize, FixedState> = HashMap::default();
    let mut own: Option<&dyn Check> = None;
    let mut is_of = vec![None; verdicts.len()];
    for place in 0..verdicts.len() {
        let Verdict { check, part, defect, when, .. } = verdicts[place];
        if own.is_none_or(|own| own.about().name != check) {
            own = checks.iter().copied().find(|own| own.about().name == check);
        }
        let Some(own) = own else { continue };
        if let When::In { lane, .. } = when
            && own.is_of_the_unit(defect)
            && is_judged(&verdicts[place])
        {
            verdicts[place].when = When::Throughout { lane };
        }
        let asked = duties < 2 || verdicts[place].duty().is_none() || !own.is_said_once(defect);
        if asked || !has_solution(&verdicts[place]) {
            continue;
        }
        let of = *known.entry((part, defect, check)).or_insert(said.len());
        is_of[place] = Some(of);
        match said.get_mut(of) {
            None => said.push(Said { first: place, times: 1, is_same: true }),
            Some(said) => {
                said.times += 1;
                said.is_same = said.is_same && is_same(&verdicts[said.first], &verdicts[place]);
            }
        }
    }
    // What is judged where there is no solution says the same or not; it speaks for nobody.
    for place in 0..if duties < solved.variant.duties.len() { verdicts.len() } else { 0 } {
        let Verdict { check, part, defect, .. } = verdicts[place];
        if verdicts[place].lane().is_some_and(|lane| !solved.has_solution(lane))
            && is_judged(&verdicts[place])
            && let Some(&of) = known.get(&(part, defect, check))
            && is_same(&verdicts[said[of].first], &verdicts[place])
        {
            is_of[place] = Some(of);
        }
    }
    let mut places = is_of.into_iter().enumerate();
    verdicts.retain_mut(|verdict| {
        let Some((place, Some(of))) = places.next() else { return true };
        let Said { first, times, is_same } = said[of];
        match verdict.lane().filter(|_| is_same && times == duties) {
            None => true,
            Some(lane) => {
                verdict.when = When::Throughout { lane };
                place == first
            }
        }
    });
}

/// How many duty points have a solution in each of their corners.
fn with_solution(solved: &Solved<'_>) -> usize {
    let mut has = vec![true; solved.variant.duties.len()];
    for lane in solved.variant.lane_ids() {
        if !solved.has_solution(lane) {
            has[solved.variant.lane(lane).duty.index()] = false;
        }
    }
    has.into_iter().filter(|&has| has).count()
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
