//! What sources give and take against what they stand.

use loadworthy_checks::Review;
use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Outcome, Verdict};
use proptest::prelude::*;

use crate::descriptions::{changed, defects, failing, finding, holding, repeatable, reviewed};

const CHECK: &str = "source-limits";

/// A battery and a load on its bus, at 300 V between its terminals, so that 30 kW are 100 A.
fn pack(limits: &str, points: &str) -> String {
    format!(
        "edition: 2026
sources:
  pack: {{ kind: battery, bus: link, internal_resistance: {{ highest: 0.01 ohm }}, {limits} }}
buses: {{ link: {{ nominal: 300 V }} }}
loads: {{ winch: {{ bus: link }} }}
duty:
{points}"
    )
}

fn point(name: &str, time: &str, kilowatts: f64) -> String {
    format!(
        "  {name}:\n    sources: {{ pack: {{ terminal: 300 V }} }}\n    loads: {{ winch: {{ power: {kilowatts} kW }} }}\n{time}"
    )
}

fn own(review: &Review) -> Vec<&Verdict> {
    review.verdicts.iter().flatten().filter(|verdict| verdict.check == CHECK).collect()
}

fn only<'r>(review: &'r Review, defect: &str) -> &'r Finding {
    let found: Vec<_> = review.findings.iter().filter(|one| one.check == CHECK).collect();
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].defect, defect, "{:#?}", found[0]);
    found[0]
}

/// What the check waits for.
fn open(review: &Review) -> Vec<String> {
    let open = review.not_judged.iter().filter(|one| one.checks.contains(&CHECK));
    open.map(|one| one.missing.clone()).collect()
}

const BOTH: &str = "discharge: { continuous: 100 A, peaks: [{ current: 300 A, lasts: 10 s }, { current: 200 A, lasts: 60 s }] }, charge: { continuous: 40 A, peaks: [{ current: 90 A, lasts: 10 s }] }";

/// Grade and defect of the finding of one duty point, if there is one.
fn judged(limits: &str, time: &str, kilowatts: f64) -> Option<(&'static str, &'static str)> {
    let review = reviewed(&pack(limits, &point("pull", time, kilowatts)));
    assert!(open(&review).is_empty(), "{:?}", open(&review));
    let found: Vec<_> = review.findings.iter().filter(|one| one.check == CHECK).collect();
    assert!(found.len() < 2, "{found:#?}");
    found.first().map(|one| (one.defect, one.grade.word()))
}

#[test]
fn a_duty_point_without_an_end_is_held_against_the_rating_for_good() {
    assert_eq!(judged(BOTH, "", 29.9), None);
    assert_eq!(judged(BOTH, "", 30.0), None);
    assert_eq!(judged(BOTH, "    lasts: continuous\n", 30.1), Some(("discharge-current", "major")));
    assert_eq!(judged(BOTH, "", -12.0), None);
    assert_eq!(judged(BOTH, "", -12.1), Some(("charge-current", "major")));
}

#[test]
fn a_short_one_is_held_against_the_highest_rating_that_lasts_as_long() {
    assert_eq!(judged(BOTH, "    lasts: 10 s\n", 90.0), None);
    assert_eq!(judged(BOTH, "    lasts: 10 s\n", 90.1), Some(("discharge-current", "major")));
    assert_eq!(judged(BOTH, "    lasts: 11 s\n", 60.0), None);
    assert_eq!(judged(BOTH, "    lasts: 11 s\n", 60.1), Some(("discharge-current", "major")));
    assert_eq!(judged(BOTH, "    lasts: 10 s\n", -27.0), None);
    assert_eq!(judged(BOTH, "    lasts: 10 s\n", -27.1), Some(("charge-current", "major")));
}

