//! Fuses: what they carry in service, break and let through, and batteries without one.

use loadworthy_checks::Review;
use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_unit::plan::{Drive, Protected};
use loadworthy_unit::{LaneId, Solved};

use crate::descriptions::{changed, defects, holding, reviewed, trencher, unit};

const NAME: &str = "fuse-coordination";

fn tug(from: &str, to: &str) -> Review {
    reviewed(&changed(holding(NAME), from, to))
}

pub(crate) fn one(review: &Review) -> &Finding {
    review.findings.iter().find(|one| one.check == NAME).expect("a finding")
}

pub(crate) fn verdicts<'r>(review: &'r Review, defect: &'r str) -> Vec<&'r Verdict> {
    review.verdicts.iter().flatten().filter(|one| one.check == NAME && one.defect == defect).collect()
}

#[test]
fn a_short_circuit_is_driven_by_voltage_over_the_lowest_resistance() {
    let review = reviewed(holding(NAME));
    let compared = verdicts(&review, "breaking-capacity")[0].comparison().copied().expect("a comparison");
    // 360 V behind 40 mΩ: right behind the fuse there is no cable yet.
    assert!((compared.carried_value / 9000.0 - 1.0).abs() < 1e-9, "{compared:?}");
    let other_way_round = "from: link, to: pack, through: [pack_fuse, pack_cable]";
    let review = tug("from: pack, to: link, through: [pack_fuse, pack_cable]", other_way_round);
    let behind_cable = verdicts(&review, "breaking-capacity")[0].comparison().copied().expect("a comparison");
    // A metre of 35 mm² at −40 °C in between: 0.554 mΩ·(1 − 0.00393·60).
    let by_hand = 360.0 / (0.040 + 0.554e-3 * (1.0 - 0.003_93 * 60.0));
    assert!((behind_cable.carried_value / by_hand - 1.0).abs() < 1e-9, "{behind_cable:?}");
    let review = reviewed(holding(NAME));
    let compared = verdicts(&review, "not-cleared")[0].comparison().copied().expect("a comparison");
    // 280 V behind 90 mΩ, the fuse, and the cable at 150 °C.
    let by_hand = 280.0 / (0.090 + 0.5e-3 + 0.554e-3 * (1.0 + 0.003_93 * 130.0));
    assert!((compared.limit / by_hand - 1.0).abs() < 1e-9, "{compared:?}");
}

/// What the tug's fuse states of currents.
const ABOVE: &str = "    current: 200 A\n    melting: 12e3 A^2 s\n    clearing: 45e3 A^2 s\n    breaking: 10 kA\n    least_breaking: 250 A\n";

/// Ratings of the tug's fuse that fall short of what they meet, each with what is told of it.
const SHORT_OF: [(&str, &str, &str); 5] = [
    ("voltage: 500 V DC", "voltage: 350 V DC", "voltage"),
    (
        ABOVE,
        "    current: 100 A\n    melting: 12e3 A^2 s\n    clearing: 45e3 A^2 s\n    breaking: 10 kA\n    least_breaking: 120 A\n",
        "overloaded",
    ),
    ("breaking: 10 kA", "breaking: 6 kA", "breaking-capacity"),
    ("least_breaking: 250 A", "least_breaking: 4000 A", "not-cleared"),
    ("clearing: 45e3 A^2 s", "clearing: 450e6 A^2 s", "let-through"),
];

#[test]
fn each_rating_of_a_fuse_is_held_against_what_it_meets() {
    for (from, to, defect) in SHORT_OF {
        let review = tug(from, to);
        assert_eq!(defects(&review), [(NAME, defect)], "{to}");
        assert_eq!(one(&review).grade.word(), "major");
    }
}

#[test]
fn a_larger_fuse_of_the_same_kind_lets_more_through_and_is_tried_with_that() {
    let review = tug("current: 200 A", "current: 100 A");
    let held = &one(&review).proposals[0];
    let paths: Vec<&str> = held.set.iter().map(|set| set.path.as_str()).collect();
    assert!(paths.contains(&"conductors.pack_fuse.current"), "{paths:?}");
    assert!(paths.contains(&"conductors.pack_fuse.clearing"), "{paths:?}");
}

