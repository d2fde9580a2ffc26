//! The page of a review, as far as it can be judged without a browser: markup that nests, anchors that lead somewhere,
//! labels that keep apart, and every text of a description as text.

use std::collections::BTreeSet;

use super::markup::{Element, labels, read, text_of_page};
use super::program::{Folder, assert_shown, run, run_in, template};

const EXAMPLES: &[&str] = &[
    "examples/harbour-shuttle.yaml",
    "examples/peat-harvester.yaml",
    "examples/snow-groomer.yaml",
    "examples/timber-forwarder.yaml",
    "examples/vineyard-carrier.yaml",
    "tests/end_to_end/descriptions/one-bridge.yaml",
    "tests/end_to_end/descriptions/twelve-stages.yaml",
    "tests/end_to_end/descriptions/two-sources.yaml",
    "tests/end_to_end/broken/several-at-once.yaml",
    "tests/end_to_end/broken/edition-missing.yaml",
];

fn page(files: &[&str], more: &[&str]) -> String {
    let arguments = [&["review"], files, &["--format", "html"], more].concat();
    let ran = run(&arguments);
    assert!(matches!(ran.code, Some(0..=3)), "{files:?}: {:?}", ran.code);
    ran.out
}

/// Markup that nests, with anchors that are their own and lead somewhere.
pub(super) fn assert_sound(what: &str, page: &str) -> Vec<Element> {
    let elements = read(page).unwrap_or_else(|why| panic!("{what}: {why}"));
    let mut ids = BTreeSet::new();
    for element in &elements {
        if let Some(id) = element.attribute("id") {
            assert!(ids.insert(id.to_owned()), "{what}: {id} stands twice");
        }
    }
    for element in &elements {
        let refers = ["href", "aria-labelledby", "for"].iter().filter_map(|name| element.attribute(name));
        for to in refers {
            let to = to.strip_prefix('#').unwrap_or(to);
            assert!(ids.contains(to), "{what}: {} refers to {to}, which is nowhere", element.name);
        }
        let outside = ["src", "action", "data", "xlink:href", "onload", "onclick", "onerror"];
        let outside = outside.iter().find(|name| element.attribute(name).is_some());
        assert!(outside.is_none(), "{what}: {} has {outside:?}", element.name);
    }
    elements
}

/// Headings of which none is passed over, cells that say what they head, and regions that a keyboard reaches.
pub(super) fn assert_in_order(what: &str, elements: &[Element]) {
    let heads: Vec<usize> = elements.iter().filter_map(Element::heading).collect();
    assert_eq!(heads.first(), Some(&1), "{what}");
    assert!(
        heads.windows(2).all(|pair| pair[1] <= pair[0] + 1),
        "{what}: a heading is passed over: {heads:?}"
    );
    let mut cells = elements.iter().filter(|element| element.name == "th");
    assert!(cells.all(|cell| cell.attribute("scope").is_some()), "{what}");
    let mut regions = elements.iter().filter(|element| element.attribute("role") == Some("region"));
    assert!(regions.all(|region| region.attribute("tabindex") == Some("0")), "{what}");
}

#[test]
fn every_page_nests_and_its_anchors_lead_somewhere() {
    for file in EXAMPLES {
        let page = page(&[file], &[]);
        assert_in_order(file, &assert_sound(file, &page));
    }
}

#[test]
fn several_files_make_one_page() {
    let all = page(EXAMPLES, &["--faults", "--on", "2026-11-28"]);
    assert_sound("all", &all);
    for file in EXAMPLES {
        assert!(all.contains(&format!("\">{file}</a>")), "{file} is not in the summary");
    }
    let gone = run(&["review", EXAMPLES[0], "nowhere.yaml", "--format", "html"]);
    assert_eq!(gone.code, Some(2));
    assert_sound("gone", &gone.out);
    assert!(text_of_page(&gone.out).contains("Cannot be read: there is no such file"));
}

#[test]
fn the_same_input_makes_the_same_bytes() {
    let file = "examples/timber-forwarder.yaml";
    let once = page(&[file], &[]);
    assert_eq!(once, page(&[file], &[]));
    assert!(!once.contains(env!("CARGO_MANIFEST_DIR")), "a place on this machine is in the page");
}

#[test]
fn labels_of_drawings_keep_apart_and_within() {
    for file in EXAMPLES {
        for (title, (wide, tall), labels) in labels(&page(&[file], &[])) {
            for one in &labels {
                let inside =
                    -0.5 <= one.left && one.right <= wide + 0.5 && 0.0 <= one.top && one.bottom <= tall;
                assert!(inside, "{file}: {title}: `{}` lies outside", one.text);
            }
            for (place, one) in labels.iter().enumerate() {
                let other = labels[..place].iter().find(|other| one.covers(other));
                assert!(other.is_none(), "{file}: {title}: `{}` lies over {other:?}", one.text);
            }
        }
    }
}

