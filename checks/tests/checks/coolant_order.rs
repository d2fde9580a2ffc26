//! The order along the coolant held against all orders there are, and what is told of it.

use std::fmt::Write as _;

use loadworthy_checks::Review;
use loadworthy_checks::review::JudgedBy;
use loadworthy_checks::verdict::Grade;
use loadworthy_unit::plan::CoolantRow;
use loadworthy_unit::{FigureId, LaneState, Solved, Unit};
use proptest::prelude::*;

use crate::descriptions::{changed, failing, finding, holding, repeatable, unit};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "coolant-order";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

fn devices() -> &'static str {
    let text = holding(NAME);
    let from = text.find("devices:").expect("devices");
    &text[from..text.find("cooling:").expect("cooling")]
}

/// A plate for each bridge, with what it is asked in each duty point, its resistance, and what else its element says.
struct Plate {
    kilowatts: Vec<f64>,
    face: f64,
    more: String,
}

/// Bridges on plates one after another.
fn row(plates: &[Plate], path: &str, flow: f64) -> String {
    let mut text = "edition: 2026\nbuses:\n  link: { nominal: 350 V }\nstages:\n".to_owned();
    for k in 0..plates.len() {
        writeln!(
            text,
            "  b{k}: {{ topology: three_phase_bridge, dc_bus: link, feeds: m{k}, modulation: space_vector, carrier: {{ frequency: 8 kHz }}, dead_time: 2 us, switches: {{ high_side: {{ fitted: hb650_300, parallel: 1 }}, low_side: {{ fitted: hb650_300, parallel: 1 }} }} }}"
        )
        .expect("text");
    }
    text.push_str("machines:\n");
    for k in 0..plates.len() {
        writeln!(text, "  m{k}: {{ kind: permanent_magnet, phase_resistance: 12 mohm }}").expect("text");
    }
    text.push_str(devices());
    writeln!(
        text,
        "cooling:\n  coolant: {{ kind: water_glycol, glycol: 50 % }}\n  pump: {{ flow: {flow:.3} L/min }}"
    )
    .expect("text");
    writeln!(text, "  path: [{path}]\n  elements:").expect("text");
    for (k, plate) in plates.iter().enumerate() {
        writeln!(
            text,
            "    p{k}: {{ referred_to: outlet, cools: {{ b{k}: {{ face_a: {:.4} K/W }} }}{} }}",
            plate.face, plate.more
        )
        .expect("text");
    }
    text.push_str("    hose: {}\nduty:\n");
    for duty in 0..plates[0].kilowatts.len() {
        writeln!(
            text,
            "  d{duty}:\n    coolant: {{ inlet: 55 degC }}\n    buses: {{ link: 350 V }}\n    loads:"
        )
        .expect("text");
        for (k, plate) in plates.iter().enumerate() {
            writeln!(
                text,
                "      m{k}: {{ electrical_power: {:.3} kW, line_voltage: 205 V rms, power_factor: 0.88, frequency: 120 Hz }}",
                plate.kilowatts[duty]
            )
            .expect("text");
        }
    }
    text
}

fn plate(kilowatts: &[f64], face: f64) -> Plate {
    Plate { kilowatts: kilowatts.to_vec(), face, more: String::new() }
}

/// All orders of some places.
fn permutations(places: &[usize]) -> Vec<Vec<usize>> {
    let [first, rest @ ..] = places else { return vec![Vec::new()] };
    let mut all = Vec::new();
    for shorter in permutations(rest) {
        for at in 0..=shorter.len() {
            let mut order = shorter.clone();
            order.insert(at, *first);
            all.push(order);
        }
    }
    all
}

/// The least headroom of all junctions in each order, solved one by one.
fn least(unit: &Unit, orders: &[Vec<usize>]) -> Vec<f64> {
    let solved = Solved::new(&unit.variants[0]);
    let plan = &solved.variant.plan;
    let all = solved.reordered(CoolantRow::Path, orders).expect("orders of the path");
    let mut least = Vec::new();
    for one in all {
        let mut worst = f64::INFINITY;
        for lane in solved.variant.lane_ids() {
            for chip in &plan.chips {
                let limit = solved.input(chip.inputs.junction_limit, lane).expect("a limit");
                let hot = one.figure(chip.figures.junction_temperature, lane);
                let left = match one.state(lane) {
                    LaneState::Solved { .. } => limit - 20.0 - hot.expect("a temperature"),
                    LaneState::NoSolution { .. } | LaneState::Undecided { .. } => f64::NEG_INFINITY,
                };
                worst = worst.min(left);
            }
        }
        least.push(worst);
    }
    least
}

