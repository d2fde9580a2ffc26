//! Fuses of the partial range: an overload that melts one without being broken has to be ended by something else.

use crate::descriptions::{changed, defects, holding, reviewed};

const NAME: &str = "fuse-coordination";
const UNBROKEN: (&str, &str) = (NAME, "unbroken-overload");

/// The tug with a fuse that breaks from 1 kA up, where some 267 A melt it.
fn partial() -> String {
    changed(holding(NAME), "least_breaking: 250 A", "least_breaking: 1000 A")
}

/// The same with a contactor.
fn with_contactor(more: &str) -> String {
    let text = changed(&partial(), "through: [pack_fuse,", "through: [pack_fuse, pack_contactor,");
    let contactor = format!(
        "\nconductors:\n  pack_contactor:
    {{ kind: contactor, current: {{ continuous: 260 A, at: 85 degC }}, {more}withstands: 600e3 A^2 s, resistance: 0.2 mohm }}\n"
    );
    changed(&text, "\nconductors:\n", &contactor)
}

#[test]
fn an_overload_that_melts_a_fuse_which_does_not_break_it_is_told() {
    assert_eq!(defects(&reviewed(holding(NAME))), [], "one that breaks whatever melts it needs nothing else");
    let review = reviewed(&partial());
    assert_eq!(defects(&review), [UNBROKEN]);
    let finding = &review.findings[0];
    let compared = finding.comparison.expect("a comparison");
    // 200 A in air of 60 °C, the element at 140 °C; 1.6 times that melts it.
    let melts = 200.0 * (80.0_f64 / 115.0).sqrt() * 1.6;
    assert!((compared.limit / melts - 1.0).abs() < 1e-9, "{compared:?}");
    assert!((compared.carried_value - 1000.0).abs() < 1e-9, "{compared:?}");
    assert_eq!((finding.part.as_str(), finding.grade.word()), ("pack_fuse", "minor"));
    assert!(finding.saying.contains("breaks from 1 kA up"), "{}", finding.saying);
    // What no control holds back draws what it will.
    let lamps = changed(&partial(), "duty:\n", "loads:\n  lamps: { bus: link }\n\nduty:\n");
    let asked = "    loads:\n      lamps: { power: 1 kW }\n      tug_motor";
    let review = reviewed(&changed(&lamps, "    loads:\n      tug_motor", asked));
    assert_eq!(defects(&review), [UNBROKEN]);
    assert_eq!(review.findings[0].grade.word(), "major");
}

#[test]
fn a_contactor_that_opens_before_the_fuse_melts_ends_it() {
    assert_eq!(defects(&reviewed(&with_contactor("opens: { above: 255 A }, "))), []);
    let review = reviewed(&with_contactor("opens: { above: 400 A }, "));
    assert_eq!(defects(&review).first(), Some(&UNBROKEN), "{:?}", defects(&review));
    let says: Vec<&str> = review.findings[0].proposals.iter().map(|one| one.say.as_str()).collect();
    assert_eq!(says, ["current above which `pack_contactor` opens: 400 A -> 260 A"]);
}

#[test]
fn a_contactor_that_does_not_say_when_it_opens_leaves_that_open() {
    let review = reviewed(&with_contactor(""));
    assert_eq!(defects(&review), []);
    let waits: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(waits.contains(&"conductors.pack_contactor.opens.above is not stated"), "{waits:?}");
    // One in the way back to the pack opens the same circuit.
    let back = "  pack_back: { from: hv_minus, to: pack, through: [back_contactor], protected_by: pack_fuse }

conductors:
  back_contactor:
    { kind: contactor, current: { continuous: 260 A, at: 85 degC }, opens: { above: 250 A }, withstands: 600e3 A^2 s,
      resistance: 0.2 mohm }\n";
    let text = changed(&partial(), "\nconductors:\n", back);
    let text = changed(&text, "  link: { ", "  link: { negative_rail: hv_minus, ");
    assert_eq!(defects(&reviewed(&text)), []);
    let late = reviewed(&changed(&text, "above: 250 A", "above: 300 A"));
    assert!(defects(&late).contains(&UNBROKEN), "{:?}", defects(&late));
}

#[test]
fn a_contactor_within_the_pack_opens_its_feed() {
    let with = |opens: &str| {
        let text = changed(
            &partial(),
            "through: [pack_fuse, pack_cable] }",
            "through: [pack_fuse, pack_cable], parted_by: inner }",
        );
        let inner = format!(
            "\nconductors:\n  inner: {{ kind: contactor, current: {{ continuous: 260 A, at: 85 degC }}{opens} }}\n"
        );
        reviewed(&changed(&text, "\nconductors:\n", &inner))
    };
    assert!(!defects(&with(", opens: { above: 255 A }")).contains(&UNBROKEN));
    assert!(defects(&with(", opens: { above: 400 A }")).contains(&UNBROKEN));
    let open = with("");
    assert!(!defects(&open).contains(&UNBROKEN));
    let said: Vec<&str> = open.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(said.iter().any(|one| one.contains("inner") && one.contains("opens.above")), "{said:?}");
}

#[test]
fn what_cannot_be_drawn_melts_no_fuse() {
    // A bridge that trips at 170 A, 5 % late, draws no more than 3/π of that.
    let trips = changed(&partial(), "    dead_time: 2 us\n", "    dead_time: 2 us\n    trip: 170 A\n");
    let review = reviewed(&trips);
    assert!(!defects(&review).contains(&UNBROKEN), "{:?}", defects(&review));
    let held = review.verdicts.iter().flatten().find(|one| (one.check, one.defect) == UNBROKEN);
    let compared = held.and_then(|one| one.comparison()).expect("a comparison");
    let drawn = 170.0 * 1.05 * 3.0 / std::f64::consts::PI;
    assert!((compared.carried_value / drawn - 1.0).abs() < 1e-9, "{compared:?}");
}
