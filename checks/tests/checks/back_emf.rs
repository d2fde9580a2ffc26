//! A machine that turns without control, as its figures and its findings say.

use loadworthy_checks::remarks::Remark;
use loadworthy_checks::verdict::{Grade, Outcome, Verdict};

use crate::descriptions::{changed, defects, failing, figure, finding, holding, reviewed};

const LEFT_OPEN: (&str, &str) = ("    on_fault: three_phase_short\n", "");
const OFF: (&str, &str) = ("three_phase_short", "gates_off");

fn with(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(holding("back-emf").to_owned(), |text, (from, to)| changed(&text, from, to))
}

fn own(text: &str) -> Vec<&'static str> {
    let all = defects(&reviewed(text));
    all.into_iter().filter(|(check, _)| *check == "back-emf").map(|(_, defect)| defect).collect()
}

/// Largest phase current and torque in the first turn after a short, of the flux of each winding stepped where it stands.
fn stepped(pairs: f64, linked: f64, ohms: f64, axes: (f64, f64), turning: f64) -> (f64, f64) {
    stepped_from((0.0, 0.0), (pairs, linked, ohms), axes, turning)
}

/// The same out of currents along the magnets and across them.
fn stepped_from(
    (along, across): (f64, f64),
    (pairs, linked, ohms): (f64, f64, f64),
    (d, q): (f64, f64),
    turning: f64,
) -> (f64, f64) {
    let step = core::f64::consts::TAU / turning / 20_000.0;
    let (mut flux, mut crest, mut torque) = ((linked + d * along, q * across), 0.0f64, 0.0f64);
    for k in 0..20_000 {
        let (sin, cos) = libm::sincos(turning * step * f64::from(k));
        let along = (cos * flux.0 + sin * flux.1 - linked) / d;
        let across = (cos * flux.1 - sin * flux.0) / q;
        crest = crest.max(libm::hypot(along, across));
        torque = torque.max((1.5 * pairs * (linked + (d - q) * along) * across).abs());
        flux.0 -= step * ohms * (cos * along - sin * across);
        flux.1 -= step * ohms * (sin * along + cos * across);
    }
    (crest, torque)
}

#[test]
fn the_figures_are_those_of_time_stepping() {
    let text = failing("back-emf");
    let turning = 4.0 * 100.0 * core::f64::consts::TAU;
    let (crest, torque) = stepped(4.0, 0.11, 12e-3, (160e-6, 260e-6), turning);
    let got = figure(text, "wheel_bridge.shorting_current");
    assert!((got / crest - 1.0).abs() < 1e-3, "{got} {crest}");
    let got = figure(text, "wheel_bridge.shorting_torque");
    assert!((got / torque - 1.0).abs() < 1e-3, "{got} {torque}");
    // √3·ω·ψ, and nothing of it hangs on the duty point.
    let volts = figure(text, "link.coasting_voltage");
    assert!((volts - 3.0f64.sqrt() * turning * 0.11).abs() < 1e-6, "{volts}");
    let halved = changed(text, "fitted: hb650_300, parallel: 1", "fitted: hb650_300, parallel: 2");
    let each = figure(&halved, "wheel_bridge.low_side.shorting_current");
    assert!((2.0 * each / figure(text, "wheel_bridge.shorting_current") - 1.0).abs() < 1e-12);
}

