//! A check that breaks down over a change must not make the change pass.

use loadworthy_checks::check::{About, Check, Failure, Family, Told};
use loadworthy_checks::list::by_name;
use loadworthy_checks::review::review_with;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_checks::{Review, Verdicts};
use loadworthy_unit::Solved;

use crate::descriptions::{changed, failing, holding, unit};

/// Judges nothing, and breaks down as soon as a value is changed.
struct Faint;

static FAINT: About = About {
    name: "faint",
    former_names: &[],
    question: "Is nothing changed?",
    page: "",
    fails: "",
    holds: "",
    defects: &[],
    policy: &[],
    since: 2026,
};

impl Check for Faint {
    fn about(&self) -> &'static About {
        &FAINT
    }

    fn judge(&self, solved: &Solved<'_>, _: &mut Verdicts) {
        assert!(solved.edits.is_empty(), "something is changed");
    }

    fn tell(&self, _: &Failure<'_>, _: &Solved<'_>) -> Option<Told> {
        None
    }

    fn propose(&self, _: &Failure<'_>, _: &Solved<'_>) -> Vec<Family> {
        Vec::new()
    }
}

/// The check on currents, without words for what it finds and silent about what is changed.
struct Mute;

static MUTE: About = About {
    name: "mute",
    former_names: &[],
    question: "Does each chip carry no more current than it may?",
    page: "",
    fails: "",
    holds: "",
    defects: &[("repetitive-peak", "the crest is too high")],
    policy: &[],
    since: 2026,
};

fn currents() -> &'static dyn Check {
    by_name("current-headroom").expect("a check")
}

impl Check for Mute {
    fn about(&self) -> &'static About {
        &MUTE
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        if solved.edits.is_empty() {
            currents().judge(solved, out);
        }
    }

    fn tell(&self, _: &Failure<'_>, _: &Solved<'_>) -> Option<Told> {
        None
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        currents().propose(failure, solved)
    }
}

fn reviewed_with(checks: &[&'static dyn Check], text: &str) -> Review {
    review_with(checks, &unit(text))
}

#[test]
fn what_breaks_a_check_is_not_proposed() {
    let check = by_name("junction-temperature").expect("a check");
    let text = failing("junction-temperature");
    assert!(!reviewed_with(&[check], text).findings[0].proposals.is_empty());
    let review = reviewed_with(&[check, &Faint], text);
    assert!(!review.findings.is_empty());
    for finding in &review.findings {
        assert_eq!(finding.proposals, [], "{finding:?}");
        let why = finding.no_proposal.as_deref().expect("a reason");
        assert!(why.contains("a check broke down"), "{why}");
    }
    let broken: Vec<_> = review.broken_checks.iter().map(|one| (one.check, one.said.as_str())).collect();
    assert_eq!(broken, [("faint", "something is changed")]);
}

#[test]
fn what_a_check_no_longer_speaks_of_is_not_cured() {
    let text = failing("current-headroom");
    let review = reviewed_with(&[&Mute], text);
    let fails = |verdict: &Verdict| matches!(verdict.outcome, Outcome::Fails { .. });
    assert!(review.verdicts[0].iter().any(fails));
    for finding in &review.findings {
        assert_eq!(finding.proposals, [], "{finding:?}");
    }
}

#[test]
fn a_failure_without_words_is_a_broken_check_and_still_says_something() {
    let review = reviewed_with(&[&Mute], failing("current-headroom"));
    let finding = review.findings.iter().find(|one| one.defect == "repetitive-peak").expect("a finding");
    assert!(finding.saying.ends_with("the crest is too high"), "{}", finding.saying);
    assert!(review.broken_checks.iter().any(|one| one.said == "no words for `repetitive-peak`"));
}

#[test]
fn a_default_over_which_a_check_breaks_down_counts_as_not_tried() {
    let text = changed(holding("output-reach"), "    dead_time: 2 us\n", "");
    let check = by_name("output-reach").expect("a check");
    let tried = |review: &Review| {
        let found = review.assumed.iter().find(|one| one.id == "dead-time-igbt").expect("a default");
        assert!(found.decides.is_empty(), "{found:?}");
        found.tried
    };
    assert!(tried(&reviewed_with(&[check], &text)));
    assert!(!tried(&reviewed_with(&[check, &Faint], &text)));
}
