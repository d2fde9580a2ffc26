//! Air along the coolant: summits held against parcels of air that creep uphill, vents, and the velocity that clears them.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Grade, Outcome};
use loadworthy_unit::Solved;
use proptest::prelude::*;
use serde_json::Value;

use crate::descriptions::{changed, failing, finding, holding, repeatable, unit};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "coolant-purging";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

/// The failing example with places at other heights, each with a bore through which the coolant only creeps.
fn along(heights: &[(i32, i32)], vents: &[usize]) -> String {
    let text = failing(NAME);
    let (from, to) = (text.find("  path:").expect("a path"), text.find("\nduty:").expect("duty points"));
    let names: Vec<String> = (0..heights.len()).map(|k| format!("p{k}")).collect();
    let mut path = format!("  path: [{}]\n  elements:\n", names.join(", "));
    for (k, (low, high)) in heights.iter().enumerate() {
        let vent = if vents.contains(&k) { ", vented: true" } else { "" };
        let cools =
            if k == 0 { ", referred_to: outlet, cools: { arm_bridge: { face_a: 0.060 K/W } }" } else { "" };
        path.push_str(&format!(
            "    p{k}: {{ elevation: {{ in: {low} mm, out: {high} mm }}, passage: {{ bore: 40 mm }}{vent}{cools} }}\n"
        ));
    }
    format!("{}{path}{}", &text[..from], &text[to..])
}

/// The parts at which air is trapped.
fn trapped(text: &str) -> Vec<String> {
    let (review, unit) = (reviewed(text), unit(text));
    let failing = review.verdicts[0].iter().filter(|one| one.fails() && one.defect == "air-trapped");
    failing.map(|one| unit.variants[0].path(one.part).to_owned()).collect()
}

/// Ends from which a parcel of air that climbs as long as it can comes neither to the inlet, the outlet nor a vent.
fn creeping(heights: &[(i32, i32)], vents: &[usize]) -> Vec<usize> {
    let ends: Vec<i32> = heights.iter().flat_map(|&(low, high)| [low, high]).collect();
    let is_free = |end: usize| {
        let own_top = ends[end] >= ends[end ^ 1];
        end == 0 || end == ends.len() - 1 || vents.contains(&(end / 2)) && own_top
    };
    let escapes = |start: usize| {
        // Everything that it can reach without ever going down.
        let (mut reached, mut open) = (vec![start], vec![start]);
        while let Some(end) = open.pop() {
            if is_free(end) {
                return true;
            }
            let beside = [end.checked_sub(1), (end + 1 < ends.len()).then_some(end + 1)];
            for next in beside.into_iter().flatten() {
                if ends[next] >= ends[end] && !reached.contains(&next) {
                    reached.push(next);
                    open.push(next);
                }
            }
        }
        false
    };
    (0..ends.len()).filter(|&end| !escapes(end)).collect()
}

proptest! {
    #![proptest_config(repeatable(60))]

    #[test]
    fn air_is_trapped_where_creeping_parcels_cannot_leave(
        heights in prop::collection::vec((0_i32..5, 0_i32..5), 2..6),
        vent in 0_usize..8,
    ) {
        let heights: Vec<(i32, i32)> = heights.iter().map(|&(low, high)| (10 * low, 10 * high)).collect();
        let vents = [vent];
        let stuck = creeping(&heights, &vents);
        let traps = trapped(&along(&heights, &vents));
        prop_assert_eq!(traps.is_empty(), stuck.is_empty(), "{:?} {:?} {:?}", heights, stuck, traps);
        // Each trap is named at a place from which air cannot leave.
        for trap in &traps {
            let place: usize = trap.trim_start_matches("cooling.p").parse().expect("a place");
            prop_assert!(stuck.contains(&(2 * place)) || stuck.contains(&(2 * place + 1)));
        }
    }
}

