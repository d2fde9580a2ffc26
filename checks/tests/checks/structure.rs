//! Verdicts on the structure: without a duty point, without a figure, and with changes that no value expresses.

use loadworthy_checks::check::{Change, Failure, Family, Proof, Proposal, Told};
use loadworthy_checks::collect::{Subject, structural};
use loadworthy_checks::review::{Counts, Held, JudgedBy, Place};
use loadworthy_checks::verdict::{Fault, Grade, Missing, Outcome, When};
use loadworthy_checks::{About, Review, Verdicts};
use loadworthy_unit::plan::Bridge;
use loadworthy_unit::solver::bridge::modulation_code;
use loadworthy_unit::{Cause, Edit, Solved};

use crate::descriptions::{changed, failing, finding, holding};
use crate::stand_ins::{StandIn, about, listed, reviewed_with};

const TWO_POTENTIALS: &str = "two-potentials";
const DEFECTS: &[(&str, &str)] = &[(TWO_POTENTIALS, "a part stands on two potentials")];
static ABOUT: About = about("joined", "Does each bridge stand on one potential?", DEFECTS);

/// The only bridge.
fn bridge_of<'v>(solved: &Solved<'v>) -> &'v Bridge {
    solved.variant.plan.stages[0].bridge().expect("a bridge")
}

/// A bridge that is in order as soon as its modulation is another one.
fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    for stage in &solved.variant.plan.stages {
        let Some(bridge) = stage.bridge() else { continue };
        let in_order = solved.edits().iter().any(|edit| edit.input == bridge.inputs.modulation);
        let subject = Subject { part: stage.part, defect: TWO_POTENTIALS, lane: None, kin: None };
        out.put(solved, subject, structural(Ok(in_order), Grade::Major), Vec::new());
    }
}

fn tell(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let part = solved.variant.path(failure.worst.part);
    let at = Place {
        node: solved.variant.tables.part_of(failure.worst.part).at,
        label: "joined twice here".to_owned(),
    };
    let facts = vec![format!("2 potentials: {part}.u, .v")];
    let worked = vec!["u is joined to low_side.u".to_owned(), "v is joined to low_side.v".to_owned()];
    Some(Told { facts, worked, ..Told::new(format!("`{part}` stands on two potentials"), at) })
}

fn family(ladder: Vec<Proposal>) -> Family {
    Family { tried: "what a test tries".to_owned(), ladder }
}

fn reviewed_change(leaves: &str) -> Proposal {
    let change = Change::Reviewed {
        proof: Proof::ExactRule,
        leaves: leaves.to_owned(),
        side_effects: vec!["one more supply".to_owned()],
    };
    Proposal { say: "add a supply".to_owned(), change }
}

static JOINED: StandIn = StandIn { judge, tell, ..StandIn::idle(&ABOUT) };

/// Proposes no change at all, then one that no value expresses and of which it does not know what it leaves, then one
/// that it judged itself.
static REVIEWING: StandIn = StandIn {
    propose: |_, _| {
        let nothing = Proposal { say: "nothing".to_owned(), change: Change::Edit(Vec::new()) };
        vec![
            family(vec![nothing, reviewed_change("  ")]),
            family(vec![reviewed_change("one potential for each")]),
        ]
    },
    ..JOINED
};

/// Proposes what a value expresses.
static EDITING: StandIn = StandIn {
    propose: |_, solved| {
        let input = bridge_of(solved).inputs.modulation;
        let value = modulation_code(loadworthy_physics::Modulation::SpaceVector);
        let change = Change::Edit(vec![(Edit { input, value }, "space_vector".to_owned())]);
        vec![family(vec![Proposal { say: "modulation: -> space_vector".to_owned(), change }])]
    },
    ..JOINED
};

/// Waits for a reference that is no number and for a number that is not stated.
static WAITING: StandIn = StandIn {
    judge: |solved, out| {
        let stage = &solved.variant.plan.stages[0];
        let subject = Subject { part: stage.part, defect: TWO_POTENTIALS, lane: None, kin: None };
        let missing = vec![
            Missing::Key { of: stage.part, key: "gate_supply" },
            Missing::Cause(Cause::Input(stage.dead_time)),
        ];
        out.put(solved, subject, structural(Err(missing), Grade::Major), Vec::new());
    },
    ..JOINED
};

