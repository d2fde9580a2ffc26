//! The window of a trip: service below it, sensor and devices above it.

use loadworthy_checks::review::Finding;

use crate::descriptions::{changed, defects, failing, figure, finding, holding, keeps_open, reviewed};

fn with(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(holding("trip-window").to_owned(), |text, (from, to)| changed(&text, from, to))
}

fn own(text: &str) -> Vec<&'static str> {
    let all = defects(&reviewed(text));
    all.into_iter().filter(|(check, _)| *check == "trip-window").map(|(_, defect)| defect).collect()
}

fn missing(text: &str) -> Vec<String> {
    let own = |one: &&loadworthy_checks::review::NotJudged| one.checks.contains(&"trip-window");
    reviewed(text).not_judged.iter().filter(own).map(|one| one.missing.clone()).collect()
}

fn says(found: &Finding) -> Vec<&str> {
    found.proposals.iter().map(|one| one.say.as_str()).collect()
}

#[test]
fn the_current_goes_on_rising_until_the_trip_has_acted() {
    // By hand: 312 A at the latest, and 440 V over 240 µH for 8 µs.
    let late = 312.0 + 440.0 / 240e-6 * 8e-6;
    let text = holding("trip-window");
    assert!((figure(text, "wheel_bridge.tripped_current") - late).abs() < 1e-9);
    assert!((figure(text, "wheel_bridge.lowest_trip_current") - 288.0).abs() < 1e-9);
    // Two in parallel share it.
    let halved = with(&[
        ("high_side: { fitted: hb650_300, parallel: 1", "high_side: { fitted: hb650_300, parallel: 2"),
        ("low_side: { fitted: hb650_300, parallel: 1", "low_side: { fitted: hb650_300, parallel: 2"),
    ]);
    assert!((figure(&halved, "wheel_bridge.high_side.tripped_current") - late / 2.0).abs() < 1e-9);
    // A fault behind a cable has less inductance before it.
    let cable = with(&[("trip_delay: 8 us", "trip_delay: 8 us, fault_inductance: 40 uH")]);
    assert!((figure(&cable, "wheel_bridge.tripped_current") - 312.0 - 440.0 / 40e-6 * 8e-6).abs() < 1e-9);
    // Nothing turns off before the driver has passed it on.
    let drivers = |delay: &str| {
        format!(
            "{text}\ndrivers: {{ wheel_drivers: {{ drives: [wheel_bridge.high_side], delay: {delay} }} }}\n"
        )
    };
    assert!((figure(&drivers("90 ns"), "wheel_bridge.tripped_current") - late).abs() < 1e-9);
    let slow = figure(&drivers("20 us"), "wheel_bridge.tripped_current");
    assert!((slow - 312.0 - 440.0 / 240e-6 * 20e-6).abs() < 1e-9, "{slow}");
    // And the turn-off is judged with it.
    let bars = with(&[("highest: 440 V", "highest: 440 V\n    loop_inductance: { bars: 10 nH }")]);
    assert!((figure(&bars, "wheel_bridge.high_side.turn_off_current") - late).abs() < 1e-9);
}

#[test]
fn service_holds_its_crest_and_ripple() {
    let text = holding("trip-window");
    let crest = 2f64.sqrt() * 35e3 / (3f64.sqrt() * 182.0 * 0.9);
    let ripple = figure(text, "wheel_bridge.phase_ripple_current");
    let service = figure(text, "wheel_bridge.highest_service_current");
    // Ripple is least where the sine is at its crest: less than half the swing of a triangle is added.
    assert!(
        ripple > 1.0 && service > crest + 0.5 * ripple && service < crest + 3f64.sqrt() * ripple,
        "{service}"
    );
    // The bus: what it is at, and half its ripple, or what its source may come to.
    let volts = figure(text, "link.highest_service_voltage");
    assert!((volts - 300.0 - figure(text, "link.ripple_voltage") / 2.0).abs() < 1e-9, "{volts}");
}

