//! Discharge with what follows through diodes, and pre-charge, against time stepping of the circuit.

use crate::descriptions::{changed, defects, failing, figure, finding, holding, reviewed, trencher, unit};

/// The trencher with banks on the pack's bus and on the link, a discharge on the link, and a pre-charge.
fn stepped_up(discharge: &str) -> String {
    let text = changed(
        trencher(),
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V }",
        "pack_bus: { negative_rail: hv_minus, nominal: 350 V, highest: 410 V }",
    );
    let text = changed(
        &text,
        "link: { negative_rail: hv_minus }",
        &format!("link: {{ negative_rail: hv_minus, highest: 700 V, discharge: {{ {discharge} }} }}"),
    );
    format!(
        "{text}
capacitors:
  pack_bank: {{ kind: bank, bus: pack_bus, parts: 2, each: film }}
  link_bank: {{ kind: bank, bus: link, parts: 5, each: film }}
capacitor_types:
  film: {{ capacitance: 100 uF, tolerance: 10 %, voltage: 900 V, ripple_current: 60 A, series_resistance: 1 mohm,
          thermal_resistance: 3 K/W, hottest: 105 degC }}
"
    )
}

/// Time until the link, followed by the pack's bus through a diode, is at 60 V; small steps in time.
fn stepped(ohms: f64, watts: f64) -> f64 {
    let (own, follower) = (5.0 * 100e-6 * 1.1, 2.0 * 100e-6 * 1.1);
    let (mut volts, mut low, mut seconds) = (700.0, 410.0, 0.0);
    let step = if watts > 0.0 { 1e-6 } else { 1e-4 };
    while volts > 60.0 {
        let amps = volts / ohms + watts / volts;
        let farads = if volts > low { own } else { own + follower };
        volts -= amps / farads * step;
        if volts < low {
            low = volts;
        }
        seconds += step;
    }
    seconds
}

#[test]
fn a_bank_that_follows_through_a_diode_lengthens_the_discharge() {
    let text = stepped_up("resistor: 40 kohm, active: { power: 500 W }");
    let passive = figure(&text, "link.passive_discharge_time");
    assert!((passive / stepped(40e3, 0.0) - 1.0).abs() < 1e-3, "{passive}");
    let active = figure(&text, "link.active_discharge_time");
    assert!((active / stepped(40e3, 500.0) - 1.0).abs() < 1e-3, "{active}");
    // The low bus states none of its own and is done with the link.
    assert_eq!(figure(&text, "pack_bus.passive_discharge_time").to_bits(), passive.to_bits());
}

#[test]
fn a_held_power_and_a_switched_resistance_are_told_apart() {
    let text = stepped_up("resistor: 40 kohm, active: { resistor: 2 kohm }");
    let active = figure(&text, "link.active_discharge_time");
    assert!((active / stepped(1.0 / (1.0 / 40e3 + 1.0 / 2e3), 0.0) - 1.0).abs() < 1e-3, "{active}");
}

#[test]
fn a_bus_that_states_no_discharge_is_not_judged() {
    let text = changed(
        holding("stored-energy"),
        "    discharge: { resistor: 120 kohm, resistor_power: 3 W, passively_within: 120 s }\n",
        "",
    );
    let review = reviewed(&text);
    assert!(defects(&review).is_empty());
    let named = review.not_judged.iter().any(|one| format!("{one:?}").contains("discharge of link"));
    assert!(named, "{:#?}", review.not_judged);
}

