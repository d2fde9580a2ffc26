//! What commands, drives and measures, and what stops together.

use loadworthy_checks::Review;
use loadworthy_checks::list::by_name;
use loadworthy_checks::verdict::Grade;

use crate::descriptions::{self, reviewed};

const OWN: &str = "control-cover";

/// The holding example, of which nothing but the practice of control asks what is measured: its bridge states no trip.
fn holding(check: &str) -> String {
    let trip =
        "    trip: 380 A\n    current_sensing: { range: 500 A, trip_tolerance: 4 %, trip_delay: 6 us }\n";
    descriptions::changed(descriptions::holding(check), trip, "")
}

/// The holding example with one passage changed.
fn winch(from: &str, to: &str) -> Review {
    let text = holding(OWN);
    assert!(text.contains(from), "{from}");
    reviewed(&text.replacen(from, to, 1))
}

fn found(review: &Review) -> Vec<(&'static str, Grade, &str)> {
    let own = review.findings.iter().filter(|finding| finding.check == OWN);
    own.map(|finding| (finding.defect, finding.grade, finding.part.as_str())).collect()
}

fn said(review: &Review, defect: &str) -> String {
    let finding = review.findings.iter().find(|finding| finding.check == OWN && finding.defect == defect);
    finding.unwrap_or_else(|| panic!("no {defect}: {:?}", review.findings)).saying.clone()
}

const DRIVERS: &str = "  winch_drivers: { drives: [winch_bridge.high_side, winch_bridge.low_side] }\n";

#[test]
fn each_gate_has_one_driver() {
    let none = winch(
        "winch_bridge.high_side, winch_bridge.low_side",
        "winch_bridge.high_side.u, winch_bridge.low_side",
    );
    assert_eq!(found(&none), [("no-driver", Grade::Major, "winch_bridge")]);
    assert_eq!(
        said(&none, "no-driver"),
        "no driver drives winch_bridge.high_side.v, winch_bridge.high_side.w"
    );
    let two = winch(DRIVERS, &format!("{DRIVERS}  more: {{ drives: [winch_bridge.low_side.u] }}\n"));
    assert_eq!(found(&two), [("two-drivers", Grade::Major, "winch_bridge")]);
}

#[test]
fn without_the_section_drivers_are_not_judged_and_missed_once() {
    let review = winch(&format!("drivers:\n{DRIVERS}\n"), "");
    assert_eq!(found(&review), []);
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(missing, ["drivers is not stated"]);
}

#[test]
fn without_controllers_control_is_out_of_the_concept() {
    let text = holding(OWN);
    let from = text.find("drivers:").expect("drivers");
    let to = text.find("devices:").expect("devices");
    let text = format!("{}{}", &text[..from], &text[to..]).replace("    controller: winch_controller\n", "");
    let review = reviewed(&text);
    assert!(review.verdicts.iter().flatten().all(|verdict| verdict.check != OWN));
    assert_eq!(review.counts.not_judged, 0);
}

#[test]
fn a_stage_has_a_controller_and_its_drivers_obey_it() {
    let none = winch("    controller: winch_controller\n", "");
    assert!(found(&none).contains(&("no-controller", Grade::Major, "winch_bridge")), "{:?}", found(&none));
    let text = holding(OWN)
        .replace(
            "high_side, winch_bridge.low_side] }",
            "high_side, winch_bridge.low_side], controller: other }",
        )
        .replace(
            "  winch_controller: { hardware_enable: true }\n",
            "  winch_controller: { hardware_enable: true }\n  other: { hardware_enable: true }\n",
        );
    let review = reviewed(&text);
    assert_eq!(found(&review), [("other-controller", Grade::Minor, "winch_bridge")]);
}

