//! A comparison as a comment beside the change, read by a reader of Markdown.

use super::compare::{forwarder_changed, workshop};
use super::markdown::{Read, harmless};
use super::program::{Folder, Ran, assert_shown, run, run_in, template, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";

fn compared(folder: &Folder, arguments: &[&str]) -> (Ran, Read) {
    let ran = run_in(folder, &[&["compare", "--format=markdown"], arguments].concat());
    let read = harmless(&ran.out);
    (ran, read)
}

#[test]
fn a_change_of_a_whole_unit() {
    let folder = workshop();
    folder.put("before.yaml", text_of("examples/timber-forwarder.yaml"));
    folder.put("after.yaml", forwarder_changed());
    let (ran, read) = compared(&folder, &["before.yaml", "after.yaml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(1), ""));
    assert_shown!("compare_markdown", ran.out);
    assert!(read.text.starts_with("Worse; findings: 2 new, 1 worse"), "{}", read.text);
    // Everything that the comparison holds has room here.
    let (_, all) = compared(&folder, &["before.yaml", "after.yaml", "--all"]);
    let rows = |read: &Read| read.tables.iter().map(|table| table.len() - 1).sum::<usize>();
    let is_count = |(at, _): (usize, &str)| all.text[..at].ends_with(|c: char| c.is_ascii_digit());
    let leaves_out = all.text.match_indices(" more ").any(is_count);
    assert!(rows(&all) > rows(&read) + 25 && !leaves_out, "{}", all.text);
}

#[test]
fn a_file_beside_itself() {
    let ran = run(&["compare", HARVESTER, HARVESTER, "--only-worse", "--format", "markdown"]);
    assert_eq!(ran.code, Some(0));
    let read = harmless(&ran.out);
    assert!(read.text.starts_with("No change; findings: "), "{}", read.text);
    // It fails as it did, and nobody takes a change without effect for a unit that holds.
    assert_eq!((read.tables.len(), read.text.matches("\nfails\n").count()), (1, 2), "{}", read.text);
}

#[test]
fn what_is_better_is_told_as_such() {
    let mend = "stages.track_bridge.modulation=space_vector";
    let ran = run(&["compare", HARVESTER, "--with", mend, "--format", "markdown", "--only-worse"]);
    assert_eq!(ran.code, Some(0));
    let read = harmless(&ran.out);
    assert!(read.text.starts_with("Better; findings: "), "{}", read.text);
    let gone = "| gone | major | `output-reach` | `track_bridge` |";
    assert!(ran.out.lines().any(|line| line.starts_with(gone)), "{}", ran.out);
    assert!(ran.out.contains("| sinusoidal → `space_vector` |"), "{}", ran.out);
}

#[test]
fn what_permits_accept_stands_with_reason_person_and_day() {
    let permits = "permits=[{ check: output-reach, part: track_bridge, up_to: 108 %, reason: \"| @somebody said #12 <b>\", accepted_by: \"the ](http://x.invalid) team\", until: 2027-03-31 }]";
    let compare = |day: &str| {
        let ran = run(&["compare", HARVESTER, "--with", permits, "--on", day, "--format", "markdown"]);
        harmless(&ran.out).text
    };
    let accepted = compare("2027-03-20");
    for said in [
        "Accepted by permits, held against 2027-03-20",
        "now accepted, major: output-reach of track_bridge",
        "up to 108 % by the ](http://x.invalid) team until 2027-03-31, which ends in 11 days",
        "| @somebody said #12 <b>",
    ] {
        assert!(accepted.contains(said), "{said}: {accepted}");
    }
    assert!(!compare("2027-04-20").contains("Accepted by permits"));
}

#[test]
fn a_side_that_is_broken_or_missing() {
    let folder = Folder::new();
    folder.put("whole.yaml", template("x", "60"));
    folder.put("broken.yaml", template("x", "60").replace("feeds: track_motor", "feeds: trak_motor"));
    for (old, new, said) in [
        ("whole.yaml", "broken.yaml", "Problems after the change"),
        ("broken.yaml", "whole.yaml", "Problems before the change"),
        ("missing.yaml", "whole.yaml", "there is no such file"),
        ("whole.yaml", "missing.yaml", "there is no such file"),
    ] {
        let (ran, read) = compared(&folder, &[old, new, "--only-worse"]);
        assert_eq!(ran.code, Some(2), "{old} {new}");
        assert!(read.text.starts_with("Not compared: ") && read.text.contains(said), "{}", read.text);
        assert!(!read.text.contains("headroom"), "{}", read.text);
    }
    assert_shown!("compare_markdown-broken", compared(&folder, &["whole.yaml", "broken.yaml"]).0.out);
}

#[test]
fn hostile_names_stay_text() {
    let names = [
        "](http://x.invalid) **b** | `c` <details>",
        "</summary></details><script>alert(1)</script>",
        "@somebody #12 GH-3 www.x.invalid",
        "a\\n\\n| forged | row |\\n|---|---|\\n",
        "``` ```` ~~~",
        "\\e[31m\\u202e\\0 -> x",
        "<!-- ![x](y)",
        "a | b -> c @d",
        &"long @name ".repeat(5000),
    ];
    let folder = Folder::new();
    for name in names {
        let hostile = |inlet: &str| {
            template(name, inlet)
                .replace("climb:", &format!("\"{name}\":"))
                .replace("track_bridge", "br_ücke_@x")
        };
        let permits = format!(
            "\npermits:\n  - {{ check: output-reach, part: br_ücke_@x, up_to: 200 %, reason: \"{name}\", accepted_by: \"{name}\", until: 2027-03-31 }}\n"
        );
        folder.put("plain.yaml", template("plain", "20"));
        folder.put("a`|b.yaml", hostile("40"));
        folder.put("hot.yaml", hostile("160"));
        folder.put("permits.yaml", hostile("60") + &permits);
        for (old, new) in [
            ("plain.yaml", "a`|b.yaml"),
            ("a`|b.yaml", "plain.yaml"),
            ("a`|b.yaml", "hot.yaml"),
            ("hot.yaml", "permits.yaml"),
            ("permits.yaml", "hot.yaml"),
        ] {
            for more in [&[][..], &["--all"]] {
                compared(&folder, &[&[old, new, "--on", "2027-01-01"], more].concat());
            }
        }
        let (told, _) = compared(&folder, &["hot.yaml", "--variants", name, "``|@x"]);
        assert_eq!(told.code, Some(2));
    }
}

#[test]
fn many_changes_fit_and_what_is_left_out_is_counted() {
    let folder = Folder::new();
    folder.put("before.yaml", template("x", "60"));
    let buses =
        (0..2000).map(|place| format!("  spare_bus_number_{place}: {{ nominal: 350 V, highest: 400 V }}\n"));
    let after = template("x", "160").replace("buses:\n", &format!("buses:\n{}", buses.collect::<String>()));
    folder.put("after.yaml", after);
    let (ran, read) = compared(&folder, &["before.yaml", "after.yaml"]);
    let left_out =
        ran.out.lines().find(|line| line.starts_with('+') && line.contains("more changes: `loadworthy"));
    assert!(left_out.is_some() && ran.out.len() > 50_000, "{}", ran.out);
    // Two thousand notes do not take the room of what changed, and what fails stands first.
    assert!(read.tables.iter().filter(|table| table.len() > 100).count() >= 2, "{}", ran.out);
    assert!(read.text.contains("A concept-stage aid"), "cautions are never left out");
}
