//! Sensors and controllers.

use loadworthy_checks::review::findings_on;

use super::{
    CARRIER, FORWARDER, GROOMER, HARVESTER, New, SHUTTLE, after, after_in, each_is_found, missing, one,
    reviewed, without, without_each,
};
use crate::descriptions::{changed, unit_despite_problems};

#[test]
fn each_sensor_of_the_shuttle_that_is_gone_is_one_finding() {
    each_is_found(SHUTTLE, "sensors", &["control-cover", "leakage-paths"]);
}

#[test]
fn each_sensor_of_the_groomer_that_is_gone_is_one_finding_shared_ones_included() {
    each_is_found(GROOMER, "sensors", &["control-cover", "leakage-paths"]);
    let all = without_each(GROOMER, "sensors");
    let (_, text) = all.into_iter().find(|(name, _)| name == "track_currents").expect("a shared sensor");
    let review = reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "blind-trip").expect("trips that are blind");
    assert_eq!(
        told.saying,
        "the trips of `left_bridge`, `right_bridge` are blind: nothing measures 2 of 2 phase currents of \
         left_bridge, nothing measures 2 of 2 phase currents of right_bridge"
    );
}

#[test]
fn a_temperature_belongs_to_the_controller_of_its_stage() {
    let own = "of: [front_bridge], read_by: [front_controller]";
    let (new, missing) = after(own, "of: [front_bridge], read_by: [rear_controller]");
    assert_eq!(new, [("control-cover", "unmeasured", "front_bridge".to_owned())]);
    assert_eq!(missing, [""; 0]);
}

#[test]
fn what_a_controller_lives_on_is_asked_where_others_say_it() {
    let own = "auxiliary_controller: { domain: low_voltage, from: board_net }";
    let (new, missing) = after(own, "auxiliary_controller: { domain: low_voltage }");
    assert_eq!((new.len(), missing), (0, vec!["from of auxiliary_controller is not stated".to_owned()]));
}

#[test]
fn what_measures_the_current_of_a_leg_rides_on_it_whatever_stands_above() {
    // Above the legs of this boost stand diodes, which have no gate.
    let own = "of: [step_up.1, step_up.2, step_up.3, step_up.4], read_by: [cell_controller],\n      transient_immunity: ";
    let (from, to) = (format!("{own}100 kV/us"), format!("{own}5 kV/us"));
    assert_eq!(after_in(GROOMER, &[(&from, &to)]), one("barrier-immunity", "edge", "step_up_currents"));
    // The current of a whole bridge is that of its legs.
    let own = "read_by: [front_controller],\n      transient_immunity: ";
    let from = format!("of: [front_bridge.u, front_bridge.v], {own}100 kV/us");
    let whole = |immunity: &str| after(&from, &format!("of: [front_bridge], {own}{immunity}"));
    assert_eq!(whole("100 kV/us"), New::default());
    assert_eq!(whole("5 kV/us"), one("barrier-immunity", "edge", "front_currents"));
}

#[test]
fn what_stands_on_a_rail_that_nothing_holds_moves_with_it_against_the_other_side() {
    let own =
        "read_by: [front_controller, rear_controller, auxiliary_controller],\n      transient_immunity: ";
    let (sound, slip) = (format!("{own}100 kV/us"), format!("{own}5 kV/us"));
    let line = |pole: &str| {
        let begins = format!("  y_{pole}: {{ kind: suppression");
        let line = SHUTTLE.lines().find(|line| line.starts_with(&begins)).expect("a capacitor");
        format!("{line}\n")
    };
    let (plus, minus) = (line("plus"), line("minus"));
    let bare = [(plus.as_str(), ""), (minus.as_str(), "")];
    assert_eq!(after_in(SHUTTLE, &bare), New::default());
    let weak = after_in(SHUTTLE, &[bare[0], bare[1], (&sound, &slip)]);
    assert_eq!(weak, one("barrier-immunity", "edge", "link_voltage"));
    // Capacitors to the chassis hold the rails.
    assert_eq!(after(&sound, &slip), New::default());
}

#[test]
fn the_voltage_that_a_boost_works_from_is_measured() {
    let trip =
        ",\n      overvoltage_trip: { voltage: 410 V, tolerance: 1.5 %, delay: 20 us, sensor_range: 550 V }";
    let sensor = "  pack_voltage:\n    { measures: voltage, of: [pack_bus], read_by: [drive_controller, auxiliary_controller],\n      transient_immunity: 50 kV/us, coupling: 2 pF }\n";
    let (new, _) = after_in(FORWARDER, &[(trip, ""), (sensor, ""), ("        - pack_voltage\n", "")]);
    // Without a trip nothing keeps it from rising either, which is another cause.
    let trip = ("loss-of-load", "no-trip", "pack_bus".to_owned());
    assert_eq!(new, [one("control-cover", "unmeasured", "pack_bus").0, vec![trip]].concat());
}