#[test]
fn each_end_of_the_window_is_a_finding_of_its_own() {
    assert!(own(holding("trip-window")).is_empty());
    let low = reviewed(failing("trip-window"));
    let found = finding(&low, "trips-in-service");
    assert!(
        found.facts[0].starts_with("service 180 A, trip 173 A to 187 A, sensor 400 A"),
        "{:?}",
        found.facts
    );
    assert!(says(found)[0].starts_with("trip: 180 A -> "), "{:?}", says(found));
    let blind = reviewed(&with(&[("range: 400 A", "range: 290 A")]));
    let found = finding(&blind, "blind-sensor");
    assert!(says(found).iter().any(|say| say.starts_with("range of the sensor")), "{:?}", says(found));
    assert!(says(found).iter().any(|say| say.starts_with("trip: 300 A -> ")), "{:?}", says(found));
    let slow = reviewed(&with(&[("trip_delay: 8 us", "trip_delay: 200 us")]));
    let found = finding(&slow, "too-late");
    assert!(says(found).iter().any(|say| say.starts_with("delay of the trip")), "{:?}", says(found));
    assert_eq!(slow.findings.iter().filter(|one| one.check == "trip-window").count(), 1);
}

#[test]
fn so_has_the_window_of_a_bus() {
    let volts = |level: &str| with(&[("voltage: 370 V", level)]);
    assert_eq!(own(&volts("voltage: 325 V")), ["trips-in-service"]);
    assert_eq!(own(&volts("voltage: 435 V")), ["too-late"]);
    assert_eq!(own(&with(&[("sensor_range: 500 V", "sensor_range: 375 V")])), ["blind-sensor"]);
    // Without a highest voltage what stands across the bus decides: 450 V of its capacitors.
    let bare = with(&[("    highest: 440 V\n", ""), ("voltage: 370 V", "voltage: 445 V")]);
    let review = reviewed(&bare);
    assert_eq!(finding(&review, "too-late").part, "link");
}

#[test]
fn where_no_level_would_do_it_says_what_is_too_small() {
    let text = with(&[
        ("trip: 300 A", "trip: 180 A"),
        ("range: 400 A", "range: 190 A"),
        ("trip_delay: 8 us", "trip_delay: 300 us"),
    ]);
    let review = reviewed(&text);
    let found = finding(&review, "trips-in-service");
    assert!(found.proposals.iter().all(|one| !one.say.starts_with("trip:")), "{:?}", says(found));
    let why = found.no_proposal.as_deref().unwrap_or_default();
    assert!(why.contains("the sensor reads no more than a trip at 183 A"), "{why}");
}

#[test]
fn what_is_missing_is_named_and_is_no_pass() {
    let said = missing(&with(&[(" trip_tolerance: 4 %, trip_delay: 8 us", " trip_tolerance: 4 %")]));
    assert_eq!(said, ["stages.wheel_bridge.current_sensing.trip_delay is not stated"]);
    let said = missing(&with(&[("range: 400 A, ", "")]));
    assert_eq!(said, ["stages.wheel_bridge.current_sensing.range is not stated"]);
    // What reads the currents switches nothing off without a level.
    let level = with(&[("    trip: 300 A\n", "")]);
    assert_eq!((own(&level), missing(&level)), (vec!["no-trip"], Vec::new()));
    let whole = "    current_sensing: { range: 400 A, trip_tolerance: 4 %, trip_delay: 8 us }\n";
    let said = missing(&with(&[(whole, "")]));
    assert_eq!(
        said,
        ["stages.wheel_bridge: current_sensing.range and current_sensing.trip_delay are not stated"]
    );
    // Without a word of trips nothing is asked.
    let text = with(&[(whole, ""), ("    trip: 300 A\n", "")]);
    assert!(own(&text).is_empty() && missing(&text).is_empty());
    let said = missing(&with(&[(", sensor_range: 500 V", "")]));
    assert_eq!(said, ["buses.link.overvoltage_trip.sensor_range is not stated"]);
}