#[test]
fn a_time_that_no_peak_covers_is_minor_below_the_peaks() {
    assert_eq!(judged(BOTH, "    lasts: 61 s\n", 30.0), None);
    assert_eq!(judged(BOTH, "    lasts: 61 s\n", 89.0), Some(("discharge-current", "minor")));
    assert_eq!(judged(BOTH, "    lasts: 61 s\n", 90.1), Some(("discharge-current", "major")));
    let review = reviewed(&pack(BOTH, &point("pull", "    lasts: 61 s\n", 45.0)));
    let one = only(&review, "discharge-current");
    assert!(
        one.saying.contains("its continuous discharge rating, as no peak lasts so long, of 100 A"),
        "{}",
        one.saying
    );
    assert!(one.estimate[0].starts_with("if held continuously"), "{:?}", one.estimate);
    // Without any peak nothing says what it stands for a while.
    assert_eq!(
        judged("discharge: { continuous: 100 A }", "    lasts: 5 s\n", 60.0),
        Some(("discharge-current", "minor"))
    );
}

#[test]
fn a_duty_point_as_long_as_the_source_remembers_is_one_for_good() {
    // 150 A; the memory is assumed at ten times the longest peak, 600 s. 150 A·√(1 − e^(−t/600 s)) is 100 A after 353 s.
    assert_eq!(judged(BOTH, "    lasts: 350 s\n", 45.0), Some(("discharge-current", "minor")));
    assert_eq!(judged(BOTH, "    lasts: 356 s\n", 45.0), Some(("discharge-current", "major")));
    assert_eq!(judged(BOTH, "    lasts: 10 h\n", 30.1), Some(("discharge-current", "major")));
    assert_eq!(judged(BOTH, "    lasts: 10 h\n", 30.0), None);
    let slow = format!("{BOTH}, memory: 1 h");
    assert_eq!(judged(&slow, "    lasts: 356 s\n", 45.0), Some(("discharge-current", "minor")));
}

#[test]
fn the_policy_takes_its_part() {
    let text = format!(
        "{}policy: {{ source_current: {{ use_at_most: 90 % }} }}\n",
        pack(BOTH, &point("pull", "", 28.0))
    );
    let review = reviewed(&text);
    let one = only(&review, "discharge-current");
    assert!(
        one.saying.contains(
            "3.7 % above the 90 A that the policy leaves of its continuous discharge rating of 100 A"
        ),
        "{}",
        one.saying
    );
    let held = &one.proposals[0];
    assert_eq!(held.say, "pack.discharge.continuous: 100 A -> 110 A (another source)");
    assert!(
        one.because.iter().any(|place| place.label == "the policy uses at most 90 %"),
        "{:?}",
        one.because
    );
}

#[test]
fn each_way_asks_for_its_own_limit_and_names_it() {
    let open_of =
        |limits: &str, time: &str, kilowatts| open(&reviewed(&pack(limits, &point("pull", time, kilowatts))));
    assert_eq!(open_of("absorbs: true", "", 10.0), ["discharge of pack is not stated"]);
    assert_eq!(open_of("absorbs: true", "", -10.0), ["charge of pack is not stated"]);
    assert_eq!(open_of("charge: { continuous: 10 A }", "", 10.0), ["discharge of pack is not stated"]);
    let peak = "discharge: { peaks: [{ current: 300 A, lasts: 10 s }] }";
    assert_eq!(open_of(peak, "", 10.0), ["discharge.continuous of pack is not stated"]);
    assert_eq!(open_of(peak, "    lasts: 8 s\n", 10.0), Vec::<String>::new());
    assert_eq!(open_of(peak, "    lasts: 12 s\n", 10.0), ["discharge.continuous of pack is not stated"]);
    // Nothing taken, nothing missing of what it stands taking.
    assert_eq!(open_of("discharge: { continuous: 100 A }", "", 10.0), Vec::<String>::new());
}

#[test]
fn what_cannot_absorb_takes_nothing() {
    let review =
        reviewed(&pack("absorbs: false, discharge: { continuous: 100 A }", &point("downhill", "", -6.0)));
    let one = only(&review, "cannot-absorb");
    assert_eq!((one.part.as_str(), one.grade.word()), ("pack", "major"));
    assert_eq!(one.saying, "`pack` is to take 20 A back in `downhill`, and cannot take any");
    assert_eq!(one.at.label, "takes nothing back");
    assert!(
        one.proposals.is_empty()
            && one.no_proposal.as_deref().is_some_and(|why| why.contains("brake resistor"))
    );
}