#[test]
fn what_is_not_measured_is_said_once_for_each_stage() {
    let cases = [
        (
            "of: [winch_bridge.u, winch_bridge.v], read_by",
            "of: [winch_bridge.w], read_by",
            "nothing measures 1 of 2 phase currents of winch_bridge",
        ),
        ("measures: voltage", "measures: isolation", "nothing measures the voltage of link"),
        (
            "of: [winch_bridge], read_by",
            "of: [winch_motor], read_by",
            "nothing measures a temperature in winch_bridge",
        ),
        ("of: [cooling]", "of: [winch_motor]", "nothing measures the temperature of the coolant"),
    ];
    for (from, to, expected) in cases {
        assert_eq!(said(&winch(from, to), "unmeasured"), expected);
    }
    for whole in [
        "of: [winch_bridge], read_by",
        "of: [winch_bridge.low_side], read_by",
        "of: [winch_bridge.w, winch_bridge.low_side.u], read_by",
    ] {
        assert_eq!(found(&winch("of: [winch_bridge.u, winch_bridge.v], read_by", whole)), [], "{whole}");
    }
    let nothing = winch("link_voltage: { measures: voltage", "link_voltage: { measures: flow");
    let nothing_more = nothing.findings.iter().filter(|finding| finding.defect == "unmeasured").count();
    assert_eq!(nothing_more, 1);
}

#[test]
fn a_rotor_with_magnets_is_asked_for_its_position_once() {
    let own = "  winch_position: { measures: position, of: [winch_motor], read_by: [winch_controller] }\n";
    let none = winch(own, "");
    assert_eq!(found(&none), [("unmeasured", Grade::Minor, "winch_bridge")]);
    assert_eq!(said(&none, "unmeasured"), "nothing measures the position of the rotor of winch_motor");
    // One that another controller reads tells its own nothing, unless that depends on it.
    let other = |depends: &str| {
        let text = holding(OWN)
            .replace("of: [winch_motor], read_by: [winch_controller]", "of: [winch_motor], read_by: [other]")
            .replace(
                "hardware_enable: true }\n",
                &format!("hardware_enable: true{depends} }}\n  other: {{}}\n"),
            );
        reviewed(&text)
    };
    assert_eq!(
        said(&other(""), "unmeasured"),
        "winch_controller does not read the position of the rotor of winch_motor"
    );
    assert_eq!(found(&other(", depends_on: [other]")), []);
    // An induction machine turns with a slip, and where nothing of a stage is measured that is told alone.
    let machine =
        "{ kind: permanent_magnet, phase_resistance: 12 mohm, inductance: { d: 240 uH, q: 380 uH } }";
    let text = holding(OWN).replace(own, "");
    let induction = "{ kind: induction, phase_resistance: 12 mohm, leakage_inductance: 0.4 mH }";
    assert_eq!(found(&reviewed(&text.replace(machine, induction))), []);
    let bare = text.replace("of: [winch_bridge.u, winch_bridge.v]", "of: [winch_motor]");
    let bare = reviewed(&bare.replace("of: [winch_bridge]", "of: [winch_motor]"));
    assert!(!said(&bare, "unmeasured").contains("rotor"), "{}", said(&bare, "unmeasured"));
}

const TRIPPED: &str = "    dead_time: 2 us\n    trip: 400 A\n";

#[test]
fn a_trip_without_what_it_watches_is_graver_than_what_control_misses() {
    let text = holding(OWN).replace("    dead_time: 2 us\n", TRIPPED);
    let review = reviewed(&text);
    assert_eq!(found(&review), []);
    for (from, to, expected) in [
        (
            "of: [winch_bridge.u, winch_bridge.v], read_by",
            "of: [winch_bridge.w], read_by",
            "the trip of `winch_bridge` is blind: nothing measures 1 of 2 phase currents of winch_bridge",
        ),
        (
            "winch_currents: { measures: current",
            "winch_currents: { measures: flow",
            "the trip of `winch_bridge` is blind: nothing measures 2 of 2 phase currents of winch_bridge",
        ),
        (
            "winch_bridge.v], read_by: [winch_controller]",
            "winch_bridge.v], read_by: [other]",
            "the trip of `winch_bridge` is blind: winch_controller does not read 2 of 2 phase currents of winch_bridge",
        ),
    ] {
        let text = text.replace(from, to).replace("controllers:\n", "controllers:\n  other: {}\n");
        let review = reviewed(&text);
        assert_eq!(found(&review), [("blind-trip", Grade::Major, "winch_bridge")]);
        assert_eq!(said(&review, "blind-trip"), expected);
    }
}

