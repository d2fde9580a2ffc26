//! Which gates may share an output, held against a graph of what is joined in random units.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_checks::Review;
use proptest::prelude::*;

use crate::descriptions::{finding, repeatable};
use crate::stand_ins::{listed, reviewed_despite_problems, reviewed_with};

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed("floating-supplies")], text)
}

/// One stage of a random unit, on buses by their number.
#[derive(Clone, Debug)]
enum Drawn {
    Bridge(usize),
    Boost { high: usize, legs: usize },
    Buck { from: usize, legs: usize },
    FullBridge { from: usize, to: usize, in_return: bool },
    Forward { from: usize, to: usize, high_clamp: bool, in_return: bool },
}

/// What a branch between rails leads through, and whether nothing drops across it.
const THROUGH: [(&str, bool); 8] = [
    ("kind: busbar", true),
    ("kind: laminated_busbar", true),
    ("kind: sensor", true),
    ("kind: sensor, resistance: 50 uohm", false),
    ("kind: cable", false),
    ("kind: fuse", false),
    ("kind: contactor", false),
    ("kind: line_choke", false),
];

/// A branch from a rail, to another one or to a stage whose return it is.
#[derive(Clone, Debug)]
struct Link {
    rail: usize,
    to: Result<usize, usize>,
    through: Vec<usize>,
}

impl Link {
    fn is_without_resistance(&self) -> bool {
        self.through.iter().all(|&kind| THROUGH[kind].1)
    }

    /// Names of its ends.
    fn ends(&self) -> [String; 2] {
        let rail = format!("rail{}", self.rail);
        match self.to {
            Ok(other) => [rail, format!("rail{other}")],
            Err(stage) => [rail.clone(), format!("{rail} below s{stage}")],
        }
    }
}

/// A random unit: the rail of each bus, branches between rails and in the returns of stages, and stages.
#[derive(Clone, Debug)]
struct Topology {
    rails: [Option<usize>; 3],
    links: Vec<Link>,
    stages: Vec<Drawn>,
}

impl Topology {
    fn rail(&self, bus: usize) -> String {
        self.rails[bus].map_or_else(|| format!("b{bus}.minus"), |rail| format!("rail{rail}"))
    }

    /// The negative node of a stage towards a bus: the rail, or what a branch from that rail to the stage ends at, or one
    /// from another rail that is not that of the bus beyond its transformer.
    fn below(&self, stage: usize, bus: usize, beyond: Option<usize>) -> String {
        let rail = self.rail(bus);
        let same = self.reached(&rail);
        let beyond = beyond.map_or_else(BTreeSet::new, |bus| self.reached(&self.rail(bus)));
        let returns = || self.links.iter().filter(|link| link.to == Err(stage));
        let own = returns().find(|link| same.contains(&link.ends()[0]));
        let other = || returns().find(|link| !beyond.contains(&link.ends()[0]));
        own.or_else(other).map_or(rail, |link| link.ends()[1].clone())
    }

    /// Each gate with the node that its source stands on.
    fn gates(&self) -> Vec<(String, String)> {
        let mut gates = Vec::new();
        for (s, stage) in self.stages.iter().enumerate() {
            let name = format!("s{s}");
            let mut add = |position: &str, node: Option<String>| {
                let path = format!("{name}.{position}");
                gates.push((path.clone(), node.unwrap_or(path)));
            };
            match *stage {
                Drawn::Bridge(bus) => {
                    for leg in ["u", "v", "w"] {
                        add(&format!("high_side.{leg}"), None);
                        add(&format!("low_side.{leg}"), Some(self.below(s, bus, None)));
                    }
                }
                Drawn::Boost { high: bus, legs } | Drawn::Buck { from: bus, legs } => {
                    for leg in 1..=legs {
                        add(&format!("high_side.{leg}"), None);
                        add(&format!("low_side.{leg}"), Some(self.below(s, bus, None)));
                    }
                }
                Drawn::FullBridge { from, to, in_return } => {
                    for leg in ["a", "b"] {
                        add(&format!("bridge_high.{leg}"), None);
                        add(&format!("bridge_low.{leg}"), Some(self.below(s, from, Some(to))));
                    }
                    for half in [1, 2] {
                        add(&format!("rectifier.{half}"), in_return.then(|| self.below(s, to, Some(from))));
                    }
                }
                Drawn::Forward { from, to, high_clamp, in_return } => {
                    add("main", Some(self.below(s, from, Some(to))));
                    add("clamp", (!high_clamp).then(|| self.below(s, from, Some(to))));
                    add("forward", in_return.then(|| self.below(s, to, Some(from))));
                    add("freewheel", Some(self.below(s, to, Some(from))));
                }
            }
        }
        gates
    }