/// A description without its duty points.
fn idle(text: &str) -> String {
    let duty = text.find("duty:\n").expect("duty points");
    text[..duty].to_owned()
}

fn only(review: &Review) -> &Held {
    let proposals = &finding(review, TWO_POTENTIALS).proposals;
    assert_eq!(proposals.len(), 1, "{proposals:?}");
    &proposals[0]
}

#[test]
fn a_structure_fails_without_any_duty_point() {
    let review = reviewed_with(&[&JOINED], &idle(failing("output-reach")));
    assert_eq!(review.counts, Counts { fail: 1, ..Counts::default() });
    assert!(!review.judges_a_duty_point());
    let verdict = &review.verdicts[0][0];
    assert_eq!((verdict.when, verdict.fault()), (When::Always, Some(&Fault::Structural)));
    let one = finding(&review, TWO_POTENTIALS);
    assert_eq!((one.duty.as_deref(), one.corner.as_deref(), one.largest_share), (None, None, None));
    assert_eq!((one.comparison, one.also_in.as_slice()), (None, [].as_slice()));
    assert_eq!(one.facts, ["2 potentials: wheel_bridge.u, .v"]);
    assert_eq!(one.worked.len(), 2);
    assert_eq!(one.no_proposal.as_deref(), Some("no change is known that would hold"));
}

#[test]
fn a_fingerprint_knows_no_duty_point() {
    let text = failing("output-reach");
    let [with, without] = [text.to_owned(), idle(text)].map(|text| {
        let review = reviewed_with(&[&JOINED], &text);
        finding(&review, TWO_POTENTIALS).fingerprint.clone()
    });
    assert_eq!(with, without);
}

#[test]
fn a_structure_is_judged_once_beside_the_duty_points_and_speaks_first() {
    let text = changed(failing("output-reach"), "buses: { link: 300 V }", "buses: { link: 240 V }");
    let review = reviewed_with(&[listed("output-reach"), &JOINED], &text);
    let order: Vec<_> = review.findings.iter().map(|one| (one.grade, one.defect)).collect();
    assert_eq!(order, [(Grade::Major, TWO_POTENTIALS), (Grade::Major, "out-of-reach")]);
    assert_eq!(review.verdicts[0].iter().filter(|one| one.check == "joined").count(), 1);
    assert!(review.judges_a_duty_point());
}

#[test]
fn the_worse_of_two_verdicts_on_one_structure_stays() {
    static TWICE: StandIn = StandIn {
        judge: |solved, out| {
            let part = solved.variant.plan.stages[0].part;
            for (in_order, grade) in [(true, Grade::Major), (false, Grade::Note), (false, Grade::Minor)] {
                let subject = Subject { part, defect: TWO_POTENTIALS, lane: None, kin: None };
                out.put(solved, subject, structural(Ok(in_order), grade), Vec::new());
            }
        },
        ..JOINED
    };
    let review = reviewed_with(&[&TWICE], failing("output-reach"));
    assert_eq!(review.counts, Counts { fail: 1, ..Counts::default() });
    assert_eq!(finding(&review, TWO_POTENTIALS).grade, Grade::Minor);
}

#[test]
fn another_variant_is_named_without_a_duty_point() {
    let variants =
        "variants:\n  plain: {}\n  tall: { stages: { wheel_bridge: { dead_time: 3 us } } }\n\npolicy:\n";
    let text = changed(failing("output-reach"), "policy:\n", variants);
    let review = reviewed_with(&[&REVIEWING], &text);
    assert_eq!(review.findings.len(), 1);
    let one = finding(&review, TWO_POTENTIALS);
    assert_eq!((one.variant_name.as_deref(), one.duty.as_deref()), (Some("plain"), None));
    assert_eq!(one.also_in, ["variant tall"]);
    assert_eq!(only(&review).side_effects, ["not tried in tall, where it fails too", "one more supply"]);
}