#[test]
fn a_stage_that_obeys_the_controller_of_another_is_one_finding() {
    let strange = |part: &str| one("control-cover", "strange-controller", part);
    // What stops together with that controller is no news, and neither is an enable line or a voltage that it lacks.
    let own = ("    controller: front_controller", "    controller: rear_controller");
    assert_eq!(after_in(SHUTTLE, &[own]), strange("front_bridge"));
    let own = ("    controller: front_controller", "    controller: auxiliary_controller");
    assert_eq!(after_in(SHUTTLE, &[own]), strange("front_bridge"));
    let own = ("    controller: auxiliary_controller", "    controller: front_controller");
    assert_eq!(after_in(SHUTTLE, &[own]), strange("auxiliary"));
    let own = ("    controller: cell_controller", "    controller: tiller_controller");
    assert_eq!(after_in(GROOMER, &[own]), strange("step_up"));
    // Both axles, exchanged: currents and temperature are measured, and read by the other controller.
    let exchanged = [
        ("    controller: front_controller", "    controller: x_controller"),
        ("    controller: rear_controller", "    controller: front_controller"),
        ("    controller: x_controller", "    controller: rear_controller"),
    ];
    assert_eq!(after_in(SHUTTLE, &exchanged), strange("front_bridge"));
    let text = exchanged.iter().fold(SHUTTLE.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = crate::descriptions::reviewed(&text);
    let told = review.findings.iter().find(|one| one.defect == "strange-controller").expect("two stages");
    assert_eq!(
        told.saying,
        "`front_bridge` obeys rear_controller, and front_controller reads what is measured of it; `rear_bridge` obeys \
         front_controller, and rear_controller reads what is measured of it"
    );
    let says: Vec<&str> = told.proposals.iter().map(|held| held.say.as_str()).collect();
    assert_eq!(
        says,
        ["`controller: front_controller` at front_bridge, `controller: rear_controller` at rear_bridge"]
    );
}

#[test]
fn sensors_of_two_stages_that_were_exchanged_are_one_finding() {
    let exchanged =
        |one: &'static str, other: &'static str| [(one, "of: [§]"), (other, one), ("of: [§]", other)];
    let temperatures = exchanged("of: [front_bridge],", "of: [rear_bridge],");
    assert_eq!(after_in(SHUTTLE, &temperatures), one("control-cover", "unmeasured", "front_bridge"));
    let currents = exchanged("of: [front_bridge.u, front_bridge.v],", "of: [rear_bridge.u, rear_bridge.v],");
    assert_eq!(after_in(SHUTTLE, &currents), one("control-cover", "blind-trip", "front_bridge"));
    // Two stages by one sensor, and a third by another one.
    let shared = exchanged("of: [left_bridge, right_bridge],", "of: [tiller_bridge],");
    assert_eq!(after_in(GROOMER, &shared).0.len(), 1);
}

#[test]
fn a_sensor_that_moved_to_another_stage_leaves_its_domain_open_with_what_lacks() {
    // The stage that it moved to stands in two domains.
    let moved = ("of: [front_bridge], read_by", "of: [auxiliary], read_by");
    assert_eq!(after_in(SHUTTLE, &[moved]), one("control-cover", "unmeasured", "front_bridge"));
}

#[test]
fn sensors_of_two_buses_that_were_exchanged_are_one_finding() {
    let exchanged = [
        ("measures: voltage, of: [link]", "measures: voltage, of: [§]"),
        ("of: [lamp_net]", "of: [link]"),
        ("of: [§]", "of: [lamp_net]"),
    ];
    assert_eq!(after_in(CARRIER, &exchanged), one("control-cover", "unread", "link"));
}

#[test]
fn the_section_of_the_controllers_gone_is_one_cause() {
    let review = findings_on(&unit_despite_problems(&without(SHUTTLE, "controllers:\n", "sensors:\n")), None);
    let missing: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
    assert_eq!(missing, ["controllers is part of an entry that could not be read"]);
}

#[test]
fn what_feels_the_temperature_of_a_stage_lies_beside_its_edges() {
    let own = "of: [front_bridge], read_by: [front_controller],\n      transient_immunity: ";
    let (from, to) = (format!("{own}100 kV/us"), format!("{own}5 kV/us"));
    assert_eq!(after(&from, &to), one("barrier-immunity", "edge", "front_temperature"));
    let from = format!("{own}100 kV/us, coupling: 2 pF");
    let to = own.replace(",\n      transient_immunity: ", "");
    assert_eq!(after(&from, &to), missing("sensors.front_temperature.transient_immunity is not stated"));
    // Of a converter with a transformer those of the side that it stands on.
    let own = "domain: traction, read_by: [auxiliary_controller],\n      transient_immunity: ";
    let (from, to) = (format!("{own}100 kV/us"), format!("{own}50 kV/us"));
    assert_eq!(after(&from, &to), one("barrier-immunity", "edge", "auxiliary_temperature"));
}

/// A driver that obeys another controller than its stage is told of that, and of no enable line which that controller lacks.
#[test]
fn a_driver_of_another_controller_is_one_finding() {
    let (new, missing) = after_in(
        SHUTTLE,
        &[("  axle_drivers:\n", "  axle_drivers:\n    controller: auxiliary_controller\n")],
    );
    assert!(new.iter().any(|one| one.1 == "other-controller"), "{new:?}");
    assert_eq!(missing, [""; 0]);
}

/// The text without a controller and all that names it.
fn without_controller(text: &str, name: &str) -> String {
    let entry = format!("  {name}: {{");
    let own = format!("controller: {name}");
    let lines = text.lines().filter(|line| !line.starts_with(&entry) && !line.trim().starts_with(&own));
    let text: String = lines.map(|line| format!("{line}\n")).collect();
    let alone = [", read_by: [§]", " read_by: [§],", "[§, ", ", §", ", controller: §"];
    let left = ["", "", "[", "", ""];
    let all = alone.iter().zip(left);
    all.fold(text, |text, (from, to)| text.replace(&from.replace('§', name), to))
}

/// Whoever reads the sensors of a stage that nothing commands is no second question, and stages that nothing commands are one.
#[test]
fn a_controller_that_is_gone_with_all_that_names_it_is_one_finding() {
    let gone = |text: &str, name: &str, part: &str| {
        let known = super::said(&reviewed(text));
        let text = without_controller(text, name);
        assert!(!text.contains(name), "{name} is left");
        let review = reviewed(&text);
        let new: Vec<_> = super::said(&review).difference(&known).cloned().collect();
        assert_eq!(new, [("control-cover", "no-controller", part.to_owned())]);
        let open: Vec<&str> = review.not_judged.iter().map(|one| one.missing.as_str()).collect();
        assert_eq!(open, [""; 0], "{name}");
        let told = review.findings.into_iter().find(|one| one.defect == "no-controller");
        told.expect("stages that nothing commands").saying
    };
    for name in ["front", "rear"] {
        gone(SHUTTLE, &format!("{name}_controller"), &format!("{name}_bridge"));
    }
    gone(SHUTTLE, "auxiliary_controller", "auxiliary");
    gone(GROOMER, "tiller_controller", "tiller_bridge");
    let said = gone(GROOMER, "track_controller", "left_bridge");
    assert_eq!(said, "nothing commands `left_bridge`, `right_bridge`");
    gone(FORWARDER, "drive_controller", "step_up");
}

#[test]
fn a_sensor_that_does_not_say_what_it_measures_is_one_finding() {
    for text in [SHUTTLE, GROOMER] {
        let known = super::said(&reviewed(text));
        let all: Vec<usize> = text.match_indices("{ measures: ").map(|(at, _)| at + 2).collect();
        assert!(8 < all.len());
        for at in all {
            let end = at + text[at..].find(", ").expect("what it is of") + 2;
            let review = reviewed(&format!("{}{}", &text[..at], &text[end..]));
            let new: Vec<_> = super::said(&review).difference(&known).cloned().collect();
            assert!(new.len() == 1, "{}: {new:#?}", &text[at..end + 30]);
            assert!(review.not_judged.is_empty(), "{:#?}", review.not_judged);
        }
    }
}

/// What starts the board net of the shuttle lies outside its description, until something else keeps its converter alive.
#[test]
fn a_bus_whose_converter_lives_on_it_alone_is_started_by_nothing() {
    let told = |text: &str| {
        let all = reviewed(text).findings;
        all.into_iter().find(|one| one.defect == "no-start").map(|one| (one.part, one.saying))
    };
    let (part, saying) = told(SHUTTLE).expect("a circle");
    assert_eq!(part, "board_net");
    assert_eq!(
        saying,
        "nothing starts `board_net`: `auxiliary`, which feeds it, cannot begin, since auxiliary_controller, auxiliary_a, \
         auxiliary_b, auxiliary_lowers live on it alone"
    );
    // Its gates and its controller live on the link as well; synchronous rectifiers are not waited for.
    let transformers = ["auxiliary_upper_transformer", "auxiliary_lower_transformer"];
    let gates = transformers.iter().fold(SHUTTLE.to_owned(), |text, one| {
        let own = format!("transformer: {one}, from: board_net");
        changed(&text, &own, &format!("{own}, also_from: link"))
    });
    let waits = told(&gates).expect("a controller that waits").1;
    assert!(waits.ends_with("since auxiliary_controller lives on it alone"), "{waits}");
    let own = "auxiliary_controller: { domain: low_voltage, from: board_net";
    let both = changed(&gates, own, &format!("{own}, also_from: link"));
    assert_eq!(told(&both), None);
    // A source on the bus is there from the beginning, and a bus that no stage feeds is fed from outside.
    assert_eq!(told(HARVESTER), None);
    // A buck has no path of its own to the net of its lamps.
    assert_eq!(told(CARRIER).map(|one| one.0), Some("lamp_net".to_owned()));
}
