//! What joins two domains and what lies between: one slip at a time in units that are in order.

use loadworthy_checks::list::by_name;
use loadworthy_checks::review::review_with;
use loadworthy_checks::verdict::Grade;
use loadworthy_checks::{Check, Review};

use crate::descriptions::{changed, holding, unit};
use crate::stand_ins::{listed, reviewed_despite_problems, reviewed_with};

const NAME: &str = "barrier-crossing";

fn reviewed(text: &str) -> Review {
    reviewed_with(&[listed(NAME)], text)
}

fn found(review: &Review) -> Vec<(&str, &'static str, Grade)> {
    review.findings.iter().map(|one| (one.part.as_str(), one.defect, one.grade)).collect()
}

fn waits(review: &Review) -> Vec<String> {
    review.not_judged.iter().map(|one| format!("{one:?}")).collect()
}

const PAIR: &str = "isolation.traction to low_voltage";

/// What is changed to what, and the findings that come of it.
type Slip = (&'static str, &'static str, &'static [(&'static str, &'static str, Grade)]);

#[test]
fn one_slip_is_one_finding() {
    let own = holding(NAME);
    let list = "spanned_by: [slew_drivers, upper_transformer, lower_transformer, phase_current, link_isolation, link_voltage, slew_temperature]";
    let cap = "capacitors:\n  bridging: { kind: suppression, from: link.plus, to: low_voltage, capacitance: 1 nF, class: Y2 }\n\ndevices:";
    let cases: [Slip; 11] = [
        ("slew_drivers, upper", "upper", &[(PAIR, "no-barrier", Grade::Major)]),
        ("upper_transformer, lower", "lower", &[(PAIR, "no-barrier", Grade::Major)]),
        (", phase_current, link_isolation", ", link_isolation", &[(PAIR, "no-barrier", Grade::Major)]),
        // However many pass none, the pair is one finding.
        (list, "printed: false", &[(PAIR, "no-barrier", Grade::Major)]),
        (
            "spanned_by: [slew_bridge]",
            "printed: false",
            &[("isolation.traction to chassis", "no-barrier", Grade::Major)],
        ),
        (
            "[slew_drivers, upper",
            "[slew_drivers, gate_transformers, upper",
            &[("isolation.barriers.gate_isolation", "unknown-name", Grade::Minor)],
        ),
        (
            "spanned_by: [slew_bridge]",
            "spanned_by: [slew_bridge, phase_current]",
            &[("isolation.barriers.module_bases", "elsewhere", Grade::Minor)],
        ),
        (
            "    transient_immunity: 100 kV/us\n",
            "    transient_immunity: 100 kV/us\n    crosses: module_bases\n",
            &[("slew_drivers", "elsewhere", Grade::Minor)],
        ),
        ("rail: chassis_minus, nominal", "rail: hv_minus, nominal", &[(PAIR, "merged", Grade::Major)]),
        (
            "kind: reinforced",
            "kind: supplementary",
            &[("isolation.barriers.gate_isolation", "weak", Grade::Major)],
        ),
        ("devices:", cap, &[("bridging", "weak", Grade::Major)]),
    ];
    assert_eq!(found(&reviewed(own)), []);
    for (from, to, expected) in &cases {
        let review = reviewed(&changed(own, from, to));
        assert_eq!(found(&review), *expected, "{from} -> {to}");
        assert_eq!(review.counts.not_judged, 0, "{from} -> {to}: {:?}", waits(&review));
    }
}

#[test]
fn naming_a_barrier_between_others_passes_none() {
    let unlisted = changed(holding(NAME), "link_isolation, link_voltage,", "link_isolation,");
    let naming = |barrier: &str| {
        let names = format!("transient_immunity: 50 kV/us, crosses: {barrier} }}\n  slew_temperature");
        reviewed(&changed(&unlisted, "transient_immunity: 50 kV/us }\n  slew_temperature", &names))
    };
    assert_eq!(found(&naming("gate_isolation")), []);
    // The same as if it were in the list of that barrier: it is told by the want of its own, and not once more.
    let review = naming("module_bases");
    assert_eq!(found(&review), [(PAIR, "no-barrier", Grade::Major)]);
    let finding = &review.findings[0];
    let fact = "`link_voltage` names `module_bases`, which stands between `traction` and `chassis`";
    assert!(finding.facts.iter().any(|one| one == fact), "{:?}", finding.facts);
    let way = "list `link_voltage` in `spanned_by` of gate_isolation, and no other by `crosses`";
    assert!(finding.proposals.iter().any(|held| held.say == way), "{finding:#?}");
}

#[test]
fn a_capacitor_of_the_stronger_class_bridges_a_reinforced_barrier() {
    let with = |class: &str| {
        let capacitor = format!(
            "capacitors:\n  bridging: {{ kind: suppression, from: link.plus, to: low_voltage, capacitance: 1 nF, class: {class} }}\n\ndevices:"
        );
        reviewed(&changed(holding(NAME), "devices:", &capacitor))
    };
    assert_eq!(found(&with("Y1")), []);
    let weak = with("Y2");
    let finding = &weak.findings[0];
    assert!(
        finding.facts.iter().any(|fact| fact.contains("bridging of class Y2 bridges basic")),
        "{finding:#?}"
    );
    assert!(finding.proposals.iter().any(|held| held.say == "class of bridging: Y1"), "{finding:#?}");
    assert_eq!(found(&with("X1")), [("bridging", "weak", Grade::Major)]);
}

#[test]
fn the_way_over_the_chassis_needs_its_bonding() {
    // Without it the bases alone lie between the traction circuit and the net that is joined to the metal.
    let loose = changed(
        holding(NAME),
        "chassis: { kind: metal, touchable: true, bonded: true, bonding",
        "chassis: { kind: metal, touchable: true, bonding",
    );
    let review = reviewed(&loose);
    assert_eq!(found(&review), [("isolation.barriers.module_bases", "weak", Grade::Major)]);
}

#[test]
fn a_bonding_route_lets_basic_insulation_be_enough_and_says_so() {
    let by_route = changed(
        holding(NAME),
        "low_voltage: { touchable: true, bonded: true }",
        "low_voltage: { touchable: true, bonded: true, bonding_route: true }",
    );
    let basic = changed(&by_route, "kind: reinforced", "kind: basic");
    assert_eq!(found(&reviewed(&basic)), [("isolation.domains.low_voltage", "bonding-counts", Grade::Note)]);
}

#[test]
fn two_layers_around_a_screen_are_double_once_they_are_shown_to_be_independent() {
    let layers = changed(
        holding(NAME),
        "  barriers:\n",
        "    screen: { kind: metal, touchable: false }
    service: { touchable: true }
  barriers:
    inner: { between: [traction, screen], kind: basic, clearance: 3 mm, creepage: 5 mm, material_group: II }
    outer: { between: [screen, service], kind: supplementary, clearance: 3 mm, creepage: 5 mm, material_group: II }
",
    );
    assert_eq!(found(&reviewed(&layers)), [("isolation.barriers.inner", "independence", Grade::Note)]);
    // Reinforced insulation beside them, which is worth as much, makes them no more independent.
    let beside = changed(&layers, "[screen, service]", "[screen, low_voltage]");
    assert_eq!(found(&reviewed(&beside)), [("isolation.barriers.inner", "independence", Grade::Note)]);
    let alone = changed(&layers, "kind: supplementary", "kind: functional");
    assert_eq!(found(&reviewed(&alone)), [("isolation.barriers.outer", "weak", Grade::Major)]);
}

#[test]
fn a_harmless_bus_whose_machine_hurts_is_no_harmless_circuit() {
    let basic = |volts: &str| {
        let low = changed(holding(NAME), "highest: 450 V", volts);
        let low = changed(&low, "buses: { link: 350 V }", "buses: { link: 30 V }");
        let low = changed(&low, "nominal: 350 V", "nominal: 30 V");
        let low = changed(&low, "line_voltage: 205 V rms", "line_voltage: 15 V rms");
        reviewed(&changed(&changed(&low, "40 kW", "1 kW"), "kind: reinforced", "kind: functional"))
    };
    // √(2/3) of 36 V are 29.4 V between phases, of 54 V 44 V.
    assert_eq!(found(&basic("highest: 36 V")), []);
    assert_eq!(found(&basic("highest: 54 V")), [("isolation.barriers.gate_isolation", "weak", Grade::Major)]);
}

#[test]
fn what_nobody_says_is_not_judged() {
    let own = holding(NAME);
    let cases = [
        (
            changed(own, "transformer: lower_transformer, from: board_net", "transformer: lower_transformer"),
            "from of lowers",
        ),
        (
            changed(
                own,
                "slew_controller: { domain: low_voltage, hardware_enable: true }",
                "slew_controller: { hardware_enable: true }",
            ),
            "domain of controllers.slew_controller",
        ),
        (changed(own, "link: { domain: traction, ", "link: { "), "domain of link"),
        (changed(own, "      kind: reinforced\n", ""), "isolation.barriers.gate_isolation.kind"),
        (
            changed(
                own,
                "link_isolation: { measures: isolation, of: [link], read_by: [slew_controller] }",
                "link_isolation: { measures: isolation, of: [link] }",
            ),
            "read_by of link_isolation",
        ),
    ];
    for (text, missing) in &cases {
        let review = reviewed(text);
        let said = waits(&review);
        assert!(said.iter().any(|one| one.contains(missing)), "{missing}: {said:#?}");
    }
}

#[test]
fn a_concept_without_isolation_is_asked_nothing() {
    let own = holding(NAME);
    let (start, end) = (own.find("isolation:\n").unwrap(), own.find("devices:\n").unwrap());
    let bare = changed(own, &own[start..end], "");
    // What says where it stands, or what feeds a controller, and not what stands between, has left it out: one line.
    let review = reviewed(&bare);
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(missing, ["isolation of link is not stated"]);
    let silent = bare
        .replace("domain: traction, ", "")
        .replace("domain: low_voltage, ", "")
        .replace("domain: low_voltage }", "}");
    assert!(!silent.contains("domain:"), "{silent}");
    for check in ["barrier-crossing", "barrier-distance", "barrier-immunity", "leakage-paths"] {
        let review = reviewed_with(&[listed(check)], &silent);
        assert_eq!(
            (review.counts.hold, review.counts.not_judged, review.findings.len()),
            (0, 0, 0),
            "{check}"
        );
    }
}

#[test]
fn a_clamp_lifts_a_node_above_its_bus() {
    // The supply of the groomer is a forward converter on the link of 740 V, whose main switch blocks up to 1.23 kV: √ of
    // their product is 954 V, which ask for 13.5 mm of reinforced insulation in group II, and 740 V alone for 10.4 mm.
    let text = include_str!("../../../examples/snow-groomer.yaml");
    let short = changed(text, "creepage: 14 mm\n", "creepage: 13 mm\n");
    let review = example(&short);
    assert_eq!(found(&review), [("isolation.barriers.gate_isolation", "creepage", Grade::Major)]);
    let carried = review.findings[0].comparison.as_ref().map(|compared| compared.carried_value);
    assert!(carried.is_some_and(|metres| (13.3e-3..13.7e-3).contains(&metres)), "{carried:?}");
}

/// The review of an example by the four checks of isolation alone.
fn example(text: &str) -> Review {
    let names = ["barrier-crossing", "barrier-distance", "barrier-immunity", "leakage-paths"];
    let checks: Vec<&'static dyn Check> = names.iter().filter_map(|name| by_name(name)).collect();
    review_with(&checks, &unit(text))
}

#[test]
fn each_name_that_a_barrier_of_an_example_forgets_is_one_finding_and_nothing_else() {
    let text = include_str!("../../../examples/snow-groomer.yaml");
    assert_eq!(found(&example(text)), []);
    for name in [
        "step_up_drivers",
        "track_drivers",
        "auxiliary_drivers",
        "tiller_currents",
        "link_isolation",
        "step_up_transformer",
        "left_upper_transformer",
        "tiller_lower_transformer",
        "auxiliary_clamp_transformer",
    ] {
        let forgotten = changed(text, &format!("        - {name}\n"), "");
        let review = example(&forgotten);
        assert_eq!(found(&review), [(PAIR, "no-barrier", Grade::Major)], "{name}");
        assert_eq!(review.counts.not_judged, 0, "{name}");
        let held = &review.findings[0].proposals;
        assert!(
            held.iter().any(|one| one.say == format!("list `{name}` in `spanned_by` of gate_isolation")),
            "{held:#?}"
        );
    }
    for (from, to) in [
        ("spanned_by: [auxiliary_transformer] }", "coupling: 30 pF }"),
        ("[step_up, left_bridge, right", "[left_bridge, right"),
    ] {
        let review = example(&changed(text, from, to));
        let major: Vec<_> = found(&review).into_iter().filter(|one| one.2 == Grade::Major).collect();
        assert_eq!(major.len(), 1, "{from}: {:?}", found(&review));
    }
}

/// A circuit that hurts nobody need not be watched, so that its sensor is not what a name in a list was left of.
#[test]
fn a_name_that_nothing_is_called_is_told_in_the_smallest_unit() {
    let text = "\
edition: 2026
surroundings: { altitude: 0 m, pollution_degree: 2, coldest: -20 degC, inside_air: 70 degC, application: road }
buses:
  link: { domain: traction, nominal: 800 V, highest: 800 V }
  net: { domain: low_voltage, nominal: 24 V, highest: 32 V }
controllers: { logic: { domain: low_voltage, from: net } }
isolation:
  domains:
    traction: { touchable: false, isolation_resistance: 5 Mohm, stray_capacitance: 1 nF, impulse: 2500 V }
    low_voltage: { touchable: true }
  barriers:
    gate_isolation:
      { between: [traction, low_voltage], kind: reinforced, clearance: 20 mm, creepage: 40 mm, material_group: I,
        recurring_peak: 9 kV, spanned_by: [spare] }
sensors:
  watch: { measures: isolation, of: [link], read_by: [logic], crosses: gate_isolation }
";
    let unknown = ("isolation.barriers.gate_isolation", "unknown-name", Grade::Minor);
    assert!(found(&example(text)).contains(&unknown), "{:?}", found(&example(text)));
    assert!(!found(&example(&changed(text, "[spare]", "[watch]"))).contains(&unknown));
}

#[test]
fn a_misspelt_name_is_told_with_what_passes_no_barrier() {
    let own = changed(holding(NAME), "[slew_drivers, upper", "[slew_divers, upper");
    let review = reviewed(&own);
    assert_eq!(found(&review), [(PAIR, "no-barrier", Grade::Major)]);
    assert!(
        review.findings[0]
            .facts
            .iter()
            .any(|fact| fact == "`gate_isolation` lists `slew_divers`, and nothing is called so"),
        "{:?}",
        review.findings[0].facts
    );
    // A name too many alone is told by itself.
    let more = changed(holding(NAME), "[slew_drivers, upper", "[slew_drivers, spare, upper");
    assert_eq!(
        found(&reviewed(&more)),
        [("isolation.barriers.gate_isolation", "unknown-name", Grade::Minor)]
    );
    // That of a driver that is gone is told with the gates that it leaves.
    let (start, end) = (more.find("drivers:\n").unwrap(), more.find("controllers:\n").unwrap());
    let gone = changed(&more, &more[start..end], "drivers: {}\n\n");
    let defects: Vec<&str> =
        crate::descriptions::reviewed(&gone).findings.iter().map(|one| one.defect).collect();
    assert_eq!(defects, ["no-driver"]);
}

#[test]
fn an_output_that_takes_its_power_where_it_feeds_gates_passes_nothing() {
    let own = changed(
        holding(NAME),
        "transformer: lower_transformer, from: board_net",
        "transformer: lower_transformer, from: link",
    );
    let review = reviewed(&own);
    assert_eq!(found(&review), [("isolation.barriers.gate_isolation", "elsewhere", Grade::Minor)]);
    assert!(review.findings[0].saying.contains("lists `lower_transformer`"), "{}", review.findings[0].saying);
}

#[test]
fn what_could_not_be_read_may_join_two_domains() {
    let own = holding(NAME);
    let without = |name: &str, to: &str| changed(own, name, to);
    let cases = [
        // The bus stands in its domain, and nobody knows with what voltage.
        (without("highest: 450 V", "highest: 450 W"), "buses.link.highest"),
        // Nor where one stands that says nothing.
        (
            without("cab: { bus: board_net }", "cab: { bus: board_net }\n\nsignals:\n  fan: 5 V"),
            "signals.fan",
        ),
        (
            without("transient_immunity: 100 kV/us", "hue: 5\n    transient_immunity: 100 kV/us"),
            "drivers.slew_drivers",
        ),
        (
            without(
                "\ndevices:",
                "\ncapacitors:\n  pole: { kind: suppression, from: link.plus, class: Z9 }\n\ndevices:",
            ),
            "capacitors.pole",
        ),
        (
            without(
                "\ndevices:",
                "\nbranches:\n  strap: { from: hv_minus, to: chassis_minus, load: 3 V }\n\ndevices:",
            ),
            "branches.strap",
        ),
    ];
    for (text, missing) in &cases {
        let said = waits(&reviewed_despite_problems(&[listed(NAME)], text));
        assert!(said.iter().any(|one| one.contains(missing)), "{missing}: {said:#?}");
    }
    let distances = waits(&reviewed_despite_problems(&[listed("barrier-distance")], &cases[0].0));
    assert!(distances.iter().any(|one| one.contains("buses.link.highest")), "{distances:#?}");
}

#[test]
fn without_a_duty_point_a_domain_has_what_its_buses_state() {
    let bare = |stated: &str| {
        let text = format!(
            "edition: 2026
buses:
  link: {{ domain: traction, {stated} }}
signals: {{ fan: {{ joins: [traction, chassis] }} }}
isolation:
  domains:
    traction: {{ touchable: false, impulse: 2500 V, isolation_resistance: 2 Mohm }}
    chassis: {{ kind: metal, bonded: true, bonding_resistance: 20 mohm }}
  barriers:
    base: {{ between: [traction, chassis], kind: functional, spanned_by: [fan] }}
"
        );
        reviewed(&text)
    };
    assert_eq!(
        found(&bare("nominal: 350 V, highest: 450 V")),
        [("isolation.barriers.base", "weak", Grade::Major)]
    );
    assert_eq!(found(&bare("nominal: 40 V, highest: 50 V")), []);
    assert!(waits(&bare("nominal: 350 V")).iter().any(|one| one.contains("buses.link.highest")));
}

#[test]
fn what_a_weak_barrier_leaves_beyond_it_is_told_with_it() {
    // A port beyond a functional barrier takes what the basic one lets through: that one alone is too weak.
    let port = changed(
        holding(NAME),
        "    low_voltage: { touchable: true, bonded: true }\n",
        "    low_voltage: { touchable: true, bonded: true }\n    port: { touchable: true }\n",
    );
    let port = changed(
        &port,
        "  barriers:\n",
        "  barriers:\n    socket: { between: [traction, port], kind: basic, clearance: 9 mm, creepage: 9 mm, material_group: II }\n    \
         filter: { between: [low_voltage, port], kind: functional, clearance: 9 mm, creepage: 9 mm, material_group: II }\n",
    );
    let weak: Vec<String> =
        reviewed(&port).findings.into_iter().filter(|one| one.defect == "weak").map(|one| one.part).collect();
    assert_eq!(weak, ["isolation.barriers.socket"]);
}

#[test]
fn windings_on_cooled_metal_pass_a_barrier() {
    let shuttle = include_str!("../../../examples/harbour-shuttle.yaml");
    let own = reviewed(shuttle);
    assert!(!own.findings.iter().any(|one| one.defect == "no-barrier"), "{:?}", own.findings);
    // The choke of the board net hurts nobody; the transformer stands on the pack as well.
    let bare = reviewed(&changed(shuttle, "auxiliary, auxiliary_transformer] }", "auxiliary] }"));
    let [finding] = &bare.findings[..] else { panic!("{:#?}", bare.findings) };
    assert_eq!((finding.part.as_str(), finding.defect), ("isolation.traction to chassis", "no-barrier"));
    assert!(finding.saying.starts_with("`auxiliary.auxiliary_transformer` joins"), "{}", finding.saying);
}

/// The coil of a contactor is apart from its contacts within it: no barrier on a board becomes that by a name in its list.
#[test]
fn a_contactor_is_listed_where_coils_are_or_has_a_barrier_of_its_own() {
    let text = include_str!("../../../examples/timber-forwarder.yaml");
    let of = |from: &str, to: &str| {
        let review = example(&changed(text, from, to));
        let finding = review.findings.iter().find(|one| one.defect == "no-barrier").expect("the pair");
        finding.proposals.iter().map(|one| one.say.clone()).collect::<Vec<_>>()
    };
    let both = "[auxiliary_transformer, main_contactor, precharge_contactor]";
    let other = of(both, "[auxiliary_transformer, precharge_contactor]");
    assert_eq!(other, ["list `main_contactor` in `spanned_by` of supply_isolation"]);
    let own = of(both, "[auxiliary_transformer]");
    let kind = "a barrier between traction and low_voltage of kind reinforced";
    assert_eq!(own, [format!("{kind} that lists `main_contactor`, `precharge_contactor`")]);
}
