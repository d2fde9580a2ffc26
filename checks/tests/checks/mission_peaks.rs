//! Peaks of sources in the rows of a mission: how long they last, and how far they are apart.

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::mission::{CHUNK, Judge};
use loadworthy_checks::verdict::Comparison;
use loadworthy_unit::DutyId;
use loadworthy_unit::mission::Rows;

use crate::descriptions::unit;

/// Seconds of each row.
const STEP: f64 = 5.0;

/// A pack that stands 100 A for good and 300 A for 10 s, with a winch that draws so many A at 300 V, row after row.
fn worst(every: &str, amps: &[f64]) -> Comparison {
    let text = format!(
        "edition: 2026
sources:
  pack: {{ kind: battery, bus: link, internal_resistance: {{ highest: 0.01 ohm }},
          discharge: {{ continuous: 100 A, peaks: [{{ current: 300 A, lasts: 10 s{every} }}] }},
          charge: {{ continuous: 50 A, peaks: [{{ current: 300 A, lasts: 10 s, every: 30 s }}] }} }}
buses: {{ link: {{ nominal: 300 V }} }}
loads: {{ winch: {{ bus: link }} }}
duty:
  pull:
    sources: {{ pack: {{ terminal: 300 V }} }}
    loads: {{ winch: {{ power: 3 kW }} }}
"
    );
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("loads.winch.power").expect("its power")];
    let mut judge = Judge::new(CHECKS, variant, &columns, None, 2);
    let rows = |amps: &[f64]| Rows {
        duties: vec![DutyId::new(0); amps.len()],
        lasts: vec![STEP; amps.len()],
        values: amps.iter().map(|amps| 300.0 * amps).collect(),
    };
    judge.take(&amps.chunks(CHUNK).map(rows).collect::<Vec<_>>());
    let own = judge.tally.worst.iter().find(|(key, _)| key.defect == "discharge-current");
    *own.expect("judged").1.verdict.comparison().expect("compared")
}

/// A peak of 10 s, 30 s of rest, and the same again for a while.
fn recurring() -> Vec<f64> {
    let cycle = [150.0, 150.0, 20.0, 20.0, 20.0, 20.0, 20.0, 20.0];
    cycle.iter().copied().cycle().take(200).collect()
}

#[test]
fn a_peak_that_comes_sooner_than_it_says_is_held_against_the_rating_for_good() {
    let limit = |every: &str, amps: &[f64]| worst(every, amps).limit;
    assert!((limit("", &recurring()) - 300.0).abs() < 1e-9);
    assert!((limit(", every: 40 s", &recurring()) - 300.0).abs() < 1e-9);
    assert!((limit(", every: 45 s", &recurring()) - 100.0).abs() < 1e-9);
    // One by itself comes after none.
    assert!((limit(", every: 45 s", &recurring()[..8]) - 300.0).abs() < 1e-9);
    // It counts from its beginning, and what lasts longer than the peak is one peak that lasts too long.
    assert!((limit(", every: 45 s", &[150.0; 3]) - 100.0).abs() < 1e-9);
}

#[test]
fn what_a_source_takes_is_no_peak_of_what_it_gives() {
    let mut amps = recurring();
    for (row, amps) in amps.iter_mut().enumerate() {
        if row % 16 == 12 {
            *amps = -80.0;
        } else if row % 16 == 8 || row % 16 == 9 {
            *amps = 20.0;
        }
    }
    // Giving every 80 s, taking in between.
    assert!((worst(", every: 80 s", &amps).limit - 300.0).abs() < 1e-9);
    assert!((worst(", every: 85 s", &amps).limit - 100.0).abs() < 1e-9);
}

#[test]
fn how_rows_are_cut_into_chunks_changes_no_peak() {
    // The second peak begins in the last row of a chunk.
    let mut amps = vec![20.0; 2 * CHUNK];
    (amps[CHUNK - 1], amps[CHUNK], amps[CHUNK - 9]) = (150.0, 150.0, 150.0);
    assert!((worst(", every: 40 s", &amps).limit - 300.0).abs() < 1e-9);
    assert!((worst(", every: 41 s", &amps).limit - 100.0).abs() < 1e-9);
}
