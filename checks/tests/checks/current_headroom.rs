//! Rated currents of conductors and windings: what recurs, what surrounds them, what is grouped.

use loadworthy_checks::Review;
use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Outcome, Verdict};
use proptest::prelude::*;

use crate::descriptions::{changed, defects, finding, holding, repeatable, reviewed, trencher};

/// A torque with which the pack gives more than its cable is rated for, and everything else holds.
fn pulling(torque: f64, lasts: &str) -> String {
    let text = changed(trencher(), "torque: 100 N m", &format!("torque: {torque} N m"));
    let text = changed(&text, "lasts: continuous", lasts);
    let text = changed(
        &text,
        "winding: { resistance: 4 mohm, current: { continuous: 100 A } }",
        "winding: { resistance: 4 mohm }",
    );
    changed(&text, "discharge: { continuous: 250 A }", "discharge: { continuous: 500 A }")
}

/// A duty point before it, in which the pack gives next to nothing.
fn standing_by(text: &str) -> String {
    changed(
        text,
        "policy:\n",
        "  standing_by:\n    coolant: { inlet: 60 degC }\n    sources: { pack: { open_circuit: 350 V } }\n    buses: { link: 600 V }\n    loads: { cab: { power: 100 W } }\n\npolicy:\n",
    )
}

fn rated<'r>(review: &'r Review, part: &str) -> Option<&'r Finding> {
    review.findings.iter().find(|one| one.defect == "rated-current" && one.part == part)
}

/// The verdicts on rated currents that name a part by its place in the text.
fn on_cable(review: &Review) -> Vec<&Verdict> {
    review.verdicts.iter().flatten().filter(|verdict| verdict.defect == "rated-current").collect()
}

#[test]
fn a_unit_with_a_stage_of_each_kind_holds() {
    let review = reviewed(trencher());
    assert_eq!(defects(&review), []);
    assert_eq!(on_cable(&review).len(), 3, "plug, cable and choke");
    assert!(on_cable(&review).iter().all(|verdict| matches!(verdict.outcome, Outcome::Holds(Some(_)))));
}

#[test]
fn a_cable_that_carries_more_than_its_rating_fails_and_a_larger_one_holds() {
    let review = reviewed(&pulling(170.0, "lasts: continuous"));
    let one = rated(&review, "pack_cable").expect("a finding");
    assert_eq!(one.grade.word(), "major");
    assert!(one.saying.starts_with("`pack_cable` in `pack_line` carries"), "{}", one.saying);
    let compared = one.comparison.expect("a comparison");
    assert!((compared.allowed - 180.0).abs() < 1e-9 && compared.carried_value > 180.0, "{compared:?}");
    // The next preferred number above what is needed, with a section that carries it for certain: 50 mm²·(250/200)².
    let held = &one.proposals[0];
    let set: Vec<_> = held.set.iter().map(|one| (one.path.as_str(), one.written.as_str())).collect();
    assert_eq!(
        set,
        [("conductors.pack_cable.section", "95 mm²"), ("conductors.pack_cable.current.continuous", "250 A")]
    );
    assert_eq!(held.say, "pack_cable of 95 mm², rated 250 A if its data sheet says so");
    // One that states no section is another one of the series; the rating says which.
    let bare =
        changed(&pulling(170.0, "lasts: continuous"), "kind: cable, section: 50 mm^2, ", "kind: cable, ");
    let review = reviewed(&bare);
    let held = &rated(&review, "pack_cable").expect("a finding").proposals[0];
    assert_eq!((held.say.as_str(), held.set.len()), ("pack_cable rated 250 A", 1));
}

#[test]
fn conductors_of_a_branch_are_one_finding() {
    let review = reviewed(&pulling(220.0, "lasts: continuous"));
    let of_rating: Vec<_> = review.findings.iter().filter(|one| one.defect == "rated-current").collect();
    assert_eq!(of_rating.len(), 1, "{of_rating:#?}");
    assert_eq!((of_rating[0].part.as_str(), of_rating[0].also_parts), ("pack_cable", 1));
    assert_eq!(of_rating[0].proposals[0].set.len(), 3, "both are changed together, and the section of one");
}

#[test]
fn a_winding_is_held_against_its_rated_current() {
    let text = changed(trencher(), "current: { continuous: 100 A }", "current: { continuous: 60 A }");
    let review = reviewed(&text);
    assert_eq!(defects(&review), [("current-headroom", "rated-current")]);
    let one = rated(&review, "step_up.step_up_choke").expect("a finding");
    assert!(
        one.saying.contains("the winding of `step_up.step_up_choke` carries 63.3 A rms"),
        "{}",
        one.saying
    );
    assert!(
        one.because.iter().any(|place| place.label.contains("100 N m at 4000 1/min")),
        "{:?}",
        one.because
    );
}