#[test]
fn an_overvoltage_trip_needs_the_voltage_of_its_bus() {
    let trip = "highest: 400 V, overvoltage_trip: { voltage: 380 V, delay: 20 us, sensor_range: 500 V }";
    let text = holding(OWN).replace("highest: 400 V", trip);
    assert_eq!(found(&reviewed(&text)), []);
    let review = reviewed(&text.replace("measures: voltage", "measures: isolation"));
    assert_eq!(found(&review), [("blind-trip", Grade::Major, "link")]);
    assert_eq!(
        said(&review, "blind-trip"),
        "the overvoltage trip of `link` is blind: nothing measures the voltage of link"
    );
}

#[test]
fn who_works_from_a_voltage_reads_it_or_is_told() {
    let text = holding(OWN)
        .replace("of: [link], read_by: [winch_controller]", "of: [link], read_by: [other]")
        .replace("controllers:\n", "controllers:\n  other: {}\n");
    let review = reviewed(&text);
    assert_eq!(found(&review), [("unread", Grade::Minor, "link")]);
    assert_eq!(
        said(&review, "unread"),
        "the voltage of `link` is measured, and not read by winch_controller of winch_bridge"
    );
    // A controller that it depends on may hand the voltage over.
    let told = text.replace("hardware_enable: true }", "hardware_enable: true, depends_on: [other] }");
    assert_eq!(found(&reviewed(&told)), []);
}

#[test]
fn software_alone_and_an_open_word() {
    let stated = winch("hardware_enable: true", "hardware_enable: false");
    assert_eq!(found(&stated), [("software-only", Grade::Minor, "winch_controller")]);
    let open = winch("{ hardware_enable: true }", "{}");
    assert_eq!(found(&open), []);
    assert!(
        open.not_judged.iter().any(|one| one.missing.contains("hardware_enable")),
        "{:?}",
        open.not_judged
    );
}

#[test]
fn undeclared_surroundings_are_a_note() {
    let review = winch(", altitude: 1000 m, pollution_degree: 2", "");
    assert_eq!(found(&review), [("surroundings", Grade::Note, "surroundings")]);
}

/// A second bridge beside the first, with its own supplies and sensors.
fn two(change: &[(&str, &str)]) -> Review {
    let mut text = holding(OWN);
    let stage =
        &text[text.find("  winch_bridge:").expect("a stage")..text.find("machines:").expect("machines")];
    let second = stage
        .replace("winch_bridge:", "drum_bridge:")
        .replace("winch_motor", "drum_motor")
        .replace("winch_controller", "drum_controller");
    let put = |text: &str, before: &str, more: &str| text.replacen(before, &format!("{more}{before}"), 1);
    text = put(&text, "machines:", &second);
    text = put(
        &text,
        "gate_supplies:",
        "  drum_motor: { kind: permanent_magnet, phase_resistance: 12 mohm, inductance: { d: 240 uH, q: 380 uH } }\n\n",
    );
    text = put(
        &text,
        "drivers:",
        "  drum_u: { feeds: [drum_bridge.high_side.u] }\n  drum_v: { feeds: [drum_bridge.high_side.v] }\n  drum_w: { feeds: [drum_bridge.high_side.w] }\n  drum_lowers: { feeds: [drum_bridge.low_side] }\n\n",
    );
    text = put(
        &text,
        "controllers:",
        "  drum_drivers: { drives: [drum_bridge.high_side, drum_bridge.low_side] }\n\n",
    );
    text = put(&text, "sensors:", "  drum_controller: { hardware_enable: true }\n\n");
    text = put(
        &text,
        "devices:",
        "  drum_currents: { measures: current, of: [drum_bridge.u, drum_bridge.v], read_by: [drum_controller] }\n  drum_link: { measures: voltage, of: [link], read_by: [drum_controller] }\n  drum_temperature: { measures: temperature, of: [drum_bridge] }\n  drum_position: { measures: position, of: [drum_motor] }\n\n",
    );
    text = text.replace(
        "winch_bridge: { face_a: 0.060 K/W } }",
        "winch_bridge: { face_a: 0.060 K/W }, drum_bridge: { face_a: 0.060 K/W } }",
    );
    for (from, to) in change {
        assert!(text.contains(from), "{from}: {text}");
        text = text.replacen(from, to, 1);
    }
    reviewed(&text)
}

