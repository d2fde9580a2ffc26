//! Each check's own descriptions fail and hold as its page says.

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::verdict::Outcome;

use crate::descriptions::{defects, failing, finding, holding, holds, reviewed};

#[test]
fn failing_examples_fail_with_exactly_the_defect_they_show() {
    for (check, defect) in [
        ("barrier-crossing", "weak"),
        ("barrier-distance", "clearance"),
        ("barrier-immunity", "edge"),
        ("bootstrap-refresh", "runs-down"),
        ("conductor-loading", "too-hot"),
        ("coolant-order", "another-order"),
        ("current-headroom", "repetitive-peak"),
        ("dead-time", "too-short"),
        ("false-turn-on", "lifted"),
        ("floating-supplies", "shared"),
        ("fuse-coordination", "breaking-capacity"),
        ("gate-drive-power", "power"),
        ("junction-temperature", "too-hot"),
        ("leakage-paths", "isolation-resistance"),
        ("output-reach", "beyond-linear"),
        ("parallel-sharing", "too-hot"),
        ("short-circuit-response", "too-slow"),
        ("turn-off-overshoot", "spike"),
    ] {
        let review = reviewed(failing(check));
        assert_eq!(defects(&review), [(check, defect)]);
        assert_eq!(review.counts.not_judged, 0, "{check}: {:?}", review.not_judged);
        let decides = review.assumed.iter().any(|assumed| !assumed.decides.is_empty());
        assert!(!decides, "{check} rests on a default: {:?}", review.assumed);
        assert_eq!(review.findings.len(), 1);
    }
}

#[test]
fn holding_examples_hold_everything() {
    for check in CHECKS {
        let review = reviewed(check.about().holds);
        let name = check.about().name;
        assert!(review.verdicts.iter().flatten().all(holds), "{name}: {:?}", review.findings);
        assert!(
            review.verdicts.iter().flatten().any(|verdict| verdict.check == name),
            "{name} judged nothing"
        );
        assert!(review.findings.is_empty() && review.unsolved.is_empty() && review.broken_checks.is_empty());
    }
}

#[test]
fn an_example_and_its_cure_differ_in_few_lines() {
    for check in CHECKS {
        let about = check.about();
        assert_eq!(about.fails.lines().count(), about.holds.lines().count());
        let differ = about.fails.lines().zip(about.holds.lines()).filter(|(fails, holds)| fails != holds);
        assert!((1..=4).contains(&differ.count()), "{}", about.name);
    }
}

#[test]
fn a_page_says_its_question_its_policy_and_its_defects() {
    for check in CHECKS {
        let about = check.about();
        assert!(about.page.starts_with(&format!("# {}\n", about.name)));
        assert!(about.page.contains(about.question), "{}", about.name);
        assert!(about.policy.iter().all(|item| about.page.contains(item.name)), "{}", about.name);
        assert!(about.page.contains("## Sources"), "{}", about.name);
        let explained = about.defects.iter().filter(|(defect, _)| about.page.contains(defect)).count();
        // The first defect of junction-temperature is what the whole page is about.
        assert!(explained + 1 >= about.defects.len(), "{}", about.name);
    }
}

#[test]
fn every_defect_that_occurs_is_declared() {
    for check in CHECKS {
        for text in [failing(check.about().name), holding(check.about().name)] {
            for verdict in reviewed(text).verdicts.iter().flatten() {
                let about = loadworthy_checks::list::by_name(verdict.check).expect(verdict.check).about();
                assert!(
                    about.defects.iter().any(|(defect, _)| *defect == verdict.defect),
                    "{}",
                    verdict.defect
                );
            }
        }
    }
}

#[test]
fn the_worked_reasons_of_the_pages_are_what_the_examples_say() {
    let junction = reviewed(failing("junction-temperature"));
    let hot = finding(&junction, "too-hot");
    for number in ["junction_temperature = 164 °C", "loss = 367 W"] {
        assert!(hot.worked.iter().any(|line| line.contains(number)), "{number}: {:#?}", hot.worked);
    }
    let page = |check: &str| loadworthy_checks::list::by_name(check).expect(check).about().page;
    for number in ["164 °C", "367 W"] {
        assert!(page("junction-temperature").contains(number));
    }
    let current = reviewed(failing("current-headroom"));
    let peak = finding(&current, "repetitive-peak");
    assert!(peak.saying.contains("350 A, 9.4 % above the 320 A"), "{}", peak.saying);
    let reach = reviewed(failing("output-reach"));
    let beyond = finding(&reach, "beyond-linear");
    assert!(beyond.saying.contains("1.04, 3.7 % above the linear limit of 1"), "{}", beyond.saying);
    assert!(beyond.proposals.iter().any(|held| held.say == "link: 300 V -> 312 V"));
}

#[test]
fn a_verdict_is_given_once_for_each_part_defect_and_duty_point() {
    for check in CHECKS {
        let review = reviewed(check.about().fails);
        for verdicts in &review.verdicts {
            let mut identities: Vec<_> =
                verdicts.iter().map(|v| (v.check, v.part, v.defect, v.duty())).collect();
            identities.sort_unstable();
            let all = identities.len();
            identities.dedup();
            assert_eq!(identities.len(), all);
        }
        let [hold, fail, open] = [
            |outcome: &Outcome| matches!(outcome, Outcome::Holds(_)),
            |outcome: &Outcome| matches!(outcome, Outcome::Fails { .. }),
            |outcome: &Outcome| matches!(outcome, Outcome::NotJudged(_)),
        ]
        .map(|is| review.verdicts.iter().flatten().filter(|verdict| is(&verdict.outcome)).count());
        assert_eq!((hold, fail, open), (review.counts.hold, review.counts.fail, review.counts.not_judged));
    }
}