#[test]
fn a_rating_for_cooler_surroundings_is_not_judged_and_says_what_is_needed() {
    let review = reviewed(&changed(trencher(), "inside_air: 70 degC", "inside_air: 95 degC"));
    assert_eq!(defects(&review), []);
    let named: Vec<_> = review
        .not_judged
        .iter()
        .map(|one| one.missing.as_str())
        .filter(|one| one.contains("conductors"))
        .collect();
    assert_eq!(
        named,
        [
            "conductors.pack_plug.current.at covers a temperature of the surroundings of at most 85 °C, not 95 °C",
            "conductors.pack_cable.current.at covers a temperature of the surroundings of at most 85 °C, not 95 °C",
        ]
    );
    // As hot as the rating is stated for is not too hot.
    let equal = reviewed(&changed(trencher(), "inside_air: 70 degC", "inside_air: 85 degC"));
    assert!(on_cable(&equal).iter().all(|verdict| matches!(verdict.outcome, Outcome::Holds(_))));
    let silent = reviewed(&changed(trencher(), "inside_air: 70 degC, ", ""));
    assert!(
        silent.not_judged.iter().any(|one| one.missing == "surroundings.inside_air is not stated"),
        "{:#?}",
        silent.not_judged
    );
}

#[test]
fn a_rating_without_a_temperature_is_judged_and_says_so() {
    let text =
        changed(trencher(), "current: { continuous: 200 A, at: 85 degC }", "current: { continuous: 200 A }");
    let review = reviewed(&text);
    let says = |verdict: &&&Verdict| {
        verdict.remarks.iter().any(|remark| remark.to_string().contains("how hot the surroundings"))
    };
    assert_eq!(on_cable(&review).iter().filter(says).count(), 1);
    assert_eq!(defects(&review), []);
}

#[test]
fn a_short_duty_point_alone_is_minor_if_held() {
    let review = reviewed(&pulling(170.0, "lasts: 40 s"));
    let one = rated(&review, "pack_cable").expect("a finding");
    assert_eq!(one.grade.word(), "minor");
    assert!(
        one.estimate.iter().any(|remark| remark.starts_with("if held continuously")),
        "{:?}",
        one.estimate
    );
}

#[test]
fn what_recurs_is_weighed_over_its_cycle() {
    let seldom = reviewed(&pulling(170.0, "lasts: 40 s\n    every: 400 s"));
    assert!(rated(&seldom, "pack_cable").is_none(), "a tenth of the time");
    // Nothing in between, and all the time: as if it lasted.
    let always = reviewed(&pulling(170.0, "lasts: 40 s\n    every: 40 s"));
    let held = reviewed(&pulling(170.0, "lasts: continuous"));
    let carried = |review: &Review| {
        rated(review, "pack_cable").and_then(|one| one.comparison).map(|one| one.carried_value)
    };
    let (always, held) = (carried(&always).expect("a failure"), carried(&held).expect("a failure"));
    assert!((always - held).abs() < 1e-9 * held, "{always} {held}");
    let often = reviewed(&pulling(250.0, "lasts: 40 s\n    every: 60 s"));
    let one = rated(&often, "pack_cable").expect("a finding");
    assert_eq!(one.grade.word(), "major");
    assert!(one.saying.contains("rms over its cycle"), "{}", one.saying);
    assert!(one.worked[0].starts_with("over the cycle = "), "{:?}", one.worked);
}

#[test]
fn what_is_warmed_through_before_it_ends_counts_as_held() {
    // Over the cycle it would hold; twenty minutes are longer than a cable takes.
    let review = reviewed(&pulling(170.0, "lasts: 1200 s\n    every: 12000 s"));
    let one = rated(&review, "pack_cable").expect("a finding");
    assert_eq!(one.grade.word(), "minor");
    let both = reviewed(&pulling(170.0, "lasts: 1200 s\n    every: 1210 s"));
    assert_eq!(rated(&both, "pack_cable").expect("a finding").grade.word(), "major");
}

#[test]
fn in_between_flows_what_the_duty_point_before_carries() {
    let text = |from: &str| standing_by(&pulling(250.0, &format!("lasts: 40 s\n    every: 60 s{from}")));
    let carried = |text: &str| {
        let review = reviewed(text);
        rated(&review, "pack_cable")
            .and_then(|one| one.comparison)
            .map(|one| one.carried_value)
            .expect("a failure")
    };
    let (nothing, before) = (carried(&text("")), carried(&text("\n    starts_from: standing_by")));
    // 100 W out of 350 V are some 0.3 A.
    assert!(before > nothing && before < nothing * 1.001, "{nothing} {before}");
}

