//! Conductors by their temperature: what heats them, what cools them, what is missing, what is proposed.

use loadworthy_checks::Review;
use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_unit::Solved;

use crate::descriptions::{changed, defects, failing, holding, reviewed, unit};

const NAME: &str = "conductor-loading";
const BAR: &str = "    kind: busbar
    width: 25 mm
    thickness: 4 mm
    length: 120 mm
    position: flat
    emissivity: 20 %
    hottest: 105 degC
";

/// The tug with another conductor between link and bridge.
fn with(conductor: &str) -> String {
    changed(holding(NAME), BAR, &format!("    {conductor}\n"))
}

fn verdicts(review: &Review) -> Vec<&Verdict> {
    review.verdicts.iter().flatten().filter(|verdict| verdict.check == NAME).collect()
}

fn one(review: &Review) -> &Finding {
    review.findings.iter().find(|one| one.check == NAME).expect("a finding")
}

/// A solved figure of the bar in the first lane.
fn figure(text: &str, name: &str) -> f64 {
    figure_at(text, &format!("bridge_bar.{name}"))
}

fn figure_at(text: &str, path: &str) -> f64 {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    let lane = unit.variants[0].lane_ids().next().expect("a lane");
    let tables = &unit.variants[0].tables;
    let ids = (0..tables.figures().len()).map(loadworthy_unit::FigureId::new);
    let id = ids.into_iter().find(|&id| tables.figure_path(id) == path).expect("the figure");
    solved.raw(id, lane)
}

fn missing(text: &str) -> Vec<String> {
    reviewed(text).not_judged.iter().map(|one| one.missing.clone()).collect()
}

#[test]
fn ripple_heats_the_bar_of_a_bridge_and_not_that_of_a_source_with_a_bank() {
    let ripple = figure(holding(NAME), "ripple_current");
    assert!((60.0..100.0).contains(&ripple), "{ripple}");
    let (amps, heating) = (figure(holding(NAME), "current"), figure(holding(NAME), "heating_current"));
    assert!(heating * heating > amps * amps + ripple * ripple, "it crowds: {heating}");

    let fed = changed(holding(NAME), "  pack_feed: { from: pack, to: link, protected_by: pack_fuse }\n", "");
    let bare = changed(&fed, "from: link, to: tug_bridge", "from: pack, to: link");
    let fed = changed(&bare, "stages:\n", "capacitors:\n  link_bank: { kind: bank, bus: link }\n\nstages:\n");
    assert!(figure(&fed, "ripple_current").abs() < 1e-12, "the bank takes it");
    assert!((figure(&bare, "ripple_current") - ripple).abs() < 0.05 * ripple, "nothing else takes it");
}

#[test]
fn a_proposed_width_is_what_a_description_with_it_gives() {
    let review = reviewed(failing(NAME));
    let held = &one(&review).proposals[0];
    assert_eq!(
        (held.set[0].path.as_str(), held.set[0].written.as_str()),
        ("conductors.bridge_bar.width", "40 mm")
    );
    let written = changed(failing(NAME), "width: 15 mm", "width: 40 mm");
    assert_eq!(defects(&reviewed(&written)), []);
    // Its resistance follows the section that is tried, as it follows the one that is written.
    let celsius = figure(&written, "temperature");
    assert!(held.leaves.contains(&format!("{celsius:.1}")), "{} against {celsius}", held.leaves);
}

#[test]
fn a_laminated_pair_on_edge_is_cooler_than_a_flat_bar_of_its_section() {
    let text = with(
        "{ kind: laminated_busbar, width: 50 mm, thickness: 2 mm, length: 120 mm, gap: 0.3 mm, position: on_edge, emissivity: 90 %, hottest: 105 degC }",
    );
    assert_eq!(defects(&reviewed(&text)), []);
    assert!(figure(&text, "temperature") < figure(holding(NAME), "temperature"));
}

#[test]
fn a_pad_leads_the_heat_to_the_coolant_of_its_element() {
    let pad = |on: &str, path: &str| {
        with(&format!(
            "{{ kind: busbar, width: 15 mm, thickness: 1.5 mm, length: 120 mm, hottest: 105 degC, pad: {{ on: {on}, resistance: {path} }} }}"
        ))
    };
    let text = pad("cold_plate", "0.5 K/W");
    assert_eq!(defects(&reviewed(&text)), []);
    let celsius = figure(&text, "temperature");
    assert!((60.0..85.0).contains(&celsius), "{celsius}");
    assert_eq!(defects(&reviewed(&pad("cold_plate", "20 K/W"))), [(NAME, "too-hot")]);
    // And there it warms the coolant, with all that the bar loses and the bridge with it.
    let heat = |text: &str| figure_at(text, "cooling.cold_plate.heat");
    let (loss, stage) = (figure(&text, "loss"), figure_at(&text, "tug_bridge.loss"));
    assert!(loss > 1.0, "{loss}");
    assert!((heat(&text) - loss - stage).abs() < 1e-6, "{} of {loss} and {stage}", heat(&text));
    assert!((heat(holding(NAME)) - figure_at(holding(NAME), "tug_bridge.loss")).abs() < 1e-6);
}