#[test]
fn a_contactor_on_an_empty_bank_wants_a_pre_charge() {
    let text = changed(
        &stepped_up("resistor: 40 kohm, resistor_power: 40 W"),
        "through: [pack_plug, pack_cable]",
        "through: [pack_contactor, pack_plug, pack_cable]",
    );
    let text = changed(
        &text,
        "conductors:\n",
        "conductors:\n  pack_contactor: { kind: contactor, resistance: 0.2 mohm }\n",
    );
    assert!(defects(&reviewed(&text)).contains(&("stored-energy", "no-precharge")));
    // The one contactor may stand in the way back.
    let back = changed(&text, "[pack_contactor, ", "[");
    let back = changed(
        &back,
        "branches:\n",
        "branches:\n  pack_back: { from: hv_minus, to: pack, through: [pack_contactor] }\n",
    );
    let review = reviewed(&back);
    let told = review.findings.iter().find(|one| one.defect == "no-precharge").expect("a finding");
    assert_eq!(told.part, "pack_back");
    let charged = changed(
        &back,
        "branches:\n",
        "branches:\n  pack_precharge: { around: pack_contactor, through: [pack_resistor] }\n",
    );
    let charged = changed(
        &charged,
        "conductors:\n",
        "conductors:\n  pack_resistor: { kind: resistor, resistance: 50 ohm, energy: 50 J }\n",
    );
    assert!(!defects(&reviewed(&charged)).contains(&("stored-energy", "no-precharge")));
    assert_eq!(figure(&charged, "pack_precharge.precharge_inrush").to_bits(), (400.0_f64 / 50.0).to_bits());
    let with = |more: &str| {
        let text = changed(
            &text,
            "branches:\n",
            &format!(
                "branches:\n  pack_precharge: {{ around: pack_contactor, through: [pack_resistor]{more} }}\n"
            ),
        );
        changed(
            &text,
            "conductors:\n",
            "conductors:\n  pack_resistor: { kind: resistor, resistance: 50 ohm, energy: 50 J }\n",
        )
    };
    let review = reviewed(&with(""));
    // 400 V into 770 µF, the link behind its diode included: 61 J less what is left.
    let joules = figure(&with(""), "pack_precharge.precharge_energy");
    let by_hand = 0.5 * 770e-6 * (160_000.0 - 400.0);
    // The resistor of the link draws 10 mA in the end.
    assert!((1.0..1.005).contains(&(joules / by_hand)), "{joules} of {by_hand}");
    assert_eq!(figure(&with(""), "pack_precharge.precharge_inrush").to_bits(), (400.0_f64 / 50.0).to_bits());
    assert!(defects(&review).contains(&("stored-energy", "precharge-energy")));
    assert!(!defects(&review).contains(&("stored-energy", "no-precharge")));
    // A branch without a resistor leads around it, and limits nothing.
    let bare = changed(
        &with(""),
        "kind: resistor, resistance: 50 ohm, energy: 50 J",
        "kind: contactor, resistance: 0.2 mohm",
    );
    assert!(defects(&reviewed(&bare)).contains(&("stored-energy", "no-precharge")));
    // Of a resistor that does not state its resistance nothing is taken for it.
    let unsaid = reviewed(&changed(&with(""), "resistance: 50 ohm, energy", "energy"));
    let named = |one: &loadworthy_checks::review::NotJudged| {
        one.missing.contains("conductors.pack_resistor.resistance")
    };
    assert!(unsaid.not_judged.iter().any(named), "{:?}", unsaid.not_judged);
    // 0.5 A through 50 Ω keep 25 V across it; it closes at 20 V. Of energy without end nothing else is said.
    let never = defects(&reviewed(&with(", load: 0.5 A")));
    assert!(never.contains(&("stored-energy", "never-charged")), "{never:?}");
    assert!(!never.contains(&("stored-energy", "precharge-energy")), "{never:?}");
    assert_eq!(
        figure(&with(""), "pack_precharge.precharge_peak_power").to_bits(),
        (400.0_f64 * 8.0).to_bits()
    );
    let drawn = figure(&with(", load: 0.3 A"), "pack_precharge.precharge_energy");
    assert!(drawn > 1.05 * joules, "the load flows through it as well: {drawn}");
    // The resistor of the link draws through the diode of the boost: 400 V·50/(50 + 400) = 44 V.
    let bleeder = changed(
        &with(""),
        "resistor: 40 kohm, resistor_power: 40 W",
        "resistor: 400 ohm, resistor_power: 4 kW",
    );
    let drop = figure(&bleeder, "pack_precharge.precharge_drop");
    assert!((drop - 400.0 * 50.0 / 450.0).abs() < 0.02, "{drop}");
    assert!(defects(&reviewed(&bleeder)).contains(&("stored-energy", "never-charged")));
}

