//! Exit codes are what a pipeline acts on.

use super::program::{Folder, run, run_in, template};

const HARVESTER: &str = "examples/peat-harvester.yaml";
const CARRIER: &str = "examples/vineyard-carrier.yaml";
const SHUTTLE: &str = "examples/harbour-shuttle.yaml";

#[test]
fn everything_holds() {
    assert_eq!(run(&["review", SHUTTLE]).code, Some(0));
}

#[test]
fn a_finding_at_the_asked_grade() {
    assert_eq!(run(&["review", HARVESTER]).code, Some(1));
    // Without its major finding there are a minor one and a note left.
    let linear = "stages.track_bridge.modulation=space_vector";
    for (grade, code) in [("major", 0), ("minor", 1), ("note", 1)] {
        let ran = run(&["review", HARVESTER, "--with", linear, "--grade", grade]);
        assert_eq!(ran.code, Some(code), "{grade}: {}", ran.out);
    }
}

#[test]
fn something_that_could_not_be_judged() {
    let folder = Folder::new();
    let silent = template("x", "60").replace("modulation: sinusoidal", "modulation: space_vector");
    folder.put("complete.yaml", &silent);
    let complete = run_in(&folder, &["review", "complete.yaml"]);
    assert!(!complete.out.contains("cooling.pump.flow"), "{}", complete.out);
    folder.put("silent.yaml", silent.replace("  pump: { flow: 8 L/min }\n", ""));
    let ran = run_in(&folder, &["review", "silent.yaml"]);
    assert_eq!(ran.code, Some(3), "{}", ran.out);
    assert!(ran.out.contains("not judged   cooling.pump.flow is not stated"), "{}", ran.out);
}

#[test]
fn nothing_judged_is_not_a_pass() {
    let folder = Folder::new();
    folder.put("empty.yaml", "edition: 2026\n");
    let ran = run_in(&folder, &["review", "empty.yaml"]);
    assert_eq!(ran.code, Some(3), "{}", ran.out);
    assert!(ran.out.contains("not judged   nothing: no duty point could be read"), "{}", ran.out);
}

#[test]
fn a_problem_outweighs_a_finding() {
    let folder = Folder::new();
    folder.put("broken.yaml", template("x", "60") + "colour: green\n");
    let ran = run_in(&folder, &["review", "broken.yaml"]);
    assert_eq!(ran.code, Some(2), "{}", ran.out);
    assert!(ran.out.contains("a description has no key `colour`") && ran.out.contains("major  output-reach"));
}

#[test]
fn the_gravest_of_several_files_counts() {
    let missing = run(&["review", CARRIER, "no-such-file.yaml", HARVESTER]);
    assert_eq!(missing.code, Some(2));
    assert_eq!(missing.err, "loadworthy: cannot read no-such-file.yaml: there is no such file\n");
    assert!(missing.out.contains("Vineyard carrier") && missing.out.contains("Peat harvester"));
}

#[test]
fn a_wrong_command_line() {
    for arguments in [&["review"][..], &["look", CARRIER], &["review", CARRIER, "--with", "nothing"], &[]] {
        let ran = run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(!ran.err.is_empty());
    }
    assert_eq!(run(&["--help"]).code, Some(0));
    assert_eq!(run(&["--version"]).code, Some(0));
}

#[test]
fn names_that_do_not_exist_are_told_with_near_ones() {
    for (arguments, near) in [
        (&["derive", HARVESTER, "--duty", "harvst"][..], "is it `harvest`?"),
        (&["derive", HARVESTER, "--variant", "wyde"], "is it `wide`?"),
        (&["derive", HARVESTER, "link.volltage"], "is it `link.voltage`?"),
        (&["derive", HARVESTER, "link"], "`link` is a part; its figures are `voltage`, `power`, `current`"),
        (&["derive", HARVESTER, "drum_bridge.u.junction"], "alike are `drum_bridge.high_side.u.transistor."),
        (&["derive", HARVESTER, "zzz.qq"], "without a name, all are shown"),
        (&["derive", CARRIER, "--variant", "wide"], "the description has none"),
    ] {
        let ran = run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(ran.err.contains(near), "{}", ran.err);
    }
}

#[test]
fn a_value_to_try_must_have_a_place() {
    let ran = run(&["review", CARRIER, "--with", "stages.trak_bridge.carrier.frequency=6 kHz"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.out.contains("`stages` has no entry `trak_bridge`") && ran.out.contains("write `track_bridge`")
    );
    let hot =
        run(&["review", CARRIER, "--with", "duty.held_on_slope.loads.track_motor.phase_current=300 A rms"]);
    assert!(hot.out.contains("[--with:1:"), "a tried value is shown where it was written: {}", hot.out);
}

#[test]
fn a_figure_that_is_not_solved_says_what_it_waits_for() {
    let folder = Folder::new();
    folder.put("silent.yaml", template("x", "60").replace("  pump: { flow: 8 L/min }\n", ""));
    let figure = "track_bridge.high_side.u.diode.junction_temperature";
    let ran = run_in(&folder, &["derive", "silent.yaml", figure]);
    assert_eq!(ran.code, Some(3), "{}", ran.err);
    assert!(ran.out.contains("= not solved"), "{}", ran.out);
    assert!(ran.err.contains("`cooling.pump.flow` is not stated, near silent.yaml:"), "{}", ran.err);
}