    /// Nodes that a path without any resistance joins to a node: everything that is reached from it over a bar.
    fn reached(&self, node: &str) -> BTreeSet<String> {
        let mut reached = BTreeSet::from([node.to_owned()]);
        loop {
            let before = reached.len();
            for link in self.links.iter().filter(|link| link.is_without_resistance()) {
                let ends = link.ends();
                if ends.iter().any(|end| reached.contains(end)) {
                    reached.extend(ends);
                }
            }
            if reached.len() == before {
                break;
            }
        }
        reached
    }

    fn text(&self, supplies: &str) -> String {
        use std::fmt::Write as _;
        let mut text = "edition: 2026\nbuses:\n".to_owned();
        for bus in 0..3 {
            let rail = self.rails[bus].map_or_else(String::new, |rail| format!("negative_rail: rail{rail}"));
            writeln!(text, "  b{bus}: {{ {rail} }}").expect("text");
        }
        let mut conductors = String::new();
        let mut branches = String::new();
        for (l, link) in self.links.iter().enumerate() {
            let mut names = Vec::new();
            for (k, &kind) in link.through.iter().enumerate() {
                writeln!(conductors, "  c{l}_{k}: {{ {} }}", THROUGH[kind].0).expect("text");
                names.push(format!("c{l}_{k}"));
            }
            let to = link.to.map_or_else(|stage| format!("s{stage}"), |rail| format!("rail{rail}"));
            let through = names.join(", ");
            writeln!(branches, "  l{l}: {{ from: rail{}, to: {to}, through: [{through}] }}", link.rail)
                .expect("text");
        }
        if !branches.is_empty() {
            writeln!(text, "conductors:\n{conductors}branches:\n{branches}").expect("text");
        }
        text.push_str("stages:\n");
        let both = "high_side: { fitted: m }, low_side: { fitted: m }";
        for (s, stage) in self.stages.iter().enumerate() {
            let (topology, rest) = match *stage {
                Drawn::Bridge(bus) => {
                    ("three_phase_bridge", format!("dc_bus: b{bus}, feeds: m{s}, switches: {{ {both} }}"))
                }
                Drawn::Boost { high, legs } => (
                    "boost",
                    format!(
                        "low_bus: b{}, high_bus: b{high}, legs: {legs}, switches: {{ {both} }}",
                        (high + 1) % 3
                    ),
                ),
                Drawn::Buck { from, legs } => (
                    "buck",
                    format!("from: b{from}, to: b{}, legs: {legs}, switches: {{ {both} }}", (from + 1) % 3),
                ),
                Drawn::FullBridge { from, to, in_return } => (
                    "phase_shifted_full_bridge",
                    format!(
                        "from: b{from}, to: b{to}, rectifier: centre_tap, rectifier_lead: {}, switches: {{ bridge_high: {{ fitted: m }}, bridge_low: {{ fitted: m }}, rectifier: {{ fitted: m }} }}",
                        if in_return { "return" } else { "positive" }
                    ),
                ),
                Drawn::Forward { from, to, high_clamp, in_return } => (
                    "active_clamp_forward",
                    format!(
                        "from: b{from}, to: b{to}, clamp: {}, rectifier_lead: {}, switches: {{ main: {{ fitted: m }}, clamp: {{ fitted: m }}, forward: {{ fitted: m }}, freewheel: {{ fitted: m }} }}",
                        if high_clamp { "high_side" } else { "low_side" },
                        if in_return { "return" } else { "positive" }
                    ),
                ),
            };
            writeln!(text, "  s{s}: {{ topology: {topology}, {rest} }}").expect("text");
        }
        let bridges = self.stages.iter().enumerate().filter(|(_, stage)| matches!(stage, Drawn::Bridge(_)));
        let machines: Vec<String> =
            bridges.map(|(s, _)| format!("m{s}: {{ kind: permanent_magnet }}")).collect();
        writeln!(text, "machines: {{ {} }}", machines.join(", ")).expect("text");
        text.push_str("devices:\n  m: { package: { circuit: single }, transistor: { kind: mosfet } }\n");
        text.push_str(supplies);
        text
    }
}

