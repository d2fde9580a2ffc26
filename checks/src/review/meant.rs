//! What is judged of a unit in which words are taken to be meant for others: only what holds of the unit as it is written holds.
//!
//! The unit as it is meant and the unit as it is written are both judged. What fails of the first is told, and says so where it rests on
//! what is meant. What holds of the first holds where it does of the second as well; else nothing is known of it.

use std::collections::HashMap;

use foldhash::fast::FixedState;
use loadworthy_unit::{Unit, Variant};

use super::withdrawn::withdraw;
use super::{Review, judged};
use crate::remarks::Remark;
use crate::verdict::{Missing, Outcome, Verdict};

/// What a verdict waits for that would hold if a word was meant.
pub(crate) const MEANT: &str = "holds only with the words that the problems say to write";

/// How verdicts of one comparison of one part end in the unit as it is written.
#[derive(Default)]
struct Ends {
    /// In each duty point: its name, and whether all hold and all fail there.
    by_duty: Vec<(Option<String>, bool, bool)>,
}

/// What is compared, of which part, in which variant.
type Key<'u> = (usize, &'static str, &'u str, &'static str, Vec<&'u str>);

/// How the unit is judged as it is written.
pub(super) struct Written<'u> {
    ends: HashMap<Key<'u>, Ends, FixedState>,
}

/// The same of a unit as it is meant; nothing where it stands as it is written.
pub(super) fn written(unit: &Unit) -> Option<Written<'_>> {
    let own = unit.written.as_deref()?;
    let review = judged(own);
    let mut ends: HashMap<Key<'_>, Ends, FixedState> = HashMap::default();
    for (v, (variant, verdicts)) in own.variants.iter().zip(&review.verdicts).enumerate() {
        for verdict in verdicts {
            let ends = ends.entry(key(v, variant, verdict)).or_default();
            let holds = matches!(verdict.outcome, Outcome::Holds(_));
            ends.by_duty.push((duty(variant, verdict).map(str::to_owned), holds, verdict.fails()));
        }
    }
    Some(Written { ends })
}

impl Written<'_> {
    /// Whether verdicts in the same duty point, or whatever is asked, are all of a kind; of none that is not known.
    fn all(&self, v: usize, variant: &Variant, verdict: &Verdict, is: impl Fn(bool, bool) -> bool) -> bool {
        let Some(ends) = self.ends.get(&key(v, variant, verdict)) else { return false };
        let at = duty(variant, verdict);
        let is_there = |own: Option<&str>| at.is_none() || own.is_none() || own == at;
        let mut there = ends.by_duty.iter().filter(|(own, ..)| is_there(own.as_deref())).peekable();
        there.peek().is_some() && there.all(|&(_, holds, fails)| is(holds, fails))
    }

    /// Says of what fails as words are meant, and not as they are written, that it rests on that.
    pub(super) fn remark(&self, unit: &Unit, verdicts: &mut [Vec<Verdict>]) {
        for (v, (variant, verdicts)) in unit.variants.iter().zip(verdicts).enumerate() {
            for verdict in verdicts.iter_mut().filter(|verdict| verdict.fails()) {
                if !self.all(v, variant, verdict, |_, fails| fails) {
                    verdict.remarks.push(Remark::Meant);
                }
            }
        }
    }

    /// Takes back what holds as words are meant, and is not known to hold as they are written.
    pub(super) fn take_back(&self, unit: &Unit, review: &mut Review) {
        withdraw(unit, review, (Missing::Meant, MEANT, None), |v, variant, verdict| {
            !self.all(v, variant, verdict, |holds, _| holds)
        });
    }
}

fn key<'u>(v: usize, variant: &'u Variant, verdict: &Verdict) -> Key<'u> {
    let names = verdict.names.as_deref().map_or(&[][..], Vec::as_slice);
    let names = names.iter().map(|&part| variant.path(part)).collect();
    (v, verdict.check, variant.path(verdict.part), verdict.defect, names)
}

fn duty<'u>(variant: &'u Variant, verdict: &Verdict) -> Option<&'u str> {
    verdict.duty().map(|duty| variant.duties[duty.index()].name.as_str())
}
