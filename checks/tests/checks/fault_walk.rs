//! Single faults of sources, fuses, contactors, discharges, legs and barriers, and what follows each.

use loadworthy_checks::faults::{Effect, Fault, Kind, walk};
use loadworthy_checks::review;
use loadworthy_checks::verdict::Outcome;

use crate::descriptions::{changed, holding, unit};

pub(crate) const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");
pub(crate) const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");
const CARRIER: &str = include_str!("../../../examples/vineyard-carrier.yaml");
pub(crate) const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");

/// The single faults of the first variant.
pub(crate) fn faults(text: &str) -> Vec<Fault> {
    walk(&unit(text)).swap_remove(0).faults
}

pub(crate) fn effect<'f>(faults: &'f [Fault], kind: Kind, part: &str) -> &'f Effect {
    let is_it = |fault: &&Fault| {
        fault.causes.iter().any(|(own, names)| *own == kind && names.iter().any(|name| name == part))
    };
    let found = faults.iter().find(is_it);
    &found.unwrap_or_else(|| panic!("no {} of {part}: {faults:#?}", kind.words())).effect
}

/// Carried currents of a source that fail.
fn overloads(text: &str, source: &str) -> Vec<(String, f64)> {
    let review = review(&unit(text));
    let own = review.verdicts[0].iter().filter(|verdict| verdict.check == "source-limits");
    let unit = unit(text);
    let variant = &unit.variants[0];
    let own = own.filter(|verdict| verdict.fails() && variant.path(verdict.part) == source);
    let named = own.filter_map(|verdict| {
        let duty = variant.duties[verdict.duty()?.index()].name.clone();
        Some((duty, verdict.comparison()?.carried_value))
    });
    named.collect()
}

/// A lost cell is the unit whose cell gives nothing: its pack carries what a description says that gives it no share.
#[test]
fn a_lost_source_leaves_its_share_to_the_one_that_balances() {
    let all = faults(GROOMER);
    let lost = effect(&all, Kind::Source, "cell");
    assert_eq!(
        (lost.cut_off.as_slice(), lost.dead.as_slice()),
        (&["cell".to_owned()][..], &["cell_bus".to_owned()][..])
    );
    assert_eq!(lost.stops, ["step_up"]);
    let worse =
        lost.worse.iter().find(|worse| worse.check == "source-limits").expect("the pack is overloaded");
    let none: String = GROOMER
        .lines()
        .map(|line| match line.trim_start().strip_prefix("sources: { cell: {") {
            Some(rest) => {
                let after = rest.find('}').expect("the share ends");
                format!("    sources: {{ cell: {{ current: 0 A {}\n", &rest[after..])
            }
            None => format!("{line}\n"),
        })
        .collect();
    let alone = overloads(&none, "pack");
    let carried = worse.comparison.expect("compared").carried_value;
    let is_same = |(duty, amps): &(String, f64)| {
        worse.duty.as_ref() == Some(duty) && (carried / amps - 1.0).abs() < 1e-9
    };
    assert!(alone.iter().any(is_same), "{carried}: {alone:?}");
    // Without the pack nothing holds the link: what the cell gives is stated as a share.
    let pack = effect(&all, Kind::Source, "pack");
    assert_eq!(pack.stops.len(), 5);
    assert!(
        pack.says[0].starts_with("nothing is described that then holds the voltage of link"),
        "{:?}",
        pack.says
    );
}