#[test]
fn what_a_structure_waits_for_is_named_without_a_duty_point() {
    let text = changed(&idle(failing("output-reach")), "    dead_time: 2 us\n", "");
    let review = reviewed_with(&[&WAITING], &text);
    assert_eq!(review.counts, Counts { not_judged: 1, ..Counts::default() });
    let said: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(
        said,
        ["gate_supply of wheel_bridge is not stated", "stages.wheel_bridge.dead_time is not stated"]
    );
    assert!(review.not_judged.iter().all(|one| one.duties.is_empty() && one.near.is_some()));
}

#[test]
fn a_value_that_mends_a_structure_was_tried_with_all_checks() {
    let review = reviewed_with(&[&EDITING, listed("output-reach")], failing("output-reach"));
    let held = only(&review);
    assert_eq!((held.judged_by, held.leaves.as_str()), (JudgedBy::AllChecks, "nothing of this kind"));
    assert_eq!(held.set[0].path, "stages.wheel_bridge.modulation");
    assert!(held.side_effects[0].starts_with("also holds: output-reach of wheel_bridge ("), "{held:?}");
    let other = finding(&review, "beyond-linear");
    let same =
        other.proposals.iter().find(|held| held.say.starts_with("modulation")).expect("the same change");
    assert_eq!(same.side_effects[0], "also holds: joined of wheel_bridge");
}

#[test]
fn a_value_mends_a_structure_without_duty_points_too() {
    let review = reviewed_with(&[&EDITING], &idle(failing("output-reach")));
    let held = only(&review);
    assert_eq!((held.judged_by, held.leaves.as_str()), (JudgedBy::AllChecks, "nothing of this kind"));
    assert_eq!(held.set[0].written, "space_vector");
}

#[test]
fn what_no_value_expresses_says_who_stands_for_it() {
    // A change of nothing changes nothing, and what is left unsaid is not known to hold.
    let review = reviewed_with(&[&REVIEWING], failing("output-reach"));
    let held = only(&review);
    assert_eq!(held.judged_by, JudgedBy::OwnCheck(Proof::ExactRule));
    assert_eq!((held.say.as_str(), held.leaves.as_str()), ("add a supply", "one potential for each"));
    assert_eq!(
        (held.set.as_slice(), held.side_effects.as_slice()),
        ([].as_slice(), ["one more supply".to_owned()].as_slice())
    );
    assert_eq!(finding(&review, TWO_POTENTIALS).no_proposal, None);
}

#[test]
fn a_structure_in_order_is_counted_and_compares_nothing() {
    static SOUND: StandIn = StandIn {
        judge: |solved, out| {
            let part = solved.variant.plan.stages[0].part;
            let subject = Subject { part, defect: TWO_POTENTIALS, lane: None, kin: None };
            out.put(solved, subject, structural(Ok(true), Grade::Major), Vec::new());
        },
        ..JOINED
    };
    let review = reviewed_with(&[&SOUND], holding("output-reach"));
    assert_eq!(review.counts, Counts { hold: 1, ..Counts::default() });
    assert_eq!(review.verdicts[0][0].outcome, Outcome::Holds(None));
    assert!(review.findings.is_empty() && !review.judges_a_duty_point());
}

#[test]
fn a_default_that_turns_a_structure_is_told_without_a_duty_point() {
    // Any dead time but the default puts the structure out of order here.
    static TIMED: StandIn = StandIn {
        judge: |solved, out| {
            let stage = &solved.variant.plan.stages[0];
            let in_order = solved.edits().iter().all(|edit| edit.input != stage.dead_time);
            let subject = Subject { part: stage.part, defect: TWO_POTENTIALS, lane: None, kin: None };
            out.put(solved, subject, structural(Ok(in_order), Grade::Major), Vec::new());
        },
        ..JOINED
    };
    let text = changed(failing("output-reach"), "    dead_time: 2 us\n", "");
    let review = reviewed_with(&[&TIMED], &text);
    let dead_time = review.assumed.iter().find(|one| one.id == "dead-time-igbt").expect("a default");
    assert_eq!(
        dead_time.decides,
        ["joined of wheel_bridge fails at 1 µs", "joined of wheel_bridge fails at 4 µs"]
    );
}
