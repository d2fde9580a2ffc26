//! Batteries that contactors close on one another while they stand at unlike states of charge.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::Outcome;

use crate::descriptions::{changed, defects, finding, reviewed};

const PARALLELING: (&str, &str) = ("stored-energy", "paralleling");

/// Two packs side by side, each behind a fuse and a contactor.
fn packs(contactors: &str) -> String {
    let pack = |name: &str, low: u32, high: u32| {
        format!(
            "  {name}:
    kind: battery
    open_circuit: {{ lowest: {low} V, highest: {high} V }}
    internal_resistance: {{ lowest: 40 mohm, highest: 90 mohm }}
    discharge: {{ continuous: 160 A, peaks: [{{ current: 400 A, lasts: 10 s }}] }}
    charge: {{ continuous: 60 A, peaks: [{{ current: 200 A, lasts: 10 s }}] }}
"
        )
    };
    let way = |name: &str| {
        format!(
            "  {name}_fuse:
    kind: fuse
    voltage: 500 V DC
    current: 200 A
    melting: 12e3 A^2 s
    clearing: 45e3 A^2 s
    breaking: 20 kA
    least_breaking: 250 A
    element: 140 degC
    resistance: 1 mohm
  {name}_contactor: {{ kind: contactor, current: {{ continuous: 250 A, at: 85 degC }}, resistance: 1 mohm, {contactors} }}
"
        )
    };
    format!(
        "edition: 2026
surroundings: {{ inside_air: 40 degC, coldest: -25 degC }}
sources:
{}{}buses: {{ link: {{ nominal: 320 V, highest: 400 V }} }}
branches:
  one_feed: {{ from: one, to: link, through: [one_fuse, one_contactor] }}
  two_feed: {{ from: two, to: link, through: [two_fuse, two_contactor] }}
conductors:
{}{}loads: {{ winch: {{ bus: link }} }}
duty:
  idle:
    sources: {{ one: {{ open_circuit: 320 V }}, two: {{ open_circuit: 320 V }} }}
    loads: {{ winch: {{ power: 10 kW }} }}
",
        pack("one", 280, 360),
        pack("two", 280, 360),
        way("one"),
        way("two")
    )
}

fn outcomes(review: &Review) -> Vec<&Outcome> {
    let all = review.verdicts.iter().flatten();
    all.filter(|one| (one.check, one.defect) == PARALLELING).map(|one| &one.outcome).collect()
}

#[test]
fn packs_at_the_ends_of_their_charge_drive_more_than_contacts_make() {
    let review = reviewed(&packs("makes: 500 A"));
    let own: Vec<_> = defects(&review).into_iter().filter(|one| *one == PARALLELING).collect();
    assert_eq!(own.len(), 1, "one for both packs: {:?}", defects(&review));
    let found = finding(&review, PARALLELING.1);
    assert_eq!((found.part.as_str(), found.grade.word()), ("link", "major"));
    // 80 V around twice 40 mohm, a fuse and a contactor of 1 mohm each.
    let amps = 80.0 / (2.0 * 0.042);
    let carried = found.comparison.expect("compared").carried_value;
    assert!((carried / amps - 1.0).abs() < 1e-9, "{carried} A, by hand {amps} A");
    let lines = "`one` takes 952 A as it is closed on `link` beside another battery, 376 % above what `one` takes at most of 200 A
  at 200 A at most
  280 V, 80 V from another
  limited by 40 mΩ and those of others
  80 V between the open-circuit voltages drive that; up to 16 V all of it holds
  let its control close it with no more than 16 V across its contacts: `closes: { below: 16 V }`";
    assert_eq!(said(&review), lines);
}

#[test]
fn a_control_that_closes_packs_at_nearly_one_voltage_is_enough() {
    assert!(!defects(&reviewed(&packs("makes: 500 A, closes: { below: 4 V }"))).contains(&PARALLELING));
    // 20 V drive some 238 A: what contacts make, and more than a pack takes for ten seconds.
    let review = reviewed(&packs("makes: 500 A, closes: { below: 20 V }"));
    let found = finding(&review, PARALLELING.1);
    assert!(found.saying.contains("takes at most"), "{}", found.saying);
    let says: Vec<_> = found.proposals.iter().map(|one| one.say.as_str()).collect();
    assert_eq!(says, ["voltage at which contactors close: 20 V -> 16 V"]);
    let lines = "`one` takes 238 A as it is closed on `link` beside another battery, 19 % above what `one` takes at most of 200 A
  at 200 A at most
  closes with up to 20 V across it
  limited by 40 mΩ and those of others
  20 V between the open-circuit voltages drive that; up to 16 V all of it holds
  proposed: voltage at which contactors close: 20 V -> 16 V";
    assert_eq!(said(&review), lines);
}