#[test]
fn a_fuel_cell_is_held_against_its_power_and_takes_nothing() {
    let cell = |limits: &str, kilowatts| {
        let text = pack(limits, &point("pull", "", kilowatts));
        changed(
            &text,
            "kind: battery, bus: link, internal_resistance: { highest: 0.01 ohm },",
            "kind: fuel_cell, bus: link,",
        )
    };
    let power = "power: { continuous: 40 kW, peaks: [{ power: 60 kW, lasts: 20 s }] }";
    assert!(reviewed(&cell(power, 40.0)).findings.iter().all(|one| one.check != CHECK));
    let review = reviewed(&cell(power, 50.0));
    let one = only(&review, "source-power");
    assert!(
        one.saying.contains("gives 50 kW in `pull`, 25 % above its continuous power rating of 40 kW"),
        "{}",
        one.saying
    );
    assert_eq!(one.proposals[0].say, "pack.power.continuous: 40 kW -> 50 kW (another source)");
    let short = cell(power, 50.0).replace("    loads:", "    lasts: 20 s\n    loads:");
    assert!(reviewed(&short).findings.iter().all(|one| one.check != CHECK));
    only(&reviewed(&cell(power, -5.0)), "cannot-absorb");
    // One that says it absorbs is held against what it gives, in either quantity.
    let both = "power: { continuous: 40 kW }, discharge: { continuous: 120 A }, absorbs: true";
    assert!(reviewed(&cell(both, -30.0)).findings.iter().all(|one| one.check != CHECK));
    only(&reviewed(&cell(both, -38.0)), "charge-current");
    assert_eq!(open(&reviewed(&cell("absorbs: true", 10.0))), ["discharge of pack is not stated"]);
}

#[test]
fn the_open_circuit_voltage_lies_within_its_span() {
    let of = |span: &str| {
        let text = pack(&format!("open_circuit: {span}, {BOTH}"), &point("pull", "", 10.0));
        reviewed(&changed(&text, "terminal:", "open_circuit:"))
    };
    for span in [
        "{ lowest: 250 V, highest: 350 V }",
        "{ lowest: 300 V, highest: 350 V }",
        "{ lowest: 250 V, highest: 300 V }",
        "{ lowest: 310 V }",
    ] {
        assert!(of(span).findings.iter().all(|one| one.check != CHECK), "{span}");
    }
    let review = of("{ lowest: 310 V, highest: 350 V }");
    let one = only(&review, "outside-span");
    assert_eq!(one.grade.word(), "minor");
    assert!(
        one.saying.contains("below the 310 V that its open-circuit voltage is at lowest"),
        "{}",
        one.saying
    );
    assert_eq!(one.facts, ["stated 300 V", "span 310 V to 350 V"]);
    let review = of("{ lowest: 250 V, highest: 290 V }");
    assert!(only(&review, "outside-span").saying.contains("above the 290 V"));
}

#[test]
fn one_finding_for_a_limit_over_all_duty_points() {
    let points = format!(
        "{}{}{}",
        point("slow", "", 40.0),
        point("fast", "", 60.0),
        point("short", "    lasts: 5 s\n", 95.0)
    );
    let review = reviewed(&pack(BOTH, &points));
    let one = only(&review, "discharge-current");
    assert_eq!(one.duty.as_deref(), Some("fast"));
    assert_eq!(one.also_in, ["slow", "short"]);
    // All three are mended together: the rating for good and the peak.
    assert!(one.proposals[0].say.contains("discharge.continuous: 100 A -> 200 A"), "{:?}", one.proposals);
    assert!(
        one.proposals[0].say.contains("discharge.peaks.0.current: 300 A -> 320 A"),
        "{:?}",
        one.proposals
    );
}