#[test]
fn a_unit_of_twelve_stages_is_drawn_in_whole() {
    let page = page(&["tests/end_to_end/descriptions/twelve-stages.yaml"], &[]);
    let drawn = labels(&page);
    let (_, _, power) =
        drawn.iter().find(|(title, ..)| title.contains("Power in dredging")).expect("it is drawn");
    for name in ["fuel_cell", "step_up_starboard", "lift_step_down", "instrument_net", "pump_bar", "heater"] {
        assert!(power.iter().any(|label| label.text == name), "{name} is not drawn");
    }
    let (_, _, coolant) =
        drawn.iter().find(|(title, ..)| title.contains("Coolant in dredging")).expect("it is drawn");
    assert!(coolant.iter().any(|label| label.text == "air gathers"), "the arch is a high place");
}

#[test]
fn the_first_screen_says_the_weakest_point_and_what_to_change() {
    let text = text_of_page(&page(&["examples/peat-harvester.yaml"], &[]));
    let first = text.split("All findings in short").next().unwrap_or_default();
    for said in ["Does not hold", "Weakest point", "What to change", "leaves"] {
        assert!(first.contains(said), "{said}: {first}");
    }
    assert!(first.contains("qualified people decide"), "the cautions stand there as well");
    let holds = text_of_page(&page(&["examples/harbour-shuttle.yaml"], &[]));
    assert!(holds.contains("Holds at grade major; 3 notes") && holds.contains("Nearest to what is allowed"));
    let open = text_of_page(&page(&["tests/end_to_end/descriptions/one-bridge.yaml"], &[]));
    assert!(open.contains("Not judged in full") && open.contains("What to state"), "{open}");
    let nothing = text_of_page(&page(&["tests/end_to_end/broken/edition-missing.yaml"], &[]));
    assert!(nothing.contains("Could not be read in full"), "{nothing}");
}

#[test]
fn what_the_page_says_of_a_small_unit() {
    let page = page(&["tests/end_to_end/descriptions/one-bridge.yaml"], &[]);
    assert_shown!("page-one-bridge", text_of_page(&page));
}

#[test]
fn names_are_text_and_nothing_else() {
    let folder = Folder::new();
    for name in [
        "<img src=x onerror=alert(1)>",
        "</title><script>alert(2)</script>",
        "' onload='alert(3)",
        "--><!-- <svg>",
        "{{ 7 * 7 }} ${x} `id`",
        "&lt;b&gt; &#60;",
    ] {
        folder.put("unit.yaml", template(name, "60"));
        let ran = run_in(&folder, &["review", "unit.yaml", "--format", "html"]);
        let elements = assert_sound(name, &ran.out);
        assert!(elements.iter().all(|element| element.name != "img"), "{name}");
        assert_eq!(elements.iter().filter(|element| element.name == "script").count(), 1, "{name}");
        assert!(text_of_page(&ran.out).contains(name), "{name} is not shown");
    }
}

#[test]
fn a_permit_is_shown_with_who_and_why_and_until_when() {
    let folder = Folder::new();
    let permit = "permits:\n  - { check: output-reach, part: track_bridge, up_to: 140 %, reason: \"<i>slow</i> end of shift\",\n      accepted_by: the drive team, until: 2027-03-31 }\n";
    folder.put("unit.yaml", template("Bench", "60") + permit);
    let ran = run_in(&folder, &["review", "unit.yaml", "--format", "html", "--on", "2026-11-28"]);
    assert_sound("permit", &ran.out);
    let text = text_of_page(&ran.out);
    for said in ["accepted, ", "<i>slow</i> end of shift", "the drive team", "2027-03-31", "140 %"] {
        assert!(text.contains(said), "{said}: {text}");
    }
}

#[test]
fn names_in_problems_stand_in_their_own_letters() {
    let page = page(&["tests/end_to_end/broken/curve-that-falls.yaml"], &[]);
    let problems: Vec<&str> = page.split("<article class=\"finding major\">").skip(1).collect();
    assert!(!problems.is_empty(), "{page}");
    for problem in problems {
        let said = problem.split("</h3>").next().unwrap_or_default();
        assert!(!said.contains('`'), "{said}");
    }
    let page = self::page(&["tests/end_to_end/broken/several-at-once.yaml"], &[]);
    assert!(page.contains("<p class=\"change\">") && page.contains("<h3><code>"), "{page}");
}

#[test]
fn what_the_unit_is_stands_below_its_name() {
    let page = page(&["examples/timber-forwarder.yaml"], &[]);
    let note =
        "Traction and crane-pump drives from one pack through a two-leg boost, 28 V supply for the cab.";
    assert_eq!(page.matches(note).count(), 1);
}
