//! Protection that quietly lacks: each is found, once, and what is there holds.

use std::collections::BTreeSet;

use loadworthy_checks::review::findings_on;
use loadworthy_unit::Origin;

use crate::descriptions::{changed, failing, figure, finding, holding, reviewed, unit};

pub(crate) const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");
const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");
pub(crate) const HARVESTER: &str = include_str!("../../../examples/peat-harvester.yaml");
pub(crate) const CARRIER: &str = include_str!("../../../examples/vineyard-carrier.yaml");

type Found = BTreeSet<(&'static str, &'static str, String)>;

fn said(text: &str) -> Found {
    findings_on(&unit(text), None)
        .findings
        .iter()
        .map(|one| (one.check, one.defect, one.part.clone()))
        .collect()
}

fn missing(text: &str) -> BTreeSet<String> {
    findings_on(&unit(text), None).not_judged.into_iter().map(|one| one.missing).collect()
}

/// What some changes bring: findings, and what is not judged any more.
pub(crate) fn new(
    text: &str,
    changes: &[(&str, &str)],
) -> (Vec<(&'static str, &'static str, String)>, Vec<String>) {
    let then = changes.iter().fold(text.to_owned(), |text, (from, to)| changed(&text, from, to));
    let found = said(&then).difference(&said(text)).cloned().collect();
    (found, missing(&then).difference(&missing(text)).cloned().collect())
}

/// Defaults that some input of a unit takes.
fn assumes(text: &str) -> Vec<&'static str> {
    let unit = unit(text);
    let inputs = unit.variants.iter().flat_map(|variant| variant.tables.inputs());
    let values = inputs.flat_map(|input| &input.values);
    let taken = values.filter_map(|stated| match stated.origin {
        Origin::Assumed { assumption, .. } => Some(assumption.id),
        _ => None,
    });
    taken.collect()
}

pub(crate) fn one(
    check: &'static str,
    defect: &'static str,
    part: &str,
) -> (Vec<(&'static str, &'static str, String)>, Vec<String>) {
    (vec![(check, defect, part.to_owned())], Vec::new())
}

const PRECHARGE: &str = "    precharge: { resistor: 47 ohm, energy: 300 J, load: 0 A }    # within it; the board net waits for the contactor\n";

/// The pre-charge within a pack is judged as one that is drawn.
#[test]
fn a_contactor_within_a_source_closes_through_its_precharge() {
    assert_eq!(new(HARVESTER, &[(PRECHARGE, "")]), one("stored-energy", "no-precharge", "pack_contactor"));
    let told = reviewed(&changed(HARVESTER, PRECHARGE, ""));
    assert!(
        finding(&told, "no-precharge").no_proposal.as_deref().is_some_and(|why| why.contains("`precharge`"))
    );
    // 720 µF and their tolerance at 720 V, less what is left at 5 %: C·(V² − V_r²)/2.
    let tolerance =
        figure(HARVESTER, "pack.precharge_energy") / (0.5 * 720e-6 * 720.0 * 720.0 * (1.0 - 0.0025));
    assert!((1.0..1.21).contains(&tolerance), "{tolerance}");
    assert!((figure(HARVESTER, "pack.precharge_inrush") - 720.0 / 47.0).abs() < 1e-9);
    let weak = ("energy: 300 J", "energy: 200 J");
    assert_eq!(new(HARVESTER, &[weak]), one("stored-energy", "precharge-energy", "pack"));
    let never = ("load: 0 A", "load: 3 A");
    assert_eq!(new(HARVESTER, &[never]), one("stored-energy", "never-charged", "pack"));
    let slow = ("load: 0 A", "load: 0 A, within: 50 ms");
    assert_eq!(new(HARVESTER, &[slow]), one("stored-energy", "slow-precharge", "pack"));
    let (_, waits) = new(HARVESTER, &[("resistor: 47 ohm, ", "")]);
    assert_eq!(waits, ["sources.pack.precharge.resistor is not stated"]);
    // What it closes on after that is held against what it makes.
    let makes = (
        "opens: { above: 420 A, after: 5 s }, withstands",
        "makes: 100 A, opens: { above: 420 A, after: 5 s }, withstands",
    );
    let closes = new(HARVESTER, &[makes, ("load: 0 A", "load: 0 A, rest: 10 %")]);
    assert_eq!(closes, one("stored-energy", "closing-current", "pack_contactor"));
}

