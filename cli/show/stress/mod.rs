//! What every part carries of what it may, from the verdicts of a review; no figure is reckoned here.

pub(crate) mod csv;
pub(crate) mod legs;
pub(crate) mod rows;
pub(crate) mod terminal;
mod waiting;

use std::collections::BTreeMap;

use loadworthy_checks::Review;
use loadworthy_checks::review::BrokenCheck;
use loadworthy_checks::verdict::{Grade, Outcome, Verdict};
use loadworthy_unit::{Permit, Unit, Variant};

use crate::permits::{Accepted, Day};

/// Headroom within this share is alike.
const ALIKE: f64 = 1e-9;

/// The verdicts that were asked for, and which of them speak for a part.
pub(crate) struct Stresses<'u> {
    /// Every verdict that was asked for, with its variant and the permit that accepts it.
    pub(crate) verdicts: Vec<(&'u Variant, &'u Verdict, Option<&'u Permit>)>,
    /// For each comparison of each part the worst, worst first.
    pub(crate) worst: Vec<Stress<'u>>,
    /// What could not be judged.
    pub(crate) not_judged: Vec<(&'u Variant, &'u Verdict)>,
    /// Checks that broke down.
    pub(crate) broken: &'u [BrokenCheck],
    /// The day that permits were held against; none without permits.
    pub(crate) day: Option<Day>,
}

/// One comparison of one part where it is worst.
pub(crate) struct Stress<'u> {
    pub(crate) variant: &'u Variant,
    pub(crate) verdict: &'u Verdict,
    /// Variants in which it is as bad in the same duty point, this one among them; empty where variants have no names.
    pub(crate) variants: Vec<&'u str>,
    /// When it happened, in a mission.
    pub(crate) moment: Option<Moment>,
    /// The permit that accepts it.
    pub(crate) permit: Option<&'u Permit>,
}

/// A row of a mission.
#[derive(Clone, Copy)]
pub(crate) struct Moment {
    /// From 0.
    pub(crate) row: usize,
    /// When it begins, in s.
    pub(crate) begins: f64,
    /// How long the comparison fails over the whole mission, in s.
    pub(crate) fails_for: f64,
}

impl<'u> Stresses<'u> {
    /// What was asked for of a reviewed unit. The structure is judged whatever is asked, and stays.
    pub(crate) fn of(
        unit: &'u Unit,
        review: &'u Review,
        variants: &[usize],
        duty: Option<&str>,
        accepted: &Accepted<'u>,
    ) -> Self {
        let mut verdicts = Vec::new();
        for &v in variants {
            let (Some(variant), Some(own)) = (unit.variants.get(v), review.verdicts.get(v)) else {
                continue;
            };
            let is_asked = |verdict: &Verdict| {
                duty.is_none_or(|asked| duty_of(variant, verdict).is_none_or(|own| own == asked))
            };
            let asked = own.iter().enumerate().filter(|(_, verdict)| is_asked(verdict));
            verdicts.extend(asked.map(|(place, verdict)| (variant, verdict, accepted.by(v, place))));
        }
        let not_judged = verdicts.iter().filter(|(_, verdict, _)| is_not_judged(verdict));
        let not_judged = not_judged.map(|&(variant, verdict, _)| (variant, verdict)).collect();
        let (broken, day) = (review.broken_checks.as_slice(), accepted.day);
        Self { worst: worst(&verdicts), verdicts, not_judged, broken, day }
    }

    /// Whether something was judged in a duty point, and everything that was asked for was.
    pub(crate) fn are_complete(&self) -> bool {
        let judges = self.verdicts.iter().any(|(_, verdict, _)| verdict.duty().is_some());
        judges && self.not_judged.is_empty() && self.broken.is_empty()
    }
}

/// The name of the duty point of a verdict, where it is about one.
pub(crate) fn duty_of<'u>(variant: &'u Variant, verdict: &Verdict) -> Option<&'u str> {
    verdict.duty().and_then(|duty| variant.duties.get(duty.index())).map(|duty| duty.name.as_str())
}

fn is_not_judged(verdict: &Verdict) -> bool {
    matches!(verdict.outcome, Outcome::NotJudged(_))
}

/// Whether a verdict says how much is carried, or that something fails.
fn speaks(verdict: &Verdict) -> bool {
    verdict.fails() || verdict.comparison().is_some()
}

/// For each comparison of each part the worst verdict: what fails first, the gravest before the rest, then what fails and is
/// accepted, then the least headroom, then as it came.
fn worst<'u>(verdicts: &[(&'u Variant, &'u Verdict, Option<&'u Permit>)]) -> Vec<Stress<'u>> {
    let mut places: BTreeMap<(&str, &str, &str), usize> = BTreeMap::new();
    let mut worst: Vec<Stress<'u>> = Vec::new();
    for &(variant, verdict, permit) in verdicts.iter().filter(|(_, verdict, _)| speaks(verdict)) {
        let key = (variant.path(verdict.part), verdict.check, verdict.defect);
        let variants = variant.name.as_deref().into_iter().collect();
        let own = Stress { variant, verdict, variants, moment: None, permit };
        let Some(&place) = places.get(&key) else {
            places.insert(key, worst.len());
            worst.push(own);
            continue;
        };
        let known = &mut worst[place];
        let (here, there) = (order(&own), order(known));
        let is_alike = here.0 == there.0 && (here.1 - there.1).abs() <= ALIKE * there.1.abs().max(ALIKE);
        if is_alike {
            if duty_of(variant, verdict) == duty_of(known.variant, known.verdict) {
                known.variants.extend(own.variants);
            }
        } else if here < there {
            *known = own;
        }
    }
    worst.sort_by(|one, other| {
        let (a, b) = (order(one), order(other));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    worst
}

/// What fails stands first by its grade, then what is accepted, then what holds; within each counts the headroom.
fn order(stress: &Stress<'_>) -> (u8, f64) {
    const ACCEPTED: u8 = Grade::Note as u8 + 1;
    let class = match (&stress.verdict.outcome, stress.permit) {
        (Outcome::Fails { grade, .. }, None) => *grade as u8,
        (Outcome::Fails { .. }, Some(_)) => ACCEPTED,
        (Outcome::Holds(_) | Outcome::NotJudged(_), _) => ACCEPTED + 1,
    };
    (class, stress.verdict.rank())
}