/// What is behind a fuse that has cleared carries nothing any more, and a fuse that opens by itself is the same.
#[test]
fn a_fuse_that_clears_cuts_its_source_off() {
    let all = faults(GROOMER);
    let short = effect(&all, Kind::Short, "step_up.low_side");
    let open = effect(&all, Kind::Fuse, "cell_fuse");
    assert_eq!(short.cut_off, ["cell"]);
    assert_eq!(short.worse, open.worse);
    assert_eq!(open, effect(&all, Kind::ContactorOpen, "cell_contactor"));
    // No driver of the converter notices a short: both fuses clear, and nothing is left.
    let main = effect(&all, Kind::Short, "auxiliary.main");
    assert_eq!((main.cut_off.len(), main.stops.len()), (2, 5));
    // A driver that notices one turns the leg off, and its fuse holds.
    let bridge = effect(&all, Kind::Short, "left_bridge.high_side");
    assert!(bridge.cut_off.is_empty() && bridge.stops == ["left_bridge"], "{bridge:#?}");
    let unnoticed: String = GROOMER
        .lines()
        .filter(|line| !line.trim_start().starts_with("short_circuit:"))
        .map(|line| format!("{line}\n"))
        .collect();
    let all = faults(&unnoticed);
    assert_eq!(effect(&all, Kind::Short, "left_bridge.high_side").stops.len(), 5);
}

#[test]
fn a_fuse_of_its_own_loses_one_stage_alone() {
    let all = faults(SHUTTLE);
    for kind in [Kind::Short, Kind::Fuse] {
        let part = if kind == Kind::Fuse { "supply_fuse" } else { "auxiliary.bridge_low" };
        let own = effect(&all, kind, part);
        assert!(own.cut_off.is_empty(), "{own:#?}");
        assert!(
            own.stops.contains(&"auxiliary".to_owned()) && !own.dead.contains(&"link".to_owned()),
            "{own:#?}"
        );
    }
}

#[test]
fn a_welded_contactor_leaves_the_bus_live() {
    let all = faults(FORWARDER);
    let main = effect(&all, Kind::ContactorWelded, "main_contactor");
    assert!(main.is_hazard);
    assert_eq!(
        main.says,
        ["nothing else is described that parts pack from pack_bus: it stays live, up to 400 V"]
    );
    assert_eq!(main.discharge, ["link: pack keeps it up; its discharge works against pack"]);
    // 400 V through 47.002 ohm against 39 kohm and 600 W: V² (1 + R/39k) − 400·V + 600·R = 0.
    let (ohms, divides) = (47.002, 1.0 + 47.002 / 39e3);
    let left = (400.0 + libm::sqrt(400.0 * 400.0 - 4.0 * divides * 600.0 * ohms)) / (2.0 * divides);
    assert!((left - 308.0).abs() < 0.5, "{left}");
    let precharge = effect(&all, Kind::ContactorWelded, "precharge_contactor");
    assert_eq!(precharge.discharge[0], "link: its resistor alone leaves 400 V");
    assert!(
        precharge.discharge[1].starts_with("link: its active discharge leaves 308 V"),
        "{:?}",
        precharge.discharge
    );
}

/// A welded pre-charge leads the power of the discharge through its resistor: that of 308 V across 47.002 ohm, (400 − 308)²/47 = 180 W,
/// puts the 250 J of one pulse into it within 1.4 s; a discharge that the pack cannot feed brings the bus down, and leaves all of V²/R.
#[test]
fn a_welded_precharge_says_what_its_resistor_takes() {
    let discharge = |text: &str| effect(&faults(text), Kind::ContactorWelded, "precharge_contactor").clone();
    let stated = discharge(FORWARDER);
    assert_eq!(
        stated.discharge[1],
        "link: its active discharge leaves 308 V for as long as it acts, and 180 W in that branch: in 1.39 s its \
         resistor takes the 250 J that it stands in one pulse"
    );
    assert!(!stated.is_open);
    let silent =
        discharge(&changed(FORWARDER, "resistance: 47 ohm, energy: 250 J }", "resistance: 47 ohm }"));
    assert!(
        silent.is_open && silent.discharge[1].ends_with("the energy that it stands is not stated"),
        "{silent:#?}"
    );
    let strong = discharge(&changed(FORWARDER, "active: { power: 600 W,", "active: { power: 1200 W,"));
    // 400²/47.002 = 3.40 kW.
    assert!(
        strong.discharge[1].starts_with("link: its active discharge brings it down for as long as it acts, and 3.4 kW in that branch: in 73.4 ms"),
        "{:?}",
        strong.discharge
    );
}