#[test]
fn a_bus_without_a_discharge_stays_charged() {
    let all = "    discharge: { resistor: 47 kohm, resistor_power: 25 W, passively_within: 120 s }\n";
    assert_eq!(new(HARVESTER, &[(all, "")]), one("stored-energy", "no-discharge", "link"));
    let told = reviewed(&changed(HARVESTER, all, ""));
    assert_eq!(finding(&told, "no-discharge").grade.word(), "major");
    // One that has to be switched on is none that is always there.
    let active = (all, "    discharge: { active: { power: 300 W } }\n");
    let then = reviewed(&changed(HARVESTER, active.0, active.1));
    assert_eq!(finding(&then, "no-discharge").grade.word(), "minor");
    assert_eq!(new(HARVESTER, &[active]), one("stored-energy", "no-discharge", "link"));
    // Who does not say how circuits are opened or discharged is asked.
    let sketch = holding("stored-energy");
    let own = "    discharge: { resistor: 120 kohm, resistor_power: 3 W, passively_within: 120 s }\n";
    assert_eq!(new(sketch, &[(own, "")]).0, []);
    assert!(new(sketch, &[(own, "")]).1.iter().any(|one| one.contains("discharge")));
    // A resistor alone is an assumption about what is switched on.
    assert!(assumes(HARVESTER).contains(&"active-discharge"));
}

#[test]
fn a_stage_or_a_bus_without_a_trip_is_found() {
    let trip = "    trip: 290 A\n";
    let (head, tail) = SHUTTLE.split_once(trip).expect("a trip");
    let then = format!("{head}{tail}");
    let found: Vec<_> = said(&then).difference(&said(SHUTTLE)).cloned().collect();
    assert_eq!(found, one("trip-window", "no-trip", "front_bridge").0);
    assert_eq!(missing(&then), missing(SHUTTLE));
    let of_bus =
        "    overvoltage_trip: { voltage: 775 V, tolerance: 1.5 %, delay: 25 us, sensor_range: 1000 V }\n";
    assert_eq!(new(SHUTTLE, &[(of_bus, "")]), one("loss-of-load", "no-trip", "link"));
}

/// A delay that is shorter than what its gates take by themselves.
#[test]
fn a_trip_does_not_act_before_its_gates_do() {
    let sooner =
        new(SHUTTLE, &[("delay: 25 us, sensor_range: 1000 V", "delay: 0.1 us, sensor_range: 1000 V")]);
    assert_eq!(sooner, one("trip-window", "before-its-gates", "link"));
    // 90 ns of the driver, and the turn-off of the device at its resistor.
    let needed = figure(SHUTTLE, "link.command_to_off_time");
    assert!((90e-9..1e-6).contains(&needed), "{needed}");
    let enough = format!("delay: {:.3} us, sensor_range: 1000 V", needed * 1e6 * 1.01);
    assert_eq!(new(SHUTTLE, &[("delay: 25 us, sensor_range: 1000 V", &enough)]).0, []);
    let stage =
        new(SHUTTLE, &[("trip_tolerance: 4 %, trip_delay: 3 us", "trip_tolerance: 4 %, trip_delay: 30 ns")]);
    let parts: Vec<&str> = stage.0.iter().map(|one| one.2.as_str()).collect();
    assert!(stage.0.iter().all(|one| one.1 == "before-its-gates"), "{stage:?}");
    assert_eq!(parts, ["front_bridge", "rear_bridge"]);
}