/// The order that a review proposes, as places of the described path.
fn proposed(review: &Review, described: &[&str]) -> Vec<usize> {
    let held = &finding(review, "another-order").proposals[0];
    let (_, list) = held.say.split_once("path [").expect("a path");
    let names = list.trim_end_matches(']').split(", ");
    names.map(|name| described.iter().position(|one| *one == name).expect("a name of the path")).collect()
}

proptest! {
    #![proptest_config(repeatable(48))]

    #[test]
    fn no_order_of_all_leaves_more_than_the_one_that_is_found(
        count in 2..=6_usize,
        loads in proptest::collection::vec((8.0..70.0_f64, 8.0..70.0_f64), 6),
        faces in proptest::collection::vec(0.03..0.11_f64, 6),
        flow in 1.6..6.0_f64,
    ) {
        // The more there are, the fewer cases would have a solution with a small flow.
        #[expect(clippy::cast_precision_loss, reason = "six at most")]
        let flow = flow * count as f64 / 2.0;
        let plates: Vec<Plate> = (0..count).map(|k| plate(&[loads[k].0, loads[k].1], faces[k])).collect();
        let names: Vec<String> = (0..count).map(|k| format!("p{k}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let text = row(&plates, &names.join(", "), flow);
        let unit = unit(&text);
        let solved = Solved::new(&unit.variants[0]);
        prop_assume!(solved.variant.lane_ids().all(|lane| matches!(solved.state(lane), LaneState::Solved { .. })));
        let places: Vec<usize> = (0..count).collect();
        let described = least(&unit, core::slice::from_ref(&places))[0];
        let best = least(&unit, &permutations(&places)).into_iter().fold(f64::NEG_INFINITY, f64::max);
        let review = reviewed(&text);
        if best - described < 3.0 {
            prop_assert_eq!(review.findings.len(), 0, "{} {}", described, best);
        } else {
            let order = proposed(&review, &names);
            let found = least(&unit, core::slice::from_ref(&order))[0];
            prop_assert!((found - best).abs() < 1e-6, "{:?} leaves {}, best {}", order, found, best);
        }
    }
}

/// Three branches of two plates each; those of all but the named ones are tied to their place.
fn branches(plates: &[Plate], free: &[usize], flow: f64) -> String {
    let split = "  elements:\n    stacks: { split: { r0: [p0, p1], r1: [p2, p3], r2: [p4, p5] } }\n";
    let text = row(plates, "stacks", flow).replace("  elements:\n", split);
    let tied = (0..3).filter(|branch| !free.contains(branch)).flat_map(|branch| [2 * branch, 2 * branch + 1]);
    tied.fold(text, |text, k| text.replace(&format!("    p{k}: {{ "), &format!("    p{k}: {{ fixed: true, ")))
}

/// The rows of which another order is said to leave more.
fn rows_that_fail(text: &str) -> Vec<String> {
    let unit = unit(text);
    let review = loadworthy_checks::review::review_with(&[listed(NAME)], &unit);
    let failing = review.verdicts[0].iter().filter(|verdict| verdict.fails());
    failing.map(|verdict| unit.variants[0].path(verdict.part).to_owned()).collect()
}

proptest! {
    #![proptest_config(repeatable(24))]

    #[test]
    fn rows_that_are_searched_together_are_judged_as_each_by_itself(
        loads in proptest::collection::vec((8.0..60.0_f64, 8.0..60.0_f64), 6),
        faces in proptest::collection::vec(0.03..0.11_f64, 6),
        flow in 4.5..9.0_f64,
    ) {
        let more = ", pressure_drop: { flow: 4 L/min, pressure: 5 kPa }".to_owned();
        let plates: Vec<Plate> = (0..6)
            .map(|k| Plate { more: more.clone(), ..plate(&[loads[k].0, loads[k].1], faces[k]) })
            .collect();
        let together = rows_that_fail(&branches(&plates, &[0, 1, 2], flow));
        let alone: Vec<String> =
            (0..3).flat_map(|branch| rows_that_fail(&branches(&plates, &[branch], flow))).collect();
        prop_assert_eq!(together, alone);
    }
}

#[test]
fn the_described_order_solved_as_another_one_is_the_same_to_the_last_bit() {
    let unit = unit(&row(&[plate(&[40.0, 30.0], 0.05), plate(&[30.0, 60.0], 0.07)], "p0, hose, p1", 3.0));
    let solved = Solved::new(&unit.variants[0]);
    let orders = [vec![0, 1, 2], vec![2, 1, 0]];
    let all = solved.reordered(CoolantRow::Path, &orders).expect("two orders");
    for lane in solved.variant.lane_ids() {
        assert_eq!(all[0].state(lane), solved.state(lane));
        for figure in (0..solved.variant.tables.figures().len()).map(FigureId::new) {
            let bits = |value: Option<f64>| value.map(f64::to_bits);
            assert_eq!(bits(all[0].figure(figure, lane)), bits(solved.figure(figure, lane)));
        }
        let path = solved.variant.plan.coolant.as_ref().expect("a path");
        let inlet = solved.input(path.inlet, lane);
        assert_eq!(all[1].figure(path.places[2].coolant_in, lane), inlet, "the last place comes first");
    }
    for wrong in [vec![0, 1], vec![0, 1, 1], vec![0, 1, 3], vec![0, 1, 2, 3]] {
        assert!(solved.reordered(CoolantRow::Path, &[wrong]).is_none());
    }
}

#[test]
fn the_example_says_what_its_page_works_out() {
    let review = reviewed(failing(NAME));
    let one = finding(&review, "another-order");
    assert_eq!((one.part.as_str(), one.grade, one.duty.as_deref()), ("cooling", Grade::Note, None));
    let held = &one.proposals[0];
    assert_eq!(held.say, "put wheel_plate before bucket_plate: path [wheel_plate, bucket_plate]");
    assert!(matches!(held.judged_by, JudgedBy::OwnCheck(_)));
    let page = listed(NAME).about().page;
    for number in ["5.4 K", "18 K", "23 K"] {
        assert!(one.facts.iter().any(|fact| fact.contains(number)), "{number}: {:?}", one.facts);
        assert!(page.contains(number), "{number}");
    }
    // Written as it is proposed, the order holds, and leaves what was said.
    let written =
        changed(failing(NAME), "path: [bucket_plate, wheel_plate]", "path: [wheel_plate, bucket_plate]");
    let review = reviewed(&written);
    assert!(review.findings.is_empty() && review.counts.hold == 1);
}

/// Two plates of which the second is much the hotter.
fn two() -> Vec<Plate> {
    vec![plate(&[55.0], 0.06), plate(&[72.0], 0.06)]
}

#[test]
fn a_better_order_is_worth_a_note_and_more_where_a_junction_holds_again() {
    let review = reviewed(&row(&two(), "p0, p1", 3.0));
    assert_eq!(finding(&review, "another-order").grade, Grade::Note);
    let policy =
        |keeps: u32| format!("{}policy: {{ junction: {{ keep: {keeps} K }} }}\n", row(&two(), "p0, p1", 3.0));
    let hot = reviewed(&policy(50));
    assert_eq!(finding(&hot, "another-order").grade, Grade::Minor);
    // Where neither order holds it is a note again: the order is not the cure.
    assert_eq!(finding(&reviewed(&policy(80)), "another-order").grade, Grade::Note);
}

#[test]
fn a_few_kelvins_are_not_worth_a_word() {
    let review = reviewed(&row(&two(), "p0, p1", 12.0));
    assert!(review.findings.is_empty());
    assert_eq!(review.counts.hold, 1);
}

#[test]
fn what_is_fixed_stays_and_what_cools_nothing_too() {
    let mut plates = two();
    plates[1].more = ", fixed: true".to_owned();
    let review = reviewed(&row(&plates, "p0, p1", 3.0));
    assert_eq!((review.findings.len(), review.counts.hold), (0, 0));
    let review = reviewed(&row(&two(), "p0, hose, p1", 3.0));
    let held = &finding(&review, "another-order").proposals[0];
    assert_eq!(held.say, "put p1 before p0: path [p1, hose, p0]");
    let mut three = two();
    three.insert(0, Plate { more: ", fixed: true".to_owned(), ..plate(&[20.0], 0.05) });
    let review = reviewed(&row(&three, "p0, p1, p2", 3.0));
    assert_eq!(proposed(&review, &["p0", "p1", "p2"]), [0, 2, 1]);
}

#[test]
fn one_place_that_moves_is_named_and_else_the_whole_order() {
    let said = |plates: &[Plate], path: &str, flow: f64| {
        finding(&reviewed(&row(plates, path, flow)), "another-order").proposals[0].say.clone()
    };
    let light = [plate(&[50.0], 0.05), plate(&[72.0], 0.06), plate(&[71.0], 0.06)];
    assert_eq!(said(&light, "p0, p1, p2", 4.0), "put p0 behind p2: path [p1, p2, p0]");
    assert_eq!(said(&light, "p1, p0, p2", 4.0), "put p2 before p0: path [p1, p2, p0]");
    let two_tight = [plate(&[60.0], 0.03), plate(&[60.0], 0.03), plate(&[70.0], 0.06), plate(&[69.0], 0.06)];
    let whole = said(&two_tight, "p0, p1, p2, p3", 4.0);
    assert!(whole.starts_with("visit them in the order p2, p3, "), "{whole}");
}

#[test]
fn a_branch_is_a_row_of_its_own() {
    let mut plates = two();
    plates
        .iter_mut()
        .for_each(|plate| plate.more = ", pressure_drop: { flow: 3 L/min, pressure: 4 kPa }".to_owned());
    plates.push(Plate {
        more: ", pressure_drop: { flow: 3 L/min, pressure: 8 kPa }".to_owned(),
        ..plate(&[30.0], 0.06)
    });
    let text = changed(
        &row(&plates, "fork", 6.0),
        "    hose: {}\n",
        "    fork: { split: { left: [p0, p1], right: [p2] } }\n",
    );
    let review = reviewed(&text);
    let one = finding(&review, "another-order");
    assert_eq!(one.part, "cooling.fork.left");
    assert_eq!(one.proposals[0].say, "put p1 before p0: path [p1, p0]");
}

#[test]
fn coolant_that_would_fall_is_told() {
    let mut plates = two();
    plates[0].more = ", elevation: { in: 0 mm, out: 40 mm }".to_owned();
    plates[1].more = ", elevation: { in: 40 mm, out: 80 mm }".to_owned();
    let review = reviewed(&row(&plates, "p0, p1", 3.0));
    let held = &finding(&review, "another-order").proposals[0];
    let falls = held.side_effects.iter().find(|effect| effect.contains("falls")).expect("a fall");
    assert!(falls.starts_with("coolant falls 80 mm from p1 to p0"), "{falls}");
    // Level plates do not.
    let level = row(&plates, "p0, p1", 3.0)
        .replace("out: 40 mm", "out: 0 mm")
        .replace("in: 40 mm, out: 80 mm", "in: 0 mm, out: 0 mm");
    let held = &finding(&reviewed(&level), "another-order").proposals[0].clone();
    assert!(held.side_effects.iter().all(|effect| !effect.contains("falls")), "{:?}", held.side_effects);
}

#[test]
fn variants_are_judged_together() {
    // In the second product it is the first plate that is the hotter: neither order serves both.
    let variants = "variants:\n  plain: {}\n  turned: { duty: { d0: { loads: { m0: { electrical_power: 72 kW }, m1: { electrical_power: 55 kW } } } } }\n";
    let text = format!("{}{variants}", row(&two(), "p0, p1", 3.0));
    let review = reviewed(&text);
    assert!(review.findings.is_empty());
    assert_eq!(review.counts.hold, 1);
    // Where both want the same, it is told once, of the one with the least headroom.
    let variants =
        "variants:\n  plain: {}\n  heavy: { duty: { d0: { loads: { m1: { electrical_power: 77 kW } } } } }\n";
    let review = reviewed(&format!("{}{variants}", row(&two(), "p0, p1", 3.0)));
    assert_eq!(review.findings.len(), 1);
    let one = finding(&review, "another-order");
    assert_eq!((one.variant_name.as_deref(), one.also_in.len()), (Some("heavy"), 0));
    assert!(one.facts[1].ends_with("at p1 in d0, heavy"), "{:?}", one.facts);
}

#[test]
fn variants_with_other_paths_are_rows_of_their_own() {
    let variants = "variants:\n  plain: {}\n  other: { cooling: { path: [p1, p0] } }\n";
    let review = reviewed(&format!("{}{variants}", row(&two(), "p0, p1", 3.0)));
    assert_eq!((review.findings.len(), review.counts.hold), (1, 1));
    assert_eq!(review.findings[0].variant_name.as_deref(), Some("plain"));
}

#[test]
fn what_keeps_a_junction_from_being_known_is_named() {
    let text = changed(&row(&two(), "p0, p1", 3.0), "    coolant: { inlet: 55 degC }\n", "");
    let review = reviewed(&text);
    assert_eq!((review.counts.not_judged, review.findings.len()), (1, 0));
    assert!(review.not_judged[0].missing.contains("coolant.inlet is not stated"), "{:?}", review.not_judged);
}
