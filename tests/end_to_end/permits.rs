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

/// A review of the groomer with some sensors that no barrier lists, and a permit for what joins its domains past every one.
fn with_crossings(unlisted: &[&str], more: &str) -> Ran {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    let mut text = text_of("examples/snow-groomer.yaml");
    for name in unlisted {
        text = text.replace(&format!("        - {name}\n"), "");
    }
    folder.put(
        "groomer.yaml",
        format!(
            "{text}\npermits:\n  - {{ check: barrier-crossing, part: isolation.traction to low_voltage, {more}reason: \
             insulated by itself, accepted_by: the drive team, until: 2027-03-31 }}\n"
        ),
    );
    run_in(&folder, &["review", "groomer.yaml", "--on", "2027-01-01", "--grade", "major"])
}

#[test]
fn what_joins_two_domains_later_is_not_accepted_with_what_did_before() {
    let only = "only: [step_up_currents], ";
    let before = with_crossings(&["step_up_currents"], only);
    assert_eq!(before.code, Some(0), "{}", before.out);
    assert!(!before.out.contains("minor"), "{}", before.out);
    let later = with_crossings(&["step_up_currents", "link_voltage"], only);
    assert_eq!(later.code, Some(1), "{}", later.out);
    let text = later.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("the finding names link_voltage as well, which `only` does not"), "{text}");
}

#[test]
fn a_permit_says_what_may_join_it() {
    let ran = with_crossings(&["step_up_currents"], "");
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(ran.out.contains("add `only: [step_up_currents]`"), "{}", ran.out);
}

#[test]
fn an_expired_permit_beside_one_that_holds_changes_nothing() {
    let permit = |until: &str| {
        let terms = TERMS.replace("2027-03-31", until);
        format!("{{ check: output-reach, part: track_bridge, {terms} }}")
    };
    for order in [["2027-03-31", "2026-12-01"], ["2026-12-01", "2027-03-31"]] {
        let permits = format!("permits=[{}, {}]", permit(order[0]), permit(order[1]));
        let ran = run(&["review", HARVESTER, "--with", &permits, "--on", "2027-01-01", "--grade", "major"]);
        assert_eq!(ran.code, Some(0), "{}", ran.out);
        let text = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("another permit accepts what it did"), "{text}");
    }
}

