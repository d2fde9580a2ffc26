//! Flow through networks against a dense Newton search with published viscosities, and what is told of missing coolant.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::Grade;
use loadworthy_unit::plan::CoolantPath;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{FigureId, Solved};

use crate::descriptions::{changed, failing, finding, holding, unit};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "coolant-supply";
const LITRE_A_MINUTE: f64 = 1e-3 / 60.0;

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

/// The holding example with another loop.
fn with_loop(cooling: &str) -> String {
    let text = holding(NAME);
    let (from, to) = (text.find("cooling:").expect("a loop"), text.find("\nduty:").expect("duty points"));
    changed(&format!("{}{cooling}{}", &text[..from], &text[to..]), "coldest: -25 degC", "coldest: -20 degC")
}

/// A pump on a plate, and behind it a hose beside a plate with another hose in a row.
const NETWORK: &str = "cooling:
  coolant: { kind: water_glycol, glycol: 50 % }
  pump: { curve: { flow: [0 L/min, 10 L/min, 20 L/min], pressure: [60 kPa, 50 kPa, 20 kPa] } }
  path: [cold_plate, fork]
  elements:
    cold_plate:
      pressure_drop: { at: 65 degC, flow: [5 L/min, 10 L/min], pressure: [6 kPa, 20 kPa] }
      referred_to: outlet
      cools: { auger_bridge: { face_a: 0.060 K/W } }
    fork: { split: { left: [second, hose], right: [thin] } }
    second: { pressure_drop: { at: 65 degC, flow: [3 L/min, 6 L/min], pressure: [4 kPa, 13 kPa] } }
    hose: { passage: { bore: 10 mm, length: 800 mm, losses: 2.0 } }
    thin: { passage: { bore: 5 mm, length: 400 mm, count: 3, losses: 1.5 } }
";

/// Density and viscosity of half glycol, from the published table.
struct Table {
    density: f64,
    viscosity: f64,
}

const WARM: Table = Table { density: 1048.83, viscosity: 1.29e-3 };
const COLD: Table = Table { density: 1086.87, viscosity: 22.07e-3 };

/// Drop through two stated points at 65 °C, at the viscosity and density of another temperature.
fn stated(flow: f64, points: [(f64, f64); 2], now: &Table) -> f64 {
    let [(q1, p1), (q2, p2)] =
        points.map(|(litres, kilopascals)| (litres * LITRE_A_MINUTE, kilopascals * 1e3));
    let square = (p2 / q2 - p1 / q1) / (q2 - q1);
    let linear = p1 / q1 - square * q1;
    linear * now.viscosity / WARM.viscosity * flow + square * now.density / WARM.density * flow * flow
}

/// Drop of round passages, with friction by Colebrook's implicit formula in place of the explicit one.
fn round(flow: f64, (bore, length, count, losses): (f64, f64, f64, f64), now: &Table) -> f64 {
    let velocity = flow / count / (core::f64::consts::PI * bore * bore / 4.0);
    let reynolds = now.density * velocity * bore / now.viscosity;
    let rough = |reynolds: f64| {
        let mut root: f64 = 5.0;
        for _ in 0..60 {
            root = -2.0 * libm::log10(2.51 * root / reynolds);
        }
        1.0 / (root * root)
    };
    let friction = if reynolds < 2300.0 {
        64.0 / reynolds
    } else if reynolds < 4000.0 {
        let low = 64.0 / 2300.0;
        low + (rough(4000.0) - low) * (reynolds - 2300.0) / 1700.0
    } else {
        rough(reynolds)
    };
    (friction * length / bore + losses) * 0.5 * now.density * velocity * velocity
}

/// Flows left and right, by Newton's method on both at once with differences for slopes.
fn dense(now: &Table) -> [f64; 2] {
    let residual = |[left, right]: [f64; 2]| {
        let whole = left + right;
        let litres = whole / LITRE_A_MINUTE;
        let pump = 60e3 - 1e3 * (0.0 * litres + 0.1 * litres * litres);
        let plate = stated(whole, [(5.0, 6.0), (10.0, 20.0)], now);
        let row = stated(left, [(3.0, 4.0), (6.0, 13.0)], now) + round(left, (0.010, 0.8, 1.0, 2.0), now);
        let thin = round(right, (0.005, 0.4, 3.0, 1.5), now);
        [pump - plate - row, row - thin]
    };
    let mut at = [3.0 * LITRE_A_MINUTE; 2];
    for _ in 0..200 {
        let here = residual(at);
        let step = 1e-9;
        let columns: [[f64; 2]; 2] = core::array::from_fn(|k| {
            let mut moved = at;
            moved[k] += step;
            let there = residual(moved);
            [(there[0] - here[0]) / step, (there[1] - here[1]) / step]
        });
        let determinant = columns[0][0] * columns[1][1] - columns[1][0] * columns[0][1];
        let change = [
            (here[0] * columns[1][1] - columns[1][0] * here[1]) / determinant,
            (columns[0][0] * here[1] - here[0] * columns[0][1]) / determinant,
        ];
        // Half steps, and never to a flow that runs backwards.
        at = core::array::from_fn(|k| (at[k] - 0.5 * change[k]).max(0.1 * at[k]));
    }
    let left_over = residual(at);
    assert!(left_over.iter().all(|pascals| pascals.abs() < 1e-3), "{left_over:?}");
    at
}

