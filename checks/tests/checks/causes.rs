//! Failures are grouped by cause, over parts, duty points and variants; what breaks down is told.

use loadworthy_checks::check::{Failure, Family, Told};
use loadworthy_checks::list::by_name;
use loadworthy_checks::review::review_with;
use loadworthy_checks::{About, Check, Verdicts};
use loadworthy_unit::Solved;

use crate::descriptions::{changed, failing, finding, reviewed, unit};

#[test]
fn one_finding_for_all_chips_of_a_device_in_a_stage() {
    let review = reviewed(failing("current-headroom"));
    let one = finding(&review, "repetitive-peak");
    assert_eq!(one.part, "disc_bridge.high_side.u.transistor");
    assert_eq!(one.also_parts, 11);
    let also =
        ["high_side.v, w", "low_side.u, v, w", "high_side.u, v, w (diode)", "low_side.u, v, w (diode)"];
    assert_eq!(one.also, also);
    assert_eq!(review.counts.fail, 12);
}

#[test]
fn the_worst_variant_speaks_and_the_others_are_named() {
    let variants = "variants:\n  mild: {}\n  heavy:\n    duty: { load_held_up: { loads: { lift_motor: { phase_current: 180 A rms } } } }\n\npolicy:\n";
    let text = changed(failing("junction-temperature"), "policy:\n", variants);
    let review = reviewed(&text);
    let one = finding(&review, "too-hot");
    assert_eq!(one.variant_name.as_deref(), Some("heavy"));
    assert_eq!(one.also_in, ["load_held_up, mild"]);
    let plain = reviewed(failing("junction-temperature"));
    assert_eq!(one.fingerprint, finding(&plain, "too-hot").fingerprint);
}

#[test]
fn a_proposal_must_hold_in_every_variant_that_shares_the_value() {
    // With 400 A for a peak two modules are enough; the weak ones of the other variant need four.
    let variants = "variants:\n  plain: {}\n  weak:\n    devices: { hb650_300: { transistor: { current: { repetitive_peak: 110 A } } } }\n\npolicy:\n";
    let text = changed(failing("current-headroom"), "policy:\n", variants);
    let review = reviewed(&text);
    let one = finding(&review, "repetitive-peak");
    assert_eq!(
        (one.variant_name.as_deref(), one.also_in.as_slice()),
        (Some("weak"), ["stump_cut, plain".to_owned()].as_slice())
    );
    assert_eq!(one.proposals[0].say, "parallel: 1 -> 4 at high_side and low_side");

    // The counts of the loaded variant are its own; what helps the other does not reach it.
    let loaded = "variants:\n  plain: {}\n  loaded:\n    duty: { stump_cut: { loads: { disc_motor: { phase_current: 241 A rms } } } }\n    stages: { disc_bridge: { switches: { high_side: { parallel: 1 }, low_side: { parallel: 1 } } } }\n\npolicy:\n";
    let text = changed(failing("current-headroom"), "policy:\n", loaded);
    let review = reviewed(&text);
    let one = finding(&review, "repetitive-peak");
    assert_eq!(one.variant_name.as_deref(), Some("loaded"));
    assert_eq!(one.proposals[0].say, "parallel: 1 -> 2 at high_side and low_side");
}

#[test]
fn a_change_that_harms_another_variant_is_not_proposed() {
    // More bus voltage reaches the speed, and is too much for the energies of the variant with other modules.
    let other = "variants:\n  plain: {}\n  low_voltage:\n    devices: { hb650_300: { transistor: { energies: { voltage: 205 V } } } }\n    stages: { wheel_bridge: { modulation: space_vector } }\n\npolicy:\n";
    let text = changed(failing("output-reach"), "policy:\n", other);
    let review = reviewed(&text);
    assert_eq!(review.counts.not_judged, 0, "{:?}", review.not_judged);
    let one = finding(&review, "beyond-linear");
    assert_eq!(one.variant_name.as_deref(), Some("plain"));
    let say: Vec<_> = one.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(say, ["modulation: sinusoidal -> space_vector"]);
}