#[test]
fn a_permit_beside_one_that_has_ended_is_not_told_as_exceeded() {
    let permit = |up_to: &str, until: &str| {
        let terms = TERMS.replace("2027-03-31", until).replace("108 %", up_to);
        format!("{{ check: output-reach, part: track_bridge, {terms} }}")
    };
    for order in [["108 %", "106 %"], ["106 %", "108 %"]] {
        let until = order.map(|up_to| if up_to == "108 %" { "2026-12-01" } else { "2027-03-31" });
        let permits = format!("permits=[{}, {}]", permit(order[0], until[0]), permit(order[1], until[1]));
        let ran = run(&["review", HARVESTER, "--with", &permits, "--on", "2027-01-01", "--grade", "major"]);
        assert_eq!(ran.code, Some(1), "{}", ran.out);
        assert!(ran.out.contains("the permit ended on 2026-12-01"), "{}", ran.out);
        assert!(
            !ran.out.contains("exceeded") && !ran.out.contains("up to 106 % is accepted, and"),
            "{}",
            ran.out
        );
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
fn a_permit_waits_for_what_could_not_be_read() {
    let broken = ["--with", "stages.track_bridge.modulation=sinusoidl"];
    let ran = with_permit(TERMS, &broken);
    assert!(ran.err.contains("sinusoidl") || ran.out.contains("sinusoidl"), "{}{}", ran.out, ran.err);
    assert!(!ran.out.contains("it accepts nothing"), "{}", ran.out);
    // The name of a check is wrong whatever else is.
    let ran = run(&[
        "review",
        "--with",
        "permits=[{ check: output-reech, part: track_bridge, reason: a, accepted_by: b, until: 2027-03-31 }]",
        broken[0],
        broken[1],
        "examples/peat-harvester.yaml",
    ]);
    assert!(ran.out.contains("there is no check"), "{}", ran.out);
}

#[test]
fn a_reason_is_read_as_a_whole() {
    let reason = "the pump rests ".repeat(20);
    let ran = with_permit(&TERMS.replace("ends the shift slowly", reason.trim_end()), &[]);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains(reason.trim_end()), "{}", ran.out);
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

/// A command about the harvester with a permit for its bridge that does not reach its output.
fn permitted(command: &str, terms: &str, more: &[&str]) -> Ran {
    let permits = format!("permits=[{{ check: output-reach, part: track_bridge, {terms} }}]");
    run(&[&[command, HARVESTER, "--with", &permits], more].concat())
}

#[test]
fn a_stress_table_marks_what_is_accepted_and_by_whom() {
    let table = permitted("stress", TERMS, &["--on", "2027-03-20"]).out;
    let row =
        table.split("\naccepted ").nth(1).expect("a row").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(row.starts_with("-6.7 % track_bridge modulation index (output-reach)"), "{table}");
    assert!(
        table.contains("accepted by the drive team") && table.contains(", of which 2 accepted"),
        "{table}"
    );
    assert!(table.contains("permits      held against 2027-03-20, as asked by --on"), "{table}");
    // What is left to fail stands first.
    assert!(table.rfind("\nfails ") < table.find("\naccepted "), "{table}");
    let over = permitted("stress", TERMS, &["--on", "2027-04-20"]).out;
    assert!(!over.contains("\naccepted ") && over.contains("held against 2027-04-20"), "{over}");

    let form = permitted("stress", TERMS, &["--on", "2027-03-20", "--format", "json"]).out;
    let form: Value = serde_json::from_str(&form).expect("JSON");
    assert_eq!(form["permits"], serde_json::json!({ "on": "2027-03-20", "day_from": "--on" }));
    let rows = form["rows"].as_array().expect("a list");
    let accepted = rows.iter().filter(|row| row.get("accepted").is_some()).collect::<Vec<_>>();
    assert_eq!((accepted.len(), &accepted[0]["check"]), (1, &"output-reach".into()));
    assert_eq!(accepted[0]["verdict"], "fails", "a permit changes no verdict");
    assert_eq!(accepted[0]["accepted"]["reason"], "ends the shift slowly");

    let csv = permitted("stress", TERMS, &["--on", "2027-03-20", "--format", "csv"]).out;
    let lines = csv.lines().filter(|line| line.ends_with(",the drive team,2027-03-31")).collect::<Vec<_>>();
    assert!(lines.len() == 2 && lines.iter().all(|line| line.contains("output-reach")), "{lines:?}");
}

#[test]
fn what_no_size_mends_may_be_accepted() {
    let on = |day: &str, more: &[&str]| permitted("size", TERMS, &[&["--on", day], more].concat());
    let ran = on("2027-03-20", &[]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(ran.out.contains("\naccepted        output-reach   track_bridge\n"), "{}", ran.out);
    assert!(ran.out.contains("because ends the shift slowly"), "{}", ran.out);
    let over = on("2027-04-20", &[]);
    assert_eq!(over.code, Some(1));
    assert!(over.out.contains("\nmajor           output-reach   track_bridge\n"), "{}", over.out);
    let form: Value = serde_json::from_str(&on("2027-03-20", &["--format", "json"]).out).expect("JSON");
    assert_eq!((&form["exit"], &form["permits"]["on"]), (&0.into(), &"2027-03-20".into()));
    let left = form["left"].as_array().expect("a list");
    assert!(!left.is_empty() && left.iter().all(|one| one["accepted"]["accepted_by"] == "the drive team"));
    // A permit makes nothing smaller: the sizes are those without it.
    let plain = run(&["size", HARVESTER, "--format", "json"]).out;
    let plain: Value = serde_json::from_str(&plain).expect("JSON");
    assert_eq!((&plain["sizes"], &plain["exit"]), (&form["sizes"], &1.into()));
}

#[test]
fn a_patch_names_the_permits_that_it_rests_on() {
    let hostile = TERMS.replace("ends the shift slowly", "\"slow\\n- a: b\"");
    let plain = run(&["size", HARVESTER, "--format", "yaml"]);
    let ran = permitted("size", &hostile, &["--on", "2027-03-20", "--format", "yaml"]);
    let (comments, patch): (Vec<&str>, Vec<&str>) = ran.out.lines().partition(|line| line.starts_with("# "));
    assert_eq!(patch.join("\n") + "\n", plain.out);
    assert_eq!(
        comments,
        [
            "# permits held against 2027-03-20, as asked by --on",
            "# no size mends output-reach track_bridge, accepted up to 108 % by the drive team until 2027-03-31, which ends in 11 days",
            "# because slow\\u{000A}- a: b",
        ]
    );
    let over = permitted("size", TERMS, &["--on", "2027-04-20", "--format", "yaml"]);
    assert_eq!(over.out, format!("# permits held against 2027-04-20, as asked by --on\n{}", plain.out));
}

#[test]
fn a_load_goes_up_to_what_a_permit_accepts() {
    let found = |more: &[&str]| {
        let asked = ["capability", FORWARDER, "--stage", "traction_bridge", "--duty", "loaded_climb"];
        let over = ["--variant", "standard", "--over", "coolant.inlet=93degC..95degC", "--points", "2"];
        let ran = run(&[&asked[..], &over, more].concat());
        (ran.code, ran.out)
    };
    let permits = "permits=[{ check: coolant-state, part: cooling.traction_stack, up_to: 116.5 degC, reason: no boiling was seen, accepted_by: the coolant team, until: 2027-03-31 }]";
    let load = |text: &str| {
        let read: Value = serde_json::from_str(text).expect("JSON");
        let point = &read["curves"][0]["points"][0];
        (point["factor"].as_f64().expect("a factor"), read.clone())
    };
    let (plain, _) = load(&found(&["--format", "json"]).1);
    let with = ["--with", permits, "--on"];
    let (more, read) = load(&found(&[&with[..], &["2027-03-20", "--format", "json"]].concat()).1);
    assert!(more > plain, "{more} is no more than {plain}");
    assert_eq!(read["permits"]["on"], "2027-03-20");
    assert_eq!(read["curves"][0]["accepted"][0]["reason"], "no boiling was seen");
    // Less of policy allows as much as a permit for more, where nothing else is nearer: the coolant boils at 125.73 °C.
    let (same, _) = load(&found(&["--with", "policy.coolant_boiling.keep=9.2333 K", "--format", "json"]).1);
    assert!((more / same - 1.0).abs() < 1e-4, "{more} beside {same}");
    let table = found(&[&with[..], &["2027-03-20"]].concat()).1;
    assert!(table.contains("accepted     coolant-state   cooling.traction_stack\n"), "{table}");
    assert!(
        table.contains("because no boiling was seen") && table.contains("held against 2027-03-20"),
        "{table}"
    );
    let (over, read) = load(&found(&[&with[..], &["2027-04-20", "--format", "json"]].concat()).1);
    assert!((over - plain).abs() < 1e-9 && read["curves"][0].get("accepted").is_none(), "{read}");
}

#[test]
fn a_mission_marks_what_is_accepted_in_every_row() {
    let shuttle = "examples/harbour-shuttle.yaml";
    let keep = ["mission", shuttle, "--with", "policy.source_current.use_at_most=60 %"];
    let plain = run(&[&keep[..], &["--format", "json"]].concat());
    let plain: Value = serde_json::from_str(&plain.out).expect("JSON");
    let rows = plain["worst"].as_array().expect("a list");
    let failing: Vec<&Value> = rows.iter().filter(|row| row["verdict"] == "fails").collect();
    assert!(!failing.is_empty(), "nothing fails, so nothing could be accepted");
    let permit = |duty: &str| {
        let one = |row: &&Value| {
            let (check, part) =
                (row["check"].as_str().expect("a check"), row["part"].as_str().expect("a part"));
            let defect = row["defect"].as_str().expect("a defect");
            format!(
                "{{ check: {check}, part: {part}, defect: {defect}, {duty}up_to: 95 %, reason: it is brief, accepted_by: all, until: 2027-03-31 }}"
            )
        };
        format!("permits=[{}]", failing.iter().map(one).collect::<Vec<_>>().join(", "))
    };
    let ran = |permits: &str, more: &[&str]| {
        run(&[&keep[..], &["--with", permits, "--on", "2027-03-20"], more].concat())
    };
    let table = ran(&permit(""), &[]);
    assert_eq!(table.code, Some(0), "{}", table.out);
    assert!(table.out.contains("\naccepted ") && table.out.contains("because it is brief"), "{}", table.out);
    let form: Value = serde_json::from_str(&ran(&permit(""), &["--format", "json"]).out).expect("JSON");
    assert_eq!((&form["exit"], &form["permits"]["on"]), (&0.into(), &"2027-03-20".into()));
    let accepted =
        form["worst"].as_array().expect("a list").iter().filter(|row| row.get("accepted").is_some());
    assert_eq!(accepted.count(), failing.len());
    // One duty point alone is accepted; the others fail as well.
    let narrow = ran(&permit("duty_point: laden_run, "), &[]);
    assert!(!narrow.out.contains("\naccepted "), "{}", narrow.out);
}

#[test]
fn what_is_held_against_no_permit_says_so() {
    let said = "Permits do not matter here";
    let permits = format!("permits=[{{ check: output-reach, part: track_bridge, {TERMS} }}]");
    let line = ["stress", HARVESTER, "--tolerance"];
    let ran = run(&[&line[..], &["--with", &permits]].concat());
    assert!(ran.out.contains(said), "{}{}", ran.out, ran.err);
    assert!(!run(&line).out.contains(said));
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
    for command in ["review", "stress", "size"] {
        let (plain, dated) = (run(&[command, HARVESTER]), run(&[command, HARVESTER, "--on", "2031-01-01"]));
        assert_eq!(plain.out, dated.out);
        assert!(!plain.out.contains("permits"), "{}", plain.out);
    }
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
