//! A comparison as a page, as far as it can be judged without a browser.

use super::compare::{forwarder_changed, workshop};
use super::html::{assert_in_order, assert_sound};
use super::markup::text_of_page;
use super::program::{Folder, Ran, assert_shown, run, run_in, template, text_of};

const HARVESTER: &str = "examples/peat-harvester.yaml";

/// The page of a comparison, and what a reader reads of it.
fn compared(folder: &Folder, arguments: &[&str]) -> (Ran, String) {
    let ran = run_in(folder, &[&["compare", "--format=html"], arguments].concat());
    let text = sound(&arguments.join(" "), &ran);
    (ran, text)
}

fn sound(what: &str, ran: &Ran) -> String {
    let elements = assert_sound(what, &ran.out);
    assert_in_order(what, &elements);
    assert!(elements.iter().all(|element| element.name != "img"), "{what}");
    assert_eq!(elements.iter().filter(|element| element.name == "script").count(), 1, "{what}");
    let text = text_of_page(&ran.out);
    assert!(text.contains("qualified people decide"), "{what}: cautions are never left out");
    text
}

#[test]
fn a_change_of_a_whole_unit() {
    let folder = workshop();
    folder.put("before.yaml", text_of("examples/timber-forwarder.yaml"));
    folder.put("after.yaml", forwarder_changed());
    let (ran, text) = compared(&folder, &["before.yaml", "after.yaml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(1), ""));
    assert_shown!("page-compare", text);
    // What it comes to stands above all else, and every finding that is new or worse stands in full.
    let first = text.split("How each side stands by itself").next().unwrap_or_default();
    for said in ["Worse", "findings new 2", "carried 163 °C → 164 °C", "What to change"] {
        assert!(first.contains(said), "{said}: {first}");
    }
    let full = text.split("New or worse, in full").last().unwrap_or_default();
    assert_eq!(full.matches("\nWorked calculation\n").count(), 3, "{full}");
    assert!(ran.out.contains("<svg class=\"drawing moved\" aria-hidden=\"true\""));
    assert_eq!(compared(&folder, &["before.yaml", "after.yaml"]).0.out, ran.out, "the same bytes");
}

#[test]
fn a_file_beside_itself_fails_as_it_did() {
    let ran = run(&["compare", HARVESTER, HARVESTER, "--only-worse", "--format", "html"]);
    assert_eq!(ran.code, Some(0));
    let text = sound(HARVESTER, &ran);
    assert!(text.contains("No change") && text.contains("The descriptions say the same."), "{text}");
    assert_eq!(text.matches("Does not hold").count(), 2, "{text}");
}

#[test]
fn what_is_better_is_told_as_such() {
    let mend = "stages.track_bridge.modulation=space_vector";
    let ran = run(&["compare", HARVESTER, "--with", mend, "--format", "html"]);
    let text = sound(mend, &ran);
    assert!(text.contains("○ Better") && text.contains("Better or gone"), "{text}");
    assert!(!text.contains("New or worse"), "{text}");
}

#[test]
fn what_permits_accept_stands_with_reason_person_and_day() {
    let permits = "permits=[{ check: output-reach, part: track_bridge, up_to: 108 %, reason: \"<b>slow</b> -> end\", accepted_by: \"the <i>drive</i> team\", until: 2027-03-31 }]";
    let page = |day: &str| {
        sound(day, &run(&["compare", HARVESTER, "--with", permits, "--on", day, "--format", "html"]))
    };
    let text = page("2027-03-20");
    for said in [
        "Accepted by permit",
        "held against 2027-03-20",
        "now accepted",
        "<b>slow</b> -> end",
        "the <i>drive</i> team",
        "which ends in 11 days",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(!page("2027-04-20").contains("Accepted by permit"));
}

#[test]
fn what_is_worse_and_accepted_stands_in_full_once() {
    let folder = Folder::new();
    let permit = "\npermits:\n  - { check: output-reach, part: track_bridge, up_to: 200 %, reason: r, accepted_by: a, until: 2027-03-31 }\n";
    let unit = template("x", "60") + permit;
    folder.put("before.yaml", &unit);
    folder.put("after.yaml", unit.replace("line_voltage: 190 V", "line_voltage: 195 V"));
    let (_, text) = compared(&folder, &["before.yaml", "after.yaml", "--on", "2027-01-01"]);
    assert!(text.contains("worse, above: track_bridge"), "{text}");
    assert_eq!(text.matches("Worked calculation").count(), 1, "{text}");
}

#[test]
fn a_side_that_is_broken_or_missing() {
    let folder = Folder::new();
    folder.put("whole.yaml", template("x", "60"));
    folder.put("broken.yaml", template("x", "60").replace("feeds: track_motor", "feeds: trak_motor"));
    for (old, new, said) in [
        ("whole.yaml", "broken.yaml", "Problems after the change"),
        ("broken.yaml", "whole.yaml", "Problems before the change"),
        ("missing.yaml", "whole.yaml", "Cannot be read: there is no such file"),
        ("whole.yaml", "missing.yaml", "Cannot be read: there is no such file"),
        ("missing.yaml", "gone.yaml", "Cannot be read: there is no such file"),
    ] {
        let (ran, text) = compared(&folder, &[old, new]);
        assert_eq!(ran.code, Some(2), "{old} {new}");
        assert!(text.contains("Not compared") && text.contains(said), "{text}");
        assert!(!text.contains("Headrooms that moved"), "{text}");
    }
}

#[test]
fn hostile_names_stay_text() {
    let folder = Folder::new();
    for name in [
        "<img src=x onerror=alert(1)>",
        "</title></td><script>alert(2)</script>",
        "' onload='alert(3)",
        "--><!-- <svg>",
        "{{ 7 * 7 }} ${x} `id`",
        "&lt;b&gt; &#60;",
        &"long @name ".repeat(90),
    ] {
        let hostile = |inlet: &str| {
            template(name, inlet)
                .replace("climb:", &format!("\"{name}\":"))
                .replace("track_bridge", "br_ücke_@x")
        };
        let permits = format!(
            "\npermits:\n  - {{ check: output-reach, part: br_ücke_@x, up_to: 200 %, reason: \"{name}\", accepted_by: \"{name}\", until: 2027-03-31 }}\n"
        );
        folder.put("plain.yaml", template("plain", "20"));
        folder.put("a`<b>&.yaml", hostile("40"));
        folder.put("hot.yaml", hostile("160"));
        folder.put("permits.yaml", hostile("60") + &permits);
        for (old, new) in [
            ("plain.yaml", "a`<b>&.yaml"),
            ("a`<b>&.yaml", "plain.yaml"),
            ("a`<b>&.yaml", "hot.yaml"),
            ("hot.yaml", "permits.yaml"),
            ("permits.yaml", "hot.yaml"),
        ] {
            let (_, text) = compared(&folder, &[old, new, "--on", "2027-01-01"]);
            let shown: String = name.chars().take(40).collect();
            assert!(text.contains(&shown) || new == "plain.yaml", "{shown} is not shown: {text}");
        }
    }
}