#[test]
fn the_published_hump_is_found_and_the_reference_velocity_met() {
    let cases: Value =
        serde_json::from_str(include_str!("../../../tests/reference/air.json")).expect("the file is JSON");
    for case in cases["cases"].as_array().expect("cases") {
        let heights: Vec<i32> = case["inputs"]["elevation_m"]
            .as_array()
            .expect("heights")
            .iter()
            .map(|height| (height.as_f64().expect("a height") * 1e3).round() as i32)
            .collect();
        // Stations of a profile are the ends of the places between them.
        let places: Vec<(i32, i32)> = heights.windows(2).map(|pair| (pair[0], pair[1])).collect();
        let text = along(&places, &[]);
        let review = reviewed(&text);
        let expected = case["expected"]["trap_indices"].as_array().expect("traps");
        let traps = trapped(&text);
        assert_eq!(traps.len(), expected.len());
        for (trap, station) in traps.iter().zip(expected) {
            // The first place of the plateau ends at the station.
            let place = station.as_u64().expect("a station") - 1;
            assert_eq!(*trap, format!("cooling.p{place}"));
        }
        let is_below = review.verdicts[0].iter().any(|one| one.fails() && one.defect == "outlet-below-inlet");
        assert_eq!(Some(!is_below), case["expected"]["outlet_at_or_above_inlet"].as_bool());
    }
}

#[test]
fn a_vent_a_faster_flow_and_a_narrower_hose_each_mend_it() {
    let review = reviewed(failing(NAME));
    let one = finding(&review, "air-trapped");
    assert_eq!((one.part.as_str(), one.grade), ("cooling.riser", Grade::Major));
    let said: Vec<_> = one.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(said.len(), 3);
    assert_eq!(said[0], "a vent at riser: vented: true");
    assert!(said[1].starts_with("bore of descent: 16 mm ->") && said[2].starts_with("coolant flow:"));
    for (from, to) in [("flow: 4 L/min", "flow: 6.5 L/min"), ("vented: false", "vented: true")] {
        assert!(reviewed(&changed(failing(NAME), from, to)).findings.is_empty(), "{to}");
    }
}

#[test]
fn equal_to_what_is_allowed_holds() {
    let compared = finding(&reviewed(failing(NAME)), "air-trapped").comparison.expect("a comparison");
    let needed = 4.0 * compared.carried_value / compared.allowed;
    for (factor, fails) in [(1.0, false), (0.999, true)] {
        let flow = format!("flow: {:.15} L/min", needed * factor);
        let review = reviewed(&changed(failing(NAME), "flow: 4 L/min", &flow));
        assert_eq!(!review.findings.is_empty(), fails, "{flow}");
    }
}

#[test]
fn what_is_missing_is_named() {
    let missing = |text: &str| {
        let review = reviewed(text);
        assert!(review.counts.not_judged > 0);
        review.not_judged.iter().map(|one| one.missing.clone()).collect::<Vec<_>>()
    };
    let no_bore = changed(failing(NAME), "passage: { bore: 16 mm, length: 200 mm }", "fixed: true");
    assert_eq!(missing(&no_bore), ["cooling.elements.descent.passage.bore is not stated"]);
    let no_height = changed(failing(NAME), "{ in: 220 mm, out: 60 mm }", "{ in: 220 mm }");
    assert_eq!(missing(&no_height), ["cooling.elements.descent.elevation.out is not stated"]);
}

#[test]
fn a_bore_that_nobody_measured_is_not_judged() {
    let text = changed(failing(NAME), "bore: 16 mm, length: 200 mm", "bore: 2 mm, length: 200 mm");
    let review = reviewed(&text);
    assert!(review.findings.is_empty() && review.counts.not_judged == 1, "{:?}", review.not_judged);
}

#[test]
fn a_loop_that_falls_through_is_a_note() {
    let text = along(&[(90, 60), (60, 20)], &[]);
    let review = reviewed(&text);
    let one = finding(&review, "outlet-below-inlet");
    assert_eq!(one.grade, Grade::Note);
    assert!(one.saying.contains("70 mm lower"), "{}", one.saying);
    assert!(trapped(&text).is_empty(), "air leaves through the inlet");
}

#[test]
fn the_slope_of_a_fall_counts() {
    // Steps of the law by hand: √(9.80665·0.016)·(0.56·√0.8 + 0.61).
    let unit = unit(holding(NAME));
    let solved = Solved::new(&unit.variants[0]);
    let path = unit.variants[0].plan.coolant.as_ref().expect("a loop");
    let descent = path.places.iter().find(|place| unit.variants[0].path(place.part) == "cooling.descent");
    let passage = &descent.expect("the descent").passage;
    let lane = unit.variants[0].lane_ids().next().expect("a lane");
    let clearing = solved.figure(passage.clearing_velocity.expect("bored"), lane).expect("a velocity");
    assert!((clearing - 0.440_03).abs() < 1e-4, "{clearing}");
    let holds = reviewed(holding(NAME));
    assert!(holds.verdicts[0].iter().all(|one| matches!(one.outcome, Outcome::Holds(_))));
}