/// A contactor in each pole: either parts the source, and one that is welded takes the pre-charge with it.
#[test]
fn a_contactor_in_the_other_pole_still_parts_the_source() {
    let both = changed(
        FORWARDER,
        "\nconductors:\n",
        "  pack_return: { from: hv_minus, to: pack, through: [minus_contactor], protected_by: pack_fuse }\n\nconductors:\n  minus_contactor:\n    { kind: contactor, current: { continuous: 450 A, at: 85 degC }, breaks: { voltage: 450 V, current: 1500 A },\n      withstands: 1e6 A^2 s, resistance: 0.15 mohm }\n",
    );
    let all = faults(&both);
    let main = effect(&all, Kind::ContactorWelded, "main_contactor");
    assert!(!main.is_hazard && main.discharge.is_empty());
    assert_eq!(main.says[0], "minus_contactor alone still parts pack from pack_bus");
    assert!(
        main.says[1]
            .starts_with("its pre-charge is bypassed: minus_contactor closing charges the bank of pack_bus"),
        "{:?}",
        main.says
    );
    let minus = effect(&all, Kind::ContactorWelded, "minus_contactor");
    assert_eq!(minus.says, ["main_contactor alone still parts pack from pack_bus"]);
    assert_eq!(effect(&all, Kind::ContactorOpen, "minus_contactor").cut_off, ["pack"]);
}

#[test]
fn a_discharge_that_does_not_act_leaves_the_other() {
    let all = faults(FORWARDER);
    let resistor = effect(&all, Kind::DischargeResistor, "link");
    assert!(resistor.discharge[0].starts_with("link: by its active discharge alone, in "), "{resistor:#?}");
    let active = effect(&all, Kind::ActiveDischarge, "link");
    assert!(active.discharge[0].starts_with("link: by its resistor alone, in "), "{active:#?}");
    let only = changed(FORWARDER, ", active: { power: 600 W, from: link }, within: 5 s }", " }");
    let alone = faults(&only);
    let resistor = effect(&alone, Kind::DischargeResistor, "link");
    assert!(resistor.is_hazard);
    assert_eq!(
        resistor.discharge,
        ["link: nothing else is described that takes its charge: it stays charged"]
    );
}

/// One leg of two lost is the stage with one leg: its choke carries as much as that of a description that says so.
#[test]
fn the_legs_that_are_left_carry_the_current_of_the_lost_one() {
    let all = faults(FORWARDER);
    let lost = effect(&all, Kind::Leg, "step_up");
    let choke = lost.worse.iter().find(|worse| worse.check == "core-saturation").expect("its core saturates");
    let carried = choke.comparison.expect("compared").carried_value;
    let one = changed(FORWARDER, "    legs: 2\n", "    legs: 1\n");
    let one = changed(&one, "of: [step_up.1, step_up.2]", "of: [step_up.1]");
    let one =
        changed(&one, "feeds: [step_up.high_side.1, step_up.high_side.2]", "feeds: [step_up.high_side]");
    let one: String = one.replace("step_up.high_side.2, ", "").replace(", step_up.high_side.2", "");
    let (unit, checked) = (unit(&one), review(&unit(&one)));
    let variant = &unit.variants[0];
    let same =
        checked.verdicts[0].iter().filter(|verdict| verdict.check == "core-saturation" && verdict.fails());
    let same = same.filter(|verdict| variant.path(verdict.part) == choke.part);
    let closest =
        same.filter_map(|verdict| verdict.comparison()).map(|one| (one.carried_value / carried - 1.0).abs());
    // Losses differ, and with them the current, by what the second leg still is counted to lose.
    assert!(closest.fold(f64::INFINITY, f64::min) < 0.02, "{carried}");
}

