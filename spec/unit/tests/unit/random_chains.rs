//! Chains of stages drawn at random against a direct search for the voltages at which their powers balance.
//!
//! What an island draws at a voltage is asked with that voltage stated, so that nothing is sought behind a resistance;
//! the voltage that the battery leaves at this power is then searched for from the open-circuit voltage down, or up where
//! the battery is charged.

use core::fmt::Write as _;

use loadworthy_unit::{Edit, LaneState, Solved, Variant};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

use crate::bench::{figure, input, lane, unit};
use crate::judge::sheets::MODULE;

/// Voltage of the bus behind every boost.
const LINK: f64 = 640.0;

/// What hangs on the battery of an island.
#[derive(Clone, Copy, Debug)]
struct Island {
    has_boost: bool,
    has_buck: bool,
    legs: u32,
    open: f64,
    ohms: f64,
    /// Power at each bus of the island, from the battery on.
    loads: [f64; 3],
}

fn text(islands: &[Island]) -> String {
    let (mut sources, mut buses, mut stages, mut loads) =
        (String::new(), String::new(), String::new(), String::new());
    let (mut cools, mut opens, mut holds, mut asks) =
        (String::new(), String::new(), String::new(), String::new());
    for (k, island) in islands.iter().enumerate() {
        let mut stage = |name: &str, topology: &str, from: &str, to: &str, volts: f64| {
            let keys = if topology == "boost" { ("low_bus", "high_bus") } else { ("from", "to") };
            writeln!(
                stages,
                "  {name}{k}:\n    topology: {topology}\n    {}: {from}{k}\n    {}: {to}{k}",
                keys.0, keys.1
            )
            .unwrap();
            writeln!(
                stages,
                "    legs: {}\n    inductor: choke\n    carrier: {{ frequency: 12 kHz }}",
                island.legs
            )
            .unwrap();
            writeln!(stages, "    dead_time: 1 us\n    switches: {{ high_side: {{ fitted: module, parallel: 4 }}, low_side: {{ fitted: module, parallel: 4 }} }}").unwrap();
            write!(cools, "{name}{k}: {{ face_a: 0.09 K/W }}, ").unwrap();
            write!(holds, "{to}{k}: {volts} V, ").unwrap();
            write!(buses, "{to}{k}: {{}}, ").unwrap();
        };
        let mut last = "near";
        if island.has_boost {
            stage("boost", "boost", last, "link", LINK);
            last = "link";
        }
        if island.has_buck {
            stage("buck", "buck", last, "low", 180.0);
        }
        let first = island.open;
        writeln!(sources, "  pack{k}: {{ kind: battery, bus: near{k}, internal_resistance: {{ lowest: 1 uohm, highest: {} ohm }} }}", island.ohms).unwrap();
        write!(buses, "near{k}: {{}}, ").unwrap();
        write!(opens, "pack{k}: {{ open_circuit: {first} V }}, ").unwrap();
        let there = [("near", true), ("link", island.has_boost), ("low", island.has_buck)];
        for ((bus, is_there), power) in there.into_iter().zip(island.loads) {
            if is_there {
                writeln!(loads, "  load_{bus}{k}: {{ bus: {bus}{k} }}").unwrap();
                write!(asks, "load_{bus}{k}: {{ power: {power} W }}, ").unwrap();
            }
        }
    }
    let holds = if holds.is_empty() { String::new() } else { format!("    buses: {{ {holds} }}\n") };
    format!(
        "edition: 2026
sources:
{sources}buses: {{ {buses} }}
stages:
{stages}loads:
{loads}magnetics: {{ choke: {{ kind: choke, inductance: 180 uH, core: {{ loss: 20 W }}, winding: {{ resistance: 4 mohm }} }} }}
devices:{}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: 20 L/min }}
  path: [plate]
  elements: {{ plate: {{ cools: {{ {cools} choke: {{}} }} }} }}
duty:
  work:
    coolant: {{ inlet: 55 degC }}
    sources: {{ {opens} }}
{holds}    loads: {{ {asks} }}
",
        MODULE.text
    )
}

/// Powers that all islands draw with their voltages stated; nothing where that has no solution.
fn drawn(variant: &Variant, volts: &[f64]) -> Option<Vec<f64>> {
    let edits = volts.iter().enumerate().map(|(k, &value)| Edit {
        input: input(variant, &format!("duty.*.sources.pack{k}.terminal")),
        value,
    });
    let solved = Solved::with(variant, &[edits.collect()]).remove(0);
    let lane = lane(variant, "work");
    let power = |k: usize| solved.figure(figure(variant, &format!("near{k}.power")), lane);
    (0..volts.len()).map(power).collect()
}

