//! A check may judge all variants of a unit together; what it says of a change is asked beside the others.

use loadworthy_checks::About;
use loadworthy_checks::collect::{Subject, structural};
use loadworthy_checks::verdict::Grade;
use loadworthy_unit::Solved;

use crate::descriptions::{changed, failing, finding};
use crate::stand_ins::{StandIn, Together, about, listed, reviewed_with};

const APART: &str = "apart";
static ABOUT: About =
    about("alike", "Is no variant changed alone?", &[(APART, "one variant is changed alone")]);

/// Fails in a variant that is as described while the other one is changed.
static ALIKE: Together = Together {
    rest: StandIn::idle(&ABOUT),
    judge_unit: |all, out| {
        assert_eq!((all.len(), out.len()), (2, 2), "every variant is there");
        let changed = all.iter().filter(|solved| !solved.edits().is_empty()).count();
        for (solved, out) in all.iter().zip(out) {
            let part = solved.variant.plan.stages[0].part;
            let subject = Subject { part, defect: APART, lane: None, kin: None };
            let in_order = changed != 1 || !solved.edits().is_empty();
            out.put(solved, subject, structural(Ok(in_order), Grade::Major), Vec::new());
        }
    },
};

/// The failing example of the check on reach, with two variants, the second of which has a modulation of its own or not.
fn two_variants(second: &str) -> String {
    let variants = format!("variants:\n  plain: {{}}\n  second: {second}\n\npolicy:\n");
    changed(failing("output-reach"), "policy:\n", &variants)
}

fn said(text: &str) -> Vec<String> {
    let review = reviewed_with(&[&ALIKE, listed("output-reach")], text);
    assert_eq!(review.broken_checks, []);
    finding(&review, "beyond-linear").proposals.iter().map(|held| held.say.clone()).collect()
}

#[test]
fn a_change_is_judged_with_every_variant_that_it_reaches() {
    let shared = "{ stages: { wheel_bridge: { dead_time: 2 us } } }";
    assert_eq!(
        said(&two_variants(shared)),
        ["modulation: sinusoidal -> space_vector", "link: 300 V -> 312 V"]
    );
}

#[test]
fn a_change_that_harms_the_unit_as_a_whole_is_not_proposed() {
    // The modulation of the second variant is its own, and a change of the first alone sets them apart.
    let own = "{ stages: { wheel_bridge: { modulation: space_vector } } }";
    assert_eq!(said(&two_variants(own)), ["link: 300 V -> 312 V"]);
}

fn breaks_over_the_second(solved: &Solved<'_>) {
    assert!(solved.variant.name.as_deref() != Some("second"), "not this one");
}

#[test]
fn a_check_that_breaks_down_over_one_variant_judges_the_others() {
    static PICKY_ABOUT: About = about("picky", "Is this the first variant?", &[]);
    static PICKY: StandIn = StandIn {
        judge: |solved, out| {
            breaks_over_the_second(solved);
            listed("output-reach").judge(solved, out);
        },
        tell: |failure, solved| listed("output-reach").tell(failure, solved),
        ..StandIn::idle(&PICKY_ABOUT)
    };
    let variants = "variants:\n  second: {}\n  third: {}\n\npolicy:\n";
    let review = reviewed_with(&[&PICKY], &changed(failing("output-reach"), "policy:\n", variants));
    assert_eq!((review.verdicts[0].len(), review.verdicts[1].len()), (0, 1));
    let broken: Vec<_> =
        review.broken_checks.iter().map(|one| (one.check, one.variant_name.as_deref())).collect();
    assert_eq!(broken, [("picky", Some("second"))]);
}

#[test]
fn a_check_that_breaks_down_over_the_unit_names_no_variant() {
    static LOST_ABOUT: About = about("lost", "Where is this?", &[]);
    static LOST: Together =
        Together { rest: StandIn::idle(&LOST_ABOUT), judge_unit: |_, _| panic!("nowhere") };
    let review = reviewed_with(&[&LOST, listed("output-reach")], &two_variants("{}"));
    let broken: Vec<_> = review.broken_checks.iter().map(|one| (one.check, one.said.as_str())).collect();
    assert_eq!(broken, [("lost", "nowhere")]);
    assert_eq!(review.broken_checks[0].variant_name, None);
    // Its verdicts over a change are missing, so nothing is known to hold.
    let one = finding(&review, "beyond-linear");
    assert!(one.proposals.is_empty());
    assert!(one.no_proposal.as_deref().is_some_and(|why| why.contains("a check broke down")), "{one:?}");
}

#[test]
fn what_breaks_down_over_another_variant_leaves_a_change_of_one_alone() {
    static PICKY_ABOUT: About = about("picky", "Is this the first variant?", &[]);
    static PICKY: StandIn =
        StandIn { judge: |solved, _| breaks_over_the_second(solved), ..StandIn::idle(&PICKY_ABOUT) };
    // The modulation of the second variant is its own; its bus voltage is not.
    let own = "{ stages: { wheel_bridge: { modulation: space_vector } } }";
    let review = reviewed_with(&[&PICKY, listed("output-reach")], &two_variants(own));
    let one = finding(&review, "beyond-linear");
    let say: Vec<_> = one.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(say, ["modulation: sinusoidal -> space_vector"]);
}