#[test]
fn a_section_that_no_table_knows_asks_for_its_resistance() {
    let cable = |section: &str| {
        with(&format!(
            "{{ kind: cable, section: {section}, length: 0.6 m, outer_diameter: 60 mm, hottest: 150 degC }}"
        ))
    };
    for section in ["0.3 mm^2", "1000 mm^2"] {
        let said = missing(&cable(section));
        assert!(said.iter().any(|one| one.contains("0.5 to 630 mm²")), "{section}: {said:?}");
    }
    // Of the largest row: 0.0287 mΩ/m at 20 °C.
    let amps = figure(&cable("630 mm^2"), "current");
    let ohms = figure(&cable("630 mm^2"), "loss") / (amps * amps);
    assert!((ohms / (0.6 * 0.0287e-3 * (1.0 + 0.003_93 * 50.0)) - 1.0).abs() < 1e-9, "{ohms}");
    let stated = changed(&cable("1000 mm^2"), "length: 0.6 m,", "length: 0.6 m, resistance: 12 uohm,");
    assert!(!missing(&stated).iter().any(|one| one.contains("bridge_bar")), "{:?}", missing(&stated));
}

#[test]
fn a_cable_needs_its_diameter_and_what_its_insulation_stands() {
    let bare = with("{ kind: cable, section: 25 mm^2, length: 0.6 m }");
    let said = missing(&bare);
    for key in ["outer_diameter", "hottest"] {
        assert!(said.iter().any(|one| one.contains(key)), "{key}: {said:?}");
    }
    let known =
        with("{ kind: cable, section: 25 mm^2, length: 0.6 m, outer_diameter: 10 mm, hottest: 165 degC }");
    let review = reviewed(&known);
    assert_eq!(defects(&review), []);
    assert!(verdicts(&review).iter().all(|verdict| matches!(verdict.outcome, Outcome::Holds(Some(_)))));
    let thin = changed(
        &known,
        "section: 25 mm^2, length: 0.6 m, outer_diameter: 10 mm",
        "section: 10 mm^2, length: 0.6 m, outer_diameter: 10 mm",
    );
    let review = reviewed(&thin);
    let held = &one(&review).proposals[0];
    assert!(held.set[0].path.ends_with("bridge_bar.section"), "{held:?}");
}

#[test]
fn foil_that_no_law_knows_asks_for_a_bar() {
    let foil =
        "{ kind: foil, width: 30 mm, thickness: 105 um, length: 60 mm, layer: outer, hottest: 130 degC }";
    let review = reviewed(&with(foil));
    assert_eq!(defects(&review), [(NAME, "beyond-foil")]);
    let finding = one(&review);
    assert!(finding.saying.contains("any printed foil is known for"), "{}", finding.saying);
    let bar = &finding.proposals[0];
    assert!(bar.say.starts_with("a flat bar of"), "{}", bar.say);
    assert!(bar.set.is_empty(), "no value expresses it");
}

#[test]
fn contacts_without_a_rated_current_need_a_way_for_their_heat() {
    // A sheet states the current; who states how the heat leaves is asked how hot it may get, and the other way round.
    let said = missing(&with("{ kind: connector, resistance: 0.1 mohm }"));
    assert!(said.iter().any(|one| one.ends_with(".current.continuous is not stated")), "{said:?}");
    assert!(!said.iter().any(|one| one.contains("hottest")), "{said:?}");
    for (given, asked) in
        [("hottest: 110 degC", "thermal_resistance"), ("thermal_resistance: 5 K/W", "hottest")]
    {
        let said = missing(&with(&format!("{{ kind: connector, resistance: 0.1 mohm, {given} }}")));
        assert!(said.iter().any(|one| one.contains(asked)), "{asked}: {said:?}");
    }
    let plug = |path: &str| {
        with(&format!(
            "{{ kind: connector, resistance: 0.2 mohm, thermal_resistance: {path}, hottest: 110 degC }}"
        ))
    };
    assert_eq!(defects(&reviewed(&plug("4 K/W"))), []);
    assert_eq!(defects(&reviewed(&plug("15 K/W"))), [(NAME, "too-hot")]);
}

#[test]
fn a_stated_rating_is_for_another_check() {
    let rated = with(
        "{ kind: busbar, width: 15 mm, thickness: 1.5 mm, length: 120 mm, current: { continuous: 200 A, at: 80 degC } }",
    );
    assert!(verdicts(&reviewed(&rated)).is_empty());
    let sensor = with("{ kind: sensor }");
    assert!(missing(&sensor).iter().any(|one| one.contains("current.continuous")));
}

