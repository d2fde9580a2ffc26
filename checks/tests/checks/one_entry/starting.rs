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