/// Gates that a second bus keeps alive do not stop with the first, and stop once both are gone.
#[test]
fn gates_with_two_feeds_stop_with_both() {
    let alone = changed(
        SHUTTLE,
        "front_controller: { domain: low_voltage, from: board_net,",
        "front_controller: { domain: low_voltage,",
    );
    let board = |text: &str| effect(&faults(text), Kind::Bus, "board_net").stops.clone();
    assert!(board(&alone).contains(&"front_bridge".to_owned()));
    let twice = ["front_upper_transformer", "front_lower_transformer"].iter().fold(alone, |text, name| {
        changed(
            &text,
            &format!("transformer: {name}, from: board_net"),
            &format!("transformer: {name}, from: board_net, also_from: link"),
        )
    });
    let stops = board(&twice);
    assert!(
        !stops.contains(&"front_bridge".to_owned()) && stops.contains(&"rear_bridge".to_owned()),
        "{stops:?}"
    );
    let all = faults(&twice);
    assert!(effect(&all, Kind::Source, "pack").stops.contains(&"front_bridge".to_owned()));
}

/// Two single layers in series make what is needed; with one bridged the other is left alone.
#[test]
fn the_layer_that_is_left_alone_is_named() {
    let chain = changed(
        holding("barrier-crossing"),
        "    module_bases:\n",
        "    inner: { between: [traction, screen], kind: basic, clearance: 3 mm, creepage: 5 mm, material_group: II }
    outer: { between: [screen, service], kind: supplementary, clearance: 3 mm, creepage: 5 mm, material_group: II }
    module_bases:\n",
    );
    let chain = changed(
        &chain,
        "    chassis: {",
        "    screen: { kind: metal, touchable: false }\n    service: { touchable: true }\n    chassis: {",
    );
    let all = faults(&chain);
    let inner = effect(&all, Kind::Barrier, "inner");
    assert!(
        inner
            .says
            .iter()
            .any(|said| said
                == "between traction and service, outer is left alone, of two means that they need"),
        "{:#?}",
        inner.says
    );
    let outer = effect(&all, Kind::Barrier, "outer");
    assert!(outer.says.iter().any(|said| said.contains("inner is left alone")), "{:#?}", outer.says);
}

/// Without its pump nothing of the groomer is known to settle: that nothing fails anew says nothing of the pack that a lost
/// cell overloads, and the walk counts what is open.
#[test]
fn what_is_not_judged_without_the_fault_either_is_counted() {
    let line = GROOMER.lines().find(|line| line.trim_start().starts_with("pump:")).expect("it has a pump");
    let text = changed(GROOMER, &format!("{line}\n"), "");
    let lost = |text: &str| effect(&faults(text), Kind::Source, "cell").clone();
    let (whole, open) = (lost(GROOMER), lost(&text));
    assert_eq!((whole.still_open, whole.unjudged), (0, 0));
    assert!(!whole.worse.is_empty());
    let described = &review(&unit(&text)).verdicts[0];
    let unjudged =
        described.iter().filter(|verdict| matches!(verdict.outcome, Outcome::NotJudged(_))).count();
    assert!(100 < open.still_open && open.still_open <= unjudged, "{} of {unjudged}", open.still_open);
    assert!(open.worse.is_empty() && open.unsolved.is_empty(), "{open:#?}");
}

/// A fuel cell behind a few tenths of a milliohm is no stiff source: it drives its short circuit at most.
#[test]
fn a_fuel_cell_charges_an_empty_bank_with_no_more_than_its_short_circuit() {
    let charges =
        |text: &str| effect(&faults(text), Kind::ContactorOpen, "cell_precharge_contactor").says.clone();
    let stated = charges(GROOMER);
    assert!(stated[1].ends_with("charges the bank of cell_bus with up to 1.4 kA"), "{stated:?}");
    let silent = charges(&changed(GROOMER, "    short_circuit: { lowest: 800 A, highest: 1400 A }\n", ""));
    assert_eq!(silent, ["cell_bus is not pre-charged from cell"]);
}