#[test]
fn what_a_load_that_nothing_holds_back_draws_meanwhile_is_assumed_by_name() {
    let text = changed(
        &stepped_up("resistor: 40 kohm"),
        "through: [pack_plug, pack_cable]",
        "through: [pack_contactor, pack_plug, pack_cable]",
    );
    let text = changed(
        &text,
        "branches:\n",
        "branches:\n  pack_precharge: { around: pack_contactor, through: [pack_resistor] }\n  sieve_feed: { from: pack_bus, to: sieve, through: [sieve_cable] }\n",
    );
    let text = changed(
        &text,
        "conductors:\n",
        "conductors:\n  pack_contactor: { kind: contactor, resistance: 0.2 mohm }\n  pack_resistor: { kind: resistor, resistance: 50 ohm, energy: 100 J }\n  sieve_cable: { kind: cable, section: 2.5 mm^2, length: 1 m }\n",
    );
    let text = changed(&text, "\nloads:\n", "\nloads:\n  sieve: {}\n");
    let assumed = |text: &str| reviewed(text).assumed.iter().any(|one| one.id == "precharge-load");
    let lit = changed(&text, "    loads:\n", "    loads:\n      sieve: { current: 0.2 A }\n");
    assert!(assumed(&lit), "{lit}");
    // What a duty point does not speak of can be off, and what a contactor holds back is.
    assert!(!assumed(&text));
    let held = changed(&lit, "through: [sieve_cable]", "through: [sieve_contactor, sieve_cable]");
    let held = changed(
        &held,
        "conductors:\n",
        "conductors:\n  sieve_contactor: { kind: contactor, resistance: 1 mohm }\n",
    );
    assert!(!assumed(&held));
}

#[test]
fn a_bank_with_a_resistor_of_its_own_may_be_empty_before_its_leader_comes_down_to_it() {
    let with = |ohms: &str| {
        let text = stepped_up("resistor: 40 kohm");
        let low = "pack_bus: { negative_rail: hv_minus, nominal: 350 V, highest: 410 V";
        changed(&text, low, &format!("{low}, discharge: {{ resistor: {ohms}, resistor_power: 1 kW }}"))
    };
    let alone = 40e3 * 550e-6 * libm::log(700.0 / 60.0);
    let gone = figure(&with("400 ohm"), "link.passive_discharge_time");
    assert!((gone / alone - 1.0).abs() < 1e-9, "{gone} of {alone}");
    // One that is slow joins, and its resistor helps: 550 µF and 220 µF in all.
    let joined = figure(&with("4 Mohm"), "link.passive_discharge_time");
    assert!(alone < joined && joined < stepped(40e3, 0.0), "{joined}");
}

#[test]
fn a_resistor_too_large_takes_too_long() {
    let review = reviewed(failing("stored-energy"));
    assert_eq!(defects(&review), [("stored-energy", "passive-discharge")]);
    assert!(review.findings[0].saying.contains("135 s"), "{}", review.findings[0].saying);
}

