//! Contactors that open one pole of a source and leave the other joined.

use crate::descriptions::{changed, reviewed};
use crate::fault_walk::{GROOMER, SHUTTLE};

/// Part, grade and saying of what is found of poles.
fn found(text: &str) -> Vec<(String, &'static str, String)> {
    let all = reviewed(text).findings.into_iter().filter(|one| one.defect == "one-pole");
    all.map(|one| (one.part, one.grade.word(), one.saying)).collect()
}

const FEED: &str = "through: [pack_fuse, main_contactor, pack_plug,";
const BACK: &str = "  pack_back: { from: hv_minus, to: pack, through: [minus_contactor] }\n";

/// The shuttle with one more contactor, and a branch of it or none.
fn with_another(branch: &str) -> String {
    let text = changed(SHUTTLE, "\nbranches:\n", &format!("\nbranches:\n{branch}"));
    let more = "\nconductors:\n  minus_contactor:\n    { kind: contactor, current: { continuous: 450 A, at: 85 degC }, breaks: { voltage: 900 V, current: 1600 A },\n      opens: { above: 420 A, after: 5 s }, withstands: 600e3 A^2 s, resistance: 0.2 mohm }\n";
    changed(&text, "\nconductors:\n", more)
}

#[test]
fn one_contactor_opens_one_pole() {
    let said = "`main_contactor` opens one pole of `pack` alone: its other pole stays joined to `link`";
    assert_eq!(found(SHUTTLE), [("main_contactor".to_owned(), "note", said.to_owned())]);
    assert_eq!(found(&with_another(BACK)), []);
    // Each source has poles of its own.
    let parts: Vec<String> = found(GROOMER).into_iter().map(|one| one.0).collect();
    assert_eq!(parts, ["cell_contactor", "pack_contactor"]);
}

#[test]
fn two_contactors_in_one_pole_leave_the_other() {
    let both =
        with_another("").replace(FEED, "through: [pack_fuse, main_contactor, minus_contactor, pack_plug,");
    let all = found(&both);
    let said = "`main_contactor`, `minus_contactor` open the same pole of `pack`: its other pole stays joined to `link`";
    assert_eq!(all, [("main_contactor".to_owned(), "minor", said.to_owned())]);
}

/// Where a pole stands on the chassis, where nobody says in which pole a contactor stands, and where nothing hurts, nothing is asked.
#[test]
fn sources_that_need_no_second_pole_are_passed_over() {
    let within = with_another("").replace("pack_bar] }", "pack_bar], parted_by: minus_contactor }");
    assert_eq!(found(&within), []);
    let earthed = "traction:\n      { touchable: false,";
    let text = SHUTTLE.replace(earthed, &format!("{earthed} earthing: negative_rail,"));
    assert_ne!(text, SHUTTLE, "the domain is written another way");
    assert_eq!(found(&text), []);
    let harmless = include_str!("../../../examples/vineyard-carrier.yaml");
    let harmless =
        changed(harmless, "    nominal: 77 V\n    highest: 92 V\n", "    nominal: 48 V\n    highest: 58 V\n");
    let harmless = changed(
        &harmless,
        "{ lowest: 60 V, nominal: 77 V, highest: 88 V }",
        "{ lowest: 40 V, nominal: 48 V, highest: 56 V }",
    );
    let harmless = changed(&harmless, "voltage: 89.5 V", "voltage: 57 V");
    let harmless = ["77 V", "64 V", "84 V"].iter().fold(harmless, |text, volts| {
        text.replace(&format!("pack: {{ open_circuit: {volts} }}"), "pack: { open_circuit: 48 V }")
    });
    assert_eq!(found(&harmless), []);
}