#[test]
fn a_cable_stands_what_its_section_and_temperature_say() {
    let review = reviewed(holding(NAME));
    let compared = verdicts(&review, "let-through")[0].comparison().copied().expect("a comparison");
    // IEC 60364-5-54 has 143 A·√s/mm² from 90 °C to 250 °C; this cable is hotter, and less than 125 °C (126).
    let k = compared.limit.sqrt() / 35.0;
    assert!((126.0..143.0).contains(&k), "{k}");
}

#[test]
fn the_branch_of_a_battery_has_a_fuse_or_says_what_protects_it() {
    let text = changed(holding(NAME), "through: [pack_fuse, pack_cable]", "through: [pack_cable]");
    let bare = reviewed(&text);
    assert!(defects(&bare).contains(&(NAME, "unfused")), "{:?}", defects(&bare));
    assert!(one(&bare).saying.contains("without a fuse"));
    let said = changed(&text, "through: [pack_cable]", "through: [pack_cable], protected_by: pack_fuse");
    assert_eq!(defects(&reviewed(&said)), []);
}

#[test]
fn what_stands_between_a_source_and_its_fuse_no_fuse_protects() {
    let text = changed(holding(NAME), "through: [pack_fuse, pack_cable]", "through: [pack_cable, pack_fuse]");
    let review = reviewed(&text);
    assert_eq!(defects(&review), [(NAME, "before-fuse")]);
    let said = one(&review);
    assert_eq!((said.part.as_str(), said.grade.word()), ("pack_cable", "minor"));
    assert!(
        said.saying.contains("`pack_cable` stands between the source and its fuse `pack_fuse`"),
        "{}",
        said.saying
    );
    // The same way, written from the bus.
    let turned = changed(
        &text,
        "from: pack, to: link, through: [pack_cable, pack_fuse]",
        "from: link, to: pack, through: [pack_fuse, pack_cable]",
    );
    assert_eq!(defects(&reviewed(&turned)), [(NAME, "before-fuse")]);
    let mended = changed(
        holding(NAME),
        "from: pack, to: link, through: [pack_fuse, pack_cable]",
        "from: link, to: pack, through: [pack_cable, pack_fuse]",
    );
    assert_eq!(defects(&reviewed(&mended)), []);
}

/// The tug, whose pack leaves it to `protected_by` to say what protects its branch.
fn names(fuse: &str) -> String {
    let way = format!("through: [pack_cable], protected_by: {fuse}");
    changed(holding(NAME), "through: [pack_fuse, pack_cable]", &way)
}

#[test]
fn a_fuse_within_a_source_is_judged_for_the_branch_that_names_it() {
    let within = names("pack_fuse");
    for (from, to, defect) in SHORT_OF {
        assert_eq!(defects(&reviewed(&changed(&within, from, to))), [(NAME, defect)], "{to}");
    }
    let bare = changed(&within, "    breaking: 10 kA\n", "");
    let review = reviewed(&bare);
    assert!(review.not_judged.iter().any(|one| one.missing.contains("breaking")), "{:?}", review.not_judged);
}

#[test]
fn a_fuse_that_no_fault_in_the_branch_flows_through_does_not_protect_it() {
    let elsewhere =
        "  lamp_feed: { from: link, to: tug_bridge, through: [lamp_fuse] }\n\nconductors:\n  lamp_fuse:
    { kind: fuse, voltage: 500 V DC, current: 400 A, melting: 16e3 A^2 s, clearing: 62e3 A^2 s, breaking: 30 kA,
      least_breaking: 80 A, resistance: 8 mohm }\n";
    let text = changed(&names("lamp_fuse"), "\nconductors:\n", elsewhere);
    let review = reviewed(&text);
    assert!(defects(&review).contains(&(NAME, "not-on-the-way")), "{:?}", defects(&review));
    let said = review.findings.iter().find(|one| one.defect == "not-on-the-way").expect("a finding");
    assert_eq!((said.part.as_str(), said.grade.word()), ("pack_feed", "major"));
    assert!(said.saying.contains("it stands in `lamp_feed`"), "{}", said.saying);
}