/// Once the fuse has cleared that the partner of a shorted device melts, the bus that was lifted has no feed either.
#[test]
fn a_bus_is_lifted_for_as_long_as_the_one_above_lives() {
    let all = faults(CARRIER);
    for part in ["lamp_buck.high_side", "lamp_buck.low_side"] {
        let short = effect(&all, Kind::Short, part);
        assert_eq!(short.cut_off, ["pack"], "{part}");
        assert_eq!(short.dead, ["link", "lamp_net"], "{part}");
    }
    // A driver that notices the short leaves the link alive, and the lamps at its voltage.
    let noticed = changed(
        CARRIER,
        "    skew: 10 ns\n",
        "    skew: 10 ns\n    short_circuit: { blanking: 600 ns, filter: 150 ns, delay: 100 ns, turn_off: 700 ns }\n",
    );
    let all = faults(&noticed);
    let short = effect(&all, Kind::Short, "lamp_buck.high_side");
    assert!(short.cut_off.is_empty() && short.dead.is_empty(), "{short:#?}");
}

/// The drive of a synchronous machine stops without the position of its rotor, unless a second sensor tells it.
#[test]
fn a_lost_position_stops_the_drive() {
    let all = faults(SHUTTLE);
    let lost = effect(&all, Kind::Sensor, "front_position");
    assert_eq!(lost.stops, ["front_bridge"], "{lost:#?}");
    let second =
        "  second_position: { measures: position, of: [front_motor], read_by: [front_controller] }\n";
    let all = faults(&changed(SHUTTLE, "  link_isolation: {", &format!("{second}  link_isolation: {{")));
    assert!(effect(&all, Kind::Sensor, "front_position").stops.is_empty());
    let induction = changed(
        GROOMER,
        "  link_isolation: {",
        "  tiller_position: { measures: position, of: [tiller_motor] }\n  link_isolation: {",
    );
    let all = faults(&induction);
    assert!(effect(&all, Kind::Sensor, "tiller_position").stops.is_empty());
}

/// What passes a barrier may say so itself, in place of the list of the barrier.
#[test]
fn what_bridges_a_barrier_is_named_wherever_it_says_so() {
    let listed = "        - front_currents\n";
    let crosses = changed(SHUTTLE, listed, "");
    let crosses = changed(
        &crosses,
        "of: [front_bridge.u, front_bridge.v], read_by: [front_controller],",
        "of: [front_bridge.u, front_bridge.v], read_by: [front_controller], crosses: gate_isolation,",
    );
    for text in [SHUTTLE, &crosses] {
        let all = faults(text);
        let bridged = effect(&all, Kind::Barrier, "gate_isolation");
        let by = bridged.says.iter().find(|said| said.starts_with("by any of ")).expect("named");
        assert!(by.contains("front_currents") && by.contains("axle_drivers"), "{by}");
    }
}

/// What a welded contactor leaves live is what the curve of the cell begins at, with or without a fuse.
#[test]
fn the_curve_of_a_fuel_cell_says_its_highest_voltage() {
    let bare = changed(GROOMER, "through: [cell_fuse, cell_contactor,", "through: [cell_contactor,");
    for text in [GROOMER, &bare] {
        let all = faults(text);
        let welded = effect(&all, Kind::ContactorWelded, "cell_contactor");
        assert!(welded.says[0].ends_with("it stays live, up to 345 V"), "{:?}", welded.says);
    }
}

/// What a shorted upper device of a boost lets back is driven by what the link has more than the bus below, behind the choke as
/// well: less than a short of the link drives, and maybe less than its fuse breaks.
#[test]
fn a_fuse_clears_only_on_what_it_breaks() {
    let all = faults(GROOMER);
    assert_eq!(effect(&all, Kind::Short, "step_up.high_side").cut_off, ["pack"]);
    let strong = changed(
        GROOMER,
        "least_breaking: 640 A, cyclic_load: 70 %, resistance: 0.25 mohm,",
        "least_breaking: 2.6 kA, cyclic_load: 70 %, resistance: 0.25 mohm,",
    );
    let all = faults(&strong);
    let short = effect(&all, Kind::Short, "step_up.high_side");
    assert!(short.cut_off.is_empty(), "{short:#?}");
    let said = &short.says[0];
    assert!(
        said.contains("with no fuse that is sure to end it; pack_fuse may get no more than 2."),
        "{said}"
    );
    assert!(said.contains("kA, and breaks from 2.6 kA up;"), "{said}");
    // A short across the link is ended all the same.
    assert!(effect(&all, Kind::Short, "auxiliary.main").cut_off.contains(&"pack".to_owned()));
}

