//! Where a failure lies to the figure up to which a permit accepts it.
//!
//! A share of the limit bounds both sides of a comparison. A figure bounds one: what is carried, and where that is only what is
//! asked, such as a distance, what the part has. That one is in the hands of whoever asks for the permit. What compares no figure
//! and says of which kind a barrier is, is bounded by that kind.

use loadworthy_physics::insulation::protection::{Barrier, Insulation};
use loadworthy_unit::{Dimension, Permit};

use crate::list::by_name;
use crate::verdict::{Comparison, EQUAL_KELVINS, EQUAL_WITHIN, Fault, Outcome, Verdict};

/// Where a failure lies to the bound of a permit.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Within {
    Bound,
    Beyond,
    Unfit,
}

pub(super) fn within(permit: &Permit, verdict: &Verdict) -> Within {
    if let Some(least) = &permit.kind {
        // What protects as much is as good: a supplementary layer as a basic one, a reinforced one as a double.
        return match verdict.kind.map(means) {
            None => Within::Unfit,
            Some(found) if found >= means(least.value) => Within::Bound,
            Some(_) => Within::Beyond,
        };
    }
    let Some(up_to) = &permit.up_to else { return Within::Bound };
    let most = |most: Option<f64>, carried: f64, dimension: Dimension| match most {
        None => Within::Unfit,
        Some(most) if carried <= most + equal_within(most, dimension) => Within::Bound,
        Some(_) => Within::Beyond,
    };
    match verdict.outcome {
        Outcome::Fails { fault: Fault::Exceeds(compared), .. } => {
            let Comparison { carried_value, limit, dimension, .. } = compared;
            let bound = up_to.figure(dimension, limit);
            match bound.filter(|_| up_to.share().is_none() && asks_at_least(verdict)) {
                // Nothing at all bounds nothing: whatever the part has is more.
                Some(least) if least <= 0.0 => Within::Unfit,
                Some(least) => most(Some(limit), least, dimension),
                None => most(bound, carried_value, dimension),
            }
        }
        // What has no solution is asked a share of what has one.
        Outcome::Fails { fault: Fault::Unsolved { largest_share }, .. } => {
            most(up_to.share(), 1.0 / largest_share, Dimension::Ratio)
        }
        Outcome::Fails { fault: Fault::Structural, .. } | Outcome::Holds(_) | Outcome::NotJudged(_) => {
            Within::Unfit
        }
    }
}

fn means(kind: Insulation) -> u8 {
    Barrier::Insulation(kind).means()
}

/// Whether the figure of a verdict is what is asked of a part, and its limit what the part has.
#[must_use]
pub fn asks_at_least(verdict: &Verdict) -> bool {
    by_name(verdict.check).is_some_and(|check| check.asks_at_least(verdict.defect))
}

/// How far apart two figures count as equal: of their size, since a picofarad and a megohm are both written in units of their own.
fn equal_within(figure: f64, dimension: Dimension) -> f64 {
    if dimension == Dimension::Temperature { EQUAL_KELVINS } else { EQUAL_WITHIN * figure.abs() }
}
