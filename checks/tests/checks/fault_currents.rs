//! Fuses where several sources and banks drive a fault, and where their time-current curve decides.

use loadworthy_unit::{FigureId, LaneId, Solved};

use crate::descriptions::{changed, defects, finding, holding, reviewed, unit};

const NAME: &str = "fuse-coordination";
/// Copper at −40 °C over copper at the 60 °C of the air there, and over that at 20 °C.
const COLD: (f64, f64) = ((1.0 - 0.003_93 * 60.0) / (1.0 + 0.003_93 * 40.0), 1.0 - 0.003_93 * 60.0);
/// A metre of 35 mm².
const CABLE: f64 = 0.554e-3;

/// The tug with a second, stiffer pack at its link, behind a fuse of its own.
fn two_packs() -> String {
    let second = "  second:
    kind: battery
    open_circuit: { lowest: 290 V, highest: 370 V }
    internal_resistance: { lowest: 20 mohm, highest: 50 mohm }
    discharge: { continuous: 160 A }
    charge: { continuous: 60 A }

buses:
";
    let text = changed(holding(NAME), "\nbuses:\n", second);
    let feed = "branches:\n  second_feed: { from: second, to: link, through: [second_fuse] }\n";
    let text = changed(&text, "branches:\n", feed);
    let fuse = "conductors:
  second_fuse:
    { kind: fuse, voltage: 500 V DC, current: 200 A, melting: 12e3 A^2 s, clearing: 80e3 A^2 s, breaking: 30 kA,
      least_breaking: 900 A, resistance: 0.4 mohm }
";
    let text = changed(&text, "conductors:\n", fuse);
    let pack = "pack: { open_circuit: 320 V }";
    changed(&text, pack, &format!("{pack}, second: {{ open_circuit: 320 V }}"))
}

/// The tug with a bank at its link.
fn with_bank(text: &str) -> String {
    let bank = "capacitors:
  link_bank: { kind: bank, bus: link, each: film, parts: 2, path: { resistance: 0.2 mohm, inductance: 10 nH } }

capacitor_types:
  film: { capacitance: 300 uF, tolerance: 10 %, voltage: 450 V, series_resistance: 2 mohm, inductance: 30 nH }

stages:
";
    changed(text, "stages:\n", bank)
}

fn figure(text: &str, path: &str) -> f64 {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let mut ids = (0..variant.tables.figures().len()).map(FigureId::new);
    let id = ids.find(|&id| variant.tables.figure_path(id) == path).unwrap_or_else(|| panic!("no {path}"));
    solved.raw(id, LaneId::new(0))
}

fn close(found: f64, by_hand: f64) {
    assert!((found / by_hand - 1.0).abs() < 1e-6, "{found} against {by_hand}");
}

#[test]
fn another_source_drives_a_fault_before_a_fuse_through_it() {
    let text = two_packs();
    // 360 V behind 40 mΩ one way; 370 V behind 20 mΩ, its fuse, and the cold cable the other way.
    let back = 370.0 / (0.020 + 0.4e-3 * COLD.0 + CABLE * COLD.1);
    close(figure(&text, "pack_fuse.highest_fault_current"), back);
    assert!(defects(&reviewed(&text)).contains(&(NAME, "breaking-capacity")));
    close(figure(holding(NAME), "pack_fuse.highest_fault_current"), 9000.0);
}

#[test]
fn what_stands_behind_two_fuses_stands_what_both_let_through() {
    let text = changed(
        &two_packs(),
        "branches:\n",
        "branches:\n  feed: { from: link, to: tug_bridge, through: [feed_bar] }\n",
    );
    let bar = "conductors:\n  feed_bar: { kind: busbar, width: 20 mm, thickness: 2 mm, length: 100 mm, hottest: 110 degC }\n";
    let text = changed(&text, "conductors:\n", bar);
    let both = 45e3_f64.sqrt() + 80e3_f64.sqrt();
    close(figure(&text, "feed_bar.let_through"), both * both);
    // Its own cable meets one or the other.
    close(figure(&text, "pack_cable.let_through"), 80e3);
    // The second pack holds up the bus before the fault: 280 V behind 90 mΩ, fuse and hot cable meet less of it.
    let hot = 1.0 + 0.003_93 * 130.0;
    let bar = 17.241e-9 * 0.1 / 40e-6 * hot;
    let own = 0.090 + 0.5e-3 + CABLE * hot;
    let other = 0.020 + 0.4e-3 * COLD.0;
    let bus = (280.0 / own + 370.0 / other) / (1.0 / own + 1.0 / other + 1.0 / bar);
    close(figure(&text, "pack_fuse.lowest_fault_current"), (280.0 - bus) / own);
}

#[test]
fn what_the_slow_fuse_of_another_source_lets_through_counts_by_its_curve() {
    // On the line from 2 times 200 A and 100 s to 20 times and 50 ms, 5 s belong to 4.843 times, and to 10 % more.
    let curve = "resistance: 0.4 mohm, time_current: { load: [200 %, 2000 %], time: [100 s, 50 ms] } }\n";
    let text = changed(&two_packs(), "resistance: 0.4 mohm }\n", curve);
    let text =
        changed(&text, "{ lowest: 20 mohm, highest: 50 mohm }", "{ lowest: 20 mohm, highest: 300 mohm }");
    let share = libm::log(100.0 / 5.0) / libm::log(100.0 / 0.05);
    let slowest = 200.0 * 2.0 * libm::pow(10.0, share) * 1.1;
    let most = slowest * slowest * 5.0;
    assert!(most > 80e3);
    close(figure(&text, "second_fuse.let_through"), most);
    close(figure(&text, "pack_cable.let_through"), most);
}