#[test]
fn a_choke_has_a_window_as_well() {
    let stepped = |sensing: &str| {
        let text = changed(
            crate::descriptions::trencher(),
            "    inductance: 220 uH\n",
            "    inductance: 220 uH\n    trip: 150 A\n",
        );
        let text = changed(
            &text,
            "link: { negative_rail: hv_minus }",
            "link: { negative_rail: hv_minus, highest: 650 V }",
        );
        changed(&text, "    inductor: step_up_choke\n", &format!("    inductor: step_up_choke\n{sensing}"))
    };
    assert!(missing(&stepped("")).iter().any(|one| one.contains("current_sensing")));
    let text = stepped("    current_sensing: { range: 250 A, trip_delay: 2 us }\n");
    let late = 150.0 * 1.05 + 650.0 / 220e-6 * 2e-6;
    assert!(
        (figure(&text, "step_up.tripped_current") - late).abs() < 1e-9,
        "{}",
        figure(&text, "step_up.tripped_current")
    );
    let peak = figure(&text, "step_up.choke_peak_current");
    assert!((figure(&text, "step_up.highest_service_current") - peak).abs() < 1e-12);
    assert!(own(&text).is_empty(), "{:?}", own(&text));
}

#[test]
fn a_crest_beyond_the_curves_of_the_devices_fails_by_itself() {
    // The losses are open, and with them the bus and the ripple. The crest alone is 998 A.
    let text = with(&[("power: 35 kW", "power: 200 kW")]);
    let review = reviewed(&text);
    let crest = 2f64.sqrt() * 200e3 / (3f64.sqrt() * 182.0 * 0.9);
    for (check, defect) in [("trip-window", "trips-in-service"), ("current-headroom", "repetitive-peak")] {
        let found =
            review.findings.iter().find(|one| (one.check, one.defect) == (check, defect)).expect(check);
        let compared = found.comparison.expect("figures");
        assert!((compared.carried_value - crest).abs() < 1e-6, "{check}: {}", compared.carried_value);
        assert!(found.estimate.iter().any(|one| one.starts_with("at least this")), "{:?}", found.estimate);
    }
    assert!(review.counts.not_judged > 0, "what hangs on the losses stays open");
    assert!(review.findings.iter().any(keeps_open), "and is told with the crest");
}

/// What tells how the unit is controlled, with both phase currents measured.
const CONTROL: &str = "controllers: { wheel_controller: {} }\nsensors: { wheel_currents: { measures: current, of: [wheel_bridge] } }\n";

#[test]
fn a_stage_without_a_trip_is_found_where_control_is_described() {
    let trip =
        "    trip: 300 A\n    current_sensing: { range: 400 A, trip_tolerance: 4 %, trip_delay: 8 us }\n";
    let bare = with(&[(trip, "")]);
    let controlled = format!("{bare}{CONTROL}");
    assert_eq!((own(&controlled), missing(&controlled)), (vec!["no-trip"], Vec::new()));
    // Once for the stage, whatever duty points there are.
    let review = reviewed(&format!("{bare}{CONTROL}"));
    let told =
        review.verdicts.iter().flatten().filter(|one| one.check == "trip-window" && one.lane().is_none());
    assert_eq!(told.count(), 1);
    // A concept that says nothing of its control leaves its trips to a later hour.
    for silent in ["controllers: { wheel_controller: {} }\n", ""] {
        let text = format!("{bare}{silent}");
        assert!(own(&text).is_empty());
        assert!(!missing(&text).iter().any(|one| one.contains("trip")));
    }
    assert!(!missing(&format!("{}{CONTROL}", with(&[]))).iter().any(|one| one.contains("trip")));
}

#[test]
fn a_source_that_does_not_say_how_high_it_comes_leaves_service_open() {
    let pack = |span: &str| {
        let text =
            with(&[("    buses: { link: 300 V }\n", "    sources: { pack: { open_circuit: 300 V } }\n")]);
        format!(
            "{text}\nsources:\n  pack: {{ kind: battery, bus: link, open_circuit: {{ lowest: 280 V{span} }}, internal_resistance: {{ lowest: 20 mohm, highest: 30 mohm }} }}\n"
        )
    };
    let named = |text: &str| missing(text).iter().any(|one| one.contains("open_circuit.highest"));
    assert!(named(&pack("")), "{:?}", missing(&pack("")));
    assert!(!named(&pack(", highest: 350 V")));
    // What stands in this duty point alone is enough to trip.
    let low = changed(&pack(""), "overvoltage_trip: { voltage: 370 V", "overvoltage_trip: { voltage: 290 V");
    assert!(own(&low).contains(&"trips-in-service"), "{:?}", own(&low));
}
