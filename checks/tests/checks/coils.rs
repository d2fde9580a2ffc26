//! What the coils of contactors live on, and what opens with it.

use loadworthy_checks::faults::Kind;

use crate::descriptions::{changed, reviewed};
use crate::fault_walk::{effect, faults};

const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
const MAIN: &str = "      coil: { from: board_net, controller: drive_controller } }    # opens with either";
const PRECHARGE: &str = "resistance: 2 mohm, coil: { from: board_net, controller: drive_controller } }";

/// The forwarder with other coils of both contactors.
fn with_coils(main: &str, precharge: &str) -> String {
    let text = changed(FORWARDER, MAIN, &format!("      {main}resistance: 0.15 mohm }}"));
    let text = changed(&text, "withstands: 1e6 A^2 s, resistance: 0.15 mohm,\n", "withstands: 1e6 A^2 s,\n");
    changed(&text, PRECHARGE, &format!("{precharge}resistance: 2 mohm }}"))
}

/// The auxiliary converter makes the board net. Once it stops the coil of the main contactor is not held, the pack is cut off, and
/// its bus and the link die with it, which a contactor that nobody says anything of leaves alive.
#[test]
fn a_contactor_opens_with_what_its_coil_lives_on() {
    let silent = faults(&with_coils("", ""));
    let stays = effect(&silent, Kind::Bus, "board_net");
    assert!(stays.cut_off.is_empty() && !stays.dead.contains(&"pack_bus".to_owned()), "{stays:#?}");
    let all = faults(FORWARDER);
    for (kind, part) in [(Kind::Bus, "board_net"), (Kind::Transformer, "auxiliary_lower_transformer")] {
        let opens = effect(&all, kind, part);
        assert_eq!(opens.cut_off, ["pack"], "{part}");
        assert_eq!(opens.dead, ["pack_bus", "link", "board_net"], "{part}");
        let said = "main_contactor opens: nothing holds its coil any more";
        assert!(opens.says.iter().any(|one| one == said), "{:?}", opens.says);
        let discharge = "link: its active discharge lives on link and works against traction_motor for as long as that turns";
        assert_eq!(opens.discharge, [discharge], "{part}");
    }
    // Two feeds of a coil hold it until both are lost.
    let twice = with_coils("coil: { from: board_net, also_from: link }, ", "");
    let all = faults(&twice);
    assert!(effect(&all, Kind::Bus, "board_net").cut_off.is_empty());
}

/// A contactor that is held by a controller opens with that, and with all that the controller depends on.
#[test]
fn a_contactor_opens_with_its_controller() {
    let by_pump = with_coils("coil: { from: link, controller: pump_controller }, ", "");
    let all = faults(&by_pump);
    assert_eq!(effect(&all, Kind::Controller, "pump_controller").cut_off, ["pack"]);
    assert!(effect(&all, Kind::Controller, "drive_controller").cut_off.is_empty());
    let enabled = changed(
        &by_pump,
        "pump_controller: { domain: low_voltage, from: board_net,",
        "pump_controller: { domain: low_voltage, from: board_net, depends_on: [enable],",
    );
    assert_eq!(effect(&faults(&enabled), Kind::Dependence, "enable").cut_off, ["pack"]);
}

/// A pre-charge that does not close leaves all that works at work.
#[test]
fn a_precharge_without_its_coil_does_not_close_again() {
    let text = with_coils("coil: { from: link }, ", "coil: { from: link, controller: pump_controller }, ");
    let all = faults(&text);
    let lost = effect(&all, Kind::Controller, "pump_controller");
    assert!(lost.cut_off.is_empty());
    let said = "precharge_contactor does not close for another pre-charge";
    assert!(lost.says.iter().any(|one| one == said), "{:?}", lost.says);
}

/// What a coil lives on is asked of the other contactors once one says it, and of none where none does.
#[test]
fn what_other_coils_live_on_is_asked_once_one_says_it() {
    let waits = |text: &str| {
        let review = reviewed(text);
        let own = review.not_judged.iter().filter(|one| one.checks.contains(&"control-cover"));
        own.map(|one| one.missing.clone()).collect::<Vec<_>>()
    };
    assert_eq!(waits(FORWARDER), [""; 0]);
    assert_eq!(waits(&with_coils("", "")), [""; 0]);
    let one = with_coils("coil: { from: board_net }, ", "");
    assert_eq!(waits(&one), ["coil.from of precharge_contactor is not stated"]);
    // What commands them as well.
    let commanded = "coil: { from: board_net, controller: drive_controller }, ";
    let one = with_coils(commanded, "coil: { from: board_net }, ");
    assert_eq!(waits(&one), ["coil.controller of precharge_contactor is not stated"]);
}

/// The coil takes its power in another domain than that of the contacts: what lies between is a barrier.
#[test]
fn a_coil_of_another_circuit_passes_a_barrier() {
    let unlisted = changed(
        FORWARDER,
        "spanned_by: [auxiliary_transformer, main_contactor,",
        "spanned_by: [auxiliary_transformer,",
    );
    let review = reviewed(&unlisted);
    let found = review.findings.iter().find(|one| one.defect == "no-barrier").expect("it joins them");
    assert!(found.saying.starts_with("`main_contactor` "), "{}", found.saying);
    let silent = changed(
        &with_coils("", ""),
        "spanned_by: [auxiliary_transformer, main_contactor, precharge_contactor]",
        "spanned_by: [auxiliary_transformer]",
    );
    assert!(reviewed(&silent).findings.iter().all(|one| one.check != "barrier-crossing"));
}
