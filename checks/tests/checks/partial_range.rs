//! Fuses of the partial range: an overload that melts one without being broken has to be ended by something else.

use loadworthy_checks::Review;
use loadworthy_checks::list::CHECKS;
use loadworthy_checks::mission::{CHUNK, Judge};
use loadworthy_checks::verdict::Comparison;
use loadworthy_unit::mission::Rows;
use loadworthy_unit::{DutyId, LaneId, Solved};

use crate::descriptions::{self, changed, defects, finding, holding, reviewed, unit};

const NAME: &str = "fuse-coordination";
const UNBROKEN: (&str, &str) = (NAME, "unbroken-overload");

/// The tug with a fuse that breaks from 1 kA up, where some 267 A melt it.
fn partial() -> String {
    changed(holding(NAME), "least_breaking: 250 A", "least_breaking: 1000 A")
}

/// The same with a contactor.
fn with_contactor(more: &str) -> String {
    descriptions::with_contactor(&partial(), 260, more)
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

/// Times after which currents over the rated one melt the tug's fuse, from cold.
const CURVE: [(f64, f64); 5] = [(1.6, 3600.0), (2.0, 100.0), (3.0, 2.0), (5.0, 0.03), (10.0, 0.004)];

/// The same fuse with that curve, and a contactor that opens and breaks so much.
fn waiting(after: &str, breaks: &str) -> String {
    let contactor = format!(
        "opens: {{ above: 255 A, after: {after} }}, breaks: {{ voltage: 450 V, current: {breaks} }}, "
    );
    let curve = "    element: 140 degC\n    time_current: { load: [160 %, 200 %, 300 %, 500 %, 1000 %], time: [3600 s, 100 s, 2 s, 30 ms, 4 ms] }\n";
    changed(&with_contactor(&contactor), "    element: 140 degC\n", curve)
}

/// The current over the rated one that melts it after a time by the curve, on straight lines over logarithms.
fn melting_after(time: f64) -> f64 {
    let mut pairs = CURVE.windows(2).map(|pair| (pair[0], pair[1]));
    let ((slow, longer), (fast, shorter)) =
        pairs.find(|((_, longer), (_, shorter))| *shorter <= time && time <= *longer).expect("on the curve");
    slow * libm::pow(fast / slow, libm::log(longer / time) / libm::log(longer / shorter))
}

const OPENED: (&str, &str) = (NAME, "opened-overload");
const MELTS_FIRST: (&str, &str) = (NAME, "melts-first");

fn compared(text: &str, which: (&str, &str)) -> Comparison {
    let review = reviewed(text);
    let one = review.verdicts.iter().flatten().find(|one| (one.check, one.defect) == which).expect("judged");
    *one.comparison().expect("compared")
}

#[test]
fn a_contactor_breaks_what_the_fuse_has_not_ended_when_it_opens() {
    // 10 % above the curve at 50 ms certainly has melted it: 200 A times that, more than the 1 kA that it breaks at least.
    let flows = 200.0 * 1.1 * melting_after(0.05);
    assert!((1000.0..1100.0).contains(&flows), "{flows}");
    assert!((compared(&waiting("50 ms", "1.1 kA"), OPENED).carried_value / flows - 1.0).abs() < 1e-9);
    assert!(!defects(&reviewed(&waiting("50 ms", "1.1 kA"))).contains(&OPENED));
    assert!(defects(&reviewed(&waiting("50 ms", "1 kA"))).contains(&OPENED));
    // One that waits longer still opens what the fuse does not break; one that does not wait opens whatever flows.
    assert!((compared(&waiting("5 s", "1.1 kA"), OPENED).carried_value - 1000.0).abs() < 1e-9);
    let at_once = changed(&waiting("50 ms", "1.1 kA"), ", after: 50 ms", "");
    assert!((compared(&at_once, OPENED).carried_value / 9000.0 - 1.0).abs() < 0.02, "360 V behind 40 mΩ");
    let review = reviewed(&waiting("50 ms", "1 kA"));
    let found = finding(&review, "opened-overload");
    assert_eq!((found.part.as_str(), found.grade.word()), ("pack_contactor", "minor"));
    assert!(found.proposals.iter().all(|one| one.say.contains("`pack_contactor` breaks")), "{found:?}");
}

#[test]
fn without_its_curve_nobody_knows_what_a_fuse_leaves_to_the_contactor() {
    let bare = |breaks: &str| {
        let text = waiting("5 s", breaks);
        let from = text.find("    time_current").expect("a curve");
        let to = from + text[from..].find('\n').expect("an end") + 1;
        format!("{}{}", &text[..from], &text[to..])
    };
    let waits = |review: &Review| review.not_judged.iter().any(|one| one.missing.contains("time_current"));
    let enough = reviewed(&bare("1.2 kA"));
    assert!(!defects(&enough).contains(&OPENED) && !defects(&enough).contains(&MELTS_FIRST));
    assert!(waits(&enough), "{:?}", enough.not_judged);
    // Less than the fuse breaks at least is too little whatever its curve says.
    assert!(defects(&reviewed(&bare("900 A"))).contains(&OPENED));
}

#[test]
fn a_contactor_opens_before_a_fuse_melts_that_does_not_break_it() {
    let text = waiting("100 ms", "2.5 kA");
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let (plan, lane) = (&solved.variant.plan, LaneId::new(0));
    let load = solved.figure(plan.conductors[plan.fuses[0].conductor].current, lane).expect("known");
    // In air of 60 °C, 10 % below the curve, after the load of the duty point.
    let good = 200.0 * (80.0_f64 / 115.0).sqrt();
    let cold = 0.9 * melting_after(0.1) * good;
    let stays = (cold * cold * (1.0 - load * load / good / good) + load * load).sqrt();
    let held = compared(&text, MELTS_FIRST);
    assert!(
        (held.carried_value - 1000.0).abs() < 1e-9 && (held.limit / stays - 1.0).abs() < 1e-9,
        "{held:?}"
    );
    let review = reviewed(&text);
    let found = finding(&review, "melts-first");
    assert_eq!(found.part, "pack_fuse");
    assert_eq!(found.proposals[0].say, "time that `pack_contactor` waits: 100 ms -> 5 ms");
    // One that breaks less needs the contactor for less.
    let breaks = |amps: f64| changed(&text, "least_breaking: 1000 A", &format!("least_breaking: {amps} A"));
    assert!(defects(&reviewed(&breaks(stays * 1.01))).contains(&MELTS_FIRST));
    assert!(!defects(&reviewed(&breaks(stays * 0.99))).contains(&MELTS_FIRST));
    // Of the full range it needs none.
    let full = reviewed(&breaks(300.0));
    assert!(!full.verdicts.iter().flatten().any(|one| (one.check, one.defect) == MELTS_FIRST));
}

/// Square of the load held for good that leaves the tug's fuse as warm as many pulls of `lasts` out of each `every` do at their
/// ends: bodies that rise together at least as soon as the curve says, each stepped by itself.
fn warmest(amps: f64, lasts: f64, every: f64) -> f64 {
    let mut bodies = Vec::new();
    let (mut reached, mut before) = (0.0, 0.0);
    for (load, time) in CURVE.into_iter().rev() {
        let root = 1.6 / (0.9 * load);
        let share = f64::min(root * root, 1.0);
        bodies.push((share - reached, 0.2 * before));
        (reached, before) = (share, time);
    }
    bodies.push((1.0 - reached, 0.2 * before));
    let mut squares = vec![0.0; bodies.len()];
    let mut flow = |amps: f64, time: f64| {
        for (square, (_, constant)) in squares.iter_mut().zip(&bodies) {
            let left = if *constant > 0.0 { libm::exp(-time / constant) } else { 0.0 };
            *square = amps * amps + (*square - amps * amps) * left;
        }
        bodies.iter().zip(&squares).map(|((share, _), square)| share * square).sum::<f64>()
    };
    for _ in 0..2000 {
        flow(amps, lasts);
        flow(0.0, every - lasts);
    }
    flow(amps, lasts)
}

/// The tug that pulls for 5 s of each 100 s.
fn recurring(waiting: &str) -> String {
    changed(waiting, "    lasts: continuous\n", "    lasts: 5 s\n    every: 100 s\n")
}

/// What the tug's fuse carries in its duty point, in A.
fn pulled(text: &str) -> f64 {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    let plan = &solved.variant.plan;
    solved.figure(plan.conductors[plan.fuses[0].conductor].current, LaneId::new(0)).expect("a current")
}

/// What certainly does not melt it within 50 ms, after a load of such a square.
fn unmelted(square: f64) -> f64 {
    let good = 200.0 * (80.0_f64 / 115.0).sqrt();
    let cold = 0.9 * melting_after(0.05) * good;
    (cold * cold * (1.0 - square / (good * good)) + square).sqrt()
}

#[test]
fn what_recurs_leaves_a_fuse_as_warm_as_its_cycle_and_its_last_time_do() {
    let held = waiting("50 ms", "1.1 kA");
    let amps = pulled(&held);
    assert!((compared(&held, MELTS_FIRST).limit / unmelted(amps * amps) - 1.0).abs() < 1e-9);
    let limit = compared(&recurring(&held), MELTS_FIRST).limit;
    assert!((limit / unmelted(warmest(amps, 5.0, 100.0)) - 1.0).abs() < 1e-9, "{limit}");
    assert!(limit > 1.02 * unmelted(amps * amps), "{limit}");
    // What derivations show is what is judged.
    let unit = unit(&recurring(&held));
    let solved = Solved::new(&unit.variants[0]);
    let apart = solved.variant.plan.melted[0].apart.expect("a contactor opens");
    let derived = solved.derivation(LaneId::new(0));
    assert_eq!(derived.figures[apart.unmelted.index()].to_bits(), limit.to_bits());
    let step = derived.steps.of(apart.load).expect("told");
    assert!(step.law.formula.contains("Σ a_k·I_k²"), "{}", step.law.formula);
}

/// The same tug, which rests as well, at a tenth of its power.
fn rests(text: &str) -> String {
    let rest = "  rest:
    lasts: continuous
    coolant: { inlet: 60 degC }
    sources: { pack: { open_circuit: 320 V } }
    loads:
      tug_motor: { electrical_power: 3500 W, line_voltage: 165 V rms, power_factor: 0.9, frequency: 90 Hz }

policy:
";
    changed(text, "\npolicy:\n", &format!("\n{rest}"))
}

/// The lowest limit of `melts-first` in a mission of 200 pulls of 5 s out of each 100 s, and for how long it fails.
fn in_mission(text: &str) -> (f64, f64) {
    let steps = "[{ duty: ramp, lasts: 5 s }, { duty: rest, lasts: 95 s }]";
    let unit = unit(&format!("{}\nmissions:\n  shift: {{ steps: {steps} }}\n", rests(text)));
    let variant = &unit.variants[0];
    let duty = |name| DutyId::new(variant.duties.iter().position(|duty| duty.name == name).expect("there"));
    let mut judge = Judge::new(CHECKS, variant, &[], Some(duty("rest")), 2);
    let rows = Rows {
        duties: [duty("ramp"), duty("rest")].repeat(CHUNK / 2),
        lasts: [5.0, 95.0].repeat(CHUNK / 2),
        values: Vec::new(),
    };
    judge.take(&vec![rows; 200 / (CHUNK / 2)]);
    let worst = judge.tally.worst.iter().find(|(key, _)| key.defect == MELTS_FIRST.1).expect("judged").1;
    (worst.verdict.comparison().expect("compared").limit, worst.fails_for)
}

/// What `melts-first` says of the duty point that pulls, where it recurs after rest.
fn in_review(text: &str) -> Comparison {
    let recurs = changed(&recurring(text), "    every: 100 s\n", "    every: 100 s\n    starts_from: rest\n");
    compared(&rests(&recurs), MELTS_FIRST)
}

#[test]
fn a_mission_warms_a_fuse_over_its_rows_as_the_cycle_of_a_duty_point_does() {
    let held = waiting("50 ms", "1.1 kA");
    let by_cycle = in_review(&held).limit;
    let (by_rows, fails_for) = in_mission(&held);
    assert!((by_rows / by_cycle - 1.0).abs() < 1e-6, "{by_rows} of rows, {by_cycle} of the cycle");
    assert!(fails_for > 0.0, "1 kA is more");
    // What holds in a review holds in the mission, although the same load held for good would not.
    let least = by_cycle * 0.99;
    let between = changed(&held, "least_breaking: 1000 A", &format!("least_breaking: {least} A"));
    assert!(in_review(&between).holds() && !compared(&between, MELTS_FIRST).holds());
    assert!(in_mission(&between).1.abs() < 1e-12);
}