#[test]
fn a_driver_that_notices_no_short_is_one_finding() {
    let short = "    short_circuit: { blanking: 1.8 us, filter: 400 ns, delay: 200 ns, turn_off: 1.5 us }\n";
    let (found, waits) = new(HARVESTER, &[(short, "")]);
    assert_eq!(waits, Vec::<String>::new());
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].0, found[0].1), ("short-circuit-response", "unnoticed"));
}

#[test]
fn capacitors_of_one_pole_lack_their_like() {
    let plus = SHUTTLE.lines().find(|line| line.trim_start().starts_with("y_plus:")).expect("a capacitor");
    let (found, _) = new(SHUTTLE, &[(&format!("{plus}\n"), "")]);
    assert_eq!(
        found.iter().map(|one| (one.0, one.1)).collect::<Vec<_>>(),
        [("leakage-paths", "unequal-poles")]
    );
    let less = plus.replace("68 nF", "47 nF");
    assert_eq!(new(SHUTTLE, &[(plus, &less)]).0, []);
}

/// Several branches that lack the same lack it once.
#[test]
fn what_lacks_in_several_branches_is_one_finding() {
    let without = |names: &[&str]| {
        names.iter().fold(GROOMER.to_owned(), |text, name| changed(&text, &format!("[{name}, "), "["))
    };
    let text = without(&["cell_fuse", "pack_fuse"]);
    let found: Vec<_> = said(&text).difference(&said(GROOMER)).cloned().collect();
    let unfused: Vec<_> = found.iter().filter(|one| one.1 == "unfused").collect();
    assert_eq!(unfused.len(), 1, "{found:?}");
    let lines: Vec<&str> = GROOMER.lines().filter(|line| line.contains("around:")).collect();
    let bare = lines.iter().fold(GROOMER.to_owned(), |text, line| text.replace(&format!("{line}\n"), ""));
    let found: Vec<_> = said(&bare).difference(&said(GROOMER)).cloned().collect();
    let bare: Vec<_> = found.iter().filter(|one| one.1 == "no-precharge").collect();
    assert_eq!(bare.len(), 1, "{found:?}");
}

/// A fuse where converters alone feed its bus is judged by what they deliver.
#[test]
fn a_fuse_behind_a_converter_waits_for_no_source() {
    let fuse = "\nconductors:\n  lamp_fuse: { kind: fuse, voltage: 80 V DC, current: 40 A, melting: 300 A^2 s, clearing: 900 A^2 s, breaking: 1 kA, least_breaking: 60 A, resistance: 1 mohm }\n";
    let text = changed(CARRIER, "\nconductors:\n", fuse);
    let text = changed(&text, "through: [lamp_plug", "through: [lamp_fuse, lamp_plug");
    let waits: Vec<String> = missing(&text).difference(&missing(CARRIER)).cloned().collect();
    assert!(waits.iter().all(|one| !one.contains("outside the range")), "{waits:?}");
    // 45 A of the choke and 3 % of its trip.
    let amps = figure(&text, "lamp_fuse.highest_fault_current");
    assert!((amps - 45.0 * 1.03).abs() < 1e-9, "{amps}");
    let weak = text
        .replace("breaking: 1 kA", "breaking: 46 A")
        .replace("least_breaking: 60 A", "least_breaking: 42 A");
    let found: Vec<_> = said(&weak).difference(&said(&text)).cloned().collect();
    assert!(found.iter().any(|one| one.1 == "breaking-capacity" && one.2 == "lamp_fuse"), "{found:?}");
}

/// What banks send through the beginning of a thin cable without a fuse: C·V²/(2·R), stepped in time.
#[test]
fn banks_empty_through_what_no_fuse_protects() {
    let with = |section: &str| {
        changed(
            holding("supply-voltage"),
            "section: 16 mm^2, length: 8 m, current: { continuous: 90 A",
            &format!("section: {section}, length: 8 m, current: {{ continuous: 90 A"),
        )
    };
    let text = with("16 mm^2");
    let (farad, own) = (40.0 * 2.2e-3 * 1.2, 12e-3 / 40.0 + 0.1e-3);
    let sent = figure(&text, "lamp_cable.let_through");
    let (mut charge, mut square) = (12.5 * farad, 0.0);
    // In a fault where the cable begins nothing of it is in the way.
    let ohms = own;
    let step = 1e-7;
    for _ in 0..400_000 {
        let amps = charge / farad / ohms;
        square += amps * amps * step;
        charge -= amps * step;
    }
    let volts = figure(&text, "lamp_net.highest_voltage") / 12.5;
    let stepped = square * volts * volts;
    assert!((sent / stepped - 1.0).abs() < 0.02, "{sent} stepped {stepped}");
    assert!(said(&text).iter().all(|one| one.1 != "emptied-through"));
}

