//! What a machine that turns on does to its bus in a single fault, and what keeps it from that.

use loadworthy_checks::faults::{Effect, Fault, Kind};

use crate::descriptions::changed;
use crate::fault_walk::{FORWARDER, GROOMER, SHUTTLE, effect, faults};

/// A pack on the link takes what a coasting machine gives, as far as it can, and only without it the link comes to the crest of the
/// machine: four pairs of poles at 5600 1/min, times 0.21 V s and the square root of three.
#[test]
fn a_coasting_machine_lifts_a_bus_that_nothing_takes_from() {
    const OF: &str = "front_motor at highest speed ";
    let fast = SHUTTLE.replace("highest_speed: 4000 1/min", "highest_speed: 5600 1/min");
    let all = faults(&fast);
    let said = |kind, part| coasting(effect(&all, kind, part), OF);
    let with_pack = said(Kind::Controller, "front_controller").expect("it turns on");
    assert!(
        with_pack.starts_with("feeds link through the diodes")
            && with_pack.ends_with("that pack can take for good"),
        "{with_pack}"
    );
    assert!(!effect(&all, Kind::Controller, "front_controller").is_open);
    // A pack that does not say what it takes leaves that open.
    let silent = changed(&fast, "    charge: {", "    # charge: {");
    let all_silent = faults(&silent);
    let open = effect(&all_silent, Kind::Controller, "front_controller");
    let said_open = coasting(open, OF).expect("it turns on");
    assert!(open.is_open && said_open.ends_with("; whether pack can take it is not reckoned"), "{said_open}");
    let without = said(Kind::Source, "pack").expect("it turns on");
    assert!(!effect(&all, Kind::Source, "pack").is_open);
    assert!(without.starts_with("brings link to 853 V"), "{without}");
    // Behind a boost the pack is reached while the boost works, and not through its diodes.
    let all = faults(FORWARDER);
    let said = |kind, part| coasting(effect(&all, kind, part), "traction_motor at highest speed ");
    let works = said(Kind::Phase, "traction_motor").expect("it turns on");
    assert!(works.ends_with("; whether step_up can take it is not reckoned"), "{works}");
    let rests = said(Kind::Sensor, "link_voltage").expect("it turns on");
    assert!(rests.starts_with("brings link to 717 V"), "{rests}");
}

/// A bridge that shorts its machine on a fault keeps it from the link, by either side, for as long as the gates of one have power
/// and somebody commands them.
#[test]
fn a_machine_that_is_shorted_brings_its_link_nothing() {
    let fast = SHUTTLE.replace("highest_speed: 4000 1/min", "highest_speed: 5600 1/min");
    let shorts = fast.replace("on_fault: gates_off", "on_fault: three_phase_short");
    let all = faults(&shorts);
    let said = |all: &[Fault], kind, part| coasting(effect(all, kind, part), "front_motor at highest speed ");
    for (kind, part) in [
        (Kind::Transformer, "front_lower_transformer"),
        (Kind::GateSupply, "front_u"),
        (Kind::Open, "front_bridge.low_side"),
        (Kind::Short, "front_bridge.low_side"),
        (Kind::Phase, "front_motor"),
    ] {
        assert_eq!(said(&all, kind, part), None, "{part}");
        assert!(said(&faults(&fast), kind, part).is_some(), "{part}");
    }
    // A driver of both sides, or the bus that all gates live on, leaves none.
    assert!(said(&all, Kind::Driver, "axle_drivers at front_bridge").is_some());
    assert!(said(&all, Kind::Bus, "board_net").is_some());
    let lowers = "transformer: front_lower_transformer, from: board_net";
    let twice = changed(&shorts, lowers, &format!("{lowers}, also_from: link"));
    // Gates with power and no controller short nothing.
    let all = faults(&twice);
    assert!(said(&all, Kind::Bus, "board_net").is_some());
    let apart = "front_controller: { domain: low_voltage, from: board_net";
    let commanded = changed(&twice, apart, "front_controller: { domain: low_voltage, from: link");
    assert_eq!(said(&faults(&commanded), Kind::Bus, "board_net"), None);
    // A short keeps to the side of the device that it began in.
    let no_lowers = changed(&shorts, lowers, "transformer: front_lower_transformer");
    let all = faults(&no_lowers);
    assert!(said(&all, Kind::Short, "front_bridge.low_side").is_some());
    assert_eq!(said(&all, Kind::Short, "front_bridge.high_side"), None);
}

/// The controller that commands the short is lost with it, unless drivers of one side obey another.
#[test]
fn a_short_is_lost_with_who_commands_it() {
    let fast = SHUTTLE.replace("highest_speed: 4000 1/min", "highest_speed: 5600 1/min");
    let shorts = fast.replace("on_fault: gates_off", "on_fault: three_phase_short");
    let all = faults(&shorts);
    let alone = effect(&all, Kind::Controller, "front_controller");
    assert!(alone.says.iter().any(|said| said.starts_with("front_bridge no longer shorts front_motor")));
    assert!(coasting(alone, "front_motor at highest speed ").is_some(), "{:?}", alone.says);
    let lows = "drives: [front_bridge.high_side, front_bridge.low_side, rear_bridge.high_side";
    let own = changed(&shorts, lows, "drives: [front_bridge.high_side, rear_bridge.high_side");
    let own = changed(
        &own,
        "  auxiliary_drivers:\n",
        "  low_drivers: { drives: [front_bridge.low_side], controller: auxiliary_controller }\n  auxiliary_drivers:\n",
    );
    let all = faults(&own);
    let other = effect(&all, Kind::Controller, "front_controller");
    assert!(other.stops.contains(&"front_bridge".to_owned()));
    assert_eq!(coasting(other, "front_motor at highest speed "), None, "{:?}", other.says);
}

/// What a fault says of a machine that turns on.
fn coasting(effect: &Effect, machine: &str) -> Option<String> {
    effect.says.iter().find_map(|said| said.strip_prefix(machine)).map(str::to_owned)
}

/// Without magnets a machine has no flux of its own: once nothing excites it, a short of it fades.
#[test]
fn a_short_through_an_induction_machine_fades() {
    let all = faults(GROOMER);
    let said = |part: &str| effect(&all, Kind::Short, part).says[0].clone();
    let lasting = said("left_bridge.high_side");
    assert!(lasting.contains("beside it while it turns;"), "{lasting}");
    let fades = said("tiller_bridge.high_side");
    assert!(
        fades.contains("beside it until its flux has faded, since nothing excites it any more;"),
        "{fades}"
    );
}

/// A machine that turns on keeps a bus live that nothing else feeds: the discharge there works against it, and ends nothing.
#[test]
fn a_discharge_works_against_a_machine_that_turns() {
    let all = faults(SHUTTLE);
    let lost = effect(&all, Kind::Source, "pack");
    assert_eq!(
        lost.discharge,
        ["link: its active discharge lives on link and works against front_motor for as long as that turns"]
    );
    let dead =
        changed(SHUTTLE, "active: { power: 800 W, from: link }", "active: { power: 800 W, from: board_net }");
    let all = faults(&dead);
    let alone = &effect(&all, Kind::Source, "pack").discharge[0];
    assert!(
        alone.starts_with("link: by its resistor alone, in ")
            && alone.ends_with(" once front_motor stands still"),
        "{alone}"
    );
}