/// A buck of which the high side is an IGBT, with the diode of that or without.
fn stepped_down(diode: &str) -> String {
    format!(
        "edition: 2026
surroundings: {{ coldest: -20 degC, inside_air: 60 degC }}
sources: {{ pack: {{ kind: battery, bus: link, internal_resistance: {{ lowest: 50 mohm, highest: 90 mohm }} }} }}
buses:
  link: {{ negative_rail: minus, nominal: 600 V, highest: 700 V, discharge: {{ resistor: 40 kohm, resistor_power: 40 W }} }}
  mid: {{ negative_rail: minus, nominal: 300 V, highest: 350 V }}
stages:
  down:
    topology: buck
    from: link
    to: mid
    inductor: choke
    carrier: {{ frequency: 16 kHz }}
    dead_time: 1 us
    switches: {{ high_side: {{ fitted: switch }}, low_side: {{ fitted: freewheel }} }}
loads: {{ heater: {{ bus: mid }} }}
magnetics: {{ choke: {{ kind: choke, inductance: 300 uH, winding: {{ resistance: 5 mohm }} }} }}
capacitors:
  link_bank: {{ kind: bank, bus: link, parts: 5, each: film }}
  mid_bank: {{ kind: bank, bus: mid, parts: 2, each: film }}
capacitor_types:
  film: {{ capacitance: 100 uF, tolerance: 10 %, voltage: 900 V, ripple_current: 60 A, series_resistance: 1 mohm,
          thermal_resistance: 3 K/W, hottest: 105 degC }}
devices:
  switch:
    transistor:
      kind: igbt
      blocking_voltage: 1200 V
{diode}  freewheel:
    diode: {{ blocking_voltage: 1200 V }}
duty:
  heat:
    sources: {{ pack: {{ open_circuit: 600 V }} }}
    buses: {{ mid: 300 V }}
    loads: {{ heater: {{ power: 5 kW }} }}
"
    )
}

#[test]
fn a_bank_follows_through_a_diode_that_is_described_alone() {
    let waits = |review: &loadworthy_checks::Review| {
        let named = |path: &String| path == "devices.switch.diode";
        let mut all = review.not_judged.iter().filter(|one| one.checks.contains(&"stored-energy"));
        all.any(|one| one.paths.iter().any(named))
    };
    assert!(waits(&reviewed(&stepped_down(""))));
    assert!(!waits(&reviewed(&stepped_down("    diode: { blocking_voltage: 1200 V }\n"))));
    // What does not follow does not lengthen the discharge of the other.
    let time = |diode: &str| figure(&stepped_down(diode), "link.passive_discharge_time");
    let alone = 40e3 * 550e-6 * libm::log(700.0 / 60.0);
    assert!((time("") / alone - 1.0).abs() < 1e-9);
    // Its bank joins in at the 350 V that it stands at, through the diode above, and adds its 220 µF.
    let joined = 40e3 * (550e-6 * libm::log(700.0 / 350.0) + 770e-6 * libm::log(350.0 / 60.0));
    let followed = time("    diode: { blocking_voltage: 1200 V }\n");
    assert!((followed / joined - 1.0).abs() < 1e-6, "{followed} {joined}");
}

/// Crest of the current of a series circuit of a voltage, a resistance, an inductance and a capacitance, in small steps.
fn stepped_crest(volts: f64, ohms: f64, henry: f64, farad: f64) -> f64 {
    let step = 1e-3 * (henry * farad).sqrt();
    let (mut amps, mut charged, mut crest): (f64, f64, f64) = (0.0, 0.0, 0.0);
    while amps >= 0.0 && charged < 2.0 * volts {
        amps += (volts - charged - ohms * amps) / henry * step;
        charged += amps / farad * step;
        if amps < crest {
            return crest;
        }
        crest = amps;
    }
    crest
}

