//! Chains that no unit has, and that a text can name: they cost time in proportion, and no stack.

use loadworthy_checks::Verdicts;
use loadworthy_checks::capability::demand;
use loadworthy_checks::list::by_name;
use loadworthy_unit::{Solved, Unit};

use crate::descriptions::{changed, reviewed, unit};
use crate::fault_walk::SHUTTLE;

/// So many controllers, of which each depends on the next.
fn chained(controllers: usize) -> String {
    let own = "front_controller: { domain: low_voltage, from: board_net, hardware_enable: true }";
    let first = own.replace(" }", ", depends_on: [c0] }");
    let mut chain = String::new();
    for place in 0..controllers {
        chain += &format!(
            "\n  c{place}: {{ domain: low_voltage, from: board_net, depends_on: [c{}] }}",
            place + 1
        );
    }
    chain += &format!("\n  c{controllers}: {{ domain: low_voltage, from: board_net }}");
    changed(SHUTTLE, own, &(first + &chain))
}

/// The stack of a test is 2 MB: one call for each controller would end the process.
#[test]
fn controllers_may_depend_on_one_another_in_any_depth() {
    let said = |controllers| {
        let findings = reviewed(&chained(controllers)).findings.into_iter();
        let other = findings.filter(|finding| finding.defect != "unused");
        other.map(|finding| (finding.check, finding.defect, finding.part)).collect::<Vec<_>>()
    };
    assert_eq!(said(8_000), said(10));
}

/// So many boosts one behind another, each with a diode alone at its high side, and a load at the end that gives power back.
fn stepping_up(stages: usize) -> String {
    let battery = "kind: battery, bus: b0, open_circuit: { lowest: 280 V, highest: 360 V }, \
                   internal_resistance: { lowest: 40 mohm, highest: 90 mohm }, charge: { continuous: 60 A }";
    let buses: String =
        (0..=stages).map(|k| format!("  b{k}: {{ nominal: 400 V, highest: 500 V }}\n")).collect();
    let boost = |k: usize| {
        let (low, high) = (k, k + 1);
        format!(
            "  s{k}: {{ topology: boost, low_bus: b{low}, high_bus: b{high}, carrier: {{ frequency: 10 kHz }}, \
             switches: {{ high_side: {{ fitted: valve }} }} }}\n"
        )
    };
    let boosts: String = (0..stages).map(boost).collect();
    let diode =
        "{ package: { circuit: single }, diode: { current: { continuous: 200 A, at_case: 80 degC } } }";
    format!(
        "edition: 2026\nunit: {{ name: Chain }}\nsources:\n  pack: {{ {battery} }}\nbuses:\n{buses}stages:\n{boosts}\
         loads:\n  winch: {{ bus: b{stages} }}\ndevices:\n  valve: {diode}\n\
         duty:\n  lower:\n    lasts: continuous\n    sources: {{ pack: {{ open_circuit: 340 V }} }}\n    loads: {{ winch: {{ power: -5 kW }} }}\n"
    )
}

/// What a chain comes to: stages that pass nothing back, and what is asked of the first.
fn asked_of(unit: &Unit) -> (usize, Vec<f64>) {
    let solved = Solved::new(&unit.variants[0]);
    let mut verdicts = Verdicts::new("power-balance");
    by_name("power-balance").expect("a check").judge(&solved, &mut verdicts);
    let backward = verdicts.into_list().into_iter().filter(|one| one.defect == "one-way" && one.fails());
    let lane = solved.variant.lane_ids().next().expect("a lane");
    let asked = demand(solved.variant, solved.variant.lane(lane).duty, "s0").expect("a demand");
    (backward.count(), asked.asked.into_iter().map(|(_, value)| value).collect())
}

/// One call for each converter would end a process with so small a stack.
#[test]
fn converters_may_stand_one_behind_another_in_any_number() {
    let (long, short) = (unit(&stepping_up(1_500)), unit(&stepping_up(3)));
    let told = std::thread::scope(|scope| {
        let small = std::thread::Builder::new().stack_size(256 << 10);
        small.spawn_scoped(scope, || asked_of(&long)).expect("a thread").join().expect("no overflow")
    });
    assert_eq!(told, (1_500, vec![-5e3]));
    assert_eq!(asked_of(&short), (3, vec![-5e3]));
}