/// An overcurrent calls for the short: what the trip lets come of the current is what the short begins with.
#[test]
fn a_short_begins_with_the_current_that_tripped() {
    const AT_TERMINALS: &str =
        "{ electrical_power: 35 kW, line_voltage: 182 V rms, power_factor: 0.9, frequency: 220 Hz }";
    let trip = "    dead_time: 2 us\n    trip: 900 A\n    current_sensing: { range: 1500 A, trip_tolerance: 4 %, trip_delay: 5 us }\n";
    let asked = (AT_TERMINALS, "{ torque: 100 N m, speed: 2500 1/min }");
    let text = with(&[asked, ("    dead_time: 2 us\n", trip)]);
    let amps = figure(&text, "wheel_bridge.tripped_current");
    // 450 V across the smaller inductance, for as long as the trip takes.
    assert!((amps - (936.0 + 450.0 / 240e-6 * 5e-6)).abs() < 1e-6, "{amps}");
    let (d, q) = (figure(&text, "wheel_bridge.d_current"), figure(&text, "wheel_bridge.q_current"));
    let grown = amps / libm::hypot(d, q);
    let turning = 4.0 * 2500.0 / 60.0 * core::f64::consts::TAU;
    let machine = (4.0, 0.11, 12e-3);
    let (crest, torque) = stepped_from((grown * d, grown * q), machine, (240e-6, 380e-6), turning);
    let got = figure(&text, "wheel_bridge.shorting_current");
    assert!((got / crest - 1.0).abs() < 1e-3, "{got} {crest}");
    let got = figure(&text, "wheel_bridge.shorting_torque");
    assert!((got / torque - 1.0).abs() < 1e-3, "{got} {torque}");
    // Without a trip the highest speed decides.
    let untripped = figure(&with(&[asked]), "wheel_bridge.shorting_current");
    assert!(untripped < 0.9 * crest, "{untripped} {crest}");
    // Of one that does not say how long it takes nobody knows.
    let late = changed(&text, ", trip_delay: 5 us", "");
    let missing = reviewed(&late).not_judged;
    assert!(missing.iter().any(|one| one.checks.contains(&"back-emf")), "{missing:#?}");
}

#[test]
fn what_a_bridge_does_on_a_fault_decides_what_is_asked() {
    assert!(own(holding("back-emf")).is_empty());
    // The crest of 479 V is above the link: that is what happens unless somebody says otherwise.
    let open = reviewed(&with(&[LEFT_OPEN]));
    assert_eq!(finding(&open, "uncontrolled-charging").grade, Grade::Minor);
    assert!(own(&with(&[OFF])).is_empty());
    let slow = with(&[LEFT_OPEN, ("6000 1/min", "3500 1/min")]);
    assert!(own(&slow).is_empty());
    // Of 500 V the policy leaves 450 V.
    let low = ("blocking_voltage: 650 V", "blocking_voltage: 500 V");
    assert_eq!(finding(&reviewed(&with(&[OFF, low])), "open-bus-voltage").grade, Grade::Major);
    assert_eq!(finding(&reviewed(&with(&[low])), "open-bus-voltage").grade, Grade::Minor);
}

#[test]
fn a_first_swing_that_fades_is_a_smaller_matter_than_a_current_that_stays() {
    let grade = |peak: &str| {
        let text = with(&[("repetitive_peak: 900 A", &format!("repetitive_peak: {peak}"))]);
        finding(&reviewed(&text), "shorting-current").grade
    };
    // Steady 458 A, at first some 890 A.
    assert_eq!(grade("800 A"), Grade::Minor);
    assert_eq!(grade("440 A"), Grade::Major);
    assert_eq!(own(&with(&[("highest_torque: 900 N m", "highest_torque: 60 N m")])), ["shorting-torque"]);
}

#[test]
fn what_is_missing_of_a_machine_that_turns_is_named() {
    let missing = |from: &str, named: &str| {
        let review = reviewed(&with(&[(from, "")]));
        let own = review.verdicts.iter().flatten().filter(|verdict| verdict.check == "back-emf");
        assert!(own.clone().any(|verdict| matches!(verdict.outcome, Outcome::NotJudged(_))), "{from}");
        let told: Vec<_> = review.not_judged.iter().map(|one| format!("{one:?}")).collect();
        assert!(told.iter().any(|told| told.contains(named)), "{named}: {told:#?}");
    };
    missing("    flux_linkage: 0.11 V s\n", "machines.wheel_motor.flux_linkage");
    missing("    demagnetising_current: 1600 A peak\n", "machines.wheel_motor.demagnetising_current");
    missing("    pole_pairs: 4\n", "machines.wheel_motor.pole_pairs");
    missing("    phase_resistance: 12 mohm\n", "machines.wheel_motor.phase_resistance");
    // A machine that says nothing of its magnets, at a bridge that says nothing of faults, is asked nothing.
    let unsaid = [("    highest_speed: 6000 1/min\n", ""), ("    flux_linkage: 0.11 V s\n", "")];
    let silent = reviewed(&with(&[&[LEFT_OPEN], unsaid.as_slice()].concat()));
    assert!(!silent.verdicts.iter().flatten().any(|verdict| verdict.check == "back-emf"));
}

