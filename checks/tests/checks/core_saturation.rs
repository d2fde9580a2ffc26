//! Flux of cores at the current until which a stage is switched off.

use loadworthy_unit::{FigureId, Solved};

use crate::descriptions::{changed, defects, holding, reviewed, unit};

/// The lamp supply with a trip at its choke, and what reads its current.
fn tripped(trip: f64, sensing: &str) -> String {
    let text =
        changed(holding("core-saturation"), "    turns: 6\n", &format!("    turns: 6\n    trip: {trip} A\n"));
    changed(&text, "    dead_time: 80 ns\n", &format!("    dead_time: 80 ns\n{sensing}"))
}

fn flux(text: &str) -> f64 {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let mut ids = (0..variant.tables.figures().len()).map(FigureId::new);
    let id = ids.find(|&id| variant.tables.figure_path(id).ends_with("lamp_choke.trip_flux_density"));
    let lane = variant.lane_ids().next().expect("a lane");
    solved.figure(id.expect("a figure"), lane).expect("a value")
}

/// Of 3.3 µH with 10 % more, six turns and 120 mm².
fn at(amps: f64) -> f64 {
    1.1 * 3.3e-6 * amps / (6.0 * 120e-6)
}

#[test]
fn the_latest_unit_counts_and_what_its_delay_adds() {
    let sensing =
        |delay: &str| format!("    current_sensing: {{ range: 200 A, trip_tolerance: 10 %{delay} }}\n");
    let close = |found: f64, by_hand: f64| assert!((found / by_hand - 1.0).abs() < 1e-9, "{found} {by_hand}");
    // 5 % where nothing is said.
    close(flux(&tripped(60.0, "")), at(60.0 * 1.05));
    close(flux(&tripped(60.0, &sensing(""))), at(60.0 * 1.1));
    // 78 V across 3.3 µH for 0.2 µs.
    close(flux(&tripped(60.0, &sensing(", trip_delay: 200 ns"))), at(60.0 * 1.1 + 78.0 / 3.3e-6 * 200e-9));
}

#[test]
fn a_core_may_stand_the_stated_trip_and_saturate_before_the_stage_is_off() {
    let found = |text: &str| defects(&reviewed(text)).contains(&("core-saturation", "saturates-before-trip"));
    // It saturates between 0.36 T at 100 °C and 0.46 T at 25 °C: 71 A to 91 A.
    let early =
        tripped(60.0, "    current_sensing: { range: 200 A, trip_tolerance: 1 %, trip_delay: 10 ns }\n");
    assert!(!found(&early));
    let late =
        tripped(60.0, "    current_sensing: { range: 200 A, trip_tolerance: 5 %, trip_delay: 1.5 us }\n");
    assert!(found(&late));
}
