//! How a verdict on the structure is shown: it has no duty point and compares no figure.

use std::path::Path;

use loadworthy_checks::check::{Change, Failure, Family, Proof, Proposal, Told};
use loadworthy_checks::collect::{Subject, structural};
use loadworthy_checks::list::by_name;
use loadworthy_checks::review::{Place, review_with};
use loadworthy_checks::verdict::Grade;
use loadworthy_checks::{About, Check, Verdicts};
use loadworthy_unit::Solved;
use serde_json::Value;

use crate::described::{Described, describe};
use crate::gathered::Gathered;
use crate::reviewed::{FileReview, Made};
use crate::tally::Row;

use super::besides::Besides;
use super::json::review::one;
use super::terminal::table::one_line;
use super::terminal::{Paint, review};

/// Finds each bridge on two potentials, or in order where its name says so.
struct Joined;

static ABOUT: About = About {
    name: "joined",
    former_names: &[],
    question: "Does each bridge stand on one potential?",
    page: "",
    fails: "",
    holds: "",
    defects: &[("two-potentials", "a part stands on two potentials")],
    policy: &[],
    since: 2026,
};

impl Check for Joined {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for stage in &solved.variant.plan.stages {
            let subject = Subject { part: stage.part, defect: "two-potentials", lane: None, kin: None };
            let in_order = solved.variant.path(stage.part).starts_with("sound");
            out.put(solved, subject, structural(Ok(in_order), Grade::Major), Vec::new());
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let part = solved.variant.path(failure.worst.part);
        let node = solved.variant.tables.part_of(failure.worst.part).at;
        let at = Place { node, label: "joined twice".to_owned() };
        let facts = vec![format!("2 potentials: {part}.u, .v")];
        let worked = vec!["u and v are different nodes".to_owned()];
        Some(Told { facts, worked, ..Told::new(format!("`{part}` stands on two potentials"), at) })
    }

    fn propose(&self, _: &Failure<'_>, _: &Solved<'_>) -> Vec<Family> {
        let change = Change::Reviewed {
            proof: Proof::ExactRule,
            leaves: "one potential for each supply".to_owned(),
            side_effects: vec!["one more supply".to_owned()],
        };
        let proposal = Proposal { say: "a supply for each leg".to_owned(), change };
        vec![Family { tried: "one more supply".to_owned(), ladder: vec![proposal] }]
    }
}

fn described(text: &str) -> Described {
    let described = describe(Path::new("-"), &[], &mut text.as_bytes()).expect("it reads");
    assert!(described.problems.is_empty(), "{:?}", described.problems);
    described
}

fn example() -> &'static str {
    by_name("output-reach").expect("a check").about().holds
}

fn without_duty_points(text: &str) -> &str {
    text.split("duty:\n").next().expect("a beginning")
}

fn made(described: Described, checks: &[&'static dyn Check]) -> Made {
    let review = review_with(checks, &described.unit);
    Made { described, review, besides: Besides::default() }
}

fn shown(made: &Made) -> String {
    review(made, true, Paint { colored: false })
}

fn file(made: Made) -> FileReview {
    FileReview { name: "-".to_owned(), path: "-".into(), made: Ok(made), ends: crate::tally::Ends::Fails }
}

fn json(made: Made) -> Value {
    serde_json::from_str(&one(&file(made))).expect("JSON")
}

#[test]
fn a_finding_has_facts_in_place_of_a_comparison_and_no_duty_point() {
    let made = made(described(without_duty_points(example())), &[&Joined]);
    let text = shown(&made);
    let lines: Vec<&str> = text.lines().collect();
    let first = lines.iter().position(|line| line.starts_with("major")).expect("a finding");
    assert_eq!(lines[first], "major  joined   wheel_bridge");
    assert_eq!(lines[first + 1], "       2 potentials: wheel_bridge.u, .v");
    for line in [
        "       says          `wheel_bridge` stands on two potentials",
        "       would hold    a supply for each leg: leaves one potential for each supply",
        "       side effects  one more supply",
        "       judged by     this check alone, by an exact rule",
        "       worked        u and v are different nodes",
    ] {
        assert!(lines.contains(&line), "{line}\n{text}");
    }
    assert!(!text.contains("loadworthy derive"), "{text}");
    let line = one_line(&[Row::of(&file(made))], &Gathered::default());
    assert!(line.starts_with("fails   0 hold   1 fail   0 not judged   finding: 1 major"), "{line}");
}

#[test]
fn a_structure_alone_does_not_pass_for_a_unit_that_was_judged() {
    let text = without_duty_points(example()).replace("wheel_bridge", "sound_bridge");
    let made = made(described(&text), &[&Joined]);
    let text = shown(&made);
    assert!(text.contains("nothing but the structure: no duty point could be read"), "{text}");
    assert!(
        text.lines().any(|line| line.trim() == "-                       joined of sound_bridge"),
        "{text}"
    );
}

#[test]
fn what_holds_without_a_figure_stands_last_and_shares_a_line() {
    let variants = "variants:\n  plain: {}\n  tall: {}\n\npolicy:\n";
    let text = example().replace("wheel_bridge", "sound_bridge").replace("policy:\n", variants);
    let reach = by_name("output-reach").expect("a check");
    let made = made(described(&text), &[&Joined, reach]);
    let text = shown(&made);
    let holding = text.split("holds, least headroom first\n").nth(1).expect("what holds");
    let rows: Vec<&str> = holding.lines().map(str::trim).take_while(|line| !line.is_empty()).collect();
    assert_eq!(rows.len(), 4, "{text}");
    assert_eq!(rows[2], "road_speed, plain, tall");
    assert!(rows[3].starts_with('-') && rows[3].ends_with("joined of sound_bridge; plain, tall"), "{text}");
}

#[test]
fn another_variant_is_named_in_the_heading() {
    let variants = "variants:\n  plain: {}\n  tall: {}\n\npolicy:\n";
    let made = made(described(&example().replace("policy:\n", variants)), &[&Joined]);
    let text = shown(&made);
    assert!(
        text.contains("wheel_bridge\n       variant plain\n       also in variant tall\n       2 potentials"),
        "{text}"
    );
}

#[test]
fn json_has_no_duty_point_and_says_who_judged_a_change() {
    let shown = json(made(described(without_duty_points(example())), &[&Joined]));
    let finding = &shown["findings"][0];
    for key in ["duty_point", "corner", "comparison", "largest_share", "variant"] {
        assert_eq!(finding[key], Value::Null, "{key}");
    }
    assert_eq!(finding["facts"], serde_json::json!(["2 potentials: wheel_bridge.u, .v"]));
    assert_eq!(finding["worked"], serde_json::json!(["u and v are different nodes"]));
    assert_eq!(finding["fingerprint"].as_str().map(str::len), Some(16));
    let proposal = &finding["proposals"][0];
    assert_eq!(proposal["judged_by"], "this check alone, by an exact rule");
    assert_eq!((&proposal["patch"], &proposal["set"]), (&Value::Null, &serde_json::json!([])));
    let verdict = &shown["verdicts"][0];
    assert_eq!((&verdict["verdict"], &verdict["grade"]), (&"fails".into(), &"major".into()));
    assert_eq!((&verdict["duty_point"], &verdict["corner"]), (&Value::Null, &Value::Null));
    assert_eq!(verdict["at"]["line"], finding["at"]["line"]);
}
