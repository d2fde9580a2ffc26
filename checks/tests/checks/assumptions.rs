//! Defaults in use are named, with what they decide.

use loadworthy_checks::Review;
use loadworthy_checks::review::Assumed;

use crate::descriptions::{changed, failing, holding, reviewed, trencher};

fn assumed<'r>(review: &'r Review, id: &str) -> &'r Assumed {
    let found = review.assumed.iter().find(|one| one.id == id);
    found.unwrap_or_else(|| panic!("no {id} among {:#?}", review.assumed))
}

#[test]
fn a_dead_time_that_is_not_stated_is_an_assumption() {
    let review = reviewed(&changed(holding("output-reach"), "    dead_time: 2 us\n", ""));
    let dead_time = assumed(&review, "dead-time-igbt");
    assert_eq!(dead_time.value, "2 µs");
    assert_eq!(dead_time.usual.as_deref(), Some("1 µs to 4 µs"));
    assert_eq!(dead_time.paths, ["stages.wheel_bridge.dead_time"]);
    assert!(dead_time.tried && dead_time.decides.is_empty(), "{dead_time:?}");
}

#[test]
fn a_default_that_turns_a_verdict_says_which_and_where() {
    // At 273 V the index is just inside the range of space vectors; twice the dead time pushes it out.
    let text = changed(holding("output-reach"), "    dead_time: 2 us\n", "");
    let text = changed(&text, "buses: { link: 300 V }", "buses: { link: 271 V }");
    let review = reviewed(&text);
    assert_eq!(review.counts.fail, 0, "{:?}", review.findings);
    let dead_time = assumed(&review, "dead-time-igbt");
    assert_eq!(dead_time.decides, ["output-reach of wheel_bridge fails at 4 µs (road_speed)"]);
    assert_eq!(review.assumed[0].id, "dead-time-igbt");
}

#[test]
fn the_edition_s_derating_is_an_assumption_where_the_policy_is_silent() {
    let text = changed(failing("junction-temperature"), "  junction: { keep: 20 K }\n", "");
    let text = changed(&text, "phase_current: 175 A rms", "phase_current: 170 A rms");
    let review = reviewed(&text);
    let junction = assumed(&review, "policy.junction.keep");
    assert_eq!((junction.value.as_str(), junction.usual.as_deref()), ("20 K", Some("10 K to 40 K")));
    assert!(
        junction
            .decides
            .contains(&"junction-temperature of lift_bridge holds at 10 K (load_held_up)".to_owned()),
        "{junction:?}"
    );
}

#[test]
fn what_a_default_leaves_open_does_not_hold() {
    let text = changed(holding("output-reach"), "    dead_time: 2 us\n", "");
    let text = changed(&text, "    modulation: space_vector\n", "");
    let review = reviewed(&text);
    assert!(review.counts.not_judged > 0);
    let claims = review.assumed.iter().flat_map(|one| &one.decides);
    assert_eq!(claims.filter(|line| line.contains("output-reach")).count(), 0, "{:?}", review.assumed);
}

#[test]
fn the_lead_that_rectifiers_stand_in_is_an_assumption_where_nobody_says() {
    let lead = "    rectifier: current_doubler\n";
    let text =
        format!("{}\ngate_supplies: {{ rectifiers: {{ feeds: [auxiliary.rectifier] }} }}\n", trencher());
    let review = reviewed(&text);
    let taken = assumed(&review, "rectifier-lead");
    assert_eq!(taken.paths, ["stages.auxiliary.rectifier_lead", "stages.sensor_supply.rectifier_lead"]);
    assert!(taken.why.contains("in the return"), "{}", taken.why);
    let said = reviewed(&changed(&text, lead, &format!("{lead}    rectifier_lead: return\n")));
    assert_eq!(assumed(&said, "rectifier-lead").paths, ["stages.sensor_supply.rectifier_lead"]);
}

/// Taken without a number of their own, and told all the same where they decide.
#[test]
fn what_holds_unless_said_otherwise_is_told_where_it_decides() {
    const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
    let paths = |text: &str, id: &str| {
        let review = reviewed(text);
        review.assumed.iter().find(|one| one.id == id).map_or_else(Vec::new, |one| one.paths.clone())
    };
    assert_eq!(paths(FORWARDER, "earthing"), ["isolation.domains.traction.earthing"]);
    let domain = "{ touchable: false, impulse: 2500 V,";
    let says = changed(FORWARDER, domain, &domain.replace("{ ", "{ earthing: floating, "));
    assert_eq!(paths(&says, "earthing"), [""; 0]);
    assert_eq!(paths(FORWARDER, "opens-after"), [""; 0]);
    let at_once = changed(FORWARDER, "opens: { above: 440 A, after: 20 s }", "opens: { above: 440 A }");
    assert_eq!(paths(&at_once, "opens-after"), ["conductors.main_contactor.opens.after"]);
    assert_eq!(paths(FORWARDER, "rated-at"), [""; 0]);
    let anywhere =
        changed(FORWARDER, "continuous: 450 A, at: 85 degC }, breaks", "continuous: 450 A }, breaks");
    assert_eq!(paths(&anywhere, "rated-at"), ["conductors.main_contactor.current.at"]);
    // What leads to a plate with a resistance of its own hangs on no flow.
    let same = paths(FORWARDER, "face-flow");
    assert!(
        same.contains(&"cooling.elements.traction_stack.cools.traction_bridge.flow".to_owned()),
        "{same:?}"
    );
    assert!(same.iter().all(|path| !path.contains("lower_plate")), "{same:?}");
    let own = "cools: { traction_bridge: { face_a: 0.026 K/W";
    let says = changed(FORWARDER, own, &format!("{own}, flow: 7 L/min"));
    assert_eq!(paths(&says, "face-flow").len() + 1, same.len());
}