#[test]
fn a_duty_point_faster_than_the_highest_speed_counts_and_is_a_finding() {
    // 220 Hz with four pairs are 3300 1/min: √3·2π·220 Hz·0.11 V·s.
    let crest = 3.0f64.sqrt() * core::f64::consts::TAU * 220.0 * 0.11;
    let slow = with(&[("highest_speed: 6000 1/min", "highest_speed: 3000 1/min")]);
    let volts = figure(&slow, "link.coasting_voltage");
    assert!((volts / crest - 1.0).abs() < 1e-12, "{volts} against {crest}");
    let review = reviewed(&slow);
    let said = finding(&review, "beyond-highest-speed");
    assert_eq!((said.part.as_str(), said.grade), ("wheel_motor", Grade::Major));
    assert!(said.saying.contains("turns at 3300 1/min"), "{}", said.saying);
    let equal = with(&[("highest_speed: 6000 1/min", "highest_speed: 3300 1/min")]);
    assert!(!own(&equal).contains(&"beyond-highest-speed"));
}

#[test]
fn without_a_highest_speed_what_fails_at_the_speed_of_a_duty_point_fails_and_the_rest_is_not_judged() {
    for changes in [vec![], vec![OFF], vec![LEFT_OPEN]] {
        let unsaid = [&changes[..], &[("    highest_speed: 6000 1/min\n", "")]].concat();
        let review = reviewed(&with(&unsaid));
        let own: Vec<_> =
            review.verdicts.iter().flatten().filter(|verdict| verdict.check == "back-emf").collect();
        assert!(!own.is_empty(), "{changes:?}");
        assert!(own.iter().all(|verdict| verdict.remarks.contains(&Remark::DutySpeedAlone)), "{own:?}");
        let holds = |verdict: &&&Verdict| matches!(verdict.outcome, Outcome::Holds(_));
        assert_eq!(own.iter().filter(holds).count(), 0, "{own:?}");
    }
}

#[test]
fn what_a_duty_point_asks_of_a_shaft_is_held_against_what_it_stands() {
    const AT_TERMINALS: &str =
        "{ electrical_power: 35 kW, line_voltage: 182 V rms, power_factor: 0.9, frequency: 220 Hz }";
    let asked = |torque: &str, limit: (&str, &str)| {
        let demand = format!("{{ torque: {torque}, speed: 2500 1/min }}");
        let found = own(&with(&[OFF, (AT_TERMINALS, &demand), limit]));
        found.into_iter().filter(|defect| !defect.starts_with("open-bus")).collect::<Vec<_>>()
    };
    let stands = |torque| ("highest_torque: 900 N m", torque);
    assert!(asked("100 N m", stands("highest_torque: 100 N m")).is_empty());
    assert_eq!(asked("100.1 N m", stands("highest_torque: 100 N m")), ["beyond-highest-torque"]);
    assert_eq!(asked("-100.1 N m", stands("highest_torque: 100 N m")), ["beyond-highest-torque"]);
    // 100 N m of four pairs of poles at 0.11 V s, 160 and 260 uH: of most torque for an ampere some 145 A flow across
    // the magnets and some 30 A against them; of what they stand the policy leaves 90 %.
    let magnets = |amps| ("demagnetising_current: 1600 A peak", amps);
    assert!(asked("100 N m", magnets("demagnetising_current: 40 A peak")).is_empty());
    assert_eq!(asked("100 N m", magnets("demagnetising_current: 20 A peak")), ["weakened-magnets"]);
}

/// The bridge turns its gates off, and a battery holds the bus.
fn held(charge: &str) -> String {
    let battery = format!(
        "sources:\n  pack: {{ kind: battery, bus: link, open_circuit: {{ lowest: 350 V, highest: 400 V }}, internal_resistance: {{ lowest: 50 mohm, highest: 60 mohm }}, discharge: {{ continuous: 300 A }}{charge} }}\n\nbuses:\n"
    );
    with(&[
        OFF,
        ("buses:\n", &battery),
        ("    buses: { link: 300 V }\n", "    sources: { pack: { open_circuit: 350 V } }\n"),
    ])
}