/// Figures of the first lane.
fn figures(text: &str, of: impl Fn(&CoolantPath) -> Vec<FigureId>) -> Vec<f64> {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    let lane = unit.variants[0].lane_ids().next().expect("a lane");
    let path = unit.variants[0].plan.coolant.as_ref().expect("a loop");
    of(path).into_iter().map(|figure| solved.figure(figure, lane).expect("a figure")).collect()
}

#[test]
fn a_network_with_a_pump_flows_as_a_dense_search_says_warm_and_cold() {
    let text = changed(&with_loop(NETWORK), "inlet: 60 degC", "inlet: 65 degC");
    let warm = figures(&text, |path| path.splits[0].branches.iter().map(|branch| branch.flow).collect());
    let cold =
        figures(&text, |path| path.splits[0].branches.iter().map(|branch| branch.row.cold_flow).collect());
    for (found, expected) in [(&warm, dense(&WARM)), (&cold, dense(&COLD))] {
        for (found, expected) in found.iter().zip(expected) {
            // Friction formulas differ by up to 2 %, the fit of the viscosity from its table by 1.8 %.
            assert!((found / expected - 1.0).abs() < 0.02, "{found} against {expected}");
        }
    }
    // Cold coolant shuns the long way over the plate, and there is far less of it.
    assert!(cold[1] / cold[0] > 1.5 * warm[1] / warm[0]);
    assert!(cold.iter().sum::<f64>() < 0.6 * warm.iter().sum::<f64>());
}

#[test]
fn every_figure_of_a_network_is_known_and_replayed_to_the_bit() {
    let unit = unit(&with_loop(NETWORK));
    let solved = Solved::new(&unit.variants[0]);
    let lane = unit.variants[0].lane_ids().next().expect("a lane");
    let tables = &unit.variants[0].tables;
    let derived = solved.derivation(lane);
    // No drop that nobody states is told as nothing: what is known stands with each place.
    for operand in derived.steps.steps.iter().flat_map(|step| &step.from) {
        let Operand::Input(input) = *operand else { continue };
        let stated = tables.stated(input, unit.variants[0].lane(lane).duty);
        let is_nothing = stated.value == 0.0 && !stated.origin.is_written();
        assert!(!is_nothing || !tables.input_of(input).path.ends_with("pressure_drop"), "0 Pa, not stated");
    }
    for (k, figure) in derived.figures.iter().enumerate() {
        let id = FigureId::new(k);
        let is_needed = !tables.figure_of(id).is_asked_for;
        let path = tables.figure_path(id);
        // A bore of 5 mm is the smallest that the law of air knows; walls need a passage.
        let waits = path.ends_with("wall_temperature");
        assert!(figure.is_finite() || !is_needed || waits, "{path} is missing");
        assert_eq!(figure.to_bits(), solved.raw(id, lane).to_bits(), "{path}");
    }
}

#[test]
fn a_stated_drop_follows_the_temperature_only_where_it_says_at_which_it_was_measured() {
    let drop = |text: &str| figures(text, |path| vec![path.places[0].pressure_drop.expect("a drop")])[0];
    let plain = "cooling:
  coolant: { kind: water_glycol, glycol: 50 % }
  pump: { flow: 10 L/min }
  path: [cold_plate]
  elements:
    cold_plate: { referred_to: outlet, pressure_drop: { AT flow: [5 L/min, 10 L/min], pressure: [6 kPa, 20 kPa] }, cools: { auger_bridge: { face_a: 0.060 K/W } } }
";
    let at = |at: &str| drop(&with_loop(&plain.replace("AT", at)));
    assert!((at("") - 20e3).abs() < 1e-6);
    assert!((at("at: 60 degC,") - 20e3).abs() < 1e-6, "measured at the temperature that arrives");
    // Measured cold, the thin coolant of the duty point drops less.
    assert!(at("at: 20 degC,") < 18.5e3 && at("at: 80 degC,") > 20.2e3);
}

#[test]
fn a_starved_plate_is_told_with_what_would_feed_it() {
    let one = finding(&reviewed(failing(NAME)), "starved").clone();
    assert_eq!((one.part.as_str(), one.grade), ("cooling.cold_plate", Grade::Major));
    assert!(one.saying.contains("gets 4.61 L/min and needs 6 L/min"), "{}", one.saying);
    assert!(
        one.worked.iter().any(|line| line.starts_with("cooling.fork.beside: 3.39 L/min")),
        "{:?}",
        one.worked
    );
    assert!(one.proposals.iter().any(|held| held.say.starts_with("coolant flow: 8 L/min ->")));
    assert!(one.proposals.iter().any(|held| held.say.starts_with("bore of cold_plate: 8 mm ->")));
}

