//! A package of six positions in a converter of three legs: they share one case.

use loadworthy_unit::Solved;

use crate::bench::{changed, close, lane, unit, unit_and_problems, value};
use crate::sharing_corner::FALLING;

fn text(legs: u32) -> String {
    let device = changed(FALLING.text, &[("circuit: single", "circuit: six_pack")]);
    format!(
        "edition: 2026
sources: {{ pack: {{ kind: battery, bus: near }} }}
buses: {{ near: {{}}, link: {{}} }}
stages:
  step:
    topology: boost
    low_bus: near
    high_bus: link
    legs: {legs}
    inductor: choke
    carrier: {{ frequency: 16 kHz }}
    dead_time: 1 us
    switches: {{ high_side: {{ fitted: falling }}, low_side: {{ fitted: falling }} }}
loads: {{ work: {{ bus: link }} }}
magnetics: {{ choke: {{ kind: choke, inductance: 200 uH, winding: {{ resistance: 4 mohm }} }} }}
devices:{device}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: 6 L/min }}
  path: [plate]
  elements: {{ plate: {{ cools: {{ step: {{ face_a: 0.05 K/W }} }} }} }}
duty:
  work:
    coolant: {{ inlet: 60 degC }}
    sources: {{ pack: {{ terminal: 320 V }} }}
    buses: {{ link: 560 V }}
    loads: {{ work: {{ power: 60 kW }} }}
"
    )
}

#[test]
fn three_legs_in_one_package_share_its_case() {
    let unit = unit(&text(3));
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "work");
    assert_eq!(solved.variant.plan.packages.len(), 1);
    let of = |path: &str| value(&solved, lane, path);
    let mut heat = 0.0;
    for side in ["high_side", "low_side"] {
        for leg in 1..=3 {
            heat += of(&format!("step.{side}.{leg}.transistor.loss"));
            heat += of(&format!("step.{side}.{leg}.diode.loss"));
        }
    }
    let case = of("cooling.plate.coolant") + 0.05 * heat;
    close(of("step.package.case_temperature"), case, 1e-9, "case");
    let junction = case + 0.18 * of("step.low_side.1.transistor.loss");
    close(of("step.low_side.1.transistor.mean_junction_temperature"), junction, 1e-9, "junction");
}

#[test]
fn legs_that_come_by_threes_fill_packages_and_others_are_refused() {
    assert_eq!(unit(&text(6)).variants[0].plan.packages.len(), 2);
    for legs in [1, 2, 4] {
        let (_, said) = unit_and_problems(&text(legs));
        let refused = "`falling` holds both positions of three legs, and `step` does not have legs by threes";
        assert_eq!(said, [refused], "{legs} legs");
    }
}
