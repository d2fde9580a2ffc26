//! A check that breaks down is told, takes no other with it, and makes no change pass.

use loadworthy_checks::About;
use loadworthy_checks::Review;
use loadworthy_checks::verdict::Verdict;

use crate::descriptions::{changed, failing, finding, holding};
use crate::stand_ins::{StandIn, about, listed, reviewed_with};

/// Judges nothing, and breaks down as soon as a value is changed.
static FAINT: StandIn = StandIn {
    judge: |solved, _| assert!(solved.edits().is_empty(), "something is changed"),
    ..StandIn::idle(&FAINT_ABOUT)
};
static FAINT_ABOUT: About = about("faint", "Is nothing changed?", &[]);

/// The check on currents, without words for what it finds and silent about what is changed.
static MUTE: StandIn = StandIn {
    judge: |solved, out| {
        if solved.edits().is_empty() {
            listed("current-headroom").judge(solved, out);
        }
    },
    propose: |failure, solved| listed("current-headroom").propose(failure, solved),
    ..StandIn::idle(&MUTE_ABOUT)
};
static MUTE_ABOUT: About = about(
    "mute",
    "Does each chip carry no more current than it may?",
    &[("repetitive-peak", "the crest is too high")],
);

/// Breaks down at once.
static BREAKS: StandIn =
    StandIn { judge: |_, _| panic!("no word of this is lost"), ..StandIn::idle(&BREAKS_ABOUT) };
static BREAKS_ABOUT: About = about("breaks", "Does a check that breaks down go unnoticed?", &[]);

/// Judges as another check does, and breaks down when it is asked for words or changes.
static SPEECHLESS: StandIn = StandIn {
    judge: |solved, out| listed("output-reach").judge(solved, out),
    tell: |_, _| panic!("no words"),
    propose: |_, _| panic!("no changes"),
    ..StandIn::idle(&SPEECHLESS_ABOUT)
};
static SPEECHLESS_ABOUT: About =
    about("speechless", "Is a failure lost where nothing can be said of it?", &[]);

#[test]
fn what_breaks_a_check_is_not_proposed() {
    let check = listed("junction-temperature");
    let text = failing("junction-temperature");
    assert!(!reviewed_with(&[check], text).findings[0].proposals.is_empty());
    let review = reviewed_with(&[check, &FAINT], text);
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
    let review = reviewed_with(&[&MUTE], text);
    assert!(review.verdicts[0].iter().any(Verdict::fails));
    for finding in &review.findings {
        assert_eq!(finding.proposals, [], "{finding:?}");
    }
}

#[test]
fn a_failure_without_words_is_a_broken_check_and_still_says_something() {
    let review = reviewed_with(&[&MUTE], failing("current-headroom"));
    let finding = finding(&review, "repetitive-peak");
    assert!(finding.saying.ends_with("the crest is too high"), "{}", finding.saying);
    assert!(review.broken_checks.iter().any(|one| one.said == "no words for `repetitive-peak`"));
}

#[test]
fn a_default_over_which_a_check_breaks_down_counts_as_not_tried() {
    let text = changed(holding("output-reach"), "    dead_time: 2 us\n", "");
    let check = listed("output-reach");
    let tried = |review: &Review| {
        let found = review.assumed.iter().find(|one| one.id == "dead-time-igbt").expect("a default");
        assert!(found.decides.is_empty(), "{found:?}");
        found.tried
    };
    assert!(tried(&reviewed_with(&[check], &text)));
    assert!(!tried(&reviewed_with(&[check, &FAINT], &text)));
}

#[test]
fn a_failure_is_shown_even_where_its_check_breaks_down_over_the_words() {
    let review = reviewed_with(&[&SPEECHLESS], failing("output-reach"));
    assert_eq!(review.findings.len(), 1);
    assert!(review.findings[0].comparison.is_some());
    let said: Vec<_> = review.broken_checks.iter().map(|broken| broken.said.as_str()).collect();
    assert_eq!(said, ["no changes", "no words"]);
}

#[test]
fn a_check_that_breaks_down_is_told_and_takes_no_other_with_it() {
    let review = reviewed_with(&[&BREAKS, listed("output-reach")], failing("output-reach"));
    assert_eq!(review.broken_checks.len(), 1);
    assert_eq!(review.broken_checks[0].check, "breaks");
    assert_eq!(review.broken_checks[0].said, "no word of this is lost");
    assert_eq!(review.findings.len(), 1);
}