#[test]
fn a_fuse_in_the_way_back_to_the_source_is_judged_for_its_feed() {
    let back = "  pack_back: { from: hv_minus, to: pack, through: [pack_fuse] }\n\nconductors:\n";
    let text = changed(&names("pack_fuse"), "\nconductors:\n", back);
    let text = changed(&text, "  link: { ", "  link: { negative_rail: hv_minus, ");
    assert_eq!(defects(&reviewed(&text)), []);
    let weak = changed(&text, "breaking: 10 kA", "breaking: 6 kA");
    assert_eq!(defects(&reviewed(&weak)), [(NAME, "breaking-capacity")]);
    // And one in the feed protects what leads back.
    let feed = changed(
        holding(NAME),
        "\nconductors:\n",
        "  pack_back: { from: hv_minus, to: pack, through: [thin], protected_by: pack_fuse }\n\nconductors:\n  thin: { kind: cable, section: 1 mm^2, length: 1 m, current: { continuous: 200 A } }\n",
    );
    let feed = changed(&feed, "  link: { ", "  link: { negative_rail: hv_minus, ");
    let review = reviewed(&feed);
    assert!(defects(&review).contains(&(NAME, "let-through")), "{:?}", defects(&review));
}

#[test]
fn what_is_not_stated_is_not_judged_and_named() {
    for (line, key) in [
        ("    least_breaking: 250 A\n", "least_breaking"),
        ("    clearing: 45e3 A^2 s\n", "clearing"),
        ("    breaking: 10 kA\n", "breaking"),
        ("    voltage: 500 V DC\n", "voltage"),
    ] {
        let review = tug(line, "");
        assert_eq!(defects(&review), [], "{key}");
        assert!(
            review.not_judged.iter().any(|one| one.missing.contains(key)),
            "{key}: {:?}",
            review.not_judged
        );
    }
    let review = tug("lowest: 40 mohm, ", "");
    assert!(review.not_judged.iter().any(|one| one.missing.contains("internal_resistance.lowest")));
}

#[test]
fn a_load_that_comes_and_goes_is_weighed_and_derated_for_it() {
    let often = tug("lasts: continuous", "lasts: 30 s\n    every: 300 s");
    let over: Vec<_> = verdicts(&often, "overloaded");
    let compared = over[0].comparison().copied().expect("a comparison");
    // 200 A·√((140 − 60)/(140 − 25))·0.7.
    assert!((compared.limit - 200.0 * (80.0_f64 / 115.0).sqrt() * 0.7).abs() < 1e-6, "{compared:?}");
    assert!(matches!(over[0].outcome, Outcome::Holds(Some(_))));
    assert!(!over[0].remarks.is_empty());
    // What it carries in between as well does not come and go.
    let base = "\n  haul:
    lasts: continuous
    coolant: { inlet: 60 degC }
    sources: { pack: { open_circuit: 320 V } }
    loads:
      tug_motor: { electrical_power: 35 kW, line_voltage: 165 V rms, power_factor: 0.9, frequency: 90 Hz }

policy:\n";
    let text =
        changed(holding(NAME), "lasts: continuous", "lasts: 30 s\n    every: 300 s\n    starts_from: haul");
    let steady = reviewed(&changed(&text, "\npolicy:\n", base));
    let compared = verdicts(&steady, "overloaded")[0].comparison().copied().expect("a comparison");
    assert!((compared.limit - 200.0 * (80.0_f64 / 115.0).sqrt()).abs() < 1e-6, "{compared:?}");
}

