//! Freezing, boiling at the wall and cold starts: their limits, what mends them, and what is missing.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Grade, Outcome};

use crate::descriptions::{changed, defects, failing, finding, holding, keeps_open, problems};
use crate::stand_ins::{listed, reviewed_despite_problems, reviewed_with};

const NAME: &str = "coolant-state";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

fn missing(review: &Review) -> Vec<&str> {
    review.not_judged.iter().map(|one| one.missing.as_str()).collect()
}

#[test]
fn coolant_that_arrives_colder_than_the_coldest_surroundings_is_one_problem() {
    let text = changed(holding(NAME), "inlet: 60 degC", "inlet: -30 degC");
    assert_eq!(problems(&text), ["coolant arrives colder than the coldest surroundings"]);
    assert_eq!(problems(&changed(holding(NAME), "inlet: 60 degC", "inlet: -25 degC")), [""; 0]);
    // How warm it leaves a cold start is no second finding.
    let review = reviewed_despite_problems(&[listed(NAME)], &text);
    assert!(review.findings.is_empty(), "{:#?}", review.findings);
}

#[test]
fn a_thin_mixture_freezes_and_the_next_share_that_is_tried_does_not() {
    let one = finding(&reviewed(failing(NAME)), "freezes").clone();
    assert_eq!((one.part.as_str(), one.grade), ("cooling", Grade::Major));
    assert_eq!(one.saying, "the coolant freezes at -24.8 °C, and the surroundings come down to -25 °C");
    assert_eq!(one.proposals[0].say, "glycol: 40 % -> 45 %");
    assert_eq!(one.proposals[0].set[0].path, "cooling.coolant.glycol");
}

#[test]
fn equal_to_what_is_kept_holds() {
    // Half glycol freezes at −37 °C by the table, and 5 K are kept.
    for (coldest, fails) in [("-32 degC", false), ("-32.1 degC", true)] {
        let text = changed(holding(NAME), "coldest: -25 degC", &format!("coldest: {coldest}"));
        assert_eq!(!reviewed(&text).findings.is_empty(), fails, "{coldest}");
    }
    let keeps = changed(holding(NAME), "policy:\n", "policy:\n  coolant_freezing: { keep: 13 K }\n");
    assert!(finding(&reviewed(&keeps), "freezes").saying.contains("less than is kept"));
}

#[test]
fn water_freezes_and_no_share_helps() {
    let text = changed(failing(NAME), "{ kind: water_glycol, glycol: 40 % }", "{ kind: water }");
    let one = finding(&reviewed(&text), "freezes").clone();
    assert!(one.proposals.is_empty());
    assert!(one.no_proposal.as_deref().is_some_and(|why| why.contains("glycol")));
}

#[test]
fn the_coldest_surroundings_are_asked_for() {
    let review = reviewed(&changed(holding(NAME), "surroundings: { coldest: -25 degC }", "surroundings: {}"));
    assert_eq!(missing(&review), ["surroundings.coldest is not stated"]);
}

#[test]
fn a_wall_boils_on_a_short_plate_under_little_pressure() {
    let short = changed(holding(NAME), "length: 300 mm", "length: 200 mm");
    let short = changed(&short, "absolute_pressure: 150 kPa", "absolute_pressure: 70 kPa");
    let review = reviewed(&short);
    let one = finding(&review, "boils");
    assert_eq!((one.part.as_str(), one.grade), ("cooling.cold_plate", Grade::Major));
    assert!(one.proposals.iter().any(|held| held.say.starts_with("absolute pressure: 70 kPa ->")));
    let compared = one.comparison.expect("a comparison");
    // By hand: water boils at 97.4 °C under 70 kPa/0.758.
    assert!((compared.limit - 97.4).abs() < 0.3, "{}", compared.limit);
}