#[test]
fn what_recurs_is_weighed_over_its_cycle_as_well() {
    let points = |kilowatts| {
        format!(
            "{}{}",
            point("travel", "", 15.0),
            point("pull", "    lasts: 10 s\n    every: 40 s\n    starts_from: travel\n", kilowatts)
        )
    };
    // √((I²·10 + 50²·30)/40) = 100 A at I = 180.3 A.
    assert!(reviewed(&pack(BOTH, &points(54.0))).findings.iter().all(|one| one.check != CHECK));
    let review = reviewed(&pack(BOTH, &points(55.0)));
    let one = only(&review, "cycle-current");
    assert_eq!(one.grade.word(), "major");
    assert!(
        one.saying.contains("as RMS over its cycle (183 A for 10 s of every 40 s, 50 A between in `travel`)"),
        "{}",
        one.saying
    );
    // With nothing between it may be 200 A.
    let alone = |kilowatts| pack(BOTH, &point("pull", "    lasts: 10 s\n    every: 40 s\n", kilowatts));
    assert!(reviewed(&alone(59.9)).findings.iter().all(|one| one.check != CHECK));
    assert!(only(&reviewed(&alone(60.1)), "cycle-current").saying.contains("nothing between"));
}

/// Two packs side by side, each of 5 to 10 mohm, and 300 A between them: where one is at its lowest and the other at its highest, two
/// thirds of it flow in one.
#[test]
fn what_flows_in_one_of_two_packs_counts_in_its_branch_and_over_its_cycle() {
    let text = "edition: 2026
surroundings: { inside_air: 40 degC }
sources:
  one: { kind: battery, internal_resistance: { lowest: 5 mohm, highest: 10 mohm }, discharge: { continuous: 190 A, peaks: [{ current: 300 A, lasts: 60 s }] } }
  other: { kind: battery, internal_resistance: { lowest: 5 mohm, highest: 10 mohm }, discharge: { continuous: 190 A, peaks: [{ current: 300 A, lasts: 60 s }] } }
buses: { link: { nominal: 300 V } }
branches: { first: { from: one, to: link, through: [plug] }, second: { from: other, to: link, through: [other_plug] } }
conductors:
  plug: { kind: connector, current: { continuous: 190 A } }
  other_plug: { kind: connector, current: { continuous: 260 A } }
loads: { winch: { bus: link } }
duty:
  pull:
    sources: { one: { open_circuit: 301.5 V }, other: { open_circuit: 301.5 V } }
    loads: { winch: { power: 90 kW } }
    lasts: 10 s
    every: 10.5 s
";
    let review = reviewed(text);
    // √(200² · 10/10.5) = 195 A of 190 A in each pack, and 200 A in each plug, of which one stands 190 A.
    let found = |check: &str, defect: &str| {
        let all = review.findings.iter().filter(|one| one.check == check && one.defect == defect);
        all.map(|one| one.saying.clone()).collect::<Vec<_>>()
    };
    let cycle = found(CHECK, "cycle-current");
    assert!(
        cycle.iter().any(|saying| saying.contains("195 A") && saying.contains("200 A for 10 s")),
        "{cycle:?}"
    );
    let plug = review.verdicts.iter().flatten().find_map(|verdict| {
        let compared = verdict.comparison()?;
        (verdict.check == "current-headroom" && compared.limit > 255.0).then_some(compared.carried_value)
    });
    let amps = plug.expect("the other plug is judged");
    assert!((amps - 200.0).abs() < 0.5 || (amps - 195.2).abs() < 0.5, "{amps}");
}

