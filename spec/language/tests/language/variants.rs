//! Variants, their patches, and where their values come from.

use loadworthy_language::sections::stages::Stage;

use crate::workshop::{FORWARDER, reading, told};

const UNIT: &str = "edition: 2026
buses: { link: { nominal: 620 V } }
sources: { pack: { kind: battery, bus: link } }
machines: { motor: { kind: permanent_magnet } }
devices: { ig: { package: { circuit: half_bridge } } }
stages:
  bridge:
    topology: three_phase_bridge
    feeds: motor
    switches: { high_side: { fitted: ig }, low_side: { fitted: ig } }
duty:
  climb: { loads: { motor: { electrical_power: 70 kW, frequency: 160 Hz } } }
";

fn with(variants: &str) -> loadworthy_language::Reading {
    reading(&format!("{UNIT}variants:\n{variants}"))
}

#[test]
fn without_variants_there_is_one_without_a_name() {
    let reading = reading(UNIT);
    assert_eq!(told(&reading), "");
    assert_eq!(reading.variants.len(), 1);
    assert!(reading.variants[0].name.is_none() && reading.variants[0].key.is_none());
    assert_eq!(with("  {}\n").variants.len(), 1);
}

#[test]
fn a_patched_value_points_at_the_patch_and_knows_what_it_replaced() {
    let reading = reading(FORWARDER);
    let power = |variant: usize| {
        let duty = &reading.variants[variant].description.duty;
        let point = duty.entry("loaded_climb").unwrap();
        point.loads.as_ref().unwrap()["traction_motor"].electrical_power.unwrap()
    };
    let (standard, heavy) = (power(0), power(1));
    assert_eq!((standard.value.si(), heavy.value.si()), (70e3, 84e3));
    let text = |node| reading.tree.text_of(reading.tree.span(node));
    assert_eq!((text(standard.at), text(heavy.at)), ("70 kW", "84 kW"));
    assert_eq!(reading.tree.replaced(heavy.at), Some(standard.at));
    assert_eq!(reading.tree.replaced(standard.at), None);
}

#[test]
fn variants_share_what_they_do_not_change() {
    let reading = reading(FORWARDER);
    let [standard, heavy, bare] = &reading.variants[..] else { panic!("three variants") };
    let same = |name: &str,
                one: &loadworthy_language::VariantReading,
                other: &loadworthy_language::VariantReading| {
        let read = |variant: &loadworthy_language::VariantReading| {
            variant.description.stages[name].read.clone().unwrap()
        };
        std::sync::Arc::ptr_eq(&read(one), &read(other))
    };
    assert!(same("traction_bridge", standard, heavy) && !same("pump_bridge", standard, heavy));
    assert!(same("pump_bridge", standard, bare));
    let Some(Stage::ThreePhaseBridge(pump)) = heavy.description.stages.entry("pump_bridge") else { panic!() };
    let high = pump.switches.as_ref().unwrap().high_side.as_ref().unwrap();
    assert_eq!(high.parallel.map(|count| count.value), Some(3));
    assert!(
        bare.description.surroundings.at().is_none() && standard.description.surroundings.read().is_some()
    );
}

#[test]
fn problems_name_the_variants_they_hit() {
    // In the description itself, in all variants, in one, in two of three.
    let text = UNIT.replacen("nominal: 620 V", "nominal: 620 A", 1);
    let text = format!(
        "{text}variants:\n  standard: {{}}\n  heavy: {{ stages: {{ bridge: {{ dead_time: 5 A }} }} }}\n  fixed: {{ buses: {{ link: {{ nominal: 620 V }} }} }}\n"
    );
    insta::assert_snapshot!(told(&reading(&text)));
}

#[test]
fn patches_that_do_not_fit() {
    let cases = [
        "  heavy: 5\n",
        "  heavy:\n",
        "  heavy.er: {}\n",
        "  heavy: { permits: [], edition: 2026 }\n",
        "  heavy: { stages: { bridge: { dead_tme: 5 us } } }\n",
        "  heavy: { stages: { bridge: { dead_time: null } } }\n",
        "  heavy: { stages: { brige: null } }\n",
        "  heavy: { stages: { bridge: { feeds: } } }\n",
        "  heavy: { machines: null }\n",
        "  heavy: { duty: { climb: { loads: { motor: { phase_current: 260 A rms } } } } }\n",
        "  heavy: { duty: { climb: { loads: { motor: { phase_current: 260 A rms, electrical_power: null } } } } }\n",
        "  heavy: { stages: { bridge: { switches: { high_side: { parallel: 2 } } } } }\n",
        "  heavy: { stages: { bridge: { topology: boost } } }\n",
        "  heavy: { sources: { pack: { kind: battery, bus: lnk } } }\n",
        "  heavy: { stages: { brigde: { dead_time: 2 us } }, sources: { pak: { bus: link } } }\n",
    ];
    let told = cases.map(|case| format!("{}\n----\n{}\n", case.trim_end(), told(&with(case))));
    insta::assert_snapshot!(told.join("\n====\n"));
}

#[test]
fn an_entry_that_a_variant_patches_and_that_lacks_is_one_problem_with_its_name() {
    let text = UNIT.replacen(
        "    feeds: motor\n",
        "    feeds: motor\n    carrier: { synchronised_with: lift }\n",
        1,
    );
    let variants = "variants:\n  standard: {}\n  heavy: { stages: { lift: { dead_time: 2 us } } }\n";
    let reading = reading(&format!("{text}{variants}"));
    let [one] = &reading.problems[..] else { panic!("{:#?}", reading.problems) };
    assert_eq!(one.message, "no stage is named `lift`");
    assert_eq!(one.variants, [""; 0]);
    let also: Vec<&str> = one.also.iter().map(|(_, label)| label.as_str()).collect();
    assert_eq!(also, ["patched here, and described nowhere"]);
}

#[test]
fn variants_that_are_no_map_hide_no_other_problem() {
    let reading = reading("edition: 2026\nunit: { nam: x }\nvariants: 5\n");
    assert!(reading.variants.is_empty());
    let kinds = reading.problems.iter().map(|problem| problem.kind).collect::<Vec<_>>();
    assert_eq!(kinds, ["unknown-key", "wrong-type"]);
}

#[test]
fn many_variants_of_much_are_bounded() {
    let buses = (0..100_000).map(|number| format!("  b{number}: {{}}\n")).collect::<String>();
    let variants = (0..300).map(|number| format!("  v{number}: {{ buses: {{ b0: {{ nominal: 5 V }} }} }}\n"));
    let text = format!("edition: 2026\nbuses:\n{buses}variants:\n{}", variants.collect::<String>());
    let reading = reading(&text);
    assert!(reading.variants.len() < 300 && !reading.variants.is_empty());
    assert!(reading.problems.iter().any(|problem| problem.kind == "too-large"));
}