#[test]
fn a_branch_of_a_battery_through_nothing_has_no_fuse() {
    let bare = changed(holding(NAME), "to: link, through: [pack_fuse, pack_cable] }", "to: link }");
    assert!(defects(&reviewed(&bare)).contains(&(NAME, "unfused")));
}

#[test]
fn a_bank_counts_where_its_discharge_melts_the_fuse() {
    let text = with_bank(holding(NAME));
    // 660 µF from 400 V over 1 mΩ, 0.2 mΩ and the cold cable.
    let path = 1.2e-3 + CABLE * COLD.1;
    let sent = 0.5 * 660e-6 * 400.0 * 400.0 / path;
    close(figure(&text, "pack_fuse.bank_let_through"), sent);
    assert!(sent > 12e3, "it melts");
    let surge = figure(&text, "pack_fuse.highest_fault_current_with_banks");
    // Less than without inductance, more than half of it without resistance.
    let bare = 400.0 * (660e-6_f64 / 25e-9).sqrt();
    assert!(surge < 400.0 / path && surge < bare && surge > 0.4 * bare, "{surge}");
    let says = |text: &str| {
        let review = reviewed(text);
        let mut all = review.verdicts.iter().flatten();
        let one = all.find(|one| one.check == NAME && one.defect == "breaking-capacity").expect("a verdict");
        one.remarks.iter().any(|remark| remark.to_string().contains("which melts it"))
    };
    assert!(says(&text));
    let stout = changed(&text, "melting: 12e3 A^2 s", "melting: 40e3 A^2 s");
    assert!(!says(&stout));
    close(figure(&stout, "pack_fuse.highest_fault_current_with_banks"), 9000.0);
}

/// The tug with a curve for its fuse of 200 A: 400 A for 100 s, 800 A for 5 s, 2 kA for 50 ms.
fn with_curve(text: &str) -> String {
    let curve = "    element: 140 degC\n    time_current: { load: [200 %, 400 %, 1000 %], time: [100 s, 5 s, 50 ms] }\n";
    changed(text, "    element: 140 degC\n", curve)
}

#[test]
fn a_short_overload_is_held_against_the_curve() {
    let short = |lasts: &str| {
        let text = changed(&with_curve(holding(NAME)), "lasts: continuous", &format!("lasts: {lasts}"));
        changed(&text, "current: 200 A\n    melting", "current: 63 A\n    melting")
    };
    // √500 s lie halfway between 5 s and 100 s: √8 times the rated current, ten per cent less, in air of 60 °C.
    let stands = figure(&short("22.360680 s"), "pack_fuse.overload_current");
    close(stands, 63.0 * 0.9 * 8.0_f64.sqrt() * (80.0_f64 / 115.0).sqrt());
    assert!(!defects(&reviewed(&short("20 s"))).contains(&(NAME, "overloaded")));
    let review = reviewed(&short("95 s"));
    let found = finding(&review, "overloaded");
    assert!(found.saying.contains("time-current curve"), "{}", found.saying);
    assert_eq!(found.grade.word(), "major");
    // Longer than the curve: as if for good.
    assert_eq!(finding(&reviewed(&short("200 s")), "overloaded").grade.word(), "minor");
}

#[test]
fn a_slow_fault_lets_more_through_and_must_lie_on_the_curve() {
    let text = with_curve(holding(NAME));
    // 2.9 kA melt it at once: what passes most slowly is beyond the curve.
    close(figure(&text, "pack_fuse.let_through"), 45e3);
    let weak = changed(&text, "highest: 90 mohm", "highest: 300 mohm");
    let lowest = figure(&weak, "pack_fuse.lowest_fault_current");
    // Melts as 10 % less would: on the line from 800 A and 5 s to 2 kA and 50 ms.
    let share = libm::log(lowest / 1.1 / 800.0) / libm::log(2000.0 / 800.0);
    let melts = 5.0 * libm::exp(share * libm::log(0.05 / 5.0));
    close(figure(&weak, "pack_fuse.let_through"), lowest * lowest * melts);
    let weaker = changed(&weak, "load: [200 %, 400 %, 1000 %]", "load: [500 %, 700 %, 1000 %]");
    let weaker = changed(&weaker, "least_breaking: 1000 A", "least_breaking: 300 A");
    close(figure(&weaker, "pack_fuse.least_breaking_current"), 1100.0);
    assert!(defects(&reviewed(&weaker)).contains(&(NAME, "not-cleared")));
}

#[test]
fn a_curve_that_rises_is_refused() {
    let text = with_curve(holding(NAME));
    let rising = changed(&text, "[100 s, 5 s, 50 ms]", "[100 s, 5 s, 50 s]");
    let caught = std::panic::catch_unwind(|| unit(&rising));
    assert!(caught.is_err(), "a larger current does not melt it later");
}