proptest! {
    #![proptest_config(repeatable(24))]

    /// √((I²·t + I₀²·(T − t))/T) against the integral of the squared current over the cycle, summed second by second.
    #[test]
    fn the_cycle_is_the_root_of_the_mean_square(lasts in 1_u32..200, rest in 0_u32..400, torque in 150.0..250.0_f64) {
        let every = lasts + rest;
        let point = format!("lasts: {lasts} s\n    every: {every} s\n    starts_from: standing_by");
        let text = standing_by(&pulling(torque, &point));
        let review = reviewed(&text);
        let cable = |duty: usize| {
            let verdicts = on_cable(&review);
            let of_duty = verdicts.into_iter().filter(move |v| v.duty().is_some_and(|of| of.index() == duty));
            of_duty.filter_map(|v| v.comparison()).find(|one| (one.limit - 200.0).abs() < 1e-9).expect("the cable").carried_value
        };
        let unit = crate::descriptions::unit(&text);
        let solved = loadworthy_unit::Solved::new(&unit.variants[0]);
        let current = unit.variants[0].plan.conductors[1].current;
        let at = |lane| solved.figure(current, loadworthy_unit::LaneId::new(lane)).expect("a current");
        let mut sum = 0.0;
        for second in 0..every {
            let amps = if second < lasts { at(0) } else { at(1) };
            sum += amps * amps;
        }
        let rms = (sum / f64::from(every)).sqrt();
        prop_assert!((cable(0) - rms).abs() < 1e-9 * rms, "{} {rms}", cable(0));
    }
}

#[test]
fn a_finding_points_at_the_branch_the_rating_the_policy_and_the_duty_point() {
    let review = reviewed(&pulling(170.0, "lasts: continuous"));
    let one = finding(&review, "rated-current");
    let labels: Vec<_> = one.because.iter().map(|place| place.label.as_str()).collect();
    assert!(labels.iter().any(|label| label.contains("rated 200 A in surroundings of 85 °C")), "{labels:?}");
    assert!(labels.iter().any(|label| label.contains("the policy uses at most 90 %")), "{labels:?}");
    assert!(one.at.label.ends_with("pass here"), "{}", one.at.label);
}

#[test]
fn a_case_above_the_limit_of_the_junction_is_told_by_the_junction_alone() {
    let text = changed(trencher(), "step_up: { face_a: 0.06 K/W }", "step_up: { face_a: 2.5 K/W }");
    let review = reviewed(&text);
    let told: Vec<_> = review
        .findings
        .iter()
        .filter(|one| one.part.starts_with("step_up."))
        .map(|one| (one.check, one.defect))
        .collect();
    assert!(told.contains(&("junction-temperature", "too-hot")), "{told:?}");
    assert!(!told.contains(&("current-headroom", "continuous-current")), "{told:?}");
}

#[test]
fn each_winding_of_a_transformer_is_held_against_its_own_rating() {
    let rated = "secondary: { resistance: 0.5 mohm, current: { continuous: 1 A } }";
    let text = changed(trencher(), "secondary: { resistance: 0.5 mohm }", rated);
    let review = reviewed(&text);
    let said = finding(&review, "rated-current");
    assert!(said.saying.starts_with("the secondary of"), "{}", said.saying);
    let set = &said.proposals[0].set;
    assert!(set.iter().all(|set| set.path.ends_with("secondary.current.continuous")), "{set:?}");
    // The primary beside it is judged by its own current.
    let primary = "primary: { resistance: 15 mohm, current: { continuous: 1 kA } }";
    let both = reviewed(&changed(&text, "primary: { resistance: 15 mohm }", primary));
    let fails = |review: &Review| on_cable(review).iter().filter(|verdict| verdict.fails()).count();
    assert_eq!((fails(&both), on_cable(&both).len()), (1, on_cable(&review).len() + 1));
    // Where both carry too much both are told, and changed.
    let both = changed(&text, "primary: { resistance: 15 mohm }", &primary.replace("1 kA", "1 A"));
    let both = reviewed(&both);
    assert_eq!(fails(&both), 2);
    let said = finding(&both, "rated-current");
    assert_eq!((said.part.as_str(), said.also_parts), ("auxiliary.auxiliary_transformer.secondary", 1));
    let set = said.proposals[0].set.iter().map(|set| set.path.as_str());
    assert_eq!(
        set.collect::<Vec<_>>(),
        [
            "magnetics.auxiliary_transformer.primary.current.continuous",
            "magnetics.auxiliary_transformer.secondary.current.continuous"
        ]
    );
}

