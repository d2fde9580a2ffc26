//! Further files.

use crate::workshop::{InMemory, reading_with, told};

fn read(text: &str, files: &[(&'static str, &'static str)]) -> loadworthy_language::Reading {
    reading_with(text, &[], &mut InMemory(files.iter().copied().collect()))
}

#[test]
fn parts_add_entries() {
    let reading = read(
        "edition: 2026\nparts: [parts/devices.yaml, ./parts/buses.yaml]\ndevices: { own: {} }\nloads: { cab: { bus: link } }\n",
        &[
            ("parts/devices.yaml", "edition: 2026\ndevices: { ig: { package: { cooled_faces: 2 } } }\n"),
            ("parts/buses.yaml", "buses: { link: { nominal: 620 V } }\n"),
        ],
    );
    assert_eq!(told(&reading), "");
    let description = &reading.variants[0].description;
    assert_eq!(description.devices.keys().collect::<Vec<_>>(), ["own", "ig"]);
    let faces = description.devices.entry("ig").unwrap().package.as_ref().unwrap().cooled_faces.unwrap();
    assert_eq!(reading.tree.file(reading.tree.span(faces.at).file).name, "parts/devices.yaml");
}

#[test]
fn variants_patch_what_parts_added() {
    let reading = read(
        "edition: 2026\nparts: [b.yaml]\nvariants: { high: { buses: { link: { nominal: 750 V } } } }\n",
        &[("b.yaml", "buses: { link: { nominal: 620 V } }\n")],
    );
    assert_eq!(told(&reading), "");
    let nominal = reading.variants[0].description.buses.entry("link").unwrap().nominal.unwrap();
    assert_eq!(nominal.value.si(), 750.0);
    assert!(reading.tree.replaced(nominal.at).is_some());
}

#[test]
fn problems_of_parts() {
    let cases: [(&str, &[(&'static str, &'static str)]); 9] = [
        ("parts: [missing.yaml]", &[]),
        ("parts: ['../up.yaml', /abs.yaml, 'https://example.org/a.yaml', 'a\\b.yaml', '']", &[]),
        ("parts: [a.yaml, ./a.yaml]", &[("a.yaml", "buses: {}")]),
        ("parts: [a.yaml]", &[("a.yaml", "unit: { name: x }\nbuss: {}\nedition: 2031")]),
        ("parts: [a.yaml]\nbuses: { link: {} }", &[("a.yaml", "buses: { link: {}, other: {} }")]),
        ("parts: [a.yaml]", &[("a.yaml", "buses: 5")]),
        ("parts: [a.yaml]", &[("a.yaml", "buses: { link: { nominal: 5 A } }")]),
        ("parts: [a.yaml]", &[("a.yaml", "buses: [")]),
        ("parts: a.yaml", &[]),
    ];
    let told = cases.map(|(text, files)| {
        format!("{text}\n----\n{}\n", told(&read(&format!("edition: 2026\n{text}"), files)))
    });
    insta::assert_snapshot!(told.join("\n====\n"));
}

/// What is named may stand in the file that could not be read: that file is the one problem.
#[test]
fn names_of_parts_that_could_not_be_read_are_no_problems() {
    let unit = "buses: { link: {} }\nstages: { drive: { topology: three_phase_bridge, dc_bus: link, \
                switches: { high_side: { fitted: ig }, low_side: { fitted: other } } } }\n";
    for (parts, kind) in [
        ("parts: [gone.yaml]\n", "cannot-read"),
        ("parts: gone.yaml\n", "wrong-type"),
        ("prts: [gone.yaml]\n", "unknown-key"),
    ] {
        let reading = read(&format!("edition: 2026\n{parts}{unit}"), &[]);
        let kinds: Vec<&str> = reading.problems.iter().map(|problem| problem.kind).collect();
        assert_eq!(kinds, [kind], "{parts}");
        assert!(!reading.variants[0].description.devices.is_whole(), "{parts}");
    }
}

#[test]
fn a_section_that_is_misspelt_is_known_beside_one_from_parts() {
    let reading = read(
        "edition: 2026\nparts: [a.yaml]\nsources: { pack: { kind: battery } }\nbuses: { link: {} }\n\
         branches: { feed: { from: pack, to: link, through: [fuse] } }\ncondutors: { fuse: { kind: fuse } }\n",
        &[("a.yaml", "conductors: { spare: { kind: fuse } }\n")],
    );
    let problems: Vec<_> = reading.problems.iter().map(|problem| problem.message.as_str()).collect();
    assert_eq!(problems, ["a description has no key `condutors`"]);
    let conductors = &reading.variants[0].description.conductors;
    assert!(!conductors.is_whole() && conductors.contains_key("spare"));
}
