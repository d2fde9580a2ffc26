//! Single faults of banks, discharges and windings, and what a machine that turns on gives to a bus that stands it.

use loadworthy_checks::faults::{Effect, Kind};

use crate::descriptions::changed;
use crate::fault_walk::{FORWARDER, SHUTTLE, effect, faults};

fn says(effect: &Effect, begins: &str) -> String {
    let found = effect.says.iter().find(|said| said.starts_with(begins));
    found.unwrap_or_else(|| panic!("{begins}: {:#?}", effect.says)).clone()
}

/// 0.21 V s, four pairs of poles and 4000 1/min make a crest of 609 V, which the link stands and the pack at 540 V does not hold off.
#[test]
fn a_machine_that_turns_on_charges_a_bus_that_stands_its_crest() {
    let all = faults(SHUTTLE);
    let stopped = effect(&all, Kind::Controller, "front_controller");
    let said = says(stopped, "front_motor at highest speed feeds link through the diodes with a crest of ");
    assert!(said.contains(" come at ") && said.ends_with("that pack can take for good"), "{said}");
    assert!(!said.contains("what else turns"), "{said}");
    // Without the net of the controls both machines turn on, and the pack has to take what both give.
    let both = effect(&all, Kind::Bus, "board_net");
    let said = says(both, "rear_motor at highest speed feeds link through the diodes with a crest of ");
    assert!(said.contains(" with what else turns there, more than the 180 A that pack"), "{said}");
    // A machine whose crest lies below every voltage of the link gives nothing.
    let slow = changed(SHUTTLE, "highest_speed: 4000 1/min", "highest_speed: 3000 1/min");
    let all = faults(&slow);
    let stopped = effect(&all, Kind::Controller, "front_controller");
    assert!(!stopped.says.iter().any(|said| said.starts_with("front_motor at")), "{:#?}", stopped.says);
}

#[test]
fn banks_are_held_against_what_a_machine_brings_their_bus_to() {
    let all = faults(FORWARDER);
    let said = says(
        effect(&all, Kind::Sensor, "link_voltage"),
        "traction_motor at highest speed brings link to 717 V",
    );
    assert!(said.ends_with("above its 700 V; link_bank is made for 900 V"), "{said}");
    let low = changed(FORWARDER, "each: film900_120u", "each: film500_150u");
    let all = faults(&low);
    let said = says(
        effect(&all, Kind::Sensor, "link_voltage"),
        "traction_motor at highest speed brings link to 717 V",
    );
    assert!(said.ends_with(", and above the 500 V of link_bank"), "{said}");
}

/// What is left of a bank carries its ripple: six parts or five share the same.
#[test]
fn capacitors_that_come_apart_leave_their_ripple_to_the_others() {
    let all = faults(FORWARDER);
    assert_eq!(
        effect(&all, Kind::Capacitor, "link_bank").says,
        ["goes on with 5 of 6 capacitors, which carry its ripple"]
    );
    let alone = effect(&all, Kind::BankOpen, "link_bank");
    assert!(alone.is_open && alone.says[0].starts_with("nothing else across link takes the ripple of "));
    // Of two banks the other one is solved with all of it.
    let own = "link_bank: { kind: bank, bus: link, parts: 6, each: film900_120u, path: { inductance: 8 nH, resistance: 0.2 mohm } }";
    let half = own.replace("parts: 6", "parts: 1");
    let two = changed(FORWARDER, own, &format!("{half}\n  {}", half.replace("link_bank", "link_other")));
    let all = faults(&two);
    let open = effect(&all, Kind::BankOpen, "link_bank");
    assert_eq!(open.says[0], "its ripple goes to link_other");
    assert!(open.is_solved, "{open:#?}");
}

/// 756 V through 70 ohm against 800 W: V² − 756·V + 70·800 = 0 has its higher root at 674 V, which is 11 % short.
#[test]
fn a_discharge_that_stays_on_keeps_a_bus_from_starting() {
    let all = faults(SHUTTLE);
    let on = effect(&all, Kind::DischargeOn, "link");
    assert!(on.is_open && on.says[0].starts_with("takes up to 800 W from link"), "{:#?}", on.says);
    let said = says(on, "pack_precharge brings link to no more than 67");
    assert!(
        said.contains(" of 756 V against it, and main_contactor is not to close on more than 5 % left"),
        "{said}"
    );
    // One that takes little is no hindrance.
    let weak =
        changed(SHUTTLE, "active: { power: 800 W, from: link }", "active: { power: 80 W, from: link }");
    let all = faults(&weak);
    assert_eq!(effect(&all, Kind::DischargeOn, "link").says.len(), 1);
}

#[test]
fn shorted_chokes_and_phases_stop_their_stage_and_say_what_ends_them() {
    let all = faults(FORWARDER);
    let choke = effect(&all, Kind::Choke, "step_up.step_up_choke");
    assert!(choke.stops.contains(&"step_up".to_owned()), "{choke:#?}");
    let said = says(choke, "nothing holds its current back: step_up.low_side turning on shorts pack_bus");
    assert!(said.contains("pack_fuse clears"), "{said}");
    let phases = effect(&all, Kind::Phases, "traction_motor");
    let said = says(phases, "two legs turning on against one another short link through it");
    assert!(
        said.ends_with("traction_motor drives a current through it while it turns, gates off or not"),
        "{said}"
    );
    assert!(phases.stops.contains(&"traction_bridge".to_owned()));
}

/// A bus without a bank is shorted as one with a bank is.
#[test]
fn a_short_of_a_bus_without_a_bank_is_walked_as_well() {
    let own = "  board_bank:\n    { kind: bank, bus: board_net, parts: 4, each: elyte50_2m2, path: { inductance: 10 nH, resistance: 0.4 mohm } }\n";
    let all = faults(&changed(FORWARDER, own, ""));
    let short = effect(&all, Kind::BusShort, "board_net");
    assert!(short.says[0].starts_with("shorts board_net"), "{:#?}", short.says);
    assert!(faults(FORWARDER).iter().all(|one| one.causes.iter().all(|(kind, _)| *kind != Kind::BusShort)));
}

/// Turns of a transformer that are shorted leave its leakage alone, whatever switches its primary.
#[test]
fn a_winding_that_is_shorted_lets_its_switches_short_what_feeds_them() {
    let all = faults(FORWARDER);
    let shorted = effect(&all, Kind::Winding, "auxiliary.auxiliary_transformer");
    let said = says(shorted, "its leakage alone holds the current of its primary back: ");
    assert!(said.contains("bridge_high with bridge_low turning on shorts pack_bus through it"), "{said}");
    assert!(said.ends_with("board_net gets nothing through it"), "{said}");
    // Nothing else feeds that net: what lives on it stops as if the net were lost.
    let net = effect(&all, Kind::Bus, "board_net");
    for stage in &net.stops {
        assert!(shorted.stops.contains(stage), "{stage}: {:#?}", shorted.stops);
    }
    // One switch of a forward converter drives its primary.
    let all = faults(include_str!("../../../examples/snow-groomer.yaml"));
    let said = says(effect(&all, Kind::Winding, "auxiliary.auxiliary_transformer"), "its leakage alone ");
    assert!(said.contains(": main turning on shorts link through it"), "{said}");
}
