//! Findings by their number on the page: the same number stands in the list, in the drawings and in the tables.

use std::collections::BTreeMap;

use loadworthy_checks::Review;
use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::Verdict;
use loadworthy_unit::Variant;

/// A finding as it is numbered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Number(pub(crate) usize);

/// Which finding speaks for a failure.
pub(crate) struct Numbers<'r> {
    by: BTreeMap<Failing<'r>, Vec<(Number, &'r str)>>,
}

/// Check, defect and entry; findings of them each with the part that it names.
type Failing<'r> = (&'r str, &'r str, &'r str);

/// The entry of the description that a part belongs to, by its path.
pub(crate) fn entry_of(path: &str) -> &str {
    path.split('.').next().unwrap_or(path)
}

/// All findings in the order of their numbers: those that count first, then those that a permit accepts.
pub(crate) fn numbered(review: &Review) -> impl Iterator<Item = (Number, &Finding)> {
    let all = review.findings.iter().chain(&review.accepted);
    all.enumerate().map(|(place, finding)| (Number(place + 1), finding))
}

impl<'r> Numbers<'r> {
    pub(crate) fn of(review: &'r Review) -> Self {
        let mut by: BTreeMap<Failing<'r>, Vec<_>> = BTreeMap::new();
        for (number, finding) in numbered(review) {
            let key = (finding.check, finding.defect, entry_of(&finding.part));
            by.entry(key).or_default().push((number, finding.part.as_str()));
        }
        Self { by }
    }

    /// The number of the finding that a failure belongs to: the one that names the part, otherwise the first of its entry.
    pub(crate) fn number(&self, variant: &Variant, verdict: &Verdict) -> Option<Number> {
        if !verdict.fails() {
            return None;
        }
        let path = variant.path(verdict.part);
        let known = self.by.get(&(verdict.check, verdict.defect, entry_of(path)))?;
        let named = known.iter().find(|(_, part)| *part == path);
        named.or_else(|| known.first()).map(|(number, _)| *number)
    }
}