#[test]
fn a_contactor_closes_on_what_its_precharge_leaves() {
    let with = |makes: &str, inductance: &str| {
        let text = stepped_down("    diode: { blocking_voltage: 1200 V }\n");
        let text = changed(
            &text,
            "internal_resistance: { lowest: 50 mohm, highest: 90 mohm }",
            &format!("internal_resistance: {{ lowest: 50 mohm, highest: 90 mohm }}{inductance}"),
        );
        format!(
            "{text}branches:
  feed: {{ from: pack, to: link, through: [main] }}
  pre: {{ around: main, through: [aid, slow] }}
conductors:
  main: {{ kind: contactor, resistance: 0.2 mohm{makes} }}
  aid: {{ kind: contactor, resistance: 2 mohm }}
  slow: {{ kind: resistor, resistance: 100 ohm, energy: 500 J }}
"
        )
    };
    // 5 % of 700 V are left: 35 V behind 50.2 mΩ and 10 µH, into 550 µF behind 0.2 mΩ of the bank.
    let crest = stepped_crest(35.0, 50e-3 + 0.2e-3 + 0.2e-3, 10e-6, 550e-6);
    let told = figure(&with("", ", inductance: 10 uH"), "pre.closing_current");
    assert!((told / crest - 1.0).abs() < 0.01, "{told} of {crest}");
    let found = |makes: &str, inductance: &str| {
        defects(&reviewed(&with(makes, inductance))).contains(&("stored-energy", "closing-current"))
    };
    assert!(found(", makes: 100 A", ", inductance: 10 uH"));
    assert!(!found(", makes: 250 A", ", inductance: 10 uH") && !found("", ", inductance: 10 uH"));
    let review = reviewed(&with(", makes: 100 A", ", inductance: 10 uH"));
    let less = &finding(&review, "closing-current").proposals[0];
    assert!(less.say.starts_with("left across the contactor: 5 % -> "), "{}", less.say);
    assert!(less.set[0].written.ends_with(" %"), "{:?}", less.set);
    // Without an inductance it is no more than 35 V over 50.5 mΩ; whether less of it comes nobody knows.
    assert!(!found(", makes: 100 A", ""));
    let review = reviewed(&with(", makes: 100 A", ""));
    let waits = |one: &loadworthy_checks::review::NotJudged| one.missing.contains("sources.pack.inductance");
    assert!(review.not_judged.iter().any(waits), "{:?}", review.not_judged);
}

#[test]
fn what_a_contactor_elsewhere_makes_is_stated_and_judged_by_nothing() {
    let text = format!(
        "{}branches:
  feed: {{ from: pack, to: link, through: [main] }}
conductors:
  main: {{ kind: contactor, resistance: 0.2 mohm, makes: 40 A }}
",
        stepped_down("")
    );
    let unit = unit(&text);
    assert!(unit.unjudged.iter().any(|word| word.contains("makes")), "{:?}", unit.unjudged);
}

#[test]
fn a_pre_charge_may_have_to_be_done_in_time() {
    let with = |within: &str| {
        let text = stepped_down("");
        format!(
            "{text}branches:
  feed: {{ from: pack, to: link, through: [main] }}
  pre: {{ around: main, through: [aid, slow]{within} }}
conductors:
  main: {{ kind: contactor, resistance: 0.2 mohm }}
  aid: {{ kind: contactor, resistance: 2 mohm }}
  slow: {{ kind: resistor, resistance: 100 ohm, energy: 500 J }}
"
        )
    };
    // 550 µF behind 100 Ω beside the 40 kΩ of the link, 99.75 Ω, on their way to 698.25 V: ln(698.25/33.25) time constants of 54.9 ms.
    let seconds = figure(&with(""), "pre.precharge_time");
    assert!((seconds / 0.167_03 - 1.0).abs() < 1e-3, "{seconds}");
    let found =
        |within: &str| defects(&reviewed(&with(within))).contains(&("stored-energy", "slow-precharge"));
    assert!(!found("") && !found(", within: 0.2 s") && found(", within: 150 ms"));
    let review = reviewed(&with(", within: 150 ms"));
    let told = finding(&review, "slow-precharge");
    assert!(told.saying.starts_with("`pre` takes 167 ms until 35 V are left"), "{}", told.saying);
    // 91 Ω and all below that would be in time; the one that is shown was reckoned with everything else.
    assert!(
        told.proposals[0].say.starts_with("resistor of the pre-charge: 100 Ω -> "),
        "{:?}",
        told.proposals
    );
    // One that never ends is told of that alone.
    assert!(!found(", within: 150 ms, load: 1 A"));
}