#[test]
fn the_altitude_counts_where_no_pressure_is_stated() {
    let open = changed(holding(NAME), "  absolute_pressure: 150 kPa\n", "");
    let limit = |text: &str| {
        let review = reviewed(text);
        let verdict = review.verdicts[0].iter().find(|one| one.defect == "boils").expect("a verdict");
        verdict.comparison().expect("a comparison").limit
    };
    let sea = limit(&open);
    let high = limit(&changed(&open, "coldest: -25 degC", "coldest: -25 degC, altitude: 3000 m"));
    assert!((sea - 107.9).abs() < 0.2 && (high - 97.4).abs() < 0.4, "{sea} {high}");
}

#[test]
fn without_a_passage_the_case_bounds_the_wall_and_proves_nothing_more() {
    let passage = "      passage: { bore: 8 mm, length: 300 mm, count: 4, heat_concentration: 2 }\n";
    let bound = changed(holding(NAME), passage, "");
    let verdicts = |text: &str| {
        let review = reviewed(text);
        let of = review.verdicts[0].iter().find(|one| one.defect == "boils").expect("a verdict").clone();
        (of.outcome, missing(&review).iter().map(ToString::to_string).collect::<Vec<_>>())
    };
    let (outcome, _) = verdicts(&bound);
    assert!(matches!(outcome, Outcome::Holds(Some(_))), "a case below the limit is enough: {outcome:?}");
    let low = changed(&bound, "absolute_pressure: 150 kPa", "absolute_pressure: 40 kPa");
    let (outcome, missing) = verdicts(&low);
    assert!(matches!(outcome, Outcome::NotJudged(_)), "{outcome:?}");
    assert_eq!(missing, ["cooling.elements.cold_plate.passage.bore is not stated"]);
}

/// Two branches, one of which is long and narrow.
fn forked(narrow: &str) -> String {
    let text = holding(NAME);
    let (from, to) = (text.find("  path:").expect("a path"), text.find("\nduty:").expect("duty points"));
    let cooling = format!(
        "  path: [fork]
  elements:
    fork: {{ split: {{ plate: [cold_plate], beside: [wide] }} }}
    cold_plate: {{ referred_to: outlet, cools: {{ brush_bridge: {{ face_a: 0.060 K/W }} }}, {narrow} }}
    wide: {{ passage: {{ bore: 10 mm, length: 1000 mm }} }}
"
    );
    format!("{}{cooling}{}", &text[..from], &text[to..])
}

#[test]
fn a_narrow_branch_starves_when_cold() {
    let review = reviewed(&forked("passage: { bore: 0.9 mm, length: 300 mm, count: 50 }"));
    let one = finding(&review, "cold-start");
    assert_eq!((one.part.as_str(), one.grade), ("cooling.fork.plate", Grade::Minor));
    let even = reviewed(&forked("passage: { bore: 10 mm, length: 1000 mm }"));
    assert!(even.findings.is_empty(), "{:?}", even.findings);
}

#[test]
fn what_a_cold_start_waits_for_is_named() {
    let one_point = "pressure_drop: { at: 65 degC, flow: 4 L/min, pressure: 9 kPa }";
    let review = reviewed(&forked(one_point));
    assert!(
        missing(&review).iter().any(|text| text.starts_with("second point of")),
        "{:?}",
        missing(&review)
    );
    let no_temperature = "pressure_drop: { flow: [2 L/min, 4 L/min], pressure: [3 kPa, 9 kPa] }";
    let review = reviewed(&forked(no_temperature));
    assert!(
        missing(&review).contains(&"cooling.elements.cold_plate.pressure_drop.at is not stated"),
        "{:?}",
        missing(&review)
    );
    let both = "pressure_drop: { at: 65 degC, flow: [2 L/min, 4 L/min], pressure: [3 kPa, 9 kPa] }";
    assert!(missing(&reviewed(&forked(both))).is_empty());
}

