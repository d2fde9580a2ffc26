//! Findings that are accepted on record, and permits that are at fault themselves.

use serde_json::Value;

use super::program::{Folder, Ran, assert_shown, run, run_in, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";
const FORWARDER: &str = "examples/timber-forwarder.yaml";

/// A review of the harvester, whose one major finding is that a bridge does not reach its output, with a permit.
fn with_permit(terms: &str, more: &[&str]) -> Ran {
    let permits = format!("permits=[{{ check: output-reach, part: track_bridge, {terms} }}]");
    let mut line = vec!["review", HARVESTER, "--with", &permits];
    line.extend(more);
    run(&line)
}

const TERMS: &str =
    "up_to: 108 %, reason: ends the shift slowly, accepted_by: the drive team, until: 2027-03-31";

#[test]
fn what_is_accepted_is_shown_and_does_not_count() {
    let ran = with_permit(TERMS, &["--on", "2027-03-31"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(!ran.out.contains("major"), "{}", ran.out);
    // Of equal days the last one still holds.
    assert!(ran.out.contains("until 2027-03-31, its last day"), "{}", ran.out);
    let minor = with_permit(TERMS, &["--on", "2027-01-01", "--grade", "minor"]);
    assert_eq!(minor.code, Some(1), "another finding is not accepted: {}", minor.out);
}

#[test]
fn a_review_with_permits() {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    let permits = "\
permits:
  - check: output-reach
    part: track_bridge
    up_to: 108 %
    reason: the last minutes of a shift are driven slowly
    accepted_by: the drive team
    until: 2027-03-31
  - check: junction-temperature
    part: drum_bridge
    variant: standard
    up_to: 170 degC
    reason: a jam lasts seconds
    accepted_by: the drum team
    until: 2026-12-24
  - check: junction-temperature
    part: drum_bridge
    variant: wide
    reason: a jam lasts seconds
    accepted_by: the drum team
    until: 2026-12-24
  - check: source-limits
    part: pack
    up_to: 105 %
    reason: the pack was smaller then
    accepted_by: the drive team
    until: 2027-03-31
";
    folder.put("harvester.yaml", format!("{}\n{permits}", text_of(HARVESTER)));
    let ran = run_in(&folder, &["review", "harvester.yaml", "--on", "2026-12-20"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert_shown!("permits", ran.out);
}

#[test]
fn an_expired_permit_accepts_nothing() {
    let ran = with_permit(TERMS, &["--on", "2027-04-01"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("permit        expired: up to 108 % by the drive team until"), "{}", ran.out);
    assert!(ran.out.contains("the permit ended on 2027-03-31, 1 day before 2027-04-01"), "{}", ran.out);
}

#[test]
fn a_worse_figure_is_a_finding_again() {
    let ran = with_permit(&TERMS.replace("108 %", "106 %"), &["--on", "2027-01-01"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("permit        exceeded: up to 106 %"), "{}", ran.out);
    assert!(ran.out.contains("up to 106 % is accepted, and track_bridge carries 1.07"), "{}", ran.out);
}

#[test]
fn a_bound_in_another_unit_accepts_nothing() {
    for bound in ["180 degC", "20 A", "20 K"] {
        let ran = with_permit(&TERMS.replace("108 %", bound), &["--on", "2027-01-01"]);
        assert_eq!(ran.code, Some(1), "{bound}");
        assert!(ran.out.contains("does not fit, so that nothing is accepted"), "{bound}: {}", ran.out);
    }
}

#[test]
fn a_permit_for_another_duty_point_leaves_the_finding() {
    let ran = with_permit(&format!("duty_point: harvest, {TERMS}"), &["--on", "2027-01-01"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("it accepts nothing: output-reach finds nothing there"), "{}", ran.out);
}

#[test]
fn names_that_lead_nowhere_are_told() {
    let cases = [
        ("output-reach", "output-rech", "there is no check `output-rech`"),
        ("part: track_bridge", "part: track", "there is no part `track`"),
        ("up_to", "variant: narrow, up_to", "there is no variant `narrow`"),
        ("up_to", "duty_point: rest, up_to", "there is no duty point `rest`"),
        ("up_to", "defect: slow, up_to", "output-reach finds no `slow`, but"),
    ];
    for (from, to, said) in cases {
        let permits = format!("permits=[{{ check: output-reach, part: track_bridge, {TERMS} }}]");
        let permits = permits.replacen(from, to, 1);
        let ran = run(&["review", HARVESTER, "--with", &permits, "--on", "2027-01-01"]);
        let out = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(ran.code == Some(1) && out.contains(said), "{to}: {}", ran.out);
    }
}

#[test]
fn one_permit_accepts_one_finding() {
    let permit = |more: &str| {
        format!(
            "permits=[{{ check: stored-energy, part: link, {more}reason: a, accepted_by: b, until: 2027-03-31 }}]"
        )
    };
    let review = |permits: &str| {
        let slow = ["buses.link.discharge.resistor=390kohm", "buses.link.discharge.active.power=20W"];
        run(&[
            "review",
            FORWARDER,
            "--all",
            "--on",
            "2027-01-01",
            "--with",
            slow[0],
            "--with",
            slow[1],
            "--with",
            permits,
        ])
    };
    let broad = review(&permit(""));
    let out = broad.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("it names 2 findings at once and accepts none of them"), "{}", broad.out);
    assert!(!out.contains("accepted, major"), "{}", broad.out);
    let narrow = review(&permit("defect: passive-discharge, up_to: 20 min, "));
    assert!(narrow.out.contains("accepted, major stored-energy   link"), "{}", narrow.out);
    assert!(narrow.out.contains("major  stored-energy   link"), "the other one stays: {}", narrow.out);
}

#[test]
fn a_program_reads_what_is_accepted() {
    let ran = with_permit(TERMS, &["--on", "2027-01-01", "--format", "json"]);
    let whole: Value = serde_json::from_str(&ran.out).expect("it is JSON");
    let review = &whole["reviews"][0];
    assert_eq!(whole["exit"], 0);
    assert_eq!(
        (&review["accepted"]["on"], &review["accepted"]["day_from"]),
        (&"2027-01-01".into(), &"--on".into())
    );
    let accepted = &review["accepted"]["findings"][0];
    assert_eq!(accepted["check"], "output-reach");
    assert_eq!(accepted["permit"]["standing"], "accepted");
    assert_eq!(accepted["permit"]["accepted_by"], "the drive team");
    assert_eq!(accepted["permit"]["up_to"], "108 %");
    assert_eq!(review["counts"]["accepted"], 2, "end_of_shift in two variants");
    let findings = review["findings"].as_array().expect("a list");
    assert!(findings.iter().all(|finding| finding["check"] != "output-reach"), "{findings:?}");
}

#[test]
fn a_table_of_figures_says_that_it_knows_no_permits() {
    let permits = format!("permits=[{{ check: output-reach, part: track_bridge, {TERMS} }}]");
    let said = "Permits do not matter here";
    assert!(run(&["stress", HARVESTER, "--with", &permits]).out.contains(said));
    assert!(!run(&["stress", HARVESTER]).out.contains(said));
}

#[test]
fn without_permits_there_is_no_day() {
    let plain = run(&["review", HARVESTER, "--format", "json"]);
    let dated = run(&["review", HARVESTER, "--format", "json", "--on", "2031-01-01"]);
    assert_eq!(plain.out, dated.out);
    let whole: Value = serde_json::from_str(&plain.out).expect("it is JSON");
    assert!(
        whole["reviews"][0].get("accepted").is_none()
            && whole["reviews"][0]["counts"].get("accepted").is_none()
    );
    assert!(!run(&["review", HARVESTER]).out.contains("permits"));
}

#[test]
fn without_a_day_asked_for_the_clock_is_named() {
    let ran = with_permit(&TERMS.replace("2027-03-31", "9999-12-31"), &[]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(ran.out.contains(", the day of the system clock in UTC"), "{}", ran.out);
}

#[test]
fn a_hostile_permit_forges_nothing() {
    let terms =
        r#"up_to: 108 %, reason: "a\x1b[31m\nmajor  forged", accepted_by: "b\u202e", until: 2027-03-31"#;
    let ran = with_permit(terms, &["--on", "2027-01-01"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(!ran.out.contains('\u{1b}') && !ran.out.contains('\u{202e}'), "{}", ran.out);
    assert!(!ran.out.lines().any(|line| line.trim_start().starts_with("major  forged")), "{}", ran.out);
}

#[test]
fn hostile_names_forge_nothing() {
    let text = r#"permits=[{ check: "a\nmajor  forged", part: "b\nmajor  forged", reason: c, accepted_by: d, until: 2027-03-31 }]"#;
    let ran = run(&["review", HARVESTER, "--with", text, "--on", "2027-01-01"]);
    assert!(ran.out.contains("there is no check `a major  forged`"), "{}", ran.out);
    assert!(!ran.out.lines().any(|line| line.trim_start().starts_with("major  forged")), "{}", ran.out);
    let clock = r#"controllers.drive_controller.depends_on=["a\nmajor  forged"]"#;
    let ran = run(&["review", FORWARDER, "--faults", "--all", "--with", clock]);
    assert!(ran.out.contains("dependence lost   a major  forged"), "{}", ran.out);
    assert!(!ran.out.lines().any(|line| line.trim_start().starts_with("major  forged")), "{}", ran.out);
}

#[test]
fn what_permits_are_is_explained() {
    let ran = run(&["checks", "permits"]);
    assert_eq!(ran.code, Some(0));
    for defect in ["expired", "exceeded", "too-broad", "unfit-bound", "unbounded", "unused"] {
        assert!(ran.out.contains(&format!("`{defect}`")), "{defect}");
    }
}