#[test]
fn two_stages_that_share_nothing_are_independent() {
    let claim = (
        "    controller: drum_controller\n",
        "    controller: drum_controller\n    independent_of: [winch_bridge]\n",
    );
    assert_eq!(found(&two(&[])), []);
    assert_eq!(found(&two(&[claim])), []);
    for (what, change) in [
        (
            "controller winch_controller",
            ("controller: drum_controller\n    independent", "controller: winch_controller\n    independent"),
        ),
        (
            "dependence clock",
            (
                "{ hardware_enable: true }\n  drum_controller: { ",
                "{ hardware_enable: true, depends_on: [clock] }\n  drum_controller: { depends_on: [clock], ",
            ),
        ),
        (
            "sensor link_voltage",
            (
                "of: [link], read_by: [winch_controller]",
                "of: [link], read_by: [winch_controller, drum_controller]",
            ),
        ),
        (
            "transformer shared",
            (
                "feeds: [winch_bridge.high_side.u] }\n",
                "feeds: [winch_bridge.high_side.u], transformer: shared }\n",
            ),
        ),
    ] {
        let mut changes = vec![claim, change];
        if what.starts_with("dependence") {
            changes[1] = (
                "  winch_controller: { hardware_enable: true }\n\n  drum_controller: { ",
                "  winch_controller: { hardware_enable: true, depends_on: [clock] }\n  drum_controller: { depends_on: [clock], ",
            );
        }
        if what.starts_with("transformer") {
            changes.push((
                "feeds: [drum_bridge.high_side.u] }\n",
                "feeds: [drum_bridge.high_side.u], transformer: shared }\n",
            ));
        }
        let review = two(&changes);
        let own = found(&review);
        assert!(own.contains(&("not-independent", Grade::Major, "drum_bridge")), "{what}: {own:?}");
        assert!(
            said(&review, "not-independent").contains(what),
            "{what}: {}",
            said(&review, "not-independent")
        );
    }
}

#[test]
fn what_nobody_calls_independent_is_a_note() {
    let review = two(&[("    controller: drum_controller\n", "    controller: winch_controller\n")]);
    let own = found(&review);
    assert!(own.contains(&("stops-together", Grade::Note, "winch_controller")), "{own:?}");
    assert!(own.iter().all(|(defect, ..)| *defect != "not-independent"), "{own:?}");
}

#[test]
fn a_discharge_lives_on_its_own_bus() {
    let with = |from: &str| {
        let bus = format!(
            "link: {{ nominal: 350 V, highest: 400 V, negative_rail: hv_minus, discharge: {{ resistor: 50 kohm, resistor_power: 10 W, active: {{ power: 100 W{from} }} }} }}"
        );
        winch(
            "link: { nominal: 350 V, highest: 400 V, negative_rail: hv_minus }",
            &format!("{bus}\n  net: {{ nominal: 28 V }}"),
        )
    };
    let own = |review: &Review| found(review).iter().any(|(defect, ..)| *defect == "discharge-without-power");
    assert!(!own(&with(", from: link")));
    assert!(own(&with(", from: net")));
    let open = with("");
    assert!(
        !own(&open) && open.not_judged.iter().any(|one| one.missing.contains("discharge.active.from")),
        "{:?}",
        open.not_judged
    );
}

