//! Banks, and how buses are discharged.

use super::{GROOMER, New, after, after_in, one, said};
use crate::descriptions::changed;

#[test]
fn a_bus_without_its_bank_is_found_where_banks_are_described() {
    let bank = "  board_bank:\n    { kind: bank, bus: board_net, parts: 6, each: elyte50_2m2, path: { inductance: 10 nH, resistance: 0.3 mohm } }\n";
    let (new, missing) = after(bank, "");
    assert_eq!(new, [("link-ripple", "no-bank", "board_net".to_owned())]);
    assert_eq!(missing, [""; 0]);
    // A source gives no pulses, and what waits for the bank is told with it.
    let link = "  link_bank: { kind: bank, bus: link, parts: 12, each: film900_60u, path: { inductance: 2 nH, resistance: 0.15 mohm } }\n";
    assert_eq!(after(link, ""), one("link-ripple", "no-bank", "link"));
    // A bank that does not say where it stands may stand there.
    let (new, missing) = after("kind: bank, bus: board_net,", "kind: bank,");
    assert_eq!((new.len(), missing), (0, vec!["bus of board_bank is not stated".to_owned()]));
}

#[test]
fn a_pre_charge_that_has_no_bank_to_charge_is_found() {
    let bank = "  cell_bank:\n    { kind: bank, bus: cell_bus, parts: 1, each: film500_150u, path: { inductance: 12 nH, resistance: 0.3 mohm } }\n";
    assert_eq!(after_in(GROOMER, &[(bank, "")]), one("link-ripple", "no-bank", "cell_bus"));
    // Without one the cell itself takes what the four legs leave.
    let precharge = "  cell_precharge: { around: cell_contactor, through: [cell_precharge_contactor, cell_precharge_resistor] }\n";
    let (new, missing) = after_in(GROOMER, &[(bank, ""), (precharge, "")]);
    assert!(new.iter().all(|(check, ..)| *check != "link-ripple"), "{new:#?}");
    assert_eq!(missing, [""; 0]);
}

#[test]
fn a_bus_that_is_discharged_has_a_bank() {
    let text = crate::descriptions::holding("stored-energy");
    let from = text.find("capacitors:").expect("a bank");
    let types = text.find("capacitor_types:").expect("its type");
    let bare = format!("{}{}", &text[..from], &text[types..]);
    let says = |text: &str| said(&crate::descriptions::reviewed(text));
    assert!(says(&bare).contains(&("link-ripple", "no-bank", "link".to_owned())), "{:?}", says(&bare));
    // Of a bus of which nothing is said that banks are about, they lie outside the concept.
    let discharge = "    discharge: { resistor: 120 kohm, resistor_power: 3 W, passively_within: 120 s }\n";
    let silent = says(&changed(&bare, discharge, ""));
    assert!(silent.iter().all(|(_, defect, _)| *defect != "no-bank"), "{silent:?}");
}

#[test]
fn a_time_that_only_a_switched_discharge_can_keep_is_held_against_what_is_there() {
    let active = ", active: { power: 800 W, from: link }, within: 5 s";
    assert_eq!(after(active, ", within: 5 s"), one("stored-energy", "active-discharge", "link"));
    // Who asks for no shorter time has none.
    assert_eq!(after(active, ""), New::default());
}

#[test]
fn a_bank_below_the_voltage_of_its_bus_is_told_once() {
    // Capacitors for 50 V on a link of up to 820 V: whatever else comes of it goes with that word.
    let moved = after("kind: bank, bus: board_net,", "kind: bank, bus: link,");
    assert_eq!(moved, one("one-cause", "one-key", "board_bank"));
    // Of smaller capacitors at their own bus nothing but the voltage is told of what the link comes to.
    let (new, _) = after("parts: 12, each: film900_60u", "parts: 60, each: elyte50_2m2");
    let of_voltage: Vec<&str> = new
        .iter()
        .map(|one| one.1)
        .filter(|defect| ["peak-voltage", "too-late", "open-bus-voltage", "bus-rise"].contains(defect))
        .collect();
    assert_eq!(of_voltage, ["peak-voltage"], "{new:#?}");
}