/// How far the voltage of an island lies above what its battery leaves there.
fn above(variant: &Variant, island: &Island, k: usize, volts: &mut [f64], here: f64) -> Option<f64> {
    volts[k] = here;
    let power = drawn(variant, volts)?[k];
    Some(here - island.open + island.ohms * power / here)
}

/// What a search for a voltage ends with.
enum End {
    At(f64),
    Nowhere,
    /// A battery that is charged so hard that its bus would rise above the one that a boost leads to, which no duty
    /// makes: up to there it wants ever more voltage.
    AboveLink,
    /// So near to the most that can be passed that steps do not tell.
    TooNear,
}

fn search(variant: &Variant, island: &Island, k: usize, volts: &mut [f64]) -> End {
    const STEPS: i32 = 60;
    let Some(start) = above(variant, island, k, volts, island.open) else { return End::Nowhere };
    // Charged it rises, drained it falls; at half the open-circuit voltage a battery passes the most.
    let way = if start > 0.0 { -0.52 } else { 1.5 };
    let (mut before, mut least) = (island.open, f64::INFINITY);
    for step in 1..=STEPS {
        let here = island.open * (1.0 + way * f64::from(step) / f64::from(STEPS));
        let Some(left) = above(variant, island, k, volts, here) else {
            let is_charged = way > 0.0 && island.has_boost && here > 0.95 * LINK;
            return if is_charged { End::AboveLink } else { break_off(least, island) };
        };
        least = least.min(left.abs());
        if (left > 0.0) != (start > 0.0) {
            let (mut near, mut far) = (before, here);
            for _ in 0..50 {
                let middle = 0.5 * (near + far);
                match above(variant, island, k, volts, middle) {
                    Some(left) if (left > 0.0) == (start > 0.0) => near = middle,
                    _ => far = middle,
                }
            }
            let found = 0.5 * (near + far);
            // Near the most that can be passed there is a second, unstable voltage close by.
            let further = found + 0.02 * island.open * way.signum();
            let beyond = above(variant, island, k, volts, further);
            let is_far =
                beyond.is_none_or(|left| (left > 0.0) != (start > 0.0) && left.abs() > 2e-4 * island.open);
            return if is_far { End::At(found) } else { End::TooNear };
        }
        before = here;
    }
    break_off(least, island)
}

fn break_off(least: f64, island: &Island) -> End {
    if least < 0.02 * island.open { End::TooNear } else { End::Nowhere }
}

/// Where all islands stand.
enum Found {
    At(Vec<f64>),
    Nowhere,
    /// The island whose battery would rise above its link.
    AboveLink(usize),
    TooNear,
}

/// Voltages at which all islands balance.
fn direct(variant: &Variant, islands: &[Island]) -> Found {
    let mut volts: Vec<f64> = islands.iter().map(|island| island.open).collect();
    // Islands see one another through the coolant alone.
    for _ in 0..if islands.len() > 1 { 4 } else { 1 } {
        for (k, island) in islands.iter().enumerate() {
            match search(variant, island, k, &mut volts) {
                End::At(found) => volts[k] = found,
                End::Nowhere => return Found::Nowhere,
                End::AboveLink => return Found::AboveLink(k),
                End::TooNear => return Found::TooNear,
            }
        }
    }
    Found::At(volts)
}

fn islands() -> impl Strategy<Value = Vec<Island>> {
    let load = || prop_oneof![Just(0.0), -40e3..40e3f64, 0.0..70e3f64];
    let island = (any::<bool>(), any::<bool>(), 1..3u32, 0.0..1.0f64, -3.7..0.3f64, [load(), load(), load()]);
    let island = island.prop_map(|(has_boost, has_buck, legs, at, ohms, loads)| Island {
        has_boost,
        has_buck: has_buck || !has_boost,
        legs,
        // Below the link for a boost, around it for a buck alone.
        open: if has_boost { 280.0 + 120.0 * at } else { 520.0 + 160.0 * at },
        ohms: libm::exp(ohms),
        loads,
    });
    proptest::collection::vec(island, 1..5)
}

