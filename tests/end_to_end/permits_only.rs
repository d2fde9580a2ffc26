//! Permits that say which parts of a finding they accept.

use super::program::{Folder, run, run_in, text_of};

/// What was printed, as one line.
fn line(out: &str) -> String {
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Two permits that each list a part of one finding accept it together, and both are shown; neither does alone, nor with one
/// that has expired.
#[test]
fn permits_that_each_list_a_part_accept_together() {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    let text = text_of("examples/snow-groomer.yaml");
    let permit = |only: &str, reason: &str, until: &str| {
        format!(
            "  - {{ check: barrier-crossing, part: isolation.traction to low_voltage, only: [{only}], reason: {reason}, \
             accepted_by: the drive team, until: {until} }}\n"
        )
    };
    let unlisted = text.replace("        - link_voltage\n", "").replace("        - tiller_currents\n", "");
    let ran = |permits: &str| {
        folder.put("groomer.yaml", format!("{unlisted}\npermits:\n{permits}"));
        run_in(&folder, &["review", "groomer.yaml", "--on", "2027-01-01", "--grade", "minor"])
    };
    let (one, other) = (
        permit("link_voltage", "divided twice", "2027-03-31"),
        permit("tiller_currents", "screened", "2027-03-31"),
    );
    let both = ran(&format!("{one}{other}"));
    assert_eq!(both.code, Some(0), "{}", both.out);
    assert!(
        line(&both.out).contains("because divided twice") && line(&both.out).contains("because screened"),
        "{}",
        both.out
    );
    let alone = ran(&one);
    assert_eq!(alone.code, Some(1));
    assert!(line(&alone.out).contains("the finding names tiller_currents as well"), "{}", alone.out);
    let expired = ran(&format!("{one}{}", permit("tiller_currents", "screened", "2026-12-31")));
    assert_eq!(expired.code, Some(1), "{}", expired.out);
    // Nothing is worse than it was: the day that is over is all there is to tell.
    assert!(line(&expired.out).contains("the permit ended on 2026-12-31"), "{}", expired.out);
    assert!(!expired.out.contains("exceeded") && !expired.out.contains("as well, which"), "{}", expired.out);
    // One that lists nothing of it accepts nothing, whatever the others do.
    let idle = ran(&format!("{one}{other}{}", permit("left_bridge", "idle", "2027-03-31")));
    assert!(line(&idle.out).contains("it accepts nothing: another permit"), "{}", idle.out);
}

/// What stops together is named stage by stage, and gates without a driver one by one: `only` bounds both.
#[test]
fn only_bounds_what_stops_together_and_gates_without_a_driver() {
    let ran = |part: &str, only: &str, more: &[&str]| {
        let defect = if part == "board_net" { "stops-together" } else { "no-driver" };
        let permits = format!(
            "permits=[{{ check: control-cover, defect: {defect}, part: {part}, only: [{only}], reason: r, accepted_by: a, until: 2027-03-31 }}]"
        );
        run(&[&["review", "examples/harbour-shuttle.yaml", "--on", "2027-01-01", "--with", &permits], more]
            .concat())
    };
    let all = ran("board_net", "front_bridge, rear_bridge, auxiliary", &[]);
    assert!(line(&all.out).contains("accepted control-cover board_net"), "{}", all.out);
    let fewer = ran("board_net", "front_bridge, rear_bridge", &[]);
    assert!(
        line(&fewer.out).contains("the finding names auxiliary as well, which `only` does not"),
        "{}",
        fewer.out
    );
    let drives = ["--with", "drivers.axle_drivers.drives=[rear_bridge.high_side, rear_bridge.low_side]"];
    let gates = ran("front_bridge", "front_bridge", &drives);
    assert!(line(&gates.out).contains("accepted control-cover front_bridge"), "{}", gates.out);
    let side = ran("front_bridge", "front_bridge.high_side", &drives);
    assert!(line(&side.out).contains("the finding names front_bridge.low_side.u"), "{}", side.out);
}

/// A name that nothing has bounds nothing, and what it was written for stays a finding.
#[test]
fn a_name_that_only_lists_leads_somewhere() {
    let permits = "permits=[{ check: control-cover, part: board_net, only: [front_bridge, rear_brige], reason: r, \
                   accepted_by: a, until: 2027-03-31 }]";
    let ran = run(&["review", "examples/harbour-shuttle.yaml", "--on", "2027-01-01", "--with", permits]);
    assert_eq!(ran.code, Some(2), "{}", ran.out);
    assert!(
        line(&ran.out).contains("no part of the unit is named rear_brige, which a permit lists"),
        "{}",
        ran.out
    );
    assert!(line(&ran.out).contains("did you mean `rear_bridge`?"), "{}", ran.out);
}