#[test]
fn a_short_of_the_phases_needs_gate_power_that_outlives_the_controls() {
    let machine = "winch_motor: { kind: permanent_magnet, phase_resistance: 12 mohm, inductance: { d: 240 uH, q: 380 uH } }";
    let with = |speed: &str, from: &str| {
        let text = holding(OWN)
            .replace(machine, &format!("winch_motor: {{ kind: permanent_magnet, phase_resistance: 12 mohm, inductance: {{ d: 240 uH, q: 380 uH }}, flux_linkage: 0.1 V s, pole_pairs: 4, highest_speed: {speed} }}"))
            .replace("    modulation: space_vector\n", "    modulation: space_vector\n    on_fault: three_phase_short\n")
            .replace("lowers: { feeds: [winch_bridge.low_side] }", &format!("lowers: {{ feeds: [winch_bridge.low_side], from: {from} }}"))
            .replace("link: { nominal: 350 V, highest: 400 V, negative_rail: hv_minus }", "link: { nominal: 350 V, highest: 400 V, negative_rail: hv_minus }\n  net: { nominal: 28 V }");
        let text = ["upper_u", "upper_v", "upper_w"].iter().fold(text, |text, upper| {
            let leg = &upper[6..];
            text.replace(
                &format!("{upper}: {{ feeds: [winch_bridge.high_side.{leg}] }}"),
                &format!("{upper}: {{ feeds: [winch_bridge.high_side.{leg}], from: net }}"),
            )
        });
        found(&reviewed(&text)).iter().any(|(defect, ..)| *defect == "short-without-power")
    };
    // √3·0.1 V s·4·ω is 400 V at 5513 1/min.
    assert!(!with("5400 1/min", "net"));
    assert!(with("5600 1/min", "net"));
    assert!(!with("5600 1/min", "link"));
    // Either of two buses keeps the gates alive.
    assert!(!with("5600 1/min", "net, also_from: link"));
}

#[test]
fn a_short_of_the_phases_needs_a_controller_that_outlives_the_board_net() {
    let machine = "winch_motor: { kind: permanent_magnet, phase_resistance: 12 mohm, inductance: { d: 240 uH, q: 380 uH } }";
    let constants = "flux_linkage: 0.1 V s, pole_pairs: 4, highest_speed: 5600 1/min }";
    let bus = "link: { nominal: 350 V, highest: 400 V, negative_rail: hv_minus }";
    let with = |controller: &str| {
        let text = holding(OWN)
            .replace(machine, &machine.replace("380 uH } }", &format!("380 uH }}, {constants}")))
            .replace(
                "    modulation: space_vector\n",
                "    modulation: space_vector\n    on_fault: three_phase_short\n",
            )
            .replace(
                "lowers: { feeds: [winch_bridge.low_side] }",
                "lowers: { feeds: [winch_bridge.low_side], from: link }",
            )
            .replace(bus, &format!("{bus}\n  net: {{ nominal: 28 V }}"))
            .replace("winch_controller: { ", &format!("winch_controller: {{ {controller}"));
        reviewed(&text)
    };
    let short = ("short-without-power", Grade::Minor, "winch_bridge");
    let review = with("from: net, ");
    assert!(found(&review).contains(&short), "{:?}", found(&review));
    assert!(said(&review, "short-without-power").ends_with("and its controller lives on net"));
    for lives in ["from: link, ", "from: net, also_from: link, "] {
        assert!(!found(&with(lives)).contains(&short), "{lives}");
    }
    let open = with("");
    let asks = |one: &loadworthy_checks::review::NotJudged| one.missing.contains("from of winch_controller");
    assert!(open.not_judged.iter().any(asks), "{:?}", open.not_judged);
}

#[test]
fn its_page_names_what_it_leaves_to_others() {
    let page = by_name(OWN).expect(OWN).about().page;
    for other in ["floating-supplies", "stored-energy", "fuse-coordination"] {
        assert!(page.contains(other) && by_name(other).is_some(), "{other}");
    }
}