/// A bank that is shorted takes its bus, and what lived on that bus: the discharge of another one is lost with it.
#[test]
fn what_falls_with_a_shorted_bank_is_left_with_its_discharges() {
    let lives_on_board =
        changed(SHUTTLE, "active: { power: 800 W, from: link }", "active: { power: 800 W, from: board_net }");
    let short = |text: &str, bank: &str| effect(&faults(text), Kind::Bank, bank).discharge.clone();
    let lost = short(&lives_on_board, "board_bank");
    assert!(lost[0].starts_with("link: by its resistor alone, in "), "{lost:?}");
    assert_eq!(short(SHUTTLE, "board_bank"), ["link: its active discharge lives on link and works on"]);
    // The bus that is shorted itself has nothing left to discharge.
    assert_eq!(short(SHUTTLE, "link_bank"), [""; 0]);
}

/// A stage with a transformer holds its output, and does not control by what it works from.
#[test]
fn a_lost_sensor_of_its_input_stops_no_stage_with_a_transformer() {
    let all = faults(SHUTTLE);
    assert_eq!(effect(&all, Kind::Sensor, "link_voltage").stops, ["front_bridge", "rear_bridge"]);
    assert!(effect(&all, Kind::Sensor, "board_voltage").stops.contains(&"auxiliary".to_owned()));
}

/// What stands on a bus that a short lifts is not made for that: what is left was solved without it, and is called open.
#[test]
fn a_bus_that_is_lifted_is_no_clear() {
    let noticed = changed(
        CARRIER,
        "    skew: 10 ns\n",
        "    skew: 10 ns\n    short_circuit: { blanking: 600 ns, filter: 150 ns, delay: 100 ns, turn_off: 700 ns }\n",
    );
    let all = faults(&noticed);
    let lifted = effect(&all, Kind::Short, "lamp_buck.high_side");
    assert!(lifted.is_open, "{lifted:#?}");
    let says = "lamp_bank, made for 50 V, stands at up to 92 V then";
    assert!(lifted.says.iter().any(|one| one == says), "{:?}", lifted.says);
}

/// Bars, cables, plugs and transducers of one branch stand in a row: wherever it comes apart the same is cut off, once for all.
#[test]
fn a_branch_that_comes_apart_is_cut_off_as_by_its_fuse() {
    let all = faults(SHUTTLE);
    let open = effect(&all, Kind::Lead, "pack_feed");
    assert_eq!(open, effect(&all, Kind::Fuse, "pack_fuse"));
    assert_eq!((open.cut_off.as_slice(), open.stops.len()), (&["pack".to_owned()][..], 3));
    assert_eq!(effect(&all, Kind::Lead, "front_bars").stops, ["front_bridge"]);
    let supply = effect(&all, Kind::Lead, "supply_line");
    assert_eq!(supply, effect(&all, Kind::Fuse, "supply_fuse"));
    let named = all.iter().flat_map(|fault| &fault.causes).filter(|(kind, _)| *kind == Kind::Lead);
    // One for each branch with a conductor that is neither fuse nor contactor.
    assert_eq!(named.map(|(_, names)| names.len()).sum::<usize>(), 6);
}

#[test]
fn an_open_precharge_resistor_leaves_its_bus_uncharged() {
    let all = faults(SHUTTLE);
    let open = effect(&all, Kind::Lead, "pack_precharge");
    assert_eq!(open, effect(&all, Kind::ContactorOpen, "precharge_contactor"));
    assert_eq!(open.says[0], "link is not pre-charged from pack");
    assert!(open.stops.is_empty());
}
