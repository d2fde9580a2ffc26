//! Cautions that belong to what a review judged. They stand wherever it was judged, whether or not it holds.

use std::collections::BTreeSet;

use loadworthy_checks::Review;

/// A caution, and the checks (or what their names begin with) that it belongs to.
const CAUTIONS: &[(&[&str], &str)] = &[
    (&["stored-energy"], "Discharge times take a sound path for granted: measure before anybody touches."),
    (
        &["barrier-", "leakage-paths"],
        "Insulation is read from what is declared: layout, make and test decide.",
    ),
    (&["fuse-coordination"], "What a battery feeds into a fault no converter limits; DC arcs burn on."),
    (&["back-emf", "loss-of-load"], "A machine that turns feeds its bus with every switch off."),
];

/// The cautions that belong to a review.
pub(crate) fn of(review: &Review) -> Vec<&'static str> {
    let judged: BTreeSet<&str> = review.verdicts.iter().flatten().map(|verdict| verdict.check).collect();
    let belongs =
        |names: &[&str]| names.iter().any(|name| judged.iter().any(|check| check.starts_with(name)));
    CAUTIONS.iter().filter(|(names, _)| belongs(names)).map(|(_, caution)| *caution).collect()
}

#[cfg(test)]
mod tests {
    use super::CAUTIONS;
    use crate::show::layout::{WIDTH, width};

    #[test]
    fn each_is_a_line() {
        assert!(CAUTIONS.iter().all(|(_, caution)| width(caution) <= WIDTH));
    }
}
