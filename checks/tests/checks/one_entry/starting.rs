//! What starts a bus: coils that wait for it, and controllers that could not be read.

use loadworthy_checks::review::findings_on;
use loadworthy_checks::verdict::Outcome;

use super::{FORWARDER, SHUTTLE, reviewed};
use crate::descriptions::{changed, unit_despite_problems};

fn told(text: &str) -> Option<(String, String)> {
    reviewed(text).findings.into_iter().find(|one| one.defect == "no-start").map(|one| (one.part, one.saying))
}

/// The contactor of the pack is held from the board net, which the pack feeds: a circle, until something else holds it.
#[test]
fn a_contactor_that_is_held_from_what_it_connects_starts_nothing() {
    let (part, saying) = told(FORWARDER).expect("a circle");
    assert_eq!(part, "board_net");
    assert!(
        saying.starts_with(
            "nothing starts `board_net`, `link`, `pack_bus`: `main_contactor` does not close, and "
        ),
        "{saying}"
    );
    // A supply of its own for coil and controller starts the rest, where the converter does not wait for itself.
    let apart = FORWARDER.replace("coil: { from: board_net, controller: drive_controller }", "coil: {}");
    let rest = told(&apart).expect("the converter waits for itself").1;
    assert!(
        rest.starts_with("nothing starts `board_net`: `auxiliary`, which feeds it, cannot begin"),
        "{rest}"
    );
}

#[test]
fn a_start_that_hangs_on_what_could_not_be_read_is_not_judged() {
    let judged = |text: &str| {
        let unit = unit_despite_problems(text);
        let review = findings_on(&unit, None);
        let mut all = review.verdicts.into_iter().flatten();
        all.find(|one| one.defect == "no-start").map(|one| one.outcome)
    };
    let misspelt =
        |name: &str| changed(SHUTTLE, &format!("  {name}: {{ domain"), &format!("  {name}: {{ domian"));
    assert!(matches!(judged(&misspelt("auxiliary_controller")), Some(Outcome::NotJudged(_))));
    // One that commands nothing on the way there is no matter.
    assert!(matches!(judged(&misspelt("front_controller")), Some(Outcome::Fails { .. })));
}

/// A converter behind a contactor of its own, which is held from what that converter feeds.
#[test]
fn a_contactor_in_the_line_of_a_converter_that_it_feeds_is_not_closed_by_anything() {
    let line = "supply_line: { from: link, to: auxiliary, through: [supply_fuse, supply_cable] }";
    let contactor = |coil: &str| {
        let through = line.replace("[supply_fuse,", "[supply_fuse, supply_contactor,");
        let text = changed(SHUTTLE, line, &through);
        let part = format!(
            "\nconductors:\n  supply_contactor: {{ kind: contactor, current: {{ continuous: 20 A, at: 85 degC }}, breaks: {{ voltage: 900 V, current: 1600 A }}, makes: 100 A, withstands: 1e6 A^2 s, resistance: 2 mohm, coil: {{ {coil} }} }}\n"
        );
        changed(&text, "\nconductors:\n", &part)
    };
    // What starts everything else: coils and controllers that live on another net.
    let apart = |text: &str| {
        let text = text.replace("coil: { from: board_net, controller", "coil: { controller");
        text.replace("from: board_net, hardware_enable", "hardware_enable")
            .replace("low_voltage, from: board_net }", "low_voltage }")
            .replace(", from: board_net }", " }")
    };
    let (part, saying) = told(&apart(&contactor("from: board_net"))).expect("a circle");
    assert_eq!(part, "board_net");
    assert!(saying.ends_with("since supply_contactor lives on it alone"), "{saying}");
    assert_eq!(told(&apart(&contactor(""))), None);
}

/// A pre-charge that cannot close leaves its contactor nothing to close on.
#[test]
fn a_pre_charge_that_is_held_from_what_it_charges_starts_nothing() {
    let main = "breaks: { voltage: 450 V, current: 2 kA },\n      opens: { above: 440 A, after: 20 s },    # what the fuse takes longer for\n      withstands: 1e6 A^2 s, resistance: 0.15 mohm,\n      coil: { from: board_net, controller: drive_controller }";
    let apart = changed(
        FORWARDER,
        main,
        &main.replace("coil: { from: board_net, controller: drive_controller }", "coil: {}"),
    );
    let (_, saying) = told(&apart).expect("the pre-charge waits");
    assert!(saying.contains("`precharge_contactor` does not close"), "{saying}");
}
