//! Equal to allowed holds, a little more fails, and headroom falls as the current grows.

use loadworthy_checks::verdict::Comparison;
use loadworthy_checks::{Review, figure_text};
use loadworthy_unit::{Dimension, FigureId};
use proptest::prelude::*;

use crate::descriptions::{changed, defects, failing, finding, holding, repeatable, reviewed};

fn compared(carried: f64, allowed: f64, dimension: Dimension) -> Comparison {
    Comparison::new((FigureId::new(0), carried), (allowed, None), (allowed, None), dimension)
}

#[test]
fn equal_to_allowed_holds() {
    assert!(compared(320.0, 320.0, Dimension::Current).holds());
    assert!(compared(155.0, 155.0, Dimension::Temperature).holds());
    assert!(compared(0.0, 0.0, Dimension::Current).holds());
    // Within what the solver leaves open.
    assert!(compared(320.0 * (1.0 + 1e-10), 320.0, Dimension::Current).holds());
    assert!(!compared(320.0 * (1.0 + 1e-8), 320.0, Dimension::Current).holds());
    assert!(!compared(155.001, 155.0, Dimension::Temperature).holds());
    assert!(!compared(1.0, 0.0, Dimension::Current).holds());
}

#[test]
fn a_failure_never_reads_as_nothing_over() {
    let hair = compared(320.001, 320.0, Dimension::Current);
    let text = figure_text::comparison(&hair);
    assert_eq!((text.carried.as_str(), text.allowed.as_str()), ("320.001 A", "320 A"));
    assert!(text.headroom.ends_with("% over") && !text.headroom.starts_with("0 "), "{}", text.headroom);
    assert_eq!(
        figure_text::comparison(&compared(320.0, 320.0, Dimension::Current)).headroom,
        "exactly used up"
    );
}

/// The largest figure that a defect's verdicts carry, to its last digit.
fn largest(review: &Review, defect: &str) -> f64 {
    let of_defect = review.verdicts.iter().flatten().filter(|verdict| verdict.defect == defect);
    of_defect.filter_map(|verdict| Some(verdict.comparison()?.carried_value)).fold(0.0, f64::max)
}

#[test]
fn a_crest_of_exactly_the_repetitive_peak_holds() {
    let text = changed(
        failing("current-headroom"),
        "device_peak_current: { use_at_most: 80 % }",
        "device_peak_current: { use_at_most: 100 % }",
    );
    let crest = largest(&reviewed(&text), "repetitive-peak");
    let with_peak =
        |peak: f64| changed(&text, "repetitive_peak: 400 A", &format!("repetitive_peak: {peak} A"));
    assert_eq!(defects(&reviewed(&with_peak(crest))), []);
    let short = reviewed(&with_peak(crest * (1.0 - 1e-6)));
    assert_eq!(defects(&short), [("current-headroom", "repetitive-peak")]);
}

#[test]
fn a_junction_of_exactly_what_is_allowed_holds() {
    let text = failing("junction-temperature");
    let hottest = largest(&reviewed(text), "too-hot");
    let keeping =
        |kept: f64| changed(text, "junction: { keep: 20 K }", &format!("junction: {{ keep: {kept} K }}"));
    assert_eq!(defects(&reviewed(&keeping(175.0 - hottest))), []);
    assert_eq!(defects(&reviewed(&keeping(175.0 - hottest + 1e-3))), [("junction-temperature", "too-hot")]);
}

#[test]
fn grades_of_reach_follow_the_six_step_limit_and_the_description() {
    let text = failing("output-reach");
    let grade = |text: &str| {
        let review = reviewed(text);
        let one = &review.findings[0];
        (one.defect, one.grade.word())
    };
    assert_eq!(grade(text), ("beyond-linear", "minor"));
    let excluded = changed(
        text,
        "    modulation: sinusoidal\n",
        "    modulation: sinusoidal\n    overmodulation: excluded\n",
    );
    assert_eq!(grade(&excluded), ("beyond-linear", "major"));
    let unreachable = changed(text, "buses: { link: 300 V }", "buses: { link: 240 V }");
    assert_eq!(grade(&unreachable), ("out-of-reach", "major"));
}

#[test]
fn a_standing_crest_above_the_rating_alone_is_a_note() {
    let text = holding("junction-temperature");
    let hot = changed(text, "continuous: 300 A, at_case: 80 degC", "continuous: 110 A, at_case: 80 degC");
    let review = reviewed(&hot);
    let of_current = |review: &Review| -> Vec<(&'static str, &'static str)> {
        defects(review).into_iter().filter(|(check, _)| *check == "current-headroom").collect()
    };
    assert_eq!(of_current(&review), [("current-headroom", "standing-current")]);
    assert_eq!(finding(&review, "standing-current").grade.word(), "note");
    // Where the RMS current fails as well, the note would be its echo.
    let hotter = changed(text, "continuous: 300 A, at_case: 80 degC", "continuous: 60 A, at_case: 80 degC");
    assert_eq!(of_current(&reviewed(&hotter)), [("current-headroom", "continuous-current")]);
}

#[test]
fn short_duty_points_fail_with_a_minor_grade_and_say_why() {
    let short = changed(failing("junction-temperature"), "lasts: continuous", "lasts: 20 s");
    let review = reviewed(&short);
    let one = &review.findings[0];
    assert_eq!((one.defect, one.grade.word()), ("too-hot", "minor"));
    assert!(
        one.estimate.iter().any(|remark| remark.starts_with("if held continuously")),
        "{:?}",
        one.estimate
    );
}

proptest! {
    #![proptest_config(repeatable(48))]

    #[test]
    fn headroom_falls_as_the_current_grows(low in 20.0..200.0_f64, more in 0.5..60.0_f64) {
        let at = |amps: f64| reviewed(&changed(holding("current-headroom"), "phase_current: 240 A rms", &format!("phase_current: {amps:.3} A rms")));
        let (less, more) = (at(low), at(low + more));
        prop_assert_eq!(less.verdicts[0].len(), more.verdicts[0].len());
        for (less, more) in less.verdicts[0].iter().zip(&more.verdicts[0]) {
            // How fast the carrier is does not hang on the current, nor does the power while the voltage stands.
            if !["current-headroom", "junction-temperature", "output-reach"].contains(&less.check) {
                continue;
            }
            prop_assert_eq!((less.part, less.defect), (more.part, more.defect));
            let (Some(less), Some(more)) = (less.comparison(), more.comparison()) else { continue };
            prop_assert!(more.headroom < less.headroom, "{less:?} {more:?}");
        }
    }
}
