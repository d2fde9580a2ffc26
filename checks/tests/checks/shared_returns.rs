//! What a current that is turned off puts between sources on one output, and what windings of one transformer stand.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::{Grade, Outcome, Verdict};

use crate::descriptions::{changed, finding, holding};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "floating-supplies";
/// A trip at 450 A, 3 % late, and 2 µs more of 400 V over 240 µH.
const AMPS: f64 = 450.0 * 1.03 + 400.0 / 240e-6 * 2e-6;

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

/// A bridge with a loop, whose output for the lower gates says this of itself.
fn sweeper(lowers: &str) -> String {
    let fed = "sweeper_lows: { feeds: [sweeper_bridge.low_side]";
    changed(holding("turn-off-overshoot"), fed, &format!("{fed}{lowers}"))
}

fn of_lowers(review: &Review) -> Option<&Verdict> {
    review.verdicts.iter().flatten().find(|one| one.defect == "common-inductance")
}

/// Volts between the sources, and the gate swing.
fn volts(review: &Review) -> (f64, f64) {
    let compared = of_lowers(review).and_then(Verdict::comparison).copied().expect("a comparison");
    (compared.carried_value, compared.limit)
}

#[test]
fn the_current_that_is_turned_off_moves_sources_on_one_return_apart() {
    let review = reviewed(&sweeper(", common_inductance: 8 nH, drive_on: 15 V, drive_off: -8 V"));
    let (between, swing) = volts(&review);
    // From 90 to 10 % of the current in 90 ns.
    assert!((between - 8e-9 * (0.9 * AMPS - 0.1 * AMPS) / 90e-9).abs() < 1e-9, "{between}");
    assert!((swing - 23.0).abs() < 1e-12);
    let one = finding(&review, "common-inductance");
    assert_eq!((one.part.as_str(), one.grade), ("sweeper_lows", Grade::Minor));
    assert!(one.saying.contains("between the sources that `sweeper_lows` feeds"), "{}", one.saying);
    assert!(one.worked.iter().any(|line| line.contains("auxiliary source terminals")), "{:?}", one.worked);
    let says: Vec<&str> = one.proposals.iter().map(|held| held.say.as_str()).collect();
    assert!(says[0].starts_with("an output for each of sweeper_bridge.low_side.u"), "{says:?}");
}

#[test]
fn two_volts_may_stand_where_no_swing_is_stated() {
    // 2 V at the slope of the test above, and a little to either side.
    let most = 2.0 / (0.8 * AMPS / 90e-9) * 1e9;
    for (nanohenry, holds) in [(0.99 * most, true), (1.01 * most, false)] {
        let review = reviewed(&sweeper(&format!(", common_inductance: {nanohenry:.4} nH")));
        assert!((volts(&review).1 - 20.0).abs() < 1e-12);
        let verdict = of_lowers(&review).expect("a verdict");
        assert_eq!(matches!(verdict.outcome, Outcome::Holds(_)), holds, "{nanohenry} nH");
    }
}

#[test]
fn without_a_loop_the_largest_current_counts() {
    let text = sweeper(", common_inductance: 8 nH");
    // The trip is of the loop; without one the crest with its ripple is turned off.
    let text = changed(&text, "    loop_inductance: { bars: 6 nH }\n", "");
    let text = changed(&text, "    trip: 450 A\n", "");
    let (between, _) = volts(&reviewed(&text));
    let crest = 35e3 / (3f64.sqrt() * 165.0 * 0.9) * 2f64.sqrt();
    let amps = between / 8e-9 * 90e-9 / 0.8;
    assert!(amps > crest && amps < crest * 1.06, "{amps} A over {crest} A");
}

#[test]
fn what_is_not_stated_is_named_or_not_asked() {
    let text = sweeper(", common_inductance: 8 nH");
    let review = reviewed(&changed(&text, "      current_fall_time: 90 ns\n", ""));
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert!(missing.iter().any(|one| one.contains("current_fall_time")), "{missing:?}");
    // Silence within one stage is no question.
    assert!(of_lowers(&reviewed(&sweeper(""))).is_none());
    // An output for each low side shares no return.
    let own = changed(&text, "feeds: [sweeper_bridge.low_side]", "feeds: [sweeper_bridge.low_side.u]");
    assert!(of_lowers(&reviewed(&own)).is_none());
}

#[test]
fn pairs_of_windings_without_a_barrier_are_named_with_what_they_stand() {
    // Three windings on three potentials, and a barrier for one pair.
    let barrier = "  barriers:
    windings:
      { between: [slew_bridge.high_side.u, slew_bridge.high_side.v], kind: functional, clearance: 3 mm, creepage: 5 mm,
        material_group: II }\n";
    let text = changed(holding("barrier-crossing"), "  barriers:\n", barrier);
    let review = reviewed(&text);
    let one = finding(&review, "mutual-insulation");
    assert_eq!((one.grade, review.findings.len()), (Grade::Note, 1));
    assert!(
        one.facts[0].starts_with("`upper_transformer`: no barrier between 2 of 3 pairs"),
        "{:?}",
        one.facts
    );
    assert!(one.worked[0].ends_with("3·(3 − 1)/2 = 3"), "{:?}", one.worked);
    // With a barrier for each pair nothing is left to say, and neither where none is stated at all.
    let mut whole = text;
    for (name, pair) in [("second", "u, slew_bridge.high_side.w"), ("third", "v, slew_bridge.high_side.w")] {
        let more = format!(
            "  barriers:\n    {name}: {{ between: [slew_bridge.high_side.{pair}], kind: functional, clearance: 3 mm, creepage: 5 mm, material_group: II }}\n"
        );
        whole = changed(&whole, "  barriers:\n", &more);
    }
    for text in [whole.as_str(), holding("barrier-crossing")] {
        assert!(reviewed(text).findings.is_empty());
    }
}