#[test]
fn what_recurs_is_weighed_over_its_cycle() {
    // What its fuse lets pass for good is told of as well, and by another check.
    let own = |lasts: &str| -> Vec<(&str, &str)> {
        let review = reviewed(&changed(failing(NAME), "lasts: continuous", lasts));
        let own = review.findings.iter().filter(|one| one.check == NAME);
        own.map(|one| (one.defect, one.grade.word())).collect()
    };
    assert_eq!(own("lasts: 30 s\n    every: 300 s"), []);
    assert_eq!(own("lasts: 30 s\n    every: 40 s"), [("too-hot", "major")]);
    assert_eq!(own("lasts: 30 s"), [("too-hot", "minor")]);
}

#[test]
fn thin_air_makes_it_hotter() {
    let high = changed(holding(NAME), "altitude: 500 m", "altitude: 4000 m");
    assert!(figure(&high, "temperature") > figure(holding(NAME), "temperature") + 0.5);
}

#[test]
fn the_density_of_a_current_is_that_of_its_section() {
    let text = holding("conductor-loading");
    // 25 by 4 mm.
    let (current, ripple) = (figure(text, "current"), figure(text, "ripple_current"));
    let by_hand = libm::sqrt(current * current + ripple * ripple) / 100e-6;
    let found = figure(text, "current_density");
    assert!((found / by_hand - 1.0).abs() < 1e-12, "{found} {by_hand}");
    let twice = changed(text, "width: 25 mm", "width: 50 mm");
    assert!((figure(&twice, "current_density") / found - 0.5).abs() < 1e-3);
}

#[test]
fn what_a_conductor_loses_is_what_leaves_it() {
    let plug =
        with("{ kind: connector, resistance: 0.4 mohm, thermal_resistance: 1.5 K/W, hottest: 105 degC }");
    // All that it loses passes 1.5 K/W into air of 70 °C, however it came about.
    let leaves = (figure(&plug, "temperature") - 70.0) / 1.5;
    let loses = figure(&plug, "heating_loss");
    assert!(leaves > 5.0 && (loses / leaves - 1.0).abs() < 1e-9, "{loses} W of {leaves} W");
    // Copper of 1 + 0.00393·(T − 20), as it is stated at 20 °C, and of 80 A of ripple beside the direct current.
    let (amps, ripple) = (figure(&plug, "current"), figure(&plug, "ripple_current"));
    let warm = 1.0 + 0.00393 * (figure(&plug, "temperature") - 20.0);
    let by_hand = (amps * amps + ripple * ripple) * 0.4e-3 * warm;
    assert!((loses / by_hand - 1.0).abs() < 1e-9, "{loses} W of {by_hand} W");
    assert!(loses > 1.2 * figure(&plug, "loss"), "drawn for direct current alone");
}

#[test]
fn the_section_of_a_rated_bar_crowds_its_ripple() {
    let bar = |more: &str| {
        with(&format!(
            "{{ kind: busbar, resistance: 0.3 mohm, current: {{ continuous: 900 A, at: 85 degC }}{more} }}"
        ))
    };
    // A bar that is judged by its temperature heats like this direct current; rated, copper is as warm as the air.
    let judged = with("{ kind: busbar, width: 25 mm, thickness: 4 mm, length: 300 mm, hottest: 105 degC }");
    let heating = figure(&judged, "heating_current");
    let sides = bar(", width: 25 mm, thickness: 4 mm");
    let loses = figure(&sides, "heating_loss");
    assert!((loses / (heating * heating * 0.3e-3) - 1.0).abs() < 1e-4, "{loses} W of {heating} A");
    // Without its section the ripple counts as direct current.
    let plain = figure(&bar(""), "heating_loss");
    let rms = figure(&bar(""), "rms_current");
    assert!(
        (plain / (rms * rms * 0.3e-3) - 1.0).abs() < 1e-9 && loses > 1.05 * plain,
        "{plain} W and {loses} W"
    );
}

#[test]
fn a_resistance_that_no_contact_has_is_noted() {
    let noted = |ohms: &str| {
        let plug = format!(
            "{{ kind: connector, resistance: {ohms}, thermal_resistance: 0.1 K/W, hottest: 105 degC }}"
        );
        let review = reviewed(&with(&plug));
        let found = review.findings.iter().find(|one| one.defect == "no-such-contact");
        found.map(|one| (one.grade.word(), one.saying.clone()))
    };
    // Some 110 A: 0.11 V along 1 mΩ, 1.1 V along 10 mΩ.
    assert_eq!(noted("1 mohm"), None);
    let (grade, saying) = noted("10 mohm").expect("a note");
    assert!(grade == "note" && saying.contains("melt from 430 mV up"), "{grade}: {saying}");
    let (grade, saying) = noted("0 ohm").expect("a note");
    assert!(grade == "note" && saying.contains("no contact has none"), "{grade}: {saying}");
}
