//! What stands on which potential: circuits on the chassis, rails that something joins, metal beneath devices, poles.

use loadworthy_checks::Review;
use loadworthy_checks::verdict::Grade;

use crate::descriptions::{changed, holding};
use crate::stand_ins::{listed, reviewed_with};

const NAME: &str = "barrier-crossing";
const PAIR: &str = "isolation.traction to low_voltage";
const GATES: &str = "isolation.barriers.gate_isolation";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

fn found(review: &Review) -> Vec<(&str, &'static str, Grade)> {
    review.findings.iter().map(|one| (one.part.as_str(), one.defect, one.grade)).collect()
}

#[test]
fn a_circuit_that_hurts_and_stands_on_the_chassis_is_told() {
    let own = holding(NAME);
    let traction = [("isolation.domains.traction", "earthed", Grade::Major)];
    for said in ["bonded: true", "earthing: negative_rail", "earthing: midpoint"] {
        let earthed =
            changed(own, "traction: { touchable: false,", &format!("traction: {{ touchable: false, {said},"));
        assert_eq!(found(&reviewed(&earthed)), traction, "{said}");
        // In a plant one pole is earthed on purpose.
        let plant = changed(&earthed, "mobile_machinery", "industrial");
        assert_eq!(found(&reviewed(&plant)), [(traction[0].0, "earthed", Grade::Minor)], "{said}");
    }
    let floats =
        changed(own, "traction: { touchable: false,", "traction: { touchable: false, earthing: floating,");
    assert_eq!(found(&reviewed(&floats)), []);
}

#[test]
fn whatever_conducts_makes_two_domains_one() {
    let own = holding(NAME);
    let with = |ends: &str, through: &str, conductor: &str| {
        let joined = format!(
            "\nbranches:\n  strap: {{ {ends}, through: [{through}] }}\n\nconductors:\n  {through}: {{ {conductor} }}\n\ndevices:"
        );
        reviewed(&changed(own, "\ndevices:", &joined))
    };
    for (through, conductor) in [
        ("tie_fuse", "kind: fuse, voltage: 80 V DC, current: 10 A, resistance: 5 mohm"),
        ("tie_resistor", "kind: resistor, resistance: 10 kohm"),
        ("tie_cable", "kind: cable, section: 16 mm^2, length: 300 mm"),
    ] {
        for ends in [
            "from: hv_minus, to: chassis_minus",
            "from: link, to: chassis_minus",
            "from: link, to: board_net",
        ] {
            let review = with(ends, through, conductor);
            assert!(
                found(&review).contains(&(PAIR, "merged", Grade::Major)),
                "{ends} {through}: {:?}",
                found(&review)
            );
        }
    }
}

#[test]
fn cooled_devices_stand_on_some_metal() {
    let own = holding(NAME);
    let metal = "    chassis: { kind: metal, touchable: true, bonded: true, bonding_resistance: 20 mohm }\n";
    let base = "    module_bases:\n      { between: [traction, chassis], kind: basic, clearance: 3 mm, creepage: 5 mm, material_group: II,\n        spanned_by: [slew_bridge] }\n";
    let bare = changed(&changed(own, metal, ""), base, "");
    assert_eq!(found(&reviewed(&bare)), [("isolation", "no-metal", Grade::Major)]);
    // Of two metals it is the one that the barrier says, and the chassis where none does.
    let frame = format!(
        "{metal}    cab_frame: {{ kind: metal, touchable: true, bonded: true, bonding_resistance: 20 mohm }}\n"
    );
    let two = changed(own, metal, &frame);
    assert_eq!(found(&reviewed(&two)), []);
    let elsewhere = changed(&two, "between: [traction, chassis]", "between: [traction, cab_frame]");
    assert_eq!(found(&reviewed(&elsewhere)), []);
    assert_eq!(
        found(&reviewed(&changed(&two, base, ""))),
        [("isolation.traction to chassis", "no-barrier", Grade::Major)]
    );
}

#[test]
fn a_barrier_that_lists_one_kind_of_position_covers_that_kind_alone() {
    let only = |listed: &str| {
        let text = changed(holding(NAME), "spanned_by: [slew_bridge]", &format!("spanned_by: [{listed}]"));
        reviewed(&text)
    };
    assert_eq!(found(&only("slew_bridge.high_side, slew_bridge.low_side")), []);
    let bare = only("slew_bridge.high_side");
    assert_eq!(found(&bare), [("isolation.traction to chassis", "no-barrier", Grade::Major)]);
    assert!(
        bare.findings[0].saying.starts_with("`slew_bridge.low_side` joins"),
        "{}",
        bare.findings[0].saying
    );
}

#[test]
fn what_measures_a_circuit_touches_it_wherever_it_is_read() {
    // The side on which its output stands is not the side that it measures on.
    let own = changed(
        holding(NAME),
        "link_voltage: { measures: voltage, of: [link],",
        "link_voltage: { measures: voltage, of: [link], domain: low_voltage,",
    );
    assert_eq!(found(&reviewed(&own)), []);
    let forgotten = changed(&own, ", link_voltage, slew_temperature]", ", slew_temperature]");
    assert_eq!(found(&reviewed(&forgotten)), [(PAIR, "no-barrier", Grade::Major)]);
}

#[test]
fn a_signal_that_says_not_what_it_joins_is_not_judged() {
    let own = changed(
        holding(NAME),
        "\nisolation:\n",
        "\nsignals:\n  port: { carries: service port }\n\nisolation:\n",
    );
    let said: Vec<String> = reviewed(&own).not_judged.iter().map(|one| one.missing.clone()).collect();
    assert_eq!(said, ["joins of port is not stated"]);
}

#[test]
fn what_recurs_is_no_less_than_what_comes_once() {
    // 0.05 mm stand 0.5 kV at sea level in degree 1; the link of 450 V with its spikes recurs above that at 2000 m in degree 2.
    let low = changed(holding("barrier-distance"), "impulse: 2500 V", "impulse: 460 V");
    let short = changed(&low, "clearance: 5.5 mm", "clearance: 0.05 mm");
    let review = reviewed_with(&[listed("barrier-distance")], &short);
    assert!(found(&review).contains(&(GATES, "clearance", Grade::Major)), "{:?}", found(&review));
}

#[test]
fn capacitors_of_one_rail_add_up_whichever_bus_names_it() {
    let unit = include_str!("../../../examples/timber-forwarder.yaml");
    let with = |second: &str| {
        let text = unit.replacen(
            "\ncapacitors:\n",
            &format!(
                "\ncapacitors:\n  more_y: {{ kind: suppression, from: link.minus, to: chassis, capacitance: 500 nF, class: Y2 }}\n  \
                 yet_more_y: {{ kind: suppression, from: {second}, to: chassis, capacitance: 500 nF, class: Y2 }}\n"
            ),
            1,
        );
        reviewed_with(&[listed("leakage-paths")], &text)
    };
    let (one, two) = (with("link.minus"), with("pack_bus.minus"));
    let energy = |review: &Review| -> Vec<f64> {
        let compared = review.findings.iter().filter(|one| one.defect == "pole-energy");
        compared.filter_map(|one| one.comparison.as_ref().map(|compared| compared.carried_value)).collect()
    };
    assert!(!energy(&one).is_empty(), "{:?}", one.findings);
    assert_eq!(energy(&one), energy(&two));
}