#[test]
fn a_fingerprint_knows_no_lines() {
    let text = failing("output-reach");
    let moved = format!("# another line\n\n{text}");
    assert_eq!(reviewed(text).findings[0].fingerprint, reviewed(&moved).findings[0].fingerprint);
}

#[test]
fn the_worst_of_equals_is_always_the_first() {
    let review = reviewed(failing("junction-temperature"));
    let one = finding(&review, "too-hot");
    assert_eq!(one.part, "lift_bridge.high_side.u.transistor");
    assert_eq!(one.corner.as_deref(), Some("rotor held with the crest of the current out of leg u"));
}

#[test]
fn findings_stand_gravest_first() {
    let text = changed(failing("current-headroom"), "buses: { link: 350 V }", "buses: { link: 210 V }");
    let review = reviewed(&text);
    let order: Vec<_> = review.findings.iter().map(|one| (one.grade, one.defect)).collect();
    assert!(order.windows(2).all(|pair| pair[0].0 <= pair[1].0), "{order:?}");
    assert_eq!(order.first().map(|one| one.0.word()), Some("major"));
    assert_eq!(order.last().map(|one| one.1), Some("beyond-linear"));
}

#[test]
fn a_review_is_the_same_twice() {
    let text = failing("junction-temperature");
    assert_eq!(format!("{:?}", reviewed(text)), format!("{:?}", reviewed(text)));
}

/// Breaks down at once.
struct Breaks;

static BREAKS: About = About {
    name: "breaks",
    former_names: &[],
    question: "Does a check that breaks down go unnoticed?",
    page: "",
    fails: "",
    holds: "",
    defects: &[],
    policy: &[],
    since: 2026,
};

impl Check for Breaks {
    fn about(&self) -> &'static About {
        &BREAKS
    }

    fn judge(&self, _: &Solved<'_>, _: &mut Verdicts) {
        panic!("no word of this is lost");
    }

    fn tell(&self, _: &Failure<'_>, _: &Solved<'_>) -> Option<Told> {
        unreachable!("it never gives a verdict")
    }

    fn propose(&self, _: &Failure<'_>, _: &Solved<'_>) -> Vec<Family> {
        Vec::new()
    }
}

/// Judges as another check does, and breaks down when it is asked for words or changes.
struct Mute;

static MUTE: About = About {
    name: "mute",
    former_names: &[],
    question: "Is a failure lost where nothing can be said of it?",
    page: "",
    fails: "",
    holds: "",
    defects: &[],
    policy: &[],
    since: 2026,
};

impl Check for Mute {
    fn about(&self) -> &'static About {
        &MUTE
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        by_name("output-reach").expect("a check").judge(solved, out);
    }

    fn tell(&self, _: &Failure<'_>, _: &Solved<'_>) -> Option<Told> {
        panic!("no words");
    }

    fn propose(&self, _: &Failure<'_>, _: &Solved<'_>) -> Vec<Family> {
        panic!("no changes");
    }
}

#[test]
fn a_failure_is_shown_even_where_its_check_has_no_words() {
    let review = review_with(&[&Mute], &unit(failing("output-reach")));
    assert_eq!(review.findings.len(), 1);
    assert!(review.findings[0].comparison.is_some());
    let said: Vec<_> = review.broken_checks.iter().map(|broken| broken.said.as_str()).collect();
    assert_eq!(said, ["no changes", "no words"]);
}

#[test]
fn a_check_that_breaks_down_is_told_and_takes_no_other_with_it() {
    let reach = by_name("output-reach").expect("a check");
    let review = review_with(&[&Breaks, reach], &unit(failing("output-reach")));
    assert_eq!(review.broken_checks.len(), 1);
    assert_eq!(review.broken_checks[0].check, "breaks");
    assert_eq!(review.broken_checks[0].said, "no word of this is lost");
    assert_eq!(review.findings.len(), 1);
}