#[test]
fn a_drop_of_no_stated_temperature_says_nothing_of_a_cold_start_behind_a_pump() {
    let pump = "pump: { curve: { flow: [0 L/min, 6 L/min, 12 L/min], pressure: [60 kPa, 50 kPa, 20 kPa] } }";
    let text = changed(holding(NAME), "pump: { flow: 8 L/min }", pump);
    let drop = |at: &str| {
        let drop = format!("pressure_drop: {{ {at}flow: [4 L/min, 8 L/min], pressure: [3 kPa, 10 kPa] }}");
        reviewed(&changed(
            &text,
            "      referred_to: outlet\n",
            &format!("      referred_to: outlet\n      {drop}\n"),
        ))
    };
    let open = "cooling.elements.cold_plate.pressure_drop.at is not stated";
    assert!(missing(&drop("")).contains(&open), "{:?}", missing(&drop("")));
    assert!(drop("").findings.is_empty(), "{:?}", drop("").findings);
    assert!(!missing(&drop("at: 60 degC, ")).contains(&open));
}

#[test]
fn a_passage_that_is_not_stated_brings_no_headroom() {
    let passage = "passage: { bore: 8 mm, length: 300 mm, count: 4, heat_concentration: 2 }";
    let headroom = |text: &str| {
        let review = reviewed(text);
        let of = review.verdicts[0].iter().find(|one| one.defect == "boils").expect("a verdict").clone();
        of.comparison().map(|compared| compared.headroom)
    };
    let stated = headroom(holding(NAME)).expect("a comparison");
    for left in ["passage: { heat_concentration: 2 }", "passage: { length: 300 mm, count: 4 }"] {
        let unstated = headroom(&changed(holding(NAME), passage, left));
        assert!(unstated.is_none_or(|unstated| unstated <= stated), "{left}: {unstated:?} of {stated}");
    }
}

#[test]
fn coolant_that_boils_by_itself_is_found_whatever_is_not_known_of_the_wall() {
    // Some 190 W into 0.09 L/min, 5.4 W/K: from 60 °C to 94 °C, where 70 kPa leave 97.4 °C until it boils.
    let starved = changed(holding(NAME), "flow: 8 L/min", "flow: 0.09 L/min");
    let starved = changed(&starved, "electrical_power: 40 kW", "electrical_power: 10 kW");
    let starved = changed(&starved, "absolute_pressure: 150 kPa", "absolute_pressure: 70 kPa");
    let passage = "      passage: { bore: 8 mm, length: 300 mm, count: 4, heat_concentration: 2 }\n";
    let review = reviewed(&changed(&starved, passage, ""));
    let one = finding(&review, "boils");
    assert!(one.saying.contains("the coolant itself leaves `cooling.cold_plate`"), "{}", one.saying);
    assert_eq!(one.grade, Grade::Major);
}

#[test]
fn coolant_that_is_too_little_for_any_solution_boils_by_what_is_lost_while_it_is_cold() {
    let least = |flow: &str| changed(holding(NAME), "flow: 8 L/min", &format!("flow: {flow}"));
    let review = crate::descriptions::reviewed(&least("0.06 L/min"));
    // One cause is one finding, and everything else of the duty point waits for it.
    assert_eq!(defects(&review), [(NAME, "boils")]);
    let one = finding(&review, "boils");
    assert_eq!((one.part.as_str(), one.grade), ("cooling.cold_plate", Grade::Major));
    assert!(one.largest_share.is_some_and(|share| share < 0.9), "{:?}", one.largest_share);
    assert!(keeps_open(one), "{:#?}", one.facts);
    assert_eq!(review.counts.fail, 1);
    // Where more flows there is a solution, and coolant that arrives cold enough holds.
    assert_eq!(defects(&crate::descriptions::reviewed(&least("8 L/min"))), []);
    assert_eq!(
        one.saying,
        "the coolant leaves `cooling.cold_plate` at 244 °C at least, and boils there at 120 °C: at most 17 % of what `sweeping` asks has a solution"
    );
    assert!(
        one.worked.iter().any(|line| line.contains("244 °C, and more once it is warm")),
        "{:?}",
        one.worked
    );
}