fn drawn() -> impl Strategy<Value = Drawn> {
    let pair = (0..3_usize, 1..3_usize).prop_map(|(from, step)| (from, (from + step) % 3));
    prop_oneof![
        (0..3_usize).prop_map(Drawn::Bridge),
        (0..3_usize, 1..4_usize).prop_map(|(high, legs)| Drawn::Boost { high, legs }),
        (0..3_usize, 1..4_usize).prop_map(|(from, legs)| Drawn::Buck { from, legs }),
        (pair.clone(), any::<bool>()).prop_map(|((from, to), in_return)| Drawn::FullBridge {
            from,
            to,
            in_return
        }),
        (pair, any::<bool>(), any::<bool>()).prop_map(|((from, to), high_clamp, in_return)| Drawn::Forward {
            from,
            to,
            high_clamp,
            in_return
        }),
    ]
}

fn topology() -> impl Strategy<Value = Topology> {
    let rail = || proptest::option::of(0..3_usize);
    let stages = proptest::collection::vec(drawn(), 1..4);
    let through = proptest::collection::vec(0..THROUGH.len(), 1..3);
    let to = prop_oneof![(0..3_usize).prop_map(Ok), (0..4_usize).prop_map(Err)];
    let link = (0..3_usize, to, through).prop_map(|(rail, to, through)| Link { rail, to, through });
    let links = proptest::collection::vec(link, 0..4);
    ((rail(), rail(), rail()), links, stages).prop_map(|((a, b, c), links, stages)| {
        let mut rails = [a, b, c];
        // A boost or a buck has one minus, and its buses call it alike; what two names do is another test's.
        for _ in 0..stages.len() {
            for stage in &stages {
                if let Drawn::Boost { high: bus, .. } | Drawn::Buck { from: bus, .. } = *stage {
                    let rail = rails[bus].or(rails[(bus + 1) % 3]).or(Some(0));
                    (rails[bus], rails[(bus + 1) % 3]) = (rail, rail);
                }
            }
        }
        let is_named = |rail: usize| rails.contains(&Some(rail));
        let is_there = |link: &Link| {
            is_named(link.rail)
                && match link.to {
                    Ok(other) => is_named(other) && other != link.rail,
                    Err(stage) => stage < stages.len(),
                }
        };
        let links = links.into_iter().filter(is_there).collect();
        Topology { rails, links, stages }
    })
}

/// The least number of outputs by trying: gate after gate joins an output that it may share, or takes one of its own.
fn fewest(
    gates: &[(String, String)],
    unit: &Topology,
    outputs: &mut Vec<Vec<usize>>,
    next: usize,
    best: &mut usize,
) {
    if outputs.len() >= *best {
        return;
    }
    if next == gates.len() {
        *best = outputs.len();
        return;
    }
    let may_share = |other: usize| unit.reached(&gates[next].1).contains(&gates[other].1);
    for output in 0..outputs.len() {
        if outputs[output].iter().all(|&other| may_share(other)) {
            outputs[output].push(next);
            fewest(gates, unit, outputs, next + 1, best);
            outputs[output].pop();
        }
    }
    outputs.push(vec![next]);
    fewest(gates, unit, outputs, next + 1, best);
    outputs.pop();
}