#[test]
fn a_larger_rating_of_the_secondary_of_a_centre_tap_is_one_of_both_halves() {
    let text = include_str!("../../../examples/harbour-shuttle.yaml");
    let review = reviewed(&changed(text, "current: { continuous: 110 A }", "current: { continuous: 50 A }"));
    let said = finding(&review, "rated-current");
    assert_eq!(said.part, "auxiliary.auxiliary_transformer.secondary");
    let set = said.proposals[0].set.iter().map(|set| (set.path.as_str(), set.written.as_str()));
    assert_eq!(
        set.collect::<Vec<_>>(),
        [("magnetics.auxiliary_transformer.secondary.current.continuous", "63 A")]
    );
    assert_eq!(said.proposals[0].side_effects, [] as [&str; 0]);
    // So it is in the other variant, which fails as well.
    let review = reviewed(&changed(text, "current: { continuous: 110 A }", "current: { continuous: 1 A }"));
    let said = finding(&review, "rated-current");
    assert_eq!(said.proposals[0].set[0].written, "63 A");
    assert_eq!(said.proposals[0].side_effects, [] as [&str; 0]);
}

/// The trencher with a contactor and a sensor in the branch of its pack.
fn with_contacts(volts: f64, amps: f64, range: f64) -> String {
    let text =
        changed(trencher(), "through: [pack_plug,", "through: [pack_contactor, pack_sensor, pack_plug,");
    let parts = format!(
        "conductors:
  pack_contactor:
    {{ kind: contactor, current: {{ continuous: 250 A, at: 85 degC }}, breaks: {{ voltage: {volts} V, current: {amps} A }},
      withstands: 600e3 A^2 s, resistance: 0.2 mohm }}
  pack_sensor:
    {{ kind: sensor, current: {{ continuous: 250 A, at: 85 degC }}, range: {range} A, resistance: 0.05 mohm }}
"
    );
    let text = changed(&text, "conductors:\n", &parts);
    changed(
        &text,
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V }",
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V, highest: 420 V }",
    )
}

#[test]
fn a_contactor_opens_what_its_branch_carries_against_its_bus_and_a_sensor_measures_it() {
    let own = |text: &str| -> Vec<&'static str> {
        let all = defects(&reviewed(text));
        all.into_iter().filter(|(check, _)| *check == "current-headroom").map(|(_, defect)| defect).collect()
    };
    assert_eq!(own(&with_contacts(450.0, 400.0, 400.0)), [] as [&str; 0]);
    assert_eq!(own(&with_contacts(96.0, 400.0, 400.0)), ["breaking-voltage"]);
    assert_eq!(own(&with_contacts(450.0, 5.0, 400.0)), ["breaking-current"]);
    assert_eq!(own(&with_contacts(450.0, 400.0, 5.0)), ["beyond-range"]);
    let review = reviewed(&with_contacts(96.0, 400.0, 400.0));
    let said = finding(&review, "breaking-voltage");
    assert!(said.saying.contains("opens against up to 420 V of `pack_bus`"), "{}", said.saying);
    assert!(!said.proposals.is_empty());
    // How high the bus may come is asked for by its name.
    let unsaid = changed(&with_contacts(450.0, 400.0, 400.0), ", highest: 420 V", "");
    let review = reviewed(&unsaid);
    assert!(review.not_judged.iter().any(|one| one.missing.contains("buses.pack_bus.highest")));
}

#[test]
fn a_contactor_within_its_source_is_rated_like_one_in_the_branch() {
    let within = |contactor: &str| {
        let own = "{ kind: contactor, current: { continuous: 350 A }, breaks: { voltage: 450 V, current: 1200 A }, withstands: 300e3 A^2 s }";
        reviewed(&changed(holding("bus-stability"), own, contactor))
    };
    let of = |review: &Review| -> Vec<&'static str> {
        defects(review).into_iter().map(|(_, defect)| defect).collect()
    };
    let small = within(
        "{ kind: contactor, current: { continuous: 4 A }, breaks: { voltage: 4 V, current: 1 A }, withstands: 1 A^2 s }",
    );
    for defect in ["breaking-current", "breaking-voltage", "rated-current", "let-through"] {
        assert!(of(&small).contains(&defect), "{defect}: {:?}", of(&small));
    }
    assert!(small.findings.iter().all(|found| found.part == "pack_contactor"), "{:#?}", small.findings);
    // What it does not say is asked for.
    let silent = within("{ kind: contactor, current: { continuous: 300 A } }");
    assert_eq!(of(&silent), [] as [&str; 0]);
    for key in ["breaks of pack_contactor", "conductors.pack_contactor.withstands"] {
        assert!(
            silent.not_judged.iter().any(|one| one.missing.contains(key)),
            "{key}: {:#?}",
            silent.not_judged
        );
    }
}

#[test]
fn a_sensor_in_a_branch_says_how_far_it_measures() {
    let review = reviewed(&changed(&with_contacts(450.0, 400.0, 400.0), ", range: 400 A", ""));
    let asked =
        |one: &loadworthy_checks::review::NotJudged| one.missing.contains("conductors.pack_sensor.range");
    assert!(review.not_judged.iter().any(asked), "{:#?}", review.not_judged);
}
