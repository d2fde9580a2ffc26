//! Descriptions as they are read.

use loadworthy_language::sections::capacitors::Capacitor;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::magnetics::Magnetic;
use loadworthy_language::sections::sources::Source;
use loadworthy_language::sections::stages::Stage;

use crate::workshop::{FORWARDER, OTHER, WHOLE, reading, told};

#[test]
fn whole_units_have_no_problems() {
    for (text, variants) in [
        (FORWARDER, &["standard", "heavy", "bare"] as &[&str]),
        (WHOLE, &["standard", "heavy", "without_range_extender", "centre_tap"]),
        (OTHER, &["with_battery"]),
    ] {
        let reading = reading(text);
        assert_eq!(told(&reading), "");
        let names = reading.variants.iter().map(|variant| variant.name.as_deref().unwrap_or_default());
        assert_eq!(names.collect::<Vec<_>>(), variants);
    }
}

/// Everything that is written is read, and nothing of it is void.
#[test]
fn every_entry_of_a_whole_unit_is_read() {
    let reading = reading(WHOLE);
    for variant in &reading.variants {
        let all = &variant.description;
        macro_rules! read {
            ($($section:ident)*) => {$(
                assert!(!all.$section.is_empty(), stringify!($section));
                assert!(all.$section.values().all(|entry| entry.read().is_some()), stringify!($section));
            )*};
        }
        read!(sources buses branches stages machines loads devices capacitors capacitor_types magnetics conductors
            gate_supplies drivers controllers sensors signals duty policy);
        assert!(all.header.read().is_some() && all.surroundings.read().is_some());
        assert!(all.isolation.read().is_some() && all.cooling.read().is_some());
        assert_eq!(all.permits.len(), 1);
    }
    let all = &reading.variants[0].description;
    assert!(matches!(all.sources.entry("range_extender"), Some(Source::Generator(_))));
    assert_eq!(all.sources.entry("pack").unwrap().absorbs().map(|absorbs| absorbs.value), Some(true));
    assert!(matches!(all.magnetics.entry("cab_transformer"), Some(Magnetic::Transformer(_))));
    assert!(matches!(all.capacitors.entry("link_bank"), Some(Capacitor::Bank(_))));
    let Some(Conductor::Fuse(fuse)) = all.conductors.entry("pack_fuse") else { panic!("a fuse") };
    assert_eq!(fuse.melting.unwrap().si(), 45e3);
    let duty = all.duty.entry("downhill_recovery").unwrap();
    let demand = &duty.loads.as_ref().unwrap()["wheel_motor"];
    assert_eq!((demand.torque.unwrap().si(), demand.speed.unwrap().si()), (-80.0, 3400.0 / 60.0));
    let shift = all.stages.entry("wheel_bridge").unwrap().carrier().unwrap().shift.unwrap();
    assert_eq!(shift.si(), 0.25);
}

/// Positions and places as figures and gate supplies name them.
#[test]
fn every_topology_names_its_places() {
    let (whole, other) = (reading(WHOLE), reading(OTHER));
    let stages = [&whole, &other].map(|reading| &reading.variants[0].description.stages);
    let mut told = Vec::new();
    for (name, _, stage) in stages.into_iter().flat_map(|stages| stages.readable()) {
        for (position, _) in stage.positions() {
            let must = if stage.must_switch(position) { " switches" } else { "" };
            told.push(format!("{name}.{position} [{}]{must}", stage.places(position).join(" ")));
        }
        assert!(stage.places("none").is_empty());
    }
    insta::assert_snapshot!(told.join("\n"));
}

/// A stage says under one name what its topology keeps under several.
#[test]
fn every_topology_names_its_buses() {
    let reading = reading(OTHER);
    let stages = &reading.variants[0].description.stages;
    let buses = |stage: &Stage| {
        let buses = stage.buses().into_iter().map(|(key, bus)| format!("{key}: {}", bus.unwrap().value));
        buses.collect::<Vec<_>>().join(", ")
    };
    let told = stages.readable().map(|(name, _, stage)| format!("{name} {}", buses(stage)));
    insta::assert_snapshot!(told.collect::<Vec<_>>().join("\n"));
}
