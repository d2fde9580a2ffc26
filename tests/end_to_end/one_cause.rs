//! Several findings that one word brings, as a reader sees them.

use super::program::{Folder, assert_shown, run_in, text_of};

/// What a review of an example says of one check, once passages of it are others.
fn told(unit: &str, changes: &[(&str, &str)], check: &str) -> String {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    let mut text = text_of(&format!("examples/{unit}.yaml"));
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in {unit}");
        text = text.replace(from, to);
    }
    folder.put("unit.yaml", text);
    let ran = run_in(&folder, &["review", "unit.yaml"]);
    let found = ran.out.split("\n\n").find(|block| block.contains(check)).unwrap_or_default();
    assert!(!found.is_empty(), "{}", ran.out);
    found.to_owned()
}

#[test]
fn a_voltage_that_was_typed_wrongly_is_told_with_what_comes_of_it() {
    let highest = ("nominal: 620 V\n    highest: 700 V", "nominal: 620 V\n    highest: 7000 V");
    assert_shown!("mistyped_voltage", told("timber-forwarder", &[highest], "one-cause"));
}

#[test]
fn a_pre_charge_that_is_given_up_is_told_at_what_breaks_it() {
    let breaks = |amps: &str| format!("breaks: {{ voltage: 900 V, current: {amps} }},\n      makes: 30 A");
    let weak = (&*breaks("30 A"), &*breaks("5 A"));
    assert_shown!("given_up", told("harbour-shuttle", &[weak], "precharge_contactor"));
}

#[test]
fn outputs_named_like_one_another_s_transformers_are_told_as_a_note() {
    let [own, other] =
        ["front_lower_transformer,", "rear_lower_transformer,"].map(|of| format!("transformer: {of}"));
    let swapped = [(&*own, "\u{1}"), (&*other, &*own), ("\u{1}", &*other)];
    assert_shown!("crossed_names", told("harbour-shuttle", &swapped, "floating-supplies"));
}

#[test]
fn what_the_altitude_asks_too_much_of_is_told_at_the_altitude() {
    let higher = ("\n  altitude: 3000 m", "\n  altitude: 4500 m");
    assert_shown!("thin_air", told("snow-groomer", &[higher], "4.5 km"));
}

#[test]
fn a_slip_is_told_with_what_comes_of_it() {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    let text = text_of("examples/harbour-shuttle.yaml");
    let banks = ["kind: bank, bus: link,", "kind: bank, bus: board_net,"];
    let exchanged = text.replace(banks[0], "BANK").replace(banks[1], banks[0]).replace("BANK", banks[1]);
    folder.put("shuttle.yaml", exchanged);
    let ran = run_in(&folder, &["review", "shuttle.yaml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    let found = ran.out.split("\n\n").find(|block| block.contains("one-cause")).unwrap_or_default();
    assert_shown!("one_cause", found);
}