#[test]
fn what_lies_between_a_bus_and_a_bridge_carries_the_ripple_of_the_bridge() {
    let fused = "  pack_feed: { from: pack, to: link, through: [pack_fuse, pack_cable] }
  tug_feed: { from: link, to: tug_bridge, through: [tug_fuse, tug_plug] }
";
    let parts = "conductors:
  tug_fuse: { kind: fuse, voltage: 500 V DC, current: 160 A, melting: 8e3 A^2 s, clearing: 30e3 A^2 s, breaking: 10 kA, least_breaking: 200 A, resistance: 0.5 mohm }
  tug_plug: { kind: connector, current: { continuous: 120 A, at: 85 degC }, resistance: 0.1 mohm }
";
    let bank = "capacitors:
  link_bank: { kind: bank, bus: link, each: film, parts: 2, path: { resistance: 0.2 mohm, inductance: 10 nH } }
capacitor_types:
  film: { capacitance: 300 uF, tolerance: 10 %, voltage: 450 V, series_resistance: 2 mohm, inductance: 30 nH }
stages:
";
    let text = [
        ("  pack_feed: { from: pack, to: link, through: [pack_fuse, pack_cable] }\n", fused),
        ("conductors:\n", parts),
        ("stages:\n", bank),
    ];
    let text = text.iter().fold(holding(NAME).to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let carried = |check: &str, defect: &str, part: &str| {
        let mut all =
            review.verdicts.iter().flatten().filter(|one| one.check == check && one.defect == defect);
        let verdict = all.find(|one| variant.path(one.part) == part).expect(part);
        verdict.comparison().expect(part).carried_value
    };
    // 35 kW at 165 V rms and 0.9 out of some 310 V: the whole current of a bridge in closed form, I·√(√3/2π·M·(1 + 4 cos²φ)).
    let phase = 35e3 / (3.0_f64.sqrt() * 165.0 * 0.9);
    let index = 2.0 * 165.0 * (2.0_f64 / 3.0).sqrt() / 310.0;
    let all = phase * (3.0_f64.sqrt() / (2.0 * core::f64::consts::PI) * index * (1.0 + 4.0 * 0.81)).sqrt();
    for (check, defect, part) in
        [(NAME, "overloaded", "tug_fuse"), ("current-headroom", "rated-current", "tug_plug")]
    {
        let carried = carried(check, defect, part);
        assert!((carried / all - 1.0).abs() < 0.03, "{part}: {carried} against {all}");
    }
    // The bank keeps it from the pack, of which no more than the power is asked.
    let pack = carried(NAME, "overloaded", "pack_fuse");
    assert!((pack / (35e3 / 310.0) - 1.0).abs() < 0.05, "{pack}");
    assert!(defects(&review).contains(&("current-headroom", "rated-current")));
}

#[test]
fn one_fuse_too_large_is_one_finding_for_all_branches_behind_it() {
    let branches = "  pack_feed: { from: pack, to: link, through: [pack_fuse, pack_cable] }
  tug_feed: { from: link, to: tug_bridge, through: [tug_plug] }
";
    let plug = "conductors:
  tug_plug: { kind: connector, current: { continuous: 200 A, at: 85 degC }, resistance: 0.1 mohm }
";
    let text = changed(
        holding(NAME),
        "  pack_feed: { from: pack, to: link, through: [pack_fuse, pack_cable] }\n",
        branches,
    );
    let text =
        changed(&changed(&text, "conductors:\n", plug), "    current: 200 A\n", "    current: 355 A\n");
    let review = reviewed(&text);
    let failing = verdicts(&review, "unended-overload").into_iter().filter(|one| one.fails());
    assert_eq!(failing.count(), 2);
    let found: Vec<_> = review.findings.iter().filter(|one| one.defect == "unended-overload").collect();
    assert_eq!(found.len(), 1, "{found:?}");
}

#[test]
fn a_battery_without_a_branch_is_not_judged() {
    let text = changed(holding(NAME), "    kind: battery\n", "    kind: battery\n    bus: link\n");
    let text = changed(
        &text,
        "branches:\n  pack_feed: { from: pack, to: link, through: [pack_fuse, pack_cable] }\n",
        "",
    );
    let review = reviewed(&text);
    let told: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(told, ["a branch from pack is not stated"]);
    assert_eq!(review.not_judged[0].parts, ["pack"]);
}

/// The trencher with a bar between link and bridge that names the fuse in the pack, before the boost.
fn beyond_a_boost(bar: &str) -> String {
    let bars = "  chain_bars: { from: link, to: chain_bridge, through: [chain_bar], protected_by: pack_fuse }\n\nconductors:\n";
    let text = changed(trencher(), "\nconductors:\n", bars);
    changed(&text, "\nconductors:\n", &format!("\nconductors:\n  chain_bar: {bar}\n"))
}

#[test]
fn the_diodes_of_a_boost_feed_a_fault_beyond_it_through_the_fuse_before_it() {
    let bar = "{ kind: busbar, width: 20 mm, thickness: 2 mm, length: 200 mm, hottest: 120 degC }";
    let review = reviewed(&beyond_a_boost(bar));
    assert!(!defects(&review).contains(&(NAME, "not-on-the-way")), "{:?}", defects(&review));
    let held: Vec<_> =
        verdicts(&review, "let-through").into_iter().filter_map(|one| one.comparison()).collect();
    assert!(held.iter().any(|one| (one.carried_value / 36e3 - 1.0).abs() < 1e-9), "{held:?}");
    // One of 1.5 mm² stands (115 A·√s/mm²·1.5 mm²)² = 30 000 A²s at the most.
    let thin =
        "{ kind: cable, section: 1.5 mm^2, length: 0.2 m, current: { continuous: 200 A, at: 85 degC } }";
    let review = reviewed(&beyond_a_boost(thin));
    assert!(defects(&review).contains(&(NAME, "let-through")), "{:?}", defects(&review));
}

#[test]
fn what_stands_at_the_low_bus_of_a_boost_drives_a_fault_on_its_high_bus() {
    let groomer = include_str!("../../../examples/snow-groomer.yaml");
    let unit = unit(groomer);
    let solved = Solved::new(&unit.variants[0]);
    let (plan, lane) = (&solved.variant.plan, LaneId::new(0));
    let path = |part| solved.variant.path(part);
    let fuse = |name: &str| plan.fuses.iter().find(|one| path(plan.conductors[one.conductor].part) == name);
    let pack = fuse("pack_fuse").expect("it is there");
    let is_bar = |one: &&Protected| path(plan.conductors[one.conductor].part) == "step_up_bar";
    let bar = pack.protects.iter().find(is_bar).expect("it is behind the fuse");
    let cell = fuse("cell_fuse").expect("it is there").figures.let_through;
    // The bar lies between the boost and the link: a fault meets the cell's fuse one way, the pack's and the banks the other.
    assert_eq!((bar.beside.as_slice(), bar.against.as_slice()), (&[][..], &[cell][..]));
    let through = solved.figure(bar.through, lane).expect("known");
    assert!((through / 1.55e6 - 1.0).abs() < 0.01, "{through}: the pack's fuse, and the banks on top");
    // A cell that drives nothing leaves more for the fuse of the pack in a fault at the far end.
    let lowest = solved.figure(pack.figures.lowest_fault, lane).expect("known");
    let weaker = changed(
        groomer,
        "short_circuit: { lowest: 800 A, highest: 1400 A }",
        "short_circuit: { lowest: 8 A, highest: 14 A }",
    );
    let weaker = crate::descriptions::unit(&weaker);
    let without = Solved::new(&weaker.variants[0]).figure(pack.figures.lowest_fault, lane).expect("known");
    assert!(lowest < without, "{lowest} {without}");
}

#[test]
fn a_fault_finds_a_rated_cable_where_its_current_has_brought_it() {
    let rated = |more: &str| {
        changed(
            holding(NAME),
            "    hottest: 125 degC\n",
            &format!("    current: {{ continuous: 190 A, at: 85 degC }}\n{more}"),
        )
    };
    let withstood = |text: &str| {
        let review = reviewed(text);
        let all = verdicts(&review, "let-through");
        let cable = all.iter().find_map(|one| one.comparison()).expect("a comparison").limit;
        (cable, all[0].remarks.iter().any(|one| one.to_string().contains("as warm as the surroundings")))
    };
    let (from_air, is_said) = withstood(&rated(""));
    assert!(is_said);
    let (from_there, is_said) = withstood(&rated("    hottest: 125 degC\n"));
    assert!(!is_said);
    // (226 A·√s/mm²·35 mm²)²·ln of what is left to 250 °C, from 85 °C and from where the current has brought it.
    let whole = 226.0 * 35.0;
    let k = |begins: f64| whole * whole * libm::log((250.0 + 234.5) / (begins + 234.5));
    assert!((from_air / k(85.0) - 1.0).abs() < 1e-6, "{from_air}");
    let unit = unit(holding(NAME));
    let solved = Solved::new(&unit.variants[0]);
    let cable = &solved.variant.plan.conductors[1];
    let amps = solved.figure(cable.current, LaneId::new(0)).expect("a current");
    let begins = 60.0 + 40.0 * (amps / 190.0) * (amps / 190.0);
    assert!((from_there / k(begins) - 1.0).abs() < 1e-6, "{from_there} {begins}");
}

#[test]
fn a_fuse_between_a_boost_and_its_bus_meets_what_drives_it_one_way_or_the_other() {
    let groomer = include_str!("../../../examples/snow-groomer.yaml");
    let text = changed(groomer, "through: [step_up_bar]", "through: [step_up_fuse, step_up_bar]");
    let text = changed(
        &text,
        "\nconductors:",
        "\nconductors:\n  step_up_fuse: { kind: fuse, voltage: 1000 V DC, current: 400 A, breaking: 20 kA, resistance: 0.2 mohm }",
    );
    let unit = unit(&text);
    let (solved, lane) = (Solved::new(&unit.variants[0]), LaneId::new(0));
    let path = |part| solved.variant.path(part);
    let fuses = &solved.variant.plan.fuses;
    let fuse = |name: &str| {
        fuses.iter().find(|one| path(solved.variant.plan.conductors[one.conductor].part) == name)
    };
    let own = fuse("step_up_fuse").expect("it is there");
    let names = |drives: &[Drive]| drives.iter().map(|one| path(one.source)).collect::<Vec<_>>();
    assert_eq!((names(&own.drives), names(&own.others)), (vec!["pack"], vec!["cell"]));
    // What the pack drives: the bar lies behind the fuse, as do the pack's own conductors before the bus.
    let most = solved.figure(own.figures.highest_fault, lane).expect("known");
    let pack = &fuse("pack_fuse").expect("it is there").drives[0];
    let volts = solved.input(pack.voltage.0, lane).expect("stated");
    let ohms = solved.input(pack.resistance.0, lane).expect("stated");
    assert!(most < volts / ohms && most > 0.5 * volts / ohms, "{most}: without the 1400 A of the cell");
}

#[test]
fn a_bus_that_does_not_say_how_high_it_comes_leaves_the_voltage_of_its_fuse_open() {
    let unsaid = changed(holding(NAME), "nominal: 320 V, highest: 400 V", "nominal: 320 V");
    let review = reviewed(&unsaid);
    assert!(verdicts(&review, "voltage").iter().all(|one| matches!(one.outcome, Outcome::NotJudged(_))));
    assert!(review.not_judged.iter().any(|one| one.missing.contains("buses.link.highest")));
    // What its source has without current is enough to fail.
    let weak = reviewed(&changed(&unsaid, "voltage: 500 V DC", "voltage: 350 V DC"));
    let compared = verdicts(&weak, "voltage")[0].comparison().copied().expect("a comparison");
    assert!((compared.carried_value - 360.0).abs() < 1e-9, "{compared:?}");
    assert_eq!(one(&weak).defect, "voltage");
}

#[test]
fn the_way_back_counts_in_the_weakest_fault() {
    let back = "  pack_back: { from: hv_minus, to: pack, through: [back_cable], protected_by: pack_fuse }\n\nconductors:\n  back_cable: { kind: cable, section: 35 mm^2, length: 3 m, current: { continuous: 200 A } }\n";
    let text = changed(holding(NAME), "\nconductors:\n", back);
    let text = changed(&text, "  link: { ", "  link: { negative_rail: hv_minus, ");
    let compared = |defect: &str| {
        let review = reviewed(&text);
        verdicts(&review, defect)[0].comparison().copied().expect("a comparison")
    };
    // 280 V behind 90 mΩ, the fuse, and four metres of cable at 150 °C.
    let by_hand = 280.0 / (0.090 + 0.5e-3 + 4.0 * 0.554e-3 * (1.0 + 0.003_93 * 130.0));
    assert!((compared("not-cleared").limit / by_hand - 1.0).abs() < 1e-9, "{:?}", compared("not-cleared"));
    // The strongest fault may find another way back: that of the chassis.
    assert!((compared("breaking-capacity").carried_value / 9000.0 - 1.0).abs() < 1e-9);
}

#[test]
fn ratings_hold_up_to_an_altitude() {
    let at = |height: &str, up_to: &str| {
        let text = changed(holding(NAME), "altitude: 500 m", &format!("altitude: {height}"));
        let text = changed(&text, "    voltage: 500 V DC\n", &format!("    voltage: 500 V DC\n{up_to}"));
        let review = reviewed(&text);
        let of = verdicts(&review, "thin-air").first().map(|one| one.outcome.clone());
        (of, defects(&review).contains(&(NAME, "thin-air")), review)
    };
    assert!(at("2000 m", "").0.is_none(), "what standards cover needs no word");
    let (outcome, _, review) = at("3500 m", "");
    assert!(matches!(outcome, Some(Outcome::NotJudged(_))), "{outcome:?}");
    assert!(review.not_judged.iter().any(|one| one.missing.contains("altitude of pack_fuse")));
    assert!(matches!(at("3500 m", "    altitude: 4000 m\n").0, Some(Outcome::Holds(_))));
    let (_, found, review) = at("3500 m", "    altitude: 3000 m\n");
    assert!(found);
    let told = review.findings.iter().find(|one| one.defect == "thin-air").expect("a finding");
    assert!(told.saying.starts_with("ratings of `pack_fuse` hold up to 3 km, and"), "{}", told.saying);
}