#[test]
fn what_is_not_stated_is_not_judged() {
    // What contacts break they make as well.
    let breaks = "breaks: { voltage: 450 V, current: 300 A }, closes: { below: 4 V }";
    assert!(outcomes(&reviewed(&packs(breaks))).iter().all(|one| matches!(one, Outcome::Holds(_))));
    let silent = reviewed(&packs("closes: { below: 4 V }"));
    assert!(outcomes(&silent).iter().any(|one| matches!(one, Outcome::NotJudged(_))));
    assert!(silent.not_judged.iter().any(|one| one.missing.contains("makes")), "{:?}", silent.not_judged);
    // Of a pack that states no voltages nobody knows how far the other is from it, unless the control says so.
    let bare = |contactors: &str| {
        let text = packs(contactors);
        text.replacen("    open_circuit: { lowest: 280 V, highest: 360 V }\n", "", 1)
    };
    assert!(
        outcomes(&reviewed(&bare("makes: 500 A"))).iter().all(|one| matches!(one, Outcome::NotJudged(_)))
    );
    let held = reviewed(&bare("makes: 500 A, closes: { below: 4 V }"));
    assert!(outcomes(&held).iter().all(|one| matches!(one, Outcome::Holds(_))), "{:?}", outcomes(&held));
}

#[test]
fn packs_that_nothing_closes_and_a_single_one_are_not_asked() {
    let hard = changed(&packs("makes: 500 A"), "[one_fuse, one_contactor]", "[one_fuse]");
    let hard = changed(&hard, "[two_fuse, two_contactor]", "[two_fuse]");
    assert!(outcomes(&reviewed(&hard)).is_empty());
    // One that stands there for good takes what the other gives as that is closed on it.
    let fixed = changed(&packs("makes: 1.2 kA"), "[one_fuse, one_contactor]", "[one_fuse]");
    let found = finding(&reviewed(&fixed), PARALLELING.1).saying.clone();
    assert!(found.contains("`two`"), "{found}");
}

/// Two that contactors close, and one that is always there: that one takes what both give as they stand high.
#[test]
fn a_third_pack_that_nothing_closes_is_held_to_what_the_others_drive_through_it() {
    let third = |contactors: &str, takes: &str| {
        let text = packs(contactors);
        let pack = "buses: { link:";
        let three = format!(
            "  three:
    kind: battery
    open_circuit: {{ lowest: 280 V, highest: 360 V }}
    internal_resistance: {{ lowest: 40 mohm, highest: 90 mohm }}
    discharge: {{ continuous: 160 A, peaks: [{{ current: 4 kA, lasts: 10 s }}] }}
    charge: {{ continuous: {takes} }}
{pack}"
        );
        let text = changed(&text, pack, &three);
        let text = changed(&text, "  two_feed:", "  three_feed: { from: three, to: link }\n  two_feed:");
        let text = changed(
            &text,
            "two: { open_circuit: 320 V }",
            "two: { open_circuit: 320 V }, three: { open_circuit: 320 V }",
        );
        let text = text
            .replace("current: 400 A, lasts", "current: 4 kA, lasts")
            .replace("current: 200 A, lasts", "current: 4 kA, lasts");
        // Fuses that nothing here melts.
        text.replace("melting: 12e3 A^2 s", "melting: 12e6 A^2 s")
            .replace("clearing: 45e3 A^2 s", "clearing: 45e6 A^2 s")
            .replace("current: 200 A\n", "current: 5 kA\n")
            .replace("least_breaking: 250 A", "least_breaking: 6 kA")
    };
    let found = |text: &str| {
        let review = reviewed(text);
        let one = review.findings.iter().find(|one| one.defect == PARALLELING.1);
        one.map(|one| (one.saying.clone(), one.comparison.expect("compared").carried_value))
    };
    // 16 V around its own 40 mohm and half of 42 mohm of the others.
    let amps = 16.0 / (0.040 + 0.021);
    let (said, carried) =
        found(&third("makes: 3 kA, closes: { below: 16 V }", "150 A")).expect("too much for the third");
    assert!(
        said.starts_with("`three` takes 262 A as another battery is closed on `link` beside it"),
        "{said}"
    );
    assert!((carried / amps - 1.0).abs() < 1e-9, "{carried} A, by hand {amps} A");
    assert_eq!(found(&third("makes: 3 kA, closes: { below: 16 V }", "300 A")), None);
}

/// The finding as a user reads it.
fn said(review: &Review) -> String {
    let found = finding(review, PARALLELING.1);
    let because = found.because.iter().map(|place| format!("  {}", place.label));
    let lines = core::iter::once(found.saying.clone())
        .chain([format!("  at {}", found.at.label)])
        .chain(because)
        .chain(found.facts.iter().map(|fact| format!("  {fact}")))
        .chain(found.proposals.iter().map(|one| format!("  proposed: {}", one.say)))
        .chain(found.no_proposal.iter().map(|why| format!("  {why}")));
    lines.collect::<Vec<_>>().join("\n")
}
