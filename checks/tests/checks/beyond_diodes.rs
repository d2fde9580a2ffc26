//! What stands beyond the diodes of a boost: a fault and an overload there come through them from the fuse before it.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::Verdict;

use crate::descriptions::{changed, defects, finding, reviewed, trencher, unit};

const NAME: &str = "fuse-coordination";
/// What the trencher's fuse lets pass for good: 225 A in air of 70 °C, the element at 140 °C, and 1.6/1.45 of that.
const PASSES: f64 = 225.0 * 0.780_188 * 1.6 / 1.45;

/// The trencher with a bar in a branch of its own.
fn with_bar(branch: &str, bar: &str) -> String {
    let text = changed(
        trencher(),
        "\nconductors:\n",
        &format!("  bars: {{ {branch}, through: [bar] }}\n\nconductors:\n"),
    );
    changed(&text, "\nconductors:\n", &format!("\nconductors:\n  bar: {bar}\n"))
}

fn rated(amps: &str) -> String {
    format!(
        "{{ kind: busbar, width: 20 mm, thickness: 2 mm, length: 200 mm, current: {{ continuous: {amps}, at: 85 degC }} }}"
    )
}

const HIGH_SIDE: &str = "from: step_up, to: link";

fn judged(text: &str, defect: &str) -> Vec<Verdict> {
    let unit = unit(text);
    let review = reviewed(text);
    let own = |one: &&Verdict| one.defect == defect && unit.variants[0].path(one.part) == "bar";
    review.verdicts.iter().flatten().filter(own).cloned().collect()
}

fn told(review: &Review) -> bool {
    finding(review, "unended-overload")
        .facts
        .iter()
        .any(|fact| fact.contains("the trip of `step_up` does not end it"))
}

#[test]
fn the_fuse_before_a_boost_protects_what_names_no_other() {
    let text = with_bar(HIGH_SIDE, &rated("250 A"));
    let held = judged(&text, "let-through");
    // Clearing I²t of the pack's fuse, through choke and diode: no bank stands on the link.
    assert!(!held.is_empty());
    for one in &held {
        let compared = one.comparison().expect("judged");
        assert!((compared.carried_value / 36e3 - 1.0).abs() < 1e-9, "{compared:?}");
    }
    let thin =
        "{ kind: cable, section: 1.5 mm^2, length: 0.2 m, current: { continuous: 250 A, at: 85 degC } }";
    let review = reviewed(&with_bar(HIGH_SIDE, thin));
    let found = finding(&review, "let-through");
    assert!(found.facts.iter().any(|fact| fact.contains("fed through diodes")), "{:?}", found.facts);
    // A fuse of its own takes its place.
    let own = changed(&text, "through: [bar]", "through: [own_fuse, bar]");
    let own = changed(&own, "\nconductors:\n", "\nconductors:
  own_fuse: { kind: fuse, voltage: 700 V DC, current: 225 A, melting: 9e3 A^2 s, clearing: 30e3 A^2 s, breaking: 30 kA, least_breaking: 250 A }\n");
    let held = judged(&own, "let-through");
    assert!(
        held.iter().all(|one| (one.comparison().expect("judged").carried_value / 30e3 - 1.0).abs() < 1e-9)
    );
}

#[test]
fn banks_on_the_high_bus_send_into_the_bar_what_no_fuse_limits() {
    let bank = "  link_bank: { kind: bank, bus: link, each: film, parts: 2, path: { resistance: 0.2 mohm, inductance: 10 nH } }

capacitor_types:
  film: { capacitance: 300 uF, tolerance: 10 %, voltage: 900 V, series_resistance: 2 mohm, inductance: 30 nH }
";
    let text = with_bar(HIGH_SIDE, &rated("250 A"));
    let text = changed(&text, "\nstages:\n", &format!("\ncapacitors:\n{bank}\nstages:\n"));
    let text = changed(&text, "  link: { ", "  link: { highest: 700 V, ");
    // 660 µF from 700 V over 1.2 mΩ and the cold bar, from the other side than the fuse: the larger counts.
    let bar = 17.241e-9 * 0.2 / 40e-6 * (1.0 - 0.003_93 * 60.0);
    let sent = 0.5 * 660e-6 * 700.0 * 700.0 / (1.2e-3 + bar);
    assert!(sent > 36e3);
    for one in judged(&text, "let-through") {
        let compared = one.comparison().expect("judged");
        assert!((compared.carried_value / sent - 1.0).abs() < 2e-3, "{compared:?} {sent}");
    }
}

#[test]
fn an_overload_beyond_a_boost_is_what_the_fuse_before_it_lets_pass() {
    for (amps, fails) in [("250 A", false), ("180 A", true)] {
        let text = with_bar(HIGH_SIDE, &rated(amps));
        let held = judged(&text, "unended-overload");
        let compared = held[0].comparison().expect("judged");
        assert!((compared.carried_value / PASSES - 1.0).abs() < 1e-4, "{compared:?} {PASSES}");
        assert_eq!(defects(&reviewed(&text)).contains(&(NAME, "unended-overload")), fails, "{amps}");
    }
}

#[test]
fn the_trip_of_a_boost_does_not_stop_its_diodes() {
    // Both legs together would trip at 156 A at the latest.
    let tripped = |branch: &str| {
        let text = with_bar(branch, &rated("180 A"));
        changed(&text, "    inductance: 220 uH\n", "    inductance: 220 uH\n    trip: 75 A\n")
    };
    for branch in [HIGH_SIDE, "from: pack_bus, to: step_up"] {
        let review = reviewed(&tripped(branch));
        let compared = finding(&review, "unended-overload").comparison.expect("compared");
        assert!((compared.carried_value / PASSES - 1.0).abs() < 1e-4, "{branch}: {compared:?}");
        assert!(told(&review), "{branch}");
    }
}

#[test]
fn the_trip_of_a_buck_stops_what_it_takes() {
    let tripped = |trip: &str| {
        let text = with_bar("from: pack_bus, to: lamp_buck", &rated("25 A"));
        let trip = format!("lamp_choke: {{ kind: choke, inductance: 500 uH, {trip}");
        changed(&text, "lamp_choke: { kind: choke, inductance: 500 uH, ", &trip)
    };
    assert!(defects(&reviewed(&tripped(""))).contains(&(NAME, "unended-overload")));
    let held = judged(&tripped("trip: 20 A, "), "unended-overload");
    assert!(held[0].comparison().expect("judged").carried_value < 25.0, "{held:?}");
}