/// A load on a bus that dips.
#[test]
fn a_load_meets_the_dip_of_its_bus() {
    let slow = changed(holding("supply-voltage"), "response: 50 us", "response: 4 ms");
    let review = reviewed(&slow);
    let one = finding(&review, "dip");
    assert_eq!((one.part.as_str(), one.grade.word()), ("lamps", "minor"));
    // The bottom of the bus, less what 450 W at 12 V drop on the way.
    let bus = figure(&slow, "lamp_net.voltage") - figure(&slow, "lamps.dip");
    let line = (figure(&slow, "lamp_net.voltage") - figure(&slow, "lamps.voltage"))
        / figure(&slow, "lamp_cable.current");
    let by_hand = bus - line * 450.0 / 12.0;
    let told = figure(&slow, "lamps.dipped_voltage");
    assert!((told - by_hand).abs() < 2e-3, "{told} by hand {by_hand}");
    // What is too little for good is told of that alone.
    let low = reviewed(failing("supply-voltage"));
    assert!(low.findings.iter().all(|one| one.defect != "dip"));
}

/// What a shunt burns at the current of its branch.
#[test]
fn a_shunt_burns_no_more_than_it_stands() {
    let with = |power: &str| {
        let power = format!("resistance: 0.10 mohm, power: {power} }}");
        changed(CARRIER, "range: 600 A, resistance: 0.10 mohm }", &format!("range: 600 A, {power}"))
    };
    assert_eq!(said(&with("30 W")), said(CARRIER));
    let loss = figure(CARRIER, "pack_shunt.loss");
    assert!(loss > 0.0);
    let found: Vec<_> = said(&with("0.5 W")).difference(&said(CARRIER)).cloned().collect();
    assert_eq!(found, one("current-headroom", "shunt-loss", "pack_shunt").0);
}

/// The crest of an output choke against the level at which its stage trips.
#[test]
fn a_choke_at_an_output_does_not_trip_in_service() {
    let (found, _) = new(SHUTTLE, &[("    trip: 105 A\n", "    trip: 60 A\n")]);
    assert!(found.iter().any(|one| one.0 == "trip-window" && one.1 == "trips-in-service"), "{found:?}");
    assert!(said(SHUTTLE).iter().all(|one| one.0 != "trip-window"));
}

/// What else hangs on a circuit that floats is no matter of course.
#[test]
fn what_hangs_beside_is_an_assumption_where_nobody_says() {
    let asks = |text: &str| assumes(text).contains(&"isolation-beside");
    assert!(!asks(FORWARDER));
    assert!(asks(&changed(FORWARDER, " beside: [5 Mohm, 5 Mohm],", "")));
}

/// Sections that are left out as a whole are one finding.
#[test]
fn barriers_that_lack_altogether_are_one_finding() {
    let from = SHUTTLE.find("\n  barriers:\n").expect("barriers");
    let end = SHUTTLE[from + 12..].find("\n\n").map_or(SHUTTLE.len(), |end| from + 12 + end);
    let text = format!("{}{}", &SHUTTLE[..from], &SHUTTLE[end..]);
    let found: Vec<_> = said(&text).difference(&said(SHUTTLE)).cloned().collect();
    assert_eq!(
        found.iter().map(|one| (one.0, one.1)).collect::<Vec<_>>(),
        [("barrier-crossing", "no-barrier")]
    );
}