#[test]
fn a_bus_that_a_battery_holds_takes_what_the_diodes_give() {
    let salient = held(", charge: { continuous: 400 A }");
    let text = changed(&salient, "q: 380 uH", "q: 240 uH");
    let of = |path: &str| figure(&text, path);
    let (amps, volts) = (of("link.coasting_current"), of("link.coasting_held_voltage"));
    assert!((volts - 350.0 - 0.05 * amps).abs() < 1e-3, "{volts} {amps}");
    // 479 V between the lines, 377 V on the bus: the third phase rests a while in each sixth of a turn. Without that
    // 3/π·276.5 V/(2513/s·240 µH)·√(1 − (2π·V/(9·276.5 V))²) would flow, a little less in fact; the table reads high by less than one in a thousand.
    let (emf, reactance) = (4.0 * 100.0 * core::f64::consts::TAU * 0.11, 2513.27 * 240e-6);
    let cosine = 2.0 * core::f64::consts::PI * volts / (9.0 * emf);
    let conducting = 3.0 / core::f64::consts::PI * emf / reactance * (1.0 - cosine * cosine).sqrt();
    assert!(amps < 1.001 * conducting && 0.9 * conducting < amps, "{amps} {conducting}");
    // What brakes the shaft arrives at the bus; each diode carries one half wave.
    let watts = of("wheel_bridge.coasting_power");
    assert!((watts / (amps * volts) - 1.0).abs() < 1e-6, "{watts}");
    let torque = of("wheel_bridge.coasting_torque") * core::f64::consts::TAU * 100.0;
    assert!((torque / watts - 1.0).abs() < 1e-12, "{torque} {watts}");
    let (phase, diode) =
        (of("wheel_bridge.coasting_phase_rms_current"), of("wheel_bridge.low_side.coasting_rms_current"));
    assert!((phase / diode - 2.0f64.sqrt()).abs() < 1e-12, "{phase} {diode}");
    assert!(!own(&text).contains(&"charging-current"), "{amps}");
    // Stepping the fluxes of 240 and 380 µH into 350 V behind 50 mΩ.
    let more = figure(&salient, "link.coasting_current");
    assert!((more / 209.8 - 1.0).abs() < 0.02, "{more}");
}

#[test]
fn what_charges_a_battery_uncontrolled_is_held_against_what_it_takes() {
    let grade = |charge: &str| {
        let review = reviewed(&held(charge));
        review.findings.iter().find(|one| one.defect == "charging-current").map(|one| one.grade)
    };
    assert_eq!(grade(", charge: { continuous: 400 A }"), None);
    // For a while the battery takes it, and the machine comes to rest.
    let peak = ", charge: { continuous: 100 A, peaks: [{ current: 400 A, lasts: 10 s }] }";
    assert_eq!(grade(peak), Some(Grade::Minor));
    assert_eq!(grade(", charge: { continuous: 100 A }"), Some(Grade::Major));
    let review = reviewed(&held(", charge: { continuous: 100 A }"));
    let said = finding(&review, "charging-current");
    assert!(
        said.saying.starts_with("with all gates off at 6000 1/min, `wheel_motor` drives "),
        "{}",
        said.saying
    );
    // A diode that stands less is the same cause.
    let weak = changed(
        &held(", charge: { continuous: 100 A }"),
        "{ continuous: 300 A, at_case: 80 degC, repetitive_peak: 900 A }\n      junction_limit: 175 degC\n      on_state:\n        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.10",
        "{ continuous: 40 A, at_case: 80 degC, repetitive_peak: 900 A }\n      junction_limit: 175 degC\n      on_state:\n        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.10",
    );
    let review = reviewed(&weak);
    let all: Vec<_> = review.findings.iter().filter(|one| one.defect == "charging-current").collect();
    assert!(matches!(all.as_slice(), [_]), "{all:#?}");
    // What nobody states is named, and so is the inductance where nobody knows how much comes.
    let missing = |text: &str, named: &str| {
        let review = reviewed(text);
        let told: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
        assert!(told.iter().any(|told| told.contains(named)), "{named}: {told:#?}");
    };
    missing(&held(""), "charge");
    missing(
        &changed(&held(", charge: { continuous: 400 A }"), "{ d: 240 uH, q: 380 uH }", "{ d: 240 uH }"),
        "inductance.q",
    );
    // Below the bus nothing comes, whatever the inductance.
    let slow = changed(&held(""), "6000 1/min", "4000 1/min");
    assert!(
        !own(&changed(&slow, "    inductance: { d: 240 uH, q: 380 uH }\n", "")).contains(&"charging-current")
    );
}