proptest! {
    #![proptest_config(repeatable(120))]

    #[test]
    fn gates_share_an_output_only_where_nothing_lies_between_their_sources(
        unit in topology(),
        chosen in proptest::collection::vec(0..5_usize, 40),
    ) {
        let gates = unit.gates();
        let mut outputs: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (gate, output) in (0..gates.len()).zip(chosen) {
            outputs.entry(output).or_default().push(gate);
        }
        let mut supplies = "gate_supplies:\n".to_owned();
        for (output, fed) in &outputs {
            let fed: Vec<&str> = fed.iter().map(|&gate| gates[gate].0.as_str()).collect();
            supplies.push_str(&format!("  o{output}: {{ feeds: [{}] }}\n", fed.join(", ")));
        }
        let review = reviewed(&unit.text(&supplies));
        prop_assert_eq!(review.counts.not_judged, 0);
        for (output, fed) in &outputs {
            let shorts = fed.iter().any(|&one| {
                fed.iter().any(|&other| !unit.reached(&gates[one].1).contains(&gates[other].1))
            });
            let part = format!("o{output}");
            let told = review.findings.iter().any(|one| one.part == part && one.defect == "shared");
            prop_assert_eq!(told, shorts, "{} with {:?}", part, fed);
            // A conductor between rails is named where one lies between the rails of an output, and none but such.
            let named = review.findings.iter().filter(|one| one.part == part).flat_map(|one| &one.facts);
            for fact in named.filter(|fact| fact.starts_with("between rail ")) {
                let splits = unit.links.iter().enumerate().any(|(l, link)| {
                    !link.is_without_resistance() && fact.contains(&format!("`c{l}_"))
                });
                prop_assert!(splits, "{}", fact);
            }
        }
    }

    #[test]
    fn as_many_outputs_are_needed_as_there_are_nodes_and_no_grouping_does_with_fewer(unit in topology()) {
        let gates = unit.gates();
        let mut nodes: Vec<&str> = Vec::new();
        for (_, node) in &gates {
            if !nodes.iter().any(|known| unit.reached(node).contains(*known)) {
                nodes.push(node);
            }
        }
        let mut best = gates.len() + 1;
        fewest(&gates, &unit, &mut Vec::new(), 0, &mut best);
        prop_assert_eq!(best, nodes.len());
        // A list that feeds nothing but a first gate leaves all others without, and says how many the unit takes.
        let supplies = format!("gate_supplies:\n  only: {{ feeds: [{}] }}\n", gates[0].0);
        let review = reviewed(&unit.text(&supplies));
        let one = finding(&review, "missing");
        let needed = format!("isolated outputs in the unit: {0} needed for {0} potentials", nodes.len());
        let told = one.facts.iter().any(|fact| fact.starts_with(&needed) && fact.ends_with("; 1 declared"));
        prop_assert!(told, "{:?}", one.facts);
    }
}

/// Two bridges on one bus whose low sides share an output, and a branch from the return of one.
fn returning(branch: &str) -> String {
    let bridge = |machine: &str| {
        format!(
            "{{ topology: three_phase_bridge, dc_bus: a, feeds: {machine}, switches: {{ high_side: {{ fitted: m }}, low_side: {{ fitted: m }} }} }}"
        )
    };
    format!(
        "edition: 2026
buses: {{ a: {{ negative_rail: m1 }}, b: {{ negative_rail: m2 }} }}
stages: {{ t: {}, q: {} }}
machines: {{ mt: {{ kind: permanent_magnet }}, mq: {{ kind: permanent_magnet }} }}
devices: {{ m: {{ package: {{ circuit: single }}, transistor: {{ kind: mosfet }} }} }}
conductors: {{ bar: {{ kind: busbar, width: 10 mm, thickness: 1 mm, length: 10 mm }} }}
branches: {{ y: {branch} }}
gate_supplies: {{ l: {{ feeds: [t.low_side, q.low_side] }} }}
",
        bridge("mt"),
        bridge("mq")
    )
}

fn of_output(review: &Review) -> Vec<&'static str> {
    review.findings.iter().filter(|one| one.part == "l").map(|one| one.defect).collect()
}

#[test]
fn a_return_leads_where_it_says_also_to_another_rail() {
    let own = reviewed(&returning("{ from: t, to: m1, through: [bar] }"));
    assert_eq!(of_output(&own), ["across-stages"]);
    let other = reviewed(&returning("{ from: t, to: m2, through: [bar] }"));
    assert_eq!(of_output(&other), ["shared"]);
}

#[test]
fn a_return_that_cannot_be_read_is_not_taken_for_absent() {
    for branch in ["{ from: t, to: m1, thruogh: [bar] }", "{ from: t, to: nowhere, through: [bar] }"] {
        let review = reviewed_despite_problems(&[listed("floating-supplies")], &returning(branch));
        assert_eq!(of_output(&review), [] as [&str; 0], "{branch}");
        let waits: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
        assert!(waits.iter().any(|one| one.contains("branches.y")), "{branch}: {waits:?}");
    }
}