/// What a lane of random chains makes of them, beside the direct search.
fn agrees(islands: &[Island]) -> Result<(), TestCaseError> {
    let unit = unit(&text(islands));
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = lane(variant, "work");
    let of = |path: String| solved.raw(figure(variant, &path), lane);
    match (solved.state(lane), direct(variant, islands)) {
        (_, Found::TooNear) => return Err(TestCaseError::reject("near the most")),
        (LaneState::Solved { .. }, Found::At(volts)) => {
            let powers = drawn(variant, &volts).unwrap();
            for (k, (volts, power)) in volts.iter().zip(powers).enumerate() {
                let current = of(format!("pack{k}.current"));
                let expected = power / volts;
                let apart = (current - expected).abs();
                prop_assert!(
                    apart <= 1e-6 * expected.abs() + 1e-6,
                    "pack{k}: {current} A against {expected} A"
                );
            }
        }
        // The search for voltages has one; what asks for it is out of reach, and nothing that rests on it is a figure.
        (LaneState::Solved { .. }, Found::AboveLink(k)) => {
            let (volts, duty) = (of(format!("near{k}.voltage")), of(format!("boost{k}.duty")));
            prop_assert!(volts > LINK && duty < 0.0, "{} V, duty {}", volts, duty);
            let (amps, loss) = (of(format!("pack{k}.current")), of(format!("boost{k}.loss")));
            prop_assert!(amps.is_nan() && loss.is_nan(), "{} A, {} W", amps, loss);
        }
        (LaneState::NoSolution { at, largest }, Found::Nowhere) => {
            prop_assert!(variant.path(at).starts_with("pack"), "fails at {}", variant.path(at));
            prop_assert!((0.0..1.0).contains(&largest));
        }
        (state, found) => {
            let found = match found {
                Found::At(volts) => format!("{volts:?}"),
                Found::AboveLink(k) => format!("pack{k} above its link"),
                Found::Nowhere | Found::TooNear => "nothing".to_owned(),
            };
            prop_assert!(false, "{state:?} against {found}");
        }
    }
    Ok(())
}

/// Chains that are drawn, and the seed that they are drawn from; `RANDOM_CHAINS=10000,7` draws more, and others.
fn drawing() -> (u32, u64) {
    let asked = std::env::var("RANDOM_CHAINS").unwrap_or_default();
    let (cases, seed) = asked.split_once(',').unwrap_or((&asked, "0"));
    (cases.trim().parse().unwrap_or(40), seed.trim().parse().unwrap_or(0))
}

#[test]
fn random_chains_balance_where_a_direct_search_finds_them() {
    let (cases, seed) = drawing();
    let mut bytes = [0; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    let config = ProptestConfig {
        cases,
        failure_persistence: None,
        max_global_rejects: 1024 + cases,
        ..ProptestConfig::default()
    };
    let drawn = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
    TestRunner::new_with_rng(config, drawn).run(&islands(), |islands| agrees(&islands)).unwrap();
}

/// A boost that charges its battery with so much ripple that its lower diodes hardly have a current to recover from.
fn near_soft(link: f64) -> String {
    text(&[Island {
        has_boost: true,
        has_buck: false,
        legs: 2,
        open: 384.0,
        ohms: 1.0,
        loads: [29.5e3, link, 0.0],
    }])
}

#[test]
fn where_an_edge_turns_soft_the_loss_does_not_leap() {
    // The curves of the module, continued to no current, still cost several millijoules.
    let mut before: Option<f64> = None;
    let mut recovered = Vec::new();
    for step in 0..90 {
        let unit = unit(&near_soft(-24e3 - 400.0 * f64::from(step)));
        let solved = Solved::new(&unit.variants[0]);
        let lane = lane(solved.variant, "work");
        assert!(matches!(solved.state(lane), LaneState::Solved { .. }), "{:?}", solved.state(lane));
        let of = |path: &str| solved.raw(figure(solved.variant, path), lane);
        let loss = of("boost0.loss");
        if let Some(before) = before {
            assert!((loss - before).abs() < 15.0, "{before} W, then {loss} W");
        }
        before = Some(loss);
        recovered.push(of("boost0.low_side.1.diode.switching_energy"));
    }
    assert!(recovered[0] <= 0.0 && recovered[89] > 4e-3, "from soft to hard: {recovered:?}");
    assert!(recovered.is_sorted(), "the harder the edge, the more it costs: {recovered:?}");
}

#[test]
fn a_battery_that_is_charged_above_its_link_has_no_operating_point() {
    // 1.35 Ω and 390 V take 120 kW at 640.4 V: V·(V − 390 V)/1.35 Ω. The losses on the way leave it a little less.
    let island = |link: f64| Island {
        has_boost: true,
        has_buck: false,
        legs: 2,
        open: 390.0,
        ohms: 1.35,
        loads: [-40e3, link, 0.0],
    };
    let below = agrees(&[island(-70e3)]);
    assert!(below.is_ok(), "110 kW stay below the link: {below:?}");
    let (unit, lane_of) =
        (unit(&text(&[island(-95e3)])), |unit: &loadworthy_unit::Unit| lane(&unit.variants[0], "work"));
    let solved = Solved::new(&unit.variants[0]);
    let of = |path: &str| solved.raw(figure(solved.variant, path), lane_of(&unit));
    assert!(of("near0.voltage") > LINK && of("boost0.duty") < 0.0);
    assert!(of("pack0.current").is_nan(), "no current of a stage that cannot hold its link");
    assert!(agrees(&[island(-95e3)]).is_ok(), "and the direct search sees no voltage below the link");
}