#[test]
fn equal_to_the_least_flow_holds() {
    let whole = with_loop(
        "cooling:
  coolant: { kind: water_glycol, glycol: 50 % }
  pump: { flow: 8 L/min }
  path: [cold_plate]
  elements:
    cold_plate: { referred_to: outlet, least_flow: 8 L/min, cools: { auger_bridge: { face_a: 0.060 K/W } } }
",
    );
    assert!(reviewed(&whole).findings.is_empty());
    let more = changed(&whole, "least_flow: 8 L/min", "least_flow: 8.01 L/min");
    assert_eq!(finding(&reviewed(&more), "starved").grade, Grade::Major);
}

#[test]
fn coolant_that_warms_too_much_is_minor_by_the_edition_and_major_by_the_unit() {
    let little = changed(holding(NAME), "flow: 8 L/min", "flow: 1 L/min");
    let little = changed(&little, "      least_flow: 6 L/min\n", "");
    let review = reviewed(&little);
    assert_eq!(finding(&review, "warms-too-much").grade, Grade::Minor);
    let stated = changed(&little, "  path: [fork]", "  warming: 8 K\n  path: [fork]");
    assert_eq!(finding(&reviewed(&stated), "warms-too-much").grade, Grade::Major);
}

#[test]
fn a_stage_on_no_loop_is_told() {
    let text = changed(holding(NAME), "      cools: { auger_bridge: { face_a: 0.060 K/W } }\n", "");
    let review = reviewed(&text);
    let one = finding(&review, "no-coolant");
    assert_eq!((one.part.as_str(), one.grade), ("auger_bridge", Grade::Minor));
    assert!(one.no_proposal.as_deref().is_some_and(|way| way.contains("`cools`")));
}

#[test]
fn a_unit_without_a_loop_is_not_asked() {
    let text = holding(NAME);
    let (from, to) = (text.find("cooling:").expect("a loop"), text.find("\nduty:").expect("duty points"));
    let review = reviewed(&format!("{}{}", &text[..from], &text[to..]));
    assert!(review.verdicts[0].is_empty());
}

#[test]
fn flows_that_are_not_known_are_not_judged() {
    // A branch of which nothing is stated leaves open what the other one gets.
    let text = changed(holding(NAME), ", passage: { bore: 6 mm, length: 500 mm }", "");
    let review = reviewed(&text);
    assert!(review.findings.is_empty() && review.counts.not_judged > 0);
    assert!(
        review.not_judged.iter().any(|one| one.missing.contains("bypass.pressure_drop")),
        "{:?}",
        review.not_judged
    );
}

#[test]
fn one_drop_that_is_not_stated_leaves_the_flows_open_and_is_named() {
    for (from, to, missing) in [
        // In a row of a branch whose other element states its drop.
        ("hose: { passage: { bore: 10 mm, length: 800 mm, losses: 2.0 } }", "hose: {}", "hose"),
        // Between the ends of a pump with a curve.
        (
            "      pressure_drop: { at: 65 degC, flow: [5 L/min, 10 L/min], pressure: [6 kPa, 20 kPa] }\n",
            "",
            "cold_plate",
        ),
    ] {
        let review = reviewed(&changed(&with_loop(NETWORK), from, to));
        let told: Vec<_> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
        let drop = format!("cooling.elements.{missing}.pressure_drop is not stated");
        assert!(told.contains(&drop.as_str()), "{missing}: {told:?}");
    }
    assert!(reviewed(&with_loop(NETWORK)).not_judged.is_empty());
}

/// A pump whose curve ends steeply after a long flat part: a parabola would lie 9 kPa beside it.
#[test]
fn a_pump_that_no_parabola_is_like_gives_what_its_points_say() {
    let text = changed(&with_loop(NETWORK), "inlet: 60 degC", "inlet: 65 degC");
    let text = changed(
        &text,
        "flow: [0 L/min, 10 L/min, 20 L/min], pressure: [60 kPa, 50 kPa, 20 kPa]",
        "flow: [0 L/min, 4 L/min, 8 L/min, 12 L/min, 16 L/min], pressure: [60 kPa, 35 kPa, 28 kPa, 25 kPa, 24 kPa]",
    );
    let flows = figures(&text, |path| path.splits[0].branches.iter().map(|branch| branch.flow).collect());
    let [left, right] = flows[..] else { panic!("{flows:?}") };
    let points = [(0.0, 60e3), (4.0, 35e3), (8.0, 28e3), (12.0, 25e3), (16.0, 24e3)];
    let litres = (left + right) / LITRE_A_MINUTE;
    let after = points.iter().position(|point| litres < point.0).expect("within the curve");
    let (low, high) = (points[after - 1], points[after]);
    let pump = low.1 + (high.1 - low.1) * (litres - low.0) / (high.0 - low.0);
    let plate = stated(left + right, [(5.0, 6.0), (10.0, 20.0)], &WARM);
    let row = stated(left, [(3.0, 4.0), (6.0, 13.0)], &WARM) + round(left, (0.010, 0.8, 1.0, 2.0), &WARM);
    // Friction formulas differ by up to 2 %, the fit of the viscosity from its table by 1.8 %.
    assert!((pump / (plate + row) - 1.0).abs() < 0.03, "{pump} against {plate} and {row} at {litres} L/min");
}