#[test]
fn a_peak_recurs_no_sooner_than_it_says() {
    let limits = |every: &str| {
        format!("discharge: {{ continuous: 100 A, peaks: [{{ current: 300 A, lasts: 10 s{every} }}] }}")
    };
    // 150 A for 10 s of each 40 s are 75 A as RMS.
    let time = "    lasts: 10 s\n    every: 40 s\n";
    assert_eq!(judged(&limits(""), time, 45.0), None);
    assert_eq!(judged(&limits(", every: 40 s"), time, 45.0), None);
    assert_eq!(judged(&limits(", every: 60 s"), time, 45.0), Some(("discharge-current", "major")));
    let review = reviewed(&pack(&limits(", every: 60 s"), &point("pull", time, 45.0)));
    let said =
        "its continuous discharge rating, as the peak that lasts so long may recur every 60 s at most,";
    assert!(only(&review, "discharge-current").saying.contains(said), "{:?}", review.findings);
    // What does not say that it recurs comes once.
    assert_eq!(judged(&limits(", every: 60 s"), "    lasts: 10 s\n", 45.0), None);
}

proptest! {
    #![proptest_config(repeatable(150))]

    /// A staircase of ratings against a search over all of them.
    #[test]
    fn the_rating_is_the_highest_that_lasts_long_enough(
        good in 20.0..150.0_f64,
        peaks in prop::collection::vec((150.0..400.0_f64, 1.0..120.0_f64), 0..5),
        lasts in prop::option::of(1.0..150.0_f64),
        amps in 10.0..420.0_f64,
    ) {
        let rows: Vec<_> = peaks.iter().map(|(amps, lasts)| format!("{{ current: {amps} A, lasts: {lasts} s }}")).collect();
        let limits = format!("discharge: {{ continuous: {good} A, peaks: [{}] }}", rows.join(", "));
        let limits = limits.replace(", peaks: []", "");
        let time = lasts.map_or_else(String::new, |lasts| format!("    lasts: {lasts} s\n"));
        let review = reviewed(&pack(&limits, &point("pull", &time, 0.3 * amps)));
        let verdicts: Vec<_> = own(&review).into_iter().filter(|one| one.defect == "discharge-current").collect();
        prop_assert_eq!(verdicts.len(), 1);
        let covering = peaks.iter().filter(|(_, long)| lasts.is_some_and(|lasts| *long >= lasts)).map(|(amps, _)| *amps);
        let limit = covering.fold(good, f64::max);
        let compared = verdicts[0].comparison().expect("a comparison");
        prop_assert!((compared.limit - limit).abs() < 1e-9);
        prop_assert!((compared.carried_value - amps).abs() < 1e-9 * amps);
        prop_assert_eq!(matches!(verdicts[0].outcome, Outcome::Holds(_)), amps <= limit * (1.0 + 1e-9));
    }
}

#[test]
fn the_own_example_is_what_the_page_says() {
    let review = reviewed(failing(CHECK));
    assert_eq!(defects(&review), [(CHECK, "discharge-current")]);
    let one = finding(&review, "discharge-current");
    assert!(
        one.saying.contains("gives 115 A in `ramp`, 15 % above its continuous discharge rating of 100 A"),
        "{}",
        one.saying
    );
    let because: Vec<_> = one.because.iter().map(|place| place.label.as_str()).collect();
    assert!(because[0].starts_with("35 kW at 165 V rms"), "{because:?}");
    assert_eq!(because[1], "leaves 310 V at the terminals");
    assert!(one.proposals[0].say.starts_with("pack.discharge.continuous: 100 A -> 120 A"));
    let page = loadworthy_checks::list::by_name(CHECK).expect(CHECK).about().page;
    assert!(page.contains("115 A, with the link at 310 V") && page.contains("15 % too much"));
}

#[test]
fn the_own_examples_show_this_defect_alone_and_hold_without_a_gap() {
    let fails = reviewed(failing(CHECK));
    assert_eq!(defects(&fails), [(CHECK, "discharge-current")]);
    assert_eq!(fails.findings.len(), 1);
    let holds = reviewed(holding(CHECK));
    assert!(holds.verdicts.iter().flatten().all(crate::descriptions::holds), "{:#?}", holds.not_judged);
    assert!(holds.verdicts.iter().flatten().any(|verdict| verdict.check == CHECK));
}
